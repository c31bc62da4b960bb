"""Reading the gauges: true values with reading error, at the rounds, before anybody types them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from logbook.plant.model import Plant, Point, PointKind
from sample_db.gauges import COUNTERS, counted_flows, true_gauges
from sample_db.series import STEP_HOURS, Array, stream
from sample_db.streams import Streams
from sample_db.timetable import Timetable
from sample_db.utilities import integrate

READING_SD: Mapping[str, float] = {
    "flake_thickness": 0.0145,
    "work_tank_dip": 0.006,
    "solvent_dip": 0.003,
    "oil_dip": 0.010,
    "offgrade_oil_dip": 0.010,
    "solvent_temp": 0.3,
    "oil_tank_temp": 0.5,
    "bean_feed_rate": 0.20,
    "hull_rate": 0.06,
    "flake_feed_rate": 0.35,
    "ambient_temp": 0.3,
    "ambient_humidity": 1.5,
    "wind_speed": 0.5,
    "cooling_water_supply": 0.25,
    "cooling_water_return": 0.3,
    "condenser_outlet": 0.4,
    "condenser_water_out": 0.6,
    "vent_gas_temp": 0.5,
    "cooled_meal_temp": 0.6,
    "dryer_outlet_moisture": 0.08,
    "dt_tray_temp": 0.7,
    "dt_meal_temp": 0.6,
    "day_bin_level": 1.2,
    "meal_bin_level": 0.8,
    "pellet_bin_level": 1.0,
    "bean_silo_temp": 0.4,
    "meal_bin_temp": 0.6,
    "steam_flow": 0.20,
    "power_demand": 22.0,
    "beans_received": 0.0,
    "meal_loaded": 0.0,
    "oil_loaded": 0.0,
    "pellets_loaded": 0.0,
    "solvent_received": 0.0,
    "hull_addback_rate": 0.0,
    "flaker_regrind_hours": 0.0,
    "lab_bean_moisture": 0.08,
    "lab_bean_oil": 0.12,
    "lab_bean_protein": 0.18,
    "lab_bean_foreign": 0.10,
    "lab_bean_splits": 0.8,
    "lab_hull_oil": 0.05,
    "lab_hull_protein": 0.25,
    "lab_hull_fibre": 0.5,
    "lab_flake_oil": 0.12,
    "lab_spent_solvent": 0.5,
    "lab_spent_moisture": 0.25,
    "lab_spent_oil": 0.035,
    "lab_miscella_fines": 0.006,
    "lab_dt_solvent": 12.0,
    "lab_meal_moisture": 0.06,
    "lab_meal_protein": 0.12,
    "lab_meal_fibre": 0.07,
    "lab_meal_oil": 0.03,
    "lab_meal_urease": 0.009,
    "lab_meal_koh": 0.7,
    "lab_meal_solvent": 8.0,
    "lab_oil_moisture": 0.008,
    "lab_oil_flash": 4.0,
    "lab_oil_solvent": 5.0,
    "lab_oil_ffa": 0.015,
    "lab_oil_phosphorus": 15.0,
    "lab_oil_insolubles": 0.006,
    "lab_oil_colour": 0.12,
    "lab_waste_water_solvent": 0.5,
    "lab_waste_water_cod": 60.0,
    "lab_solvent_hexane": 0.6,
}
"""Standard deviation of one reading in the point's unit, by the part of the key before a dot."""

COUNTER_MINUTES = 0.8
"""A counter is read this many minutes (one standard deviation) before or after the round."""

HELD_FROM, HELD_SLOPE = 1.1, 0.45
"""Beyond this multiple of the band a gauge drifts this much less."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Centre and errors of a gauge: slow drift and reading error, standard deviations."""

    centre: float
    slow: float
    error: float
    band: float
    """From the centre to the nearest warning limit."""
    one_sided: bool = False


def spread_of(point: Point, *, known: bool, tightness: float = 1.0) -> Spread:
    """How a gauge scatters, from its limits where nothing better is known.

    `tightness` tells gauges that are well in hand (below 1) from those that never quite are.
    """
    limits, least = point.limits, 10.0**-point.decimals
    edges = [e for e in (limits.warning_low, limits.warning_high) if e is not None]
    centre = limits.target if limits.target is not None else float(np.mean(edges or [0.0]))
    widths = [abs(edge - centre) for edge in edges if edge != centre]
    band = min(widths, default=max(0.05 * abs(centre), 3.0 * least))
    one_sided = len(edges) == 1
    name = point.key.split(".")[0]
    if name in READING_SD:
        return Spread(centre, 0.0, READING_SD[name], band)
    if known:
        scale = 0.05 if one_sided else 0.34
        return Spread(centre, scale * band, 0.6 * scale * band, band)
    if one_sided and limits.target == 0.0:
        return Spread(0.0, 0.24 * band, 0.14 * band, band, one_sided=True)
    scale = (0.22 if one_sided else 0.34) * tightness
    return Spread(centre, scale * band, 0.65 * scale * band, band)


def _noise(points: tuple[Point, ...], spreads: list[Spread], rounds: int, seed: int) -> Array:
    rng = stream(seed, "reading")
    hours = rng.uniform(7.0, 26.0, size=len(points))
    phi = np.exp(-2.0 / hours)
    drive = rng.standard_normal((rounds, len(points)))
    drive[1:] *= np.sqrt(1.0 - phi * phi)
    shift, factor = 1, phi.copy()
    while shift < rounds and factor.max() > 1e-12:
        drive[shift:] += factor * drive[:-shift]
        shift, factor = shift * 2, factor * factor
    slow = np.array([s.slow for s in spreads])
    error = np.array([s.error for s in spreads])
    found = drive * slow + rng.standard_normal((rounds, len(points))) * error
    return _held_back(found, np.array([s.band for s in spreads]))


def _held_back(noise: Array, band: Array) -> Array:
    """Crews pull back what leaves its limits: beyond them everything goes less far."""
    edge = HELD_FROM * band
    beyond = np.clip(np.abs(noise) - edge, 0.0, None)
    return np.asarray(noise - np.sign(noise) * beyond * (1.0 - HELD_SLOPE))


def gauge_values(
    points: tuple[Point, ...], plant: Plant, streams: Streams, table: Timetable, seed: int
) -> Array:
    """What the person sees, unrounded: shape (rounds, points); NaN for states, checks and text."""
    truth = true_gauges(streams, plant, seed)
    where = streams.index_at(table.seconds.astype(float))
    numeric = [p.kind.is_numeric for p in points]
    tight = stream(seed, "tightness").uniform(0.85, 1.6, size=len(points))
    spreads = [
        spread_of(p, known=p.key in truth, tightness=t) for p, t in zip(points, tight, strict=True)
    ]
    values = _noise(points, spreads, len(where), seed)
    for j, (point, spread) in enumerate(zip(points, spreads, strict=True)):
        if not numeric[j]:
            values[:, j] = np.nan
        elif point.key in truth:
            values[:, j] += truth[point.key][where]
        elif point.kind is PointKind.COUNTER:
            values[:, j] = _counter(point, streams, table, seed)
        else:
            values[:, j] = spread.centre + (
                np.abs(values[:, j]) if spread.one_sided else values[:, j]
            )
    return _clip(points, values)


def _counter(point: Point, streams: Streams, table: Timetable, seed: int) -> Array:
    """Counter readings: what has passed, read a little early or late, rolling over."""
    first, what = COUNTERS[point.key]
    flow = counted_flows(streams)[what]
    total = integrate(flow)
    error = stream(seed, point.key).standard_normal(len(table.seconds)) * COUNTER_MINUTES * 60.0
    moments = table.seconds + np.clip(error, -150.0, 150.0)
    place = np.clip((moments - streams.time[0]) / (STEP_HOURS * 3600.0), 0, len(total) - 1)
    shown = np.maximum.accumulate(np.interp(place, np.arange(len(total)), total)) + first
    return np.asarray(shown % point.rollover if point.rollover else shown)


def _clip(points: tuple[Point, ...], values: Array) -> Array:
    low = [-np.inf if p.limits.plausible_low is None else p.limits.plausible_low for p in points]
    high = [np.inf if p.limits.plausible_high is None else p.limits.plausible_high for p in points]
    return np.asarray(np.clip(values, low, high))


def gauge_step(point: Point) -> float:
    """Smallest step in which the gauge is read: its decimals, coarser on dial gauges."""
    finest = 10.0**-point.decimals
    if point.decimals == 0 and point.unit == "kPa(g)":
        return 10.0
    if point.decimals == 0 and point.unit == "Pa":
        return 5.0
    return finest
