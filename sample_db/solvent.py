"""The solvent account: where it is lost, what is in the tanks, deliveries and transfers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.cooling import Cooling
from sample_db.desolventizing import Desolventizing
from sample_db.drying import Drying
from sample_db.evaporation import Evaporation
from sample_db.extraction import Extraction
from sample_db.flow import Flow, total_of
from sample_db.properties import hexane_density, hexane_kpa
from sample_db.running import Running
from sample_db.series import STEP_HOURS, Array, ar1, between, lag, stream
from sample_db.story import SHUTDOWN_SOLVENT_T, Story
from sample_db.weather import Weather

AIR_NM3_H = 165.0
"""Air through the vent at the planned rate, Nm3/h."""
WORK_TANK_M3, WORK_LOW_M3, WORK_FILL_M3 = 25.447, 14.2, 18.6
STORE_TANK_M3, STORE_ORDER_M3, TRUCK_M3 = 63.617, 52.0, 30.0
DRAINED_T = 11.0
"""Solvent that leaves the process for the tanks when the extractor is emptied, t."""
WASTE_MG_L = 5.0


@dataclass(frozen=True, slots=True)
class Solvent:
    """Losses in t/h, stocks in t, volumes in m3; `received` and `moved` in t per step."""

    meal_loss: Array
    oil_loss: Array
    vent_loss: Array
    waste_loss: Array
    fugitive_loss: Array
    waste_water: Flow
    returned: Array
    recovered: Array
    efficiency: Array
    hot_oil: Array
    cold_oil: Array
    vent_lel: Array
    waste_ppm: Array
    process_stock: Array
    work_stock: Array
    store_stock: Array
    received: Array
    moved: Array
    store_temperature: Array
    ejector_steam: Flow

    @property
    def loss(self) -> Array:
        """All losses together, t/h."""
        return (
            self.meal_loss + self.oil_loss + self.vent_loss + self.waste_loss + self.fugitive_loss
        )


def vent_hexane(celsius: Array) -> Array:
    """Solvent in saturated vent gas, kg per Nm3 of air: 3.84 y/(1 - y), y = p/101.325."""
    share = np.clip(hexane_kpa(celsius) / 101.325, 0.0, 0.9)
    return np.asarray(3.84 * share / (1.0 - share))


def absorber(cold_oil: Array, gas: Array, hot_oil: Array) -> Array:
    """Share of the solvent that the vent scrubber takes out of the gas; from memory."""
    raw = (
        0.964
        - 0.004 * (cold_oil - 30.0)
        - 0.003 * (gas - 20.0)
        - 0.0012 * np.clip(105.0 - hot_oil, 0.0, None)
    )
    return np.asarray(np.clip(raw, 0.6, 0.995))


def _shutdown_loss(time: Array, story: Story) -> Array:
    """Extra loss around the planned shutdown, t/h, adding up to its size."""
    stop = story.shutdown
    if stop is None:
        return np.zeros_like(time)
    drain, refill = 18.0, 10.0
    first = between(time, stop.start.timestamp(), stop.start.timestamp() + drain * 3600)
    last = between(time, stop.end.timestamp(), stop.end.timestamp() + refill * 3600)
    shape = 0.65 * first / max(first.sum(), 1.0) + 0.35 * last / max(last.sum(), 1.0)
    return np.asarray(SHUTDOWN_SOLVENT_T * shape / STEP_HOURS)


def _process_stock(seed: int, time: Array, story: Story, running: Running) -> Array:
    """Solvent held in vessels and pipes, t; drained for the planned shutdown."""
    noise = ar1(stream(seed, "holdup"), len(time), hours=10.0, sigma=0.32)
    held = 46.0 + noise + 4.0 * (lag(running.rate, 2.0) / 62.5 - 1.0) * running.fraction
    stop = story.shutdown
    if stop is not None:
        inside = between(time, stop.start.timestamp() + 6 * 3600, stop.end.timestamp() - 8 * 3600)
        held = held - DRAINED_T * lag(inside, 4.0)
    return held


def _hand_over(
    loss: Array, process: Array, density: Array, hours: Array
) -> tuple[Array, Array, Array, Array]:
    """Follow work tank and store step by step: (work, store, received, moved), all in t.

    Work tank and store together lose exactly what is lost and what the process takes up;
    transfers are made when the work tank is low (and back when it is too full), a truck comes by
    day when the store is low.
    """
    steps = len(loss)
    work, store = np.empty(steps), np.empty(steps)
    received, moved = np.zeros(steps), np.zeros(steps)
    tank, stock, taken = 10.9, 52.0, np.diff(process, prepend=process[0])
    rho, lost, hour = density.tolist(), (loss * STEP_HOURS).tolist(), hours.tolist()
    take = taken.tolist()
    for i in range(steps):
        tank -= lost[i] + take[i]
        volume = tank / rho[i]
        if volume < WORK_LOW_M3 or volume > 21.0:
            moved[i] = WORK_FILL_M3 * rho[i] - tank
        if stock / rho[i] < STORE_ORDER_M3 and 9.0 <= hour[i] < 9.5:
            received[i] = TRUCK_M3 * rho[i] * (0.97 + 0.05 * ((i * 7919) % 13) / 13.0)
        tank += moved[i]
        stock += received[i] - moved[i]
        work[i], store[i] = tank, stock
    return work, store, received, moved


def _scrubber(noise: Array, cooling: Cooling, running: Running) -> dict[str, Array]:
    """Vent gas through the scrubber: what is recovered and what is lost, t/h."""
    cold_oil = 29.6 + 0.55 * (cooling.supply - 23.0) + 1.7 * noise[:, 0]
    hot_oil = 105.0 + 2.6 * noise[:, 1] - 4.0 * (1.0 - running.warmth)
    efficiency = absorber(cold_oil, cooling.vent_gas, hot_oil)
    entering = vent_hexane(cooling.outlets[:, 3]) * AIR_NM3_H / 1000.0 * running.fraction
    lost = entering * (1.0 - efficiency)
    return {
        "cold_oil": cold_oil,
        "hot_oil": hot_oil,
        "efficiency": efficiency,
        "recovered": entering - lost,
        "vent_loss": lost,
        "vent_lel": 7.5 * lost / 0.0062 * (1.0 + 0.06 * noise[:, 0]) + 0.8,
    }


def _stocks(process: Array, loss: Array, local_hour: Array, weather: Weather) -> dict[str, Array]:
    """Stocks of process, work tank and store that follow from the losses, t."""
    temperature = 8.0 + 0.72 * lag(weather.temperature, 48.0)
    density = hexane_density(temperature)
    work, store, received, moved = _hand_over(loss, process, density, local_hour)
    return {
        "process_stock": process,
        "work_stock": work,
        "store_stock": store,
        "received": received,
        "moved": moved,
        "store_temperature": temperature,
    }


def make_solvent(
    seed: int,
    time: Array,
    local_hour: Array,
    story: Story,
    parts: tuple[Extraction, Desolventizing, Drying, Evaporation],
    cooling: Cooling,
    weather: Weather,
    running: Running,
) -> Solvent:
    """Losses and stocks for each step. Fresh solvent = returned + all losses, exactly."""
    _extraction, toaster, _drying, evaporation = parts
    rng, steps = stream(seed, "solvent"), len(time)
    noise = ar1(rng, steps, hours=np.array([8.0, 10.0, 30.0, 9.0, 12.0]), sigma=1.0)
    scrubber = _scrubber(noise, cooling, running)
    fugitive = running.rate * 0.25e-3 * np.exp(0.10 * noise[:, 2]) + _shutdown_loss(time, story)
    ejector = Flow.of(water=0.72 * running.fraction * (1.0 + 0.02 * noise[:, 3]))
    waste_ppm = WASTE_MG_L * np.exp(0.22 * noise[:, 4])
    water = toaster.vapour.water + evaporation.stripper_vapour.water + ejector.water
    waste = Flow.of(water=water, solvent=water * waste_ppm / 1e6)
    meal, oil, vent = toaster.meal.solvent, evaporation.oil.solvent, scrubber["vent_loss"]
    condensed = total_of(
        evaporation.first_vapour,
        evaporation.second_vapour,
        evaporation.stripper_vapour,
        toaster.vapour,
    ).solvent
    loss = meal + oil + vent + waste.solvent + fugitive
    process = _process_stock(seed, time, story, running)
    return Solvent(
        meal_loss=meal,
        oil_loss=oil,
        waste_loss=waste.solvent,
        fugitive_loss=fugitive,
        waste_water=waste,
        waste_ppm=waste_ppm,
        ejector_steam=ejector,
        returned=condensed - vent - waste.solvent - fugitive,
        **scrubber,
        **_stocks(process, loss, local_hour, weather),
    )
