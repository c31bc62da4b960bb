"""What happened while a person was away: over all shifts since their last one, to be confirmed.

A crew that comes back after days off gets one handover, of the shift before; what happened in the
others it reads here. Each line that is confirmed as read is kept as a check of the shift in which it
was read, with a subject such as "missed:safety:3".
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import previous_shift, shift_at, shifts_between
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Book, NewHandoverCheck, Reader, SavedPage
from logbook.shift.away import SOUGHT, away_before
from logbook.shift.limit_changes import limit_changes
from logbook.shift.signed_state import signed_state
from logbook.shift.signing import EARLY
from logbook.shift.words import person_name, point_name

SUBJECT = "missed:"
PAGE_KIND = "handover"
MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Missed:
    """One thing that happened meanwhile."""

    key: str
    kind: str
    """Safety state, instruction, limits, open item, or handover."""
    title: str
    text: str
    is_read: bool


@dataclass(frozen=True, slots=True)
class CatchUp:
    """What one person has missed, safety first; empty where they were not away."""

    person: str
    shift: Shift
    """The shift in which they are back."""
    since: datetime | None
    """End of the last shift in which they signed on; None: they were not away."""
    shifts: tuple[Shift, ...]
    lines: tuple[Missed, ...]

    @property
    def unread(self) -> tuple[Missed, ...]:
        """What is not confirmed yet."""
        return tuple(line for line in self.lines if not line.is_read)


def catch_up(book: Reader, plant: Plant, person: str, now: datetime) -> CatchUp:
    """What a person missed between their last shift and the running one. Raises BookError."""
    shift = shift_at(plant.calendar, now)
    if now >= shift.end - EARLY:  # who comes early comes for the next one
        shift = shift_at(plant.calendar, shift.end)
    since = _since(book, plant, person, shift)
    before = previous_shift(plant.calendar, shift)
    if since is None or since >= before.start:
        return CatchUp(person, shift, None, (), ())
    missed = tuple(shifts_between(plant.calendar, since, shift.start))
    checks = book.handover_checks(shift.date, shift.pattern)
    read = {check.subject for check in checks if check.person == person}
    lines = tuple(
        Missed(key, kind, title, text, f"{SUBJECT}{key}" in read)
        for key, kind, title, text in _lines(book, plant, missed, since, now + MOMENT)
    )
    return CatchUp(person, shift, since, missed, lines)


def confirm(book: Book, found: CatchUp, line: Missed) -> SavedPage:
    """Write that the person has read a line. Raises BookError."""
    key = f"{SUBJECT}{line.key}"
    row = NewHandoverCheck(found.shift.date, found.shift.pattern, key, "read")
    return book.write(found.person, [row], kind=PAGE_KIND)


def _since(book: Reader, plant: Plant, person: str, shift: Shift) -> datetime | None:
    """End of the shift in which they were here last, by sign-on; else by the roster."""
    events = book.access_events(person, shift.start - SOUGHT, shift.start - EARLY)
    last = next((event.at for event in reversed(events) if event.kind == "signed_on"), None)
    if last is not None:
        worked = shift_at(plant.calendar, last)
        if last >= worked.end - EARLY:  # signed on to take the next one over
            worked = shift_at(plant.calendar, worked.end)
        return worked.end
    own = next((one for one in plant.people if one.key == person), None)
    if own is None or own.crew is None or own.crew != shift.crew:
        return None
    away = away_before(plant.calendar, shift)
    return away.last.end if away.last else None


_Told = tuple[str, str, str, str]


def _lines(
    book: Reader, plant: Plant, missed: tuple[Shift, ...], start: datetime, end: datetime
) -> Iterator[_Told]:
    def when(at: datetime) -> str:
        return f"{to_local(at, plant.time_zone):%m-%d} {local_label(at, plant.time_zone)}"

    for state in book.safety_between(start, end):
        what = f"{state.kind.capitalize()}: {state.what}"
        told = f"since {when(state.at)}, open"
        if state.cleared_at is not None:
            told = f"since {when(state.at)}, cleared {when(state.cleared_at)}"
        yield f"safety:{state.id}:{len(state.events)}", "safety state", what, told
    for one in book.instructions_between(start, end):
        if one.valid_from >= start:
            told = f"{person_name(plant, one.person)}, {when(one.valid_from)}"
            yield f"instruction:{one.id}", "instruction", one.text, told
    for change in limit_changes(book, plant, start, end):
        told = (
            f"{person_name(plant, change.person)}, {when(change.effective_from)}: {change.reason}"
        )
        key = f"limits:{change.point.key}:{change.mode}:{change.effective_from:%Y%m%dT%H%M%S}"
        yield key, "limits", f"Limits changed: {point_name(plant, change.point)}", told
    for item in book.items(start, end):
        state_word = "open" if item.is_open else "closed"
        told = f"{when(item.at)}, {state_word}, {len(item.events)} entries on it"
        yield f"item:{item.id}:{len(item.events)}", "open item", item.text, told
    for shift in missed:
        yield _handover(book, plant, shift, end)


def _handover(book: Reader, plant: Plant, shift: Shift, now: datetime) -> _Told:
    state = signed_state(book, shift, now)
    title = f"{shift.name} of {shift.date.isoformat()}"
    if state.outgoing is None:
        told = "NOT HANDED OVER: nobody signed it"
    else:
        told = f"handed over by {person_name(plant, state.outgoing.person)}, "
        told += (
            f"taken over by {person_name(plant, state.incoming.person)}"
            if state.incoming
            else "NOT TAKEN OVER"
        )
        told += f", {len(state.changes)} changes since" if state.changes else ""
    return f"handover:{shift.date.isoformat()}:{shift.pattern}", "handover", title, told
