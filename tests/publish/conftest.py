from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

from analytics.publish import plan
from analytics.publish.batch import Job, Outcome, ReportOutcome, publish
from analytics.publish.report import Limits
from analytics.roster import Athlete, Roster

NOTEBOOKS = Path(__file__).parent / "notebooks"
LIFTS = ("Squat", "Bench press", "Row")
HOSTILE = '</script><img src="https://example.org/x.png" onerror="alert(1)">'


def invented_tables(athletes: tuple[str, ...], gain_kg: float = 0.4) -> dict[str, pl.DataFrame]:
    """Two small tables; `gain_kg` a week is the last athlete's, the others gain 0.4."""
    rows = [
        {
            "athlete": athlete,
            "exercise": lift,
            "date": date(2026, 8, 2) + timedelta(weeks=week),
            "strength_kg": 100.0
            + 10 * LIFTS.index(lift)
            + week * (gain_kg if athlete == athletes[-1] else 0.4),
        }
        for athlete in athletes
        for lift in LIFTS
        for week in range(16)
    ]
    lines = pl.DataFrame(rows)
    lifts = lines.group_by("athlete", "exercise").agg(pl.col("strength_kg").last(), why=pl.lit(HOSTILE))
    return {"trend_lines": lines, "lifts": lifts.sort("athlete", "exercise")}


@dataclass(frozen=True)
class Desk:
    """A place to publish from: the outcomes told so far, and the folder of all weeks."""

    folder: Path
    told: list[ReportOutcome]

    @property
    def out(self) -> Path:
        return self.folder / "reports"

    def run(self, notebook: str, roster: tuple[str, ...], **changes: object) -> Outcome:
        """One weekly run with the test notebook of this name for every athlete."""
        notebooks = self.folder / "notebooks"
        notebooks.mkdir(exist_ok=True)
        shutil.copy(NOTEBOOKS / f"{notebook}.ipynb", notebooks / "athlete.ipynb")
        shutil.copy(NOTEBOOKS / "counts.ipynb", notebooks / "roster.ipynb")
        settings: dict[str, object] = {
            "week": "2026-W47",
            "as_of": date(2026, 11, 22),
            "tables": invented_tables(roster),
            "roster": Roster(
                title="Lake squad", athletes=tuple(Athlete(id=a, name=a.title()) for a in roster)
            ),
            "inputs": {"exports/heron/log.csv": "0" * 64},
            "notebooks": notebooks,
            "out": self.out,
            "limits": Limits(report_s=60),
            "workers": 2,
            "cautions": ("No medical advice.",),
            "kernels": "stock",
            **changes,
        }
        self.told.clear()
        return publish(Job(**settings), self.told.append)  # type: ignore[arg-type]

    def page(self, athlete: str, week: str = "2026-W47") -> str:
        return (self.out / week / "athletes" / f"{athlete}.html").read_text(encoding="utf-8")

    def record(self) -> dict:
        return json.loads((self.out / "2026-W47" / "run.json").read_text())


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    code = plan.code_hash()
    monkeypatch.setattr(plan, "code_hash", lambda: code)
    return Desk(folder=tmp_path, told=[])


@pytest.fixture
def files() -> Callable[[Path], dict[str, bytes]]:
    def read(folder: Path) -> dict[str, bytes]:
        found = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != "run.json")
        return {str(path.relative_to(folder)): path.read_bytes() for path in found}

    return read


@pytest.fixture
def tables_with() -> Callable[[tuple[str, ...], float], dict[str, pl.DataFrame]]:
    return invented_tables
