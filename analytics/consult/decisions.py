"""Decisions: what the coach changed and why, added to the roster's decisions.csv."""

from __future__ import annotations

import csv
import io
import os
from dataclasses import astuple, dataclass
from datetime import date
from pathlib import Path

from analytics.errors import BadCall

HEADER = ("date", "athlete", "subject", "what", "why")


@dataclass(frozen=True, kw_only=True)
class Decision:
    """One decision: the day, the athlete's id, the lift or muscle group, what was changed, and why."""

    date: date
    athlete: str
    subject: str
    what: str
    why: str


def add(decision: Decision, file: Path) -> None:
    """Append the decision to `file`, which is made with its header if it is not there.

    The file is replaced whole, so that a crash leaves either the old or the new one.  Raises BadCall when it
    says nothing, or when the file has another header.
    """
    if not decision.what.strip():
        raise BadCall("a decision says what was changed. Fill in that field")
    old = file.read_text(encoding="utf-8-sig") if file.exists() else ""
    if old.strip() and next(csv.reader([old.splitlines()[0]])) != list(HEADER):
        raise BadCall(f"{file} begins with another header. Make its first line: {','.join(HEADER)}")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    if not old.strip():
        writer.writerow(HEADER)
    writer.writerow(" ".join(str(part).split()) for part in astuple(decision))
    ending = "" if not old.strip() or old.endswith("\n") else "\n"
    draft = file.with_name(f".{file.name}.draft")
    draft.write_text(f"{old if old.strip() else ''}{ending}{text.getvalue()}", encoding="utf-8", newline="")
    os.replace(draft, file)
