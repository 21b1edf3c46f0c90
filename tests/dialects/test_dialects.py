"""Every export of this folder beside the table it must become: invented, written from the trade's habits.

``NAME.csv`` is the export as an athlete would send it; ``NAME.sets.csv`` the expected sets (only the
columns it names are compared; a role only where it was logged; `load_lb` is `load_kg` in pounds);
``NAME.aside.csv`` the rows set aside; ``NAME.refused.txt`` the message of a refused
file.  ``settings.toml`` holds the roster's defaults.
"""

import csv
import json
import tomllib
from datetime import date
from pathlib import Path

import pytest

from analytics.intake import read_folder
from analytics.schema import KG_PER_LB, LEDGER, SET_ASIDE, SETS, breaches

HERE = Path(__file__).parent
NAMES = sorted(p.name.removesuffix(".csv") for p in HERE.glob("*.csv") if p.name.count(".") == 1)
SETTINGS = tomllib.loads((HERE / "settings.toml").read_text(encoding="utf-8"))
AS_OF = date(2026, 11, 22)


def read(name, tmp_path):
    settings = dict(SETTINGS.get(name, {}))
    columns = settings.pop("columns", {})
    place = settings.pop("place", "exports/tern/log.csv")
    lines = ['[roster]\ntitle = "Harbour group"', "[columns]"]
    lines += [f"{key} = {json.dumps(value)}" for key, value in columns.items()]
    lines += ['[[athlete]]\nid = "tern"\nname = "Tern"']
    lines += [f"{key} = {json.dumps(value)}" for key, value in settings.items()]
    (tmp_path / "roster.toml").write_text("\n".join(lines), encoding="utf-8")
    target = tmp_path / place
    target.parent.mkdir(parents=True)
    target.write_bytes((HERE / f"{name}.csv").read_bytes())
    return read_folder(tmp_path, AS_OF)


def expected(path):
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines(keepends=True)))


def shown(column, row):
    """One value of a set row as the expected file writes it."""
    if column == "role" and row["role_source"] != "logged":
        return ""
    value = (
        row["load_kg"] / KG_PER_LB if column == "load_lb" and row["load_kg"] is not None else row.get(column)
    )
    return "" if value is None else value


def same(wanted, value):
    if isinstance(value, float):
        return wanted != "" and abs(float(wanted) - value) < 1e-9
    return wanted == str(value)


def test_there_are_at_least_sixty():
    assert len(NAMES) >= 60


@pytest.mark.parametrize("large", [False, True], ids=["usual", "as if large"])
@pytest.mark.parametrize("name", NAMES)
def test_export_becomes_the_table_beside_it(name, large, tmp_path, request):
    if large:
        request.getfixturevalue("as_if_large")
    intake = read(name, tmp_path)
    (entry,) = intake.ledger.to_dicts()
    counted = ("rows_used", "rows_set_aside", "rows_duplicate", "rows_not_a_set")
    assert entry["rows_read"] == sum(entry[key] for key in counted)
    assert min(entry[key] for key in counted) >= 0
    for frame, table in ((intake.sets, SETS), (intake.set_aside, SET_ASIDE), (intake.ledger, LEDGER)):
        assert breaches(frame, table).height == 0
    refused = HERE / f"{name}.refused.txt"
    if refused.exists():
        (failure,) = intake.failures
        assert refused.read_text(encoding="utf-8").strip() in str(failure)
        assert entry["outcome"] == "refused"
        assert intake.sets.height == 0
        return
    assert not intake.failures
    wanted = expected(HERE / f"{name}.sets.csv")
    rows = intake.sets.to_dicts()
    got = [{column: shown(column, row) for column in wanted[0]} for row in rows]
    assert len(got) == len(wanted), got
    for want, have in zip(wanted, got, strict=True):
        assert all(same(want[column], have[column]) for column in want), (want, have)
    aside_file = HERE / f"{name}.aside.csv"
    aside = expected(aside_file) if aside_file.exists() else []
    told = [
        {k: str(row[k] or "") for k in ("source_row", "column", "cell", "kind")}
        for row in intake.set_aside.to_dicts()
    ]
    assert told == aside
    assert entry["rows_set_aside"] == len({row["source_row"] for row in aside})


def test_all_of_them_in_one_folder(tmp_path):
    lines = [
        '[roster]\ntitle = "Harbour group"',
        '[defaults]\nunit = "kg"\ndate_order = "dmy"\nbodyweight_kg = 80',
    ]
    lines += ['[[athlete]]\nid = "tern"\nname = "Tern"\n[[athlete]]\nid = "gull"\nname = "Gull"']
    (tmp_path / "roster.toml").write_text("\n".join(lines), encoding="utf-8")
    for i, name in enumerate(NAMES):
        target = tmp_path / "exports" / ("tern", "gull")[i % 2] / f"{name}.csv"
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes((HERE / f"{name}.csv").read_bytes())
    intake = read_folder(tmp_path, AS_OF)
    ledger = intake.ledger
    assert ledger.height == len(NAMES)
    counted = ["rows_used", "rows_set_aside", "rows_duplicate", "rows_not_a_set"]
    assert (ledger["rows_read"] == ledger.select(counted).sum_horizontal()).all()
    assert ledger.select(counted).min_horizontal().min() >= 0
    assert ledger["sets"].sum() == intake.sets.height > 200
    assert breaches(intake.sets, SETS).height == 0
    assert intake.sets.select("athlete", "date", "position", "set_number").is_unique().all()
