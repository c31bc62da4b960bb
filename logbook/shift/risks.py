"""Handovers that need more care than others, and why.

The kinds are those of published guidance on shift handover: while safety systems are overridden,
while maintenance spans the change of shift, away from normal running, and after a long absence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from logbook.assess.limits import Severity
from logbook.plant.model import NORMAL_MODE
from logbook.plant.roster import Shift
from logbook.record import SafetyState
from logbook.shift.away import Away
from logbook.shift.exceptions import DeviationFound, ShiftExceptions
from logbook.shift.stops import StopFound
from logbook.shift.words import point_name

LONG_AWAY = timedelta(days=5)
"""From so long an absence on the crew needs more telling. Common practice, no source."""

OVERRIDES = frozenset({"bypass", "override"})
WORK = frozenset({"permit", "isolation"})
"""Kinds of safety states: what is out of force, and what shows that work goes on."""


class RiskKind(StrEnum):
    """What makes a handover one of higher risk."""

    BYPASS = "bypass"
    MAINTENANCE = "maintenance"
    MODE = "mode"
    DEVIATION = "deviation"
    ABSENCE = "absence"
    NO_CREW = "no crew"
    TRAINEE = "trainee"
    OVERLAP = "no overlap"
    LATE = "late"
    UNPROVEN = "not signed on"
    RELIEF = "relief"


TO_CONFIRM = frozenset(
    {
        RiskKind.MODE,
        RiskKind.ABSENCE,
        RiskKind.NO_CREW,
        RiskKind.TRAINEE,
        RiskKind.UNPROVEN,
        RiskKind.RELIEF,
    }
)
"""Marks that the incoming confirms one by one; the others stand among the subjects themselves."""


@dataclass(frozen=True, slots=True)
class Risk:
    """One mark of higher risk and the sentence that says what it is."""

    kind: RiskKind
    text: str


def risks_of(
    found: ShiftExceptions,
    opened: Sequence[DeviationFound],
    mode: str,
    following: Shift,
    away: Away,
    safety: Iterable[SafetyState],
) -> tuple[Risk, ...]:
    """The marks of higher risk of a handover; none for one in quiet running."""
    stops = [stop for stop in found.stops if stop.scope != "mode" and stop.end is None]
    return (
        *_unsafe(safety),
        *_standing(stops),
        *_mode(found, mode),
        *_action(found, opened),
        *_crew(following, away),
    )


def _unsafe(safety: Iterable[SafetyState]) -> Iterator[Risk]:
    for state in safety:
        if state.kind in OVERRIDES:
            yield Risk(RiskKind.BYPASS, f"Safety system not in force: {state.what}")
        elif state.kind in WORK:
            yield Risk(RiskKind.MAINTENANCE, f"Work spans the change of shift: {state.what}")


def _standing(stops: Iterable[StopFound]) -> Iterator[Risk]:
    for stop in stops:
        why = f": {stop.reason}" if stop.reason else ""
        yield Risk(RiskKind.MAINTENANCE, f"{stop.name} stands over the change of shift{why}")


def _mode(found: ShiftExceptions, mode: str) -> Iterator[Risk]:
    if mode != NORMAL_MODE:
        name = next((m.name for m in found.plant.modes if m.key == mode), mode)
        yield Risk(RiskKind.MODE, f"The plant is in {name}")
    elif any(stop.scope == "mode" for stop in found.stops):
        yield Risk(RiskKind.MODE, "The plant came back to normal running in this shift")


def _action(found: ShiftExceptions, opened: Iterable[DeviationFound]) -> Iterator[Risk]:
    for one in opened:
        if one.judgement.severity is Severity.ACTION and not one.follows:
            name = point_name(found.plant, one.found.point)
            yield Risk(RiskKind.DEVIATION, f"Outside its action limit: {name}")


def _crew(following: Shift, away: Away) -> Iterator[Risk]:
    if following.crew is None:
        yield Risk(RiskKind.NO_CREW, "Nobody is rostered for the next shift")
    elif away.length is not None and away.length >= LONG_AWAY:
        text = f"The crew that takes over was away for {away.length.days} days"
        yield Risk(RiskKind.ABSENCE, text)
