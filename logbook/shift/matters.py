"""What is carried from shift to shift until it is done: safety states, items, instructions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import next_shift
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Instruction, Note, OpenItem, Reader, SafetyState

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class InstructionRead:
    """A standing instruction and who of the crew that takes over has not read it yet."""

    instruction: Instruction
    unread: tuple[str, ...]
    """Keys of people of that crew, in the plant's order."""


@dataclass(frozen=True, slots=True)
class Matters:
    """What a shift hands on, and what of it was ended in the shift."""

    safety: tuple[SafetyState, ...]
    safety_cleared: tuple[SafetyState, ...]
    items: tuple[OpenItem, ...]
    items_closed: tuple[OpenItem, ...]
    instructions: tuple[InstructionRead, ...]
    notes: Mapping[str, Note]


def matters_of(book: Reader, plant: Plant, shift: Shift, now: datetime) -> Matters:
    """Open at the end of the shift, or `now` while it runs. Raises BookError."""
    end = min(shift.end, now + MOMENT)
    last = end - MOMENT
    cleared = [s for s in book.safety_between(shift.start, end) if not s.is_open]
    closed = [item for item in book.items(shift.start, end) if not item.is_open]
    following = next_shift(plant.calendar, shift)
    notes = book.handover_notes(shift.date, shift.pattern)
    return Matters(
        safety=tuple(book.safety_states(last)),
        safety_cleared=tuple(cleared),
        items=tuple(book.open_items(last)),
        items_closed=tuple(closed),
        instructions=tuple(
            InstructionRead(one, _unread(plant, one, following.crew))
            for one in book.instructions(last)
        ),
        notes={part: note for part, note in notes.items() if note.text.strip()},
    )


def _unread(plant: Plant, instruction: Instruction, crew: str | None) -> tuple[str, ...]:
    people = [person.key for person in plant.people if crew is not None and person.crew == crew]
    return tuple(key for key in people if key not in instruction.acknowledged_by)
