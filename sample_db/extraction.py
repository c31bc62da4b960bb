"""Extraction: solvent to flakes, full miscella, drainage, residual oil.

Residual oil follows thickness, wash time, temperature, solvent ratio and fines in the form
a + b (th/0.32)^2.2 (45/t)^0.9 exp(-0.025 (T - 57)) (0.9/R)^0.8; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.flow import Flow
from sample_db.prep import Prep
from sample_db.properties import hexane_density, miscella_density
from sample_db.running import Running
from sample_db.series import Array, ar1, delayed, lag, stream

SOLVENT_RATIO = 0.896
"""Fresh solvent to flakes, kg/kg: 82 m3/h at 57 degC to 57.8 t/h."""
DRAINED_SOLVENT = 30.0
"""Solvent in drained spent flakes, % of the wet flakes."""


@dataclass(frozen=True, slots=True)
class Extraction:
    """Flows in t/h, temperatures in degC, concentrations in % by mass, volumes in m3/h."""

    fresh_solvent: Flow
    full_miscella: Flow
    spent_flakes: Flow
    solvent_temperature: Array
    flake_temperature: Array
    residence: Array
    residual_oil: Array
    ratio: Array
    solvent_volume: Array
    miscella_volume: Array
    drainage: Array
    pressure: Array
    vapour_temperature: Array
    bed_depth: Array


def residual_oil(
    thickness: Array, residence: Array, celsius: Array, ratio: Array, fines: Array
) -> Array:
    """Oil left in spent flakes, % of dry solvent-free solids with oil; 0.70 at the targets."""
    return np.asarray(
        0.335
        + 0.30
        * (thickness / 0.32) ** 2.2
        * (45.0 / residence) ** 0.9
        * np.exp(-0.025 * (celsius - 57.0))
        * (0.9 / ratio) ** 0.8
        * (1.0 + 0.02 * np.clip(fines - 8.0, 0.0, None))
    )


def make_extraction(seed: int, prep: Prep, running: Running, cooling: Array) -> Extraction:
    """Extraction for each step; `cooling` is the cooling-water supply (degC), which moves pressure."""
    rng, steps = stream(seed, "extraction"), len(running.rate)
    noise = ar1(rng, steps, hours=np.array([8.0, 6.0, 5.0, 20.0, 9.0, 7.0]), sigma=1.0)
    cold = 1.0 - running.warmth
    solvent_temperature = 57.0 + 1.3 * noise[:, 0] - 4.0 * cold
    flake_temperature = lag(prep.flake_temperature, 0.7)
    residence = 45.0 * (1.0 + 0.035 * noise[:, 3]) * np.clip(62.5 / running.wanted, 0.9, 1.3)
    # The operators trim solvent towards the miscella strength they want, slowly.
    ratio = SOLVENT_RATIO * (1.0 + 0.020 * noise[:, 1] + 0.014 * noise[:, 3]) + 0.10 * cold
    fresh = prep.flakes.total * ratio
    thick = delayed(lag(prep.mean_thickness, 0.6), 0.5)
    wash = 0.5 * (solvent_temperature + flake_temperature) - 1.5
    left = residual_oil(thick, residence, wash, ratio, prep.fines) + 0.018 * noise[:, 4]
    kept_oil = prep.flakes.solids * left / (100.0 - left)
    flake_moisture = prep.flakes.share("water")
    drained = (
        DRAINED_SOLVENT
        + 0.30 * (prep.fines - 6.0)
        + 1.2 * np.clip(flake_moisture - 10.5, 0, None)
        - 0.10 * (wash - 57.0)
        + 0.55 * noise[:, 2]
        + 0.05 * (running.rate / 0.625 - 100.0) * running.fraction
        + 2.0 * cold
    )
    rest = prep.flakes.solids + kept_oil + prep.flakes.water
    held = rest * drained / (100.0 - drained)
    spent = Flow(solids=prep.flakes.solids, oil=kept_oil, water=prep.flakes.water, solvent=held)
    miscella = Flow.of(oil=prep.flakes.oil - kept_oil, solvent=fresh - held)
    strength = miscella.share("oil") / 100.0
    return Extraction(
        fresh_solvent=Flow.of(solvent=fresh),
        full_miscella=miscella,
        spent_flakes=spent,
        solvent_temperature=solvent_temperature,
        flake_temperature=flake_temperature,
        residence=residence,
        residual_oil=left,
        ratio=ratio,
        solvent_volume=fresh / hexane_density(solvent_temperature),
        miscella_volume=miscella.total / miscella_density(strength, 52.0),
        drainage=drained,
        pressure=-88.0 + 26.0 * noise[:, 5] + 2.2 * (cooling - 22.0) + 4.0 * (wash - 57.0),
        vapour_temperature=54.0 + 0.5 * (wash - 57.0) + 2.3 * noise[:, 4] - 5.0 * cold,
        bed_depth=2.3 + 0.135 * noise[:, 3] + 0.5 * (running.rate / 62.5 - 1.0) * running.fraction,
    )
