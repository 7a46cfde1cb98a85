"""Algorithms on bare arrays: no garment, no unit but the millimetre."""
