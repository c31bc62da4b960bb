"""Desolventizing: heat and direct steam that strip the solvent, water picked up, vapour, moisture.

Spent flakes bring solvent and water at their temperature. Direct (sparge) steam condenses into
them, jackets warm them, hexane leaves as vapour saturated with water at its own temperature
(`logbook.process.azeotrope`). Enthalpies of steam and water by IAPWS-IF97, of hexane by CoolProp,
of dry meal at 1.5 kJ/(kg K) (from memory); t and kJ/kg make MJ:

    S h(steam) + Q(jackets) + W_in h_w(flakes) =
        hexane driven off x (vapour - liquid) + dry meal + W_out h_w(meal) + W_vapour h_v(vapour)
    W_out = W_in + S - W_vapour

So the moisture leaving is known from measured steam by the balance of water alone, and the heat
that the jackets must have given follows from the balance of heat. Losses of the shell count as
jacket heat that did not arrive. The meal's binding of water and solvent (a few per cent of the
latent heats) is left out.

Common practice, no source: spent flakes hold about 30 % solvent; meal leaves the toaster with about
18 % moisture.

These figures support, and do not replace, the site's procedures, local codes and licensed
practice: they do not say that meal is free of solvent; only the residual-solvent analysis does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from logbook.plant.units import STANDARD_BAROMETER_KPA
from logbook.process import hexane, water
from logbook.process.azeotrope import margin, water_per_hexane
from logbook.process.dryer import DRY_MEAL_HEAT
from logbook.process.pressure import STANDARD_BAROMETER
from logbook.process.quantity import Quantity, derive

SOURCE = "balance of heat and water; water by IAPWS-IF97, hexane by CoolProp, vapour saturated with water"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToasterReadings:
    """What the account of a desolventizer-toaster is made of, for one period.

    `dry_meal` is dry, solvent-free matter with its oil, t: it stays the same from the flakes to the
    meal, so it can be taken from either end.
    """

    dry_meal: Quantity
    solvent_in: Quantity
    """Solvent in the spent flakes, % of their mass."""
    water_in: Quantity
    """Water in the spent flakes, % of their mass, solvent counted."""
    solvent_out: Quantity
    """Solvent left in the meal, mg per kg."""
    moisture_out: Quantity
    """Measured moisture of the meal that leaves, % of wet mass."""
    flakes_c: Quantity
    """Spent flakes as they come in, degC."""
    meal_c: Quantity
    """Meal as it leaves, degC."""
    vapour_c: Quantity
    """Vapour that leaves, degC."""
    steam: Quantity
    """Direct steam, t."""
    steam_kpa: Quantity
    """Absolute pressure of the direct steam ahead of its valve, kPa abs; taken as saturated."""
    pressure: Quantity = STANDARD_BAROMETER
    """Absolute pressure of the vapour, kPa abs."""


@dataclass(frozen=True, slots=True)
class Toaster:
    """The account of a desolventizer-toaster."""

    solvent: Quantity
    """Solvent driven off, t."""
    heat_for_solvent: Quantity
    """Heat that turned it into vapour, MJ."""
    heat_for_meal: Quantity
    """Heat that warmed meal and its own water, MJ."""
    water_per_solvent: Quantity
    """Water in the vapour, kg per kg of solvent."""
    water_in_vapour: Quantity
    """Water that left with the vapour, t."""
    steam_condensed: Quantity
    """Direct steam that stayed in the meal, t; the rest left with the vapour."""
    moisture_predicted: Quantity
    """Moisture leaving by the steam measured, %."""
    moisture_difference: Quantity
    """Measured less predicted moisture, points of per cent."""
    steam_for_moisture: Quantity
    """Direct steam that the measured moisture asks for, t: a check of the steam meter."""
    steam_excess: Quantity
    """Measured less that steam, t."""
    jacket_heat: Quantity
    """Heat that the jackets must have given, MJ."""
    direct_share: Quantity
    """Share of the heat that came with direct steam, %."""
    steam_per_meal: Quantity
    """Direct steam per tonne of dry meal, kg/t."""
    above_azeotrope: Quantity
    """Vapour temperature above the hexane-water azeotrope, K."""


def flakes_mass(dry_meal_t: float, solvent: float, water_share: float) -> float:
    """Return the mass of spent flakes, t, with `solvent` and `water_share` in % of that mass.

    >>> flakes_mass(60.0, 30.0, 10.0)
    100.0
    """
    rest = 100.0 - solvent - water_share
    if solvent < 0.0 or water_share < 0.0 or rest <= 0.0:
        msg = f"spent flakes with {solvent:g} % solvent and {water_share:g} % water cannot be"
        raise ValueError(msg)
    return 100.0 * dry_meal_t / rest


def solvent_driven_off(
    dry_meal_t: float, solvent: float, water_share: float, left_ppm: float, moisture_out: float
) -> float:
    """Return the solvent that leaves as vapour, t; `left_ppm`: mg per kg of the meal that leaves.

    >>> round(solvent_driven_off(60.0, 30.0, 10.0, 300.0, 18.0), 3)
    29.978
    """
    brought = flakes_mass(dry_meal_t, solvent, water_share) * solvent / 100.0
    meal = dry_meal_t / (1.0 - moisture_out / 100.0 - left_ppm * 1e-6)
    return brought - meal * left_ppm * 1e-6


def steam_needed(
    solvent_t: float,
    dry_meal_t: float,
    water_t: float,
    *,
    flakes_c: float,
    meal_c: float,
    vapour_c: float,
    steam_kpa: float,
    jacket_mj: float = 0.0,
    pressure_kpa: float = STANDARD_BAROMETER_KPA,
    dry_heat: float = 1.5,
) -> float:
    """Return the direct steam that strips `solvent_t` tonnes, t, beside what the jackets give.

    `water_t`: water that the spent flakes bring, t. A result of nothing or less says that the
    jackets alone would do it; stripping the last of the solvent still takes open steam.

    >>> kept = dict(flakes_c=57.0, meal_c=105.0, vapour_c=72.0, steam_kpa=600.0)
    >>> round(steam_needed(30.0, 60.0, 10.0, jacket_mj=5000.0, **kept), 2)
    8.36
    """
    ratio = water_per_hexane(vapour_c, pressure_kpa)
    with_vapour = ratio * solvent_t * (water.vapour_enthalpy(vapour_c) - _liquid(meal_c))
    need = (
        solvent_t * hexane.heat_to_vapour(flakes_c, vapour_c)
        + _meal_heat(dry_meal_t, water_t, flakes_c, meal_c, dry_heat)
        + with_vapour
        - jacket_mj
    )
    return need / (water.steam_enthalpy(steam_kpa) - _liquid(meal_c))


def moisture_leaving(
    dry_meal_t: float, water_t: float, steam_t: float, vapour_water_t: float
) -> float:
    """Return the moisture of the meal that leaves, % of wet mass, by the balance of water.

    Raises:
        ValueError: where more water would leave with the vapour than came in.

    >>> round(moisture_leaving(60.0, 10.0, 8.0, 3.2), 2)
    19.79
    """
    held = water_t + steam_t - vapour_water_t
    if held < 0.0:
        msg = (
            f"{vapour_water_t:.2f} t of water cannot leave with the vapour when flakes and steam "
            f"bring {water_t + steam_t:.2f} t: look at vapour temperature and steam meter"
        )
        raise ValueError(msg)
    return 100.0 * held / (held + dry_meal_t)


def toaster(readings: ToasterReadings) -> Toaster:
    """Return the account of a desolventizer-toaster; a figure without inputs names them."""
    given = {name: getattr(readings, name) for name in ToasterReadings.__slots__}
    given["dry_heat"] = DRY_MEAL_HEAT

    def told(name: str, unit: str, formula: str, note: str = "") -> Quantity:
        function, needs = _FORMULAS[formula]
        inputs = {key: given[key] for key in needs.split()}
        return derive(name, unit, function, inputs, source=SOURCE, note=note)

    by_water = "by the balance of water: flakes, direct steam, vapour"
    predicted = told("moisture predicted", "%", "moisture", by_water)
    wanted = told("direct steam by the moisture", "t", "steam", by_water)
    # Neither holds the reading it is compared with (the moisture does, but only in the trace of
    # solvent left in the meal), so they err independently of it.
    difference = {"one": readings.moisture_out, "other": predicted}
    excess = {"one": readings.steam, "other": wanted}
    return Toaster(
        solvent=told("solvent driven off", "t", "solvent"),
        heat_for_solvent=told("heat for the solvent", "MJ", "solvent_heat"),
        heat_for_meal=told("heat for meal and its water", "MJ", "meal_heat"),
        water_per_solvent=told("water in the vapour", "kg/kg", "ratio"),
        water_in_vapour=told("water that left with the vapour", "t", "vapour_water"),
        steam_condensed=told("direct steam condensed in the meal", "t", "condensed"),
        moisture_predicted=predicted,
        moisture_difference=derive("moisture measured less predicted", "%", _less, difference),
        steam_for_moisture=wanted,
        steam_excess=derive("direct steam measured less expected", "t", _less, excess),
        jacket_heat=told("heat from the jackets", "MJ", "jackets", "less the losses of the shell"),
        direct_share=told("share of heat from direct steam", "%", "direct"),
        steam_per_meal=told("direct steam per tonne of dry meal", "kg/t", "specific"),
        above_azeotrope=margin(readings.vapour_c, readings.pressure),
    )


def _liquid(t_c: float) -> float:
    return water.liquid_enthalpy(t_c)


def _meal_heat(
    dry_meal: float, water_t: float, flakes_c: float, meal_c: float, dry_heat: float
) -> float:
    own_water = water_t * (_liquid(meal_c) - _liquid(flakes_c))
    return dry_meal * dry_heat * (meal_c - flakes_c) + own_water


def _own_water(state: dict[str, float]) -> float:
    """Water that the spent flakes bring, t."""
    flakes = flakes_mass(state["dry_meal"], state["solvent_in"], state["water_in"])
    return flakes * state["water_in"] / 100.0


def _solvent(**state: float) -> float:
    return solvent_driven_off(
        state["dry_meal"],
        state["solvent_in"],
        state["water_in"],
        state["solvent_out"],
        state["moisture_out"],
    )


def _solvent_heat(flakes_c: float, vapour_c: float, **state: float) -> float:
    return _solvent(**state) * hexane.heat_to_vapour(flakes_c, vapour_c)


def _heat_for_meal(**state: float) -> float:
    brought = _own_water(state)
    kept = (state["flakes_c"], state["meal_c"], state["dry_heat"])
    return _meal_heat(state["dry_meal"], brought, *kept)


def _ratio(vapour_c: float, pressure: float) -> float:
    return water_per_hexane(vapour_c, pressure)


def _vapour_water(vapour_c: float, pressure: float, **state: float) -> float:
    return _solvent(**state) * water_per_hexane(vapour_c, pressure)


def _condensed(steam: float, **state: float) -> float:
    return steam - _vapour_water(**state)


def _moisture(steam: float, **state: float) -> float:
    return moisture_leaving(state["dry_meal"], _own_water(state), steam, _vapour_water(**state))


def _steam(**state: float) -> float:
    share = state["moisture_out"] / (100.0 - state["moisture_out"])
    return state["dry_meal"] * share - _own_water(state) + _vapour_water(**state)


def _less(one: float, other: float) -> float:
    return one - other


def _total_heat(state: dict[str, float]) -> float:
    """All that flakes and vapour take above the meal's water at its outlet temperature, MJ."""
    vapour = water.vapour_enthalpy(state["vapour_c"]) - _liquid(state["meal_c"])
    solvent = _solvent(**state)
    boiling = hexane.heat_to_vapour(state["flakes_c"], state["vapour_c"])
    with_vapour = water_per_hexane(state["vapour_c"], state["pressure"]) * vapour
    return solvent * (boiling + with_vapour) + _heat_for_meal(**state)


def _direct_heat(state: dict[str, float]) -> float:
    given = water.steam_enthalpy(state["steam_kpa"]) - _liquid(state["meal_c"])
    return state["steam"] * given


def _jackets(**state: float) -> float:
    return _total_heat(state) - _direct_heat(state)


def _direct(**state: float) -> float:
    return 100.0 * _direct_heat(state) / _total_heat(state)


def _specific(steam: float, dry_meal: float) -> float:
    return 1000.0 * steam / dry_meal


_SOLVENT = "dry_meal solvent_in water_in solvent_out moisture_out"
_WITH_VAPOUR = f"{_SOLVENT} vapour_c pressure"
_HEATS = f"{_WITH_VAPOUR} flakes_c meal_c dry_heat steam steam_kpa"
_FORMULAS: Mapping[str, tuple[Callable[..., float], str]] = {
    "solvent": (_solvent, _SOLVENT),
    "solvent_heat": (_solvent_heat, f"{_SOLVENT} flakes_c vapour_c"),
    "meal_heat": (_heat_for_meal, "dry_meal solvent_in water_in flakes_c meal_c dry_heat"),
    "ratio": (_ratio, "vapour_c pressure"),
    "vapour_water": (_vapour_water, _WITH_VAPOUR),
    "condensed": (_condensed, f"{_WITH_VAPOUR} steam"),
    "moisture": (_moisture, f"{_WITH_VAPOUR} steam"),
    "steam": (_steam, _WITH_VAPOUR),
    "jackets": (_jackets, _HEATS),
    "direct": (_direct, _HEATS),
    "specific": (_specific, "steam dry_meal"),
}
