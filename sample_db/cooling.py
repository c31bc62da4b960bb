"""Cooling tower, condensers and the vent gas: what weather and fouling do to the back end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.running import Running
from sample_db.series import Array, ar1, between, lag, stream
from sample_db.story import CLEANING_HOURS, FAN_KELVIN, Story
from sample_db.weather import Weather

CONDENSERS = ("c1", "c2", "c3", "c4")
APPROACH = (7.6, 9.6, 6.6, 3.7)
"""Outlet vapour above cooling-water supply, K, clean and at the planned rate."""
COLDEST_SUPPLY = 21.6
"""The tower bypass keeps the supply from falling below about this, degC."""


@dataclass(frozen=True, slots=True)
class Cooling:
    """Temperatures in degC; `outlets` has shape (steps, 4) in the order of `CONDENSERS`."""

    supply: Array
    back: Array
    outlets: Array
    fouling: Array
    vent_gas: Array


def tower_supply(seed: int, time: Array, story: Story, weather: Weather) -> Array:
    """Cooling-water supply, degC: follows the wet bulb, held up by the bypass in the cold."""
    noise = ar1(stream(seed, "tower"), len(time), hours=6.0, sigma=0.8)
    wet = lag(weather.wet_bulb, 1.0) + 5.5
    # Smooth maximum, as the bypass opens gradually.
    supply = COLDEST_SUPPLY + np.logaddexp(0.0, (wet - COLDEST_SUPPLY) / 1.6) * 1.6 + noise
    for trip in story.fan_trips:
        inside = between(time, trip.start.timestamp(), trip.end.timestamp())
        supply = supply + FAN_KELVIN * lag(inside, 0.9)
    return np.asarray(supply)


def fouling_of(time: Array, story: Story) -> Array:
    """Outlet rise by fouling, K, shape (steps, 4): by day until cleaned, then none."""
    rise = np.zeros((len(time), len(CONDENSERS)))
    for foul in story.fouling:
        since = (time - foul.start.timestamp()) / 86400.0
        done = foul.end.timestamp() + CLEANING_HOURS * 3600.0
        stopped = (foul.end - foul.start).total_seconds() / 86400.0
        grown = foul.per_day * np.clip(since, 0.0, stopped)
        rise[:, CONDENSERS.index(foul.condenser)] += np.where(time < done, grown, 0.0)
    return rise


def make_cooling(
    seed: int, time: Array, story: Story, weather: Weather, running: Running
) -> Cooling:
    """Tower and condensers for each step."""
    supply, fouling = tower_supply(seed, time, story, weather), fouling_of(time, story)
    rng = stream(seed, "condensers")
    noise = ar1(rng, len(time), hours=np.array([8.0, 8.0, 8.0, 8.0, 6.0, 5.0]), sigma=1.0)
    load = np.maximum(running.rate / 62.5, 0.15)
    clean = np.array(APPROACH) * load[:, None] + noise[:, :4] * np.array([2.1, 2.1, 1.9, 1.6])
    outlets = supply[:, None] + clean + fouling
    vent = 19.5 + 0.80 * (supply - 23.0) + 0.45 * fouling[:, 3] + 2.3 * noise[:, 4]
    return Cooling(
        supply=supply,
        back=supply + 8.4 * load + 1.2 * noise[:, 5],
        outlets=outlets,
        fouling=fouling,
        vent_gas=vent,
    )
