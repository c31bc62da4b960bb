"""Rounds whose numbers are those of another round, and values that stay the same too long.

A number that equals the one before is nothing: many points repeat often. How often a point does so
is taken from what all others wrote (leaving out who wrote the round), point by point. The number of
repeats in a round is then compared with that by the binomial distribution with the mean of those
shares; for unequal shares its upper tail is, if anything, too heavy (Hoeffding, Annals of
Mathematical Statistics 27, 1956; from memory). Points repeat together on quiet days: counts are
therefore divided by the design effect, the square of how far the upper tenth of the standardised
counts of all rounds lies above their median, over what it would for independent points (1.28), where
that is above 1. So a plant that stands still in a tenth of its rounds or more raises no question,
nor would copying as frequent as that. Asked is only about rounds or sheets (areas) of which at least `SHARE`
repeat, and only where the adjusted p-value (Benjamini-Hochberg over all rounds and areas looked
at) is at most `FALSE_SHARE`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logbook.assess.doubtful.question import FALSE_SHARE, Doubt, Question, benjamini_hochberg
from logbook.assess.doubtful.table import BoolArray, FloatArray, IntArray, RoundTable

SHARE = 0.5
FEWEST = 10
"""Fewer numbers in both rounds say nothing."""
FEWEST_RUN = 4
"""With fewer repeats in a row nothing is asked."""
UPPER_TENTH = 1.2816
"""A normal value exceeds it with probability 0.1."""


@dataclass(frozen=True, slots=True)
class _Counted:
    """Repeats in each round of a set of columns, (n,) each: numbers, repeats, expected share."""

    numbers: IntArray
    same: IntArray
    share: FloatArray
    p_values: FloatArray

    def is_many(self) -> BoolArray:
        return (self.numbers >= FEWEST) & (self.same >= SHARE * self.numbers)


def copied_rounds(table: RoundTable) -> tuple[Question, ...]:
    """Questions about rounds, or sheets of one area, that repeat an earlier one, the surest first."""
    earlier = (
        ("the round before", table.last_values()),
        ("the same round of the day before", table.day_before()),
    )
    found: list[tuple[int, str, BoolArray, str, _Counted]] = []
    tests: list[FloatArray] = []
    for words, before in earlier:
        both = np.isfinite(table.values) & np.isfinite(before) & table.tells()
        same = both & (table.values == before)
        rates = _others_rates(table, same, both)
        for area in ("", *dict.fromkeys(table.areas)):
            columns = np.array([not area or a == area for a in table.areas])
            counted = _count(same[:, columns], both[:, columns], rates[:, columns])
            looked = np.flatnonzero((counted.numbers >= FEWEST) & table.asked)
            alike = same & columns
            found += [(int(row), area, alike[row], words, counted) for row in looked]
            tests.append(counted.p_values[looked])
    p_values = np.concatenate(tests)
    adjusted = benjamini_hochberg(p_values)
    questions = [
        _copied(table, (row, area), alike, words, counted, float(q), p_values.size)
        for (row, area, alike, words, counted), q in zip(found, adjusted, strict=True)
        if q <= FALSE_SHARE and counted.is_many()[row]
    ]
    return tuple(sorted(_widest(questions), key=_surest))


def repeated_values(table: RoundTable) -> tuple[Question, ...]:
    """Questions about values that stayed the same longer than the point usually stays.

    Of each point the longest run of equal numbers is looked at. How often a repeat is followed by
    a further one is taken from the point's other runs, as a beta distribution (Jeffreys' prior), so
    that few runs claim little; with `starts` runs in all, the chance of one as long is at most
    starts x the mean of share^(repeats - 1). Adjusted over all points.
    """
    runs = [run for run in map(_longest_run, *_columns(table)) if run is not None]
    if not runs:
        return ()
    p_values = np.array([run.p_value for run in runs])
    adjusted = benjamini_hochberg(p_values)
    return tuple(
        _repeated(table, run, float(q), len(runs))
        for run, q in zip(runs, adjusted, strict=True)
        if q <= FALSE_SHARE and table.at[run.rows[-1]] >= table.first
    )


@dataclass(frozen=True, slots=True)
class _Run:
    column: int
    rows: IntArray
    share: float
    p_value: float


def _columns(table: RoundTable) -> tuple[list[int], list[FloatArray], list[BoolArray]]:
    places = list(range(len(table.keys)))
    tells = table.tells()
    return places, [table.values[:, j] for j in places], [tells[:, j] for j in places]


def _longest_run(column: int, values: FloatArray, tells: BoolArray) -> _Run | None:
    rows = np.flatnonzero(np.isfinite(values))
    if rows.size < 30:
        return None
    held = values[rows]
    same = (np.diff(held) == 0.0) & tells[rows[1:]]
    edges = np.flatnonzero(np.diff(np.concatenate(([0], same.astype(np.int8), [0]))))
    starts, ends = edges[::2], edges[1::2]
    lengths = ends - starts
    k = int(np.argmax(lengths)) if lengths.size else 0
    length = int(lengths[k]) if lengths.size else 0
    if length < FEWEST_RUN:
        return _Run(column, rows[:1], 0.0, 1.0)
    # The share of repeats after a repeat, without the run that is looked at.
    after = np.delete(lengths, k)
    more, chances = float((after - 1).sum()) + 0.5, float(after.sum()) + 1.0
    share = more / chances
    further = np.arange(length - 1)
    p_value = min(starts.size * float(np.prod((more + further) / (chances + further))), 1.0)
    return _Run(column, rows[starts[k] : ends[k] + 1], share, p_value)


def _others_rates(table: RoundTable, same: BoolArray, both: BoolArray) -> FloatArray:
    """By round and point: how often the point repeats in what other people wrote, (n, m)."""
    repeats, chances = same.sum(axis=0), both.sum(axis=0)
    rates = np.empty((len(table.people) + 1, same.shape[1]))
    for person in range(-1, len(table.people)):
        own = table.writer == person
        left, out_of = repeats - same[own].sum(axis=0), chances - both[own].sum(axis=0)
        rates[person] = (left + 0.5) / (out_of + 1.0)
    found: FloatArray = rates[table.writer]
    return found


def _count(same: BoolArray, both: BoolArray, rates: FloatArray) -> _Counted:
    from scipy.special import betainc

    numbers, repeats = both.sum(axis=1), same.sum(axis=1)
    expected = np.where(both, rates, 0.0).sum(axis=1)
    spread = np.sqrt(np.where(both, rates * (1.0 - rates), 0.0).sum(axis=1))
    enough = numbers >= FEWEST
    scaled = (repeats[enough] - expected[enough]) / spread[enough]
    effect = 1.0
    if scaled.size:
        middle, high = np.quantile(scaled, [0.5, 0.9])
        effect = max((float(high - middle) / UPPER_TENTH) ** 2, 1.0)
    share = expected / np.maximum(numbers, 1)
    k, n = repeats / effect, numbers / effect
    p_values = np.where(k > 0.0, betainc(np.maximum(k, 1e-9), n - k + 1.0, share), 1.0)
    return _Counted(numbers, repeats, share, np.clip(p_values, 0.0, 1.0))


def _copied(
    table: RoundTable,
    sheet: tuple[int, str],
    alike: BoolArray,
    words: str,
    counted: _Counted,
    q: float,
    looked_at: int,
) -> Question:
    row, area = sheet
    numbers, same = int(counted.numbers[row]), int(counted.same[row])
    usual = counted.share[row] * numbers
    return Question(
        doubt=Doubt.COPIED,
        points=tuple(table.keys[int(j)] for j in np.flatnonzero(alike)),
        area=area,
        at=int(table.at[row]),
        until=int(table.at[row]),
        person=table.person(row),
        evidence=f"{same} of {numbers} numbers are those of {words}; about {usual:.0f} are usual",
        question="Were these numbers read anew, or is there a reason why they are the same?",
        p_value=float(counted.p_values[row]),
        adjusted=q,
        looked_at=looked_at,
    )


def _widest(questions: list[Question]) -> Iterator[Question]:
    """One question for a round: about the whole of it where that is asked, else about sheets."""
    whole = {one.at for one in questions if not one.area}
    asked: set[tuple[int, str]] = set()
    for one in sorted(questions, key=_surest):
        if not (one.area and one.at in whole) and (one.at, one.area) not in asked:
            asked.add((one.at, one.area))
            yield one


def _surest(one: Question) -> tuple[float, int]:
    return one.adjusted, one.at


def _repeated(table: RoundTable, run: _Run, q: float, looked_at: int) -> Question:
    rows, value = run.rows, float(table.values[run.rows[0], run.column])
    people = {table.person(int(row)) for row in rows}
    return Question(
        doubt=Doubt.REPEATED,
        points=(table.keys[run.column],),
        at=int(table.at[rows[0]]),
        until=int(table.at[rows[-1]]),
        person=people.pop() if len(people) == 1 else None,
        evidence=f"{rows.size} readings in a row are {value:g}; after a repeat "
        f"{run.share:.0%} are repeated once more",
        question="Does the instrument still move, and was it read each time?",
        p_value=run.p_value,
        adjusted=q,
        looked_at=looked_at,
    )
