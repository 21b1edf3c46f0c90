"""Quality: how much each athlete's log can tell, one row per athlete."""

from __future__ import annotations

from datetime import timedelta

import polars as pl

from analytics.review.evidence import RECENT_DAYS, Evidence
from analytics.schema import HARD_ROLES, QUALITY, conform


def quality(evidence: Evidence, set_aside: pl.DataFrame) -> pl.DataFrame:
    """schema.QUALITY: last logged day, recent training, what was kept out, how much effort is recorded."""
    recent = evidence.sets.filter(pl.col("date") > evidence.as_of - timedelta(days=RECENT_DAYS))
    last = evidence.sets.group_by("athlete").agg(
        last_date=pl.col("date").max(), suspect_sets=pl.col("suspect").sum()
    )
    month = recent.group_by("athlete").agg(
        training_days=pl.col("date").n_unique(),
        hard_sets=pl.col("role").is_in(HARD_ROLES).sum(),
        rir_share=(pl.col("rir").is_not_null() & pl.col("role").is_in(HARD_ROLES)).sum()
        / pl.col("role").is_in(HARD_ROLES).sum().clip(lower_bound=1),
        roles_inferred_share=(pl.col("role_source") == "inferred").mean(),
    )
    files = evidence.ledger.group_by("athlete").agg(
        files=pl.len(),
        files_refused=(pl.col("outcome") == "refused").sum(),
        rows_duplicate=pl.col("rows_duplicate").sum(),
    )
    faults = set_aside.filter(pl.col("kind") != "later").group_by("athlete").agg(rows_set_aside=pl.len())
    athletes = pl.DataFrame({"athlete": [athlete.id for athlete in evidence.roster.athletes]})
    joined = athletes
    for part in (last, month, files, faults):
        joined = joined.join(part, on="athlete", how="left")
    counts = (
        "suspect_sets",
        "training_days",
        "hard_sets",
        "files",
        "files_refused",
        "rows_duplicate",
        "rows_set_aside",
    )
    return conform(joined.with_columns(pl.col(counts).fill_null(0)), QUALITY)
