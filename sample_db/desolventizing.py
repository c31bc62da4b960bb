"""Desolventizer-toaster: heat balance, condensed sparge steam, residual solvent, toasting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.extraction import Extraction
from sample_db.flow import Flow
from sample_db.properties import (
    HEXANE_LATENT,
    HEXANE_VAPOUR_HEAT,
    MEAL_HEAT,
    STEAM_LATENT,
    WATER_HEAT,
    water_per_hexane,
)
from sample_db.running import Running
from sample_db.series import Array, ar1, between, lag, stream
from sample_db.story import VALVE_TOAST_DROP, VALVE_TRAY, VALVE_TRAY_DROP, VALVE_VAPOUR_DROP, Story

TRAYS = (68.0, 72.0, 85.0, 96.0, 103.0, 105.0, 106.0)
"""Meal temperature on each tray, degC, at the targets."""
INDIRECT_MJ_PER_T = 69.7
"""Heat through the jackets per tonne of beans, MJ/t, at 900 kPa(g)."""


@dataclass(frozen=True, slots=True)
class Desolventizing:
    """Flows in t/h; temperatures in degC, `trays` with shape (steps, 7); quality of the meal."""

    sparge_steam: Flow
    vapour: Flow
    meal: Flow
    condensed: Array
    vapour_temperature: Array
    trays: Array
    jacket_pressure: Array
    retention: Array
    solvent_ppm: Array
    urease: Array
    solubility: Array
    indirect_heat: Array


def residual_solvent(vapour: Array, minutes: Array, drainage: Array) -> Array:
    """Solvent left in the meal, mg/kg: 250 at 72 degC, 28 min, 30 % solvent; from memory.

    Below 66 degC the rise is steeper.
    """
    cold = np.clip(66.0 - vapour, 0.0, None)
    raised = -0.22 * (vapour - 72.0) - 0.05 * (minutes - 28.0) + 0.12 * (drainage - 30.0)
    return np.asarray(np.clip(226.0 * np.exp(raised + 0.25 * cold), 40.0, 50000.0))


def urease(toast: Array, minutes: Array, moisture: Array) -> Array:
    """Urease activity, pH rise, by first-order destruction: 0.10 at 105 degC, 28 min, 18.5 %."""
    rate = 0.107 * np.exp(0.06 * (toast - 105.0)) * np.exp(0.10 * (moisture - 18.5))
    return np.asarray(2.0 * np.exp(-rate * minutes))


def solubility(toast: Array, minutes: Array, moisture: Array, activity: Array) -> Array:
    """Protein solubility in KOH, %; falls with toasting; 80 at the targets; from memory."""
    over = (toast - 105.0) * 2.0 + (minutes - 28.0) * 0.6 + (moisture - 18.5)
    return np.asarray(79.0 - 0.45 * over + 2.0 * np.minimum(1.0, activity / 0.2))


def _valve(time: Array, story: Story) -> Array:
    """How far the stuck valve has cooled the trays, 0 to 1."""
    if story.steam_valve is None:
        return np.zeros_like(time)
    inside = between(time, story.steam_valve.start.timestamp(), story.steam_valve.end.timestamp())
    return lag(inside, 1.1)


def _trays(noise: Array, valve: Array, cold: Array) -> Array:
    trays = np.array(TRAYS) + noise * np.array([2.4, 2.4, 2.5, 2.5, 1.9, 1.8, 1.8])
    trays[:, VALVE_TRAY - 1] -= VALVE_TRAY_DROP * valve
    trays[:, VALVE_TRAY:] -= (VALVE_TOAST_DROP * valve)[:, None]
    return np.asarray(trays - cold[:, None] * np.array([6.0, 6.0, 8.0, 8.0, 7.0, 6.0, 6.0]))


def make_desolventizing(
    seed: int, time: Array, story: Story, extraction: Extraction, running: Running
) -> Desolventizing:
    """Heat and mass balance for each step.

    Sparge steam = what condenses into the meal + the water that leaves with the vapour.
    """
    rng, steps = stream(seed, "desolventizing"), len(time)
    noise = ar1(rng, steps, hours=np.array([6.0, 9.0, 16.0] + [7.0] * 7), sigma=1.0)
    cold, valve = 1.0 - running.warmth, _valve(time, story)
    dome = 72.3 + 1.15 * noise[:, 0] - VALVE_VAPOUR_DROP * valve - 3.0 * cold
    shared = 0.45 * noise[:, :1]
    trays = _trays(0.9 * noise[:, 3:] + shared, valve, cold)
    jackets = 900.0 + 44.0 * noise[:, 1]
    retention = 28.0 * (1.0 + 0.035 * noise[:, 2]) * np.clip(62.5 / running.wanted, 0.9, 1.2)
    spent, moisture_guess = extraction.spent_flakes, 18.5
    ppm = residual_solvent(dome, retention, extraction.drainage)
    dry = spent.solids + spent.oil
    left = dry / (1.0 - moisture_guess / 100.0) * ppm / 1e6
    driven = spent.solvent - left
    outlet = trays[:, -1] - 1.0
    indirect = (
        INDIRECT_MJ_PER_T * running.rate * (1.0 + 0.0007 * (jackets - 900.0)) * (1.0 - 0.16 * valve)
    )
    need = driven * (HEXANE_LATENT + HEXANE_VAPOUR_HEAT * (dome - 57.0)) + (
        dry * MEAL_HEAT + 1.55 * spent.water * WATER_HEAT
    ) * (outlet - 57.0)
    condensed = np.clip(need - indirect, 0.0, None) / STEAM_LATENT
    leaving = driven * water_per_hexane(dome)
    meal = Flow(spent.solids, spent.oil, spent.water + condensed, left)
    moisture, toast = meal.share("water"), trays[:, 4:].mean(axis=1) + 0.33
    activity = urease(toast, retention, np.where(moisture > 0, moisture, 18.5))
    return Desolventizing(
        sparge_steam=Flow.of(water=condensed + leaving),
        vapour=Flow.of(water=leaving, solvent=driven),
        meal=meal,
        condensed=condensed,
        vapour_temperature=dome,
        trays=trays,
        jacket_pressure=jackets,
        retention=retention,
        solvent_ppm=ppm,
        urease=activity,
        solubility=solubility(toast, retention, moisture, activity),
        indirect_heat=indirect,
    )
