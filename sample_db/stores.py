"""Tanks, bins and what is loaded out: levels that follow the flows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logbook.plant.model import Plant
from sample_db.gauges_back import solvent_volumes
from sample_db.properties import oil_density
from sample_db.series import STEP_HOURS, Array, lag, stream
from sample_db.streams import Streams

OIL_TANKS, MEAL_BINS = ("ot1", "ot2"), ("mb1", "mb2", "mb3", "mb4")
OIL_TANK_M3, MEAL_BIN_T, PELLET_BIN_T, DAY_BIN_T = 603.19, 2200.0, 620.0, 620.0
BEANS_PER_HOUR = 98.0
"""Rate at which beans come from the silos into the day bin while its feed runs, t/h."""


@dataclass(slots=True)
class _Pool:
    """Vessels filled one after the other; the fullest of the others is loaded out."""

    stocks: list[float]
    full: float
    filling: int = 0

    def fill(self, amount: float) -> None:
        """Add to the vessel being filled, turning to the emptiest when it is full."""
        if self.stocks[self.filling] + amount > self.full:
            self.filling = min(range(len(self.stocks)), key=self.stocks.__getitem__)
        self.stocks[self.filling] += amount

    @property
    def pressing(self) -> bool:
        """True where no vessel but the one being filled has room for long."""
        return all(s > 0.8 * self.full for i, s in enumerate(self.stocks) if i != self.filling)

    def load(self, amount: float, keep: float) -> float:
        """Take up to `amount` from the fullest vessel that is not being filled, leaving `keep`."""
        others = [i for i in range(len(self.stocks)) if i != self.filling] or [0]
        source = max(others, key=self.stocks.__getitem__)
        taken = max(min(amount, self.stocks[source] - keep), 0.0)
        self.stocks[source] -= taken
        return taken


@dataclass(frozen=True, slots=True)
class Stores:
    """Stocks over time (t, shape (steps, vessels)) and what was loaded out in each step (t)."""

    oil: Array
    meal: Array
    pellets: Array
    day_bin: Array
    oil_loaded: Array
    meal_loaded: Array
    pellets_loaded: Array
    beans_received: Array


def _pool(inflow: Array, pool: _Pool, plan: Array, keep: float) -> tuple[Array, Array]:
    stocks, loaded = np.empty((len(inflow), len(pool.stocks))), np.empty(len(inflow))
    most = float(plan.max())
    for i, (amount, wanted) in enumerate(zip(inflow.tolist(), plan.tolist(), strict=True)):
        pool.fill(amount)
        # When nearly all is full there is loading at night too.
        asked = wanted or pool.pressing * most
        loaded[i] = pool.load(asked, keep) if asked > 0 else 0.0
        stocks[i] = pool.stocks
    return stocks, loaded


def _plan(streams: Streams, seed: int, name: str, per_hour: float, pressing: Array) -> Array:
    """Wanted load-out per step, t: by day on working days, some nights, at a varying rate."""
    hour = ((streams.time - streams.time[0]) / 3600.0) % 24.0
    day = ((streams.time - streams.time[0]) // 86400.0).astype(int)
    draw = stream(seed, name).random((day.max() + 1, 2))
    working = hour < 11.0 + 5.0 * draw[day, 0]
    idle = draw[day, 1] < 0.10
    return np.where(working & ~idle, per_hour * STEP_HOURS * pressing, 0.0)


def make_stores(streams: Streams, seed: int) -> Stores:
    """Follow the stores step by step."""
    oil = streams.evaporation.oil.total * STEP_HOURS
    meal = streams.drying.meal.total * STEP_HOURS
    hulls = (streams.prep.hulls - streams.drying.added_hulls).total * STEP_HOURS * 1.012
    ones = np.ones(len(streams.time))
    oil_stock, oil_out = _pool(
        oil, _Pool([250.0, 380.0], 500.0), _plan(streams, seed, "load oil", 34.0, ones), 45.0
    )
    meal_stock, meal_out = _pool(
        meal,
        _Pool([900.0, 1500.0, 400.0, 1200.0], 1960.0),
        _plan(streams, seed, "load meal", 92.0, ones),
        190.0,
    )
    pellet_stock, pellet_out = _pool(
        hulls, _Pool([260.0], 560.0), _plan(streams, seed, "load pellets", 8.8, ones), 45.0
    )
    day_bin, feed = _day_bin(streams)
    return Stores(oil_stock, meal_stock, pellet_stock, day_bin, oil_out, meal_out, pellet_out, feed)


def _day_bin(streams: Streams) -> tuple[Array, Array]:
    """Day-bin stock and what was fed to it, t: the feed starts at 55 % and stops at 84 %."""
    used = (streams.running.rate * STEP_HOURS).tolist()
    stock, on = 0.7 * DAY_BIN_T, False
    stocks, fed = np.empty(len(used)), np.zeros(len(used))
    for i, out in enumerate(used):
        on = stock < 0.55 * DAY_BIN_T or (on and stock < 0.84 * DAY_BIN_T)
        fed[i] = BEANS_PER_HOUR * STEP_HOURS if on else 0.0
        stock += fed[i] - out
        stocks[i] = stock
    return stocks, fed


def _dip(plant: Plant, key: str, volume: Array) -> Array:
    """Dip for a volume by the point's own tank table."""
    table = plant.point(key).tank
    if table is None:
        raise ValueError(f"the point {key} of the sample plant has no tank table")
    return np.interp(volume, table.volume, table.dip)


def _per_shift(amount: Array) -> Array:
    """Sum over the twelve hours before each step."""
    total = np.concatenate([[0.0], np.cumsum(amount)])
    steps = round(12.0 / STEP_HOURS)
    first = np.clip(np.arange(len(amount)) - steps, 0, None)
    return np.asarray(total[np.arange(len(amount))] - total[first])


def store_gauges(streams: Streams, plant: Plant, seed: int) -> dict[str, Array]:
    """True values of the storage points and of the solvent tanks, on the grid."""
    stores = make_stores(streams, seed)
    work, store = solvent_volumes(streams)
    slow = lag(streams.weather.temperature, 60.0)
    warm = 34.0 + 0.25 * slow
    found = {
        "day_bin_level": 100.0 * stores.day_bin / DAY_BIN_T,
        "beans_received": _per_shift(stores.beans_received),
        "work_tank_dip": _dip(plant, "work_tank_dip", work),
        "solvent_dip.st1": _dip(plant, "solvent_dip.st1", store * 0.54),
        "solvent_dip.st2": _dip(plant, "solvent_dip.st2", store * 0.46),
        "solvent_received": _per_shift(
            streams.solvent.received * work / streams.solvent.work_stock
        ),
        "offgrade_oil_dip": 1.2 + 0.0 * warm,
        "oil_loaded": _per_shift(stores.oil_loaded),
        "meal_loaded": _per_shift(stores.meal_loaded),
        "pellets_loaded": _per_shift(stores.pellets_loaded),
        "pellet_bin_level": 100.0 * stores.pellets[:, 0] / PELLET_BIN_T,
    }
    for i, tank in enumerate(OIL_TANKS):
        volume = stores.oil[:, i] / oil_density(warm)
        found[f"oil_dip.{tank}"] = _dip(plant, f"oil_dip.{tank}", volume)
    for tank in OIL_TANKS:
        found[f"oil_tank_temp.{tank}"] = warm
    for i, bin_key in enumerate(MEAL_BINS):
        found[f"meal_bin_level.{bin_key}"] = 100.0 * stores.meal[:, i] / MEAL_BIN_T
        found[f"meal_bin_temp.{bin_key}"] = 8.0 + 0.9 * slow + 1.0
    return found
