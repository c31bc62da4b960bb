"""Computed points for many rounds at once, with the same bits as `computed` gives for one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from logbook.assess.computed import FEWEST
from logbook.assess.history import IndexArray, TimeArray
from logbook.assess.judge_arrays import FloatArray
from logbook.plant.model import Computation


def round_array_for_judging(values: FloatArray, decimals: int) -> FloatArray:
    """As `round_for_judging`, for values of shape (n,)."""
    scale = 10.0 ** (decimals + 2)
    with np.errstate(over="ignore"):
        scaled = values * scale
    return np.where(np.isfinite(scaled), np.rint(scaled) / scale, values)


def evaluate_array(computation: Computation, inputs: Sequence[FloatArray]) -> FloatArray:
    """As `evaluate`, for inputs of shape (n,) each, aligned by round; NaN where it gives None.

    Raises ValueError where there are fewer inputs than the computation needs.
    """
    if len(inputs) < FEWEST[computation]:
        msg = f"{computation} needs at least {FEWEST[computation]} inputs, not {len(inputs)}"
        raise ValueError(msg)
    complete = np.logical_and.reduce([np.isfinite(one) for one in inputs])
    result = _result(computation, inputs)
    return np.where(complete & np.isfinite(result), result, np.nan)


def counter_increases(values: FloatArray, rollover: float | None) -> FloatArray:
    """Increase since the last reading that is not missing, shape (n,); NaN for the first.

    NaN too where it is not known, see `counter_increase`.
    """
    values = np.where(np.isfinite(values), values, np.nan)
    before = np.append(values, np.nan)[_last_known(values)]
    step = values - before
    if rollover is None:
        return np.where(step >= 0, step, np.nan)
    is_turn = (step + rollover <= rollover / 2) & (values >= 0) & (before < rollover)
    return np.where(step >= 0, step, np.where(is_turn, step + rollover, np.nan))


def counter_rates(times: TimeArray, values: FloatArray, rollover: float | None) -> FloatArray:
    """Increase per hour since the last reading that is not missing, shape (n,).

    `times` are epoch seconds. NaN where the increase is not known or no time has passed.
    """
    values = np.where(np.isfinite(values), values, np.nan)
    # Without a reading before, the index is -1 and the hours are nonsense; the increase is NaN.
    hours = (times - times[_last_known(values)]) / 3600.0
    return evaluate_array(Computation.RATE, [counter_increases(values, rollover), hours])


def per_tonne(
    part: FloatArray,
    whole: FloatArray,
    part_rollover: float | None = None,
    whole_rollover: float | None = None,
) -> FloatArray:
    """Increase of the counter `part` per increase of the counter `whole`, shape (n,) each.

    Both increases are taken since the last row in which both were read.
    """
    both = np.isfinite(part) & np.isfinite(whole)
    part, whole = np.where(both, part, np.nan), np.where(both, whole, np.nan)
    increases = [counter_increases(part, part_rollover), counter_increases(whole, whole_rollover)]
    return evaluate_array(Computation.PER_TONNE, increases)


def _result(computation: Computation, a: Sequence[FloatArray]) -> FloatArray:
    with np.errstate(all="ignore"):
        match computation:
            case Computation.MEAN:
                return np.asarray(sum(a[1:], start=a[0]) / len(a))
            case Computation.SPREAD:
                return np.asarray(np.maximum.reduce(a) - np.minimum.reduce(a))
            case Computation.DIFFERENCE:
                return np.asarray(a[0] - a[1])
            case Computation.LARGEST_DIFFERENCE:
                steps = [np.abs(a[k + 1] - a[k]) for k in range(len(a) - 1)]
                return np.asarray(np.maximum.reduce(steps))
            case Computation.RATIO | Computation.RATE | Computation.PER_TONNE:
                return np.asarray(a[0] / a[1])


def _last_known(values: FloatArray) -> IndexArray:
    """Index of the last value before each that is not NaN; -1 where there is none."""
    known = np.where(np.isnan(values), -1, np.arange(values.size))
    before: IndexArray = np.append(-1, np.maximum.accumulate(known))[: values.size]
    return before
