"""Muscle calls: lagging groups found on simulated rosters, beside two simple rules, and calibration."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import polars as pl
from scipy.optimize import minimize
from scipy.special import expit, logit

from analytics.catalogue import Catalogue
from analytics.muscles import MuscleInputs, count_weeks, judge_muscles, uncounted
from analytics.muscles.mixed import Blocks, fit_mixed
from analytics.muscles.pooling import MARGIN_PCT_PER_WEEK
from analytics.roster import Athlete, Phase, Roster
from analytics.simulate.world import LAST_DAY, Simulated
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends
from analytics.week import phases_of

METHODS = {
    "probability of lagging": ("p_lagging", True),
    "rule: fewest sets": ("weekly_sets", False),
    "rule: lowest slope": ("plain_slope", False),
}
"""Score column of each way to name a group, and whether high means lagging."""
UNLIKE_LIFTS = (
    "back_squat",
    "bench_press",
    "lat_pulldown",
    "seated_leg_curl",
    "barbell_curl",
    "standing_calf_raise",
)
_BINS = 10
_KEY = ["athlete", "muscle"]


@dataclass(frozen=True, kw_only=True)
class MuscleEvidence:
    """What a simulated roster says about the calls on muscle groups.

    `detection`: one row per method and way of naming: `named`, `precision`, `recall`, `auc`.  `reliability`:
    one row per tenth of predicted probability: `predicted`, `observed`, `groups`.  `calibration`: one row:
    `slope` and `intercept` of a logistic regression on the predicted log odds, `brier`, `brier_base` (knowing
    only the base rate), `expected_error`, `groups`, `base_rate`.
    """

    detection: pl.DataFrame
    reliability: pl.DataFrame
    calibration: pl.DataFrame


def gather_calls(simulated: Simulated, catalogue: Catalogue, as_of: date = LAST_DAY) -> pl.DataFrame:
    """Judged groups of one simulated roster beside their truth, through the whole path from the set table.

    One row per athlete and group that has a lift and a truth: the columns of ``judge_muscles``, `plain_slope`
    (mean slope of its lifts as they stand), and `lagging`: whether its true mean slope over eight weeks is
    behind the mean of the athlete's other groups by more than the margin.
    """
    phases = phases_of(simulated_roster(simulated))
    lifts = fit_trends(estimate_sessions(simulated.sets), simulated.calendar, as_of, phases).lifts
    return judge_simulated(simulated, lifts, catalogue, as_of)


def named_lifts(simulated: Simulated) -> Simulated:
    """The same roster with the nameless lifts of the unlike worlds called after catalogue exercises."""
    names = {f"lift_{number}": name for number, name in enumerate(UNLIKE_LIFTS)}
    renamed = pl.col("exercise").replace(names)
    return replace(
        simulated,
        sets=simulated.sets.with_columns(renamed),
        truth_lifts=simulated.truth_lifts.with_columns(renamed),
    )


def judge_simulated(
    simulated: Simulated, lifts: pl.DataFrame, catalogue: Catalogue, as_of: date = LAST_DAY
) -> pl.DataFrame:
    """The same from lifts that are already fitted."""
    sets = simulated.sets
    judged = judge_muscles(
        MuscleInputs(
            weeks=count_weeks(sets, catalogue, as_of),
            lifts=lifts,
            checkins=simulated.checkins,
            calendar=simulated.calendar,
            roster=simulated_roster(simulated),
            catalogue=catalogue,
            as_of=as_of,
            uncounted=uncounted(sets, catalogue, as_of),
        )
    )
    direct = catalogue.shares().filter("direct").select("exercise", "muscle")
    plain = (
        lifts.filter(pl.col("last_date") > as_of - timedelta(weeks=8))
        .join(direct, on="exercise")
        .group_by(_KEY)
        .agg(plain_slope=pl.col("slope_pct_per_week").mean())
    )
    return judged.join(plain, on=_KEY).join(_truth(simulated.truth_lifts, direct, as_of), on=_KEY).sort(_KEY)


def shared_error(simulated: Simulated, lifts: pl.DataFrame, as_of: date = LAST_DAY) -> float:
    """Share of the error variance of a slope that an athlete's lifts have in common, by REML.

    Errors are those of the trend's slope against the true mean of eight weeks, in units of its own standard
    error; the model is a random intercept per athlete.
    """
    key = ["athlete", "exercise"]
    errors = (
        lifts.join(_true_slopes(simulated.truth_lifts, as_of), on=key)
        .filter(pl.col("last_date") > as_of - timedelta(weeks=8))
        .sort(key)
        .select(
            athlete=pl.col("athlete").rank("dense") - 1,
            place=pl.int_range(pl.len()).over("athlete"),
            error=(pl.col("true_slope") - pl.col("slope_pct_per_week"))
            / (pl.col("slope_high") - pl.col("slope_low")),
        )
    )
    row, place = errors["athlete"].to_numpy().astype(int), errors["place"].to_numpy()
    y = np.zeros((int(row.max()) + 1, int(place.max()) + 1))
    used = np.zeros(y.shape, dtype=bool)
    y[row, place], used[row, place] = errors["error"].to_numpy(), True
    ones = used.astype(float)
    fit = fit_mixed(
        Blocks(y=y, x=ones[:, :, None], terms=(ones[:, :, None, None],), known=np.zeros(y.shape), used=used)
    )
    between = float(fit.covariances[0][0, 0])
    return between / (between + fit.residual)


def simulated_roster(simulated: Simulated) -> Roster:
    """The coach's file for a simulated roster: no aims, and the phases of those in a cut."""
    athletes = []
    for row in simulated.athletes.iter_rows(named=True):
        phases: tuple[Phase, ...] = ()
        if row.get("cut_from") is not None:
            after = row["cut_to"] + timedelta(days=1)
            phases = (Phase(name="cut", start=row["cut_from"]), Phase(name="build", start=after))
        athletes.append(Athlete(id=row["athlete"], name=row["athlete"], phases=phases))
    return Roster(title="Simulated", athletes=tuple(athletes))


def _truth(truth_lifts: pl.DataFrame, direct: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """True response of each group (mean slope of its lifts over eight weeks) and its lead over the others."""
    response = pl.col("true_response")
    others = (response.sum().over("athlete") - response) / (pl.len().over("athlete") - 1)
    return (
        _true_slopes(truth_lifts, as_of)
        .join(direct, on="exercise")
        .group_by(_KEY)
        .agg(true_response=pl.col("true_slope").mean())
        .filter(pl.len().over("athlete") > 1)
        .with_columns(true_lead=response - others)
        .with_columns(lagging=pl.col("true_lead") < -MARGIN_PCT_PER_WEEK)
        .sort(_KEY)
    )


def _true_slopes(truth_lifts: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """True mean slope of each lift over the last eight weeks, % a week."""
    recent = truth_lifts.filter(
        (pl.col("week_end") > as_of - timedelta(weeks=8)) & (pl.col("week_end") <= as_of)
    )
    return recent.group_by("athlete", "exercise").agg(true_slope=pl.col("slope_pct_per_week").mean())


def weigh_calls(calls: pl.DataFrame) -> MuscleEvidence:
    """Detection and calibration of judged groups; `calls` may hold several rosters with distinct athletes."""
    return MuscleEvidence(
        detection=_detection(calls), reliability=_reliability(calls), calibration=_calibration(calls)
    )


def _detection(calls: pl.DataFrame) -> pl.DataFrame:
    """Each method names one group per athlete, and as many over the roster as have a probability of 0.5."""
    truth = calls["lagging"].to_numpy()
    probable = int((calls["p_lagging"] >= 0.5).sum())
    rows = []
    for method, (column, high) in METHODS.items():
        score = calls[column].to_numpy() * (1 if high else -1)
        scored = calls.with_columns(score=pl.Series(score))
        one = scored.sort("score", "muscle", descending=[True, False]).unique(
            "athlete", keep="first", maintain_order=True
        )
        top = scored.sort("score", *_KEY, descending=[True, False, False]).head(probable)
        for way, named in (("one per athlete", one), ("as many as have p 0.5", top)):
            hits = int(named["lagging"].sum())
            rows.append(
                {
                    "method": method,
                    "naming": way,
                    "named": named.height,
                    "precision": hits / max(named.height, 1),
                    "recall": hits / max(int(truth.sum()), 1),
                    "auc": _auc(score, truth),
                }
            )
    return pl.DataFrame(rows)


def _auc(score: np.ndarray, truth: np.ndarray) -> float:
    """Probability that a lagging group scores above another one; ties count half."""
    rank = pl.Series(score).rank("average").to_numpy()
    positive = int(truth.sum())
    negative = len(truth) - positive
    return float((rank[truth].sum() - positive * (positive + 1) / 2) / max(positive * negative, 1))


def _reliability(calls: pl.DataFrame) -> pl.DataFrame:
    return (
        calls.with_columns(bin=(pl.col("p_lagging") * _BINS).floor().clip(0, _BINS - 1).cast(pl.Int32))
        .group_by("bin")
        .agg(predicted=pl.col("p_lagging").mean(), observed=pl.col("lagging").mean(), groups=pl.len())
        .sort("bin")
    )


def _calibration(calls: pl.DataFrame) -> pl.DataFrame:
    p = np.clip(calls["p_lagging"].to_numpy(), 1e-4, 1 - 1e-4)
    truth = calls["lagging"].to_numpy().astype(float)
    odds = logit(p)

    def loss(line: np.ndarray) -> float:
        fitted = np.clip(expit(line[0] + line[1] * odds), 1e-9, 1 - 1e-9)
        return float(-(truth * np.log(fitted) + (1 - truth) * np.log(1 - fitted)).mean())

    intercept, slope = minimize(loss, np.array([0.0, 1.0])).x
    bins = _reliability(calls)
    error = ((bins["predicted"] - bins["observed"]).abs() * bins["groups"]).sum() / len(p)
    return pl.DataFrame(
        {
            "groups": [len(p)],
            "base_rate": [truth.mean()],
            "slope": [slope],
            "intercept": [intercept],
            "brier": [np.square(p - truth).mean()],
            "brier_base": [truth.mean() * (1 - truth.mean())],
            "expected_error": [error],
        }
    )
