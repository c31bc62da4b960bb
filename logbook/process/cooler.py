"""The meal cooler: how near it comes to the outside air, what heat it takes, what water goes.

A cooler blows outside air through the meal. It cannot go below the wet bulb of that air, and in
practice stays some kelvin above the air itself (up to about 10 K: common practice, no source). Warm
meal in store sweats and heats up.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.process import water
from logbook.process.air import make_air
from logbook.process.dryer import DRY_MEAL_HEAT, meal_enthalpy
from logbook.process.moisture import mass_at, water_removed
from logbook.process.pressure import STANDARD_BAROMETER
from logbook.process.quantity import Quantity, derive

SOURCE = "balance of heat and water; humid air by CoolProp, water by IAPWS-IF97"


def cooling_heat(
    meal_t: float,
    moisture_in: float,
    moisture_out: float,
    *,
    meal_in_c: float,
    meal_out_c: float,
    dry_heat: float = 1.5,
) -> float:
    """Return the heat that leaves meal between dryer and cooled meal, MJ.

    `meal_t`: meal fed to the cooler, t; moistures in % of wet mass. What meal and its water
    lose; of that the water that leaves carries its own latent heat away.

    >>> round(cooling_heat(46.0, 12.3, 11.8, meal_in_c=60.0, meal_out_c=22.0))
    3222
    """
    dry = mass_at(meal_t, moisture_in)
    before = meal_enthalpy(meal_in_c, moisture_in, dry_heat=dry_heat)
    after = meal_enthalpy(meal_out_c, moisture_out, dry_heat=dry_heat)
    return dry * (before - after)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolerReadings:
    """What the account of a cooler is made of, for one period."""

    meal: Quantity
    """Meal fed to the cooler, t."""
    moisture_in: Quantity
    moisture_out: Quantity
    """% of wet mass."""
    meal_in_c: Quantity
    meal_out_c: Quantity
    """degC."""
    outside_c: Quantity
    """Outside air, degC."""
    outside_humidity: Quantity
    """Its relative humidity, %."""
    barometer: Quantity = STANDARD_BAROMETER


@dataclass(frozen=True, slots=True)
class Cooler:
    """The account of a cooler."""

    approach: Quantity
    """Cooled meal above the outside air, K."""
    above_wet_bulb: Quantity
    """Cooled meal above the wet bulb of the outside air, K: what is left to gain at all."""
    water: Quantity
    """Water that left with the cooling air, t."""
    heat: Quantity
    """Heat taken out of the meal, MJ."""
    latent_share: Quantity
    """Share of that heat that left as latent heat of the water, %."""


def cooler(readings: CoolerReadings) -> Cooler:
    """Return the account of a cooler for a period; figures without inputs name what is missing."""
    given = {name: getattr(readings, name) for name in CoolerReadings.__slots__}
    given["dry_heat"] = DRY_MEAL_HEAT
    heat = "meal moisture_in moisture_out meal_in_c meal_out_c dry_heat"
    wet = "meal_out_c outside_c outside_humidity barometer"

    def pick(names: str) -> dict[str, Quantity]:
        return {key: given[key] for key in names.split()}

    return Cooler(
        approach=derive(
            "cooled meal above outside air", "K", _approach, pick("meal_out_c outside_c")
        ),
        above_wet_bulb=derive(
            "cooled meal above wet bulb", "K", _above_wet_bulb, pick(wet), source=SOURCE
        ),
        water=derive(
            "water removed in the cooler",
            "t",
            _water,
            pick("meal moisture_in moisture_out"),
            source=SOURCE,
        ),
        heat=derive("heat taken out in the cooler", "MJ", _heat, pick(heat), source=SOURCE),
        latent_share=derive(
            "share that left with evaporated water", "%", _latent, pick(heat), source=SOURCE
        ),
    )


def _approach(meal_out_c: float, outside_c: float) -> float:
    return meal_out_c - outside_c


def _above_wet_bulb(
    meal_out_c: float, outside_c: float, outside_humidity: float, barometer: float
) -> float:
    outside = make_air(
        outside_c, relative_humidity=min(outside_humidity, 100.0) / 100.0, p_kpa=barometer
    )
    return meal_out_c - outside.wet_bulb


def _water(meal: float, moisture_in: float, moisture_out: float) -> float:
    return water_removed(meal, moisture_in, moisture_out)


def _heat(
    meal: float,
    moisture_in: float,
    moisture_out: float,
    meal_in_c: float,
    meal_out_c: float,
    dry_heat: float,
) -> float:
    return cooling_heat(
        meal,
        moisture_in,
        moisture_out,
        meal_in_c=meal_in_c,
        meal_out_c=meal_out_c,
        dry_heat=dry_heat,
    )


def _latent(**state: float) -> float:
    gone = _water(state["meal"], state["moisture_in"], state["moisture_out"])
    middle = (state["meal_in_c"] + state["meal_out_c"]) / 2.0
    return 100.0 * gone * water.latent_heat(middle) / _heat(**state)
