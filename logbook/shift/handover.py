"""The handover of a shift, put together from its own events and readings.

Parts stand in a fixed order: safety states, open deviations, deviations closed, equipment not
available, rounds and readings missed, downtime and what it lost, throughput, lab results and
waiting samples, tank levels, open items, changed limits, corrections and late entries, and what
the next shift must do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import next_shift
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Book, Entry, Note, OpenItem, PageHead, Reader, SafetyState
from logbook.shift.answers import AnswerFound
from logbook.shift.away import Away, away_before
from logbook.shift.doubts import DoubtFound
from logbook.shift.exceptions import (
    CorrectionFound,
    DeviationFound,
    LateFound,
    ShiftExceptions,
    exceptions_of,
)
from logbook.shift.gaps import GapFound
from logbook.shift.lab_results import LabWork, lab_work
from logbook.shift.limit_changes import LimitChange, limit_changes
from logbook.shift.lost_time import LostTime, lost_time_of
from logbook.shift.matters import InstructionRead, matters_of
from logbook.shift.next_duties import NextDuty, next_duties
from logbook.shift.repeats import repeats_before
from logbook.shift.risks import Risk, risks_of
from logbook.shift.risks_people import people_risks
from logbook.shift.round_state import RoundStatus
from logbook.shift.stops import StopFound
from logbook.shift.tank_levels import TankLevel, tank_levels
from logbook.shift.throughput import Throughput, throughput_of

MOMENT = timedelta(seconds=1)
NOT_WORK = frozenset({"access", "definition"})
"""Kinds of pages that do not make somebody one of those who worked the shift."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Handover:
    """Everything that one crew hands to the next; see the module for the order of its parts."""

    exceptions: ShiftExceptions
    shift: Shift
    next_shift: Shift
    composed_at: datetime
    until: datetime
    """Up to where it looks: the end of the shift, or `composed_at` while it runs."""
    mode: str
    """Key of the operating mode at `until`."""
    people: tuple[str, ...]
    """Keys of those who wrote in the book in this shift, in order of their first save."""
    away: Away
    """Since when the crew that takes over was not here."""
    risks: tuple[Risk, ...]
    safety: tuple[SafetyState, ...]
    """Open at `until`, the oldest first."""
    safety_cleared: tuple[SafetyState, ...]
    """Cleared in this shift."""
    open_deviations: tuple[DeviationFound, ...]
    open_answers: tuple[AnswerFound, ...]
    closed_deviations: tuple[DeviationFound, ...]
    closed_answers: tuple[AnswerFound, ...]
    repeats: Mapping[str, int]
    """By point that was out in this shift: how often it was out in the week before."""
    lost_time: LostTime
    throughput: Throughput | None
    lab: LabWork
    tanks: tuple[TankLevel, ...]
    items: tuple[OpenItem, ...]
    """Open at `until`, the oldest first."""
    items_closed: tuple[OpenItem, ...]
    """Closed in this shift."""
    instructions: tuple[InstructionRead, ...]
    notes: Mapping[str, Note]
    """What the crew adds, by part, see `NewHandoverNote`."""
    limit_changes: tuple[LimitChange, ...]
    entries: tuple[Entry, ...]
    next_duties: tuple[NextDuty, ...]

    @property
    def plant(self) -> Plant:
        """As defined at the end of the shift."""
        return self.exceptions.plant

    @property
    def not_available(self) -> tuple[StopFound, ...]:
        """What still stands: the plant, areas and machines."""
        stops = self.exceptions.stops
        return tuple(s for s in stops if s.scope != "mode" and s.end is None)

    @property
    def mode_changes(self) -> tuple[StopFound, ...]:
        """Changes of the operating mode in the shift."""
        return tuple(stop for stop in self.exceptions.stops if stop.scope == "mode")

    @property
    def rounds(self) -> tuple[RoundStatus, ...]:
        """How far each round of the shift was done."""
        return self.exceptions.rounds

    @property
    def gaps(self) -> tuple[GapFound, ...]:
        """Readings that were due and not taken."""
        return self.exceptions.gaps

    @property
    def corrections(self) -> tuple[CorrectionFound, ...]:
        """Corrected and withdrawn readings."""
        return self.exceptions.corrections

    @property
    def late(self) -> tuple[LateFound, ...]:
        """Readings that were entered late."""
        return self.exceptions.late

    @property
    def doubts(self) -> tuple[DoubtFound, ...]:
        """Readings that were questioned and kept."""
        return self.exceptions.doubts

    @property
    def reading_count(self) -> int:
        """Readings of the shift."""
        return self.exceptions.reading_count


def compose(book: Book, shift: Shift, now: datetime) -> Handover:
    """Put a shift's handover together, up to `now` where it is still running.

    Raises BookError where the book cannot be read.
    """
    found = exceptions_of(book, shift, now)
    matters = matters_of(book, found.plant, shift, now)
    plant, start = found.plant, shift.start
    until = min(shift.end, now)
    end = min(shift.end, now + MOMENT)
    following = next_shift(plant.calendar, shift)
    mode = book.mode_at(end - MOMENT)
    throughput = throughput_of(book, plant, start, end, now, mode)
    lab = lab_work(book, plant, start, end)
    away = away_before(plant.calendar, following)
    opened = [d for d in found.deviations if d.is_open]
    answers = _last_answers(book, found, end)
    return Handover(
        exceptions=found,
        shift=shift,
        next_shift=following,
        composed_at=now,
        until=until,
        mode=mode,
        people=_people(book.pages(start, end)),
        away=away,
        risks=(
            *risks_of(found, opened, mode, following, away, matters.safety),
            *people_risks(book, plant, shift, following, away, end),
        ),
        safety=matters.safety,
        safety_cleared=matters.safety_cleared,
        open_deviations=tuple(opened),
        open_answers=tuple(a for a in found.answers if a.reading.id in answers),
        closed_deviations=tuple(d for d in found.deviations if not d.is_open),
        closed_answers=tuple(a for a in found.answers if a.reading.id not in answers),
        repeats=repeats_before(book, plant, found.deviations, start),
        lost_time=lost_time_of(found.stops, throughput, start, end),
        throughput=throughput,
        lab=lab,
        tanks=tank_levels(book, plant, start, end),
        items=matters.items,
        items_closed=matters.items_closed,
        instructions=matters.instructions,
        notes=matters.notes,
        limit_changes=limit_changes(book, plant, start, end),
        entries=tuple(book.entries(start, end)),
        next_duties=next_duties(found, following, lab, matters),
    )


def _people(pages: Iterable[PageHead]) -> tuple[str, ...]:
    """Who wrote, not who only came to the door or changed the plant's definitions."""
    return tuple(dict.fromkeys(page.person for page in pages if page.kind not in NOT_WORK))


def _last_answers(book: Reader, found: ShiftExceptions, end: datetime) -> set[int]:
    """Ids of the first readings of those answers that nobody has read as another one since."""
    keys = list(dict.fromkeys(answer.point.key for answer in found.answers))
    last = book.last_before(keys, end)
    latest = {answer.point.key: answer for answer in sorted(found.answers, key=_taken)}
    return {
        answer.reading.id
        for key, answer in latest.items()
        if key in last and last[key].text == answer.reading.text
    }


def _taken(answer: AnswerFound) -> datetime:
    return answer.reading.taken_at
