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
from logbook.record.instants import EPOCH
from logbook.shift.away import EARLY, SOUGHT
from logbook.shift.limit_changes import limit_changes
from logbook.shift.signed_state import SignedState, signed_state
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
    """End of the last shift in which they signed on; None: they were not away, or never here."""
    shifts: tuple[Shift, ...]
    lines: tuple[Missed, ...]

    @property
    def unread(self) -> tuple[Missed, ...]:
        """What is not confirmed yet."""
        return tuple(line for line in self.lines if not line.is_read)


def catch_up(book: Book, plant: Plant, person: str, now: datetime) -> CatchUp:
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


def _since(book: Book, plant: Plant, person: str, shift: Shift) -> datetime | None:
    """End of the shift in which they signed on last; None where they never did.

    Nobody has missed what was before the book, and no more than 60 days are told.
    """
    events = book.access_events(person, EPOCH, shift.start - EARLY)
    last = next((event.at for event in reversed(events) if event.kind == "signed_on"), None)
    if last is None:
        return None
    worked = shift_at(plant.calendar, last)
    if last >= worked.end - EARLY:  # signed on to take the next one over
        worked = shift_at(plant.calendar, worked.end)
    return max(worked.end, shift.start - SOUGHT)


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
    # The last one is the handover that they take over now, and read there.
    states = [signed_state(book, shift, end) for shift in missed[:-1]]
    yield from (_handover(plant, state) for state in states if state.outgoing is not None)
    unsigned = [_shift_words(state.shift) for state in states if state.outgoing is None]
    if unsigned:
        key = f"handover:none:{len(unsigned)}"
        yield key, "handover", f"Nobody signed {len(unsigned)} shifts", ", ".join(unsigned)


def _handover(plant: Plant, state: SignedState) -> _Told:
    assert state.outgoing is not None
    told = f"handed over by {person_name(plant, state.outgoing.person)}, "
    told += (
        f"taken over by {person_name(plant, state.incoming.person)}"
        if state.incoming
        else "NOT TAKEN OVER"
    )
    told += f", {len(state.changes)} changes since" if state.changes else ""
    shift = state.shift
    key = f"handover:{shift.date.isoformat()}:{shift.pattern}:{len(state.changes)}"
    return key, "handover", _shift_words(shift), told


def _shift_words(shift: Shift) -> str:
    return f"{shift.name} of {shift.date.isoformat()}"
