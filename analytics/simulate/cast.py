"""Cast: the twelve athletes of the demo, what each is there to show, and how each writes a log."""

from __future__ import annotations

from dataclasses import replace

from analytics.simulate import showing
from analytics.simulate.part import Part
from analytics.simulate.style import Style
from analytics.simulate.world import World

_STEADY = World(
    lifts=(9, 12),
    stall_share=0.0,
    regress_share=0.0,
    slope_pct_per_week=(0.25, 0.5),
    layoffs_per_year=0.0,
    travel_per_year=0.0,
    swap_per_lift_year=0.0,
    cut_share=0.0,
    neglected_share=0.0,
    non_response_share=0.0,
    warm_ups_logged_share=1.0,
    sides_logged_share=0.0,
    checkins_kept_share=1.0,
    girths_kept_share=1.0,
    deload_share=1.0,
    pounds_share=0.0,
)
# A careful trainee: what happens to this one shows in the log.
_CLEAR = replace(
    _STEADY,
    day_sd=0.012,
    lift_sd=0.016,
    bad_day_share=0.02,
    noise_spread=0.1,
    rir_forgotten_share=0.05,
    rir_bias=0.3,
    rir_sd=0.35,
    pump_share=0.0,
    missed_session_share=0.03,
)

CAST = (
    Part(
        id="heron",
        shows="a cut towards the stage date: most lifts hold, some lose",
        world=replace(_CLEAR, cut_share=1.0, cut_weeks=(12, 16), cut_strength_pct_per_week=(0.0, 0.35)),
        style=Style(rest=True),
        fits=showing.cuts,
        kind="cut",
    ),
    Part(
        id="wren",
        shows="one lift that gained well and then stalled",
        world=replace(
            _CLEAR, stall_share=0.2, restart_share=0.0, slope_pct_per_week=(0.7, 0.9), slope_spread=0.15
        ),
        style=Style(
            language="de", delimiter=";", encoding="cp1252", line_end="\r\n", day="%d.%m.%Y", decimal=","
        ),
        fits=showing.stalls,
    ),
    Part(
        id="kestrel",
        shows="one lift that loses strength",
        world=replace(_CLEAR, regress_share=0.12, restart_share=0.0, regress_pct_per_week=(0.8, 1.0)),
        style=Style(layout="sets_at", day="%m/%d/%Y", unit="lb", roles="none"),
        fits=showing.regresses,
    ),
    Part(
        id="plover",
        shows="a muscle group left behind by too few sets",
        world=replace(_CLEAR, neglected_share=1.0, slope_pct_per_week=(0.8, 1.0)),
        style=Style(
            layout="numbered",
            language="es",
            delimiter="\t",
            day="%d/%m/%Y",
            decimal=",",
            effort="none",
            roles="none",
        ),
        fits=showing.underdoses,
    ),
    Part(
        id="curlew",
        shows="a muscle group that gets its sets and does not respond",
        world=replace(_CLEAR, non_response_share=1.0, slope_pct_per_week=(0.85, 1.0), slope_spread=0.15),
        style=Style(layout="blocks", day="%d %B %Y"),
        fits=showing.does_not_respond,
    ),
    Part(
        id="dunlin",
        shows="a layoff of more than two weeks, with loss and regain",
        world=replace(_STEADY, layoffs_per_year=4.0, layoff_weeks=(3, 4), stall_share=0.2),
        style=Style(
            language="fr",
            delimiter=";",
            encoding="utf-8-sig",
            day="%d/%m/%Y",
            decimal=",",
            effort="rpe",
            rest=True,
        ),
        fits=showing.lays_off,
    ),
    Part(
        id="siskin",
        shows="a beginner whose lifts nearly all progress",
        world=replace(_STEADY, slope_pct_per_week=(0.8, 1.0)),
        style=Style(layout="numbered", day="%m/%d/%y", unit="lb", effort="none", roles="none"),
        fits=showing.anyone,
    ),
    Part(
        id="merlin",
        shows="an exercise swapped within its family, and weeks in another gym",
        world=replace(_STEADY, swap_per_lift_year=0.5, travel_per_year=3.0),
        style=Style(
            layout="shorthand", language="de", delimiter=";", day="%d.%m.%y", decimal=",", roles="none"
        ),
        fits=showing.travels_and_swaps,
    ),
    Part(
        id="avocet",
        shows="a very advanced lifter: gains too slow to be sure of",
        world=replace(_STEADY, slope_pct_per_week=(0.05, 0.09)),
        style=Style(
            layout="blocks",
            language="it",
            delimiter=";",
            day="%d/%m/%Y",
            decimal=",",
            effort="none",
            roles="warm_ups",
        ),
        fits=showing.anyone,
    ),
    Part(
        id="linnet",
        shows="monthly exports that overlap by a week",
        world=replace(_STEADY, stall_share=0.3, regress_share=0.1),
        style=Style(delimiter="\t", encoding="utf-16", effort="rpe", day="%d/%m/%Y", monthly=True),
        fits=showing.anyone,
    ),
    Part(
        id="osprey",
        shows="pounds, supersets, and an exercise of the coach's own",
        world=replace(_STEADY, superset_share=0.5, stall_share=0.3),
        style=Style(delimiter="|", unit="lb", unit_column=True, effort="rpe", title="Training log - osprey"),
        fits=showing.pulls,
    ),
    Part(
        id="lapwing",
        shows="planned easy weeks, and the rows that must be set aside",
        world=replace(_STEADY, slope_pct_per_week=(0.3, 0.5), deload_every_weeks=(5.6, 1.0)),
        style=Style(day="%Y-%m-%dT17:40:00+01:00", roles="warm_ups"),
        fits=showing.deloads,
    ),
)
