"""`python -m cutroom`."""

import sys

from cutroom.cli import main

if __name__ == "__main__":
    sys.exit(main())
