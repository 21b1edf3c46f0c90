"""Judge: one filter run over a batch of lifts or families, corrected, ready to be told as tables."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from analytics.trend import calibration, correction
from analytics.trend.features import Features, Setting, lift_features, regime_features
from analytics.trend.filter import Filtered, run_filter
from analytics.trend.model import Model
from analytics.trend.phases import plans_at
from analytics.trend.regimes import Regimes, default_regimes
from analytics.trend.series import EPOCH, Series
from analytics.trend.tables import Judged

_MODEL = Model()


def judge(
    series: Series,
    weeks: list[date],
    as_of: date,
    network: correction.Network | None = None,
    model: Model = _MODEL,
) -> Judged:
    """Filter the series, correct the probabilities at every week's end and at `as_of`.

    `network` replaces the packaged correction, `model` the constants of the filter.
    """
    ends = [*weeks, as_of] if not weeks or weeks[-1] < as_of else weeks
    checkpoints = np.array([(end - EPOCH).days for end in ends], dtype=np.intp)
    regimes = default_regimes()
    start = np.tile(regimes.prior, (len(series.groups), 1))
    filtered = run_filter(series.observed, checkpoints, regimes, model, start)
    if network is None:
        network = correction.packaged("lifts" if series.is_single else "families")
    features = features_of(series, filtered, checkpoints, regimes)
    told = correction.tempered(network.corrected(features), features, filtered.parent)
    return Judged(
        series=series,
        filtered=filtered,
        told=told,
        regime=correction.reweighed(filtered.regime, told.chance, regimes.of_class()),
        checkpoints=checkpoints,
        regimes=regimes,
        model=model,
        calibration=calibration.packaged(),
        as_of=as_of,
    )


def features_of(
    series: Series, filtered: Filtered, checkpoints: NDArray[np.intp], regimes: Regimes
) -> Features:
    """Inputs of the correction, (groups, checkpoints, columns): all of them for lifts, fewer for families."""
    observed = series.observed
    week = np.searchsorted(checkpoints, observed.day)
    athletes = series.groups["athlete"]
    setting = Setting(
        week=week,
        athlete=athletes.rle_id().to_numpy().astype(np.intp),
        plans=plans_at(series.phases, athletes.unique(maintain_order=True), checkpoints),
    )
    if series.is_single:
        top_load = np.log(series.rows["top_load_kg"].to_numpy())
        return lift_features(filtered, observed, top_load, setting, regimes)
    return regime_features(filtered, observed, setting, regimes)
