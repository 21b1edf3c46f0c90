"""Contracts of every table that leaves a room: columns, types, units and legal ranges, as data.

A table function ends with ``conform(frame, TABLE)``: it selects the columns in their order, casts them, and
sorts by the key, so equal input gives equal bytes.  ``breaches`` returns the rows that break a contract as a
table, which can be shown to a person.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

ROLES = ("warm_up", "working", "back_off", "drop", "rest_pause")
HARD_ROLES = ("working", "back_off")
LIFT_STATES = ("progressing", "stalled", "regressing", "unsure")
MUSCLE_STATES = ("responding", "underdosed", "not_responding", "overreaching", "unsure")
CALENDAR_KINDS = ("travel", "heat", "illness", "layoff", "deload", "competition")
SET_ASIDE_KINDS = ("later", "date", "load", "reps", "exercise", "athlete", "set")
"""`later`: dated after the run's date, so not a fault of the file; the others are faults to mend."""
PHASES = ("build", "cut", "peak", "off")

Z80 = 1.2815515655446004
"""Half width of a normal 80 % interval, in standard deviations: every interval in these tables is one."""

KG_PER_LB = 0.45359237
"""Exact: international avoirdupois pound, agreement of 1959 (NIST SP 811, appendix B)."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column: its name, Polars type, unit in words, and what is legal in it."""

    name: str
    dtype: pl.DataType
    unit: str = ""
    lowest: float | None = None
    highest: float | None = None
    nullable: bool = True
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Table:
    """One table: its grain in words, its columns in order, and the key it is sorted by."""

    name: str
    grain: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]

    @property
    def names(self) -> list[str]:
        """Column names, in order."""
        return [column.name for column in self.columns]

    def empty(self) -> pl.DataFrame:
        """A frame of this shape without rows."""
        return pl.DataFrame(schema={column.name: column.dtype for column in self.columns})


def _text(name: str, *, nullable: bool = True, choices: tuple[str, ...] = ()) -> Column:
    return Column(name=name, dtype=pl.String(), nullable=nullable, choices=choices)


def _day(name: str, *, nullable: bool = True) -> Column:
    return Column(name=name, dtype=pl.Date(), nullable=nullable)


def _count(
    name: str, *, lowest: float | None = 0, highest: float | None = None, nullable: bool = False
) -> Column:
    return Column(
        name=name, dtype=pl.Int32(), unit="count", lowest=lowest, highest=highest, nullable=nullable
    )


def _number(name: str, unit: str, *, lowest: float | None = None, highest: float | None = None) -> Column:
    return Column(name=name, dtype=pl.Float64(), unit=unit, lowest=lowest, highest=highest)


def _share(name: str) -> Column:
    return _number(name, "probability", lowest=0, highest=1)


SETS = Table(
    name="sets",
    grain="one row per set",
    key=("athlete", "date", "position", "set_number"),
    columns=(
        _text("athlete", nullable=False),
        _day("date", nullable=False),
        _count("session", lowest=1),
        _count("position", lowest=1),
        _count("set_number", lowest=1),
        _text("exercise", nullable=False),
        _text("exercise_as_logged", nullable=False),
        _text("family"),
        _text("role", nullable=False, choices=ROLES),
        _text("role_source", nullable=False, choices=("logged", "inferred")),
        _count("chain", lowest=1, nullable=True),
        _text("superset"),
        _text("side", choices=("left", "right")),
        _number("load_kg", "kg moved (one implement of a pair)", lowest=0, highest=1000),
        _number("added_kg", "kg written beside bodyweight (negative: assistance)", lowest=-300, highest=1000),
        _count("implements", lowest=1, highest=4, nullable=True),
        _count("reps", lowest=0, highest=200, nullable=True),
        _number("seconds", "s under load", lowest=0),
        _number("rir", "repetitions in reserve", lowest=0, highest=10),
        _number("rest_s", "s before this set", lowest=0),
        Column(name="suspect", dtype=pl.Boolean(), nullable=False),
        _text("note"),
        _text("source_file", nullable=False),
        _count("source_row", lowest=1),
    ),
)

SET_ASIDE = Table(
    name="set_aside",
    grain="one row per cell that kept a source row out",
    key=("source_file", "source_row"),
    columns=(
        _text("athlete"),
        _text("source_file", nullable=False),
        _count("source_row", lowest=1),
        _text("column"),
        _text("cell"),
        _text("kind", nullable=False, choices=SET_ASIDE_KINDS),
        _text("reason", nullable=False),
        _text("cure", nullable=False),
    ),
)

LEDGER = Table(
    name="ledger",
    grain="one row per file; rows_read = rows_used + rows_set_aside + rows_duplicate + rows_not_a_set",
    key=("source_file",),
    columns=(
        _text("source_file", nullable=False),
        _text("athlete"),
        _text("outcome", nullable=False, choices=("read", "refused")),
        _text("layout"),
        _text("encoding"),
        _text("delimiter"),
        _text("date_order"),
        _text("unit"),
        _count("rows_read"),
        _count("rows_used"),
        _count("rows_set_aside"),
        _count("rows_duplicate"),
        _count("rows_not_a_set"),
        _count("sets"),
        _text("message"),
    ),
)

CHECKINS = Table(
    name="checkins",
    grain="one row per athlete, date, measure and side",
    key=("athlete", "date", "measure", "side"),
    columns=(
        _text("athlete", nullable=False),
        _day("date", nullable=False),
        _text("measure", nullable=False),
        _text("side", choices=("left", "right")),
        _number("value", "kg for bodyweight, cm for girths, RPE 0-10 or minutes for a session"),
        _text("unit", nullable=False, choices=("kg", "cm", "rpe", "min")),
    ),
)

CALENDAR = Table(
    name="calendar",
    grain="one row per entry",
    key=("athlete", "from", "to", "kind"),
    columns=(
        _text("athlete", nullable=False),
        _day("from", nullable=False),
        _day("to", nullable=False),
        _text("kind", nullable=False, choices=CALENDAR_KINDS),
        _text("note"),
    ),
)

DECISIONS = Table(
    name="decisions",
    grain="one row per decision of the coach",
    key=("date", "athlete", "subject"),
    columns=(
        _day("date", nullable=False),
        _text("athlete", nullable=False),
        _text("subject", nullable=False),
        _text("what", nullable=False),
        _text("why"),
    ),
)

SESSIONS = Table(
    name="sessions",
    grain="one row per athlete, exercise and date with at least one set that can tell strength",
    key=("athlete", "exercise", "date"),
    columns=(
        _text("athlete", nullable=False),
        _text("exercise", nullable=False),
        _text("family"),
        _day("date", nullable=False),
        _number("e1rm_kg", "kg", lowest=0),
        _number("e1rm_se_kg", "kg, standard error", lowest=0),
        _number("log_se", "standard error of log e1RM", lowest=0),
        _number("log_noise", "the part of log_se that is new at every session", lowest=0),
        _number(
            "curve_exposure", "change of log e1RM per unit of the personal load-repetition curve", lowest=0
        ),
        _number("rir_share", "share of the evidence that has RIR logged", lowest=0, highest=1),
        _count("sets_used", lowest=1),
        _text("set_numbers", nullable=False),
        _number("top_load_kg", "kg", lowest=0),
        _count("top_reps", lowest=1, nullable=True),
        _number("top_rir", "repetitions in reserve", lowest=0),
        _text("source_file", nullable=False),
        _count("source_row", lowest=1),
    ),
)

_TREND_COLUMNS = (
    _number("strength_kg", "kg, estimated one-repetition maximum now", lowest=0),
    _number("strength_low_kg", "kg, lower end of the 80 % interval", lowest=0),
    _number("strength_high_kg", "kg, upper end of the 80 % interval", lowest=0),
    _number("slope_pct_per_week", "% a week"),
    _number("slope_low", "% a week, lower end of the 80 % interval"),
    _number("slope_high", "% a week, upper end of the 80 % interval"),
    _share("p_progressing"),
    _share("p_stalled"),
    _share("p_regressing"),
    _text("state", nullable=False, choices=LIFT_STATES),
    _day("since"),
    _number("weeks_in_state", "weeks", lowest=0),
    _number("forecast_kg", "kg, in four weeks", lowest=0),
    _number("forecast_low_kg", "kg, lower end of the 80 % interval", lowest=0),
    _number("forecast_high_kg", "kg, upper end of the 80 % interval", lowest=0),
    _count("sessions", lowest=1),
    _day("last_date", nullable=False),
    _text("why", nullable=False),
)

LIFTS = Table(
    name="lifts",
    grain="one row per athlete and exercise",
    key=("athlete", "exercise"),
    columns=(
        _text("athlete", nullable=False),
        _text("exercise", nullable=False),
        _text("family"),
        *_TREND_COLUMNS,
    ),
)

FAMILIES = Table(
    name="families",
    grain="one row per athlete and movement family",
    key=("athlete", "family"),
    columns=(
        _text("athlete", nullable=False),
        _text("family", nullable=False),
        _text("exercises", nullable=False),
        *_TREND_COLUMNS,
    ),
)

LIFT_HISTORY = Table(
    name="lift_history",
    grain="one row per athlete, exercise and week (week_end is a Sunday), from rows up to week_end only",
    key=("athlete", "exercise", "week_end"),
    columns=(
        _text("athlete", nullable=False),
        _text("exercise", nullable=False),
        _day("week_end", nullable=False),
        _number("strength_kg", "kg", lowest=0),
        _number("slope_pct_per_week", "% a week"),
        _share("p_progressing"),
        _share("p_stalled"),
        _share("p_regressing"),
    ),
)

TREND_LINES = Table(
    name="trend_lines",
    grain="one row per athlete, exercise and session date: the drawn line, looking back over all sessions",
    key=("athlete", "exercise", "date"),
    columns=(
        _text("athlete", nullable=False),
        _text("exercise", nullable=False),
        _day("date", nullable=False),
        _number("session_kg", "kg, this session's estimate on the scale of the line", lowest=0),
        _number("strength_kg", "kg", lowest=0),
        _number("strength_low_kg", "kg, lower end of the 80 % interval", lowest=0),
        _number("strength_high_kg", "kg, upper end of the 80 % interval", lowest=0),
        _number("slope_pct_per_week", "% a week"),
    ),
)

MUSCLE_WEEKS = Table(
    name="muscle_weeks",
    grain="one row per athlete, muscle group and ISO week",
    key=("athlete", "muscle", "week"),
    columns=(
        _text("athlete", nullable=False),
        _text("muscle", nullable=False),
        _text("week", nullable=False),
        _day("week_end", nullable=False),
        _number("direct_sets", "sets", lowest=0),
        _number("fractional_sets", "sets, assisting muscles count half", lowest=0),
        _number("total_sets", "sets, assisting muscles count whole", lowest=0),
        _number("fractional_low", "sets, drop chains and assisting muscles read low", lowest=0),
        _number("fractional_high", "sets, drop chains and assisting muscles read high", lowest=0),
        _count("days", lowest=0),
        _number("tonnage_kg", "kg x reps, of prime-mover sets", lowest=0),
        _count("reps", lowest=0),
        _number("mean_rir", "repetitions in reserve", lowest=0),
        _number("share_reps_1_5", "share of direct sets", lowest=0, highest=1),
        _number("share_reps_6_12", "share of direct sets", lowest=0, highest=1),
        _number("share_reps_13_up", "share of direct sets", lowest=0, highest=1),
        _number("left_sets", "direct sets of one-sided exercises, left", lowest=0),
        _number("right_sets", "direct sets of one-sided exercises, right", lowest=0),
    ),
)

MUSCLES = Table(
    name="muscles",
    grain="one row per athlete and muscle group",
    key=("athlete", "muscle"),
    columns=(
        _text("athlete", nullable=False),
        _text("muscle", nullable=False),
        _number("weekly_sets", "fractional sets a week, mean of the last four trained weeks", lowest=0),
        _number("weekly_sets_low", "sets a week, low reading", lowest=0),
        _number("weekly_sets_high", "sets a week, high reading", lowest=0),
        _number("aim_low", "sets a week", lowest=0),
        _number("aim_high", "sets a week", lowest=0),
        _number("response_pct_per_week", "% a week"),
        _number("response_low", "% a week, lower end of the 80 % interval"),
        _number("response_high", "% a week, upper end of the 80 % interval"),
        _number("others_pct_per_week", "% a week, the athlete's other groups"),
        _number("girth_pct_per_week", "% a week, net of bodyweight"),
        _count("lifts", lowest=0),
        _share("p_lagging"),
        _text("state", nullable=False, choices=MUSCLE_STATES),
        _text("state_low", nullable=False, choices=MUSCLE_STATES),
        _text("state_high", nullable=False, choices=MUSCLE_STATES),
        _text("why", nullable=False),
    ),
)

BALANCE = Table(
    name="balance",
    grain="one row per athlete, pair and kind: how many times the first of the pair is the second",
    key=("athlete", "kind", "pair"),
    columns=(
        _text("athlete", nullable=False),
        _text("pair", nullable=False),
        _text(
            "kind",
            nullable=False,
            choices=("opposing_sets", "left_right_sets", "left_right_strength", "left_right_girth"),
        ),
        _number("ratio", "first of the pair over second", lowest=0),
        _number("ratio_low", "lower end of the 80 % interval", lowest=0),
        _number("ratio_high", "upper end of the 80 % interval", lowest=0),
        _text("basis", nullable=False),
    ),
)

BODYWEIGHT = Table(
    name="bodyweight",
    grain="one row per athlete and date with a bodyweight, from check-ins up to that date only",
    key=("athlete", "date"),
    columns=(
        _text("athlete", nullable=False),
        _day("date", nullable=False),
        _number("bodyweight_kg", "kg, as checked in", lowest=0),
        _number("trend_kg", "kg", lowest=0),
        _number("trend_low_kg", "kg, lower end of the 80 % interval", lowest=0),
        _number("trend_high_kg", "kg, upper end of the 80 % interval", lowest=0),
        _number("pct_per_week", "% of bodyweight a week"),
        _number("pct_low", "% a week, lower end of the 80 % interval"),
        _number("pct_high", "% a week, upper end of the 80 % interval"),
        _text("phase", choices=PHASES),
        _text("band", choices=("slower", "inside", "faster")),
        Column(name="caution", dtype=pl.Boolean(), nullable=False),
        _text("why", nullable=False),
    ),
)

SESSION_LOAD = Table(
    name="session_load",
    grain="one row per athlete and day, first to last rated session; sums over the 7 days that end there",
    key=("athlete", "date"),
    columns=(
        _text("athlete", nullable=False),
        _day("date", nullable=False),
        _number("load", "session RPE x minutes; 0 on a rest day, empty if not rated", lowest=0),
        _number("week_load", "session RPE x minutes, sum of 7 days", lowest=0),
        _number("monotony", "mean of 7 daily loads / their standard deviation (n - 1)", lowest=0),
        _number("strain", "week_load x monotony", lowest=0),
    ),
)

ATTENTION = Table(
    name="attention",
    grain="one row per athlete and subject, most pressing first",
    key=("rank",),
    columns=(
        _count("rank", lowest=1),
        _text("athlete", nullable=False),
        _text("subject", nullable=False),
        _text("subject_kind", nullable=False, choices=("lift", "family", "muscle", "bodyweight", "data")),
        _text("kind", nullable=False),
        _share("probability"),
        _day("since"),
        _text("evidence", nullable=False),
        _text("try_next", nullable=False),
        _text("would_change", nullable=False),
        Column(name="listed", dtype=pl.Boolean(), nullable=False),
        _share("expected_false_share"),
    ),
)

CANDIDATES = Table(
    name="candidates",
    grain="one row per athlete, subject and kind that may be on the attention list",
    key=("athlete", "subject_kind", "subject", "kind"),
    columns=(
        *(c for c in ATTENTION.columns if c.name not in ("rank", "listed", "expected_false_share")),
        _number("urgency", "weighed probability", lowest=0),
        Column(name="fact", dtype=pl.Boolean(), nullable=False),
    ),
)

CHANGES = Table(
    name="changes",
    grain="one row per athlete and subject whose answer differs from one week earlier",
    key=("athlete", "subject_kind", "subject", "what"),
    columns=(
        _text("athlete", nullable=False),
        _text("subject", nullable=False),
        _text("subject_kind", nullable=False),
        _text("what", nullable=False),
        _text("before"),
        _text("now"),
        _text("sentence", nullable=False),
    ),
)

CUTS = Table(
    name="cuts",
    grain="one row per athlete in a cut or peak phase",
    key=("athlete",),
    columns=(
        _text("athlete", nullable=False),
        _text("phase", nullable=False, choices=("cut", "peak")),
        _day("since", nullable=False),
        _count("weeks", lowest=1),
        _count("lifts", lowest=1),
        _count("held"),
        _count("lost"),
        _text("weakest", nullable=False),
        _number("limit_pct_per_week", "% a week, the fastest loss that bodyweight explains", highest=0),
    ),
)

QUALITY = Table(
    name="quality",
    grain="one row per athlete of the roster",
    key=("athlete",),
    columns=(
        _text("athlete", nullable=False),
        _day("last_date"),
        _count("training_days"),
        _count("hard_sets"),
        _number("rir_share", "share of the last four weeks' hard sets with logged RIR", lowest=0, highest=1),
        _number("roles_inferred_share", "share of the last four weeks' sets", lowest=0, highest=1),
        _count("suspect_sets"),
        _count("files"),
        _count("files_refused"),
        _count("rows_set_aside"),
        _count("rows_duplicate"),
    ),
)

HEADLINES = Table(
    name="headlines",
    grain="one row per athlete and sentence, at most three, most important first",
    key=("athlete", "rank"),
    columns=(
        _text("athlete", nullable=False),
        _count("rank", lowest=1),
        _text("kind", nullable=False, choices=("cut", "attention", "good_news", "data")),
        _text("sentence", nullable=False),
    ),
)

TABLES: tuple[Table, ...] = (
    SETS,
    SET_ASIDE,
    LEDGER,
    CHECKINS,
    CALENDAR,
    DECISIONS,
    SESSIONS,
    LIFTS,
    FAMILIES,
    LIFT_HISTORY,
    TREND_LINES,
    MUSCLE_WEEKS,
    MUSCLES,
    BALANCE,
    BODYWEIGHT,
    SESSION_LOAD,
    ATTENTION,
    CHANGES,
    HEADLINES,
    CUTS,
    QUALITY,
)


def conform(frame: pl.DataFrame, table: Table) -> pl.DataFrame:
    """The frame with exactly the table's columns, types and order of rows.

    Raises ``polars.exceptions.PolarsError`` when a column is missing or cannot be cast: that is a mistake of
    this package, not of the input.
    """
    return frame.select(pl.col(c.name).cast(c.dtype) for c in table.columns).sort(
        table.key, nulls_last=True, maintain_order=True
    )


def breaches(frame: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Rows that break the contract: the key columns as text, the column, and the rule that was broken."""
    rules: list[tuple[str, str, pl.Expr]] = []
    for c in table.columns:
        cell = pl.col(c.name)
        if not c.nullable:
            rules.append((c.name, "is empty", cell.is_null()))
        if c.lowest is not None:
            rules.append((c.name, f"is below {c.lowest:g}", cell < c.lowest))
        if c.highest is not None:
            rules.append((c.name, f"is above {c.highest:g}", cell > c.highest))
        if c.choices:
            rules.append((c.name, f"is not one of {', '.join(c.choices)}", ~cell.is_in(c.choices)))
    key = pl.concat_str([pl.col(k).cast(pl.String).fill_null("-") for k in table.key], separator=" | ")
    found = [
        frame.filter(rule).select(key=key, column=pl.lit(column), rule=pl.lit(words))
        for column, words, rule in rules
    ]
    return (
        pl.concat(found)
        if found
        else pl.DataFrame(schema={"key": pl.String, "column": pl.String, "rule": pl.String})
    )
