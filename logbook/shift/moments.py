"""What happened in a shift, as one line of moments: their kinds, their order, choosing among them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum


class MomentKind(StrEnum):
    """What a moment is about; the order is that of moments of the same instant."""

    SAFETY = "safety state"
    DOWN = "down"
    UP = "up again"
    MODE = "operating mode"
    INSTRUCTION = "standing instruction"
    ITEM = "open item"
    ENTRY = "log entry"
    RESPONSE = "response"
    SAMPLE = "sample"
    RESULT = "result"
    CORRECTION = "correction"


_PLACE = {kind: place for place, kind in enumerate(MomentKind)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One thing that happened, was written, or began or ended to hold."""

    kind: MomentKind
    at: datetime
    text: str
    """In one sentence or in the crew's own words."""
    note: str = ""
    """What kind of it: of an entry "quality", of an item "closed", of a safety state "cleared"."""
    area: str | None = None
    equipment: str | None = None
    person: str
    written_at: datetime
    is_late: bool = False
    """True where it was written longer after it happened than the plant's grace time."""
    was: str = ""
    """What stood there before a correction."""
    why: str = ""
    """Why it was corrected."""
    row: int
    """Id of the row of the book it comes from, in the table of its kind."""

    @property
    def is_corrected(self) -> bool:
        """True where it stands in the place of something else."""
        return bool(self.was or self.why)


def in_order(moments: Iterable[Moment]) -> tuple[Moment, ...]:
    """By when they happened; of the same instant by kind, then as they were written."""
    return tuple(sorted(moments, key=lambda m: (m.at, _PLACE[m.kind], m.written_at, m.row)))


def chosen(
    moments: Iterable[Moment],
    *,
    kinds: Collection[MomentKind] | None = None,
    area: str | None = None,
    person: str | None = None,
) -> tuple[Moment, ...]:
    """Those of some kinds, of an area (or of the whole plant), of a person; None: of all."""
    return tuple(
        one
        for one in moments
        if (kinds is None or one.kind in kinds)
        and (area is None or one.area in {area, None})
        and (person is None or one.person == person)
    )


def is_late(at: datetime, written_at: datetime, grace: timedelta) -> bool:
    """True where more than the grace time lies between."""
    return written_at - at > grace
