"""`python -m cutroom`."""

from cutroom.cli import run

if __name__ == "__main__":
    run()
