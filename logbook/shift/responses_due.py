"""Action deviations that were answered: whether anybody has looked if the answer helped."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from logbook.assess.limits import Severity
from logbook.plant.calendar import next_shift, shift_at
from logbook.plant.model import Often, Plant, Point
from logbook.plant.rounds import round_at, rounds_of
from logbook.record import Reader, Reading, Response
from logbook.shift.duty import Duty
from logbook.shift.plants import PlantHistory
from logbook.shift.round_load import judge_reading

LOOK_BACK = timedelta(days=7)
"""Answers older than this are no longer followed up."""
ON_SAMPLE = timedelta(hours=24)
"""When the next sample of what is read on sample only should have shown it."""
MOMENT = timedelta(seconds=1)


class CheckState(StrEnum):
    """How the check of an answered deviation stands."""

    COMING = "coming"
    """Its round is not there yet."""
    DUE = "due"
    """Its round is the present one."""
    MISSING = "missing"
    """Its round has passed without a reading."""


@dataclass(frozen=True, slots=True)
class CheckDue:
    """A point to be read again: the reading in action, what was done, when it is due."""

    point: Point
    reading: Reading
    responses: tuple[Response, ...]
    due_at: datetime
    state: CheckState


def responses_due(book: Reader, plant: Plant, now: datetime) -> tuple[CheckDue, ...]:
    """Answered action deviations whose check at the next round is due or missing at `now`.

    The missing ones first, then by when they were due. Raises BookError.
    """
    found = [one for one in checks_of(book, plant, now) if one.state is not CheckState.COMING]
    return tuple(sorted(found, key=lambda one: (one.state is CheckState.DUE, one.due_at)))


def checks_of(book: Reader, plant: Plant, now: datetime) -> tuple[CheckDue, ...]:
    """Every check of an answered action deviation that nobody has made yet, by when it is due.

    A check is the next reading of the point that holds a value or an answer; a reason why there
    is none is no check. It is due in the first round after the answer in which the point is on
    duty, also for what is read less often than each round; on-sample points within a day.
    """
    plants = PlantHistory(book)
    answers: dict[int, list[Response]] = {}
    for response in book.responses_between(now - LOOK_BACK, now + MOMENT):
        answers.setdefault(response.reading, []).append(response)
    readings = {row.id: row for row in (book.history_of(key)[-1] for key in answers)}
    last = book.last_before({row.point for row in readings.values()}, now + MOMENT)
    duty = Duty.of(book, plant, now - LOOK_BACK, now + MOMENT)
    found = []
    for row in readings.values():
        point = plants.point_of(row)
        if point is None or not _is_action(point, row) or _is_checked(row, last.get(row.point)):
            continue
        told = tuple(r for key in _versions(book, row) for r in answers.get(key, ()))
        due_at = _due_at(plant, point, duty, told, row)
        if due_at is not None:
            found.append(CheckDue(point, row, told, due_at, _state(plant, point, due_at, now)))
    return tuple(sorted(found, key=lambda one: (one.due_at, one.point.key)))


def _versions(book: Reader, row: Reading) -> Iterable[int]:
    return [one.id for one in book.history_of(row.id)] if row.replaces is not None else [row.id]


def _is_action(point: Point, row: Reading) -> bool:
    return judge_reading(point, row.mode, row).severity is Severity.ACTION


def _is_checked(row: Reading, last: Reading | None) -> bool:
    return last is not None and last.taken_at > row.taken_at


def _due_at(
    plant: Plant, point: Point, duty: Duty, told: Iterable[Response], row: Reading
) -> datetime | None:
    """When the point should be read again; None where it has been off duty ever since."""
    since = max([row.taken_at, *(response.at for response in told)])
    if point.frequency.often is Often.SAMPLE:
        return since + ON_SAMPLE
    at = next_round(plant, since)
    while duty.why_not(point, at):
        if at > since + LOOK_BACK:
            return None
        at = next_round(plant, at)
    return at


def next_round(plant: Plant, at: datetime) -> datetime:
    """When the first round after an instant is due."""
    rnd = round_at(plant.calendar, plant.settings, at)
    rest = [r.at for r in rounds_of(rnd.shift, plant.settings.round_hours) if r.at > at]
    return rest[0] if rest else next_shift(plant.calendar, shift_at(plant.calendar, at)).start


def _state(plant: Plant, point: Point, due_at: datetime, now: datetime) -> CheckState:
    if now < due_at:
        return CheckState.COMING
    if point.frequency.often is Often.SAMPLE:
        return CheckState.MISSING
    return CheckState.DUE if now < next_round(plant, due_at) else CheckState.MISSING
