"""Times as people say them."""

from cutroom.model.estimate import Estimate


def clock(seconds: float) -> str:
    """`4.2 s`, `45 s`, `13 min 05 s`, `2 h 05 min`."""
    whole = round(seconds)
    if whole < 60:
        return f"{seconds:.1f} s" if seconds < 9.95 else f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"


def in_words(estimate: Estimate) -> str:
    """`takes about 13 min 30 s (tool down 8 min 45 s)`, and that the line holds it up when it does."""
    held = "; its line is slower than the machine" if estimate.line_bound else ""
    return f"takes about {clock(estimate.total_s)} (tool down {clock(estimate.working_s)}{held})"
