"""How fast a machine moves."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Motion:
    """Speeds of a machine; its drives speed up and slow down evenly.

    Attributes:
        speed: With the tool down (mm/s), where the tool has none of its own.
        travel_speed: With the tool up (mm/s).
        acceleration: mm/s2.
        lift_s: Time to lift the tool and put it down again (s).
        choose_s: Time to change tools (s).
        advance_s: Time to move the paper or the cloth on to the next frame (s).
        corner: Change of speed (mm/s) that its drives take in one step, which sets how fast a corner is run through.
    """

    speed: float
    travel_speed: float
    acceleration: float
    lift_s: float = 0.1
    choose_s: float = 0.0
    advance_s: float = 0.0
    corner: float = 10.0
