"""A stand-in for a plotter: takes files as the machine would, draws what came, and can be made to fail."""
