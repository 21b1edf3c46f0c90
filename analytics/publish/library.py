"""The drawing library: Vega, Vega-Lite and Vega-Embed as one script, made once and kept beside the pages."""

from __future__ import annotations

import base64
import functools
import hashlib
import importlib.metadata
import os
import secrets
from pathlib import Path

_ADDRESSES = {
    "https://vega.github.io/schema/vega/": "schema/vega/",
    "https://vega.github.io/editor/": "",
    "https://github.com/vega/vega-lite/issues/": "vega-lite issue ",
}
"""Addresses in the script that nothing needs; what is left are the W3C's names of XML namespaces."""


@functools.cache
def library(shelf: Path) -> str:
    """The script, from the file kept in `shelf` if it is whole, else made by vl-convert (about a second)."""
    import vl_convert

    path = shelf / f".vega-{importlib.metadata.version('vl-convert-python')}.js"
    try:
        digest, script = path.read_text(encoding="utf-8").split("\n", 1)
        if digest == f"//{hashlib.sha256(script.encode()).hexdigest()}":
            return script
    except (OSError, ValueError):
        pass
    script = vl_convert.javascript_bundle()  # type: ignore[call-arg]  # its stub lacks the default
    for address, word in _ADDRESSES.items():
        script = script.replace(address, word)
    if "</script" in script.lower() or "<!--" in script:
        raise RuntimeError("the Vega script cannot stand inside a page: it holds a tag of HTML")
    draft = shelf / f".vega-{secrets.token_hex(4)}.tmp"
    draft.write_text(f"//{hashlib.sha256(script.encode()).hexdigest()}\n{script}", encoding="utf-8")
    os.replace(draft, path)
    return script


@functools.cache
def source_hash(script: str) -> str:
    """The script's name in a Content-Security-Policy: only it may run."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'"
