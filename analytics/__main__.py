"""``python -m analytics`` is ``roster``."""

import sys

from analytics.cli import main

if __name__ == "__main__":  # worker processes import this module too
    sys.exit(main())
