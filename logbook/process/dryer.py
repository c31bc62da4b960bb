"""The meal dryer: heat, air and steam that it needs, and the moisture it should leave.

Water: dry matter stays, so the water removed is meal x (w_in - w_out) / (1 - w_out). Heat, per
kilogram of dry air G with its humidity unchanged through the heater, from the hot air to the
exhaust:

    G [h(hot, W) - h(exhaust, W)] = m_water h_vapour(exhaust) + change of the meal's own enthalpy + losses

with humid air by CoolProp, water by IF97 and dry meal at 1.5 kJ/(kg K) (from memory). Masses in t
and enthalpies in kJ/kg make heats in MJ. Losses of the casing are a share of the heat the air
brings (5 % where none is given: common practice, no source). Dryers heated through their decks need
the heat of the decks as `deck_heat`.

Meal gives its water up more slowly the drier it is; that is not in the balance. A dryer that leaves
meal wetter than predicted lets air by-pass the meal, or the figure for air or steam is wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from logbook.process import water
from logbook.process.air import Air, make_air, saturated_ratio
from logbook.process.moisture import mass_at, water_removed
from logbook.process.pressure import STANDARD_BAROMETER
from logbook.process.quantity import Quantity, derive

DRY_MEAL_HEAT = Quantity("specific heat of dry meal", 1.5, "kJ/(kg K)", 0.15, source="from memory")
LOSS_SHARE = Quantity("heat lost by the dryer", 0.05, "", 0.03, source="common practice, no source")
STEAM_FACTOR = Quantity("heat of the dryer over heat of its steam", 1.0, "", 0.0)
NO_DECK_HEAT = Quantity("heat through the decks", 0.0, "MJ", 0.0)
SOURCE = "balance of heat and water; humid air by CoolProp, water by IAPWS-IF97"


def meal_enthalpy(t_c: float, moisture: float, *, dry_heat: float = 1.5) -> float:
    """Return the enthalpy of wet meal per kilogram of dry matter, kJ/kg.

    `moisture` in % of wet mass.

    >>> round(meal_enthalpy(60.0, 12.5), 1)
    125.9
    """
    carried = moisture / (100.0 - moisture)
    return dry_heat * t_c + carried * water.liquid_enthalpy(t_c)


def drying_heat(
    meal_t: float,
    moisture_in: float,
    moisture_out: float,
    *,
    meal_in_c: float,
    meal_out_c: float,
    exhaust_c: float,
    dry_heat: float = 1.5,
) -> float:
    """Return the heat that drying takes, MJ: what the air must leave behind.

    `meal_t`: wet meal fed, t; moistures in % of wet mass. The water leaves as vapour at
    `exhaust_c`. Hot meal out of the desolventizer brings part of it along, which is counted.

    >>> found = drying_heat(50.0, 18.5, 12.3, meal_in_c=102.0, meal_out_c=60.0, exhaust_c=58.0)
    >>> round(found)
    4123
    """
    dry = mass_at(meal_t, moisture_in)
    gone = water_removed(meal_t, moisture_in, moisture_out)
    before = meal_enthalpy(meal_in_c, moisture_in, dry_heat=dry_heat)
    after = meal_enthalpy(meal_out_c, moisture_out, dry_heat=dry_heat)
    return gone * water.vapour_enthalpy(exhaust_c) + dry * (after - before)


def heat_of_air(inlet: Air, hot_c: float, exhaust_c: float) -> float:
    """Return the heat that a kilogram of dry air leaves in the dryer, kJ/kg.

    `inlet`: the air taken in; it is heated to `hot_c` and leaves at `exhaust_c`. The water it takes
    up is counted with the meal (`drying_heat`).

    >>> round(heat_of_air(make_air(15.0, relative_humidity=0.7), 120.0, 58.0), 1)
    63.5
    """
    return inlet.heated_to(hot_c).enthalpy - inlet.heated_to(exhaust_c).enthalpy


def air_needed(heat_mj: float, inlet: Air, hot_c: float, exhaust_c: float) -> float:
    """Return the dry air that brings a heat to the dryer, t.

    Raises:
        ValueError: where the exhaust is as hot as the air that comes in, which dries nothing.

    >>> round(air_needed(5000.0, make_air(15.0, relative_humidity=0.7), 120.0, 58.0), 1)
    78.7
    """
    left = heat_of_air(inlet, hot_c, exhaust_c)
    if left <= 0.0:
        msg = f"air at {hot_c:g} °C that leaves at {exhaust_c:g} °C brings no heat: check both"
        raise ValueError(msg)
    return heat_mj / left


def heater_heat(air_t: float, inlet: Air, hot_c: float) -> float:
    """Return the heat that warms `air_t` tonnes of dry air from outside to `hot_c`, MJ.

    >>> round(heater_heat(78.7, make_air(15.0, relative_humidity=0.7), 120.0))
    8453
    """
    return air_t * (inlet.heated_to(hot_c).enthalpy - inlet.enthalpy)


def exhaust_air(air_t: float, water_t: float, inlet: Air, exhaust_c: float) -> Air:
    """Return the state of the exhaust after it has taken up `water_t` tonnes of water.

    Raises:
        ValueError: where it could not hold that much: less water left, or the figures do not agree.

    >>> out = exhaust_air(78.7, 3.5, make_air(15.0, relative_humidity=0.7), 58.0)
    >>> round(out.humidity_ratio, 4), round(out.relative_humidity, 2)
    (0.0519, 0.43)
    """
    ratio = inlet.humidity_ratio + water_t / air_t
    most = saturated_ratio(exhaust_c, p_kpa=inlet.p_kpa) if exhaust_c < 95.0 else ratio
    if ratio > most:
        msg = (
            f"exhaust at {exhaust_c:g} °C holds {1000 * most:.0f} g of water per kg of dry air, "
            f"not {1000 * ratio:.0f}: the figures for air, temperature or moisture do not agree"
        )
        raise ValueError(msg)
    return make_air(exhaust_c, humidity_ratio=ratio, p_kpa=inlet.p_kpa)


def predicted_moisture(
    meal_t: float,
    moisture_in: float,
    heat_mj: float,
    *,
    meal_in_c: float,
    meal_out_c: float,
    exhaust_c: float,
    dry_heat: float = 1.5,
) -> float:
    """Return the moisture (%, wet basis) that meal leaves with when it was given `heat_mj` (MJ).

    The other way round of `drying_heat`, and exact: heat is linear in the water that leaves.

    Raises:
        ValueError: where that heat would take more water than there is.

    >>> kept = dict(meal_in_c=102.0, meal_out_c=60.0, exhaust_c=58.0)
    >>> round(predicted_moisture(50.0, 18.5, drying_heat(50.0, 18.5, 12.3, **kept), **kept), 6)
    12.3
    """
    dry = mass_at(meal_t, moisture_in)
    held = meal_t - dry
    liquid = water.liquid_enthalpy(meal_out_c)
    before = dry * meal_enthalpy(meal_in_c, moisture_in, dry_heat=dry_heat)
    if_nothing_left = dry * dry_heat * meal_out_c + held * liquid - before
    gone = (heat_mj - if_nothing_left) / (water.vapour_enthalpy(exhaust_c) - liquid)
    left = held - gone
    if left < 0.0:
        msg = (
            f"{heat_mj:.0f} MJ would take {gone:.2f} t of water from meal that holds {held:.2f} t: "
            "the figure for air or steam is too high, or that for meal too low"
        )
        raise ValueError(msg)
    return 100.0 * left / (left + dry)


@dataclass(frozen=True, slots=True, kw_only=True)
class DryerReadings:
    """What the account of a dryer is made of, for one period."""

    meal: Quantity
    """Wet meal fed to the dryer, t."""
    moisture_in: Quantity
    """% of wet mass."""
    moisture_out: Quantity
    """% of wet mass, as measured."""
    meal_in_c: Quantity
    meal_out_c: Quantity
    """Meal as it enters and leaves the dryer, degC."""
    air_c: Quantity
    """Hot air to the dryer, degC."""
    exhaust_c: Quantity
    """Air that leaves it, degC."""
    outside_c: Quantity
    """Air taken in, degC."""
    outside_humidity: Quantity
    """Relative humidity of the air taken in, %."""
    steam: Quantity
    """Steam to the air heater, t."""
    steam_kpa: Quantity
    """Absolute pressure of that steam, kPa abs."""
    barometer: Quantity = STANDARD_BAROMETER
    deck_heat: Quantity = NO_DECK_HEAT
    """Heat that comes through heated decks and not by air, MJ."""
    factor: Quantity = STEAM_FACTOR
    """Needed over measured steam in the plant's own good months (`steam_factor`): over 1 where warm
    air from the cooler is taken in, or where the steam meter reads low."""


@dataclass(frozen=True, slots=True)
class Dryer:
    """The account of a dryer."""

    water: Quantity
    """Water removed by the moistures measured, t."""
    heat: Quantity
    """Heat that took, losses included, MJ."""
    air: Quantity
    """Dry air that brings that heat, t."""
    exhaust_humidity: Quantity
    """Relative humidity of the exhaust with that air, %; near 100 the dryer can take no more."""
    steam_needed: Quantity
    """Steam the heater's meter should show for that air, t."""
    steam_excess: Quantity
    """Measured less needed steam, t."""
    moisture_predicted: Quantity
    """Moisture by the steam that was measured, %."""
    moisture_difference: Quantity
    """Measured less predicted moisture, points of per cent."""


def dryer(readings: DryerReadings) -> Dryer:
    """Return the account of a dryer for a period; figures without inputs name what is missing.

    The air is not measured in most plants: it follows from the heater's steam. So the moisture
    predicted from steam and temperatures, and the steam needed for the moisture measured, are
    the same comparison seen from two sides.
    """
    given = {name: getattr(readings, name) for name in DryerReadings.__slots__}
    given |= {"dry_heat": DRY_MEAL_HEAT, "loss": LOSS_SHARE}

    def told(name: str, unit: str, formula: str, note: str = "") -> Quantity:
        function, needs = _FORMULAS[formula]
        inputs = {key: given[key] for key in needs.split()}
        return derive(name, unit, function, inputs, source=SOURCE, note=note)

    needed = told("steam needed by the dryer's heater", "t", "steam")
    predicted = told("moisture predicted", "%", "moisture", "by the steam measured to the heater")
    # Neither of the two holds the reading it is compared with, so they err independently of it.
    excess = {"one": readings.steam, "other": needed}
    difference = {"one": readings.moisture_out, "other": predicted}
    return Dryer(
        water=told("water removed in the dryer", "t", "water"),
        heat=told("heat for drying", "MJ", "heat"),
        air=told("dry air needed", "t", "air"),
        exhaust_humidity=told("relative humidity of the exhaust", "%", "exhaust"),
        steam_needed=needed,
        steam_excess=derive("steam measured less needed", "t", _less, excess),
        moisture_predicted=predicted,
        moisture_difference=derive("moisture measured less predicted", "%", _less, difference),
    )


def steam_factor(needed: Quantity, measured: Quantity) -> Quantity:
    """Return the `factor` of a dryer: steam needed (worked out with factor 1) over steam measured.

    Taken over a month or more that went well, it lets the account say what has changed since,
    whatever warm air the plant recovers and however its steam meter stands.

    >>> needed, measured = Quantity("needed", 4.6, "t", 0.4), Quantity("measured", 3.3, "t", 0.05)
    >>> round(steam_factor(needed, measured).value, 3)
    1.394
    """

    def formula(needed_t: float, measured_t: float) -> float:
        return needed_t / measured_t

    inputs = {"needed_t": needed, "measured_t": measured}
    return derive(STEAM_FACTOR.name, "", formula, inputs, source=SOURCE)


def _water(meal: float, moisture_in: float, moisture_out: float) -> float:
    return water_removed(meal, moisture_in, moisture_out)


def _heat(
    meal: float,
    moisture_in: float,
    moisture_out: float,
    meal_in_c: float,
    meal_out_c: float,
    exhaust_c: float,
    dry_heat: float,
    loss: float,
) -> float:
    net = drying_heat(
        meal,
        moisture_in,
        moisture_out,
        meal_in_c=meal_in_c,
        meal_out_c=meal_out_c,
        exhaust_c=exhaust_c,
        dry_heat=dry_heat,
    )
    return net / (1.0 - loss)


@lru_cache(maxsize=1024)
def _inlet(outside_c: float, outside_humidity: float, barometer: float) -> Air:
    share = min(outside_humidity, 100.0) / 100.0
    return make_air(outside_c, relative_humidity=share, p_kpa=barometer)


def _inlet_of(state: Mapping[str, float]) -> Air:
    return _inlet(state["outside_c"], state["outside_humidity"], state["barometer"])


@lru_cache(maxsize=1024)
def _per_air(inlet: Air, air_c: float, exhaust_c: float) -> tuple[float, float]:
    """Of a kilogram of dry air: kJ that it leaves in the dryer, kJ that it takes in the heater."""
    left = 1.0 / air_needed(1.0, inlet, air_c, exhaust_c)
    return left, heater_heat(1.0, inlet, air_c)


def _net_heat(state: Mapping[str, float]) -> float:
    """Heat of drying by the moistures, losses included, MJ."""
    return _heat(**{key: state[key] for key in _HEAT_KEYS})


def _air(**state: float) -> float:
    left, _ = _per_air(_inlet_of(state), state["air_c"], state["exhaust_c"])
    return (_net_heat(state) - state["deck_heat"]) / left


def _exhaust(**state: float) -> float:
    gone = _water(state["meal"], state["moisture_in"], state["moisture_out"])
    out = exhaust_air(_air(**state), gone, _inlet_of(state), state["exhaust_c"])
    return 100.0 * out.relative_humidity


def _steam_heat(steam_kpa: float) -> float:
    """Heat of a kilogram of steam in the heater: it leaves as water at its boiling temperature."""
    return water.heat_given(steam_kpa, water.saturation_temperature(steam_kpa))


def _steam(**state: float) -> float:
    _, taken = _per_air(_inlet_of(state), state["air_c"], state["exhaust_c"])
    return _air(**state) * taken / (_steam_heat(state["steam_kpa"]) * state["factor"])


def _moisture(**state: float) -> float:
    left, taken = _per_air(_inlet_of(state), state["air_c"], state["exhaust_c"])
    air_t = state["steam"] * state["factor"] * _steam_heat(state["steam_kpa"]) / taken
    return predicted_moisture(
        state["meal"],
        state["moisture_in"],
        (air_t * left + state["deck_heat"]) * (1.0 - state["loss"]),
        meal_in_c=state["meal_in_c"],
        meal_out_c=state["meal_out_c"],
        exhaust_c=state["exhaust_c"],
        dry_heat=state["dry_heat"],
    )


def _less(one: float, other: float) -> float:
    return one - other


_HEAT = "meal moisture_in moisture_out meal_in_c meal_out_c exhaust_c dry_heat loss"
_HEAT_KEYS = tuple(_HEAT.split())
_AIR = f"{_HEAT} air_c outside_c outside_humidity barometer deck_heat"
_MOISTURE = (
    "meal moisture_in meal_in_c meal_out_c exhaust_c dry_heat loss air_c outside_c "
    "outside_humidity barometer deck_heat steam steam_kpa factor"
)
_FORMULAS: Mapping[str, tuple[Callable[..., float], str]] = {
    "water": (_water, "meal moisture_in moisture_out"),
    "heat": (_heat, _HEAT),
    "air": (_air, _AIR),
    "exhaust": (_exhaust, _AIR),
    "steam": (_steam, f"{_AIR} steam_kpa factor"),
    "moisture": (_moisture, _MOISTURE),
}
