"""The rounds of the book: when they are due, in which mode, and which points are due in them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from logbook.plant.calendar import shift_at, shifts_between
from logbook.plant.model import Often, Plant, Point, PointKind
from logbook.plant.rounds import Round, rounds_of
from sample_db.outages import Outage, mode_at, mode_spans, outages
from sample_db.story import Story

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Timetable:
    """Rounds in order with what the habits need to know of each; arrays have one item a round."""

    rounds: tuple[Round, ...]
    seconds: NDArray[np.int64]
    index: NDArray[np.int64]
    first_of_day: Bools
    night: Bools
    modes: tuple[str, ...]
    outages: tuple[Outage, ...]

    def place(self, instant: datetime) -> int:
        """Place of the last round due at or before `instant`."""
        return int(np.searchsorted(self.seconds, int(instant.timestamp()), side="right")) - 1


def make_timetable(plant: Plant, story: Story) -> Timetable:
    """All rounds from the story's start that were due before the one now due at its end."""
    shifts = shifts_between(plant.calendar, story.start, story.end)
    now = shift_at(plant.calendar, story.end)
    hours = plant.settings.round_hours
    rounds = [r for shift in shifts for r in rounds_of(shift, hours) if r.at <= story.end]
    if rounds and rounds[-1].shift == now and story.end - rounds[-1].at < timedelta(hours=hours):
        rounds.pop()
    spans = mode_spans(story)
    zone, first = ZoneInfo(plant.time_zone), plant.calendar.first_shift_key
    return Timetable(
        rounds=tuple(rounds),
        seconds=np.array([int(r.at.timestamp()) for r in rounds], dtype=np.int64),
        index=np.array([r.index for r in rounds], dtype=np.int64),
        first_of_day=np.array([r.index == 0 and r.shift.pattern == first for r in rounds]),
        night=np.array([not 6 <= r.at.astimezone(zone).hour < 18 for r in rounds]),
        modes=tuple(mode_at(spans, r.at) for r in rounds),
        outages=tuple(outages(story, plant)),
    )


def due_mask(points: tuple[Point, ...], plant: Plant, table: Timetable) -> Bools:
    """True where a point is to be read in a round: shape (rounds, points).

    Not due: by frequency, while its area or machine is down, and in the modes it is silent in.
    """
    mask = np.zeros((len(table.rounds), len(points)), dtype=bool)
    hours = plant.settings.round_hours
    for j, point in enumerate(points):
        mask[:, j] = _due_by_frequency(point, table, hours)
    modes = np.array(table.modes)
    for j, point in enumerate(points):
        if point.silent_modes:
            mask[np.isin(modes, point.silent_modes), j] = False
    for outage in table.outages:
        inside = (table.seconds >= int(outage.start.timestamp())) & (
            table.seconds < int(outage.end.timestamp())
        )
        columns = np.array([_hit(point, outage) for point in points])
        mask[np.ix_(inside, columns)] = False
    return mask


def _due_by_frequency(point: Point, table: Timetable, round_hours: float) -> Bools:
    if point.kind is PointKind.COMPUTED or point.frequency.often is Often.SAMPLE:
        return np.zeros(len(table.index), dtype=bool)
    if point.frequency.often is Often.ROUND:
        return np.ones(len(table.index), dtype=bool)
    if point.frequency.often is Often.SHIFT:
        return np.asarray(table.index == 0)
    if point.frequency.often is Often.DAY:
        return table.first_of_day
    every = round(point.frequency.hours / round_hours)
    return np.asarray(table.index % every == 0)


def _hit(point: Point, outage: Outage) -> bool:
    if outage.scope == "plant":
        return True
    if outage.scope == "area":
        return point.area == outage.target
    return point.equipment == outage.target
