"""Sheets for people: the cut list, the figures, the cautions."""
