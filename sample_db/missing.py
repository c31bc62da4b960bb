"""Readings that were not taken: whole rounds, forgotten areas, broken gauges, single points."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from logbook.plant.model import Often, Point
from sample_db.answers import Answers
from sample_db.series import stream
from sample_db.story import Story
from sample_db.timetable import Bools, Timetable

NOTHING, NOT_SAMPLED, INSTRUMENT_FAULT, NOT_SAFE, SKIPPED, WORDS = range(6)
"""Codes: a reading stands; three reasons; no row at all; the words given for the whole round."""
REASONS = ("", "not_sampled", "instrument_fault", "not_safe")

BROKEN_GAUGES: tuple[tuple[str, float, float], ...] = (
    ("vent_lel", 301.0, 40.0),
    ("extractor_pressure", 246.0, 30.0),
    ("bed_depth", 205.0, 18.0),
    ("sparge_steam_flow", 113.0, 26.0),
    ("vent_lel", 62.0, 20.0),
    ("cooling_water_pressure", 29.0, 50.0),
)
"""Point, days before the end, hours without a reading."""

MISSED_SILENTLY = (391.6, 333.4, 287.2, 191.9, 151.3, 92.5, 31.1)
"""Days before the end of rounds that nobody walked and nobody explained."""
MISSED_WITH_WORDS: tuple[tuple[float, str], ...] = (
    (356.3, "all hands at the fire drill"),
    (229.7, "one of us taken ill, waiting for relief"),
    (137.4, "whole crew at the choked screenings conveyor"),
    (54.75, "computer restarted by itself, round not walked in time"),
)
FORGOTTEN_AREAS = 26
SINGLE_SKIPPED, ROUND_NOT_SAMPLED, SHIFT_NOT_SAMPLED = 0.0004, 0.0005, 0.006
OUTDOORS = ("solvent_dip.st1", "solvent_dip.st2", "oil_dip.ot1", "oil_dip.ot2", "bund_valve_closed")
LAST_MISSING, LAST_MISSING_ROUND = "separator_interface", 3
"""In the last whole shift this point could not be read in this round (instrument fault)."""


def leave_out(
    points: tuple[Point, ...],
    due: Bools,
    table: Timetable,
    story: Story,
    given: Answers,
    seed: int,
) -> tuple[NDArray[np.int8], dict[int, str]]:
    """Codes of absence, shape (rounds, points), and the words for rounds missed with a reason."""
    rng = stream(seed, "missing")
    absent = np.zeros(due.shape, dtype=np.int8)
    draw = rng.random(due.shape)
    each = np.array([p.frequency.often is Often.ROUND for p in points])
    rare = np.where(each, ROUND_NOT_SAMPLED, SHIFT_NOT_SAMPLED)
    absent[draw < rare] = NOT_SAMPLED
    absent[draw > 1.0 - SINGLE_SKIPPED] = SKIPPED
    _forget_areas(points, absent, rng)
    _storms(points, absent, given)
    _break_gauges(points, absent, table, story)
    words = _miss_rounds(absent, table, story)
    _last_shift(points, absent, table, story)
    return absent, words


def _column(points: tuple[Point, ...], key: str) -> int:
    return next(j for j, p in enumerate(points) if p.key == key)


def _forget_areas(
    points: tuple[Point, ...], absent: NDArray[np.int8], rng: np.random.Generator
) -> None:
    areas = sorted({p.area for p in points})
    names = np.array([p.area for p in points])
    for place in rng.integers(20, len(absent) - 20, size=FORGOTTEN_AREAS):
        absent[place, names == areas[int(rng.integers(len(areas)))]] = SKIPPED


def _storms(points: tuple[Point, ...], absent: NDArray[np.int8], given: Answers) -> None:
    stormy = np.flatnonzero(given[:, _column(points, "weather")] == 3)
    for key in OUTDOORS:
        absent[stormy, _column(points, key)] = NOT_SAFE


def _break_gauges(
    points: tuple[Point, ...], absent: NDArray[np.int8], table: Timetable, story: Story
) -> None:
    for key, days, hours in BROKEN_GAUGES:
        start = story.end - timedelta(days=days)
        first, last = table.place(start), table.place(start + timedelta(hours=hours))
        absent[max(first, 0) : max(last, 0), _column(points, key)] = INSTRUMENT_FAULT


def _miss_rounds(absent: NDArray[np.int8], table: Timetable, story: Story) -> dict[int, str]:
    words = {}
    for days in MISSED_SILENTLY:
        place = table.place(story.end - timedelta(days=days))
        if place > 0:
            absent[place] = SKIPPED
    for days, said in MISSED_WITH_WORDS:
        place = table.place(story.end - timedelta(days=days))
        if place > 0:
            absent[place] = WORDS
            words[place] = said
    return words


def _last_shift(
    points: tuple[Point, ...], absent: NDArray[np.int8], table: Timetable, story: Story
) -> None:
    if story.last_shift is None:
        return
    first = table.place(story.last_shift.start)
    absent[first:] = NOTHING
    absent[first + LAST_MISSING_ROUND, _column(points, LAST_MISSING)] = INSTRUMENT_FAULT
