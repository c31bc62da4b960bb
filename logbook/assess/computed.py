"""Computed points: the named calculations, here for one round, for many in `computed_arrays`.

A missing input makes the result missing: None for one, NaN in arrays. Both forms do the
same operations in the same order and so give the same bits. Counters enter as increases:
`counter_increase` allows for a rollover, and the increase is what rate and per-tonne need.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from logbook.plant.model import Computation

if TYPE_CHECKING:
    from logbook.assess.computed_arrays import (
        counter_increases,
        counter_rates,
        evaluate_array,
        per_tonne,
        round_array_for_judging,
    )

__all__ = [
    "counter_increase",
    "counter_increases",
    "counter_rates",
    "evaluate",
    "evaluate_array",
    "per_tonne",
    "round_array_for_judging",
    "round_for_judging",
]


def __getattr__(name: str) -> object:
    """Load what works on arrays when it is first asked for; a form needs no numpy."""
    if name not in __all__:
        raise AttributeError(f"module 'logbook.assess.computed' has no attribute {name!r}")
    from logbook.assess import computed_arrays

    return getattr(computed_arrays, name)


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
    if len(given) < len(numbers) or len(given) < FEWEST[computation]:
        return None
    try:
        result = _result(computation, [float(number) for number in given])
    except ZeroDivisionError:
        return None
    return result if math.isfinite(result) else None


def counter_increase(before: float, now: float, rollover: float | None) -> float | None:
    """Increase of a totaliser in its unit, from its reading before to its reading now.

    With `rollover` (the count at which it starts again from 0) a fall is taken for a rollover,
    unless that would mean more than half the counter's range, which is more likely a
    reset, a new counter or a slip of the pen: then, and without a rollover, it is not known.

    >>> counter_increase(999_990.0, 15.0, 1_000_000.0)
    25.0
    """
    step = now - before
    if not math.isfinite(step) or step >= 0:
        return step if math.isfinite(step) else None
    if rollover is None:
        return None
    is_turn = step + rollover <= rollover / 2 and now >= 0 and before < rollover
    return step + rollover if is_turn else None


FEWEST = {
    Computation.MEAN: 1,
    Computation.SPREAD: 1,
    Computation.DIFFERENCE: 2,
    Computation.LARGEST_DIFFERENCE: 2,
    Computation.RATIO: 2,
    Computation.RATE: 2,
    Computation.PER_TONNE: 2,
}
"""Inputs that a computation needs at least."""


def _result(computation: Computation, a: Sequence[float]) -> float:
    match computation:
        case Computation.MEAN:
            return sum(a[1:], start=a[0]) / len(a)
        case Computation.SPREAD:
            return max(a) - min(a)
        case Computation.DIFFERENCE:
            return a[0] - a[1]
        case Computation.LARGEST_DIFFERENCE:
            return max(abs(a[k + 1] - a[k]) for k in range(len(a) - 1))
        case Computation.RATIO | Computation.RATE | Computation.PER_TONNE:
            return a[0] / a[1]
