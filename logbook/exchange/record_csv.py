"""Writing a checked CSV file of readings into a book: all rows or none, unless told otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path

from logbook.assess.limits import Severity
from logbook.exchange.readings_csv import Checks, CsvFault, CsvReading, read_csv
from logbook.plant.localtime import to_local
from logbook.plant.model import Plant
from logbook.plant.rounds import round_at
from logbook.record import Book, NewReading, NewResponse, Page, Ref
from logbook.shift.words import answer_text, judgement_text, place_name

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of a file: rows written with their judgement, and faults."""

    plant: Plant
    written: tuple[CsvReading, ...]
    faults: tuple[CsvFault, ...]
    pages: int

    def lines(self) -> Iterator[str]:
        """For a person: each value out of limits, each fault, and the count."""
        for reading in self.written:
            if reading.entry.judgement.severity is not Severity.NONE:
                yield self._flag_line(reading)
        yield from (str(fault) for fault in self.faults)
        yield (
            f"{len(self.written)} readings written on {self.pages} "
            f"{'page' if self.pages == 1 else 'pages'}, {len(self.faults)} faults."
        )

    def _flag_line(self, reading: CsvReading) -> str:
        point, entry = reading.point, reading.entry
        limits = point.limits_in(reading.mode)
        shown = answer_text(point, entry.value, entry.text)
        words = judgement_text(point, limits, entry.judgement)
        at = to_local(reading.taken_at, self.plant.time_zone)
        name = place_name(self.plant, point)
        return f"row {reading.row}: {at:%Y-%m-%d %H:%M} {name}: {shown} {point.unit}, {words}"

    def as_json(self) -> dict[str, object]:
        """The same as plain data."""
        return {
            "written": [_reading_json(reading) for reading in self.written],
            "pages": self.pages,
            "faults": [
                {"row": f.row, "column": f.column, "sentence": f.sentence} for f in self.faults
            ],
        }


def _reading_json(reading: CsvReading) -> dict[str, object]:
    judgement = reading.entry.judgement
    return {
        "row": reading.row,
        "point": reading.point.key,
        "taken_at": reading.taken_at.isoformat(),
        "value": reading.entry.value,
        "text": reading.entry.text,
        "reason": reading.entry.reason,
        "severity": judgement.severity.name.lower() if judgement.is_judged else None,
        "direction": judgement.direction.name.lower() if judgement.is_judged else None,
    }


def record_file(book: Book, path: Path, *, skip_bad: bool, note: str = "") -> Recorded:
    """Check a file and write it in one transaction, a page for each person and time.

    With faults nothing is written unless `skip_bad`. Raises BookError, and OSError where the
    file cannot be read.
    """
    now = book.now()
    plant = book.plant_at(now)
    found = read_csv(path, _checks(book, now))
    if not found.readings or (found.faults and not skip_bad):
        return Recorded(plant, (), found.faults, 0)
    pages = list(_pages(book, found.readings, note.strip() or f"from {path.name}"))
    book.write_many(pages, chunk=len(pages))
    return Recorded(plant, found.readings, found.faults, len(pages))


def _checks(book: Book, now: datetime) -> Checks:
    plants: dict[datetime, Plant] = {}
    revisions = {revision.effective_from for revision in book.revisions()}

    def plant_at(at: datetime) -> Plant:
        since = max((r for r in revisions if r <= at), default=at)
        if since not in plants:
            plants[since] = book.plant_at(at)
        return plants[since]

    def is_taken(point: str, at: datetime) -> bool:
        return bool(book.readings([point], at, at + MOMENT))

    return Checks(plant_at, book.mode_at, is_taken, now)


def _pages(book: Book, readings: Sequence[CsvReading], note: str) -> Iterator[Page]:
    def place(reading: CsvReading) -> tuple[datetime, str]:
        return reading.taken_at, reading.person

    for (at, person), group in groupby(sorted(readings, key=place), key=place):
        plant = book.plant_at(at)
        due = round_at(plant.calendar, plant.settings, at).at
        rows = tuple(_rows(list(group), at if due == at else None))
        yield Page(person=person, rows=rows, kind="round", note=note)


def _rows(
    readings: Sequence[CsvReading], round_at_: datetime | None
) -> Iterator[NewReading | NewResponse]:
    place = 0
    for reading in readings:
        entry = reading.entry
        yield NewReading(
            point=reading.point.key,
            taken_at=reading.taken_at,
            round_at=round_at_,
            value=None if entry.reason else entry.value,
            text=None if entry.reason else entry.text,
            reason=entry.reason,
            typed=entry.typed.strip(),
            mode=reading.mode,
        )
        if entry.response.strip():
            yield NewResponse(reading=Ref(place), at=reading.taken_at, text=entry.response.strip())
            place += 1
        place += 1
