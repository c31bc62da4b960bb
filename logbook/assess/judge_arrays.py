"""Judging many values at once, each as `logbook.assess.judge` would judge it alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter

import numpy as np
import numpy.typing as npt

from logbook.assess.judge import NOT_JUDGED_CODE
from logbook.plant.model import Limits

FloatArray = npt.NDArray[np.float64]
CodeArray = npt.NDArray[np.int8]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """Limits as numbers or arrays of the same length as the values; NaN where there is none."""

    warning_low: FloatArray
    warning_high: FloatArray
    action_low: FloatArray
    action_high: FloatArray
    plausible_low: FloatArray
    plausible_high: FloatArray
    target: FloatArray

    @classmethod
    def of(cls, limits: Limits) -> Bounds:
        """The same limits for all values, as arrays without dimension."""
        return cls.stacked([limits]).take(np.intp(0))

    @classmethod
    def stacked(cls, many: Sequence[Limits]) -> Bounds:
        """One entry per set of limits."""
        table = np.array(list(map(_edges_of, many)), dtype=np.float64)  # None becomes NaN
        columns = table.reshape(-1, len(_EDGES)).T.copy()
        return cls(**dict(zip(_EDGES, columns, strict=True)))

    def take(self, index: npt.NDArray[np.intp] | np.intp) -> Bounds:
        """The entries with these indices."""
        return Bounds(**{name: np.asarray(getattr(self, name)[index]) for name in _EDGES})

    def repeated(self, counts: npt.NDArray[np.intp]) -> Bounds:
        """Each entry so many times."""
        return Bounds(**{name: np.repeat(getattr(self, name), counts) for name in _EDGES})


_EDGES = (
    "warning_low",
    "warning_high",
    "action_low",
    "action_high",
    "plausible_low",
    "plausible_high",
    "target",
)
_edges_of = attrgetter(*_EDGES)


def classify_array(values: FloatArray, limits: Limits | Bounds) -> CodeArray:
    """Judge many values, shape (n,): int8 codes, shape (n,), as `Judgement.code` gives them.

    `limits` holds for all values or, as `Bounds` of shape (n,), for each its own.
    """
    if isinstance(limits, Limits) and not limits.judges:
        return np.full(np.shape(values), NOT_JUDGED_CODE, dtype=np.int8)
    values = np.asarray(values, dtype=np.float64)
    bounds = Bounds.of(limits) if isinstance(limits, Limits) else limits
    # NaN compares as False: a limit that is not there is never passed.
    low = np.maximum(
        _twice(values < bounds.action_low), (values < bounds.warning_low).view(np.int8)
    )
    high = np.maximum(
        _twice(values > bounds.action_high), (values > bounds.warning_high).view(np.int8)
    )
    codes = np.where(low >= high, -low, high)
    codes[_not_judged(values, bounds)] = NOT_JUDGED_CODE
    return codes


def plausible_array(values: FloatArray, limits: Limits | Bounds) -> BoolArray:
    """As `is_plausible`, for values of shape (n,)."""
    bounds = Bounds.of(limits) if isinstance(limits, Limits) else limits
    outside = (values < bounds.plausible_low) | (values > bounds.plausible_high)
    plausible: BoolArray = np.isfinite(values) & ~outside
    return plausible


def _twice(passed: BoolArray) -> CodeArray:
    return passed.view(np.int8) << 1


def _not_judged(values: FloatArray, bounds: Bounds) -> BoolArray:
    edges = (bounds.warning_low, bounds.warning_high, bounds.action_low, bounds.action_high)
    no_limits = np.logical_and.reduce([np.isnan(edge) for edge in edges])
    unjudged: BoolArray = np.isnan(values) | no_limits
    return unjudged
