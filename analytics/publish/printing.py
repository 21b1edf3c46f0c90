"""Printing: a page as PDF, by a browser of the Chromium family that is already installed."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from datetime import date
from pathlib import Path

_NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
)
_PLACES = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)
_FLAGS = (
    "--headless",
    "--disable-gpu",
    "--disable-quic",
    "--disable-sync",
    "--disable-extensions",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
    "--no-pdf-header-footer",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--virtual-time-budget=10000",
)
_TIME = re.compile(rb"/(CreationDate|ModDate) \(D:\d{14}")
_NODE = re.compile(rb"\(node(\d{8})\)")
"""Name of a part of the page in the print's structure: the browser numbers them by when it made them."""
_PRINT_S = 90.0


def find_browser() -> str | None:
    """The path of an installed browser that can print a page; None if there is none."""
    found = (shutil.which(name) for name in _NAMES)
    return next((path for path in (*found, *_PLACES) if path and os.path.isfile(path)), None)


def print_page(browser: str, page: Path, day: date) -> str:
    """Prints the page beside itself as PDF, dated `day`; what went wrong in words, empty if nothing did.

    The browser runs with a fresh profile and without a network.
    """
    pdf = page.with_suffix(".pdf")
    with tempfile.TemporaryDirectory(prefix="rb-", ignore_cleanup_errors=True) as profile:
        draft = Path(profile) / "page.pdf"
        sandbox = ("--no-sandbox",) if os.name == "posix" and os.geteuid() == 0 else ()
        command = [
            *(browser, *_FLAGS, *sandbox, f"--user-data-dir={profile}", f"--print-to-pdf={draft}"),
            page.resolve().as_uri(),
        ]
        try:
            ended = subprocess.run(command, capture_output=True, timeout=_PRINT_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as problem:
            return f"{page.name} could not be printed: {type(problem).__name__}"
        content = draft.read_bytes() if draft.is_file() else b""
    if ended.returncode or not content.startswith(b"%PDF") or b"%%EOF" not in content[-64:]:
        return f"{page.name} could not be printed: the browser ended with code {ended.returncode}"
    pdf.write_bytes(_settled(content, day))
    return ""


def _settled(content: bytes, day: date) -> bytes:
    """The print dated `day`, its parts numbered from one in the same order; not a byte longer or shorter."""
    stamp = f"D:{day:%Y%m%d}000000".encode()
    places = {number: place for place, number in enumerate(sorted(set(_NODE.findall(content))), start=1)}
    content = _TIME.sub(lambda found: b"/%b (%b" % (found[1], stamp), content)
    return _NODE.sub(lambda found: b"(node%08d)" % places[found[1]], content)
