"""Records of a handover and a review: notes, checks, frozen documents, signatures, changes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from logbook.record.links import Ref

NotePart = Literal["remarks", "next_shift", "no_safety", "no_next"]
CheckAnswer = Literal["read", "asked", "accepted"]
DocumentKind = Literal["handover", "review"]
SignatureRole = Literal["outgoing", "incoming", "review"]


@dataclass(frozen=True, slots=True)
class NewHandoverNote:
    """What the crew adds to a part of its handover; the latest of a part holds.

    The parts `no_safety` and `no_next` say in so many words that there is nothing to tell.
    """

    shift_date: date
    shift_key: str
    part: NotePart
    text: str


@dataclass(frozen=True, slots=True)
class NewHandoverCheck:
    """The person who takes over has read a subject, asks about it (with words), or accepts it."""

    shift_date: date
    shift_key: str
    subject: str
    answer: CheckAnswer
    text: str = ""


@dataclass(frozen=True, slots=True)
class NewDocument:
    """A handover or review frozen: its facts as JSON and the printed form, each with a hash."""

    kind: DocumentKind
    shift_date: date
    shift_key: str
    snapshot: str
    pdf: bytes


@dataclass(frozen=True, slots=True)
class NewSignature:
    """The person who writes signs a shift in a role, for the content with `content_hash`.

    A shift is signed once per role, and nobody takes over from themselves.
    """

    shift_date: date
    shift_key: str
    role: SignatureRole
    at: datetime
    meaning: str
    document: int | Ref | None = None
    content_hash: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A part of a handover in the crew's own words."""

    id: int
    page: int
    shift_date: date
    shift_key: str
    part: str
    text: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class HandoverCheck:
    """An answer to one subject of a handover, as written."""

    id: int
    page: int
    shift_date: date
    shift_key: str
    subject: str
    answer: str
    text: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class DocumentHead:
    """A stored document without its content."""

    id: int
    page: int
    kind: str
    shift_date: date
    shift_key: str
    snapshot_sha256: str
    pdf_sha256: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Document:
    """A stored document: its facts as JSON text and the printed form."""

    head: DocumentHead
    snapshot: str
    pdf: bytes


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature: who, when, in which role, with which meaning, for which content."""

    id: int
    page: int
    shift_date: date
    shift_key: str
    role: str
    at: datetime
    meaning: str
    document: int | None
    content_hash: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Change:
    """A row that touches a span and was written after a page.

    `kind`: reading, response, entry, downtime, mode, sample, open item, item event, instruction,
    instruction end, safety state, safety event or limits. `how`: added, corrected or withdrawn.
    `subject`: the point of a reading, response or limits, the target of a downtime, otherwise
    empty. `old` and `new` are words; of numbers, as typed. `id` is the row in the table of its
    kind, `replaces` the row it stands in the place of.
    """

    kind: str
    id: int
    page: int
    at: datetime
    how: str
    subject: str
    old: str
    new: str
    why: str
    late: bool
    replaces: int | None
    person: str
    written_at: datetime
