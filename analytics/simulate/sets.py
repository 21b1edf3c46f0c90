"""Sets: every set of every visit, from warm-ups to drops, as flat arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analytics.simulate.draws import SET_SLOTS, Draws
from analytics.simulate.plan import SCHEMES, Plan
from analytics.simulate.pool import KINDS, Pool
from analytics.simulate.visits import Visits, reps_to_failure
from analytics.simulate.world import World

WARM, WORK, AFTER = slice(0, 4), slice(4, 9), slice(9, 13)
ROLE = {"warm_up": 0, "working": 1, "back_off": 2, "drop": 3, "rest_pause": 4}
# shares of the first working load and repetitions of the warm-ups, by habit; 0: no set
_RAMP = np.array([[0.40, 0.60, 0.80, 0.90], [10, 6, 3, 2]])
_LIGHT = np.array([[0.40, 0.52, 0.65, 0.0], [20, 18, 12, 0]])


@dataclass(frozen=True, kw_only=True)
class FlatSets:
    """One entry per set: indices into the batch (`athlete`, `slot`, `visit`, `place`) and what was done."""

    athlete: np.ndarray
    slot: np.ndarray
    visit: np.ndarray
    place: np.ndarray
    role: np.ndarray
    chained: np.ndarray
    load_kg: np.ndarray
    added_kg: np.ndarray
    reps: np.ndarray
    rir: np.ndarray
    rest_s: np.ndarray


def make_sets(
    draws: Draws, plan: Plan, visits: Visits, bodyweight_kg: np.ndarray, world: World, pool: Pool
) -> FlatSets:
    """All sets of the batch.  `bodyweight_kg`: AxLxS, on the day of the visit."""
    shape = (*visits.load.shape, SET_SLOTS)
    u0, z0, z1 = draws.u_set[..., 0], draws.z_set[..., 0], draws.z_set[..., 1]
    u = draws.u_visit
    on = np.zeros(shape, bool)
    role = np.zeros(shape, np.int8)
    share = np.ones(shape, np.float32)  # of the top load
    scheme = plan.scheme[:, :, None] * np.ones_like(visits.day)
    scheme = np.where(visits.deload & (scheme != SCHEMES.index("pyramid")), 0, scheme)
    count = np.maximum(plan.working_sets[:, :, None] - visits.deload, 1)
    count = np.where(scheme == SCHEMES.index("back_off"), 1, count)
    pyramid = scheme == SCHEMES.index("pyramid")
    heavy = pool.compound[visits.exercise]

    # working sets
    j = np.arange(5)
    on[..., WORK] = j < count[..., None]
    role[..., WORK] = ROLE["working"]
    below = np.where(pyramid[..., None], np.maximum(count[..., None] - 1 - j, 0), 0)
    gap = (0.045 + 0.075 * draws.u_lift[:, :, 16])[:, :, None, None]
    share[..., WORK] = 1 - gap * below

    # sets after them
    chain = (scheme == SCHEMES.index("drop")) & (u[..., 3] < 0.85)
    chain |= (scheme == 0) & (u[..., 3] < 0.04) & ~visits.deload
    back = scheme == SCHEMES.index("back_off")
    pause = (scheme == SCHEMES.index("rest_pause")) & (u[..., 3] < 0.9)
    e = np.arange(4)
    drops = np.where(heavy, 1, 1 + np.floor(u[..., 4] * 2.6).astype(int))
    backs = 1 + np.floor(draws.u_lift[:, :, 17] * 3).astype(int)[:, :, None]
    pauses = 1 + (u[..., 4] < 0.6)
    extra = np.where(chain, drops, np.where(back, backs, np.where(pause, pauses, 0)))
    on[..., AFTER] = e < extra[..., None]
    role[..., AFTER] = np.where(chain, ROLE["drop"], np.where(back, ROLE["back_off"], ROLE["rest_pause"]))[
        ..., None
    ]
    cut = 0.67 + 0.14 * u0[..., AFTER]
    lighter = np.where(draws.u_lift[:, :, 18] < 0.15, 0.66, 0.79) + 0.13 * draws.u_lift[:, :, 19]
    share[..., AFTER] = np.where(
        chain[..., None], np.cumprod(cut, axis=-1), np.where(back[..., None], lighter[:, :, None, None], 1.0)
    )

    # warm-ups
    ramp = (draws.u_lift[:, :, 20] < 0.55)[:, :, None, None]
    table = np.where(ramp[..., None], _RAMP.T, _LIGHT.T)  # A L 1 4 2
    wished = np.where(
        heavy,
        2 + np.floor(draws.u_lift[:, :, 21] * 3).astype(int)[:, :, None],
        (draws.u_lift[:, :, 21] < 0.5)[:, :, None],
    )
    written = plan.logs_warm_ups[:, None, None] & (u[..., 5] >= world.warm_up_forgotten_share)
    on[..., WARM] = (e < wished[..., None]) & written[..., None] & (table[..., 0] > 0)
    on[..., WARM] &= (visits_kind(visits, pool) != KINDS.index("bodyweight"))[..., None]
    first = share[..., 4:5]
    share[..., WARM] = first * table[..., 0] * (1 + 0.05 * z0[..., WARM])

    step = visits.step[..., None]
    unit = visits.unit_kg[:, None, None, None]
    load = np.maximum(np.round(visits.load[..., None] * share / step), 1) * step
    on[..., WARM] &= load[..., WARM] < load[..., 4:5] - 0.01
    on[..., 1:4] &= load[..., 1:4] > load[..., 0:3] + 0.01
    previous = np.concatenate([load[..., 4:9].max(axis=-1, keepdims=True), load[..., 9:12]], axis=-1)
    on[..., AFTER] &= ~chain[..., None] | (load[..., AFTER] < previous - 0.01)
    on[..., AFTER] = np.logical_and.accumulate(on[..., AFTER], axis=-1)

    body = visits_kind(visits, pool) == KINDS.index("bodyweight")
    weight = (bodyweight_kg / visits.unit_kg[:, None, None])[..., None]
    added = np.maximum(np.round((load - weight) / step) * step, -np.floor(0.6 * weight / step) * step)
    load = np.where(body[..., None], weight + added, load)

    # outcome
    tired = np.zeros(shape, np.float32)
    tired[..., WORK] = world.fatigue_per_set * j
    tired[..., AFTER] = world.fatigue_per_set * (count[..., None] + e)
    kg = np.log(load * unit)
    failure = reps_to_failure((visits.capacity[..., None] - tired - kg) / visits.curve[..., None])
    stop = np.maximum(visits.stop_at[..., None] + np.where(visits.deload, 1.5, 0)[..., None] + 0.5 * z0, 0)
    top, cap = visits.top_reps[..., None], visits.reps_cap[..., None]
    reps = np.ones(shape)
    later = np.floor(failure[..., WORK] - np.maximum(stop[..., WORK] - 0.3 * j, 0))
    most = np.where(pyramid[..., None], cap + np.round(2.5 * below), np.minimum(cap, top + 1))
    reps[..., WORK] = np.minimum(later, most)
    is_top = np.where(pyramid[..., None], below == 0, j == 0)
    reps[..., WORK] = np.where(is_top & (on[..., WORK]), top, reps[..., WORK])
    last = np.take_along_axis(reps[..., WORK], np.maximum(count[..., None] - 1, 0), axis=-1)
    more = top + np.round(draws.u_lift[:, :, 22] * 4)[:, :, None, None]
    more = np.where(draws.u_lift[:, :, 18][:, :, None, None] < 0.15, 2 * top, more)
    reps[..., AFTER] = np.where(
        chain[..., None],
        np.round(last * (0.95 + 0.14 * z0[..., AFTER])),
        np.where(
            back[..., None],
            np.minimum(np.floor(failure[..., AFTER] - stop[..., AFTER]), more),
            np.round(last * (0.28 + 0.25 * u0[..., AFTER])),
        ),
    )
    reps[..., WARM] = np.round(table[..., 1] * (1 + 0.08 * z1[..., WARM]))
    limit = np.where((role >= ROLE["drop"]), 1e9, np.maximum(np.floor(failure), 1))
    reps = np.clip(np.minimum(reps, limit), 1, 60)

    # reps in reserve as the athlete writes them
    left = np.where(role >= ROLE["drop"], 0.3, np.maximum(failure - reps, 0))
    felt = (
        left
        - plan.rir_bias[:, None, None, None] * np.minimum(left, 2) / 2
        + (world.rir_sd + 0.12 * left) * z1
    )
    felt = np.abs(np.clip(np.round(felt), 0, 6))  # no negative zeros
    told = plan.logs_rir[:, None, None, None] & (u0 >= world.rir_forgotten_share) & (role != ROLE["warm_up"])
    told &= (role < ROLE["drop"]) | (u0 < 0.4)
    rir = np.where(told, felt, np.nan)

    pace = np.where(heavy, 150.0, 95.0)[..., None] * np.exp(0.25 * z1)
    rest = np.where(role == ROLE["warm_up"], 0.5 * pace, pace)
    rest = np.where(role == ROLE["drop"], np.where(u0 < 0.5, 0, 10), rest)
    rest = np.where(role == ROLE["rest_pause"], 12 + 12 * u0, rest)
    rest = np.where(plan.logs_rest[:, None, None, None] & (u0 < 0.93), np.round(rest / 5) * 5, np.nan)

    on &= visits.trained[..., None]
    # the last working set is the head of its chain
    head = np.zeros(shape, bool)
    np.put_along_axis(head[..., WORK], np.maximum(count[..., None] - 1, 0), True, axis=-1)
    has_drop = on[..., 9:10] & chain[..., None]
    chained = ((role == ROLE["drop"]) | head) & has_drop
    athlete, slot, visit, place = np.nonzero(on)
    at = (athlete, slot, visit, place)
    return FlatSets(
        athlete=athlete,
        slot=slot,
        visit=visit,
        place=place,
        role=role[at],
        chained=chained[at],
        load_kg=(load * unit)[at],
        added_kg=np.where(body[..., None], added * unit, np.nan)[at],
        reps=reps[at].astype(np.int32),
        rir=rir[at],
        rest_s=rest[at],
    )


def visits_kind(visits: Visits, pool: Pool) -> np.ndarray:
    """Kind of equipment of the exercise of every visit."""
    return pool.kind[visits.exercise]
