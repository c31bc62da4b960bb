"""Readings from a CSV file: read, judged and checked like typed ones, with every fault named.

Columns, in any order, named in the first row: `point` (key), `taken_at`, `value`, `reason`,
`person`; optional `response` and `confirm` ("yes" keeps an implausible value). `taken_at` is
ISO 8601 with an offset, or the plant's local date and time. The separator is a comma,
semicolon or tab.
"""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from logbook.plant.localtime import Ambiguous, DoesNotExist, Instant, parse_local
from logbook.plant.model import Limits, Plant, Point
from logbook.shift.answer import EMPTY, Entry, read_entry
from logbook.shift.round_form import MISSING_REASONS

NEEDED = ("point", "taken_at", "value", "reason", "person")
OPTIONAL = ("response", "confirm")
YES = {"yes", "y", "true", "1"}


@dataclass(frozen=True, slots=True)
class CsvFault:
    """What is wrong in a file: row (1 is the heading), column name or empty, and a sentence."""

    row: int
    column: str
    sentence: str

    def __str__(self) -> str:
        """Row, column and sentence."""
        where = f"row {self.row}" + (f", column {self.column}" if self.column else "")
        return f"{where}: {self.sentence}"


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
class Checks:
    """What the book says that a row is checked against."""

    plant_at: Callable[[datetime], Plant]
    mode_at: Callable[[datetime], str]
    is_taken: Callable[[str, datetime], bool]
    now: datetime


@dataclass(frozen=True, slots=True)
class CsvResult:
    """Rows that can be written, and every fault of the file."""

    readings: tuple[CsvReading, ...]
    faults: tuple[CsvFault, ...]


def read_csv(path: Path, checks: Checks) -> CsvResult:
    """Read and check a whole file. Never raises for what is in it; OSError for the file itself."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        fault = CsvFault(1, "", "the file is not UTF-8 text; save it as CSV UTF-8 and try again.")
        return CsvResult((), (fault,))
    return read_text(text, checks)


def read_text(text: str, checks: Checks) -> CsvResult:
    """As `read_csv`, from text."""
    rows = list(_rows(text))
    if not rows:
        return CsvResult((), (CsvFault(1, "", "the file is empty."),))
    head = [name.strip().casefold() for name in rows[0][1]]
    faults = _head_faults(head)
    if faults:
        return CsvResult((), tuple(faults))
    readings: list[CsvReading] = []
    seen: dict[tuple[str, datetime], int] = {}
    for number, cells in rows[1:]:
        found = _Row(number, dict(zip(head, cells, strict=False)), checks).read(seen)
        if len(cells) > len(head):
            found = [CsvFault(number, "", f"{len(cells)} cells where the heading has {len(head)}.")]
        if isinstance(found, CsvReading):
            readings.append(found)
        else:
            faults.extend(found)
    return CsvResult(tuple(readings), tuple(faults))


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with their number, blank ones left out."""
    first = text.split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text), delimiter=separator)
    for number, cells in enumerate(reader, start=1):
        if any(cell.strip() for cell in cells):
            yield number, cells


def _head_faults(head: list[str]) -> list[CsvFault]:
    faults = [
        CsvFault(1, name, "this column is missing; the first row must name it.")
        for name in NEEDED
        if name not in head
    ]
    known = (*NEEDED, *OPTIONAL)
    for name in head:
        if name not in known:
            faults.append(CsvFault(1, name or "(no name)", f"unknown column.{_near(name, known)}"))
        elif head.count(name) > 1:
            faults.append(CsvFault(1, name, "this column is named twice."))
    return faults


class _Row:
    """One row being read; collects its faults."""

    def __init__(self, number: int, cells: Mapping[str, str], checks: Checks) -> None:
        self.number, self.checks = number, checks
        self.cells = {name: (text or "").strip() for name, text in cells.items()}
        self.faults: list[CsvFault] = []

    def read(self, seen: dict[tuple[str, datetime], int]) -> CsvReading | list[CsvFault]:
        """The reading, or everything that is wrong with the row."""
        at = self._time()
        plant = self.checks.plant_at(at or self.checks.now)
        point = self._point(plant)
        person = self._person(plant)
        entry = self._entry(plant, point, at) if point else None
        if point and at:
            self._once(point, at, seen)
        if self.faults or point is None or at is None or entry is None:
            return self.faults
        return CsvReading(self.number, point, at, person, entry, self.checks.mode_at(at))

    def _get(self, name: str) -> str:
        return self.cells.get(name, "")

    def _fault(self, column: str, sentence: str) -> None:
        self.faults.append(CsvFault(self.number, column, sentence))

    def _time(self) -> datetime | None:
        text = self._get("taken_at")
        if not text:
            self._fault("taken_at", "empty; write when the reading was taken.")
            return None
        found = read_instant(text, self.checks.plant_at(self.checks.now).time_zone)
        if isinstance(found, str):
            self._fault("taken_at", found)
            return None
        if found > self.checks.now:
            self._fault("taken_at", f'"{text}" lies in the future.')
            return None
        return found

    def _point(self, plant: Plant) -> Point | None:
        key = self._get("point")
        keys = [point.key for point in plant.points]
        if key not in keys:
            told = f'there is no point "{key}".{_near(key, keys)}' if key else "empty."
            self._fault("point", told)
            return None
        point = plant.point(key)
        if not point.kind.is_typed:
            self._fault("point", f'"{key}" is computed from others and cannot be entered.')
            return None
        return point

    def _person(self, plant: Plant) -> str:
        text = self._get("person")
        known = {person.key: person for person in plant.people}
        by_name = {person.name.casefold(): person.key for person in plant.people}
        key = text if text in known else by_name.get(text.casefold(), "")
        if not key:
            near = _near(text, list(known))
            told = f'there is no person "{text}".{near}' if text else "empty; write who read it."
            self._fault("person", told)
        return key

    def _entry(self, plant: Plant, point: Point, at: datetime | None) -> Entry | None:
        value, reason = self._get("value"), self._get("reason")
        if bool(value) == bool(reason):
            told = "give a value or a reason, not both." if value else "neither value nor reason."
            self._fault("value", told)
            return None
        if reason:
            words = {text: key for key, text in MISSING_REASONS.items()}
            return Entry(reason=words.get(reason.casefold(), reason))
        entry = self._judged(plant, point, at, value)
        question = entry.question
        if question is not None:
            hint = ' Write "yes" in a column "confirm" to keep it.' if question.can_confirm else ""
            sentence = question.sentence.split(" Enter again")[0]
            self._fault("value", f'"{value}": {sentence}{hint}')
        return entry

    def _judged(self, plant: Plant, point: Point, at: datetime | None, value: str) -> Entry:
        limits: Limits = point.limits_in(self.checks.mode_at(at)) if at else point.limits
        confirmed = self._get("confirm").casefold() in YES
        base = Entry(confirmed=confirmed, response=self._get("response")) if confirmed else EMPTY
        comma = plant.settings.decimal_comma
        entry = read_entry(point, limits, value, base, last=None, decimal_comma=comma)
        return entry if confirmed else _with_response(entry, self._get("response"))

    def _once(self, point: Point, at: datetime, seen: dict[tuple[str, datetime], int]) -> None:
        first = seen.setdefault((point.key, at), self.number)
        if first != self.number:
            self._fault("taken_at", f'"{point.key}" stands for this time already in row {first}.')
        elif self.checks.is_taken(point.key, at):
            self._fault(
                "taken_at",
                f'the book holds a reading of "{point.key}" at this time; correct it there.',
            )


def _with_response(entry: Entry, response: str) -> Entry:
    from dataclasses import replace

    return replace(entry, response=response) if response else entry


def read_instant(text: str, zone: str) -> datetime | str:
    """An instant from ISO 8601 text: with an offset as it stands, else in the plant's local time.

    Returns a sentence where it cannot be read or names no or two instants.
    """
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is not None and found.tzinfo is not None:
        return found.astimezone(UTC)
    day_text, _, clock = text.replace("T", " ").partition(" ")
    try:
        day = date.fromisoformat(day_text)
    except ValueError:
        return f'"{text}" is not a time; write it as 2026-05-01 02:00.'
    if not clock:
        return f'"{text}" has no time of day; write it as 2026-05-01 02:00.'
    local = parse_local(day, clock.removesuffix(":00") if clock.count(":") == 2 else clock, zone)
    if isinstance(local, Instant):
        return local.at
    if isinstance(local, Ambiguous | DoesNotExist):
        return local.sentence
    return local.sentence


def _near(text: str, known: tuple[str, ...] | list[str]) -> str:
    found = difflib.get_close_matches(text, known, n=1, cutoff=0.6)
    return f' Did you mean "{found[0]}"?' if found else ""
