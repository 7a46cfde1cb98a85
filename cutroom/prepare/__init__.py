"""From a drafted piece to one that needs no pencil: allowance, notches, grainline, label, checks."""
