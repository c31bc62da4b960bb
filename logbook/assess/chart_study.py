"""All charts of one point at once, with baseline and correlation taken care of.

What is made of what: limits come from the baseline (given, or found by `baseline_search`); its
correlation of neighbouring readings widens the limits of the chart of single readings and of the
EWMA; run rules and CUSUM judge the residuals of the AR(1) model. See `autocorrelation`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from logbook.assess.autocorrelation import Lag1, lag_one, prediction_width, residuals
from logbook.assess.baseline_search import Baseline, find_baseline
from logbook.assess.capability import Capability, capability
from logbook.assess.chart_rows import BoolArray, FloatArray, as_series
from logbook.assess.ewma_cusum import CusumChart, EwmaChart, cusum, ewma, ewma_asymptote
from logbook.assess.run_rules import WESTERN_ELECTRIC, RuleSettings, RunRules, run_rules
from logbook.assess.shewhart import IndividualsChart, individuals


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartSettings:
    """How a point is charted; kept for each point."""

    rules: RuleSettings = WESTERN_ELECTRIC
    """The four Western Electric rules together give a false alarm every 92 readings."""
    width: float = 3.0
    """Half width of the limits of single readings: one false alarm in 370."""
    weight: float = 0.2
    ewma_width: float = 2.962
    """With this weight one false alarm in 500 readings (`run_length.ewma_run_length`)."""
    k: float = 0.5
    h: float = 5.0
    """One false alarm in 465 readings (`run_length.cusum_run_length`)."""


@dataclass(frozen=True, slots=True)
class ChartStudy:
    """The charts of one series."""

    baseline: Baseline
    lag1: Lag1
    individuals: IndividualsChart
    ewma: EwmaChart
    residuals: FloatArray
    """Standardised AR(1) residuals, which rules and CUSUM judge; shape (n,)."""
    rules: RunRules
    cusum: CusumChart
    """Of the residuals, so in sigma of them."""
    capability: Capability | None
    """Of the baseline against the limits; None without limits."""
    note: str
    """Why nothing could be judged, or what to know before believing it; may be empty."""


def study(
    values: npt.ArrayLike,
    *,
    baseline: slice | None = None,
    low: float | None = None,
    high: float | None = None,
    settings: ChartSettings | None = None,
) -> ChartStudy:
    """Chart a series with limits from its baseline, allowing for correlation.

    `values`, shape (n,), equally spaced in time, NaN: missing. `baseline`: the stretch to make
    limits from; None: the longest stable one is looked for. `low` and `high` are limits for the
    capability, in the readings' unit. Where no baseline is found, or it tells too little, limits
    are NaN and nothing is flagged; `note` says why.

    >>> import numpy as np
    >>> readings = np.random.default_rng(1).normal(72.0, 0.5, 400)
    >>> readings[380:] += 1.5
    >>> found = study(readings)
    >>> found.baseline.stop <= 384, found.cusum.signals[-1].began
    (True, 379)
    """
    chosen = settings or ChartSettings()
    series = as_series(values)
    stretch = find_baseline(series) if baseline is None else _given(series, baseline)
    held = np.where(stretch.mask, series, np.nan)
    lag1 = lag_one(held)
    used = lag1.used
    count = int(stretch.mask.sum())
    width = prediction_width(chosen.width, count, used)
    single = individuals(series, baseline=stretch.mask, lag1=used)
    single = _with_width(single, width)
    wide = prediction_width(
        chosen.ewma_width, count, used, variance=ewma_asymptote(chosen.weight, used) ** 2
    )
    centre = single.centre
    sigma = math.nan if math.isnan(width) or not single.sigma > 0.0 else single.sigma
    average = ewma(
        series,
        chosen.weight,
        chosen.ewma_width if math.isnan(wide) else wide,
        target=centre,
        sigma=sigma,
        lag1=used,
    )
    left = residuals(series, centre, sigma, used)
    index = None
    if low is not None or high is not None:
        index = capability(held, low, high, lag1=used)
    return ChartStudy(
        baseline=stretch,
        lag1=lag1,
        individuals=single,
        ewma=average,
        residuals=left,
        rules=run_rules(left, 0.0, 1.0, settings=chosen.rules),
        cusum=cusum(left, 0.0, chosen.k, chosen.h, 1.0),
        capability=index,
        note=stretch.note or single.note or _unknown(lag1),
    )


def _unknown(lag1: Lag1) -> str:
    return f"correlation of neighbours not known, {lag1.note}" if lag1.note else ""


def _given(series: FloatArray, chosen: slice) -> Baseline:
    """A baseline that somebody chose."""
    mask: BoolArray = np.zeros(series.size, dtype=np.bool_)
    first, stop, _ = chosen.indices(series.size)
    mask[chosen] = ~np.isnan(series[chosen])
    return Baseline(first, stop, int(mask.sum()), 0, mask, math.nan, "")


def _with_width(chart: IndividualsChart, width: float) -> IndividualsChart:
    """The chart with wider limits, or with none where too little is known for any."""
    if math.isnan(width):
        note = chart.note or "too few: the readings amount to fewer than four independent ones"
        return replace(chart, lower=math.nan, upper=math.nan, width=width, note=note)
    half = width * chart.sigma if chart.sigma > 0.0 else math.nan
    return replace(chart, lower=chart.centre - half, upper=chart.centre + half, width=width)
