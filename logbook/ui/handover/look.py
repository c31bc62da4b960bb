"""What the Handover screen reads of a shift in one go, beside the window or in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from logbook.plant.calendar import previous_shift, shift_at
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Book, SafetyState
from logbook.shift.away import EARLY
from logbook.shift.json_words import Json
from logbook.shift.plants import PlantHistory
from logbook.shift.risks import Risk
from logbook.shift.risks_people import meeting_risks
from logbook.shift.signed_state import HandoverStatus, SignedState, signed_state
from logbook.shift.signing import (
    Prepared,
    prepare,
    signed_content,
    subjects_to_read,
)
from logbook.shift.subjects import Subject


@dataclass(frozen=True, slots=True)
class HandoverSeen:
    """A shift's handover as it stood when the book was looked at."""

    shift: Shift
    plant: Plant
    state: SignedState
    prepared: Prepared | None
    """Composed now; None where the outgoing crew has signed."""
    content: Json
    """What is shown: composed now, or what was signed."""
    subjects: tuple[Subject, ...]
    safety_now: tuple[SafetyState, ...]
    """The safety states that the signed content shows open, as they are by now."""
    last_page: int
    meeting: tuple[Risk, ...] = ()
    """How the two who signed met: late, without an overlap."""


def look(book: Book, plants: PlantHistory, shift: Shift | None = None) -> HandoverSeen:
    """Compose the handover of a shift (None: the one in hand), or read what was signed.

    Raises BookError.
    """
    plants.refresh()
    shift = shift or shift_in_hand(book, plants)
    now, last = book.now(), book.last_page().id
    plant = plants.at(min(shift.end, now))
    state = signed_state(book, shift, now)
    prepared = prepare(book, shift, now) if state.outgoing is None else None
    if prepared is not None:
        content = prepared.content
    else:
        assert state.outgoing is not None
        content = signed_content(book, state.outgoing)
    subjects = subjects_to_read(book, shift, now)
    shown = [book.safety_state(number) for number in safety_ids(content)]
    meeting = meeting_risks(book, plant, state)
    return HandoverSeen(
        shift, plant, state, prepared, content, subjects, tuple(shown), last, meeting
    )


def safety_ids(content: Json) -> list[int]:
    """Numbers of the safety states that a handover's content shows open."""
    return [int(one["id"]) for one in cast("list[dict[str, int]]", content["safety"])]


def shift_in_hand(book: Book, plants: PlantHistory) -> Shift:
    """The running shift near its end or where the one before was taken over; else that."""
    now = book.now()
    calendar = plants.at(now).calendar
    current = shift_at(calendar, now)
    before = previous_shift(calendar, current)
    if now >= current.end - EARLY or before.end <= book.created_at:
        return current
    taken = signed_state(book, before, now).status is HandoverStatus.ACCEPTED
    return current if taken else before
