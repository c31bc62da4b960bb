"""Rounds that were entered sooner than they can be walked.

The time between the moment a round was due and the moment it was entered is set against the times
that the other people needed for rounds in the same sort of shift (day or night) and of about the
same number of readings. Times are taken as log-normal with median and spread found robustly; since these
are only estimates from n others, the p-value is the lower tail of Student's t with 0.37 n degrees of
freedom (0.37 is how much of n the median absolute deviation uses), adjusted (Benjamini-Hochberg) over all rounds looked at. Where the time
of a supervised walk is known (`walk_minutes`), only rounds entered in less than half of it are
asked about; without it, in less than half of the usual time. That half is a choice of ours.
"""

from __future__ import annotations

import math

import numpy as np

from logbook.assess.doubtful.question import FALSE_SHARE, Doubt, Question, benjamini_hochberg
from logbook.assess.doubtful.table import BoolArray, FloatArray, RoundTable

FEWEST = 20
"""Rounds of others that are needed to say what is usual."""
USED = 0.37
PART = 0.5
FULL = 0.6
"""A round with fewer numbers than this share of the usual is another sort of walk."""


def quick_rounds(table: RoundTable, *, walk_minutes: float | None = None) -> tuple[Question, ...]:
    """Questions about rounds entered very soon after they were due, the surest first.

    `walk_minutes`: how long the whole round takes to walk, if anybody has measured it.
    """
    minutes = (table.written - table.at) / 60.0
    numbers = np.isfinite(table.values).sum(axis=1)
    full = numbers >= FULL * np.median(numbers) if numbers.size else numbers > 0
    known = np.isfinite(minutes) & full
    usual, p_values = _lower_tails(table, minutes, known)
    looked = np.flatnonzero(np.isfinite(p_values) & table.asked)
    adjusted = benjamini_hochberg(p_values[looked])
    found = []
    for row, q in zip(looked, adjusted, strict=True):
        least = PART * (walk_minutes if walk_minutes is not None else float(usual[row]))
        if q <= FALSE_SHARE and minutes[row] < least:
            found.append(
                _question(table, int(row), float(minutes[row]), float(usual[row]),
                          float(p_values[row]), float(q), looked.size)
            )  # fmt: skip
    return tuple(sorted(found, key=_surest))


def _lower_tails(
    table: RoundTable, minutes: FloatArray, known: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Usual minutes and lower-tail p-value of each round, (n,); NaN where nothing can be said."""
    from scipy.special import stdtr

    usual, p_values = np.full(minutes.size, np.nan), np.full(minutes.size, np.nan)
    # Entered before it was due is an early round, or a clock that is wrong, not a fast one.
    good = known & (minutes > 0.0)
    logs = np.log(np.where(good, minutes, 1.0))
    for kind in range(len(table.kinds)):
        for person in range(-1, len(table.people)):
            own = good & (table.kind == kind) & (table.writer == person)
            others = logs[good & (table.kind == kind) & (table.writer != person)]
            if not own.any() or others.size < FEWEST:
                continue
            middle = float(np.median(others))
            spread = 1.4826 * float(np.median(np.abs(others - middle)))
            if spread <= 0.0:
                continue
            usual[own] = math.exp(middle)
            # The median of n values has pi/2n of their variance.
            error = spread * math.sqrt(1.0 + math.pi / (2.0 * others.size))
            p_values[own] = stdtr(USED * others.size, (logs[own] - middle) / error)
    return usual, p_values


def _surest(one: Question) -> tuple[float, int]:
    return one.adjusted, one.at


def _question(
    table: RoundTable, row: int, minutes: float, usual: float, p: float, q: float, looked_at: int
) -> Question:
    count = int(np.isfinite(table.values[row]).sum())
    return Question(
        doubt=Doubt.PACE,
        points=(),
        at=int(table.at[row]),
        until=int(table.at[row]),
        person=table.person(row),
        evidence=f"{count} readings entered {minutes:.0f} minutes after they were due; "
        f"about {usual:.0f} minutes are usual",
        question="Was the whole round walked, and how was it read?",
        p_value=p,
        adjusted=q,
        looked_at=looked_at,
    )
