"""What the handover's cards show: plain parts and lines."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.assess.limits import NOT_JUDGED, Judgement
from logbook.shift.subjects import Subject


@dataclass(frozen=True, slots=True)
class Line:
    """One matter: what is to be said, what it is about, when, how bad, and what belongs to it."""

    text: str
    head: str = ""
    when: str = ""
    judgement: Judgement = NOT_JUDGED
    tag: str = ""
    """A loud word, such as OPEN or OVERDUE."""
    details: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the handover under its heading."""

    title: str
    lines: tuple[Line, ...] = ()
    nothing: str = "None."
    """What stands there where there are no lines: a part is never left out."""
    number: int = 0
    """Its place in the fixed order; 0 for what stands before them."""
    is_loud: bool = False
    """True where it must not be overlooked."""


@dataclass(frozen=True, slots=True)
class ToRead:
    """A subject that the incoming person reads, and how it was answered."""

    subject: Subject
    answer: str = ""
    """Empty, or "read", "asked", "accepted"."""
    question: str = ""
    by: str = ""

    @property
    def is_settled(self) -> bool:
        """True once it was answered; a question settles it too, and stays on the record."""
        return bool(self.answer)
