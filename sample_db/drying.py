"""Meal dryer and cooler, hulls added back, finished meal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.desolventizing import Desolventizing
from sample_db.flow import Flow
from sample_db.prep import Prep
from sample_db.running import Running
from sample_db.series import Array, ar1, between, lag, stream
from sample_db.story import Story
from sample_db.weather import Weather

DRYER_MOISTURE = 12.27
"""What the crews aim at, %, a little under the target to stay below the contract."""
ADDED_BACK = 0.97
"""Share of the hulls added back to the meal in the 44 % campaign."""


@dataclass(frozen=True, slots=True)
class Drying:
    """Flows in t/h, temperatures in degC, moistures and qualities in %, solvent in mg/kg."""

    dryer_vapour: Flow
    cooler_vapour: Flow
    dried: Flow
    cooled: Flow
    added_hulls: Flow
    meal: Flow
    outlet_moisture: Array
    air_temperature: Array
    meal_temperature: Array
    solvent_ppm: Array
    protein: Array
    fibre: Array


def _evaporate(meal: Flow, moisture: Array, kept_solvent: Array) -> tuple[Flow, Flow]:
    """Dry `meal` to `moisture` (%), keeping a share of its solvent: (what is left, what went)."""
    dry = meal.solids + meal.oil
    water = np.minimum(dry * moisture / (100.0 - moisture), meal.water)
    left = Flow(meal.solids, meal.oil, water, meal.solvent * kept_solvent)
    return left, meal - left


def _air(error: Array) -> Array:
    """Dryer air temperature, degC: crews answer the moisture they have seen, slowly."""
    return np.asarray(120.0 + 9.0 * lag(error, 5.0))


def _share(part: Array, total: Array) -> Array:
    return 100.0 * np.divide(part, total, out=np.zeros_like(total), where=total > 0)


def make_drying(
    seed: int,
    time: Array,
    story: Story,
    prep: Prep,
    toaster: Desolventizing,
    weather: Weather,
    running: Running,
) -> Drying:
    """Drying and cooling for each step; humid air leaves the meal wetter."""
    rng, steps = stream(seed, "drying"), len(time)
    noise = ar1(rng, steps, hours=np.array([5.0, 9.0, 6.0, 12.0]), sigma=1.0)
    cold = 1.0 - running.warmth
    wet = np.clip(toaster.meal.share("water") - 18.5, -3.0, 3.0)
    error = 0.5 * wet + 0.055 * (weather.mixing_ratio - 8.0) + 0.17 * noise[:, 0] + 0.5 * cold
    air = _air(error) + 4.5 * noise[:, 2]
    moisture = DRYER_MOISTURE + 0.62 * error - 0.030 * (air - 120.0)
    dried, dryer_vapour = _evaporate(toaster.meal, moisture, np.full(steps, 0.68))
    cooled_moisture = moisture - 0.48 + 0.006 * (weather.humidity - 70.0) + 0.05 * noise[:, 1]
    cooled, cooler_vapour = _evaporate(dried, cooled_moisture, np.full(steps, 0.86))
    inside = np.zeros(steps)
    if story.campaign is not None:
        inside = between(time, story.campaign.start.timestamp(), story.campaign.end.timestamp())
    share = ADDED_BACK * inside
    hulls = Flow(*(getattr(prep.hulls, c) * share for c in ("solids", "oil", "water", "solvent")))
    meal = cooled + hulls
    dry_meal, dry_hulls = cooled.solids + cooled.oil, hulls.solids + hulls.oil
    # Oil has left: protein and fibre stay with the solids of the flakes.
    flake_dry = prep.flakes.solids + prep.flakes.oil
    protein = prep.flake_protein * flake_dry + prep.hull_protein / 0.9 * dry_hulls
    fibre = prep.flake_fibre * flake_dry + prep.hull_fibre / 0.9 * dry_hulls
    rise = 7.0 + 1.2 * noise[:, 3] + 0.25 * (weather.temperature - weather.wet_bulb - 4.0) * -1.0
    return Drying(
        dryer_vapour=dryer_vapour,
        cooler_vapour=cooler_vapour,
        dried=dried,
        cooled=cooled,
        added_hulls=hulls,
        meal=meal,
        outlet_moisture=moisture,
        air_temperature=air,
        meal_temperature=np.maximum(weather.temperature + rise, weather.wet_bulb + 3.0)
        * (dry_meal >= 0),
        solvent_ppm=_share(meal.solvent, meal.total) * 1e4,
        protein=_share(protein / 100.0, meal.total),
        fibre=_share(fibre / 100.0, meal.total),
    )
