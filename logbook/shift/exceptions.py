"""What was not as it should be in a shift: deviations, answers, gaps, late and corrected readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.limits import Judgement, Severity
from logbook.plant.model import Plant, Point
from logbook.plant.roster import Shift
from logbook.plant.rounds import rounds_of
from logbook.record import Book, Reader, Reading
from logbook.shift.dues import Dues
from logbook.shift.duty import Duty
from logbook.shift.round_load import judge_reading
from logbook.shift.round_state import RoundStatus, round_statuses
from logbook.shift.runs import PointRun, runs_between

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class DeviationFound:
    """A deviation that was open at some time in the shift, and what was done about it."""

    found: PointRun
    judgement: Judgement
    """Direction and the worst severity of the whole run."""
    is_open: bool
    """True where it is not back inside by the end of the shift."""
    responses: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AnswerFound:
    """A state or check whose answer is not normal."""

    point: Point
    reading: Reading
    judgement: Judgement


@dataclass(frozen=True, slots=True)
class GapFound:
    """A reading that was due and not taken; `reason` is None where nobody said why."""

    point: Point
    round_at: datetime
    reason: str | None


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

    shift: Shift
    rounds: tuple[RoundStatus, ...]
    reading_count: int
    deviations: tuple[DeviationFound, ...]
    answers: tuple[AnswerFound, ...]
    gaps: tuple[GapFound, ...]
    late: tuple[LateFound, ...]
    corrections: tuple[CorrectionFound, ...]

    @property
    def is_quiet(self) -> bool:
        """True where nothing wants a look."""
        parts = (self.deviations, self.answers, self.gaps, self.late, self.corrections)
        return not any(parts)


def exceptions_of(book: Book, shift: Shift, now: datetime) -> ShiftExceptions:
    """Look a shift through, up to `now` where it is still running.

    Raises BookError where the book cannot be read.
    """
    end = min(shift.end, now + MOMENT)
    plant = book.plant_at(end)
    readings = book.readings(None, shift.start, end)
    by_key = {point.key: point for point in plant.points}
    known = [r for r in readings if r.point in by_key]
    return ShiftExceptions(
        shift=shift,
        rounds=round_statuses(book, plant, shift.start, end - MOMENT),
        reading_count=len(readings),
        deviations=_deviations(book, plant, shift.start, end),
        answers=_answers(known, by_key),
        gaps=_gaps(book, plant, shift, end, known),
        late=_late(book, readings),
        corrections=_corrections(book, known, by_key),
    )


def _deviations(
    book: Reader, plant: Plant, start: datetime, end: datetime
) -> tuple[DeviationFound, ...]:
    runs = runs_between(book, plant, plant.points, start, end)
    found = [
        DeviationFound(
            run,
            Judgement(run.run.severity, run.run.direction),
            run.run.is_open,
            _responses(book, run),
        )
        for run in runs
    ]
    return tuple(sorted(found, key=lambda d: (-d.judgement.severity, d.found.run.start)))


def _responses(book: Reader, run: PointRun) -> tuple[str, ...]:
    """What was written about the readings of a run, in order of time."""
    if not run.point.kind.is_typed:
        return ()
    key = run.point.key
    series = book.series([key], run.run.start, run.run.last_out + MOMENT)[key]
    found = book.responses(series.id.tolist())
    return tuple(r.text for reading in series.id.tolist() for r in found.get(reading, ()))


def _answers(readings: Iterable[Reading], by_key: Mapping[str, Point]) -> tuple[AnswerFound, ...]:
    found = []
    for reading in readings:
        point = by_key[reading.point]
        if reading.text is None or not point.choices:
            continue
        judgement = judge_reading(point, reading.mode, reading)
        if judgement.severity is not Severity.NONE:
            found.append(AnswerFound(point, reading, judgement))
    return tuple(sorted(found, key=lambda a: (-a.judgement.severity, a.reading.taken_at)))


def _gaps(
    book: Reader, plant: Plant, shift: Shift, end: datetime, readings: Sequence[Reading]
) -> tuple[GapFound, ...]:
    """Due readings without a value, round by round; with the reason where one was given."""
    by_key = {point.key: point for point in plant.points}
    dues = Dues(plant, Duty.of(book, plant, shift.start, end))
    taken = {(r.point, r.round_at): r for r in readings if r.round_at is not None}
    found = []
    for rnd in rounds_of(shift, plant.settings.round_hours):
        if rnd.at >= end:
            break
        before = {r.point for r in readings if r.taken_at < rnd.at}
        for key in sorted(dues.of_round(rnd, before), key=list(by_key).index):
            reading = taken.get((key, rnd.at))
            if reading is None or reading.reason is not None:
                reason = reading.reason if reading is not None else None
                found.append(GapFound(by_key[key], rnd.at, reason))
    return tuple(found)


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


def _notes(book: Reader, readings: Sequence[Reading]) -> dict[int, str]:
    """Notes of the pages with which these readings were written."""
    if not readings:
        return {}
    written = [reading.written_at for reading in readings]
    pages = book.pages(min(written), max(written) + MOMENT)
    return {page.id: page.note for page in pages}


def _corrections(
    book: Reader, readings: Sequence[Reading], by_key: Mapping[str, Point]
) -> tuple[CorrectionFound, ...]:
    found = []
    for reading in readings:
        if reading.replaces is not None:
            chain = book.history_of(reading.id)
            found.append(CorrectionFound(by_key[reading.point], chain[-2], chain[-1]))
    return tuple(found)
