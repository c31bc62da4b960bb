"""A sample of past handovers with a sheet to score them: what the record shows, what to observe.

Published guidance asks for auditing handovers (Buncefield Standards Task Group, final report 2007,
shift handover; HSE case study, Enhancing safe communications at shift handover). What is in the
record is scored by itself; how people behave is not in any record and is left to whoever observes.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import cast

from logbook.plant.calendar import shifts_between
from logbook.plant.roster import Shift
from logbook.record import Book
from logbook.shift.json_words import Json
from logbook.shift.plants import PlantHistory
from logbook.shift.signed_state import ACCEPT_WITHIN, SignedState, signed_state
from logbook.shift.signing import signed_content
from logbook.shift.subjects import subjects_of, unanswered

OBSERVED = (
    "Face to face, both at the screens, without interruption",
    "Incoming asked, outgoing answered; what was said back was right",
    "Panel and field walked through together where something is abnormal",
    "Enough time for both, within paid time",
)
"""What only somebody who is there can score. Common practice, no source for the wording."""


@dataclass(frozen=True, slots=True)
class Score:
    """One line of the sheet: what is asked, whether the record shows it, and what it shows."""

    what: str
    is_met: bool
    shown: str


@dataclass(frozen=True, slots=True)
class AuditSheet:
    """One handover of the sample."""

    shift: Shift
    scores: tuple[Score, ...]

    @property
    def met(self) -> int:
        """How many lines the record shows as met."""
        return sum(score.is_met for score in self.scores)


def audit_sample(
    book: Book, start: datetime, end: datetime, count: int, seed: int
) -> tuple[AuditSheet, ...]:
    """Sheets for `count` shifts drawn by lot from those that ended in [start, end).

    The same seed draws the same shifts, so that the draw can be shown to be one. Raises BookError.
    """
    calendar = book.plant_at(book.now()).calendar
    first = max(start, book.created_at)
    shifts = [s for s in shifts_between(calendar, first, end) if first <= s.start and s.end <= end]
    drawn = random.Random(seed).sample(shifts, min(count, len(shifts)))  # noqa: S311 -- no secret
    plants = PlantHistory(book)
    return tuple(
        AuditSheet(shift, _scores(book, plants, signed_state(book, shift, book.now())))
        for shift in sorted(drawn, key=lambda one: one.start)
    )


def _scores(book: Book, plants: PlantHistory, state: SignedState) -> tuple[Score, ...]:
    plants.refresh()
    signed = (
        Score("Outgoing signed", state.outgoing is not None, _signer(state.outgoing)),
        Score("Incoming took over", state.incoming is not None, _signer(state.incoming)),
    )
    if state.outgoing is None:
        return signed
    content = signed_content(book, state.outgoing)
    return (*signed, _in_time(state), _read(state, content), *_told(content), _settled(state))


def _signer(signature: object) -> str:
    return str(getattr(signature, "person", "nobody"))


def _in_time(state: SignedState) -> Score:
    late = state.lateness
    shown = "never" if late is None else f"{late / timedelta(minutes=1):.0f} min after the end"
    return Score("Taken over in time", late is not None and late <= ACCEPT_WITHIN, shown)


def _read(state: SignedState, content: Json) -> Score:
    subjects = subjects_of(content)
    by = state.incoming.person if state.incoming else ""
    left = len(unanswered(subjects, state.checks, by)) if by else len(subjects)
    shown = f"{len(subjects) - left} of {len(subjects)}, {len(state.questions)} asked about"
    return Score("Each matter read one by one", not left, shown)


def _told(content: Json) -> tuple[Score, ...]:
    notes = cast("Mapping[str, Mapping[str, object] | None]", content["notes"])
    ahead = notes.get("next_shift")
    is_quiet = notes.get("no_next") is not None
    opened = [
        one
        for one in cast("Sequence[Mapping[str, object]]", content["open_deviations"])
        if one["severity"] == "action" and not one["follows"]
    ]
    answered = sum(bool(one["responses"]) for one in opened)
    words = str(ahead["text"]) if ahead else ("nothing, said so" if is_quiet else "left out")
    return (
        Score("Looks ahead", ahead is not None or is_quiet, words),
        Score(
            "Each open action deviation has a response",
            answered == len(opened),
            f"{answered} of {len(opened)}",
        ),
    )


def _settled(state: SignedState) -> Score:
    count = len(state.changes)
    return Score("Nothing had to be put right after signing", not count, f"{count} changes")
