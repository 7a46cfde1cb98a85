"""Shapes and poses on a strip of given width; no garment is known here."""
