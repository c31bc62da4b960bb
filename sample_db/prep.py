"""Preparation: cracking, dehulling by aspiration, conditioning, flaking.

The relations (fines against moisture, thickness against temperature, pressure and wear) are
common practice, no source; the coefficients are chosen to reproduce the plant's targets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.beans import Beans
from sample_db.flow import Flow
from sample_db.running import Running
from sample_db.series import Array, ar1, between, lag, ramp, stream
from sample_db.story import MILLS, POSITIONS, Story

HULL_SHARE = 0.0640
HULL_PROTEIN_DRY, HULL_FIBRE_DRY = 11.67, 40.0
THICKNESS = 0.350
WEAR_PER_DAY = 0.00022


@dataclass(frozen=True, slots=True)
class Prep:
    """Flows in t/h; qualities in %; `thickness` in mm with shape (steps, mills, positions)."""

    hulls: Flow
    conditioner_vapour: Flow
    flakes: Flow
    hull_left: Array
    hull_oil: Array
    hull_protein: Array
    hull_fibre: Array
    fines: Array
    cracks_temperature: Array
    cracks_moisture: Array
    flake_temperature: Array
    thickness: Array
    roll_pressure: Array
    mill_running: Array
    mill_load: Array
    regrind_hours: Array
    flake_protein: Array
    flake_fibre: Array

    @property
    def mean_thickness(self) -> Array:
        """Mean over the running mills and their positions, mm."""
        weight = self.mill_running[:, :, None] + 1e-12
        return np.asarray(
            (self.thickness * weight).sum(axis=(1, 2)) / (weight.sum(axis=(1, 2)) * len(POSITIONS))
        )


def _mills_running(time: Array, story: Story) -> Array:
    running = np.ones((len(time), len(MILLS)))
    for stop in story.mill_stops:
        inside = between(time, stop.start.timestamp(), stop.end.timestamp())
        running[:, stop.mill] *= 1.0 - inside
    return running


def _age(time: Array, story: Story) -> Array:
    """Days since each mill's last regrind, shape (steps, mills)."""
    age = np.empty((len(time), len(MILLS)))
    for mill in range(len(MILLS)):
        grinds = [time[0] - 86400.0 * (23.0 + 14.0 * mill)]
        grinds += [s.end.timestamp() for s in story.mill_stops if s.mill == mill and s.regrind]
        since = time[:, None] - np.array(sorted(grinds))
        age[:, mill] = np.where(since >= 0, since, np.inf).min(axis=1) / 86400.0
    return age


def _wear(time: Array, story: Story, age: Array) -> Array:
    """Thickening by wear, mm: slow at all mills until their regrind, fast where the story says."""
    sides = np.array([0.8, 1.2, 1.0])
    wear = WEAR_PER_DAY * (np.minimum(age, 160.0) - 50.0)[:, :, None] * sides
    for drift in story.mill_drifts:
        rise = ramp(time, drift.start.timestamp(), drift.end.timestamp(), drift.size)
        wear[:, drift.mill, drift.position] += rise
    return np.asarray(wear)


def _thickness(seed: int, wear: Array, temperature: Array, pressure: Array, warmth: Array) -> Array:
    rng, shape = stream(seed, "thickness"), wear.shape
    own = 0.003 * rng.standard_normal((len(MILLS), len(POSITIONS)))
    slow = ar1(rng, shape[0], hours=np.full(len(MILLS) * 3, 40.0), sigma=0.0072).reshape(shape)
    mill = ar1(rng, shape[0], hours=np.full(len(MILLS), 14.0), sigma=0.0065)
    common = -0.0033 * (temperature - 66.0) + 0.012 * (1.0 - warmth)
    load = -0.0015 * (pressure - 55.0)
    base = THICKNESS + own + slow + wear
    return np.asarray(base + (common[:, None] + mill + load)[:, :, None])


def _hulls(seed: int, beans: Beans) -> tuple[Flow, Array, Array]:
    """Hull stream, hulls left in the cracks (%) and oil in the hulls (%)."""
    noise = ar1(stream(seed, "hulls"), len(beans.moisture), hours=np.array([20.0, 16.0]))
    wet = beans.moisture - 11.0
    share = HULL_SHARE * (1.0 - 0.04 * wet + 0.030 * noise[:, 0])
    total, oil = beans.flow.total * share, 1.0 + 0.08 * noise[:, 1] + 0.05 * (-wet)
    moisture = beans.moisture - 1.0
    water, fat = total * moisture / 100.0, total * oil / 100.0
    left = np.clip(1.5 + 0.30 * wet - 6.0 * (share / HULL_SHARE - 1.0), 0.2, None)
    return Flow.of(solids=total - water - fat, oil=fat, water=water), left, oil


def _dry_mix(part: Array, whole: Flow, taken: float, removed: Flow) -> Array:
    """Per cent of dry matter (with oil) left after `removed` went with `taken` per cent dry."""
    dry, gone = whole.solids + whole.oil, removed.solids + removed.oil
    rest = np.where(dry - gone > 0, dry - gone, 1.0)
    return np.asarray((part * dry - taken * gone) / rest)


def make_prep(seed: int, time: Array, story: Story, beans: Beans, running: Running) -> Prep:
    """Preparation for each step."""
    rng, steps = stream(seed, "prep"), len(time)
    noise = ar1(rng, steps, hours=np.array([7.0, 9.0, 30.0]), sigma=1.0)
    hulls, left, hull_oil = _hulls(seed, beans)
    cold = np.clip(14.0 - beans.temperature, 0.0, None)
    temperature = 66.0 + 1.55 * noise[:, 0] - 0.07 * cold - 7.0 * (1.0 - running.warmth)
    moisture = (
        10.0
        + 0.42 * lag(beans.moisture - 11.0, 1.0)
        + 0.20 * noise[:, 1]
        - 0.03 * (temperature - 66.0)
    )
    meats = beans.flow - hulls
    dry = meats.solids + meats.oil
    flake_moisture = moisture - 0.15
    flake_water = dry * flake_moisture / (100.0 - flake_moisture)
    vapour = Flow.of(water=meats.water - flake_water)
    mills = _mills_running(time, story)
    share = running.rate[:, None] * mills / (mills.sum(axis=1, keepdims=True) * 62.5 / len(MILLS))
    hours = np.full(len(MILLS), 30.0)
    pressure = 55.0 + ar1(rng, steps, hours=hours, sigma=3.0) + 5.0 * (share - 1.0)
    age = _age(time, story)
    thick = _thickness(seed, _wear(time, story, age), temperature, pressure, running.warmth)
    fines = 6.0 + 0.5 * noise[:, 2] + 2.0 * np.clip(9.8 - moisture, 0, None) + 0.03 * cold
    wetness = (100.0 - beans.moisture) / 100.0
    return Prep(
        hulls=hulls,
        conditioner_vapour=vapour,
        flakes=meats - vapour,
        hull_left=left,
        hull_oil=hull_oil,
        hull_protein=np.full(steps, HULL_PROTEIN_DRY * 0.9) + 0.15 * noise[:, 2],
        hull_fibre=np.full(steps, HULL_FIBRE_DRY * 0.9) - 0.4 * noise[:, 2],
        fines=fines,
        cracks_temperature=temperature,
        cracks_moisture=moisture,
        flake_temperature=temperature - 6.0 + 0.2 * noise[:, 2],
        thickness=thick,
        roll_pressure=pressure,
        mill_running=mills,
        mill_load=share,
        regrind_hours=age * 24.0,
        flake_protein=_dry_mix(beans.protein / wetness, beans.flow, HULL_PROTEIN_DRY, hulls),
        flake_fibre=_dry_mix(beans.fibre_dry, beans.flow, HULL_FIBRE_DRY, hulls),
    )
