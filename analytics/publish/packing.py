"""Packing: what the charts of a page are made of, in fewer bytes; page.js unpacks it."""

from __future__ import annotations

import json
import re
from datetime import date
from typing import Any

_DAY = re.compile(r"[12]\d{3}-\d{2}-\d{2}", re.ASCII)


class Parts:
    """Parts of charts, said once however many charts of a page have them: their layers and their dress."""

    def __init__(self) -> None:
        self.told: list[Any] = []
        self._places: dict[str, int] = {}

    def place(self, part: Any) -> int:
        """Where the part stands in `told`, which gets it when it is new."""
        text = json.dumps(part)
        if text not in self._places:
            self._places[text] = len(self.told)
            self.told.append(part)
        return self._places[text]


def packed_chart(spec: dict[str, Any], parts: Parts) -> dict[str, Any]:
    """The specification with packed rows; its layers and config are places in `parts`."""
    packed = {key: value for key, value in spec.items() if key not in ("$schema", "usermeta")}
    if "datasets" in packed:
        packed["datasets"] = {name: packed_rows(rows) for name, rows in packed["datasets"].items()}
    if "layer" in packed:
        packed["layer"] = [parts.place(layer) for layer in packed["layer"]]
    if "config" in packed:
        packed["config"] = parts.place(packed["config"])
    return packed


def packed_rows(rows: Any) -> Any:
    """Rows, or their JSON text, as columns: a third of the size; rows of different make stay as they are."""
    rows = json.loads(rows) if isinstance(rows, str) else rows
    names = list(rows[0]) if rows else []
    if not names or not all(isinstance(row, dict) and list(row) == names for row in rows):
        return rows
    columns = [_column([row[name] for row in rows]) for name in names]
    return {"names": names, "count": len(rows), "columns": columns}


def _column(values: list[Any]) -> Any:
    """Days as days since the first, one value for all once, repeated words once; else the values."""
    if not all(isinstance(value, str) for value in values):
        return values
    if _are_days(values):
        first = date.fromisoformat(values[0])
        return {"day": values[0], "plus": [(date.fromisoformat(value) - first).days for value in values]}
    words = list(dict.fromkeys(values))
    if len(words) == 1:
        return {"same": words[0]}
    if 2 * len(words) > len(values):
        return values
    places = {word: place for place, word in enumerate(words)}
    return {"words": words, "at": [places[value] for value in values]}


def _are_days(values: list[str]) -> bool:
    if not all(_DAY.fullmatch(value) for value in values):
        return False
    try:
        return all(date.fromisoformat(value) for value in values)
    except ValueError:
        return False
