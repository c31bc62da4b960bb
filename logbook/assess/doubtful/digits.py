"""Last digits: whether somebody reads a gauge in rounder numbers than the others who read it.

Against the others, not against equal shares: a dial marked every two units gives even digits to
everybody. By person and sort of gauge (points of one unit and one size of last digit) the counts of
the ten last digits are compared with what the others' shares, point by point, would give. Of points
that move slowly the last digit hardly changes from round to round: only points are taken whose
round-to-round change has a standard deviation of `MOVES` steps or more (simulated: at 4 steps the
test holds its rate, at 1 it cries wolf on every second honest person).

Two p-values are found, and the larger one counts: chi-square over the digits (those expected less
than five times thrown together; divided by 1 + n/others, since the others' shares are only
estimates), and, because readings of one shift are not independent, a t-test over the person's
shifts on the surplus of noughts and fives. Adjusted (Benjamini-Hochberg) over all persons and sorts
of gauge looked at. Asked only where the surplus is at least `SURPLUS` of the readings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logbook.assess.doubtful.question import FALSE_SHARE, Doubt, Question, benjamini_hochberg
from logbook.assess.doubtful.table import BoolArray, FloatArray, IntArray, RoundTable

MOVES = 4.0
FEWEST = 100
FEWEST_OTHERS = 50
FEWEST_SHIFTS = 8
LEAST_EXPECTED = 5.0
SURPLUS = 0.1
DIGITS = 10
ROUND_DIGITS = (0, 5)


@dataclass(frozen=True, slots=True)
class ChiSquare:
    """A chi-square test: statistic, degrees of freedom, upper tail."""

    statistic: float
    freedom: int
    p_value: float


def chi_square(observed: FloatArray, expected: FloatArray, *, divisor: float = 1.0) -> ChiSquare:
    """Pearson's test of counts against what is expected of each, (k,) each, equal in sum.

    Classes expected less than five times are thrown together (a common rule, Cochran, Biometrics
    10, 1954, from memory, allows a few of them); with fewer than two classes left there is
    nothing to test and the p-value is 1. `divisor` shrinks the statistic. Raises ValueError where
    the sums differ.

    >>> chi_square(np.array([44.0, 56.0]), np.array([50.0, 50.0])).statistic
    1.44
    """
    from scipy.special import chdtrc

    if not np.isclose(observed.sum(), expected.sum()):
        raise ValueError("observed and expected counts must have the same sum")
    small = expected < LEAST_EXPECTED
    seen, wanted = observed[~small], expected[~small]
    rest = float(expected[small].sum())
    if rest >= LEAST_EXPECTED:
        seen = np.append(seen, observed[small].sum())
        wanted = np.append(wanted, rest)
    elif rest > 0.0 and wanted.size:
        k = int(np.argmin(wanted))
        seen[k] += observed[small].sum()
        wanted[k] += rest
    if wanted.size < 2:
        return ChiSquare(0.0, 0, 1.0)
    statistic = float(((seen - wanted) ** 2 / wanted).sum()) / divisor
    return ChiSquare(statistic, wanted.size - 1, float(chdtrc(wanted.size - 1, statistic)))


def uniform_digits(counts: FloatArray) -> ChiSquare:
    """The test of last digits against equal shares: for a gauge whose scale favours none."""
    return chi_square(counts, np.full(counts.size, counts.sum() / counts.size))


def digit_preference(table: RoundTable) -> tuple[Question, ...]:
    """Questions about people who read a sort of gauge in rounder numbers than the others."""
    digits = last_digits(table)
    moves = _moves(table)
    found = list(_compared(table, digits, moves))
    if not found:
        return ()
    adjusted = benjamini_hochberg(np.array([one.p_value for one in found]))
    questions = [
        _question(table, one, float(q), len(found))
        for one, q in zip(found, adjusted, strict=True)
        if q <= FALSE_SHARE and one.share - one.usual >= SURPLUS
    ]
    return tuple(sorted(questions, key=_surest))


def last_digits(table: RoundTable) -> IntArray:
    """Last typed digit of each number, (n, m); -1 where there is none."""
    steps = np.round(np.nan_to_num(np.abs(table.values) / table.step, nan=-1.0)).astype(np.int64)
    return np.where(np.isfinite(table.values), steps % DIGITS, -1)


@dataclass(frozen=True, slots=True)
class _Compared:
    """One person and one sort of gauge."""

    person: int
    columns: IntArray
    count: int
    share: float
    """Of noughts and fives, and as the others' shares would give it."""
    usual: float
    p_value: float
    rows: IntArray


def _moves(table: RoundTable) -> BoolArray:
    """True for points whose changes are large enough for their last digit to be chance, (m,)."""
    before = table.last_values()
    change = np.abs(table.values - before) / table.step
    found = np.zeros(len(table.keys), dtype=np.bool_)
    for j in range(len(table.keys)):
        held = change[np.isfinite(change[:, j]), j]
        # The median absolute change is 0.67 standard deviations of a normal one.
        found[j] = held.size >= FEWEST_OTHERS and float(np.median(held)) / 0.6745 >= MOVES
    return found


def _compared(table: RoundTable, digits: IntArray, moves: BoolArray) -> Iterator[_Compared]:
    sorts = sorted({(table.units[j], float(table.step[j])) for j in np.flatnonzero(moves)})
    for unit, step in sorts:
        columns = np.flatnonzero(
            moves & (np.array(table.units) == unit) & (table.step == step)
        )  # fmt: skip
        for person in range(len(table.people)):
            one = _of_person(table, digits, columns, person)
            if one is not None:
                yield one


def _of_person(
    table: RoundTable, digits: IntArray, columns: IntArray, person: int
) -> _Compared | None:
    own = (table.writer == person) & table.asked
    others = (table.writer != person) & (table.writer >= 0)
    observed, expected = np.zeros(DIGITS), np.zeros(DIGITS)
    shares, spread, used = {}, 0.0, []
    for j in columns:
        mine = np.bincount(digits[own & (digits[:, j] >= 0), j], minlength=DIGITS)
        theirs = np.bincount(digits[others & (digits[:, j] >= 0), j], minlength=DIGITS)
        if theirs.sum() < FEWEST_OTHERS or not mine.sum():
            continue
        share = (theirs + 0.1) / (theirs.sum() + 1.0)
        observed += mine
        expected += mine.sum() * share
        spread += mine.sum() * (1.0 + mine.sum() / theirs.sum())
        shares[int(j)] = float(share[list(ROUND_DIGITS)].sum())
        used.append(int(j))
    count = int(observed.sum())
    if count < FEWEST:
        return None
    rows = np.flatnonzero(own)
    by_shift = _surplus_by_shift(table.shift[rows], digits[rows], shares)
    if by_shift.size < FEWEST_SHIFTS:
        return None
    by_digit = chi_square(observed, expected, divisor=spread / count).p_value
    round_ones = list(ROUND_DIGITS)
    return _Compared(
        person,
        np.array(used),
        count,
        float(observed[round_ones].sum()) / count,
        float(expected[round_ones].sum()) / count,
        max(by_digit, _t_test(by_shift)),
        rows,
    )


def _surplus_by_shift(shifts: IntArray, digits: IntArray, shares: dict[int, float]) -> FloatArray:
    """Of each shift: noughts and fives less those expected, as a share of its readings."""
    columns = np.array(list(shares))
    usual = np.array([shares[int(j)] for j in columns])
    part = digits[:, columns]
    there = part >= 0
    surplus = np.where(there, np.isin(part, ROUND_DIGITS) - usual, 0.0).sum(axis=1)
    names, place = np.unique(shifts, return_inverse=True)
    total = np.bincount(place, weights=surplus, minlength=names.size)
    count = np.bincount(place, weights=there.sum(axis=1), minlength=names.size)
    found: FloatArray = total[count > 0] / count[count > 0]
    return found


def _t_test(values: FloatArray) -> float:
    """Upper tail of Student's t for a mean above 0."""
    from scipy.special import stdtr

    error = float(values.std(ddof=1)) / float(np.sqrt(values.size))
    if error <= 0.0:
        return 0.0 if values.mean() > 0.0 else 1.0
    return float(stdtr(values.size - 1, -float(values.mean()) / error))


def _surest(one: Question) -> tuple[float, int]:
    return one.adjusted, one.at


def _question(table: RoundTable, one: _Compared, q: float, looked_at: int) -> Question:
    unit = table.units[int(one.columns[0])]
    return Question(
        doubt=Doubt.DIGITS,
        points=tuple(table.keys[int(j)] for j in one.columns),
        at=int(table.at[one.rows[0]]),
        until=int(table.at[one.rows[-1]]),
        person=table.people[one.person],
        evidence=f"{one.share:.0%} of {one.count} readings in {unit} end in 0 or 5; "
        f"{one.usual:.0%} when others read the same {one.columns.size} gauges",
        question="Are these gauges hard to read finely, and is a finer reading wanted?",
        p_value=one.p_value,
        adjusted=q,
        looked_at=looked_at,
    )
