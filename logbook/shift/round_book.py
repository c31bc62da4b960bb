"""Between the book and the form of a round: loading, the rounds' state, drafts, saving."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from logbook.plant.calendar import previous_shift, shift_at
from logbook.plant.localtime import (
    Ambiguous,
    DoesNotExist,
    NotATime,
    local_label,
    parse_local,
    to_local,
)
from logbook.plant.model import Plant
from logbook.plant.rounds import round_at
from logbook.record import Book, DraftField, DraftHead, NewModeChange, NewStatus
from logbook.record.rows import Scope, State
from logbook.shift.plants import PlantHistory
from logbook.shift.round_form import RoundForm
from logbook.shift.round_load import load_form
from logbook.shift.round_state import RoundState, RoundStatus, grace_of, round_statuses
from logbook.shift.round_write import rows_of, told_of
from logbook.shift.trends import Trend
from logbook.shift.words import person_name

TREND_DAYS = 7


@dataclass(frozen=True, slots=True)
class Restored:
    """What a kept draft brought back: number of entries, and who was writing."""

    count: int = 0
    person: str = ""


class RoundDesk:
    """The round being written in a book, and everything the Round screen asks the book."""

    def __init__(self, book: Book, plants: PlantHistory | None = None) -> None:
        """A desk on an open book; `open` loads a round. `plants` saves reading them again."""
        self.book = book
        self._plants = plants or PlantHistory(book)
        self.plant: Plant = self._plants.at(self.now())
        self._form: RoundForm | None = None
        self._trends: dict[str, Mapping[str, Trend]] = {}

    @property
    def form(self) -> RoundForm:
        """The form of the round that is open."""
        assert self._form is not None
        return self._form

    def now(self) -> datetime:
        """The book's clock."""
        return self.book.now()

    # -- rounds ---------------------------------------------------------------------------

    def round_due(self) -> datetime:
        """The last round due at or before now."""
        self._plants.refresh()
        plant = self._plants.at(self.now())
        return round_at(plant.calendar, plant.settings, self.now()).at

    def open(self, at: datetime, *, is_round: bool, note: str) -> Restored:
        """Load the round due at `at`, or readings at any other time, with its draft.

        Raises BookError where the book cannot be read.
        """
        self._plants.refresh()
        self.plant = self._plants.at(at)
        form = load_form(self.book, self.plant, at, is_round=is_round)
        draft = self.book.load_draft(at)
        restored = Restored()
        if draft is not None:
            form.restore(draft.fields.values())
            form.note = draft.head.note
            count = sum(form.holds(key) for key in draft.fields if key in form.fields)
            restored = Restored(count, draft.head.person)
        form.note = note or form.note
        self._form, self._trends = form, {}
        return restored

    def statuses(self) -> tuple[RoundStatus, ...]:
        """The rounds of this shift and the one before, up to now, oldest first."""
        now = self.now()
        self._plants.refresh()
        calendar = self._plants.at(now).calendar
        start = previous_shift(calendar, shift_at(calendar, now)).start
        return round_statuses(self.book, self._plants, start, now)

    def trends(self, area: str) -> Mapping[str, Trend]:
        """Seven days of each numeric point of an area up to the round."""
        if area not in self._trends:
            from logbook.shift.trend_load import load_trends  # numpy: not before it is needed

            points = [p for p in self.plant.points_of(area) if p.kind.is_numeric]
            start = self.form.taken_at - timedelta(days=TREND_DAYS)
            self._trends[area] = load_trends(
                self.book, self.plant, points, start, self.form.taken_at
            )
        return self._trends[area]

    def first_open_area(self) -> str:
        """The first area in which something is due; the first of all where nothing is."""
        keys = [area.key for area in self.plant.areas]
        return next((key for key in keys if self.has_open(key)), keys[0])

    def has_open(self, area: str) -> bool:
        """True where a due field of the area is still empty."""
        form = self.form
        return any(form.fields[key].point.area == area for key in form.open_keys())

    # -- time in words --------------------------------------------------------------------

    def label(self, at: datetime) -> tuple[str, str]:
        """Local time of day and local date of an instant."""
        zone = self.plant.time_zone
        return local_label(at, zone), f"{to_local(at, zone):%Y-%m-%d}"

    def clock_label(self) -> str:
        """Local time now."""
        return self.label(self.now())[0]

    def today(self) -> date:
        """Local date now."""
        return to_local(self.now(), self.plant.time_zone).date()

    def title(self) -> str:
        """Plant, day and round for the window's title."""
        clock, day = self.label(self.form.taken_at)
        what = "round" if self.form.round_at is not None else "readings at"
        shift = shift_at(self.plant.calendar, self.form.taken_at)
        crews = {crew.key: crew.name for crew in self.plant.calendar.crews}
        crew = f", {crews.get(shift.crew, shift.crew)}" if shift.crew else ""
        return f"{self.plant.name} – {what} {clock}, {day}, {shift.name}{crew}"

    def read_time(self, day: date, typed: str) -> datetime | str:
        """An instant from a local date and a typed time of day, or what is wrong with it."""
        found = parse_local(day, typed, self.plant.time_zone)
        if isinstance(found, Ambiguous | DoesNotExist | NotATime):
            return found.sentence
        if found.at > self.now():
            return f"{typed.strip()} on {day.isoformat()} lies in the future."
        return found.at

    def since_label(self) -> str:
        """The round's time, from which on what a crew finds in it most likely holds."""
        return self.label(self.form.taken_at)[0]

    def read_recent(self, typed: str) -> datetime | str:
        """The past instant with a typed time of day nearest to the round, or what is wrong.

        In the round of midnight 23:30 is the evening before.
        """
        day = to_local(self.form.taken_at, self.plant.time_zone).date()
        on_day = parse_local(day, typed, self.plant.time_zone)
        if isinstance(on_day, Ambiguous | DoesNotExist | NotATime):
            return on_day.sentence
        found = [self.read_time(day + timedelta(days=k), typed) for k in (-1, 0, 1)]
        past = [at for at in found if isinstance(at, datetime)]
        return min(past, key=lambda at: abs(at - self.form.taken_at), default=found[1])

    def needs_note(self) -> bool:
        """True where a save wants a reason: readings entered late or taken outside the rounds."""
        return self._is_late() or self.form.round_at is None

    def _is_late(self) -> bool:
        return self.now() - self.form.taken_at > grace_of(self.plant)

    def late_words(self) -> str:
        """What the screen says of readings entered late or taken outside the rounds; else empty."""
        if not self.needs_note() or not (self.form.open_keys() or self.form.has_entries):
            return ""
        clock, day = self.label(self.form.taken_at)
        shown = clock if day == self.label(self.now())[1] else f"{clock} on {day}"
        is_round = self.form.round_at is not None
        what = f"The round of {shown} is" if is_round else f"Readings taken at {shown} are"
        if not self._is_late():
            return f"{what} outside the rounds."
        ago = _span(self.now() - self.form.taken_at)
        return f"{what} entered {ago} later and will be marked late."

    # -- people, stops, modes -------------------------------------------------------------

    def people(self, at: datetime) -> list[tuple[str, str]]:
        """Everybody who may write, the crew on shift first."""
        crew = shift_at(self.plant.calendar, at).crew
        ordered = sorted(self.plant.people, key=lambda person: person.crew != crew)
        return [(person.key, person.name) for person in ordered if person.role != "reader"]

    def person_name(self, key: str) -> str:
        """Name of a person; the key where the plant no longer has them."""
        return person_name(self.plant, key)

    def targets(self, area: str) -> list[tuple[Scope, str, str, bool]]:
        """What can go down in an area: scope, key, name, and whether it is down now."""
        now = self.now()
        spans = self.book.down_intervals(now, now + timedelta(seconds=1))
        down = {(span.scope, span.target) for span in spans if span.end is None}
        found: list[tuple[Scope, str, str, bool]] = [
            ("area", area, self.plant.area(area).name, ("area", area) in down)
        ]
        found += [
            ("equipment", e.key, e.name, ("equipment", e.key) in down)
            for e in self.plant.equipment
            if e.area == area
        ]
        return found

    def write_status(
        self, person: str, scope: Scope, target: str, state: State, at: datetime, reason: str
    ) -> None:
        """Write that something goes down or comes back at an instant. Raises BookError."""
        row = NewStatus(scope=scope, target=target, at=at, state=state, reason=reason)
        self.book.write(person, [row], kind="event")

    def write_mode(self, person: str, mode: str, at: datetime, reason: str) -> None:
        """Write that the operating mode changes at an instant. Raises BookError."""
        self.book.write(person, [NewModeChange(at=at, mode=mode, reason=reason)], kind="event")

    # -- draft and save -------------------------------------------------------------------

    def keep_draft(self, keys: Sequence[str], person: str) -> None:
        """Keep what stands in these fields. Raises BookError."""
        form = self.form
        if not self.book.writable or (not keys and not form.has_entries):
            return
        fields = [_draft_of(form, key) for key in keys if form.holds(key)]
        head = DraftHead(form.taken_at, form.taken_at, form.mode, person, form.note)
        self.book.keep_draft(head, fields)

    def save(self, person: str) -> str:
        """Write the filled fields as one page; returns what was written, in words.

        The draft goes in the same transaction. Raises BookError; nothing is lost then.
        """
        form = self.form
        rows = rows_of(form)
        saved = self.book.write(
            person, rows, kind="round", note=form.note.strip(), drop_draft=form.taken_at
        )
        told = told_of(form, saved, self.clock_label())
        is_round = form.round_at is not None
        self.open(form.taken_at, is_round=is_round, note=form.note)
        return told


def _draft_of(form: RoundForm, key: str) -> DraftField:
    entry = form.fields[key].entry
    return DraftField(
        point=key,
        typed=entry.typed,
        response=entry.response,
        reason=entry.reason or "",
        confirmed=entry.confirmed,
    )


def _span(elapsed: timedelta) -> str:
    minutes = int(elapsed.total_seconds() // 60)
    hours, rest = divmod(minutes, 60)
    if hours >= 48:
        return f"{hours // 24} days"
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


__all__ = ["Restored", "RoundDesk", "RoundState", "RoundStatus"]
