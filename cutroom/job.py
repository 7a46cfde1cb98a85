"""Runs the whole chain."""
