"""Rows: the text fields of one sheet as typed values, and the cells that cannot be read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics.errors import BadExport
from analytics.intake.dates import Moment, decide_order, read_minutes, read_moment
from analytics.intake.layout import Sheet
from analytics.intake.loads import parse_load, parse_unit
from analytics.intake.lookup import distinct, spread
from analytics.intake.numbers import decimal_mark, parse_number, tidy
from analytics.intake.shorthand import decimal_tokens, parse_reps_list, parse_work, reading_of
from analytics.intake.words import (
    parse_failure,
    parse_rir,
    parse_role,
    parse_rpe,
    parse_seconds,
    parse_side,
)

HIGHEST_LOAD_KG = 1000
MOST_REPS = 200
_ROLE = pl.Enum(["warm_up", "working", "back_off", "drop", "rest_pause"])
_SIDE = pl.Enum(["left", "right"])
_UNIT = pl.Enum(["kg", "lb"])

ROWS = {
    "row": pl.Int32(),
    "part": pl.Int32(),
    "piece": pl.Int32(),
    "athlete": pl.String(),
    "date": pl.Date(),
    "minutes": pl.Int32(),
    "exercise": pl.String(),
    "session": pl.String(),
    "set_no": pl.Int32(),
    "value": pl.Float64(),
    "unit": _UNIT,
    "bodyweight": pl.Boolean(),
    "signed": pl.Boolean(),
    "implements": pl.Int32(),
    "reps": pl.Int32(),
    "seconds": pl.Float64(),
    "rir": pl.Float64(),
    "role": _ROLE,
    "chain": pl.Int32(),
    "side": _SIDE,
    "two_sided": pl.Boolean(),
    "rest_s": pl.Float64(),
    "superset": pl.String(),
    "note": pl.String(),
}
PROBLEMS = {
    "row": pl.Int32(),
    "part": pl.Int32(),
    "field": pl.String(),
    "cell": pl.String(),
    "kind": pl.String(),
    "reason": pl.String(),
    "cure": pl.String(),
}


@dataclass(frozen=True, kw_only=True)
class Read:
    """One file's typed `rows`, its `problems` (cells that keep their row out) and what was decided for it."""

    rows: pl.DataFrame
    problems: pl.DataFrame
    decimal: str
    date_order: str
    needs_unit: bool
    layout: str


def read_rows(sheet: Sheet, path: str, *, date_order: str | None, delimiter: str) -> Read:
    """The typed rows of a sheet.  Raises BadExport where the order of day and month cannot be known."""
    fields = sheet.fields
    problems: list[pl.DataFrame] = []
    decimal = _decimal(fields, delimiter)
    days, order = _days(fields, path, date_order, problems)
    layout = sheet.layout
    parts = [fields.select("row", "part"), days]
    work = _work_column(fields)
    parts.append(_loads(fields, sheet, decimal, problems))
    if work:
        layout = "row per exercise" if layout == "row per set" else layout
    parts.append(_reps(fields, decimal, problems, skipped=work == "reps"))
    parts.append(_marks(fields, sheet, decimal))
    rows = pl.concat(parts, how="horizontal")
    rows = rows.with_columns(pl.lit(0, pl.Int32).alias("piece"), pl.lit(None, pl.Int32).alias("chain"))
    if work or "sets" in fields.columns:
        rows = _unfolded(rows, fields, work, decimal, problems)
    rows = _with_missing(rows).select([pl.col(name).cast(dtype) for name, dtype in ROWS.items()])
    found = pl.concat(problems) if problems else pl.DataFrame(schema=PROBLEMS)
    needs = rows.select(((pl.col("unit").is_null()) & (pl.col("value") != 0)).any()).item()
    return Read(
        rows=rows, problems=found, decimal=decimal, date_order=order, needs_unit=bool(needs), layout=layout
    )


def _decimal(fields: pl.DataFrame, delimiter: str) -> str:
    cells: list[str] = []
    for name in ("load", "added", "rir", "rpe"):
        if name in fields.columns:
            cells += distinct(fields.get_column(name))
    for name in ("work", "sets"):
        if name in fields.columns:
            cells += decimal_tokens(distinct(fields.get_column(name)))
    return decimal_mark(cells, "comma" if delimiter == "semicolon" else "point")


def _days(
    fields: pl.DataFrame, path: str, default: str | None, problems: list[pl.DataFrame]
) -> tuple[pl.DataFrame, str]:
    if "date" not in fields.columns:
        raise BadExport(
            path,
            1,
            "no column and no heading says the date",
            "Add a date column, or name it in roster.toml [columns]",
        )
    column = fields.get_column("date")
    texts = distinct(column)
    moments = {text: read_moment(text) for text in texts}
    chosen = decide_order(texts, moments, default)
    if chosen.clash:
        lines = [_line_of(fields, text) for text in chosen.clash]
        raise BadExport(
            path,
            lines[1],
            f"dates contradict each other: {chosen.clash[0]!r} in line {lines[0]} has the day first, "
            f"{chosen.clash[1]!r} in line {lines[1]} the month",
            "Write all dates of the file in one order, best as 2026-01-31",
        )
    if chosen.needed:
        text = next(t for t in texts if len(set(moments[t].by_order.values())) > 1)
        raise BadExport(
            path,
            _line_of(fields, text),
            f"{text!r} may be day first or month first, and no date of the file decides it",
            'Set date_order = "dmy" or "mdy" for this athlete in roster.toml',
        )

    def value(text: str) -> tuple[date | None, int | None, str | None]:
        moment = moments[text]
        day = moment.fixed or (moment.by_order.get(chosen.order) if chosen.order else None)
        return day, moment.minutes, None if day else (moment.problem or "is not a day of the calendar")

    days = spread(column, value, {"date": pl.Date(), "minutes": pl.Int32(), "problem": pl.String()})
    if "time" in fields.columns:
        minutes = spread(fields.get_column("time"), lambda t: (read_minutes(t),), {"clock": pl.Int32()})
        days = days.with_columns(pl.coalesce(minutes.get_column("clock"), pl.col("minutes")).alias("minutes"))
    missing = days.get_column("date").is_null()
    if missing.any():
        said = days.get_column("problem").fill_null("is empty")
        _report(problems, fields, missing, "date", "date", said, "Write the day as 2026-01-31")
    fixed = any(m.fixed for m in moments.values())
    order = chosen.order or ("ymd" if fixed else "none")
    return days.select("date", "minutes"), order


def _line_of(fields: pl.DataFrame, text: str) -> int:
    return int(fields.filter(pl.col("date").cast(pl.String) == text).get_column("row")[0])


def _work_column(fields: pl.DataFrame) -> str | None:
    """The column that holds several sets a cell: shorthand, or a list of reps."""
    for name in ("work", "sets", "reps", "set_number", "load"):
        if name not in fields.columns:
            continue
        if name == "work":
            return "work"
        texts = distinct(fields.get_column(name))
        if any(_is_list(tidy(text)) for text in texts):
            if name in ("sets", "reps"):
                return name
            if any("x" in tidy(t) and parse_load(t, "mixed").problem for t in texts):
                return name
    return None


def _is_list(words: str) -> bool:
    if "x" in words and any(c.isdigit() for c in words):
        return True
    pieces = parse_reps_list(words)
    return not isinstance(pieces, str) and len(pieces) > 1


def _loads(fields: pl.DataFrame, sheet: Sheet, decimal: str, problems: list[pl.DataFrame]) -> pl.DataFrame:
    schema = {
        "value": pl.Float64(),
        "unit": _UNIT,
        "bodyweight": pl.Boolean(),
        "signed": pl.Boolean(),
        "implements": pl.Int32(),
        "problem": pl.String(),
    }

    def value(text: str) -> Sequence[object]:
        load = parse_load(text, decimal)
        return load.value, load.unit, load.bodyweight, load.signed, load.implements, load.problem

    if "load" in fields.columns and _work_column(fields) != "load":
        loads = spread(fields.get_column("load"), value, schema)
        bad = loads.get_column("problem").is_not_null()
        if bad.any():
            _report(
                problems,
                fields,
                bad,
                "load",
                "load",
                loads.get_column("problem"),
                "Write a number with its unit, such as 80 kg",
            )
        if header := sheet.units.get("load"):
            loads = loads.with_columns(_unit_default(header).alias("unit"))
    else:
        loads = pl.DataFrame(schema=schema).clear(fields.height)
    if "added" in fields.columns:
        added = spread(fields.get_column("added"), value, schema)
        bad = added.get_column("problem").is_not_null()
        if bad.any():
            _report(
                problems,
                fields,
                bad,
                "added",
                "load",
                added.get_column("problem"),
                "Write a number with its unit, such as 10 kg",
            )
        use = added.get_column("value").is_not_null() & loads.get_column("value").is_null()
        loads = loads.with_columns(
            pl.when(use).then(added["value"]).otherwise(pl.col("value")).alias("value"),
            pl.when(use).then(added["unit"]).otherwise(pl.col("unit")).alias("unit"),
            pl.when(use).then(pl.lit(True)).otherwise(pl.col("bodyweight")).alias("bodyweight"),
        )
        if header := sheet.units.get("added"):
            loads = loads.with_columns(
                pl.when(use).then(_unit_default(header)).otherwise(pl.col("unit")).alias("unit")
            )
    if "unit" in fields.columns:
        units = spread(
            fields.get_column("unit"), lambda t: (parse_unit(t),), {"said": pl.String()}
        ).get_column("said")
        named = pl.when(units.is_in(["kg", "lb"])).then(units).cast(_UNIT)
        body = units == "bw"
        loads = loads.with_columns(
            pl.coalesce(
                spread(fields.get_column("load"), value, schema).get_column("unit")
                if "load" in fields.columns
                else pl.lit(None, _UNIT),
                named,
                pl.col("unit"),
            ).alias("unit"),
            (pl.col("bodyweight").fill_null(False) | body.fill_null(False)).alias("bodyweight"),
            pl.when(body.fill_null(False) & pl.col("value").is_null())
            .then(0.0)
            .otherwise(pl.col("value"))
            .alias("value"),
        )
    return loads.drop("problem")


def _unit_default(unit: str) -> pl.Expr:
    return pl.coalesce(pl.col("unit"), pl.lit(unit, _UNIT)) if unit in ("kg", "lb") else pl.col("unit")


def _reps(fields: pl.DataFrame, decimal: str, problems: list[pl.DataFrame], *, skipped: bool) -> pl.DataFrame:
    schema = {
        "reps": pl.Int32(),
        "timed": pl.Float64(),
        "rep_rir": pl.Float64(),
        "sides": pl.String(),
        "problem": pl.String(),
    }

    def value(text: str) -> Sequence[object]:
        return _reps_of(text)

    if "reps" in fields.columns and not skipped:
        reps = spread(fields.get_column("reps"), value, schema)
        bad = reps.get_column("problem").is_not_null()
        if bad.any():
            _report(
                problems,
                fields,
                bad,
                "reps",
                "reps",
                reps.get_column("problem"),
                "Write a whole number of reps from 0 to 200",
            )
        return reps.drop("problem", "sides")
    return pl.DataFrame(schema={k: v for k, v in schema.items() if k not in ("problem", "sides")}).clear(
        fields.height
    )


def _reps_of(text: str) -> tuple[int | None, float | None, float | None, str | None, str | None]:
    words = tidy(text)
    for word in ("reps", "rep", "wdh.", "wdh", "rip", "rip.", "hh", "x"):
        words = words.removesuffix(word).strip() if words[:1].isdigit() else words
    if words in ("", "-", "--", "n/a", "none", "na", "null"):
        return None, None, None, None, None
    rir = None
    if words[:1].isdigit() and words[-1:] in ("f", "!", "*"):
        words, rir = words[:-1].strip(), 0.0
    number = parse_number(words, "point")
    if number is not None:
        if number < 0:
            return None, None, None, None, "is below zero"
        if number > MOST_REPS:
            return None, None, None, None, f"is more than {MOST_REPS} reps"
        if number != int(number):
            return None, None, None, None, "is not a whole number"
        return int(number), None, rir, None, None
    pieces = parse_reps_list(words)
    if isinstance(pieces, str):
        return None, None, None, None, pieces.replace("it is", "is").replace("it mixes", "mixes")
    if len(pieces) > 1:
        return None, None, None, None, "holds several sets"
    return pieces[0].reps, pieces[0].seconds, rir, None, None


def _marks(fields: pl.DataFrame, sheet: Sheet, decimal: str) -> pl.DataFrame:
    """Everything that may stay empty: effort, role, side, rest, time, superset, session, note.

    A cell that cannot be read stays empty as a value, and its text is kept in the note.
    """
    height = fields.height
    notes: list[pl.Series] = []
    out: dict[str, pl.Series] = {}

    def column(name: str, read: Callable[[str], Sequence[object]], dtype: pl.DataType) -> pl.Series:
        if name not in fields.columns:
            return pl.Series(name, [None], dtype=dtype).new_from_index(0, height)
        frame = spread(fields.get_column(name), read, {name: dtype, "problem": pl.String()})
        problem = frame.get_column("problem")
        if problem.is_not_null().any():
            header = sheet.headers.get((name, None), name).strip()
            text = fields.get_column(name).cast(pl.String)
            notes.append(
                pl.select(
                    pl.when(problem.is_not_null()).then(pl.lit(f"{header}: ") + text.str.strip_chars())
                ).to_series()
            )
        return frame.get_column(name)

    rir = column("rir", lambda t: parse_rir(t, decimal), pl.Float64())
    rpe = column("rpe", lambda t: parse_rpe(t, decimal), pl.Float64())
    failure = column("failure", parse_failure, pl.Boolean())
    role_names = (
        spread(
            fields.get_column("role"),
            parse_role,
            {"role": _ROLE, "failed": pl.Boolean(), "problem": pl.String()},
        )
        if "role" in fields.columns
        else None
    )
    role = column("role", lambda t: (parse_role(t)[0], parse_role(t)[2]), _ROLE)
    failed = failure.fill_null(False)
    if role_names is not None:
        failed = failed | role_names.get_column("failed").fill_null(False)
    set_no = column("set_number", _set_number, pl.Int32())
    if "set_number" in fields.columns:
        letters = spread(
            fields.get_column("set_number"),
            lambda t: parse_role(t)[:2],
            {"letter": _ROLE, "failed": pl.Boolean()},
        )
        role = pl.select(pl.coalesce(role, letters.get_column("letter"))).to_series()
        failed = failed | letters.get_column("failed").fill_null(False)
    out["rir"] = pl.select(pl.when(failed).then(0.0).otherwise(pl.coalesce(rir, rpe))).to_series()
    out["role"] = role
    out["set_no"] = set_no
    out["side"] = column("side", parse_side, _SIDE)
    out["rest_s"] = column(
        "rest", lambda t: parse_seconds(t, _time_unit(fields, sheet, "rest")), pl.Float64()
    )
    out["own_seconds"] = column(
        "seconds", lambda t: parse_seconds(t, sheet.units.get("seconds", "s")), pl.Float64()
    )
    for name in ("athlete", "exercise", "session", "superset", "note"):
        if name in fields.columns:
            out[name] = fields.get_column(name).cast(pl.String).str.strip_chars().replace("", None)
        else:
            out[name] = pl.Series([None], dtype=pl.String).new_from_index(0, height)
    for extra in notes:
        out["note"] = pl.select(
            pl.concat_str([out["note"], extra], separator="; ", ignore_nulls=True).replace("", None)
        ).to_series()
    return pl.DataFrame({name: series.alias(name) for name, series in out.items()})


def _time_unit(fields: pl.DataFrame, sheet: Sheet, name: str) -> str:
    """Seconds, unless the header says minutes or every plain number of the file is at most 10."""
    if name in sheet.units:
        return sheet.units[name]
    if name not in fields.columns:
        return "s"
    plain = [
        n
        for t in distinct(fields.get_column(name))
        if (n := parse_number(tidy(t), "comma" if "," in t else "point"))
    ]
    return "min" if plain and max(plain) <= 10 else "s"


def _set_number(text: str) -> tuple[int | None, str | None]:
    words = tidy(text).removeprefix("set").removeprefix("satz").removeprefix("serie").strip(" .#:")
    number = parse_number(words, "point")
    if number is not None and 0 <= number <= 1000 and number == int(number):
        return int(number), None
    role, failure, problem = parse_role(text)
    return None, problem if role is None and not failure and words else None


def _unfolded(
    rows: pl.DataFrame, fields: pl.DataFrame, work: str | None, decimal: str, problems: list[pl.DataFrame]
) -> pl.DataFrame:
    """Rows that stand for several sets, one row a set."""
    counts = _counts(rows, fields, work)
    if work:
        column = fields.get_column(work)
        elsewhere = "load" in fields.columns and work != "load"
        reading = reading_of(distinct(column), elsewhere)
        pieces = {text: parse_work(text, decimal, reading) for text in distinct(column)}
        bad = spread(column, lambda t: (pieces[t][1],), {"problem": pl.String()}).get_column("problem")
        if bad.is_not_null().any():
            kind = "reps" if work == "reps" else "set"
            _report(
                problems,
                fields,
                bad.is_not_null(),
                work,
                kind,
                bad,
                "Write it as 3x8@80kg or 60kg x 12, 65kg x 10",
            )
        table = pl.DataFrame(
            [
                (
                    text,
                    i,
                    p.load is not None,
                    *_load_values(p.load),
                    p.reps,
                    p.seconds,
                    p.rir,
                    p.role,
                    p.chain,
                    p.sides,
                    p.note,
                )
                for text, (found, _) in pieces.items()
                for i, p in enumerate(found)
            ],
            schema={
                "text": pl.String(),
                "piece": pl.Int32(),
                "own_load": pl.Boolean(),
                "p_value": pl.Float64(),
                "p_unit": _UNIT,
                "p_body": pl.Boolean(),
                "p_signed": pl.Boolean(),
                "p_implements": pl.Int32(),
                "p_reps": pl.Int32(),
                "p_seconds": pl.Float64(),
                "p_rir": pl.Float64(),
                "p_role": _ROLE,
                "p_chain": pl.Int32(),
                "p_sides": _SIDE,
                "p_note": pl.String(),
            },
            orient="row",
        )
        header_unit = pl.lit(None, _UNIT)
        rows = (
            rows.with_columns(column.cast(pl.String).alias("text"), counts.alias("count"))
            .drop("piece")
            .join(table, on="text", how="left", maintain_order="left_right")
            .with_columns(
                pl.when("own_load").then("p_value").otherwise("value").alias("value"),
                pl.when("own_load").then(pl.coalesce("p_unit", header_unit)).otherwise("unit").alias("unit"),
                pl.when("own_load").then("p_body").otherwise("bodyweight").alias("bodyweight"),
                pl.when("own_load").then("p_signed").otherwise("signed").alias("signed"),
                pl.when("own_load").then("p_implements").otherwise("implements").alias("implements"),
                pl.coalesce("p_reps", "reps").alias("reps"),
                pl.coalesce("p_seconds", "timed").alias("timed"),
                pl.coalesce("p_rir", "rir").alias("rir"),
                pl.coalesce("p_role", "role").alias("role"),
                pl.col("p_chain").alias("chain"),
                pl.coalesce("side", "p_sides").alias("side"),
                pl.col("p_sides").is_not_null().alias("two_sided"),
                pl.concat_str(["note", "p_note"], separator="; ", ignore_nulls=True)
                .replace("", None)
                .alias("note"),
                pl.col("piece").fill_null(0),
            )
        )
        single = pl.col("row").len().over("row", "part") == 1
        rows = rows.with_columns(pl.when(single).then("count").otherwise(1).alias("count"))
    else:
        rows = rows.with_columns(counts.alias("count"))
    if rows.select((pl.col("count") > 1).any()).item():
        rows = (
            rows.with_columns(pl.int_ranges(0, pl.col("count").clip(1, 40)).alias("again"))
            .explode("again")
            .with_columns((pl.col("piece") * 64 + pl.col("again")).cast(pl.Int32).alias("piece"))
        )
    return rows


def _counts(rows: pl.DataFrame, fields: pl.DataFrame, work: str | None) -> pl.Series:
    """How many equal sets each row stands for, from a column of set counts.

    A column named "sets" that runs 1, 2, 3 from row to row numbers the sets instead of counting them.
    """
    ones = pl.Series("count", [1], dtype=pl.Int32).new_from_index(0, rows.height)
    if "sets" not in fields.columns or work == "sets":
        return ones
    counts = spread(fields.get_column("sets"), lambda t: (_set_number(t)[0],), {"n": pl.Int32()}).get_column(
        "n"
    )
    same = pl.DataFrame({"e": rows["exercise"], "d": rows["date"], "n": counts})
    steps = same.select(
        (
            (pl.col("n") == pl.col("n").shift() + 1)
            & (pl.col("e") == pl.col("e").shift())
            & (pl.col("d") == pl.col("d").shift())
        ).sum()
    ).item()
    if steps and steps >= 0.2 * rows.height:
        return ones
    return counts.fill_null(1).clip(1, 40).alias("count")


def _load_values(load: object) -> tuple[object, ...]:
    if load is None:
        return None, None, None, None, None
    return load.value, load.unit, load.bodyweight, load.signed, load.implements  # type: ignore[attr-defined]


def _with_missing(rows: pl.DataFrame) -> pl.DataFrame:
    rows = rows.with_columns(
        pl.coalesce("own_seconds", "timed").alias("seconds"), pl.coalesce("rep_rir", "rir").alias("rir")
    )
    if "two_sided" not in rows.columns:
        rows = rows.with_columns(pl.lit(False).alias("two_sided"))
    return rows.with_columns(pl.col("bodyweight", "signed", "two_sided").fill_null(False))


def _report(
    problems: list[pl.DataFrame],
    fields: pl.DataFrame,
    where: pl.Series,
    field: str,
    kind: str,
    reason: pl.Series,
    cure: str,
) -> None:
    """Add the cells where `where` holds to `problems`."""
    problems.append(
        fields.select(
            "row",
            "part",
            pl.lit(field).alias("field"),
            pl.col(field).cast(pl.String).alias("cell"),
            pl.lit(kind).alias("kind"),
            reason.alias("reason"),
            pl.lit(cure).alias("cure"),
        ).filter(where)
    )
