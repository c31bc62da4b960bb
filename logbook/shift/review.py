"""The review of a shift: every point in every round, with what wants a look marked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from logbook.assess.limits import NOT_JUDGED, Direction, Judgement, Severity
from logbook.plant.model import Plant, Point, PointKind
from logbook.plant.roster import Shift
from logbook.plant.rounds import Round, rounds_of
from logbook.record import Book, Reading
from logbook.shift.copied import copied_in
from logbook.shift.dues import Dues
from logbook.shift.duty import Duty
from logbook.shift.exceptions import ShiftExceptions, exceptions_of
from logbook.shift.gaps import GapFound
from logbook.shift.review_cells import (
    EXCEPTIONS,
    Cell,
    CellState,
    Finding,
    Mark,
    ReviewRow,
)
from logbook.shift.round_form import describe_reason
from logbook.shift.round_load import judge_reading
from logbook.shift.round_state import grace_of
from logbook.shift.words import answer_text, place_name

if TYPE_CHECKING:
    from logbook.shift.trends import Trend

MOMENT = timedelta(seconds=1)
_RANKS = {state: rank for rank, state in enumerate(CellState)}
"""The worst first."""
RATE_BACK = timedelta(days=1)
"""How far before the shift a counter is sought to work a rate out from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewGrid:
    """The grid of a shift: a row for each point in form order, a cell for each round."""

    plant: Plant
    shift: Shift
    made_at: datetime
    rounds: tuple[Round, ...]
    rows: tuple[ReviewRow, ...]
    exceptions: ShiftExceptions

    def count(self, finding: Finding) -> int:
        """Cells in which it is found."""
        return sum(finding in cell.findings for row in self.rows for cell in row.cells)


@dataclass(frozen=True, slots=True)
class ReviewFilter:
    """Which rows to show; an empty set lets all pass."""

    areas: frozenset[str] = frozenset()
    kinds: frozenset[PointKind] = frozenset()
    findings: frozenset[Finding] = frozenset()
    only_exceptions: bool = False
    words: str = ""

    def passes(self, plant: Plant, row: ReviewRow) -> bool:
        """True for a row that is asked for."""
        point = row.point
        name = f"{place_name(plant, point)} {point.tag} {point.key}".casefold()
        return (
            (not self.areas or point.area in self.areas)
            and (not self.kinds or point.kind in self.kinds)
            and (not self.findings or bool(row.findings & self.findings))
            and (not self.only_exceptions or bool(row.findings & EXCEPTIONS))
            and all(word in name for word in self.words.casefold().split())
        )


NO_FILTER = ReviewFilter()


def chosen_rows(
    grid: ReviewGrid, wanted: ReviewFilter = NO_FILTER, *, exceptions_first: bool = True
) -> tuple[ReviewRow, ...]:
    """The rows that pass, the worst first, else in form order."""
    rows = [row for row in grid.rows if wanted.passes(grid.plant, row)]
    return tuple(sorted(rows, key=lambda row: row.rank) if exceptions_first else rows)


def review_of(
    book: Book, shift: Shift, now: datetime, found: ShiftExceptions | None = None
) -> ReviewGrid:
    """The grid of a shift, up to `now` where it is still running.

    `found` saves looking the shift through again. Raises BookError.
    """
    found = found or exceptions_of(book, shift, now)
    plant, end = found.plant, min(shift.end, now + MOMENT)
    rounds = tuple(r for r in rounds_of(shift, plant.settings.round_hours) if r.at <= now)
    readings = found.readings
    maker = _Maker(
        plant=plant,
        rounds=rounds,
        duty=Duty.of(book, plant, shift.start, end),
        placed=_placed(rounds, [*readings, *book.withdrawn(shift.start, end)]),
        gaps={(gap.point.key, gap.round_at): gap for gap in found.gaps},
        doubts={doubt.reading.id: doubt.why for doubt in found.doubts},
        copied=_copied(book, plant, rounds, readings, shift.start),
        awaited=_awaited(book, plant, rounds, readings, now),
    )
    trends = _trends(book, plant, shift.start, end)
    rows = [maker.row(point, trends.get(point.key)) for point in plant.points]
    return ReviewGrid(
        plant=plant,
        shift=shift,
        made_at=now,
        rounds=rounds,
        rows=tuple(rows),
        exceptions=found,
    )


Placed = Mapping[tuple[str, int], list[Reading]]


def _column(rounds: Sequence[Round], at: datetime) -> int:
    """The round that an instant belongs to: the last one due at or before it."""
    return max(bisect_right(rounds, at, key=lambda rnd: rnd.at) - 1, 0)


def _placed(rounds: Sequence[Round], readings: Iterable[Reading]) -> Placed:
    """Readings by point and place of their round."""
    places = {rnd.at: k for k, rnd in enumerate(rounds)}
    found: dict[tuple[str, int], list[Reading]] = {}
    for reading in readings:
        place = places.get(reading.round_at) if reading.round_at else None
        place = _column(rounds, reading.taken_at) if place is None else place
        found.setdefault((reading.point, place), []).append(reading)
    return found


def _copied(
    book: Book,
    plant: Plant,
    rounds: Sequence[Round],
    readings: Sequence[Reading],
    start: datetime,
) -> Mapping[tuple[str, datetime], float]:
    by_round: dict[datetime, dict[str, Reading]] = {rnd.at: {} for rnd in rounds}
    for reading in readings:
        if reading.round_at in by_round:
            by_round[reading.round_at][reading.point] = reading
    keys = [point.key for point in plant.points if point.kind.is_typed]
    before = book.last_before(keys, start)
    latest = max((r.round_at for r in before.values() if r.round_at is not None), default=None)
    last = {key: r for key, r in before.items() if r.round_at == latest}
    return copied_in(plant, by_round.items(), last)


def _awaited(
    book: Book, plant: Plant, rounds: Sequence[Round], readings: Sequence[Reading], now: datetime
) -> set[tuple[str, datetime]]:
    """What is due in rounds that are still in time."""
    running = [rnd for rnd in rounds if now - rnd.at <= grace_of(plant)]
    found: set[tuple[str, datetime]] = set()
    for rnd in running:
        duty = Duty.of(book, plant, rnd.at, now + MOMENT)
        read = {r.point for r in readings if r.taken_at < rnd.at}
        found |= {(key, rnd.at) for key in Dues(plant, duty).of_round(rnd, read)}
    return found


def _trends(book: Book, plant: Plant, start: datetime, end: datetime) -> Mapping[str, Trend]:
    from logbook.shift.trend_load import load_trends  # numpy

    computed = [point for point in plant.points if not point.kind.is_typed]
    return load_trends(book, plant, computed, start - RATE_BACK, end)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Maker:
    """Makes the rows of a grid."""

    plant: Plant
    rounds: tuple[Round, ...]
    duty: Duty
    placed: Placed
    gaps: Mapping[tuple[str, datetime], GapFound]
    doubts: Mapping[int, str]
    copied: Mapping[tuple[str, datetime], float]
    awaited: set[tuple[str, datetime]] = field(default_factory=set)

    def row(self, point: Point, trend: Trend | None) -> ReviewRow:
        """The cells of a point."""
        if trend is not None:
            return ReviewRow(point, self._computed(point, trend))
        cells = (self._cell(point, k, rnd.at) for k, rnd in enumerate(self.rounds))
        return ReviewRow(point, tuple(cells))

    def _cell(self, point: Point, place: int, at: datetime) -> Cell:
        readings = self.placed.get((point.key, place), [])
        if not readings:
            return self._empty(point, at)
        if len(readings) == 1:
            return self._read(point, readings[0], at)
        cells = [self._read(point, reading, at) for reading in readings]
        worst = min(cells, key=lambda cell: _RANKS[cell.state])
        last = cells[-1]
        return Cell(
            worst.state,
            last.text,
            worst.judgement,
            frozenset().union(*(cell.marks for cell in cells)),
            tuple(dict.fromkeys(word for cell in cells for word in cell.why)),
            last.reading,
            last.value,
            len(cells),
        )

    def _empty(self, point: Point, at: datetime) -> Cell:
        if (point.key, at) in self.gaps:
            return Cell(CellState.MISSING, why=("no reason given",))
        if (point.key, at) in self.awaited:
            return Cell(CellState.AWAITED)
        off = self.duty.why_not(point, at)
        return Cell(CellState.NOT_DUE, why=(off or str(point.frequency),))

    def _read(self, point: Point, reading: Reading, at: datetime) -> Cell:
        doubt, marks = self._doubt(reading, at), set()
        if reading.late:
            marks.add(Mark.LATE)
        if reading.corrected:
            marks.add(Mark.CORRECTED)
        if doubt:
            marks.add(Mark.DOUBTFUL)
        if reading.value is None and reading.text is None:
            return self._valueless(point, reading, at, frozenset(marks))
        off = self.duty.why_not(point, reading.taken_at)
        judged = NOT_JUDGED if off else judge_reading(point, reading.mode, reading)
        comma = self.plant.settings.decimal_comma
        text = answer_text(point, reading.value, reading.text, decimal_comma=comma)
        why = tuple(word for word in (off, doubt) if word)
        return Cell(
            _state(judged), text, judged, frozenset(marks), why, reading, value=reading.value
        )

    def _valueless(
        self, point: Point, reading: Reading, at: datetime, marks: frozenset[Mark]
    ) -> Cell:
        """A reason instead of a value, or a reading that was withdrawn."""
        if reading.reason is not None:
            off = self.duty.why_not(point, reading.taken_at)
            state = CellState.NOT_DUE if off else CellState.EXPLAINED
            why = (off or describe_reason(reading.reason),)
            return Cell(state, marks=marks, why=why, reading=reading)
        missing = (point.key, at) in self.gaps
        state = CellState.MISSING if missing else CellState.NOT_DUE
        return Cell(state, marks=marks, why=(f"withdrawn: {reading.why}",), reading=reading)

    def _doubt(self, reading: Reading, at: datetime) -> str:
        share = self.copied.get((reading.point, at)) if reading.round_at == at else None
        if reading.id in self.doubts:
            return self.doubts[reading.id]
        if share is not None:
            return f"the same as in the round before, as is {share:.0%} of this round"
        return ""

    def _computed(self, point: Point, trend: Trend) -> tuple[Cell, ...]:
        """Cells of a computed point: its last value in each round."""
        starts = [rnd.at.timestamp() for rnd in self.rounds]
        empty = Cell(CellState.NOT_DUE, why=("nothing to work it out from",))
        cells = [empty] * len(starts)
        comma = self.plant.settings.decimal_comma
        for at, value, code in zip(trend.taken_at, trend.value, trend.code, strict=True):
            place = bisect_right(starts, float(at)) - 1
            if place < 0:
                continue
            off = self.duty.why_not(point, datetime.fromtimestamp(int(at), tz=UTC))
            judged = NOT_JUDGED if off else _judged(int(code))
            text = answer_text(point, float(value), None, decimal_comma=comma)
            cells[place] = Cell(_state(judged), text, judged, value=float(value))
        return tuple(cells)


def _judged(code: int) -> Judgement:
    if not -2 <= code <= 2:
        return NOT_JUDGED
    return Judgement(Severity(abs(code)), Direction((code > 0) - (code < 0)))


def _state(judged: Judgement) -> CellState:
    states = {Severity.ACTION: CellState.ACTION, Severity.WARNING: CellState.WARNING}
    return states.get(judged.severity, CellState.OK)
