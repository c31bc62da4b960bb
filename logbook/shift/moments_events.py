"""Moments of log entries, of what went down and came back, and of changes of the mode."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from logbook.plant.model import Plant
from logbook.record import Reader
from logbook.shift.moments import Moment, MomentKind, is_late
from logbook.shift.round_state import grace_of


def entry_moments(book: Reader, plant: Plant, start: datetime, end: datetime) -> Iterator[Moment]:
    """Log entries as they stand, a corrected one with what it said before."""
    grace = grace_of(plant)
    for entry in book.entries(start, end):
        before = book.history_of_entry(entry.id)[-2:-1] if entry.replaces is not None else []
        first = book.history_of_entry(entry.id)[0] if before else entry
        yield Moment(
            kind=MomentKind.ENTRY,
            at=entry.at,
            text=entry.text or "",
            note=entry.kind,
            area=entry.area,
            equipment=entry.equipment,
            person=entry.person,
            written_at=entry.written_at,
            is_late=is_late(first.at, first.written_at, grace),
            was=(before[0].text or "") if before else "",
            why=entry.why or "",
            row=entry.id,
        )


def status_moments(book: Reader, plant: Plant, start: datetime, end: datetime) -> Iterator[Moment]:
    """What was written as going down or coming back."""
    grace, areas = grace_of(plant), {e.key: e.area for e in plant.equipment}
    for status in book.statuses(start, end):
        machine = status.target if status.scope == "equipment" else None
        area = areas.get(status.target) if machine else status.target or None
        name = target_name(plant, status.scope, status.target)
        is_down = status.state == "down"
        yield Moment(
            kind=MomentKind.DOWN if is_down else MomentKind.UP,
            at=status.at,
            text=f"{name} {'down' if is_down else 'up again'}{_because(status.reason)}",
            area=None if status.scope == "plant" else area,
            equipment=machine,
            person=status.person,
            written_at=status.written_at,
            is_late=is_late(status.at, status.written_at, grace),
            row=status.id,
        )


def mode_moments(book: Reader, plant: Plant, start: datetime, end: datetime) -> Iterator[Moment]:
    """Changes of the operating mode."""
    names = {mode.key: mode.name for mode in plant.modes}
    for change in book.modes(start, end):
        if change.at < start:
            continue
        yield Moment(
            kind=MomentKind.MODE,
            at=change.at,
            text=f"Mode {names.get(change.mode, change.mode)}{_because(change.reason)}",
            note=change.mode,
            person=change.person,
            written_at=change.written_at,
            is_late=is_late(change.at, change.written_at, grace_of(plant)),
            row=change.id,
        )


def target_name(plant: Plant, scope: str, target: str) -> str:
    """Name of what a status is about; its key where the plant no longer has it."""
    if scope == "plant":
        return plant.name
    named = plant.areas if scope == "area" else plant.equipment
    return next((one.name for one in named if one.key == target), target)


def _because(reason: str) -> str:
    return f": {reason}" if reason.strip() else ""
