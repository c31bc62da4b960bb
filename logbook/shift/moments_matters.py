"""Moments of what is carried on: open items, standing instructions, safety states."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from logbook.plant.model import Plant
from logbook.record import ItemEvent, OpenItem, Reader, SafetyEvent, SafetyState
from logbook.shift.moments import Moment, MomentKind, is_late
from logbook.shift.round_state import grace_of

ITEM_WORDS = {"update": "update", "close": "closed", "reopen": "opened again"}
Event = OpenItem | ItemEvent | SafetyState | SafetyEvent
SAFETY_WORDS = {"clear": "cleared", "extend": "extended"}


def item_moments(book: Reader, plant: Plant, start: datetime, end: datetime) -> Iterator[Moment]:
    """Open items that were opened, updated, closed or opened again."""
    for item in book.items(start, end):
        if start <= item.at < end:
            yield _moment(MomentKind.ITEM, item, item, item.text, "opened", plant)
        for event in item.events:
            if start <= event.at < end:
                told, note = f"{item.text}: {event.text}", ITEM_WORDS.get(event.kind, event.kind)
                yield _moment(MomentKind.ITEM, event, item, told, note, plant)


def safety_moments(book: Reader, plant: Plant, start: datetime, end: datetime) -> Iterator[Moment]:
    """Safety states that began, were extended or cleared."""
    for state in book.safety_between(start, end):
        if start <= state.at < end:
            by = f", authorised by {state.authorised_by}" if state.authorised_by else ""
            told = f"{state.what}{by}"
            yield _moment(MomentKind.SAFETY, state, state, told, state.kind, plant)
        for event in state.events:
            if start <= event.at < end:
                note = f"{state.kind} {SAFETY_WORDS.get(event.kind, event.kind)}"
                told = f"{state.what}: {event.text}" if event.text.strip() else state.what
                yield _moment(MomentKind.SAFETY, event, state, told, note, plant)


def instruction_moments(book: Reader, start: datetime, end: datetime) -> Iterator[Moment]:
    """Standing instructions that came into force or ceased to hold."""
    for one in book.instructions_between(start, end):
        changes = [(one.valid_from, "in force")]
        if one.ended_at is not None:
            changes.append((one.ended_at, "ended"))
        elif one.valid_to is not None:
            changes.append((one.valid_to, "ran out"))
        for at, note in changes:
            if start <= at < end:
                reason = f": {one.end_reason}" if note == "ended" and one.end_reason else ""
                yield Moment(
                    kind=MomentKind.INSTRUCTION,
                    at=at,
                    text=f"{one.text}{reason}",
                    note=note,
                    area=one.area,
                    person=one.person,
                    written_at=one.written_at,
                    row=one.id,
                )


def _moment(
    kind: MomentKind,
    event: Event,
    about: OpenItem | SafetyState,
    text: str,
    note: str,
    plant: Plant,
) -> Moment:
    return Moment(
        kind=kind,
        at=event.at,
        text=text,
        note=note,
        area=about.area,
        equipment=about.equipment,
        person=event.person,
        written_at=event.written_at,
        is_late=is_late(event.at, event.written_at, grace_of(plant)),
        row=event.id,
    )
