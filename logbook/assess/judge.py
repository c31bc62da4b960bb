"""Judging values by limits: one value, or many at once with the same result.

Two severities, two directions. A value exactly on a limit is within it. Where limits are
out of order the worse severity counts, and of two equal ones the low side; a value that is
missing, or a point without warning and action limits, is not judged, which is not the same
as being within limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from logbook.assess.choices import choices_of
from logbook.plant.model import Limits, Point, Weight

FloatArray = npt.NDArray[np.float64]
CodeArray = npt.NDArray[np.int8]
BoolArray = npt.NDArray[np.bool_]

NOT_JUDGED_CODE = -128
"""Code of a value that is missing, not due or without limits."""


class Severity(IntEnum):
    """How bad it is."""

    NONE = 0
    WARNING = 1
    ACTION = 2


class Direction(IntEnum):
    """On which side of the limits a value lies."""

    LOW = -1
    NONE = 0
    HIGH = 1


@dataclass(frozen=True, slots=True)
class Judgement:
    """Severity and direction of a value; `is_judged` is False for `NOT_JUDGED` alone."""

    severity: Severity
    direction: Direction
    is_judged: bool = True

    @property
    def code(self) -> int:
        """Severity times direction, -2 to 2; an answer without direction counts as high."""
        if not self.is_judged:
            return NOT_JUDGED_CODE
        return self.severity * (self.direction or Direction.HIGH)

    @property
    def is_out(self) -> bool:
        """True outside the limits."""
        return self.severity is not Severity.NONE

    def __str__(self) -> str:
        """Say it in words: "action high", "warning", "within limits", "not judged"."""
        if not self.is_judged:
            return "not judged"
        if not self.is_out:
            return "within limits"
        words = [self.severity.name, self.direction.name if self.direction else ""]
        return " ".join(words).strip().lower()


NOT_JUDGED = Judgement(Severity.NONE, Direction.NONE, is_judged=False)
WITHIN = Judgement(Severity.NONE, Direction.NONE)
_BY_CODE = {
    NOT_JUDGED_CODE: NOT_JUDGED,
    -2: Judgement(Severity.ACTION, Direction.LOW),
    -1: Judgement(Severity.WARNING, Direction.LOW),
    0: WITHIN,
    1: Judgement(Severity.WARNING, Direction.HIGH),
    2: Judgement(Severity.ACTION, Direction.HIGH),
}
_BY_WEIGHT = {
    Weight.NORMAL: WITHIN,
    Weight.WARNING: Judgement(Severity.WARNING, Direction.NONE),
    Weight.ACTION: Judgement(Severity.ACTION, Direction.NONE),
}


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
    def stacked(cls, many: list[Limits]) -> Bounds:
        """One entry per set of limits."""
        edges = {name: [getattr(limits, name) for limits in many] for name in _EDGES}
        return cls(**{name: np.array(row, dtype=np.float64) for name, row in edges.items()})

    def take(self, index: npt.NDArray[np.intp] | np.intp) -> Bounds:
        """The entries with these indices."""
        return Bounds(**{name: np.asarray(getattr(self, name)[index]) for name in _EDGES})


_EDGES = (
    "warning_low",
    "warning_high",
    "action_low",
    "action_high",
    "plausible_low",
    "plausible_high",
    "target",
)


def judgement_of(code: int) -> Judgement:
    """The judgement of a number with this code. Raises KeyError for a code that does not exist."""
    return _BY_CODE[code]


def classify(value: float | None, limits: Limits) -> Judgement:
    """Judge one value; both in the point's unit.

    >>> str(classify(60.1, Limits(warning_high=55.0, action_high=60.0)))
    'action high'
    >>> str(classify(60.0, Limits(warning_high=55.0, action_high=60.0)))
    'warning high'
    """
    if value is None or math.isnan(value) or not limits.judges:
        return NOT_JUDGED
    low = max(2 * _below(value, limits.action_low), _below(value, limits.warning_low))
    high = max(2 * _above(value, limits.action_high), _above(value, limits.warning_high))
    return _BY_CODE[-low if low >= high else high]


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


def classify_choice(point: Point, key: str | None) -> Judgement:
    """Judge the answer of a state or check point by the weight of its choice.

    Not judged: no answer, an answer the point no longer has, a point whose answers all weigh
    nothing. The direction is none.
    """
    choices = choices_of(point)
    weight = next((choice.weight for choice in choices if choice.key == key), None)
    if weight is None or all(choice.weight is Weight.NORMAL for choice in choices):
        return NOT_JUDGED
    return _BY_WEIGHT[weight]


def is_plausible(value: float | None, limits: Limits) -> bool:
    """True for a finite value within the plausible range; a value on its edge is within."""
    if value is None or not math.isfinite(value):
        return False
    return not (_below(value, limits.plausible_low) or _above(value, limits.plausible_high))


def plausible_array(values: FloatArray, limits: Limits | Bounds) -> BoolArray:
    """As `is_plausible`, for values of shape (n,)."""
    bounds = Bounds.of(limits) if isinstance(limits, Limits) else limits
    outside = (values < bounds.plausible_low) | (values > bounds.plausible_high)
    plausible: BoolArray = np.isfinite(values) & ~outside
    return plausible


def change_since_last(
    value: float | None, last: float | None, *, decimals: int | None = None
) -> float | None:
    """Value less the last one, rounded to `decimals` where given; None where either is missing.

    >>> change_since_last(0.3, 0.1, decimals=1)
    0.2
    """
    if value is None or last is None:
        return None
    change = value - last
    if not math.isfinite(change):
        return None
    return change if decimals is None else round(change, decimals)


def _below(value: float, edge: float | None) -> bool:
    return edge is not None and value < edge


def _above(value: float, edge: float | None) -> bool:
    return edge is not None and value > edge


def _twice(passed: BoolArray) -> CodeArray:
    return passed.view(np.int8) << 1


def _not_judged(values: FloatArray, bounds: Bounds) -> BoolArray:
    edges = (bounds.warning_low, bounds.warning_high, bounds.action_low, bounds.action_high)
    no_limits = np.logical_and.reduce([np.isnan(edge) for edge in edges])
    unjudged: BoolArray = np.isnan(values) | no_limits
    return unjudged
