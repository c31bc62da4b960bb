"""What the plant's arithmetic asks of the readings: roles with unit, meaning and uncertainty.

The arithmetic does not know points of a plant, only roles; `points` says by which points of the
shipped template a role is filled. A figure of a role is for one period (shift, day, month).

Uncertainties are those of one meter or one analysis, standard (one standard deviation):

* `accuracy`: share of the value that stays the same however often it is read (calibration);
* `reading`: error of one reading or one analysis, in the unit, new each time;
* `spread`: how far the stream at one moment is from its mean over the period, in the unit: what a
  spot sample or a reading of every other hour misses;
* `clock`: minutes by which a counter is read early or late.

Accuracies and spreads are common practice, no source; they are a start, and a plant that knows
its meters gives its own. `Role.sigma` puts them together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType


class Gather(Enum):
    """How the figure of a period is got from readings."""

    COUNTED = "counted"
    """Difference of a totaliser over the period."""
    SUMMED = "summed"
    """Amounts noted once a shift, added up."""
    FLOW = "flow"
    """Mean of rate readings times the hours run; the role's unit is the amount."""
    MEAN = "mean"
    """Mean of the readings while the plant ran."""
    ANALYSIS = "analysis"
    """Mean of the results of samples taken in the period."""
    STOCK = "stock"
    """Content at the end of the period less content at its begin."""
    HOURS = "hours"
    """Time, from the record of stops."""


@dataclass(frozen=True, slots=True)
class Role:
    """What a figure means to the arithmetic."""

    name: str
    unit: str
    gather: Gather
    meaning: str
    points: tuple[str, ...] = ()
    """Keys of the template's points; several: added (stocks, tanks) or averaged (temperatures)."""
    accuracy: float = 0.0
    reading: float = 0.0
    spread: float = 0.0
    clock: float = 0.0

    def sigma(self, value: float, *, count: int = 1, per_hour: float | None = None) -> float:
        """Standard uncertainty of the period's figure `value`, in the role's unit.

        `count`: number of readings or samples it is the mean of. `per_hour`: rate (unit per
        hour), for the moments at which a counter is read; both ends count. For a FLOW, `reading`
        and `spread` are shares of the value.

        >>> round(ROLES["beans"].sigma(1500.0, per_hour=62.5), 2)
        3.22
        >>> round(ROLES["bean_oil"].sigma(19.5, count=2), 3)
        0.165
        """
        if count < 1:
            msg = f"{self.name}: a mean of {count} readings has no uncertainty; give at least one"
            raise ValueError(msg)
        scale = abs(value) if self.gather is Gather.FLOW else 1.0
        each = math.hypot(self.reading, self.spread) * scale / math.sqrt(count)
        ends = math.sqrt(2.0) * self.clock / 60.0 * abs(per_hour or 0.0)
        return math.hypot(self.accuracy * abs(value), each, ends)


def _counted(name: str, unit: str, meaning: str, point: str, accuracy: float) -> Role:
    # Read within about two minutes of its round: 0.8 min as a standard deviation.
    return Role(name, unit, Gather.COUNTED, meaning, (point,), accuracy, clock=0.8)


def _flow(
    name: str, meaning: str, point: str, accuracy: float, reading: float, *, unit: str = "t"
) -> Role:
    return Role(name, unit, Gather.FLOW, meaning, (point,), accuracy, reading, spread=0.01)


def _analysis(
    name: str, meaning: str, points: str, reading: float, spread: float, *, unit: str = "%"
) -> Role:
    keys = tuple(points.split())
    return Role(name, unit, Gather.ANALYSIS, meaning, keys, reading=reading, spread=spread)


def _mean(
    name: str, unit: str, meaning: str, points: str, reading: float = 0.0, accuracy: float = 0.0
) -> Role:
    return Role(name, unit, Gather.MEAN, meaning, tuple(points.split()), accuracy, reading)


def _summed(name: str, unit: str, meaning: str, point: str, accuracy: float) -> Role:
    return Role(name, unit, Gather.SUMMED, meaning, (point,), accuracy)


def _stock(name: str, unit: str, meaning: str, points: str, reading: float) -> Role:
    return Role(name, unit, Gather.STOCK, meaning, tuple(points.split()), reading=reading)


_AMOUNTS = (
    _counted("beans", "t", "Cleaned beans weighed to the mills", "bean_total", 0.002),
    _counted("oil", "t", "Crude oil to storage, with its moisture", "oil_total", 0.002),
    _counted("meal", "t", "Finished meal, hulls added back included", "meal_total", 0.005),
    _counted("pellets", "t", "Hull pellets, with the water taken up", "pellet_total", 0.005),
    _counted("steam", "t", "Steam to the process", "steam_total", 0.01),
    _counted("electricity", "kWh", "Electricity", "electricity_total", 0.005),
    _counted("makeup_water", "m³", "Cooling tower make-up", "makeup_water_total", 0.01),
    _flow("hulls", "Hulls taken out, before any is added back", "hull_rate", 0.02, 0.015),
    _flow("hulls_added", "Hulls added back to the meal", "hull_addback_rate", 0.02, 0.02),
    _flow("flakes", "Flakes to the extractor", "flake_feed_rate", 0.01, 0.006),
    _flow("fresh_solvent", "Solvent to the extractor", "fresh_solvent_flow", 0.04, 0.02, unit="m³"),
    _flow("miscella", "Full miscella to evaporation", "miscella_feed_flow", 0.04, 0.02, unit="m³"),
    _flow("sparge_steam", "Open steam to the desolventizer", "sparge_steam_flow", 0.02, 0.01),
    _flow("stripping_steam", "Open steam to the stripper", "stripping_steam_flow", 0.02, 0.02),
    _flow("conditioner_steam", "Steam to the conditioner", "conditioner_steam_flow", 0.02, 0.02),
    _flow("dryer_steam", "Steam to the dryer's heater", "dryer_steam_flow", 0.02, 0.02),
    _flow("screenings", "Screenings, taken off ahead of the scale", "screenings_rate", 0.05, 0.1),
    _flow("effluent", "Effluent", "effluent_flow", 0.02, 0.02, unit="m³"),
    _summed("beans_received", "t", "Beans received into the silos", "beans_received", 0.001),
    _summed("oil_loaded", "t", "Oil loaded out", "oil_loaded", 0.001),
    _summed("meal_loaded", "t", "Meal loaded out", "meal_loaded", 0.001),
    _summed("pellets_loaded", "t", "Hull pellets loaded out", "pellets_loaded", 0.001),
    _summed("solvent_received", "m³", "Solvent delivered", "solvent_received", 0.003),
    _stock("oil_stock", "t", "Crude oil in the tanks", "oil_dip.ot1 oil_dip.ot2", 0.7),
    _stock(
        "solvent_stock",
        "t",
        "Solvent in work tank and store tanks",
        "work_tank_dip solvent_dip.st1 solvent_dip.st2",
        0.06,
    ),
    _stock(
        "meal_stock",
        "t",
        "Meal in the bins",
        "meal_bin_level.mb1 meal_bin_level.mb2 meal_bin_level.mb3 meal_bin_level.mb4",
        35.0,
    ),
    _stock("pellet_stock", "t", "Hull pellets in the bin", "pellet_bin_level", 6.0),
    _stock("bean_stock", "t", "Beans in the day bin", "day_bin_level", 7.5),
    Role("hours", "h", Gather.HOURS, "Hours in which beans were fed"),
)

_ANALYSES = (
    _analysis("bean_moisture", "Moisture of the beans", "lab_bean_moisture", 0.08, 0.15),
    _analysis("bean_oil", "Oil of the beans, as is", "lab_bean_oil", 0.12, 0.20),
    _analysis("bean_protein", "Protein of the beans, as is", "lab_bean_protein", 0.18, 0.20),
    _analysis("bean_foreign", "Foreign material in the beans", "lab_bean_foreign", 0.10, 0.15),
    _analysis("hull_oil", "Oil of the hulls, as is", "lab_hull_oil", 0.05, 0.08),
    _analysis("hull_protein", "Protein of the hulls, as is", "lab_hull_protein", 0.25, 0.2),
    _analysis("hull_fibre", "Crude fibre of the hulls, as is", "lab_hull_fibre", 0.5, 0.4),
    _analysis("flake_oil", "Oil of the flakes, as is", "lab_flake_oil", 0.12, 0.2),
    _analysis("spent_oil", "Oil of spent flakes, dry, solvent-free", "lab_spent_oil", 0.035, 0.04),
    _analysis("spent_moisture", "Water in spent flakes", "lab_spent_moisture", 0.25, 0.3),
    _analysis("spent_solvent", "Solvent in spent flakes", "lab_spent_solvent", 0.5, 0.6),
    _analysis(
        "toasted_solvent", "Solvent in toasted meal", "lab_dt_solvent", 12.0, 60.0, unit="mg/kg"
    ),
    _analysis("meal_moisture", "Moisture of finished meal", "lab_meal_moisture", 0.06, 0.2),
    _analysis("meal_protein", "Protein of finished meal, as is", "lab_meal_protein", 0.12, 0.2),
    _analysis("meal_fibre", "Crude fibre of finished meal, as is", "lab_meal_fibre", 0.07, 0.08),
    _analysis("meal_oil", "Oil of finished meal, as is", "lab_meal_oil", 0.03, 0.04),
    _analysis(
        "meal_solvent", "Solvent in finished meal", "lab_meal_solvent", 8.0, 40.0, unit="mg/kg"
    ),
    _analysis("meal_urease", "Urease", "lab_meal_urease", 0.009, 0.01, unit="pH rise"),
    _analysis("meal_solubility", "Protein solubility in KOH", "lab_meal_koh", 0.7, 1.0),
    _analysis(
        "oil_moisture", "Moisture and volatiles of crude oil", "lab_oil_moisture", 8e-3, 0.02
    ),
    _analysis("oil_solvent", "Solvent in crude oil", "lab_oil_solvent", 5.0, 20.0, unit="mg/kg"),
    _analysis("oil_acid", "Free fatty acid of crude oil", "lab_oil_ffa", 0.015, 0.03),
    _analysis(
        "oil_phosphorus", "Phosphorus of crude oil", "lab_oil_phosphorus", 15.0, 40.0, unit="mg/kg"
    ),
    _analysis("oil_flash", "Flash point of crude oil", "lab_oil_flash", 4.0, 4.0, unit="°C"),
    _analysis(
        "waste_water_solvent",
        "Hexane in waste water",
        "lab_waste_water_solvent",
        0.5,
        1.2,
        unit="mg/L",
    ),
    _analysis(
        "solvent_hexane",
        "n-Hexane in solvent received",
        "lab_solvent_hexane",
        0.6,
        0.0,
        unit="% by volume",
    ),
)

_STATES = (
    _mean("hulls_in_meats", "%", "Hulls left in meats", "hulls_in_meats", 0.2),
    _mean("flake_moisture", "%", "Moisture of the flakes", "flake_moisture", 0.16, 0.025),
    _mean("cracks_moisture", "%", "Moisture leaving conditioner", "conditioner_outlet_moisture"),
    _mean("flake_temp", "°C", "Flakes at the extractor", "flake_inlet_temp"),
    _mean("flake_thickness", "mm", "Flake thickness, all mills", "flake_thickness_mean"),
    _mean("solvent_temp", "°C", "Fresh solvent at the extractor", "solvent_inlet_temp", 0.5),
    _mean("miscella_oil", "%", "Oil in full miscella, by mass", "full_miscella_oil", 0.6, 0.04),
    _mean("residence_time", "min", "Time in the extractor", "residence_time"),
    _mean(
        "toasted_moisture", "%", "Meal moisture, desolventizer", "dt_outlet_moisture", 0.25, 0.02
    ),
    _mean("toasted_temp", "°C", "Meal leaving desolventizer", "dt_meal_temp", 0.6),
    _mean("vapour_temp", "°C", "Vapour leaving desolventizer", "dt_vapour_temp", 0.5),
    _mean(
        "dryer_moisture", "%", "Meal moisture leaving dryer", "dryer_outlet_moisture", 0.08, 0.01
    ),
    _mean("dryer_air_temp", "°C", "Air to the dryer", "dryer_air_temp"),
    _mean("dryer_exhaust_temp", "°C", "Air leaving the dryer", "dryer_exhaust_temp"),
    _mean("dryer_meal_temp", "°C", "Meal on the dryer's deck", "dryer_deck_meal_temp"),
    _mean("cooled_meal_temp", "°C", "Cooled meal", "cooled_meal_temp", 0.6),
    _mean("pellet_moisture", "%", "Moisture of hull pellets", "pellet_moisture", 0.2, 0.05),
    _mean("pellet_temp", "°C", "Pellets leaving their cooler", "pellet_cooler_temp"),
    _mean("first_stage_temp", "°C", "First evaporator", "evaporator_temp.ev1"),
    _mean("first_stage_pressure", "kPa abs", "First evaporator", "evaporator_pressure.ev1"),
    _mean("first_stage_oil", "%", "Oil leaving the first evaporator", "evaporator_oil.ev1"),
    _mean("second_stage_temp", "°C", "Second evaporator", "evaporator_temp.ev2"),
    _mean("second_stage_pressure", "kPa abs", "Second evaporator", "evaporator_pressure.ev2"),
    _mean("second_stage_oil", "%", "Oil leaving the second evaporator", "evaporator_oil.ev2"),
    _mean("stripper_temp", "°C", "Oil leaving the stripper", "evaporator_temp.stripper"),
    _mean("stripper_pressure", "kPa abs", "Oil stripper", "oil_vacuum.stripper"),
    _mean("oil_dryer_pressure", "kPa abs", "Oil dryer", "oil_vacuum.dryer"),
    _mean("oil_temp", "°C", "Oil to storage", "oil_out_temp"),
    _mean("vent_lel", "% LEL", "Solvent in the final vent", "vent_lel"),
    _mean("vent_temp", "°C", "Final vent gas", "vent_gas_temp"),
    _mean("cooling_supply", "°C", "Cooling water supplied", "cooling_water_supply"),
    _mean("ambient_temp", "°C", "Outside air", "ambient_temp", 0.3),
    _mean("ambient_humidity", "% RH", "Outside air", "ambient_humidity", 1.5),
    _mean("tank_temp", "°C", "Oil tanks", "oil_tank_temp.ot1 oil_tank_temp.ot2", 0.5),
    _mean("store_temp", "°C", "Solvent tanks", "solvent_temp.st1 solvent_temp.st2", 0.3),
)

ROLES: Mapping[str, Role] = MappingProxyType(
    {role.name: role for role in (*_AMOUNTS, *_ANALYSES, *_STATES)}
)
"""All roles by name."""


def role_unit(name: str) -> str:
    """Unit of the role `name`.

    Raises:
        KeyError: with the name, where there is no such role.

    >>> role_unit("bean_oil")
    '%'
    """
    if name not in ROLES:
        msg = f"there is no role {name!r}; the roles are those of logbook.process.roles.ROLES"
        raise KeyError(msg)
    return ROLES[name].unit
