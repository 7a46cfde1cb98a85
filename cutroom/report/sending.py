"""What to mind before a file goes to a machine, said once."""

FOR_ANY_MACHINE = ("marker-dxf", "marker-svg", "pieces-dxf")
"""Kinds of file that any machine may be given, also one with a knife or a beam."""
_ALWAYS = (
    "Local safety codes, the employer's rules and the machine's manual come before anything printed here.",
    "The file was checked by program only. First run: {first}, on paper or scrap, slowly.",
    (
        "The machine starts without more warning: hands, hair, cords and scissors away from it, nobody beside it. Keep "
        "your eyes on it, know where its emergency stop is, and never leave it running alone."
    ),
)
_CUTS = (
    "Guards down, blade depth tried on scrap, power off before a blade is changed.",
    (
        "With a beam: lid shut, eyes behind the guard, fumes led out, extinguisher at hand. Never PVC, vinyl or "
        "unknown cloth: the fumes poison people."
    ),
)
_PAPER = ("Measure the test square along and across before any cloth is cut.",)


_AGAIN = (
    (
        "It broke off before: clear a jam only with the emergency stop pressed or the power off, and have no hand "
        "inside when it goes on."
    ),
)


def sending_cautions(*, cuts: bool, again: bool) -> tuple[str, ...]:
    """Sentences, in the order in which forgetting them hurts.

    Args:
        cuts: The machine has a blade or a beam.
        again: An earlier sending of the file broke off.
    """
    first = "without blade or beam" if cuts else "pen up"
    return (*(_AGAIN if again else ()), *(line.format(first=first) for line in _ALWAYS), *(_CUTS if cuts else _PAPER))
