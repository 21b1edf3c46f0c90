import pickle
from datetime import date
from decimal import Decimal

import polars as pl
import pytest

from analytics.errors import BadExport, BadRoster, ReportFailed
from analytics.schema import CALENDAR, KG_PER_LB, LIFTS, SETS, TABLES, breaches, conform


def test_the_pound_is_exact():
    # Agreement of 1959, as in NIST SP 811 appendix B: 1 lb = 0.45359237 kg exactly.
    assert Decimal(str(KG_PER_LB)) * 225 == Decimal("102.05828325")


@pytest.mark.parametrize("table", TABLES, ids=lambda t: t.name)
def test_every_table_has_its_key_among_its_columns(table):
    assert set(table.key) <= set(table.names)
    assert len(set(table.names)) == len(table.names)
    assert table.empty().columns == table.names


def entry(**change):
    row = {
        "athlete": "heron",
        "from": date(2026, 1, 5),
        "to": date(2026, 1, 9),
        "kind": "travel",
        "note": None,
    }
    return row | change


def test_conform_orders_rows_and_columns():
    rows = [entry(athlete="teal"), entry(kind="deload"), entry()]
    frame = pl.DataFrame(rows).select("note", "kind", "athlete", "to", "from")
    out = conform(frame, CALENDAR)
    assert out.columns == CALENDAR.names
    assert out["kind"].to_list() == ["deload", "travel", "travel"]
    assert conform(frame.reverse(), CALENDAR).equals(out)


def test_breaches_name_the_row_and_the_rule():
    frame = pl.DataFrame([entry(kind="holiday"), entry(note="fine")])
    found = breaches(frame, CALENDAR)
    assert found.height == 1
    assert found["column"].to_list() == ["kind"]
    assert "heron" in found["key"][0]
    assert breaches(SETS.empty(), SETS).is_empty()
    assert breaches(LIFTS.empty(), LIFTS).is_empty()


@pytest.mark.parametrize(
    "error",
    [BadRoster("a", "b", "c"), BadExport("f.csv", 3, "b", "c"), ReportFailed("heron", 2, "died")],
    ids=lambda e: type(e).__name__,
)
def test_errors_survive_a_process_border(error):
    back = pickle.loads(pickle.dumps(error))
    assert str(back) == str(error)
    assert vars(back) == vars(error)
