"""What the shift that takes over must do, and by when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class DutyKind(StrEnum):
    """Where a duty of the next shift comes from."""

    SAFETY = "safety"
    """A safety state whose time runs out."""
    CHECK = "check"
    """A deviation that was answered: see at the next round whether it helped."""
    ANSWER = "answer"
    """A deviation that nobody has answered."""
    SAMPLE = "sample"
    """A sample whose result is waited for."""
    ITEM = "item"
    """An open item that is due."""
    READING = "reading"
    """What is read once a shift or once a day, or was left out."""
    INSTRUCTION = "instruction"
    """A standing instruction not yet read."""
    NOTE = "note"
    """What the crew has written for the next shift."""


@dataclass(frozen=True, slots=True)
class NextDuty:
    """One thing to do: a sentence, by when, and what it is about."""

    kind: DutyKind
    text: str
    due_at: datetime | None = None
    area: str | None = None
    equipment: str | None = None
    point: str | None = None
    person: str | None = None
    """Who has to do it, where it is not the whole crew."""
