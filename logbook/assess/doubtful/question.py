"""A question about numbers in the book, and the care for many questions asked at once."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

FALSE_SHARE = 0.01
"""Among the questions of a kind, so large a share at most is expected to be chance alone."""


class Doubt(StrEnum):
    """What makes a number doubtful."""

    COPIED = "round like the one before"
    REPEATED = "value repeated"
    DIGITS = "last digits"
    PACE = "entered quickly"
    DECIMAL = "decimal mark"
    TURNED = "digits turned"
    SIGN = "sign"
    UNIT = "other unit"
    SWAPPED = "neighbours swapped"

    @property
    def is_slip(self) -> bool:
        """True of a slip in typing a single number."""
        return self in {self.DECIMAL, self.TURNED, self.SIGN, self.UNIT, self.SWAPPED}


INNOCENT = {
    Doubt.COPIED: "A steady plant, coarse gauges, or one sheet entered twice by mistake look alike.",
    Doubt.REPEATED: "A steady point, a coarse scale or a stuck instrument repeats its value too.",
    Doubt.DIGITS: "A scale with few marks, or a pointer that trembles, is honestly read in round "
    "numbers.",
    Doubt.PACE: "A round read on paper and typed in at once, or shared by two, is entered quickly.",
    Doubt.DECIMAL: "The plant may really have been there for a moment.",
    Doubt.TURNED: "The plant may really have been there for a moment.",
    Doubt.SIGN: "The plant may really have been there for a moment.",
    Doubt.UNIT: "The instrument may have been changed or switched over.",
    Doubt.SWAPPED: "The two may really have changed places for a moment.",
}
"""By kind: how it comes about honestly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One doubt.

    `points` are the keys of the points in doubt (none: of the whole round), `area` that of the one
    sheet that is meant, empty for all; `at` the round (epoch s) or the first of several up to `until`; `person` a
    key, for the supervisor only. `evidence` says what was counted and what is usual, `question`
    asks. `p_value` is that of the single test and `adjusted` after correction for the
    `looked_at` tests of its kind (Benjamini-Hochberg); for slips `p_value` is None, `odds` how many
    times likelier the slip is than the number as typed, with how rare slips are taken into
    account, and `adjusted` the probability that there was none.
    """

    doubt: Doubt
    points: tuple[str, ...]
    at: int
    until: int
    person: str | None
    evidence: str
    question: str
    adjusted: float
    looked_at: int
    p_value: float | None = None
    odds: float | None = None
    area: str = ""
    meant: tuple[float, ...] = ()
    """What may have been meant, one value for each point; only of slips."""

    @property
    def innocent(self) -> str:
        """How it may have come about honestly."""
        return INNOCENT[self.doubt]


def benjamini_hochberg(p_values: FloatArray) -> FloatArray:
    """P-values adjusted so that those at most q hold a share q of false ones at most, on average.

    Benjamini and Hochberg, Journal of the Royal Statistical Society B 57 (1995) 289: the i-th
    smallest of m is multiplied by m/i, then made to rise. Valid for independent tests, and for
    those that depend positively on one another. Shape kept; raises ValueError outside 0 to 1.

    >>> benjamini_hochberg(np.array([0.01, 0.04, 0.03])).tolist()
    [0.03, 0.04, 0.04]
    """
    _check(p_values)
    m = p_values.size
    order = np.argsort(p_values, kind="stable")
    raised = p_values[order] * m / np.arange(1, m + 1)
    adjusted = np.minimum.accumulate(raised[::-1])[::-1]
    found = np.empty(m)
    found[order] = np.minimum(adjusted, 1.0)
    return found


def holm(p_values: FloatArray) -> FloatArray:
    """P-values adjusted so that with those at most a, one or more false has probability a at most.

    Holm, Scandinavian Journal of Statistics 6 (1979) 65 (from memory). Whatever the dependence.

    >>> holm(np.array([0.01, 0.04, 0.03])).tolist()
    [0.03, 0.06, 0.06]
    """
    _check(p_values)
    m = p_values.size
    order = np.argsort(p_values, kind="stable")
    raised = p_values[order] * np.arange(m, 0, -1)
    found = np.empty(m)
    found[order] = np.minimum(np.maximum.accumulate(raised), 1.0)
    return found


def _check(p_values: FloatArray) -> None:
    if not ((p_values >= 0.0) & (p_values <= 1.0)).all():
        raise ValueError("p-values lie between 0 and 1")
