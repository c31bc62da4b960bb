"""Readings from a CSV file: read, judged and checked like typed ones, with every fault named.

Columns, in any order, named in the first row: `point` (key), `taken_at`, `value`, `reason`,
`person`; optional `response` and `confirm` ("yes" keeps an implausible value or a counter that
fell). `taken_at` is ISO 8601 with an offset, or the plant's local date and time. The separator is
a comma, semicolon or tab.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from logbook.assess.computed import counter_increase
from logbook.exchange.csv_text import CsvFault, Table, near, read_table
from logbook.exchange.known import Known
from logbook.exchange.local_time import read_instant
from logbook.plant.model import Person, Plant, Point, Role
from logbook.shift.answer import Asks, Entry, read_entry
from logbook.shift.round_form import MISSING_REASONS

NEEDED = ("point", "taken_at", "value", "reason", "person")
OPTIONAL = ("response", "confirm")
YES = {"yes", "y", "true", "1"}
LONGEST = 2000
"""Characters in a cell: a remark is shorter, and a longer one comes from a missing quote."""


@dataclass(frozen=True, slots=True)
class CsvReading:
    """A row that can be written: the point, when, who, and the judged entry."""

    row: int
    point: Point
    taken_at: datetime
    person: str
    entry: Entry
    mode: str


@dataclass(frozen=True, slots=True)
class CsvResult:
    """Rows that can be written, and every fault of the file."""

    readings: tuple[CsvReading, ...]
    faults: tuple[CsvFault, ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """A row with the point and time it names."""

    cells: _Cells
    point: Point
    at: datetime


def read_csv(path: Path, known: Known) -> CsvResult:
    """Read and check a whole file. Never raises for what is in it; OSError for the file itself.

    `known` is what the book says; it is asked once for the whole file. Raises BookError.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        fault = CsvFault(1, "", "the file is not UTF-8 text; save it as CSV UTF-8 and try again.")
        return CsvResult((), (fault,))
    return read_text(text, known)


def read_text(text: str, known: Known) -> CsvResult:
    """As `read_csv`, from text."""
    table = read_table(text, NEEDED, OPTIONAL)
    faults = list(table.faults)
    rows = [_Cells(number, cells, known, faults) for number, cells in table.rows]
    if not rows and not faults:
        faults.append(CsvFault(1, "", "there are no readings below the heading."))
    places = [place for row in rows if (place := row.place()) is not None]
    known.look_up([(place.point.key, place.at) for place in places])
    readings = list(_readings(places, known, faults))
    bad = {fault.row for fault in faults}
    return CsvResult(
        tuple(sorted((r for r in readings if r.row not in bad), key=lambda r: r.row)),
        tuple(sorted(faults, key=lambda fault: (fault.row, _order(table, fault.column)))),
    )


def _order(table: Table, column: str) -> int:
    return table.head.index(column) if column in table.head else -1


def _readings(
    places: Sequence[_Place], known: Known, faults: list[CsvFault]
) -> Iterator[CsvReading]:
    """Judge each row in order of time, so that each count is compared with the one before."""
    seen: dict[tuple[str, datetime], int] = {}
    for place in sorted(places, key=lambda p: (p.at, p.cells.number)):
        number, point, at = place.cells.number, place.point, place.at
        first = seen.setdefault((point.key, at), number)
        if first != number:
            told = f'"{point.key}" stands for this time already in row {first}.'
            faults.append(CsvFault(number, "taken_at", told))
        elif known.is_taken(point.key, at):
            told = f'the book holds a reading of "{point.key}" at this time; correct it there.'
            faults.append(CsvFault(number, "taken_at", told))
        mode = known.mode_at(at)
        entry = place.cells.entry(point, mode, known.last(point.key, at))
        if entry is not None:
            if entry.value is not None and first == number:
                known.remember(point.key, at, entry.value)
            yield CsvReading(number, point, at, place.cells.person_key, entry, mode)


class _Cells:
    """The cells of one row; adds what is wrong with them to `faults`."""

    def __init__(
        self, number: int, cells: dict[str, str], known: Known, faults: list[CsvFault]
    ) -> None:
        self.number, self._cells, self._known, self._faults = number, cells, known, faults
        self.person_key = ""

    def place(self) -> _Place | None:
        """Point and time; None where either cannot be told, with all faults of the row."""
        self._lengths()
        at = self._time()
        plant = self._known.plant_at(at or self._known.now)
        point = self._point(plant)
        self.person_key = self._person(plant)
        if point is not None and at is not None:
            return _Place(self, point, at)
        if point is not None:  # judged all the same, so that every fault is told at once
            self.entry(point, self._known.mode_at(self._known.now), None)
        return None

    def entry(self, point: Point, mode: str, last: float | None) -> Entry | None:
        """The judged value, or the reason; None where it cannot be taken."""
        value, reason = self._get("value"), self._get("reason")
        if bool(value) == bool(reason):
            told = "give a value or a reason, not both." if value else "neither value nor reason."
            self._fault("value", told)
            return None
        if reason:
            return Entry(reason=_reason_key(reason), response=self._get("response"))
        entry = self._judged(point, mode, value, last)
        if entry.question is None:
            return entry
        hint = (
            ' Write "yes" in a column "confirm" to keep it.' if entry.question.can_confirm else ""
        )
        sentence = entry.question.sentence.split(" Enter again")[0]
        self._fault("value", f'"{_short(value)}": {sentence}{hint}')
        return None

    def _judged(self, point: Point, mode: str, value: str, last: float | None) -> Entry:
        confirmed = self._get("confirm").casefold() in YES
        base = Entry(confirmed=confirmed, response=self._get("response"))
        comma = self._known.plant_at(self._known.now).settings.decimal_comma
        limits = point.limits_in(mode)
        entry = read_entry(point, limits, value, base, last=last, decimal_comma=comma)
        asks = entry.question.asks if entry.question else None
        if asks is Asks.COUNTER_BACK and _has_turned(point, last, entry.value):
            return replace(entry, question=None)
        return entry

    def _get(self, name: str) -> str:
        return self._cells.get(name, "")

    def _fault(self, column: str, sentence: str) -> None:
        self._faults.append(CsvFault(self.number, column, sentence))

    def _lengths(self) -> None:
        for name, text in self._cells.items():
            if len(text) > LONGEST:
                told = f"{len(text)} characters are too many; is a quotation mark missing?"
                self._fault(name, told)
            elif "\0" in text:
                self._fault(name, "holds a NUL character, which cannot be stored.")

    def _time(self) -> datetime | None:
        text = self._get("taken_at")
        if not text:
            self._fault("taken_at", "empty; write when the reading was taken.")
            return None
        found = read_instant(text, self._known.plant_at(self._known.now).time_zone)
        if isinstance(found, str):
            self._fault("taken_at", found)
            return None
        if found > self._known.now:
            self._fault("taken_at", f'"{text}" lies in the future.')
            return None
        return found

    def _point(self, plant: Plant) -> Point | None:
        key = self._get("point")
        points = self._known.points_of(plant)
        if key not in points:
            told = f'there is no point "{_short(key)}".{near(key, points)}'
            self._fault("point", told if key else "empty; write the key of a point.")
            return None
        point = points[key]
        if not point.kind.is_typed:
            self._fault("point", f'"{key}" is computed from others and cannot be entered.')
            return None
        return point

    def _person(self, plant: Plant) -> str:
        text = self._get("person")
        person = _person_of(plant.people, text)
        if not text:
            self._fault("person", "empty; write who read it.")
        elif person is None:
            keys = [one.key for one in plant.people]
            self._fault("person", f'there is no person "{_short(text)}".{near(text, keys)}')
        elif person.role is Role.READER:
            self._fault("person", f'"{text}" may only read the book, not write in it.')
        return person.key if person else ""


def _has_turned(point: Point, last: float | None, value: float | None) -> bool:
    """True where a counter's fall is its rollover."""
    if last is None or value is None:
        return False
    return counter_increase(last, value, point.rollover) is not None


def _person_of(people: Iterable[Person], text: str) -> Person | None:
    """By key, else by name in any case."""
    known = {person.name.casefold(): person for person in people}
    known |= {person.key: person for person in people}
    return known.get(text) or known.get(text.casefold())


def _reason_key(reason: str) -> str:
    """The fixed key for its key or words in any case; other words stay."""
    words = {text: key for key, text in MISSING_REASONS.items()} | {k: k for k in MISSING_REASONS}
    return words.get(reason.casefold(), reason)


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."


__all__ = ["CsvFault", "CsvReading", "CsvResult", "read_csv", "read_text"]
