"""The environment of a kernel: one thread for numerics, this very package, no files of the user."""

from __future__ import annotations

import os
from pathlib import Path

SHORT_TEMP = "/tmp" if os.path.isdir("/tmp") else None
"""Names of Unix sockets end at about 100 characters, so not below a deep temporary folder."""
ONE_THREAD = {
    "POLARS_MAX_THREADS": "1",
    "RAYON_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "VECLIB_MAXIMUM_THREADS": "1",
    "_RJEM_MALLOC_CONF": "background_thread:false",  # of Polars
    "JE_ARROW_MALLOC_CONF": "background_thread:false",  # of PyArrow
}
_STABLE = {"PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1", "MPLBACKEND": "agg"}
_PACKAGE_PARENT = str(Path(__file__).resolve().parents[2])


def kernel_environment() -> dict[str, str]:
    """The present environment with what a kernel needs on top."""
    paths = [_PACKAGE_PARENT, *filter(None, [os.environ.get("PYTHONPATH")])]
    return {**os.environ, **ONE_THREAD, **_STABLE, "PYTHONPATH": os.pathsep.join(paths)}
