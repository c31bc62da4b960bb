"""What the shift that takes over must do, and by when."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from logbook.assess.limits import Severity
from logbook.plant.localtime import local_label
from logbook.plant.model import Often, Plant, Point
from logbook.plant.roster import Shift
from logbook.plant.rounds import Round, is_due, rounds_of
from logbook.shift.exceptions import DeviationFound, ShiftExceptions
from logbook.shift.gaps import GapFound
from logbook.shift.lab_results import OVERDUE_AFTER, LabWork
from logbook.shift.matters import Matters
from logbook.shift.round_form import describe_reason
from logbook.shift.words import person_name, place_name, point_name

FEW = 3
"""Up to so many readings that were left out are named, more are counted."""


class DutyKind(StrEnum):
    """Where a duty of the next shift comes from."""

    SAFETY = "safety"
    """A safety state whose time runs out."""
    CHECK = "check"
    """A deviation that was answered: see at the next round whether it helped."""
    ANSWER = "answer"
    """A deviation that nobody has answered."""
    SAMPLE = "sample"
    """A sample whose result is waited for."""
    ITEM = "item"
    """An open item that is due."""
    READING = "reading"
    """What is read once a shift or once a day, or was left out."""
    INSTRUCTION = "instruction"
    """A standing instruction not yet read."""
    NOTE = "note"
    """What the crew has written for the next shift."""


@dataclass(frozen=True, slots=True)
class NextDuty:
    """One thing to do: a sentence, by when, and what it is about."""

    kind: DutyKind
    text: str
    due_at: datetime | None = None
    area: str | None = None
    equipment: str | None = None
    point: str | None = None
    person: str | None = None
    """Who has to do it, where it is not the whole crew."""


def next_duties(
    found: ShiftExceptions, following: Shift, lab: LabWork, matters: Matters
) -> tuple[NextDuty, ...]:
    """What follows from the shift itself for the next one, in the order of `DutyKind`."""
    plant = found.plant
    rounds = rounds_of(following, plant.settings.round_hours)
    duties = [
        *_safety(plant, matters, following),
        *_items(matters, following),
        *_instructions(plant, matters, following),
        *_notes(matters),
        *_deviations(plant, found.deviations, rounds),
        *_samples(plant, lab),
        *_once(plant, following, rounds),
        *_left_out(plant, found.gaps, rounds),
    ]
    order = list(DutyKind)
    return tuple(sorted(duties, key=lambda duty: order.index(duty.kind)))


def _safety(plant: Plant, matters: Matters, following: Shift) -> Iterator[NextDuty]:
    """Safety states whose time runs out in the next shift, or has."""
    for state in matters.safety:
        until = state.until_at
        if until is None or until >= following.end:
            continue
        ends = "has run out" if until < following.start else "runs out"
        clock = local_label(until, plant.time_zone)
        text = f"Clear or extend: {state.what} ({state.kind} {ends} at {clock})"
        yield NextDuty(DutyKind.SAFETY, text, until, state.area, state.equipment)


def _items(matters: Matters, following: Shift) -> Iterator[NextDuty]:
    """Items that are due in the next shift, or were before."""
    for item in matters.items:
        due = item.due_at
        if due is not None and due < following.end:
            late = ", overdue" if due < following.start else ""
            text, owner = f"{item.text}{late}", item.owner
            yield NextDuty(DutyKind.ITEM, text, due, item.area, item.equipment, person=owner)


def _instructions(plant: Plant, matters: Matters, following: Shift) -> Iterator[NextDuty]:
    for one in matters.instructions:
        if one.unread:
            names = ", ".join(person_name(plant, key) for key in one.unread)
            text = f"Read and acknowledge: {one.instruction.text} ({names})"
            yield NextDuty(DutyKind.INSTRUCTION, text, following.start, one.instruction.area)


def _notes(matters: Matters) -> Iterator[NextDuty]:
    note = matters.notes.get("next_shift")
    if note is not None:
        yield NextDuty(DutyKind.NOTE, note.text)


def _deviations(
    plant: Plant, deviations: Iterable[DeviationFound], rounds: tuple[Round, ...]
) -> Iterator[NextDuty]:
    """Open deviations: whether the answer helped, and action ones without an answer.

    One of a computed point that others explain is theirs.
    """
    for one in deviations:
        point = one.found.point
        if not one.is_open or one.follows:
            continue
        name = point_name(plant, point)
        due = _next_due(plant, point, rounds)
        if one.responses:
            text = f"See whether it helped: {name} ({one.responses[-1]})"
            yield NextDuty(DutyKind.CHECK, text, due, point.area, point.equipment, point.key)
        elif one.judgement.severity is Severity.ACTION:
            text = f"Answer: {name} is outside its action limit, nothing is written about it"
            yield NextDuty(DutyKind.ANSWER, text, due, point.area, point.equipment, point.key)


def _next_due(plant: Plant, point: Point, rounds: tuple[Round, ...]) -> datetime | None:
    """The first round of the next shift that asks for the point, or for what it follows from."""
    if point.formula is not None:
        by_key = {p.key: p for p in plant.points}
        dues = [_next_due(plant, by_key[name], rounds) for name in point.formula.inputs]
        return None if None in dues or not dues else max(due for due in dues if due is not None)
    first = plant.calendar.first_shift_key
    hours = plant.settings.round_hours
    due = (r.at for r in rounds if is_due(point, r, hours, first_shift_key=first))
    return next(due, None)


def _samples(plant: Plant, lab: LabWork) -> Iterator[NextDuty]:
    for one in lab.waiting:
        sample = one.sample
        taken = local_label(sample.taken_at, plant.time_zone)
        late = ", overdue" if one.is_overdue else ""
        text = f"Result of {sample.label}, {sample.sampling_point}, taken {taken}{late}"
        yield NextDuty(DutyKind.SAMPLE, text, sample.taken_at + OVERDUE_AFTER)


def _once(plant: Plant, following: Shift, rounds: tuple[Round, ...]) -> Iterator[NextDuty]:
    asked = [(Often.SHIFT, "once a shift")]
    if following.pattern == plant.calendar.first_shift_key:
        asked.append((Often.DAY, "daily"))
    for often, words in asked:
        count = sum(p.kind.is_typed and p.frequency.often is often for p in plant.points)
        if count and rounds:
            text = f"{count} reading{'s' * (count > 1)} {words}"
            yield NextDuty(DutyKind.READING, text, rounds[-1].at)


def _left_out(
    plant: Plant, gaps: Iterable[GapFound], rounds: tuple[Round, ...]
) -> Iterator[NextDuty]:
    """What was left out in its last round of the shift, by area and reason."""
    last: dict[str, GapFound] = {gap.point.key: gap for gap in gaps}
    groups: dict[tuple[str, str | None], list[GapFound]] = {}
    latest = max((gap.round_at for gap in last.values()), default=None)
    for gap in last.values():
        if gap.round_at == latest:
            groups.setdefault((gap.point.area, gap.reason), []).append(gap)
    names = {area.key: area.name for area in plant.areas}
    for (area, reason), group in groups.items():
        why = describe_reason(reason) if reason else "no reason given"
        few = ", ".join(place_name(plant, gap.point) for gap in group)
        told = few if len(group) <= FEW else f"{len(group)} readings"
        text = f"Left out before: {names.get(area, area)}: {told} ({why})"
        yield NextDuty(DutyKind.READING, text, rounds[0].at if rounds else None, area)
