"""Writing a checked CSV file of readings into a book: all rows or none, unless told otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path

from logbook.assess.limits import Severity
from logbook.exchange.csv_text import CsvFault
from logbook.exchange.known import Known
from logbook.exchange.readings_csv import CsvReading, read_csv
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Plant
from logbook.plant.rounds import round_at
from logbook.record import Book, NewReading, NewResponse, Page, Ref
from logbook.shift.words import answer_text, judgement_text, point_name


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
        readings = counted(len(self.written), "reading")
        pages, faults = counted(self.pages, "page"), counted(len(self.faults), "fault")
        yield f"{readings} written on {pages}, {faults}."

    def _flag_line(self, reading: CsvReading) -> str:
        point, entry = reading.point, reading.entry
        limits, comma = point.limits_in(reading.mode), self.plant.settings.decimal_comma
        shown = answer_text(point, entry.value, entry.text, decimal_comma=comma)
        unit = f" {point.unit}" if point.unit and entry.value is not None else ""
        words = judgement_text(point, limits, entry.judgement, decimal_comma=comma)
        day = f"{to_local(reading.taken_at, self.plant.time_zone):%Y-%m-%d}"
        clock = local_label(reading.taken_at, self.plant.time_zone)
        name = point_name(self.plant, point)
        return f"row {reading.row}: {day} {clock} {name}: {shown}{unit}, {words}"

    def as_json(self) -> dict[str, object]:
        """The same as plain data."""
        return {
            "written": [_reading_json(reading) for reading in self.written],
            "pages": self.pages,
            "faults": [
                {"row": f.row, "column": f.column, "sentence": f.sentence} for f in self.faults
            ],
        }


def counted(count: int, noun: str) -> str:
    """Such as "1 fault" or "2 faults"."""
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _reading_json(reading: CsvReading) -> dict[str, object]:
    judgement = reading.entry.judgement
    return {
        "row": reading.row,
        "point": reading.point.key,
        "taken_at": reading.taken_at.isoformat(),
        "value": reading.entry.value,
        "text": reading.entry.text,
        "reason": reading.entry.reason,
        "response": reading.entry.response.strip() or None,
        "severity": judgement.severity.name.lower() if judgement.is_judged else None,
        "direction": judgement.direction.name.lower() if judgement.is_judged else None,
    }


def record_file(book: Book, path: Path, *, skip_bad: bool, note: str = "") -> Recorded:
    """Check a file and write it in one transaction, a page for each person and time.

    With faults nothing is written unless `skip_bad`. Raises BookError, and OSError where the
    file cannot be read.
    """
    known = Known(book)
    plant = known.plant_at(known.now)
    found = read_csv(path, known)
    if not found.readings or (found.faults and not skip_bad):
        return Recorded(plant, (), found.faults, 0)
    pages = list(_pages(known, found.readings, note.strip() or f"from {path.name}"))
    book.write_many(pages, chunk=len(pages))
    return Recorded(plant, found.readings, found.faults, len(pages))


def _pages(known: Known, readings: Sequence[CsvReading], note: str) -> Iterator[Page]:
    def place(reading: CsvReading) -> tuple[datetime, str]:
        return reading.taken_at, reading.person

    for (at, person), group in groupby(sorted(readings, key=place), key=place):
        plant = known.plant_at(at)
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
