"""`python -m halfsplit` is the `halfsplit` command."""

import sys

from halfsplit.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
