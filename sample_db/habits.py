"""What people do with what they see: rounding, leaving out, copying, mistyping, being late."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from logbook.plant.model import Often, Plant, Point, PointKind
from sample_db.answers import Answers, answers
from sample_db.measure import gauge_step, gauge_values
from sample_db.missing import NOTHING, leave_out
from sample_db.rota import Rota
from sample_db.series import Array, stream
from sample_db.slips import Slip, make_slips
from sample_db.story import COPY_ROUNDS, COPY_SOURCE
from sample_db.streams import Streams
from sample_db.timetable import Bools, Timetable, due_mask

LATE_SHARE = 0.012
LAST_LATE_ROUND, LAST_LATE_MINUTES = 1, 96.0
"""In the last whole shift this round is written this long after it was due."""
ROUGH_STEP = 5.0
"""Step to which some people read an ammeter with a fine scale."""


@dataclass(slots=True)
class Sheets:
    """All rounds as they will be written: one row for a round, one column for a point."""

    points: tuple[Point, ...]
    table: Timetable
    values: Array
    answers: Answers
    due: Bools
    absent: NDArray[np.int8]
    """Code of why there is no reading, see `sample_db.missing`."""
    words: dict[int, str]
    """Reason given for a whole missed round, by its place."""
    people: list[str]
    delay: Array
    """Minutes from the round to the entry."""
    slips: list[Slip] = field(default_factory=list)

    @property
    def column(self) -> dict[str, int]:
        """Column of each point key."""
        return {point.key: j for j, point in enumerate(self.points)}

    def written_at(self, place: int) -> datetime:
        """When a round was entered."""
        return self.table.rounds[place].at + timedelta(seconds=round(self.delay[place] * 60.0))


def typed_points(plant: Plant) -> tuple[Point, ...]:
    """Points that a round may ask for, in form order."""
    return tuple(
        p for p in plant.points if p.kind.is_typed and p.frequency.often is not Often.SAMPLE
    )


def make_sheets(plant: Plant, streams: Streams, table: Timetable, rota: Rota, seed: int) -> Sheets:
    """Everything the crews will have entered in their rounds."""
    points = typed_points(plant)
    due = due_mask(points, plant, table)
    people = _writers(table, rota, seed)
    values = _as_read(points, gauge_values(points, plant, streams, table, seed), people, rota)
    given = answers(points, streams, table, seed)
    absent, words = leave_out(points, due, table, rota.story, given, seed)
    sheets = Sheets(points, table, values, given, due, absent, words, people, _delays(table, seed))
    _copy(sheets, rota)
    _hurry_last_shift(sheets, rota)
    sheets.slips = make_slips(points, values, due & (absent == NOTHING), table, rota.story, seed)
    return sheets


def _writers(table: Timetable, rota: Rota, seed: int) -> list[str]:
    draws = stream(seed, "writers").random(len(table.rounds))
    return [rota.writer(r.shift, float(d)) for r, d in zip(table.rounds, draws, strict=True)]


def _as_read(points: tuple[Point, ...], seen: Array, people: list[str], rota: Rota) -> Array:
    """Round to the step of each gauge; two people read ammeters to the nearest five."""
    steps = np.array([gauge_step(p) for p in points])
    decimals = np.array([p.decimals for p in points])
    read = np.round(seen / steps) * steps
    rough = sorted({rota.copier, rota.leaver})
    rows = np.flatnonzero(np.isin(np.array(people), rough))
    columns = np.array([j for j, p in enumerate(points) if p.unit == "A" and p.decimals == 0])
    block = np.ix_(rows, columns)
    read[block] = np.round(seen[block] / ROUGH_STEP) * ROUGH_STEP
    for places in np.unique(decimals):
        read[:, decimals == places] = np.round(read[:, decimals == places], places)
    return np.asarray(read + 0.0)


def _delays(table: Timetable, seed: int) -> Array:
    """Minutes to the entry: more at night; a few rounds very late."""
    rng = stream(seed, "delay")
    count = len(table.rounds)
    usual = np.where(
        table.night, 8.0 + rng.gamma(4.0, 3.6, size=count), 4.0 + rng.gamma(4.0, 2.0, size=count)
    )
    late = rng.random(count) < LATE_SHARE
    return np.asarray(np.where(late, rng.uniform(66.0, 112.0, size=count), np.minimum(usual, 44.0)))


def _copy(sheets: Sheets, rota: Rota) -> None:
    """On the copied nights two rounds repeat the numbers of the one before them."""
    table = sheets.table
    measured = np.array([p.kind is PointKind.NUMBER for p in sheets.points])
    for night in rota.story.copied:
        first = table.place(night.start)
        source = first + COPY_SOURCE
        for index in (COPY_SOURCE, *COPY_ROUNDS):
            sheets.people[first + index] = rota.copier
        for index in COPY_ROUNDS:
            target = first + index
            # A point that is read every four hours was last read two rounds before.
            here = sheets.due[target] & measured
            near = here & sheets.due[source]
            far = here & ~sheets.due[source] & sheets.due[source - 1]
            sheets.values[target, near] = sheets.values[source, near]
            sheets.values[target, far] = sheets.values[source - 1, far]
            sheets.absent[target] = NOTHING
            sheets.delay[target] = 3.0 + 2.0 * (index - COPY_SOURCE)
        sheets.absent[source] = NOTHING
        sheets.absent[source - 1] = NOTHING
        sheets.delay[source] = 24.0


def _hurry_last_shift(sheets: Sheets, rota: Rota) -> None:
    """The last whole shift has one late round and no other; nothing is entered after the end."""
    story, table = rota.story, sheets.table
    if story.last_shift is None:
        return
    first = table.place(story.last_shift.start)
    sheets.delay[first:] = np.minimum(sheets.delay[first:], 26.0)
    sheets.delay[first + LAST_LATE_ROUND] = LAST_LATE_MINUTES
