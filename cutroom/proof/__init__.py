"""Reads written files back and holds them against the marker; shares no code with what it proves."""
