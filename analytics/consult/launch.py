"""Launch: JupyterLab on the consult notebook, with the roster's tables prepared and nothing sent anywhere."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

from analytics.consult import shelf
from analytics.judging import Asked, judged
from analytics.runs import NOTEBOOKS

FOLDER, TABLES = "ROSTER_FOLDER", "ROSTER_TABLES"
"""Names in the environment that tell the notebook where the roster and its tables are."""

_QUIET = (
    "--ServerApp.ip=127.0.0.1",
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdates",
    "--LabApp.extension_manager=readonly",
)
_SETTINGS = {
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
    "application-extension/shell": {"startMode": "single"},
}


def _settings(folder: Path) -> Path:
    """JupyterLab settings for this run only: no news, no look for updates, one document with all the room."""
    for name, own in _SETTINGS.items():
        file = folder / "@jupyterlab" / f"{name}.jupyterlab-settings"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(own), encoding="utf-8")
    return folder


def open_consult(folder: Path, today: date, say: Callable[[str], None]) -> int:
    """Prepare the tables in a private temporary folder, run JupyterLab until it is closed, clean up.

    Returns JupyterLab's exit code.  Raises BadRoster and BadCall as reading does.
    """
    say("Reading and judging the roster ...")
    with tempfile.TemporaryDirectory(prefix="roster-consult-") as private:
        tables = Path(private) / "tables"
        asked = Asked(folder=folder, as_of=None, today=today, scratch=Path(private))
        with judged(asked, lambda athletes, done: say(f"{done} of {athletes} athletes")) as found:
            shelf.put(found.tables, tables)
        notebook = Path(private) / "consult.ipynb"
        shutil.copy(NOTEBOOKS / "consult.ipynb", notebook)
        environment = {
            **os.environ,
            FOLDER: str(folder.resolve()),
            TABLES: str(tables),
            "JUPYTERLAB_SETTINGS_DIR": str(_settings(Path(private) / "settings")),
        }
        command = [sys.executable, "-m", "jupyter", "lab", *_QUIET, str(notebook)]
        return subprocess.run(command, cwd=private, env=environment, check=False).returncode
