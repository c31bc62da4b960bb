"""Steam, electricity and water: what the plant uses, and the counters that integrate it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.desolventizing import Desolventizing
from sample_db.drying import Drying
from sample_db.evaporation import Evaporation
from sample_db.prep import Prep
from sample_db.running import Running
from sample_db.series import STEP_HOURS, Array, ar1, stream
from sample_db.solvent import Solvent
from sample_db.weather import Weather


@dataclass(frozen=True, slots=True)
class Utilities:
    """Steam flows in t/h, `power` in kW, `makeup` and `effluent` in m3/h."""

    steam: Array
    conditioner_steam: Array
    dryer_steam: Array
    power: Array
    makeup: Array
    effluent: Array


def integrate(flow: Array) -> Array:
    """Amount passed before each step (so that differences are what flowed in between)."""
    total = np.empty(len(flow))
    total[0] = 0.0
    np.cumsum(flow[:-1] * STEP_HOURS, out=total[1:])
    return total


def make_utilities(
    seed: int,
    prep: Prep,
    parts: tuple[Desolventizing, Drying, Evaporation],
    solvent: Solvent,
    weather: Weather,
    running: Running,
) -> Utilities:
    """Utilities for each step; consumption follows duty, weather and rate."""
    toaster, drying, evaporation = parts
    noise = ar1(
        stream(seed, "utilities"), len(running.rate), hours=np.array([6.0, 5.0, 9.0]), sigma=1.0
    )
    rise = prep.cracks_temperature - 22.0 + 0.25 * (12.0 - weather.temperature)
    conditioner = prep.flakes.total * 2.0 * rise / 2110.0 * 1.02 * (1 + 0.012 * noise[:, 0])
    dryer = (
        (drying.dryer_vapour.water + drying.cooler_vapour.water * 0.3)
        * 2600.0
        / 2050.0
        * (0.72 + 0.004 * (15.0 - weather.temperature))
    )
    second = evaporation.second_vapour.solvent * 0.34 + evaporation.oil.oil * 0.07
    jackets = toaster.indirect_heat / 2030.0
    other = (0.85 + 0.020 * (15.0 - weather.temperature)) * (0.25 + 0.75 * running.fraction)
    steam = (
        conditioner
        + dryer
        + second
        + jackets
        + other
        + toaster.sparge_steam.water
        + evaporation.stripping_steam.water
        + solvent.ejector_steam.water
    ) * (1.0 + 0.025 * noise[:, 1])
    power = 230.0 + (520.0 + 23.2 * running.rate) * np.where(running.fraction > 0, 1.0, 0.08)
    return Utilities(
        steam=steam,
        conditioner_steam=conditioner,
        dryer_steam=dryer,
        power=power * (1.0 + 0.035 * noise[:, 2]),
        makeup=9.0 * (0.3 + 0.7 * running.fraction) * (1 + 0.01 * (weather.temperature - 12.0)),
        effluent=0.75 + 0.98 * solvent.waste_water.total + 0.1 * np.abs(noise[:, 0]),
    )
