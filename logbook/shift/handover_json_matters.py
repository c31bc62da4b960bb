"""What is carried from shift to shift, and what the crew adds, as plain data."""

from __future__ import annotations

from datetime import datetime, timedelta

from logbook.record import Note, OpenItem, SafetyState
from logbook.shift.json_words import Json, JsonWords
from logbook.shift.matters import InstructionRead

HOUR = timedelta(hours=1)
PARTS = ("remarks", "next_shift", "no_safety", "no_next")


def safety(words: JsonWords, one: SafetyState, until: datetime) -> Json:
    """A safety state, how long it may last, and what happened to it."""
    return {
        "id": one.id,
        "kind": one.kind,
        "what": one.what,
        "place": words.place(one.area, one.equipment),
        "authorised_by": one.authorised_by,
        "at": words.when(one.at),
        "until_at": words.when(one.until_at),
        "expired": one.until_at is not None and one.until_at < until,
        "cleared_at": words.when(one.cleared_at),
        "person": words.person(one.person),
        "events": [
            {
                "at": words.when(event.at),
                "kind": event.kind,
                "text": event.text,
                "until_at": words.when(event.until_at),
                "person": words.person(event.person),
            }
            for event in one.events
        ],
    }


def item(words: JsonWords, one: OpenItem, until: datetime) -> Json:
    """An open item with its age, its owner and what happened to it."""
    return {
        "id": one.id,
        "at": words.when(one.at),
        "text": one.text,
        "place": words.place(one.area, one.equipment),
        "owner": words.person(one.owner) if one.owner else None,
        "due_at": words.when(one.due_at),
        "overdue": one.due_at is not None and one.due_at < until,
        "age_hours": (until - one.at) / HOUR,
        "closed_at": words.when(one.closed_at),
        "person": words.person(one.person),
        "events": [
            {
                "at": words.when(event.at),
                "kind": event.kind,
                "text": event.text,
                "person": words.person(event.person),
            }
            for event in one.events
        ],
    }


def instruction(words: JsonWords, one: InstructionRead) -> Json:
    """A standing instruction and who of the next crew has not read it."""
    told = one.instruction
    return {
        "id": told.id,
        "text": told.text,
        "place": words.place(told.area, None),
        "valid_from": words.when(told.valid_from),
        "valid_to": words.when(told.valid_to),
        "person": words.person(told.person),
        "unread": [words.person(key) for key in one.unread],
    }


def note(words: JsonWords, one: Note | None) -> Json | None:
    """What the crew has added to a part; None where it has not."""
    if one is None:
        return None
    return {
        "text": one.text,
        "person": words.person(one.person),
        "at": words.when(one.written_at),
    }
