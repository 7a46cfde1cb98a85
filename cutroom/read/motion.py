"""How fast a machine moves, as its profile says it."""

from cutroom.model.motion import Motion
from cutroom.read.reading import Reading, echo
from cutroom.read.shapes import MotionShape

_ASKED = ("speed", "travel_speed", "acceleration")
_MOST = {"speed": 10_000, "travel_speed": 10_000, "acceleration": 100_000, "corner": 10_000}
_SECONDS = 3600


def read_motion(reading: Reading, raw: dict[str, object]) -> Motion | None:
    """The `[motion]` of a profile, mm and seconds; None after noting what is wrong with it."""
    shape = reading.table(MotionShape, raw, "motion")
    values: dict[str, float] = {}
    for key in MotionShape.__struct_fields__:
        place, value = f"motion.{key}", getattr(shape, key)
        if value is None:
            if key in _ASKED:
                unit = "mm/s2" if key == "acceleration" else "mm/s"
                reading.asked(None, place, "the time a file takes is worked out from it", f"a number of {unit}")
            continue
        most = _MOST.get(key, _SECONDS)
        if not 0 <= value <= most or (key in _MOST and value == 0):
            reading.fault(place, f"{echo(value)} is not a number above 0 and up to {most}", "Write one")
        values[key] = float(value)
    if any(reading.faulted(f"motion.{key}") for key in MotionShape.__struct_fields__) or not set(_ASKED) <= set(values):
        return None
    return Motion(**values)
