"""Ledger: what became of every record of every file."""

from __future__ import annotations

import polars as pl

from analytics.schema import LEDGER, conform


def refused(name: str, athlete: str | None, records: int, message: str) -> pl.DataFrame:
    """The ledger row of a file that was refused whole: none of its records is used."""
    return _row(name, athlete, "refused", None, None, None, None, None, records, 0, 0, 0, records, 0, message)


def accepted(
    name: str,
    athlete: str | None,
    facts: tuple[str, str, str, str, str],
    counts: tuple[int, int, int, int, int],
    message: str | None,
) -> pl.DataFrame:
    """The ledger row of a file that was read.

    `facts`: layout, encoding, delimiter, date order, unit.  `counts`: records, used, set aside, duplicate
    records, and sets; what is left is not a set.
    """
    records, used, aside, duplicate, sets = counts
    rest = records - used - aside - duplicate
    return _row(name, athlete, "read", *facts, records, used, aside, duplicate, rest, sets, message)


def file_lines(ledger: pl.DataFrame) -> list[str]:
    """One line per file: how it was read and what became of its rows."""
    lines = []
    for row in ledger.iter_rows(named=True):
        if row["outcome"] == "refused":
            lines.append(f"{row['source_file']}: refused. {row['message']}")
            continue
        how = ", ".join(
            part
            for part in (
                row["layout"],
                row["encoding"],
                f"{row['delimiter']} between cells" if row["delimiter"] else None,
                f"dates {row['date_order']}" if row["date_order"] else None,
                row["unit"] or None,
            )
            if part
        )
        counts = (
            f"{row['rows_read']} rows = {row['rows_used']} used + {row['rows_set_aside']} set aside + "
            f"{row['rows_duplicate']} duplicate + {row['rows_not_a_set']} not a set; {row['sets']} sets"
        )
        lines.append(
            f"{row['source_file']}: {how}; {counts}" + (f" ({row['message']})" if row["message"] else "")
        )
    return lines


def _row(*values: object) -> pl.DataFrame:
    schema = {column.name: column.dtype for column in LEDGER.columns}
    return pl.DataFrame([values], schema=schema, orient="row")


def ledger_table(rows: list[pl.DataFrame]) -> pl.DataFrame:
    """All ledger rows as the ledger table."""
    return conform(pl.concat(rows) if rows else LEDGER.empty(), LEDGER)
