"""Judging one value by limits; `logbook.assess.judge_arrays` does many with the same result.

Two severities, two directions. A value exactly on a limit is within it. Where limits are
out of order the worse severity counts, and of two equal ones the low side; a value that is
missing, or a point without warning and action limits, is not judged, which is not the same
as being within limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

from logbook.assess.choices import choices_of
from logbook.plant.model import Limits, Point, Weight

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
