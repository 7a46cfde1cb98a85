"""The command line."""

from cutroom.cli import sending
from cutroom.cli.commands import main, run

__all__ = ["main", "run", "sending"]
