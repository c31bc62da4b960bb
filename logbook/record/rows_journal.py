"""Records of the shift's journal: open items, instructions, safety states, who signed on.

Instants are aware datetimes. Persons, areas and machines are named by their keys.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from logbook.record.links import Ref

CredentialKind = Literal["pin", "password"]
AccessKind = Literal["wrong", "locked", "signed_on", "signed_off", "changed"]
ItemEventKind = Literal["update", "close", "reopen"]
SafetyKind = Literal["bypass", "permit", "isolation", "override", "other"]
SafetyEventKind = Literal["clear", "extend"]


@dataclass(frozen=True, slots=True)
class NewCredential:
    """What a person proves with who they are: the hash of a PIN or password, never it itself."""

    person: str
    kind: CredentialKind
    hash: str


@dataclass(frozen=True, slots=True)
class NewAccess:
    """A person signed on or off, gave a wrong secret, was locked out, or changed the secret."""

    person: str
    at: datetime
    kind: AccessKind
    detail: str = ""


@dataclass(frozen=True, slots=True)
class NewOpenItem:
    """A matter carried from shift to shift until it is closed."""

    at: datetime
    text: str
    area: str | None = None
    equipment: str | None = None
    owner: str | None = None
    due_at: datetime | None = None
    reading: int | Ref | None = None
    entry: int | Ref | None = None


@dataclass(frozen=True, slots=True)
class NewItemEvent:
    """News of an open item, its closing (with what was done), or its opening again (with why)."""

    item: int | Ref
    at: datetime
    kind: ItemEventKind
    text: str


@dataclass(frozen=True, slots=True)
class NewInstruction:
    """A standing instruction to all crews; `valid_to` None: until it is ended."""

    valid_from: datetime
    valid_to: datetime | None
    text: str
    area: str | None = None


@dataclass(frozen=True, slots=True)
class NewInstructionEnd:
    """An instruction holds no longer from `at` on."""

    instruction: int | Ref
    at: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class NewAcknowledgement:
    """The person who writes has read and understood an instruction."""

    instruction: int | Ref
    at: datetime


@dataclass(frozen=True, slots=True)
class NewSafetyState:
    """Something that makes the plant less safe, or bars a machine, until it is cleared."""

    at: datetime
    kind: SafetyKind
    what: str
    area: str | None = None
    equipment: str | None = None
    authorised_by: str = ""
    until_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class NewSafetyEvent:
    """A safety state is cleared, or may last until another time."""

    state: int | Ref
    at: datetime
    kind: SafetyEventKind
    text: str
    until_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Credential:
    """A person's credential as written; the latest holds."""

    id: int
    page: int
    person: str
    kind: str
    hash: str
    written_by: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class AccessEvent:
    """Something about signing on, as written."""

    id: int
    page: int
    person: str
    at: datetime
    kind: str
    detail: str
    written_by: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class ItemEvent:
    """What happened to an open item."""

    id: int
    page: int
    item: int
    at: datetime
    kind: str
    text: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class OpenItem:
    """An open item as of the instant or span asked for.

    `events` are those up to then, in order of time; `is_open` and `closed_at` follow from them.
    """

    id: int
    page: int
    at: datetime
    text: str
    area: str | None
    equipment: str | None
    owner: str | None
    due_at: datetime | None
    reading: int | None
    entry: int | None
    person: str
    written_at: datetime
    events: tuple[ItemEvent, ...]
    is_open: bool
    closed_at: datetime | None


@dataclass(frozen=True, slots=True)
class Instruction:
    """A standing instruction, and who had acknowledged it by the instant asked for, and when."""

    id: int
    page: int
    valid_from: datetime
    valid_to: datetime | None
    text: str
    area: str | None
    person: str
    written_at: datetime
    ended_at: datetime | None
    end_reason: str
    acknowledged_by: Mapping[str, datetime]


@dataclass(frozen=True, slots=True)
class SafetyEvent:
    """A clearing or an extension as written."""

    id: int
    page: int
    state: int
    at: datetime
    kind: str
    text: str
    until_at: datetime | None
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class SafetyState:
    """A safety state as of the instant or span asked for.

    `until_at` is the latest granted, extensions counted; `first_until_at` that at the start.
    """

    id: int
    page: int
    at: datetime
    kind: str
    what: str
    area: str | None
    equipment: str | None
    authorised_by: str
    first_until_at: datetime | None
    person: str
    written_at: datetime
    until_at: datetime | None
    events: tuple[SafetyEvent, ...]
    is_open: bool
    cleared_at: datetime | None


@dataclass(frozen=True, slots=True)
class Found:
    """Something that a search has found.

    `kind`: entry, response, open item, item event, instruction, instruction end, safety state,
    safety event, downtime, sample, note (of a handover), question (of a handover) or page note.
    `id`: number of the row in the table of that kind.
    """

    kind: str
    id: int
    at: datetime
    area: str | None
    equipment: str | None
    person: str
    text: str
    page: int
