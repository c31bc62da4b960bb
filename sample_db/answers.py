"""Answers of state and check points: nearly always the first choice, now and then another."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from logbook.plant.model import Point, PointKind
from sample_db.series import stream
from sample_db.streams import Streams
from sample_db.timetable import Timetable

OTHERWISE: Mapping[str, tuple[float, ...]] = {
    "bed_percolation": (0.004, 0.0002),
    "extraction_leak_walk": (0.022, 0.0015),
    "stripper_sight_glass": (0.012, 0.005),
    "sump_inspection": (0.006, 0.0),
    "dryer_exhaust_look": (0.010, 0.0),
    "spark_detection": (0.002,),
    "condensate_check": (0.008, 0.0),
    "gas_panel": (0.0010, 0.0),
    "showers_flushed": (0.020,),
    "magnet_bean_cleaned": (0.012,),
    "scrapers_checked": (0.015,),
}
"""Chance of the second, third, ... choice, by point; running machines are read as running."""

CHECK_LEFT_UNDONE = 0.003

Answers = NDArray[np.int8]


def answers(points: tuple[Point, ...], streams: Streams, table: Timetable, seed: int) -> Answers:
    """Place of the answer in each point's choices: shape (rounds, points), 0 for numbers."""
    rounds = len(table.rounds)
    found = np.zeros((rounds, len(points)), dtype=np.int8)
    for j, point in enumerate(points):
        if point.key == "weather":
            found[:, j] = _weather(point, streams, table, seed)
            continue
        chances = OTHERWISE.get(point.key, ())
        if not chances and point.kind is PointKind.CHECK:
            chances = (CHECK_LEFT_UNDONE,)
        if chances:
            draw = stream(seed, point.key).random(rounds)
            found[:, j] = np.searchsorted(np.cumsum(chances[::-1]), draw, side="right")
            found[:, j] = np.where(draw < sum(chances), len(chances) - found[:, j], 0)
    return found


def _weather(point: Point, streams: Streams, table: Timetable, seed: int) -> Answers:
    """Dry, rain, frost or storm from humidity, temperature and chance."""
    where = streams.index_at(table.seconds.astype(float))
    air = streams.weather
    draw = stream(seed, "sky").random(len(where))
    wet = (air.humidity[where] > 82.0) & (draw < 0.6)
    found = np.where(wet, 1, 0)
    found = np.where(air.temperature[where] < 0.0, 2, found)
    storm = (air.temperature[where] > 18.0) & (air.dew_point[where] > 14.0) & (draw > 0.975)
    return np.asarray(np.where(storm, min(3, len(point.choices) - 1), found), dtype=np.int8)
