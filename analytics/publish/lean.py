"""Lean: what libraries would load at their start although nothing here needs it."""

from __future__ import annotations

import sys

_UNNEEDED = ("rfc3987_syntax",)
"""Grammars of internationalised addresses, nearly a second to load: jsonschema checks formats with them, and
neither notebooks nor charts have such formats.
"""


def leave_out() -> None:
    """From here on these modules count as not installed, unless they are loaded already."""
    for module in _UNNEEDED:
        sys.modules.setdefault(module, None)  # type: ignore[arg-type]
