"""Altering: general operations on the pieces of a style, such as slash and spread; none knows a block."""
