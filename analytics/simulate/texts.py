"""Texts: the roster file, the coach's own exercise, the decisions and the description of the demo folder."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import polars as pl

from analytics.simulate.cast import CAST
from analytics.simulate.part import Part
from analytics.simulate.style import Style
from analytics.simulate.world import LAST_DAY, Simulated

OWN_ID = "quarry_row"
OWN_NAME = "Quarry row"
OWN_EXERCISE = """# The coach's own exercises, laid over the catalogue.

[quarry_row]  # a home-made lever row in the coach's gym
name = "Quarry row"
family = "horizontal_pull"
equipment = "machine"
kind = "compound"
direct = ["upper_back", "lats"]
assisting = ["biceps", "rear_delts"]
names = ["lever row, quarry gym"]
"""

# weeks before the last day, athlete, what the decision is about, what, why
DECISIONS = (
    (12, "heron", "losing", "Held the load, one set less", "In a cut: keep what is there"),
    (10, "plover", "neglected", "Asked for two more exercises a week", "Too few sets to grow"),
    (
        6,
        "curlew",
        "non_responding",
        "Other exercise order, slower down",
        "The sets are there, the response is not",
    ),
    (5, "wren", "stalled", "One more back-off set, same top set", "Progress had stopped"),
    (4, "kestrel", "losing", "One heavy day, one lighter day", "Falling since the holidays"),
    (3, "merlin", "swapped", "Keep the new exercise for a whole block", "Too many swaps to see a trend"),
)


def subject(about: str, simulated: Simulated) -> str | None:
    """The muscle or lift that a decision is about, from the truth; None if this athlete has none."""
    if about in ("neglected", "non_responding"):
        name = simulated.athletes[f"{about}_muscle"][0]
        return None if name is None else str(name)
    truth = simulated.truth_lifts
    if about == "swapped":
        day = pl.col("week_end")
        late = truth.filter(day.min().over("exercise") > day.min() + pl.duration(days=28))
        return None if late.is_empty() else str(late["exercise"][0])
    regime = "stalled" if about == "stalled" else "regressing"
    now = truth.filter(pl.col("week_end") == truth["week_end"].max(), pl.col("regime") == regime)
    return None if now.is_empty() else str(now.sort("regime_since", "exercise")["exercise"][0])


_AIMS = """[defaults.weekly_sets]
chest = [4, 20]
lats = [4, 20]
quads = [4, 20]
"""


def _aims(simulated: Simulated) -> list[str]:
    """The coach's aims for the muscles this athlete trains: about what is done, more for a neglected one."""
    lines = ["[athlete.weekly_sets]"]
    neglected = simulated.athletes["neglected_muscle"][0]
    for muscle, sets in simulated.truth_muscles.select("muscle", "weekly_sets").iter_rows():
        low, high = max(2, min(8, int(0.7 * sets))), max(12, int(1.5 * sets) + 1)
        lines.append(f"{muscle} = {[8, 16] if muscle == neglected else [low, high]}")
    return [*lines, ""]


def roster_toml(members: Sequence[tuple[Part, Simulated]], further: Sequence[tuple[str, str, float]]) -> str:
    """`roster.toml` of the demo: the cast with phases, priorities and aims, then the further athletes."""
    days = [simulated.truth_lifts["week_end"].to_list()[0] for _, simulated in members]
    first = min(days, default=LAST_DAY) - timedelta(days=6)
    lines = [
        "# An invented roster.  Nobody in it exists.",
        "[roster]",
        'title = "Birdcliff Barbell, autumn roster (invented)"',
        "",
        "[defaults]",
        'unit = "kg"',
        'date_order = "dmy"',
        "bodyweight_kg = 78.0",
        "",
        _AIMS,
    ]
    for part, simulated in members:
        lines += _athlete(part, simulated, first)
    for athlete, unit, weight_kg in further:
        lines += ["[[athlete]]", f'id = "{athlete}"', f'name = "{_name(athlete)}"', f'unit = "{unit}"']
        lines += [f"bodyweight_kg = {weight_kg:.1f}", ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _athlete(part: Part, simulated: Simulated, first: date) -> list[str]:
    lines = ["[[athlete]]", f'id = "{part.id}"', f'name = "{_name(part.id)}"']
    if part.style.unit == "lb":
        lines.append('unit = "lb"')
    if "%m/%d" in part.style.day:
        lines.append('date_order = "mdy"')
    lines.append(f"bodyweight_kg = {_first_weight(simulated):.1f}")
    if part.kind == "cut":
        lines.append(f"stage_date = {LAST_DAY + timedelta(days=41)}")
    lagging = simulated.athletes["neglected_muscle"][0] or simulated.athletes["non_responding_muscle"][0]
    if lagging:
        lines.append(f'priority = ["{lagging}"]')
    lines += [
        "",
        *_aims(simulated),
        "[[athlete.phase]]",
        'name = "build"',
        f"from = {first - timedelta(days=28)}",
        "",
    ]
    cut = simulated.athletes["cut_from"][0]
    if cut is not None:
        lines += ["[[athlete.phase]]", 'name = "cut"', f"from = {cut}", ""]
        lines += ["[[athlete.phase]]", 'name = "peak"', f"from = {LAST_DAY + timedelta(days=30)}", ""]
    return lines


def _first_weight(simulated: Simulated) -> float:
    weights = simulated.checkins.filter(pl.col("measure") == "bodyweight")
    known = weights if weights.height else None
    return float(simulated.athletes["bodyweight_kg"][0] if known is None else known["value"][0])


def _name(athlete: str) -> str:
    return athlete.replace("-", " ").capitalize()


def readme(parts: Sequence[Part], athletes: int, weeks: int, seed: int) -> str:
    """`README.md` of the demo folder: what it is, who invented it, its columns, what is broken on purpose."""
    rows = [f"| {part.id} | {part.shows} | {_style_words(part.style)} |" for part in parts]
    more = (
        ""
        if athletes <= len(CAST)
        else f"\nFurther {athletes - len(CAST)} athletes come from the default world.\n"
    )
    table = "\n".join(rows)
    return _README.format(athletes=athletes, weeks=weeks, seed=seed, table=table, more=more, last=LAST_DAY)


def _style_words(style: Style) -> str:
    layout = {
        "rows": "row per set",
        "shorthand": "row per exercise, load x reps",
        "sets_at": "row per exercise, sets x reps @ load",
        "numbered": "numbered columns",
        "blocks": "blocks under headings",
    }[style.layout]
    delimiter = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}[style.delimiter]
    effort = "no effort" if style.effort == "none" else style.effort.upper()
    roles = {"words": "roles told", "warm_ups": "warm-ups marked", "none": "no roles"}[style.roles]
    if style.layout in ("shorthand", "sets_at", "numbered"):
        roles = "no roles" if style.layout != "shorthand" else "drop chains as >"
    return f"{layout}; {style.language}; {delimiter}; {style.encoding}; {style.unit}; {effort}; {roles}"


_README = """# An invented roster

Nobody here exists. The folder was made by this package itself (`analytics/simulate`), with

    roster demo NEW_FOLDER --athletes {athletes} --weeks {weeks} --seed {seed}

and holds {athletes} athletes over {weeks} weeks that end on {last}. All names, numbers, notes and decisions
are invented by the authors of the package. The same command writes the same bytes. The truth behind it (true
strength, true roles, true response) is not in this folder; `--truth DIR` writes it elsewhere.

| athlete | is there to show | writes |
|---|---|---|
{table}
{more}
## Files

- `roster.toml`: title, defaults, weekly aims in fractional sets, athletes with phases and stage date.
- `exports/<athlete>/`: training logs. Heads differ by language; the same things are written in all of them:

| column | meaning |
|---|---|
| date | day of training; the order of day and month is the athlete's own |
| exercise | name as the athlete says it |
| set | number of the set within the exercise |
| weight | on the bar, in one hand, or on the stack; `BW+10` is bodyweight and 10 more |
| unit | kg or lb: in the head of the weight, in its cell, or in a column of its own |
| reps | repetitions done; `x` and `@` cells hold several sets |
| RIR, RPE | repetitions in reserve, or perceived exertion as 10 - RIR |
| set type | warm-up, working, back-off, drop, rest-pause, in the athlete's language; `W` is a warm-up |
| rest | seconds before the set |
| side, superset, notes | left or right; exercises done in turn; free text |

- `checkins/<athlete>.csv`: date, bodyweight, girths left and right, each with its unit.
- `calendar.csv`: athlete, from, to, kind (travel, layoff, deload), note. Some weeks are missing on purpose.
- `decisions.csv`: date, athlete, subject (lift or muscle), what was changed, why.
- `exercises.toml`: one exercise of the coach's own, used by osprey.

## Broken on purpose

- heron: a date that does not exist (31 June), a load that cannot be read (`6O kg?`), 1200 repetitions.
- lapwing: a row without an exercise, a negative load, a date in 2062.
- plover: one load ten times too high; it is kept, marked suspect and left out of strength.
- linnet: two exports that share a week; the shared workouts count once.
"""
