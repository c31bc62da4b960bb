"""Which points fill the roles of the accounts, and what their readings are in the role's unit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from logbook.plant.model import Often, Plant, Point
from logbook.plant.units import convert, is_convertible
from logbook.process.roles import ROLES, Gather, Role

RATE_UNITS: Mapping[str, str] = {"t": "t/h", "m³": "m³/h"}
"""Unit of the amount to the unit of the rate that a FLOW is read in."""
CAPACITIES: Mapping[str, str] = {
    "bean_stock": "day_bin_capacity",
    "meal_stock": "meal_bin_capacity",
    "pellet_stock": "pellet_bin_capacity",
}
"""Stocks read in per cent, and the figure that says of how much."""


@dataclass(frozen=True, slots=True)
class Scale:
    """From the point's unit to the role's: value × `slope` + `offset`."""

    slope: float
    offset: float


@dataclass(frozen=True, slots=True)
class Filled:
    """A role with the points that fill it in one plant."""

    role: Role
    points: tuple[Point, ...]
    accuracy: float
    """Standard uncertainty of the meter that stays however often it is read, share of the value."""
    absent: tuple[str, ...] = ()
    """Keys of points that the plant does not have."""

    @property
    def words(self) -> str:
        """The role in words, as a person would look for it."""
        return role_words(self.role)

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of its points."""
        return tuple(point.key for point in self.points)


_MEANINGS = Counter(role.meaning for role in ROLES.values())


def role_words(role: Role) -> str:
    """What a role means, with its unit where another role of another unit means the same thing.

    >>> role_words(ROLES["beans"]), role_words(ROLES["ambient_temp"])
    ('Cleaned beans weighed to the mills', 'Outside air (°C)')
    """
    return role.meaning if _MEANINGS[role.meaning] == 1 else f"{role.meaning} ({role.unit})"


def filled_roles(plant: Plant, names: Iterable[str] = ROLES) -> dict[str, Filled]:
    """Each role with its points: those that the plant states, else the template's where it has them."""
    by_key = {point.key: point for point in plant.points}
    return {name: _filled(ROLES[name], plant, by_key) for name in names}


def _filled(role: Role, plant: Plant, by_key: Mapping[str, Point]) -> Filled:
    keys = plant.accounts.points_of(role.name, role.points)
    points = tuple(by_key[key] for key in keys if key in by_key)
    stated = [plant.accounts.uncertainty.get(point.key) for point in points]
    known = [percent for percent in stated if percent is not None]
    accuracy = max(known) / 100.0 if known else role.accuracy
    return Filled(role, points, accuracy, tuple(key for key in keys if key not in by_key))


def scale_of(role: Role, point: Point, barometer_kpa: float) -> Scale | None:
    """How readings of a point become the role's; None where its unit is of another sort.

    Of a FLOW to its rate; stocks have rules of their own.
    """
    wanted = RATE_UNITS.get(role.unit, role.unit) if role.gather is Gather.FLOW else role.unit
    if not is_convertible(point.unit, wanted):
        return None
    zero = convert(0.0, point.unit, wanted, barometer_kpa=barometer_kpa)
    one = convert(1.0, point.unit, wanted, barometer_kpa=barometer_kpa)
    return Scale(one - zero, zero)


def interval_s(plant: Plant, point: Point) -> float:
    """Seconds between two readings of a point when it is read as often as it should be."""
    hours = {
        Often.ROUND: plant.settings.round_hours,
        Often.HOURS: float(point.frequency.hours),
        Often.SHIFT: shift_hours(plant),
        Often.DAY: 24.0,
        Often.SAMPLE: 24.0,
    }
    return 3600.0 * hours[point.frequency.often]


def shift_hours(plant: Plant) -> float:
    """Mean length of a shift, hours."""
    return 24.0 / max(len(plant.calendar.shifts), 1)
