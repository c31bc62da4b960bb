"""What each gauge would show without reading error: the joint of the simulator and the point keys.

Each `*_gauges` module returns, by point key, the true value on the simulator's grid. A numeric
point that none of them knows stays at its target (or the middle of its limits).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from logbook.plant.model import Plant
from sample_db.gauges_back import back_gauges
from sample_db.gauges_lab import lab_gauges
from sample_db.gauges_meal import meal_gauges
from sample_db.gauges_prep import prep_gauges
from sample_db.series import Array
from sample_db.stores import store_gauges
from sample_db.streams import Streams

COUNTERS: Mapping[str, tuple[float, str]] = {
    "bean_total": (612_480.0, "beans"),
    "oil_total": (21_905.4, "oil"),
    "meal_total": (744_310.0, "meal"),
    "pellet_total": (83_206.0, "pellets"),
    "steam_total": (418_870.0, "steam"),
    "electricity_total": (41_208_300.0, "power"),
    "makeup_water_total": (955_120.0, "makeup"),
}
"""Counter reading when the book begins, and what it integrates."""


def counted_flows(streams: Streams) -> dict[str, Array]:
    """What the counters integrate, per hour; the bean scale as it shows, not as it is."""
    return {
        "beans": streams.running.rate * scale_factor(streams),
        "oil": streams.evaporation.oil.total,
        "meal": streams.drying.meal.total,
        "pellets": (streams.prep.hulls - streams.drying.added_hulls).total * 1.012,
        "steam": streams.utilities.steam,
        "power": streams.utilities.power,
        "makeup": streams.utilities.makeup,
    }


def scale_factor(streams: Streams) -> Array:
    """What the bean scale shows over what passes it; below 1 while it is out of calibration."""
    from sample_db.story import SCALE_FACTOR

    factor, low = np.ones_like(streams.time), streams.story.scale_low
    if low is not None:
        inside = (streams.time >= low.start.timestamp()) & (streams.time < low.end.timestamp())
        factor[inside] = SCALE_FACTOR
    return factor


def true_gauges(streams: Streams, plant: Plant, seed: int) -> dict[str, Array]:
    """True value of every number, level and lab point by key, on the grid (counters apart)."""
    return {
        **prep_gauges(streams, scale_factor(streams)),
        **back_gauges(streams),
        **meal_gauges(streams),
        **lab_gauges(streams),
        **store_gauges(streams, plant, seed),
    }
