"""Changes: what this week's answers say that last week's, made the same way, did not."""

from __future__ import annotations

import polars as pl

from analytics.review.advice import KINDS
from analytics.schema import CHANGES, conform

LEAST_MOVE = 0.1
_WORDS = {
    "progressing": "progressing",
    "stalled": "stalled",
    "regressing": "regressing",
    "unsure": "unsure",
    "responding": "responding",
    "underdosed": "underdosed",
    "not_responding": "not responding",
    "overreaching": "overreaching",
}


def changes_between(before: dict[str, pl.DataFrame], now: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """schema.CHANGES from two runs of the same analysis, `before` a week earlier.

    A state that flips because its probability crept over a limit is no news: it is told when the probability
    has moved by at least LEAST_MOVE.  Compared are the states of lifts, families and muscle groups, lifts
    that have a first answer, and what came on to or left the attention list.
    """
    found = [
        _states(before["lifts"], now["lifts"], "exercise", "lift"),
        _states(before["families"].filter(_several), now["families"].filter(_several), "family", "family"),
        _states(before["muscles"], now["muscles"], "muscle", "muscle"),
        _attention(before["attention"], now["attention"]),
    ]
    return conform(pl.concat(found), CHANGES)


_several = pl.col("exercises").str.contains(",")
"""A family of one exercise changes with its exercise; only swapped ones are told apart."""


def _states(before: pl.DataFrame, now: pl.DataFrame, subject: str, kind: str) -> pl.DataFrame:
    key = ["athlete", subject]
    chance = "p_lagging" if kind == "muscle" else "p_progressing"
    was = before.select(*key, before="state", chance_before=chance)
    both = now.select(*key, now="state", chance_now=chance).join(was, on=key, how="left")
    moved = (pl.col("chance_now") - pl.col("chance_before")).abs() >= LEAST_MOVE
    changed = both.filter(
        pl.col("before").is_null() | ((pl.col("before") != pl.col("now")) & moved.fill_null(True))
    )
    old, new = (pl.col(c).replace_strict(_WORDS, default=pl.col(c)) for c in ("before", "now"))
    sentence = (
        pl.when(pl.col("before").is_null())
        .then(pl.format("First answer: {}.", new))
        .otherwise(pl.format("Was {}, is now {}.", old, new))
    )
    if kind == "muscle":
        changed = changed.filter(pl.col("before").is_not_null())
    return changed.select(
        "athlete",
        subject=pl.col(subject),
        subject_kind=pl.lit(kind),
        what=pl.lit("state"),
        before="before",
        now="now",
        sentence=sentence,
    )


def _attention(before: pl.DataFrame, now: pl.DataFrame) -> pl.DataFrame:
    key = ["athlete", "subject_kind", "subject"]
    old = before.filter("listed").select(*key, before="kind").unique(key, keep="first", maintain_order=True)
    new = now.filter("listed").select(*key, now="kind").unique(key, keep="first", maintain_order=True)
    both = new.join(old, on=key, how="full", coalesce=True).filter(
        pl.col("before").is_null() | pl.col("now").is_null()
    )
    words = pl.coalesce("now", "before").replace_strict(KINDS, default=pl.coalesce("now", "before"))
    sentence = (
        pl.when(pl.col("now").is_null())
        .then(pl.format("No longer on the attention list ({}).", words))
        .otherwise(pl.format("New on the attention list: {}.", words))
    )
    return both.select(
        "athlete",
        "subject",
        "subject_kind",
        what=pl.lit("attention"),
        before="before",
        now="now",
        sentence=sentence,
    )
