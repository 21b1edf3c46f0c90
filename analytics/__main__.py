"""``python -m analytics`` is ``roster``."""

import sys

from analytics.cli import main

sys.exit(main())
