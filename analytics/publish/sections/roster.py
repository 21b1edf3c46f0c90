"""Roster: the parts of the roster page, each a list of words, tables and figures in order."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from analytics.charts import slopes_figure, spread_figure
from analytics.charts.look import STATES, state_words
from analytics.publish.sections.blocks import CAUTIONED, drawn
from analytics.publish.show import Look, Shown, table, words
from analytics.review import COUNTED, KINDS, WAIT, is_held

Tables = Mapping[str, pl.DataFrame]
PAGE = "athletes/{}.html"
MEANT = (
    "An entry is real when the lift makes no progress (in a cut: loses more than bodyweight explains), or "
    "the muscle group is behind the athlete's others."
)


def attention(tables: Tables) -> list[Shown]:
    """The coach's list, most pressing first, with its own expected share of false names."""
    listed = tables["attention"].filter("listed")
    if listed.is_empty():
        return [words("## Who needs attention first\n\nNothing reaches the list this week.")]
    judged = listed.filter(pl.col("probability") < COUNTED)
    share = judged.select(pl.col("expected_false_share").max()).item() or 0.0
    told = f"{judged.height} are judgements: expect about {judged.height * share:.0f} of them to be wrong. "
    wait = listed.filter(pl.col("try_next").str.contains(WAIT, literal=True)).height
    pressing = f"{listed.height} entries: {listed.height - wait} to act on, {wait} to wait and look again."
    text = (
        f"## Who needs attention first\n\n{pressing} {told if judged.height else ''}"
        f"{listed.height - judged.height} are plain counts. {MEANT} Order: that probability, raised for your "
        f"priorities, for a near stage date and for strength that is being lost.\n\n{CAUTIONED}"
    )
    named = _without_folders(_with_names(listed, tables, "subject"))
    shown = named.select(
        "rank",
        athlete="athlete",
        subject="label",
        what=pl.col("kind").replace_strict(KINDS, default=pl.col("kind")),
        probability=pl.when(pl.col("probability") < COUNTED).then("probability"),
        since="since",
        evidence="evidence",
        try_next="try_next",
    )
    look = Look(
        links={"athlete": PAGE},
        labels={"try_next": "what to try", "probability": "probability it is real"},
        decimals={"probability": 2},
        sortable=True,
    )
    return [words(text), table(shown, look)]


def slopes(tables: Tables) -> list[Shown]:
    """Slopes of the listed lifts with intervals, and every lift of the roster."""
    lifts = _lifts(tables)
    if lifts.is_empty():
        return []
    listed = tables["attention"].filter(pl.col("listed") & pl.col("subject_kind").is_in(["lift", "family"]))
    by_lift = lifts.join(listed.select("athlete", exercise="subject"), on=["athlete", "exercise"], how="semi")
    by_family = lifts.join(listed.select("athlete", family="subject"), on=["athlete", "family"], how="semi")
    drawn_lifts = pl.concat([by_lift, by_family]).unique(
        ["athlete", "exercise"], keep="first", maintain_order=True
    )
    shown = [words("## Slopes of strength")]
    if drawn_lifts.height:
        shown.append(drawn(slopes_figure(drawn_lifts)))
    return [*shown, drawn(spread_figure(lifts))]


def standing(tables: Tables) -> list[Shown]:
    """One row per athlete: phase, weeks to the stage, states of the lifts, last log, and the page."""
    counts = (
        _stated(tables)
        .group_by("athlete")
        .agg(*[(pl.col("state") == state).sum().alias(word) for state, word in state_words(STATES).items()])
    )
    entries = tables["attention"].filter("listed").group_by("athlete").agg(entries=pl.len())
    rows = (
        tables["athlete"]
        .select("athlete", "name", "phase", "stage_date", "weeks_to_stage")
        .join(entries, on="athlete", how="left")
        .join(counts, on="athlete", how="left")
        .join(_held(tables), on="athlete", how="left")
        .join(_this_week(tables), on="athlete", how="left")
        .join(tables["quality"].select("athlete", "last_date"), on="athlete", how="left")
        .with_columns(pl.col("entries").fill_null(0))
        .sort("entries", "athlete", descending=[True, False])
    )
    labels = {
        "entries": "entries on the list",
        "kind": "this week",
        "held": "held in a cut",
        "stage_date": "stage date",
        "last_date": "last logged day",
    }
    look = Look(labels=labels, links={"athlete": PAGE}, decimals={"weeks_to_stage": 0}, sortable=True)
    return [words("## All athletes"), table(rows, look)]


def _held(tables: Tables) -> pl.DataFrame:
    """How many lifts hold, by athlete in a cut or peak phase: there it stands for their states."""
    return tables["cuts"].select("athlete", held=pl.format("{} of {}", "held", "lifts"))


def _stated(tables: Tables) -> pl.DataFrame:
    """The lifts with the `state` that their athlete's page tells: `held` for one that holds in a cut."""
    limits = dict(tables["cuts"].select("athlete", "limit_pct_per_week").rows())
    lean = tables["lifts"].filter(pl.col("athlete").is_in(list(limits)))
    held = [is_held(row, limits[row["athlete"]]) for row in lean.iter_rows(named=True)]
    marked = lean.filter(pl.Series(held, dtype=pl.Boolean)).select("athlete", "exercise", held=True)
    lifts = tables["lifts"].join(marked, on=["athlete", "exercise"], how="left", maintain_order="left")
    return lifts.with_columns(state=pl.when("held").then(pl.lit("held")).otherwise("state")).drop("held")


def changed(tables: Tables) -> list[Shown]:
    """What this week's answers say that last week's did not."""
    changes = _without_folders(_with_names(tables["changes"], tables, "subject"))
    if changes.is_empty():
        return [words("## Changed since last week\n\nNo answer changed.")]
    shown = changes.select("athlete", subject="label", change="sentence")
    return [words("## Changed since last week"), table(shown, Look(links={"athlete": PAGE}, sortable=True))]


def _this_week(tables: Tables) -> pl.DataFrame:
    """Calendar entries that touch the seven days of the week, by athlete."""
    as_of = tables["athlete"]["as_of"].max()
    touching = tables["calendar"].filter(
        (pl.col("from") <= as_of) & (pl.lit(as_of) - pl.col("to") < pl.duration(days=7))
    )
    kinds = touching.sort("athlete", "from").group_by("athlete", maintain_order=True)
    return kinds.agg(pl.col("kind").unique(maintain_order=True).str.join(", "))


def data_quality(tables: Tables) -> list[Shown]:
    """Who sent nothing, and how much each log can tell."""
    quality = tables["quality"]
    as_of = tables["athlete"]["as_of"].max()
    silent = quality.filter(
        pl.col("last_date").is_null() | (pl.lit(as_of) - pl.col("last_date") >= pl.duration(days=7))
    )["athlete"].to_list()
    text = "## What the logs can tell\n\n"
    text += (
        f"No set this week from: {', '.join(silent)}." if silent else "Every athlete logged a set this week."
    )
    labels = {
        "rir_share": "hard sets with RIR, %",
        "roles_inferred_share": "set roles inferred, %",
        "training_days": "training days in four weeks",
        "hard_sets": "hard sets in four weeks",
        "suspect_sets": "unlikely sets",
    }
    shown = quality.with_columns(pl.col("rir_share", "roles_inferred_share") * 100)
    look = Look(
        labels=labels,
        links={"athlete": PAGE},
        decimals={"rir_share": 0, "roles_inferred_share": 0},
        sortable=True,
    )
    return [words(text), table(shown, look)]


def _lifts(tables: Tables) -> pl.DataFrame:
    """Lifts with the names that a page shows, athletes with most entries on the list first."""
    order = tables["attention"].filter("listed").group_by("athlete").agg(first=pl.col("rank").min())
    named = _with_names(_stated(tables), tables, "exercise").rename({"label": "lift_name"})
    people = tables["athlete"].select("athlete", athlete_name="name")
    return (
        named.join(people, on="athlete", how="left")
        .join(order, on="athlete", how="left")
        .sort("first", "athlete", "exercise", nulls_last=True)
    )


def _without_folders(entries: pl.DataFrame) -> pl.DataFrame:
    """Files as their athlete knows them: whose folder they are in stands beside them."""
    short = pl.col("label").str.replace(r"exports/[^/]+/", "")
    return entries.with_columns(
        label=pl.when(pl.col("subject_kind") == "data").then(short).otherwise("label")
    )


def _with_names(frame: pl.DataFrame, tables: Tables, column: str) -> pl.DataFrame:
    """The frame with a `label`: what a page calls the id in `column`."""
    names = tables["names"].select("athlete", pl.col("id").alias(column), label="name")
    joined = frame.join(names, on=["athlete", column], how="left", maintain_order="left")
    return joined.with_columns(pl.col("label").fill_null(pl.col(column)))
