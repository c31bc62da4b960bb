"""Rows of the journal and the handover, as SQLite gives them, to the records that callers see."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from logbook.record.instants import from_milliseconds, from_seconds, optional_instant
from logbook.record.rows_handover import (
    Change,
    DocumentHead,
    HandoverCheck,
    Note,
    Signature,
)
from logbook.record.rows_journal import (
    AccessEvent,
    Credential,
    Found,
    Instruction,
    ItemEvent,
    OpenItem,
    SafetyEvent,
    SafetyState,
)
from logbook.record.unpack import Row


def credential(row: Row) -> Credential:
    """A row of the credential query."""
    return Credential(*(*row[:6], from_milliseconds(row[6])))


def access(row: Row) -> AccessEvent:
    """A row of the access query."""
    return AccessEvent(*(*row[:3], from_seconds(row[3]), *row[4:7], from_milliseconds(row[7])))


def item_event(row: Row) -> ItemEvent:
    """A row of the query for events of open items."""
    return ItemEvent(*(*row[:3], from_seconds(row[3]), *row[4:7], from_milliseconds(row[7])))


def item(row: Row, events: tuple[ItemEvent, ...]) -> OpenItem:
    """A row of the query for open items, with its events in order."""
    at, due, written = from_seconds(row[2]), optional_instant(row[7]), from_milliseconds(row[11])
    turns = [event for event in events if event.kind != "update"]
    closed = turns[-1].at if turns and turns[-1].kind == "close" else None
    head = (*row[:2], at, *row[3:7], due, *row[8:11], written)
    return OpenItem(*(*head, events, closed is None, closed))


def instruction(row: Row, read: Mapping[str, int]) -> Instruction:
    """A row of the query for instructions, with the instants at which people acknowledged it."""
    valid = from_seconds(row[2]), optional_instant(row[3])
    written, ended, reason = from_milliseconds(row[7]), optional_instant(row[8]), row[9] or ""
    by = MappingProxyType({person: from_seconds(at) for person, at in read.items()})
    return Instruction(*(*row[:2], *valid, *row[4:7], written, ended, reason, by))


def safety_event(row: Row) -> SafetyEvent:
    """A row of the query for events of safety states."""
    at, until = from_seconds(row[3]), optional_instant(row[6])
    return SafetyEvent(*(*row[:3], at, *row[4:6], until, row[7], from_milliseconds(row[8])))


def safety_state(row: Row, events: tuple[SafetyEvent, ...]) -> SafetyState:
    """A row of the query for safety states, with its events in order."""
    at, first, written = from_seconds(row[2]), optional_instant(row[8]), from_milliseconds(row[10])
    extended = [event.until_at for event in events if event.kind == "extend"]
    cleared = next((event.at for event in events if event.kind == "clear"), None)
    until = extended[-1] if extended else first
    head = (*row[:2], at, *row[3:8], first, row[9], written)
    return SafetyState(*(*head, until, events, cleared is None, cleared))


def note(row: Row) -> Note:
    """A row of the query for notes of a handover."""
    return Note(*(*row[:2], date.fromisoformat(row[2]), *row[3:7], from_milliseconds(row[7])))


def check(row: Row) -> HandoverCheck:
    """A row of the query for checks of a handover."""
    on, written = date.fromisoformat(row[2]), from_milliseconds(row[8])
    return HandoverCheck(*(*row[:2], on, *row[3:8], written))


def document_head(row: Row) -> DocumentHead:
    """A row of the query for documents."""
    on, written = date.fromisoformat(row[3]), from_milliseconds(row[8])
    return DocumentHead(*(*row[:3], on, *row[4:8], written))


def signature(row: Row) -> Signature:
    """A row of the query for signatures."""
    on, at, written = date.fromisoformat(row[2]), from_seconds(row[5]), from_milliseconds(row[10])
    return Signature(*(*row[:2], on, *row[3:5], at, *row[6:10], written))


def found(row: Row) -> Found:
    """A row of the search: kind, id, at, area, equipment, person, text, page."""
    return Found(*(*row[:2], from_seconds(row[2]), *row[3:8]))


def change(row: Row) -> Change:
    """A row of the query for changes, in the order of the fields of `Change`."""
    at, late, written = from_seconds(row[3]), bool(row[9]), from_milliseconds(row[12])
    return Change(*(*row[:3], at, *row[4:9], late, *row[10:12], written))
