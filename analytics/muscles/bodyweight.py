"""Bodyweight: its trend and weekly rate, beside the band for losing weight before a contest."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl
from scipy.special import stdtr

from analytics.muscles.lines import Line, Sums, fit_lines, t80
from analytics.roster import Roster
from analytics.schema import BODYWEIGHT, conform

LOSS_BAND_PCT_PER_WEEK = (0.5, 1.0)
"""Loss before a contest, % of bodyweight a week: Helms, Aragon and Fitschen 2014, JISSN 11:20."""
WINDOW_DAYS = 28
WEIGH_IN_SPREAD = 0.006
"""Spread of one weigh-in about the trend, as a share of bodyweight: 0.6 %, from memory."""
LOSS_CAUTION = (
    "Losing more than about 1 % of bodyweight a week, or dehydrating for a date, needs a qualified "
    "practitioner; dehydration and electrolyte cuts can be dangerous (Helms 2014)."
)
LOSING_PHASES = ("cut", "peak")
_SURE, _SPAN_DAYS = 0.8, 14


def bodyweight(checkins: pl.DataFrame, roster: Roster, as_of: date) -> pl.DataFrame:
    """schema.BODYWEIGHT: one row per athlete and check-in date with a bodyweight, in kg and % a week.

    The rate is a straight line through the check-ins of the last 28 days that lie in the same part of the
    plan (losing phases apart from the others), relative to the line's value at its start: 80 kg to 78 kg in
    two weeks is 1.25 % a week.  `band` compares the loss with 0.5 to 1 % a week in a cut or peak.
    `caution` is set in any phase when the loss passes 1 % a week over at least two weeks, or surely does over
    fewer days.
    """
    weights = _weights(checkins, roster, as_of)
    if weights.is_empty():
        return BODYWEIGHT.empty()
    windows = _windows(weights)
    line = _lines(windows)
    spread = t80(line.df)
    percent = 700.0 / line.start
    rate, rate_se = line.slope * percent, line.slope_se * percent
    loss = np.round(-rate, 2)
    low, high = LOSS_BAND_PCT_PER_WEEK
    span = (windows["last"] - windows["first"]).to_numpy().astype(float)
    with np.errstate(invalid="ignore"):
        fast = (loss > high) & ((span >= _SPAN_DAYS) | (stdtr(line.df, (loss - high) / rate_se) >= _SURE))
    judged = windows.with_columns(
        trend_kg=line.end,
        trend_low_kg=line.end - spread * line.end_se,
        trend_high_kg=line.end + spread * line.end_se,
        pct_per_week=pl.Series(rate).fill_nan(None),
        pct_low=pl.Series(rate - spread * rate_se).fill_nan(None),
        pct_high=pl.Series(rate + spread * rate_se).fill_nan(None),
        caution=fast,
        span=span,
    ).with_columns(
        band=pl.when(pl.col("phase").is_in(LOSING_PHASES) & pl.col("pct_per_week").is_not_null()).then(
            pl.when(pl.Series(loss) > high)
            .then(pl.lit("faster"))
            .when(pl.Series(loss) < low)
            .then(pl.lit("slower"))
            .otherwise(pl.lit("inside"))
        )
    )
    return conform(judged.with_columns(why=_why()), BODYWEIGHT)


def phase_table(roster: Roster) -> pl.DataFrame:
    """One row per athlete and phase of the plan: `athlete, from, phase`, sorted by date."""
    rows = [(athlete.id, phase.start, phase.name) for athlete in roster.athletes for phase in athlete.phases]
    schema = {"athlete": pl.String, "from": pl.Date, "phase": pl.String}
    return pl.DataFrame(rows, schema=schema, orient="row").sort("from", "athlete")


def _weights(checkins: pl.DataFrame, roster: Roster, as_of: date) -> pl.DataFrame:
    """Athlete, date, bodyweight (mean of a day), phase, and whether the phase is one of losing."""
    daily = (
        checkins.filter((pl.col("measure") == "bodyweight") & (pl.col("date") <= as_of))
        .drop_nulls("value")
        .group_by("athlete", "date")
        .agg(bodyweight_kg=pl.col("value").mean())
        .sort("date", "athlete")
    )
    phases = phase_table(roster)
    with_phase = daily.join_asof(
        phases, left_on="date", right_on="from", by="athlete", check_sortedness=False
    )
    return with_phase.with_columns(losing=pl.col("phase").is_in(LOSING_PHASES).fill_null(False)).sort(
        "athlete", "date"
    )


def _windows(weights: pl.DataFrame) -> pl.DataFrame:
    """Sums over the trailing window of each check-in, days counted back from it, weights from its own."""
    stretch = (pl.col("losing") != pl.col("losing").shift()).fill_null(True).cum_sum().over("athlete")
    marked = weights.with_columns(
        stretch=stretch, t=pl.col("date").dt.epoch("d").cast(pl.Float64), y=pl.col("bodyweight_kg")
    )
    origin = marked.with_columns(
        t=pl.col("t") - pl.col("t").min().over("athlete"), y=pl.col("y") - pl.col("y").mean().over("athlete")
    ).with_columns(base=pl.col("bodyweight_kg").mean().over("athlete"))
    sums = origin.rolling(
        "date", period=f"{WINDOW_DAYS}d", closed="both", group_by=["athlete", "stretch"]
    ).agg(
        n=pl.len().cast(pl.Float64),
        st=pl.col("t").sum(),
        stt=(pl.col("t") ** 2).sum(),
        sy=pl.col("y").sum(),
        sty=(pl.col("t") * pl.col("y")).sum(),
        syy=(pl.col("y") ** 2).sum(),
        first=pl.col("t").first(),
        last=pl.col("t").last(),
        base=pl.col("base").last(),
    )
    return (
        origin.select("athlete", "stretch", "date", "bodyweight_kg", "phase")
        .join(sums, on=["athlete", "stretch", "date"])
        .sort("athlete", "date")
    )


def _lines(windows: pl.DataFrame) -> Line:
    """Lines in kg and days."""
    column = {name: windows[name].to_numpy() for name in windows.columns if windows[name].dtype == pl.Float64}
    sums = Sums(
        n=column["n"], t=column["st"], tt=column["stt"], y=column["sy"], ty=column["sty"], yy=column["syy"]
    )
    line = fit_lines(sums, column["first"], column["last"], WEIGH_IN_SPREAD * column["bodyweight_kg"])
    base = column["base"]
    return Line(
        start=line.start + base,
        end=line.end + base,
        end_se=line.end_se,
        slope=line.slope,
        slope_se=line.slope_se,
        df=line.df,
    )


def _why() -> pl.Expr:
    """One sentence per row, with the caution where it is set."""
    verb = pl.when(pl.col("pct_per_week") < 0).then(pl.lit("falling")).otherwise(pl.lit("rising"))
    low, high = LOSS_BAND_PCT_PER_WEEK
    known = pl.format(
        "{} kg, {} {} % a week ({} to {}) over {} days",
        _number(pl.col("trend_kg"), 1),
        verb,
        _number(pl.col("pct_per_week").abs(), 2),
        _number(pl.col("pct_low"), 2),
        _number(pl.col("pct_high"), 2),
        pl.col("span").cast(pl.Int32),
    )
    band = (
        pl.when(pl.col("band").is_not_null())
        .then(pl.format(f"; {{}} the {low:g} to {high:g} % loss a week of a cut (Helms 2014).", _BAND_WORDS))
        .otherwise(pl.lit("."))
    )
    near = (pl.col("band") == "inside") & (pl.col("pct_low") < -high)
    caution = (
        pl.when(pl.col("caution"))
        .then(pl.lit(" " + LOSS_CAUTION))
        .when(near)
        .then(pl.lit(f" It is near the fast end and may be faster than {high:g} %: check in more often."))
        .otherwise(pl.lit(""))
    )
    alone = pl.format("{} kg; one check-in gives no rate.", _number(pl.col("trend_kg"), 1))
    return (
        pl.when(pl.col("pct_per_week").is_null()).then(alone).otherwise(pl.concat_str([known, band, caution]))
    )


_BAND_WORDS = pl.col("band").replace_strict(
    {"slower": "slower than", "inside": "inside", "faster": "faster than"}, default=""
)


def _number(value: pl.Expr, digits: int) -> pl.Expr:
    return value.round(digits).cast(pl.String).str.replace(r"(\.\d)$", "${1}" + "0" * (digits - 1))
