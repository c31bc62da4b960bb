"""What goes into the book and what comes out of it, as frozen records.

Instants are aware datetimes (the book keeps whole seconds of UTC). Points, areas and people
are named by their keys; rows of the book by their integer ids.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from logbook.plant.model import NORMAL_MODE, Limits
from logbook.record.links import Ref

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from logbook.record.rows_handover import (
        NewDocument,
        NewHandoverCheck,
        NewHandoverNote,
        NewSignature,
    )
    from logbook.record.rows_journal import (
        NewAccess,
        NewAcknowledgement,
        NewCredential,
        NewInstruction,
        NewInstructionEnd,
        NewItemEvent,
        NewOpenItem,
        NewSafetyEvent,
        NewSafetyState,
    )

Scope = Literal["plant", "area", "equipment"]
State = Literal["down", "up"]

NOT_SAMPLED = "not_sampled"
MACHINE_DOWN = "machine_down"
INSTRUMENT_FAULT = "instrument_fault"
NOT_SAFE = "not_safe"
MISSING_REASONS = (NOT_SAMPLED, MACHINE_DOWN, INSTRUMENT_FAULT, NOT_SAFE)
"""Reasons for a missing reading with a fixed key; free words are taken too."""


@dataclass(frozen=True, slots=True)
class NewReading:
    """A reading to write.

    It has exactly one of `value`, `text` (key of an answer, or words) and `reason` (why there is
    none). A correction names the row it `replaces` and `why`; with none of the three it withdraws
    that row. `typed` is what was typed, kept as it was.
    """

    point: str
    taken_at: datetime
    value: float | None = None
    text: str | None = None
    reason: str | None = None
    typed: str = ""
    round_at: datetime | None = None
    mode: str = NORMAL_MODE
    sample: int | Ref | None = None
    replaces: int | None = None
    why: str | None = None


@dataclass(frozen=True, slots=True)
class NewResponse:
    """What was done about a reading (its id, or a `Ref` to it in the same save)."""

    reading: int | Ref
    text: str
    at: datetime


@dataclass(frozen=True, slots=True)
class NewEntry:
    """A log entry. A correction names the entry it `replaces` and `why`; `text` None withdraws."""

    at: datetime
    text: str | None
    kind: str = "note"
    area: str | None = None
    equipment: str | None = None
    replaces: int | None = None
    why: str | None = None


@dataclass(frozen=True, slots=True)
class NewStatus:
    """The plant, an area or a machine goes down (with a reason) or comes up again."""

    scope: Scope
    target: str
    at: datetime
    state: State
    reason: str = ""


@dataclass(frozen=True, slots=True)
class NewModeChange:
    """The plant goes into an operating mode."""

    at: datetime
    mode: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class NewSample:
    """A sample was taken; its results are readings that name it."""

    taken_at: datetime
    sampling_point: str
    label: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class NewDefinition:
    """A revision of one definition; `body` is JSON, None withdraws it. Written by `revise`."""

    kind: str
    key: str
    effective_from: datetime
    reason: str
    body: str | None


@dataclass(frozen=True, slots=True)
class NewLimits:
    """A revision of a point's limits in a mode; None withdraws them. Written by `revise`."""

    point: str
    mode: str
    effective_from: datetime
    reason: str
    limits: Limits | None


@dataclass(frozen=True, slots=True)
class NewPoint:
    """The compact number of a point key is allotted. Written by `revise`."""

    key: str


# Whoever opens a book to write a round need not wait for the records of the journal.
if TYPE_CHECKING:
    NewRow = (
        NewReading
        | NewResponse
        | NewEntry
        | NewStatus
        | NewModeChange
        | NewSample
        | NewDefinition
        | NewLimits
        | NewPoint
        | NewCredential
        | NewAccess
        | NewOpenItem
        | NewItemEvent
        | NewInstruction
        | NewInstructionEnd
        | NewAcknowledgement
        | NewSafetyState
        | NewSafetyEvent
        | NewHandoverNote
        | NewHandoverCheck
        | NewDocument
        | NewSignature
    )
else:
    NewRow = object


@dataclass(frozen=True, slots=True)
class Page:
    """Rows to be written as one page by `write_many`."""

    person: str
    rows: Sequence[NewRow]
    kind: str = "round"
    note: str = ""


@dataclass(frozen=True, slots=True)
class SavedPage:
    """What a save has put into the book; `ids` in the order of the rows handed over."""

    page: int
    seal: str
    written_at: datetime
    ids: tuple[int, ...]
    counts: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    """Rows per table."""


class Reading(NamedTuple):
    """A reading as it stands in the book; missing where `reason` is set.

    A tuple, unlike the others: a screen is made of thousands, and a frozen dataclass takes four
    times as long to make.
    """

    id: int
    page: int
    point: str
    taken_at: datetime
    round_at: datetime | None
    value: float | None
    text: str | None
    typed: str
    reason: str | None
    mode: str
    late: bool
    sample: int | None
    replaces: int | None
    why: str | None
    person: str
    written_at: datetime

    @property
    def corrected(self) -> bool:
        """True where this row stands in the place of an earlier one."""
        return self.replaces is not None

    @property
    def withdrawn(self) -> bool:
        """True where this row only takes back an earlier one."""
        return self.value is None and self.text is None and self.reason is None


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one point in order of time, corrections applied.

    `taken_at`: int64[n], seconds UTC. `value`: float64[n], NaN where there is no number
    (a missing reading, or an answer in words). `id`: int64[n].
    """

    taken_at: NDArray[np.int64]
    value: NDArray[np.float64]
    id: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.taken_at)


@dataclass(frozen=True, slots=True)
class Lines:
    """Numbers of many points end to end, those of a point in order of time, corrections applied.

    Those of `keys[k]` stand at `edges[k]` up to `edges[k + 1]` (intp[points + 1]) of `taken_at`,
    int64[n], seconds UTC, and `value`, float64[n]. What is missing, or no number, is left out.
    """

    keys: tuple[str, ...]
    edges: NDArray[np.intp]
    taken_at: NDArray[np.int64]
    value: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.taken_at)


@dataclass(frozen=True, slots=True)
class Response:
    """What was done about a reading, by whom and when."""

    id: int
    page: int
    reading: int
    at: datetime
    text: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Entry:
    """A log entry as it stands in the book; `text` None where it was withdrawn."""

    id: int
    page: int
    at: datetime
    area: str | None
    equipment: str | None
    kind: str
    text: str | None
    replaces: int | None
    why: str | None
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Status:
    """A status change as written."""

    id: int
    page: int
    scope: str
    target: str
    at: datetime
    state: str
    reason: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Down:
    """A span in which the plant, an area or a machine was down; `end` None while it still is.

    The true start and end are given, also where they lie outside the span asked for.
    """

    scope: str
    target: str
    start: datetime
    end: datetime | None
    reason: str


@dataclass(frozen=True, slots=True)
class ModeChange:
    """The plant went into a mode."""

    id: int
    page: int
    at: datetime
    mode: str
    reason: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample as written."""

    id: int
    page: int
    taken_at: datetime
    sampling_point: str
    label: str
    note: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class LimitRow:
    """Limits of a point in a mode from an instant on.

    `limits` None: from here on the mode has none of its own and those of the normal mode hold.
    """

    point: str
    mode: str
    effective_from: datetime
    limits: Limits | None


@dataclass(frozen=True, slots=True)
class PageHead:
    """Head of a page: who wrote what kind of rows when, and its seal."""

    id: int
    seat: str
    person: str
    written_at: datetime
    kind: str
    note: str
    row_count: int
    seal: str


@dataclass(frozen=True, slots=True)
class Revision:
    """One revision of a definition or a limit set, for the history of a change."""

    page: int
    kind: str
    key: str
    mode: str | None
    effective_from: datetime
    withdrawn: bool
    reason: str
    person: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class DraftField:
    """A half-typed field of a round.

    `reason` says why there is no reading; `confirmed` that an implausible value is meant.
    """

    point: str
    typed: str
    response: str = ""
    reason: str = ""
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class DraftHead:
    """A half-typed round: which one, when it is taken, in which mode, by whom, and its note."""

    round_at: datetime
    taken_at: datetime
    mode: str
    person: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """A half-typed round with its fields by point key."""

    head: DraftHead
    fields: Mapping[str, DraftField]
    touched_at: datetime


def corrected(
    old: Reading,
    *,
    why: str,
    value: float | None = None,
    text: str | None = None,
    reason: str | None = None,
    typed: str = "",
    taken_at: datetime | None = None,
) -> NewReading:
    """A correction of `old` that keeps its round, mode and sample; with no value it withdraws."""
    return NewReading(
        point=old.point,
        taken_at=old.taken_at if taken_at is None else taken_at,
        value=value,
        text=text,
        reason=reason,
        typed=typed,
        round_at=old.round_at,
        mode=old.mode,
        sample=old.sample,
        replaces=old.id,
        why=why,
    )
