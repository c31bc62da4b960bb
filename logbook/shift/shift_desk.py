"""Between the book and the Shift screen: which shift, its picture, what is open in it, writing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import next_shift, previous_shift, shift_at
from logbook.plant.localtime import (
    Ambiguous,
    DoesNotExist,
    NotATime,
    local_label,
    parse_local,
    to_local,
)
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Book, NewRow, SavedPage
from logbook.shift.exceptions import exceptions_of
from logbook.shift.picture import ShiftPicture, picture_of
from logbook.shift.plants import PlantHistory
from logbook.shift.words import person_name

MOMENT = timedelta(seconds=1)
DAY = timedelta(days=1)

ENTRY_KINDS = ("process", "safety", "quality", "maintenance", "environment", "delivery")
"""Kinds of log entries, the commonest first."""
SAFETY_KINDS = (
    ("bypass", "bypassed interlock"),
    ("override", "override"),
    ("permit", "permit in force"),
    ("isolation", "isolation"),
    ("other", "other"),
)
"""Kinds of safety states and their names."""


@dataclass(frozen=True, slots=True)
class Spot:
    """An area or a machine that a matter can be about: key of the area, of the machine, name."""

    area: str
    equipment: str
    name: str


class ShiftDesk:
    """The shift looked at, and everything the Shift screen asks the book."""

    def __init__(self, book: Book, plants: PlantHistory | None = None) -> None:
        """A desk at the running shift. `plants` saves reading them again."""
        self.book = book
        self.plants = plants or PlantHistory(book)
        self.plant: Plant = self.plants.at(book.now())
        """The plant as defined when it was last looked at (`refresh`)."""
        self.shift: Shift = shift_at(self.plant.calendar, self.now())

    def now(self) -> datetime:
        """The book's clock."""
        return self.book.now()

    def refresh(self) -> None:
        """Look whether the plant was revised meanwhile. Raises BookError."""
        self.plants.refresh()
        self.plant = self.plants.at(self.now())

    def beside(self) -> Callable[[Book], ShiftDesk]:
        """What makes a desk at the same shift for another thread, of the book it has there."""
        plants, shift = self.plants, self.shift

        def made(book: Book) -> ShiftDesk:
            desk = ShiftDesk(book, plants.beside(book))
            desk.shift = shift
            return desk

        return made

    # -- which shift ----------------------------------------------------------------------

    @property
    def is_running(self) -> bool:
        """True of the shift that is running now."""
        return self.shift.start <= self.now() < self.shift.end

    @property
    def moment(self) -> datetime:
        """The instant as of which matters are open: now, or the end of an earlier shift."""
        return min(self.now(), self.shift.end - MOMENT)

    def to_present(self) -> None:
        """Look at the running shift."""
        self.shift = shift_at(self.plant.calendar, self.now())

    def step(self, by: int) -> bool:
        """Look at the shift before (-1) or after (1); False where there is none to look at."""
        calendar = self.plant.calendar
        other = previous_shift(calendar, self.shift) if by < 0 else next_shift(calendar, self.shift)
        if other.start > self.now() or other.end <= self.book.created_at - DAY:
            return False
        self.shift = other
        return True

    def shift_words(self) -> tuple[str, str]:
        """Name, crew and day of the shift; and how far it is."""
        shift, plant = self.shift, self.plant
        crews = {crew.key: crew.name for crew in plant.calendar.crews}
        crew = f", {crews.get(shift.crew, shift.crew)}" if shift.crew else ""
        head = f"{shift.name}{crew}, {shift.date:%Y-%m-%d}"
        span = f"{self.clock(shift.start)} to {self.clock(shift.end)}"
        if not self.is_running:
            return head, f"{span}, ended"
        minutes = int((shift.end - self.now()).total_seconds() // 60)
        return head, f"{span}, {minutes // 60} h {minutes % 60:02d} min to go"

    def picture(self) -> ShiftPicture:
        """The shift as lanes. Raises BookError."""
        now = self.now()
        found = exceptions_of(self.book, self.shift, now, self.plants)
        return picture_of(self.book, self.shift, now, found)

    # -- words ----------------------------------------------------------------------------

    def clock(self, at: datetime) -> str:
        """Local time of day."""
        return local_label(at, self.plant.time_zone)

    def clock_now(self) -> str:
        """Local time of day now, to the minute."""
        return self.clock(self.now().replace(second=0, microsecond=0))

    def when(self, at: datetime) -> str:
        """Local time of day; with the date where it is not of this shift."""
        if self.shift.start <= at < self.shift.end:
            return self.clock(at)
        return f"{to_local(at, self.plant.time_zone):%m-%d} {self.clock(at)}"

    def person(self, key: str) -> str:
        """Name of a person."""
        return person_name(self.plant, key)

    def place(self, area: str | None, equipment: str | None) -> str:
        """Name of a machine or an area; empty for the whole plant."""
        plant = self.plant
        machine = next((e.name for e in plant.equipment if e.key == equipment), equipment)
        return machine or next((a.name for a in plant.areas if a.key == area), area or "")

    def spots(self) -> list[Spot]:
        """The whole plant, each area, and under it its machines."""
        plant = self.plant
        found = [Spot("", "", "Whole plant")]
        for area in plant.areas:
            found.append(Spot(area.key, "", area.name))
            found += [
                Spot(area.key, e.key, f"{area.name}: {e.name}")
                for e in plant.equipment
                if e.area == area.key
            ]
        return found

    def sampling_points(self) -> list[str]:
        """Names of the places where samples are taken, in form order."""
        found = (p.sampling_point for p in self.plant.points if p.sampling_point)
        return list(dict.fromkeys(found))

    # -- reading typed times --------------------------------------------------------------

    def read_past(self, typed: str) -> datetime | str:
        """The instant nearest to now with a typed time of day, or what is wrong with it.

        "now" or nothing is now. Just after midnight 23:30 is the evening before; half an hour
        ahead of now is in the future, not yesterday. With a day before it that day is meant.
        """
        now, text = self.now(), typed.strip()
        if text.casefold() in {"", "now"}:
            return now
        found = self._read(text, now)
        if isinstance(found, str):
            return found
        nearest = min(found, key=lambda at: abs(at - now))
        return nearest if nearest <= now else f"{text} lies in the future."

    def read_coming(self, typed: str) -> datetime | str:
        """The next instant with a typed time of day or date and time, or what is wrong with it."""
        text, now = typed.strip(), self.now()
        found = self._read(text, now)
        if isinstance(found, str):
            return found
        coming = [at for at in found if at > now]
        return min(coming) if coming else f"{text} has passed already; type a time to come."

    def _read(self, text: str, now: datetime) -> list[datetime] | str:
        """Instants that a typed time may mean: of the day named, or of the days about now."""
        zone = self.plant.time_zone
        day_text, _, clock = text.rpartition(" ")
        try:
            named = datetime.fromisoformat(day_text.strip()).date() if day_text else None
        except ValueError:
            return f'"{text}" is no time; type HH:MM, or a day before it as 2026-03-01 14:00.'
        today = to_local(now, zone).date()
        days = [named] if named else [today + k * DAY for k in (-1, 0, 1)]
        read = [parse_local(day, clock, zone) for day in days]
        wrong = next((r for r in read if isinstance(r, Ambiguous | DoesNotExist | NotATime)), None)
        if wrong is not None:
            return wrong.sentence
        return [r.at for r in read if not isinstance(r, Ambiguous | DoesNotExist | NotATime)]

    # -- writing --------------------------------------------------------------------------

    def write(self, person: str, rows: Sequence[NewRow], *, kind: str = "event") -> SavedPage:
        """Write rows of the log as one page. Raises BookError."""
        return self.book.write(person, rows, kind=kind)
