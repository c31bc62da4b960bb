"""Beans: lots of two to three days, a season of moisture, and the day bin that mixes them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.flow import Flow
from sample_db.series import Array, ar1, held, lag, stream
from sample_db.weather import Weather

OIL_DRY, PROTEIN_DRY, FIBRE_DRY = 21.9, 40.0, 5.2
MOISTURE = 11.0


@dataclass(frozen=True, slots=True)
class Beans:
    """Beans to the mills: `flow` in t/h; qualities in % as is unless said; temperature in degC."""

    flow: Flow
    moisture: Array
    oil: Array
    protein: Array
    fibre_dry: Array
    foreign: Array
    splits: Array
    temperature: Array
    free_acid: Array


def make_beans(seed: int, rate: Array, year_day: Array, weather: Weather) -> Beans:
    """Beans fed at `rate` (t/h). Oil, water and solids of the flow add up to the rate exactly."""
    rng, steps = stream(seed, "beans"), len(rate)
    starts = np.concatenate([[0], np.cumsum(rng.integers(90, 160, size=steps // 90 + 2))])
    lots = rng.standard_normal((len(starts), 6))
    mixed = np.stack([lag(held(lots[:, i], starts, steps), 7.0) for i in range(6)], axis=1)
    drift = ar1(rng, steps, hours=np.array([300.0, 300.0, 9.0]), sigma=np.array([1.0, 1.0, 1.0]))
    harvest = np.cos(2 * np.pi * (year_day - 295.0) / 365.25)
    moisture = MOISTURE + 0.22 * harvest + 0.36 * mixed[:, 0] + 0.14 * drift[:, 2]
    oil_dry = OIL_DRY + 0.10 * harvest + 0.42 * mixed[:, 1] + 0.25 * drift[:, 0]
    protein_dry = PROTEIN_DRY - 0.60 * (oil_dry - OIL_DRY) + 0.20 * mixed[:, 2]
    dry = 100.0 - moisture
    water, oil = rate * moisture / 100.0, rate * dry * oil_dry / 1e4
    return Beans(
        flow=Flow(solids=rate - water - oil, oil=oil, water=water, solvent=np.zeros_like(rate)),
        moisture=moisture,
        oil=oil_dry * dry / 100.0,
        protein=protein_dry * dry / 100.0,
        fibre_dry=FIBRE_DRY + 0.05 * mixed[:, 3],
        foreign=np.clip(0.95 + 0.26 * mixed[:, 4] + 0.08 * harvest, 0.2, None),
        splits=np.clip(12.0 + 2.8 * mixed[:, 5] - 1.6 * (moisture - MOISTURE), 3.0, None),
        temperature=10.5 + 0.52 * lag(weather.temperature, 96.0) + 0.8 * mixed[:, 3],
        free_acid=np.clip(0.55 + 0.07 * drift[:, 1] - 0.03 * harvest, 0.3, None),
    )
