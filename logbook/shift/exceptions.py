"""What was not as it should be in a shift: deviations, answers, gaps, late and corrected readings."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from logbook.assess.limits import Judgement
from logbook.plant.model import Plant, Point
from logbook.plant.roster import Shift
from logbook.record import Book, Reader, Reading
from logbook.shift.answers import AnswerFound, answers_in
from logbook.shift.asked import Asked
from logbook.shift.doubts import DoubtFound, doubts_in
from logbook.shift.duty import Duty
from logbook.shift.gaps import GapFound, gaps_in
from logbook.shift.plants import PlantHistory
from logbook.shift.round_state import RoundStatus, round_statuses
from logbook.shift.runs import PointRun, runs_between
from logbook.shift.stops import StopFound, stops_in

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class DeviationFound:
    """A deviation that was open at some time in the shift, and what was done about it."""

    found: PointRun
    judgement: Judgement
    """Direction and the worst severity of the whole run."""
    responses: tuple[str, ...]
    follows: tuple[str, ...] = ()
    """Of a computed point: the inputs whose deviations, no less severe, explain it."""

    @property
    def is_open(self) -> bool:
        """True where it is not back inside by the end of the shift."""
        return self.found.run.is_open


@dataclass(frozen=True, slots=True)
class LateFound:
    """Readings of a round entered late: how many, when, by whom, and why."""

    taken_at: datetime
    written_at: datetime
    count: int
    person: str
    note: str


@dataclass(frozen=True, slots=True)
class CorrectionFound:
    """A corrected reading: as it was and as it is."""

    point: Point
    before: Reading
    after: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftExceptions:
    """Everything in a shift that wants a look."""

    plant: Plant
    """As defined at the end of the shift."""
    shift: Shift
    rounds: tuple[RoundStatus, ...]
    readings: tuple[Reading, ...] = field(repr=False)
    """All of the shift, as they stand, in order of time."""
    deviations: tuple[DeviationFound, ...]
    answers: tuple[AnswerFound, ...]
    doubts: tuple[DoubtFound, ...]
    stops: tuple[StopFound, ...]
    gaps: tuple[GapFound, ...]
    late: tuple[LateFound, ...]
    corrections: tuple[CorrectionFound, ...]

    @property
    def reading_count(self) -> int:
        """Readings of the shift."""
        return len(self.readings)

    @property
    def is_quiet(self) -> bool:
        """True where nothing wants a look."""
        found = (self.deviations, self.answers, self.doubts, self.stops, self.gaps)
        return not any((*found, self.late, self.corrections))


def exceptions_of(
    book: Book, shift: Shift, now: datetime, plants: PlantHistory | None = None
) -> ShiftExceptions:
    """Look a shift through, up to `now` where it is still running.

    `plants` saves reading the plant's definitions again. Raises BookError where the book cannot
    be read.
    """
    end = min(shift.end, now + MOMENT)
    plants = plants or PlantHistory(book)
    plant = plants.at(end - MOMENT)
    readings = book.readings(None, shift.start, end)
    duty, asked = Duty.of(book, plant, shift.start, end), Asked(readings)
    return ShiftExceptions(
        plant=plant,
        shift=shift,
        rounds=round_statuses(
            book,
            plants,
            shift.start,
            now,
            until=end,
            readings=readings,
            duty=duty,
            asked=asked,
        ),
        readings=tuple(readings),
        deviations=_deviations(book, plant, readings, shift.start, end),
        answers=answers_in(book, plants, readings, shift.start, end, duty),
        doubts=doubts_in(book, plants, readings, shift.start),
        stops=stops_in(book, plant, shift.start, end),
        gaps=gaps_in(book, plants, shift, now, readings, duty, asked),
        late=_late(book, readings),
        corrections=_corrections(book, plants, readings, shift.start, end),
    )


def _deviations(
    book: Reader, plant: Plant, readings: Iterable[Reading], start: datetime, end: datetime
) -> tuple[DeviationFound, ...]:
    runs = runs_between(book, plant, plant.points, start, end)
    inputs, told = _all_inputs(plant), _responses(book, runs, readings, start)
    found = [
        DeviationFound(
            run,
            Judgement(run.run.severity, run.run.direction),
            told[run.point.key, run.run.start],
            _causes(run, runs, inputs[run.point.key]) if run.point.formula else (),
        )
        for run in runs
    ]
    return tuple(sorted(found, key=lambda d: (-d.judgement.severity, d.found.run.start)))


def _all_inputs(plant: Plant) -> dict[str, set[str]]:
    """Everything that a computed point follows from, directly or through another."""
    formulas = {p.key: p.formula.inputs if p.formula else () for p in plant.points}
    found: dict[str, set[str]] = {}

    def visit(key: str) -> set[str]:
        if key not in found:
            direct = formulas.get(key, ())
            found[key] = set(direct).union(*(visit(name) for name in direct))
        return found[key]

    for key in formulas:
        visit(key)
    return found


def _causes(run: PointRun, runs: Iterable[PointRun], inputs: Container[str]) -> tuple[str, ...]:
    """Which deviations of inputs explain one of a computed point: at the same time, no milder."""
    mine = run.run
    found = [
        other.point.key
        for other in runs
        if other.point.key in inputs
        and other.run.severity >= mine.severity
        and other.run.start <= mine.last_out
        and other.run.last_out >= mine.start
    ]
    return tuple(dict.fromkeys(found))


def _responses(
    book: Reader, runs: Sequence[PointRun], readings: Iterable[Reading], start: datetime
) -> dict[tuple[str, datetime], tuple[str, ...]]:
    """What was written about the readings of each run, in order of time.

    `readings` are those from `start` on; earlier ones of a run are asked for.
    """
    by_point: dict[str, list[tuple[datetime, int]]] = {run.point.key: [] for run in runs}
    for reading in readings:
        if reading.point in by_point:
            by_point[reading.point].append((reading.taken_at, reading.id))
    ids: dict[tuple[str, datetime], list[int]] = {}
    before: dict[tuple[str, datetime], tuple[str, datetime, datetime]] = {}
    for run in runs:
        key, since, last = run.point.key, run.run.start, run.run.last_out
        ids[key, since] = [one for at, one in by_point[key] if since <= at <= last]
        if since < start and run.point.kind.is_typed:
            before[key, since] = (key, since, min(start, last + MOMENT))
    for place, earlier in zip(before, book.ids_in(list(before.values())), strict=True):
        ids[place] = [*earlier, *ids[place]]
    found = book.responses(dict.fromkeys(one for own in ids.values() for one in own))
    if not found:
        return dict.fromkeys(ids, ())
    return {
        run: tuple(r.text for one in own for r in found.get(one, ())) for run, own in ids.items()
    }


def _late(book: Reader, readings: Sequence[Reading]) -> tuple[LateFound, ...]:
    groups: dict[tuple[datetime, int], list[Reading]] = {}
    for reading in readings:
        if reading.late and reading.replaces is None:
            groups.setdefault((reading.taken_at, reading.page), []).append(reading)
    notes = _notes(book, [group[0] for group in groups.values()])
    return tuple(
        LateFound(at, group[0].written_at, len(group), group[0].person, notes.get(page, ""))
        for (at, page), group in sorted(groups.items())
    )


def _notes(book: Reader, readings: Sequence[Reading]) -> Mapping[int, str]:
    """Notes of the pages with which these readings were written."""
    if not readings:
        return {}
    written = [reading.written_at for reading in readings]
    pages = book.pages(min(written), max(written) + MOMENT)
    return {page.id: page.note for page in pages}


def _corrections(
    book: Reader,
    plants: PlantHistory,
    readings: Iterable[Reading],
    start: datetime,
    end: datetime,
) -> tuple[CorrectionFound, ...]:
    changed = [reading for reading in readings if reading.replaces is not None]
    changed += book.withdrawn(start, end)
    found = []
    for reading in sorted(changed, key=lambda r: (r.taken_at, r.id)):
        point = plants.point_of(reading)
        if point is not None:
            found.append(CorrectionFound(point, book.history_of(reading.id)[0], reading))
    return tuple(found)
