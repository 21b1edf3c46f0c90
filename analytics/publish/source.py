"""Source: a report notebook as it is committed, read without the notebook library, slow to import."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


def load(path: Path) -> dict[str, Any]:
    """The notebook at `path` as version 4.5, with an id for every cell that has none, and no outputs."""
    raw: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    raw["nbformat_minor"] = max(raw.get("nbformat_minor", 0), 5)
    for position, cell in enumerate(raw["cells"]):
        cell.setdefault("id", f"cell-{position}")
        if not isinstance(cell["source"], str):
            cell["source"] = "".join(cell["source"])
        if cell["cell_type"] == "code":
            cell["outputs"], cell["execution_count"] = [], None
    return raw
