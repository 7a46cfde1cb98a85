"""Reads written files back and holds them against the marker; shares no code with what it proves."""

from cutroom.proof.hands import Count
from cutroom.proof.marker import Figures, figures, prove_marker
from cutroom.proof.prove import prove_file
from cutroom.proof.proved import Proved

__all__ = ["Count", "Figures", "Proved", "figures", "prove_file", "prove_marker"]
