"""Roles: warm-up, working, back-off, drop or rest-pause for every set, told by the log or inferred."""

from __future__ import annotations

import polars as pl

_BEND = 28.0
"""Strength shown by a set is log load + log(1 + (reps + reserve - 1) / 28): 76 % of a maximum at ten reps."""
_SAME = 0.02
"""Loads closer than 2 % are one load."""

# A set before the first hard one is a warm-up if it falls this far short of the day's best (log strength) ...
_SHORT = 0.225
_SHORT_EVEN = 0.20  # ... when it has no more repetitions than the heaviest set,
_SHORT_FEW = 0.10  # ... or hardly more than half of them.
_FEW = 0.6
_RIR_EASES = 0.7  # In logs that tell reps in reserve, sets without it fall short sooner,
_SHORT_WITH_RIR = 0.5  # and sets with it hardly ever.

# Log odds that a lighter set is a drop and not a back-off set.
_ODDS = {"one": -3.6, "loss": -22.0, "more": -3.0, "repeated": -4.0, "row": 1.0, "stairs": 1.5, "habit": 1.0}
_RESERVE_ODDS, _REST_ODDS = -2.0, 8.0
_QUICK_S, _RESTED_S = 30.0, 45.0
_PAUSE_SHARE, _PAUSED_SHARE = 0.58, 0.75
"""At an unchanged load, so few of the repetitions before are a rest-pause; further ones may have a bit more."""


def assign_roles(sets: pl.DataFrame) -> pl.DataFrame:
    """The same rows, every one with `role` and `role_source` (logged, inferred); drop chains get a `chain`.

    Needs the columns of ``schema.SETS``, rows in training order; `role` is null where the log tells none.
    What is inferred depends on the exercise's own sets of that day and, through the athlete's habit, on earlier
    days; never on later ones.  `chain` counts from 1 within athlete, date, position and side; the head and its
    drops share it.  The cuts follow habits of the trade (common practice, no source): warm-ups are light and
    come first; a drop cuts a fifth to a third and aims at the same repetitions; its head is a working set.
    """
    if sets.is_empty():
        return sets
    work = _settled(_pauses(_drops(_lighter(_warm_ups(_sequences(sets))))))
    return sets.with_columns(work.sort("row").select("role", "role_source", "chain"))


def _sequences(sets: pl.DataFrame) -> pl.DataFrame:
    """What inference needs: one exercise, day and side after the other, numbered by `seq`."""
    key = ["athlete", "date", "position", "exercise"]
    side = {"left": 1, "right": 2}
    work = sets.select(
        "athlete",
        "exercise",
        "chain",
        "rir",
        "rest_s",
        group=pl.any_horizontal(pl.col(k).ne_missing(pl.col(k).shift(1)) for k in key).cum_sum(),
        side=pl.col("side").replace_strict(side, default=0, return_dtype=pl.Int8),
        told=pl.when(pl.col("role").is_null() & pl.col("chain").is_not_null())
        .then(
            pl.when(pl.col("chain").ne_missing(pl.col("chain").shift(1)))
            .then(pl.lit("working"))
            .otherwise(pl.lit("drop"))
        )
        .otherwise("role"),
        row=pl.int_range(pl.len(), dtype=pl.UInt32),
        load=pl.col("load_kg").fill_null(0.0).clip(0.1).log(),
        reps=pl.col("reps").fill_null(1).clip(1).cast(pl.Float64),
    )
    if (work["side"] > 0).any():
        work = work.sort("group", "side", "row")
    fresh = pl.col("group").ne_missing(pl.col("group").shift(1)) | (pl.col("side") != pl.col("side").shift(1))
    shown = ((pl.col("reps") - 1) / _BEND).log1p()
    reserve = pl.col("rir").fill_null(0).clip(0, 5)
    return work.with_columns(
        fresh=fresh.fill_null(True),
        seq=fresh.fill_null(True).cum_sum().cast(pl.UInt32),
        shown=pl.col("load") + shown,
        best=pl.col("load") + ((pl.col("reps") - 1 + reserve) / _BEND).log1p(),
    )


def _warm_ups(work: pl.DataFrame) -> pl.DataFrame:
    """Adds `warm`: light sets before the first hard one."""
    marks = (pl.col("told") == "warm_up").fill_null(False)
    work = work.with_columns(
        short=pl.col("best").max().over("seq") - pl.col("best"),
        heaviest=pl.col("load").max().over("seq"),
        tells_rir=pl.col("rir").is_not_null().any().over("seq"),
        marks=marks.cast(pl.Int8).cum_max().over("athlete") == 1,
    )
    heaviest = pl.col("load") > pl.col("heaviest") - _SAME
    work = work.with_columns(top_reps=pl.when(heaviest).then("reps").max().over("seq"))
    limit = (
        pl.when(pl.col("reps") <= _FEW * pl.col("top_reps"))
        .then(_SHORT_FEW)
        .when(pl.col("reps") <= pl.col("top_reps"))
        .then(_SHORT_EVEN)
        .otherwise(_SHORT)
    )
    limit = (
        pl.when(pl.col("rir").is_not_null())
        .then(_SHORT_WITH_RIR)
        .when("tells_rir")
        .then(_RIR_EASES * limit)
        .otherwise(limit)
    )
    looks = ~heaviest & (pl.col("short") > limit) & ~pl.col("marks")
    warm = pl.when(pl.col("told").is_null()).then(looks).otherwise(pl.col("told") == "warm_up")
    return work.with_columns(warm=(~warm).cum_sum().over("seq") == 0)


def _lighter(work: pl.DataFrame) -> pl.DataFrame:
    """Adds runs of one load (`run`, `run_length`) and `lighter`: below an earlier set that was no warm-up."""
    hard = pl.when(~pl.col("warm")).then("load")
    work = work.with_columns(
        turn=pl.col("fresh")
        | pl.col("warm").shift(1)
        | ((pl.col("load") - pl.col("load").shift(1)).abs() > _SAME),
        ceiling=hard.cum_max().over("seq"),
    )
    work = work.with_columns(run=pl.col("turn").fill_null(True).cum_sum().cast(pl.UInt32))
    return work.with_columns(
        run_length=pl.len().over("run"),
        lighter=~pl.col("warm") & (pl.col("load") < pl.col("ceiling") - _SAME),
    )


def _drops(work: pl.DataFrame) -> pl.DataFrame:
    """Adds `drop`, judged at the first set of each lighter run by the log odds of ``_ODDS``."""
    before = {name: pl.col(name).shift(1) for name in ("load", "shown", "reps", "lighter", "run_length")}
    follows = (pl.col("seq") == pl.col("seq").shift(-1)) & (pl.col("load").shift(-1) < pl.col("load") - 0.07)
    falls = pl.col("load") < before["load"] - _SAME
    loss = pl.col("shown") - before["shown"]
    more = (pl.col("reps") / before["reps"]).log().clip(0, 1)
    odds = (
        _ODDS["one"]
        + _ODDS["loss"] * loss.clip(-0.6, 0.1)
        + _ODDS["more"] * more
        + _ODDS["repeated"] * (pl.col("run_length") > 1)
        + _ODDS["row"] * (~before["lighter"] & (before["run_length"] > 1))
        + _ODDS["stairs"] * (follows | before["lighter"])
        + _RESERVE_ODDS * (pl.col("rir").fill_null(0) >= 2)
        + _REST_ODDS * (pl.col("rest_s") <= _QUICK_S).fill_null(False)
        - _REST_ODDS * (pl.col("rest_s") >= _RESTED_S).fill_null(False)
    )
    judged = pl.col("lighter") & pl.col("turn") & falls & ~pl.col("fresh")
    work = work.with_columns(odds=pl.when(judged).then(odds.clip(-9, 9)))
    work = work.with_columns(odds=pl.col("odds") + _ODDS["habit"] * _habit(work))
    return work.with_columns(
        drop=(pl.col("lighter") & pl.col("turn") & (pl.col("odds") > 0)).fill_null(False),
    )


def _habit(work: pl.DataFrame) -> pl.Series:
    """Mean log odds of the lighter sets of this athlete and exercise on earlier days, shrunk towards 0."""
    judged = work.filter(pl.col("odds").is_not_null()).select(
        "athlete", "exercise", "group", "row", odds=pl.col("odds").clip(-3, 3)
    )
    who = ["athlete", "exercise"]
    day = judged.group_by([*who, "group"], maintain_order=True).agg(odds=pl.col("odds").mean())
    past = day.with_columns(
        habit=pl.col("odds").cum_sum().over(who) - pl.col("odds"),
        days=pl.int_range(pl.len()).over(who),
    ).with_columns(pl.col("habit") / (pl.col("days") + 1.5))
    return work.join(past.select("group", "habit"), on="group", how="left", maintain_order="left")[
        "habit"
    ].fill_null(0)


def _pauses(work: pl.DataFrame) -> pl.DataFrame:
    """Adds `pause`: the same load again after a few breaths, so with far fewer repetitions."""
    again = ~pl.col("turn") & ~pl.col("warm")
    before = pl.col("reps").shift(1)
    few = (pl.col("reps") <= _PAUSE_SHARE * before) & (before >= 3)
    quick = pl.when(pl.col("rest_s").is_not_null()).then(pl.col("rest_s") <= _QUICK_S).otherwise(few)
    work = work.with_columns(starts=(again & quick).fill_null(False))
    work = work.with_columns(
        head_reps=pl.when("starts").then(before).forward_fill().over("run"),
    )
    rested = (pl.col("rest_s") >= _RESTED_S).fill_null(False)
    return work.with_columns(
        pause=(again & (pl.col("reps") <= _PAUSED_SHARE * pl.col("head_reps")) & ~rested).fill_null(False)
    )


def _settled(work: pl.DataFrame) -> pl.DataFrame:
    """Adds `role`, `role_source` and `chain`."""
    inferred = (
        pl.when("warm")
        .then(pl.lit("warm_up"))
        .when("drop")
        .then(pl.lit("drop"))
        .when("pause")
        .then(pl.lit("rest_pause"))
        .when("lighter")
        .then(pl.lit("back_off"))
        .otherwise(pl.lit("working"))
    )
    source = pl.when(pl.col("told").is_null()).then(pl.lit("inferred")).otherwise(pl.lit("logged"))
    work = work.with_columns(role=pl.col("told").fill_null(inferred), role_source=source, given="chain")
    drop = pl.col("role") == "drop"
    heads = ~drop & drop.shift(-1) & (pl.col("seq") == pl.col("seq").shift(-1)) | drop & pl.col("fresh")
    work = work.with_columns(starts=heads.fill_null(False))
    number = pl.col("starts").cum_sum().over("seq")
    return work.with_columns(
        chain=pl.coalesce("given", pl.when(pl.col("starts") | drop).then(number)).cast(pl.Int32)
    )
