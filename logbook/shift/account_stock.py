"""What stood in tanks and bins at the bounds of periods, in tonnes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from logbook.plant.model import Plant, Point, PointKind
from logbook.plant.unit_table import find_unit
from logbook.plant.units import convert
from logbook.process.oil_density import oil_density
from logbook.process.tank import volumes_at
from logbook.shift.account_cut import HOUR_S, FloatArray, FloatLine, around, nearest
from logbook.shift.account_points import CAPACITIES, Filled, filled_roles

WITHIN_S = 3.0 * HOUR_S
"""A reading so near to the bound of a period tells how it stood then."""
BETWEEN_S = 7.0 * 24.0 * HOUR_S
"""So far the readings to either side may lie that tell of a bound without one."""
TEMPERATURE_WITHIN_S = 30.0 * HOUR_S
SOLVENT_T_M3, SOLVENT_SLOPE = 0.672, -0.0009
"""Density of the solvent at 20 °C where the plant states none, t/m³, and its change per K.

Commercial hexane; common practice, no source.
"""
SOLVENT_C, OIL_C = 20.0, 40.0
"""Temperatures taken where no tank has one."""


@dataclass(frozen=True, slots=True)
class Contents:
    """Contents at each bound, shape (n + 1,)."""

    tonnes: FloatArray
    sigma: FloatArray
    """Standard uncertainty, t."""
    gone: tuple[str, ...] = ()


def contents_at(
    filled: Filled, plant: Plant, lines: Mapping[str, FloatLine], at: FloatArray
) -> Contents:
    """Contents of all points of a stock together at instants.

    A tank that was not read near is taken between its readings before and after; that it may have
    stood anywhere between them is in the uncertainty. NaN where these are more than a week away.
    """
    total = np.zeros(at.shape)
    squares = np.full(at.shape, filled.role.reading**2)
    for point in filled.points:
        found = _content(filled, plant, point, lines, at)
        if found is None:
            gone = CAPACITIES.get(filled.role.name, f"{point.name} in {filled.role.unit}")
            nothing = np.full(at.shape, np.nan)
            return Contents(nothing, nothing, (gone,))
        total = total + found[0]
        squares = squares + found[1] ** 2
    return Contents(total, np.sqrt(squares))


def _content(
    filled: Filled, plant: Plant, point: Point, lines: Mapping[str, FloatLine], at: FloatArray
) -> tuple[FloatArray, FloatArray] | None:
    """Tonnes in one tank, and the standard uncertainty of not having read it near."""
    read = nearest(*lines[point.key], at, within_s=WITHIN_S)
    before, after, share = around(*lines[point.key], at, within_s=BETWEEN_S)
    there = [_tonnes(filled, plant, point, lines, one, at) for one in (read, before, after)]
    near, first, last = there
    if near is None or first is None or last is None:
        return None
    is_near = np.isfinite(near)
    spread = np.where(is_near, 0.0, np.abs(last - first) / np.sqrt(12.0))
    return np.where(is_near, near, first + share * (last - first)), spread


def _tonnes(
    filled: Filled,
    plant: Plant,
    point: Point,
    lines: Mapping[str, FloatLine],
    read: FloatArray,
    at: FloatArray,
) -> FloatArray | None:
    name = filled.role.name
    unit = find_unit(point.unit)
    if point.kind is PointKind.LEVEL and point.tank is not None:
        return volumes_at(point.tank, read) * density_at(name, plant, lines, at)
    if unit is None:
        return None
    if unit.quantity == "mass":
        return read * convert(1.0, point.unit, "t")
    if unit.quantity == "volume":
        return read * convert(1.0, point.unit, "m³") * density_at(name, plant, lines, at)
    full = plant.accounts.figures.get(CAPACITIES.get(name, ""))
    if unit.quantity != "share" or full is None:
        return None
    return read * convert(1.0, point.unit, "%") / 100.0 * full


def density_at(
    stock: str, plant: Plant, lines: Mapping[str, FloatLine], at: FloatArray
) -> FloatArray:
    """Density of what a stock holds at instants, t/m³, by the temperature of its tanks."""
    if stock == "oil_stock":
        celsius = _temperature("tank_temp", plant, lines, at, OIL_C)
        density: FloatArray = np.asarray(oil_density(celsius), dtype=np.float64)
        return density / 1000.0
    stated = plant.accounts.figures.get("solvent_density")
    at_20 = SOLVENT_T_M3 if stated is None else stated / 1000.0
    celsius = _temperature("store_temp", plant, lines, at, SOLVENT_C)
    return np.asarray(at_20 + SOLVENT_SLOPE * (celsius - 20.0))


def _temperature(
    role: str, plant: Plant, lines: Mapping[str, FloatLine], at: FloatArray, usual: float
) -> FloatArray:
    found = []
    for point in filled_roles(plant, (role,))[role].points:
        times, values = lines.get(point.key, (np.empty(0), np.empty(0)))
        read = nearest(times, values, at, within_s=TEMPERATURE_WITHIN_S)
        found.append(_celsius(read, point.unit))
    if not found:
        return np.full(at.shape, usual)
    table = np.array(found)
    known = np.isfinite(table)
    count = known.sum(axis=0)
    total = np.where(known, table, 0.0).sum(axis=0)
    mean = np.full(at.shape, usual)
    np.divide(total, count, out=mean, where=count > 0)
    return mean


def _celsius(values: FloatArray, unit: str) -> FloatArray:
    zero, one = convert(0.0, unit, "°C"), convert(1.0, unit, "°C")
    return np.asarray(values * (one - zero) + zero)
