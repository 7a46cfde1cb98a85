"""Compiled loops on bare arrays: import these only where a nest is made."""
