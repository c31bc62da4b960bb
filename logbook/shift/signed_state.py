"""How the handover of a shift stands: who has signed what, what was asked, what changed since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from logbook.plant.roster import Shift
from logbook.record import Change, HandoverCheck, Reader, Signature
from logbook.shift.subjects import is_of_handover

OUTGOING: Final = "outgoing"
INCOMING: Final = "incoming"
REVIEW: Final = "review"
ACCEPT_WITHIN = timedelta(minutes=30)
"""A handover that nobody has taken over so long after its shift is overdue. Our own choice."""


MOMENT = timedelta(seconds=1)


class HandoverStatus(StrEnum):
    """How far a handover is. Responsibility passes only when it is accepted."""

    NOT_SIGNED = "NOT SIGNED"
    NOT_ACCEPTED = "NOT ACCEPTED"
    ACCEPTED = "accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedState:
    """The signatures of a shift and what belongs to them."""

    shift: Shift
    outgoing: Signature | None
    incoming: Signature | None
    review: Signature | None
    checks: tuple[HandoverCheck, ...]
    """All answers to subjects, in the order in which they were given."""
    changes: tuple[Change, ...]
    """What touches the shift, or what it hands on, and was written after it was signed."""
    seen_at: datetime

    @property
    def status(self) -> HandoverStatus:
        """How far the handover is."""
        if self.outgoing is None:
            return HandoverStatus.NOT_SIGNED
        return HandoverStatus.ACCEPTED if self.incoming else HandoverStatus.NOT_ACCEPTED

    @property
    def is_overdue(self) -> bool:
        """True where it should have been accepted by now."""
        late = self.seen_at > self.shift.end + ACCEPT_WITHIN
        return late and self.status is not HandoverStatus.ACCEPTED

    @property
    def in_charge(self) -> str:
        """Which side answers for the plant: "outgoing" until the other has accepted."""
        return INCOMING if self.incoming else OUTGOING

    @property
    def begun_at(self) -> datetime | None:
        """When the outgoing crew had prepared it and signed."""
        return self.outgoing.at if self.outgoing else None

    @property
    def duration(self) -> timedelta | None:
        """From the outgoing signature to the incoming one."""
        if self.outgoing is None or self.incoming is None:
            return None
        return self.incoming.at - self.outgoing.at

    @property
    def lateness(self) -> timedelta | None:
        """How long after the end of the shift it was accepted; negative: before it."""
        return self.incoming.at - self.shift.end if self.incoming else None

    @property
    def questions(self) -> tuple[HandoverCheck, ...]:
        """Subjects whose last answer is a question."""
        last = {check.subject: check for check in self.checks}
        return tuple(check for check in last.values() if check.answer == "asked")


def signed_state(book: Reader, shift: Shift, now: datetime) -> SignedState:
    """Read how the handover of a shift stands. Raises BookError."""
    by_role = {s.role: s for s in book.signatures(shift.date, shift.pattern)}
    outgoing = by_role.get(OUTGOING)
    incoming = by_role.get(INCOMING)
    changes = _changes(book, shift, outgoing, incoming.at if incoming else now + MOMENT)
    return SignedState(
        shift=shift,
        outgoing=outgoing,
        incoming=incoming,
        review=by_role.get(REVIEW),
        checks=tuple(filter(is_of_handover, book.handover_checks(shift.date, shift.pattern))),
        changes=tuple(changes),
        seen_at=now,
    )


def _changes(
    book: Reader, shift: Shift, outgoing: Signature | None, taken_over: datetime
) -> list[Change]:
    """What touches the shift, and until it was taken over, what happened to what it hands on."""
    if outgoing is None:
        return []
    touched = book.changed_since(outgoing.page, shift.start, shift.end)
    followed = book.followed_since(outgoing.page, shift.end, taken_over)
    return sorted([*touched, *followed], key=lambda change: (change.written_at, change.page))
