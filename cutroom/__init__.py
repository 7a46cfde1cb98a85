"""From body measurements to proven files for the plotter, the printer and the cutter."""

__version__ = "0.1.0"
