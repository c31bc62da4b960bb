"""Miscella evaporation in two stages, stripping with live steam, oil drying."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.extraction import Extraction
from sample_db.flow import Flow
from sample_db.properties import flash_point
from sample_db.running import Running
from sample_db.series import Array, ar1, stream


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Flows in t/h, temperatures in degC, absolute pressures in kPa, concentrations in % oil."""

    first_vapour: Flow
    first_out: Flow
    second_vapour: Flow
    second_out: Flow
    stripping_steam: Flow
    stripper_vapour: Flow
    oil: Flow
    first_temperature: Array
    first_pressure: Array
    first_oil: Array
    second_temperature: Array
    second_pressure: Array
    second_oil: Array
    stripper_temperature: Array
    stripper_pressure: Array
    dryer_pressure: Array
    steam_kg_h: Array
    solvent_ppm: Array
    oil_moisture: Array
    flash: Array
    oil_temperature: Array


def stripped_ppm(celsius: Array, kpa: Array, steam: Array, strength: Array) -> Array:
    """Residual solvent in the oil, mg/kg: 60 at 108 degC, 9 kPa, 380 kg/h, 95.5 %; from memory."""
    return np.asarray(
        58.0
        * np.exp(-0.06 * (celsius - 108.0))
        * (kpa / 9.0) ** 1.2
        * (380.0 / steam) ** 1.5
        * np.exp(0.15 * (95.5 - strength))
    )


def _concentrate(feed: Flow, strength: Array) -> tuple[Flow, Flow]:
    """Boil solvent off `feed` to `strength` (% oil): (what is left, vapour)."""
    solvent = feed.oil * (100.0 - strength) / strength
    left = Flow.of(oil=feed.oil, solvent=np.minimum(solvent, feed.solvent))
    return left, feed - left


def make_evaporation(
    seed: int, extraction: Extraction, running: Running, cooling: Array
) -> Evaporation:
    """Evaporation for each step; warmer cooling water (degC) weakens the vacuum."""
    rng, steps = stream(seed, "evaporation"), len(running.rate)
    hours = np.array([5.0, 7.0, 6.0, 7.0, 6.0, 9.0, 9.0, 6.0, 12.0, 8.0])
    noise = ar1(rng, steps, hours=hours, sigma=1.0)
    cold, warm = 1.0 - running.warmth, cooling - 22.0
    p1 = 39.5 + 0.55 * warm + 3.5 * noise[:, 0] + 4.0 * cold
    p2 = 39.8 + 0.45 * warm + 3.6 * noise[:, 1] + 4.0 * cold
    t1 = 53.0 + 0.55 * (p1 - 40.0) + 1.8 * noise[:, 2] - 3.0 * cold
    t2 = 100.0 + 2.6 * noise[:, 3] - 6.0 * cold
    c1 = 72.0 + 1.3 * (t1 - 53.0) - 0.85 * (p1 - 40.0) + 0.8 * noise[:, 4] - 4.0 * cold
    c2 = 95.6 + 0.17 * (t2 - 100.0) - 0.12 * (p2 - 40.0) + 0.08 * (c1 - 72.0) - 1.5 * cold
    c1, c2 = np.clip(c1, 45.0, 88.0), np.clip(c2, 85.0, 98.8)
    ts = 108.0 + 2.4 * noise[:, 5] - 5.0 * cold
    ps = 8.8 + 0.13 * warm + 1.0 * noise[:, 6] + 1.5 * cold
    steam = 385.0 + 38.0 * noise[:, 7]
    left1, vapour1 = _concentrate(extraction.full_miscella, c1)
    left2, vapour2 = _concentrate(left1, c2)
    ppm = np.clip(stripped_ppm(ts, ps, steam, c2), 10.0, 20000.0)
    moisture = np.clip(0.10 + 0.016 * noise[:, 8] + 0.004 * warm + 0.05 * cold, 0.02, None)
    stripping = steam / 1000.0 * np.minimum(running.rate / 30.0, 1.0)
    oil = Flow.of(oil=left2.oil, water=left2.oil * moisture / 100.0, solvent=left2.oil * ppm / 1e6)
    fed = Flow.of(water=stripping)
    return Evaporation(
        first_vapour=vapour1,
        first_out=left1,
        second_vapour=vapour2,
        second_out=left2,
        stripping_steam=fed,
        stripper_vapour=left2 + fed - oil,
        oil=oil,
        first_temperature=t1,
        first_pressure=p1,
        first_oil=c1,
        second_temperature=t2,
        second_pressure=p2,
        second_oil=c2,
        stripper_temperature=ts,
        stripper_pressure=ps,
        dryer_pressure=5.9 + 0.09 * warm + 0.75 * noise[:, 9] + 1.0 * cold,
        steam_kg_h=steam,
        solvent_ppm=ppm,
        oil_moisture=moisture,
        flash=flash_point(ppm) - 42.0,
        oil_temperature=45.0 + 0.35 * warm + 3.0 * noise[:, 9],
    )
