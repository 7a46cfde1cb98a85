"""What a search may be given."""

import math


def out_of_range(seconds: float, tries: int | None, seed: int) -> str:
    """What to say of options that no search can take; empty where it can."""
    if math.isfinite(seconds) and seconds >= 0 and seed >= 0 and (tries is None or tries >= 1):
        return ""
    return (
        "The time, the seed and the tries cannot be negative. "
        "Give --seconds and --seed of 0 or more and --tries of 1 or more."
    )
