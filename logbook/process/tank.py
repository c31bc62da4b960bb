"""What a tank holds: a dip or an ullage through its strapping table to volume, and to mass.

Between the lines of the table the volume follows the monotone piecewise cubic of Fritsch and
Butland (SIAM Journal on Scientific and Statistical Computing 5 (1984) 300-304, from memory), so a
rising dip always means a rising volume and a curved bottom or a lying cylinder is followed closely;
through a table that is straight it is straight. It is the interpolation that scipy calls PCHIP,
written out here because a tank is looked at while the window starts. Beyond the table nothing is
told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.plant.model import TankTable
from logbook.process.quantity import Quantity, absent, derive

FloatArray = npt.NDArray[np.float64]

SOURCE = "strapping table, monotone cubic between its lines"
KG_PER_T = 1000.0


@dataclass(frozen=True, slots=True)
class TankContents:
    """What stood in a tank when it was dipped."""

    reading: Quantity
    """Dip or ullage, in the unit of the table."""
    volume: Quantity
    """m³ at the temperature of the tank."""
    density: Quantity
    """kg/m³ at that temperature."""
    mass: Quantity
    """t."""


@dataclass(frozen=True, slots=True)
class StockChange:
    """How a stock changed over a period, and what was made or used meanwhile."""

    opening: Quantity
    closing: Quantity
    change: Quantity
    """Closing less opening."""
    received: Quantity
    dispatched: Quantity
    made: Quantity
    """Change + dispatched − received: what came in otherwise, by being made."""
    used: Quantity
    """The same with the other sign: what went otherwise, by being used or lost."""


def volumes_at(table: TankTable, readings: npt.ArrayLike) -> FloatArray:
    """Return volumes in m³ for readings in the table's unit; NaN outside the table.

    An ullage is read down from the last dip of the table.
    """
    dips, volumes, slopes = _curve(table)
    dip = _dips(table, readings)
    place = _place(dips, dip)
    step = dips[place + 1] - dips[place]
    t = (dip - dips[place]) / step
    low, high = volumes[place], volumes[place + 1]
    cubic = (
        (1.0 + 2.0 * t) * (1.0 - t) ** 2 * low
        + t * t * (3.0 - 2.0 * t) * high
        + step * t * (1.0 - t) * ((1.0 - t) * slopes[place] - t * slopes[place + 1])
    )
    return np.where((dip >= dips[0]) & (dip <= dips[-1]), cubic, np.nan)


def volume_at(table: TankTable, reading: float) -> float:
    """Return the volume in m³ for one reading; ValueError with the range outside the table.

    >>> volume_at(TankTable((0.0, 1.0, 2.0), (0.0, 20.0, 40.0)), 1.5)
    30.0
    """
    found = float(volumes_at(table, reading))
    if math.isnan(found):
        word = "ullage" if table.is_ullage else "dip"
        low, high = table.dip[0], table.dip[-1]
        if table.is_ullage:
            low, high = 0.0, high - low
        msg = f"the {word} {reading:g} is outside the tank table ({low:g} to {high:g}): read again"
        raise ValueError(msg)
    return found


def area_at(table: TankTable, reading: float) -> float:
    """Return the slope of the table at a reading: m³ for each unit of dip, never negative.

    For a dip in metres that is the area of the surface in m². ValueError outside the table.
    """
    volume_at(table, reading)
    dips, volumes, slopes = _curve(table)
    dip = _dips(table, reading)
    k = int(_place(dips, dip))
    step = float(dips[k + 1] - dips[k])
    t = (float(dip) - float(dips[k])) / step
    chord = float(volumes[k + 1] - volumes[k]) / step
    found = (
        6.0 * t * (1.0 - t) * chord
        + (1.0 - t) * (1.0 - 3.0 * t) * float(slopes[k])
        + t * (3.0 * t - 2.0) * float(slopes[k + 1])
    )
    return max(found, 0.0)


def reading_for(table: TankTable, volume: float) -> float:
    """Return the dip (or ullage) at which the tank holds a volume in m³: `volume_at` undone.

    ValueError where the table does not hold that volume.

    >>> round(reading_for(TankTable((0.0, 1.0, 2.0), (0.0, 20.0, 40.0)), 30.0), 6)
    1.5
    """
    if not table.volume[0] <= volume <= table.volume[-1]:
        low, high = table.volume[0], table.volume[-1]
        msg = f"{volume:g} m³ is outside the tank table ({low:g} to {high:g} m³)"
        raise ValueError(msg)
    upright = TankTable(table.dip, table.volume)
    low, high = table.dip[0], table.dip[-1]
    for _ in range(60):
        middle = (low + high) / 2.0
        if volume_at(upright, middle) < volume:
            low = middle
        else:
            high = middle
    return table.dip[-1] - high if table.is_ullage else high


def volume_of(
    table: TankTable, reading: Quantity, *, table_percent: float | None = 0.0
) -> Quantity:
    """Return the volume for a reading, with its standard uncertainty.

    That of the reading counts by the slope of the table, `table_percent` is the table's own in
    percent of the volume; None in either makes the result's not known.
    """
    name = f"volume by {reading.name}"
    if not reading.is_known or reading.value is None:
        return absent(name, "m³", *(reading.missing or (reading.name,)))
    try:
        volume = volume_at(table, reading.value)
    except ValueError as problem:
        return Quantity(
            name, None, "m³", inputs=(reading.name,), missing=(reading.name,), note=str(problem)
        )
    sigma = None
    if reading.sigma is not None and table_percent is not None:
        by_dip = area_at(table, reading.value) * reading.sigma
        sigma = math.hypot(by_dip, table_percent / 100.0 * volume)
    return Quantity(name, volume, "m³", sigma, inputs=(reading.name,), source=SOURCE)


def contents(
    name: str,
    table: TankTable,
    reading: Quantity,
    density_at: Callable[[Quantity], Quantity],
    temperature: Quantity,
    *,
    table_percent: float | None = 0.0,
) -> TankContents:
    """Return what a tank holds: volume at its temperature (°C), density (kg/m³) and mass (t).

    `density_at` gives the density for the temperature, such as `oil_density.oil_density_of`.
    """
    volume = volume_of(table, reading, table_percent=table_percent)
    density = density_at(temperature)
    mass = derive(
        name,
        "t",
        _tonnes,
        {"volume": volume, "density": density},
        source=f"{SOURCE} × density",
        note=volume.note,
    )
    return TankContents(reading, volume, density, mass)


def together(name: str, unit: str, parts: Sequence[Quantity]) -> Quantity:
    """Return the sum of figures of one unit; without a value where one part has none.

    No parts: exactly nothing.
    """
    if not parts:
        return Quantity(name, 0.0, unit, 0.0)
    return derive(name, unit, _sum, {f"part_{k}": one for k, one in enumerate(parts)})


def stock_change(
    name: str,
    opening: Quantity,
    closing: Quantity,
    *,
    received: Sequence[Quantity] = (),
    dispatched: Sequence[Quantity] = (),
) -> StockChange:
    """Return the change of a stock over a period, with what was brought and taken away.

    All in the unit of `opening`. The errors of the two dips are taken as independent: what both
    share (the same table, the same reference height) cancels, so the uncertainty is rather too
    large than too small.
    """
    unit = opening.unit
    came = together(f"{name} received", unit, received)
    went = together(f"{name} dispatched", unit, dispatched)
    ends = {"opening": opening, "closing": closing}
    moved = {**ends, "came": came, "went": went}
    source = "closing − opening + dispatched − received"
    return StockChange(
        opening=opening,
        closing=closing,
        change=derive(f"change of {name}", unit, _change, ends, source="closing − opening"),
        received=came,
        dispatched=went,
        made=derive(f"{name} made", unit, _made, moved, source=source),
        used=derive(f"{name} used", unit, _used, moved, source=f"−({source})"),
    )


def _tonnes(volume: float, density: float) -> float:
    return volume * density / KG_PER_T


def _sum(**parts: float) -> float:
    return math.fsum(parts.values())


def _change(opening: float, closing: float) -> float:
    return closing - opening


def _made(opening: float, closing: float, came: float, went: float) -> float:
    return closing - opening + went - came


def _used(opening: float, closing: float, came: float, went: float) -> float:
    return opening - closing + came - went


def _dips(table: TankTable, readings: npt.ArrayLike) -> FloatArray:
    given = np.asarray(readings, dtype=np.float64)
    return table.dip[-1] - given if table.is_ullage else given


def _place(dips: FloatArray, dip: FloatArray) -> npt.NDArray[np.intp]:
    """Index of the line at or below each dip; the first and the last beyond the table."""
    return np.clip(np.searchsorted(dips, dip, side="right") - 1, 0, dips.size - 2)


def _curve(table: TankTable) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Dips, volumes and slopes at the lines of a table; ValueError where it is none."""
    dips = np.asarray(table.dip, dtype=np.float64)
    volumes = np.asarray(table.volume, dtype=np.float64)
    if dips.size < 2 or dips.size != volumes.size:
        msg = "a tank table needs two lines or more, with a volume for each dip"
        raise ValueError(msg)
    step = np.diff(dips)
    if not (np.all(step > 0) and np.all(np.diff(volumes) >= 0)):
        msg = "the dips and volumes of a tank table must rise together"
        raise ValueError(msg)
    return dips, volumes, _slopes(step, np.diff(volumes) / step)


def _slopes(step: FloatArray, chord: FloatArray) -> FloatArray:
    """Slopes at the lines that keep the cubic monotone, shape (n + 1,) for n steps."""
    if chord.size == 1:
        return np.array([chord[0], chord[0]])
    first, second = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
    level = (chord[:-1] == 0.0) | (chord[1:] == 0.0)
    safe = np.where(chord == 0.0, 1.0, chord)
    mean = (first + second) / (first / safe[:-1] + second / safe[1:])
    inner = np.where(level, 0.0, mean)
    begin = _end_slope(step[0], step[1], chord[0], chord[1])
    end = _end_slope(step[-1], step[-2], chord[-1], chord[-2])
    return np.concatenate(([begin], inner, [end]))


def _end_slope(step: float, next_step: float, chord: float, next_chord: float) -> float:
    """Slope at an end of the table by three lines, not below level; chords are never negative."""
    found = ((2.0 * step + next_step) * chord - step * next_chord) / (step + next_step)
    return max(float(found), 0.0)
