"""Doubtful entries of a stretch of time: what of it nobody may have measured, as questions.

Read once, all points that rounds ask for. Names are given to supervisors only; everybody else
sees the questions by shift and point.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from logbook.assess.deviations import not_due_mask
from logbook.assess.doubtful.copies import copied_rounds, repeated_values
from logbook.assess.doubtful.digits import digit_preference
from logbook.assess.doubtful.mistypes import mistypes
from logbook.assess.doubtful.pace import quick_rounds
from logbook.assess.doubtful.question import Question
from logbook.assess.doubtful.table import RoundTable
from logbook.assess.history import modes_at
from logbook.plant.calendar import shift_at, shifts_between
from logbook.plant.model import NORMAL_MODE, Plant, Point, PointKind, Role
from logbook.record import Reader, RoundNumbers, WrittenPage
from logbook.shift.duty import Duty
from logbook.shift.words import place_name

COMPARED = timedelta(days=90)
"""So long before the stretch is read too: what is usual is not told by the stretch alone."""
IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
MEASURED = frozenset({PointKind.NUMBER, PointKind.LEVEL})
"""A counter only rises, and a result of the laboratory comes when it comes."""


@dataclass(frozen=True, slots=True)
class DoubtfulFound:
    """The questions of [start, end), the surest first within each kind, and what was looked at."""

    plant: Plant
    start: datetime
    end: datetime
    questions: tuple[Question, ...]
    rounds: int
    readings: int
    has_names: bool

    def shift_of(self, one: Question) -> str:
        """Name of the shift pattern in which a question's round, or first round, was due."""
        return shift_at(self.plant.calendar, datetime.fromtimestamp(one.at, UTC)).name


def doubtful_of(
    book: Reader,
    plant: Plant,
    start: datetime,
    end: datetime,
    *,
    reader: Role | None = None,
    walk_minutes: float | None = None,
) -> DoubtfulFound:
    """The questions about the rounds of [start, end).

    `reader` is the role of who asks: only a supervisor is told names. `walk_minutes` is how
    long a round takes to walk, where it was measured. Raises BookError.
    """
    points = [p for p in plant.points if p.kind in MEASURED]
    table = round_table(book, plant, points, start, end)
    has_names = reader is Role.SUPERVISOR
    if not table.at.size:
        return DoubtfulFound(plant, start, end, (), 0, 0, has_names)
    found = [
        *copied_rounds(table),
        *quick_rounds(table, walk_minutes=walk_minutes),
        *repeated_values(table),
        *digit_preference(table),
        *mistypes(table, neighbours_of(points)),
    ]
    questions = found if has_names else [replace(one, person=None) for one in found]
    asked = table.asked
    readings = int(np.isfinite(table.values[asked]).sum())
    return DoubtfulFound(plant, start, end, tuple(questions), int(asked.sum()), readings, has_names)


def neighbours_of(points: Sequence[Point]) -> list[tuple[int, int]]:
    """Pairs of points that stand side by side in a table and read the same sort of thing."""
    rows: dict[tuple[str, str, str], list[int]] = {}
    for place, point in enumerate(points):
        if point.place is not None:
            rows.setdefault((point.place.table, point.place.row, point.unit), []).append(place)
    return [pair for row in rows.values() for pair in pairwise(row)]


def round_table(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> RoundTable:
    """The rounds of [start, end) and of the 90 days before as a table; no rounds, no rows.

    Numbers of times when their point was not due, or the plant was in another than its normal
    mode, are left out: then nothing is usual.
    """
    since = start - COMPARED
    series = book.round_numbers([point.key for point in points], since, end)
    duty = Duty.of(book, plant, since, end)
    kept = {
        point.key: _normal(series[point.key], point, duty)
        for point in points
        if point.key in series
    }
    times = [one.round_at for one in kept.values()]
    at = np.unique(np.concatenate(times)) if times else np.empty(0, dtype=np.int64)
    values = np.full((at.size, len(points)), np.nan)
    pages = np.full((at.size, len(points)), -1, dtype=np.int64)
    for j, point in enumerate(points):
        if point.key in kept:
            rows = np.searchsorted(at, kept[point.key].round_at)
            values[rows, j] = kept[point.key].value
            pages[rows, j] = kept[point.key].page
    page = _main_pages(pages)
    heads = book.written_pages(sorted({int(one) for one in page if one >= 0}))
    people, writer, written = _written(page, heads)
    kinds, kind, shift = _shifts(plant, at)
    return RoundTable(
        at=at,
        written=written,
        values=values,
        writer=writer,
        people=people,
        kind=kind,
        kinds=kinds,
        shift=shift,
        keys=tuple(point.key for point in points),
        names=tuple(place_name(plant, point) for point in points),
        areas=tuple(point.area for point in points),
        units=tuple(point.unit for point in points),
        step=np.array([10.0**-point.decimals for point in points]),
        first=int(start.timestamp()),
    )


def _normal(series: RoundNumbers, point: Point, duty: Duty) -> RoundNumbers:
    off = duty.off_times(point)
    changes = list(zip(duty.mode_from, duty.modes, strict=True))
    good = ~not_due_mask(series.round_at, off) & (modes_at(series.round_at, changes) == NORMAL_MODE)
    return RoundNumbers(series.round_at[good], series.value[good], series.page[good])


def _main_pages(pages: IntArray) -> IntArray:
    """Of each round the page on which most of its numbers stand; -1 where there is none."""
    found = np.full(pages.shape[0], -1, dtype=np.int64)
    for row in range(pages.shape[0]):
        held = pages[row][pages[row] >= 0]
        if held.size:
            names, counts = np.unique(held, return_counts=True)
            found[row] = names[np.argmax(counts)]
    return found


def _written(
    page: IntArray, heads: Mapping[int, WrittenPage]
) -> tuple[tuple[str, ...], IntArray, FloatArray]:
    """People, who of them wrote each round, and when (epoch s)."""
    people = tuple(sorted({head.person for head in heads.values()}))
    places = {name: k for k, name in enumerate(people)}
    writer = [places[heads[int(p)].person] if int(p) in heads else -1 for p in page]
    written = [heads[int(p)].written_ms / 1000.0 if int(p) in heads else np.nan for p in page]
    return people, np.array(writer, dtype=np.int64), np.array(written, dtype=np.float64)


def _shifts(plant: Plant, at: IntArray) -> tuple[tuple[str, ...], IntArray, IntArray]:
    """Names of the sorts of shift, and of each round the sort and the number of its shift."""
    kinds = tuple(pattern.key for pattern in plant.calendar.shifts)
    if not at.size:
        return kinds, np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    first = datetime.fromtimestamp(int(at[0]), tz=UTC)
    last = datetime.fromtimestamp(int(at[-1]), tz=UTC) + timedelta(seconds=1)
    shifts = shifts_between(plant.calendar, first, last)
    starts = np.array([shift.start.timestamp() for shift in shifts])
    number = np.searchsorted(starts, at, side="right") - 1
    kind = np.array([kinds.index(shift.pattern) for shift in shifts], dtype=np.int64)
    return kinds, kind[number], number.astype(np.int64)
