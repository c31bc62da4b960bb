"""Computed points: the named calculations, for one round or for many at once.

A missing input makes the result missing: None for one, NaN in arrays. Both forms do the
same operations in the same order and so give the same bits. Counters enter as increases:
`counter_increase` allows for a rollover, and the increase is what rate and per-tonne need.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from logbook.assess.history import IndexArray, TimeArray
from logbook.assess.judge import FloatArray
from logbook.plant.model import Computation


def round_for_judging(value: float, decimals: int) -> float:
    """Round a computed value to two decimals more than the point shows, before it is judged.

    Binary arithmetic leaves 0.4000000001 where 0.40 is meant; judged as it is, it would be
    above a limit of 0.40 that it is exactly on.

    >>> round_for_judging(0.1 + 0.2, 1)
    0.3
    """
    scale = 10.0 ** (decimals + 2)
    scaled = value * scale
    return round(scaled) / scale if math.isfinite(scaled) else value


def round_array_for_judging(values: FloatArray, decimals: int) -> FloatArray:
    """As `round_for_judging`, for values of shape (n,)."""
    scale = 10.0 ** (decimals + 2)
    with np.errstate(over="ignore"):
        scaled = values * scale
    return np.where(np.isfinite(scaled), np.rint(scaled) / scale, values)


def evaluate(computation: Computation, numbers: Sequence[float | None]) -> float | None:
    """Work out one computed value from `numbers` in the order of the formula's inputs.

    mean = sum / n; spread = largest - smallest; difference = a - b; largest difference =
    max |a[k+1] - a[k]|; ratio = a / b. For a rate the numbers are the counter's increase and
    the hours it took, for per tonne the increases of both counters; both are a / b.
    None where an input is missing, the divisor is 0, or there are too few inputs.

    >>> evaluate(Computation.SPREAD, [0.33, 0.36, 0.31])
    0.04999999999999999
    """
    given = [number for number in numbers if number is not None and math.isfinite(number)]
    if len(given) < len(numbers) or len(given) < _FEWEST[computation]:
        return None
    result = float(_result(computation, [np.float64(number) for number in given]))
    return result if math.isfinite(result) else None


def evaluate_array(computation: Computation, inputs: Sequence[FloatArray]) -> FloatArray:
    """As `evaluate`, for inputs of shape (n,) each, aligned by round; NaN where it gives None.

    Raises ValueError where there are fewer inputs than the computation needs.
    """
    if len(inputs) < _FEWEST[computation]:
        msg = f"{computation} needs at least {_FEWEST[computation]} inputs, not {len(inputs)}"
        raise ValueError(msg)
    complete = np.logical_and.reduce([np.isfinite(one) for one in inputs])
    result = _result(computation, inputs)
    return np.where(complete & np.isfinite(result), result, np.nan)


def counter_increase(before: float, now: float, rollover: float | None) -> float | None:
    """Increase of a totaliser in its unit, from its reading before to its reading now.

    With `rollover` (the count at which it starts again from 0) a fall is taken for a rollover,
    unless that would mean more than half the counter's range, which is more likely a
    reset, a new counter or a slip of the pen: then, and without a rollover, it is not known.

    >>> counter_increase(999_990.0, 15.0, 1_000_000.0)
    25.0
    """
    increase = counter_increases(np.array([before, now], dtype=np.float64), rollover)[1]
    return None if math.isnan(increase) else float(increase)


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


_FEWEST = {
    Computation.MEAN: 1,
    Computation.SPREAD: 1,
    Computation.DIFFERENCE: 2,
    Computation.LARGEST_DIFFERENCE: 2,
    Computation.RATIO: 2,
    Computation.RATE: 2,
    Computation.PER_TONNE: 2,
}


def _result(computation: Computation, a: Sequence[FloatArray | np.float64]) -> FloatArray:
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
