"""`python -m cutroom`."""
