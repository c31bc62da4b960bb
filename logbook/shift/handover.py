"""The handover of a shift, put together from its own events and readings.

Parts stand in a fixed order: safety states, open deviations, deviations closed, equipment not
available, rounds and readings missed, downtime and lost tonnes, throughput, lab results and
waiting samples, tank levels, open items, changed limits, corrections and late entries, and what
the next shift must do.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Entry
from logbook.shift.answers import AnswerFound
from logbook.shift.doubts import DoubtFound
from logbook.shift.exceptions import CorrectionFound, DeviationFound, LateFound
from logbook.shift.gaps import GapFound
from logbook.shift.lab_results import LabWork
from logbook.shift.limit_changes import LimitChange
from logbook.shift.lost_time import LostTime
from logbook.shift.next_duties import NextDuty
from logbook.shift.risks import Risk
from logbook.shift.round_state import RoundStatus
from logbook.shift.stops import StopFound
from logbook.shift.tank_levels import TankLevel
from logbook.shift.throughput import Throughput


@dataclass(frozen=True, slots=True, kw_only=True)
class Handover:
    """Everything that one crew hands to the next; see the module for the order of its parts."""

    plant: Plant
    """As defined at the end of the shift."""
    shift: Shift
    next_shift: Shift
    composed_at: datetime
    until: datetime
    """Up to where it looks: the end of the shift, or `composed_at` while it runs."""
    mode: str
    """Key of the operating mode at `until`."""
    people: tuple[str, ...]
    """Keys of those who wrote in the book in this shift, in order of their first save."""
    risks: tuple[Risk, ...]
    open_deviations: tuple[DeviationFound, ...]
    open_answers: tuple[AnswerFound, ...]
    closed_deviations: tuple[DeviationFound, ...]
    closed_answers: tuple[AnswerFound, ...]
    not_available: tuple[StopFound, ...]
    rounds: tuple[RoundStatus, ...]
    gaps: tuple[GapFound, ...]
    lost_time: LostTime
    throughput: Throughput | None
    lab: LabWork
    tanks: tuple[TankLevel, ...]
    limit_changes: tuple[LimitChange, ...]
    corrections: tuple[CorrectionFound, ...]
    late: tuple[LateFound, ...]
    doubts: tuple[DoubtFound, ...]
    entries: tuple[Entry, ...]
    mode_changes: tuple[StopFound, ...]
    next_duties: tuple[NextDuty, ...]
    reading_count: int
