"""The environment of a kernel: one thread for numerics, this very package, no files of the user."""

from __future__ import annotations

import os
from pathlib import Path

from analytics.workers import ONE_THREAD

SHORT_TEMP = "/tmp" if os.path.isdir("/tmp") else None
"""Names of Unix sockets end at about 100 characters, so not below a deep temporary folder."""
_STABLE = {"PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1", "MPLBACKEND": "agg"}
_PACKAGE_PARENT = str(Path(__file__).resolve().parents[2])


def kernel_environment() -> dict[str, str]:
    """The present environment with what a kernel needs on top."""
    paths = [_PACKAGE_PARENT, *filter(None, [os.environ.get("PYTHONPATH")])]
    return {**os.environ, **ONE_THREAD, **_STABLE, "PYTHONPATH": os.pathsep.join(paths)}
