"""Humid air: what it holds, its enthalpy and how far it can cool, through CoolProp.

CoolProp's humid air is that of ASHRAE RP-1485 (Herrmann, Kretzschmar and Gatley 2009: real-gas
corrections and the enhancement of saturation by pressure; from memory). Amounts are per kilogram
of dry air; enthalpies count from dry air and liquid water at 0 degC. CoolProp is loaded with the
first figure asked for.

Below 0 degC saturation and relative humidity are those over ice; weather reports give relative
humidity over supercooled water, which makes it read up to a tenth too low at -10 degC (from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from logbook.plant.units import STANDARD_BAROMETER_KPA

SOURCE = "humid air by CoolProp (ASHRAE RP-1485)"
KELVIN = 273.15
COLDEST_C, HOTTEST_C = -60.0, 200.0
LOWEST_KPA, HIGHEST_KPA = 40.0, 200.0


@dataclass(frozen=True, slots=True)
class Air:
    """A state of humid air; figures that are seldom asked for are worked out then."""

    t_c: float
    """Temperature (dry bulb), degC."""
    humidity_ratio: float
    """Water, kg per kg of dry air."""
    p_kpa: float = STANDARD_BAROMETER_KPA
    """Absolute pressure, kPa."""

    @property
    def enthalpy(self) -> float:
        """Enthalpy, kJ per kg of dry air."""
        return self._of("H") / 1000.0

    @property
    def volume(self) -> float:
        """Volume, m3 per kg of dry air."""
        return self._of("V")

    @property
    def relative_humidity(self) -> float:
        """Share of what the air could hold at its temperature, 0 to 1."""
        return self._of("R")

    @property
    def dew_point(self) -> float:
        """Temperature at which water (or frost) falls out, degC."""
        return self._of("D") - KELVIN

    @property
    def wet_bulb(self) -> float:
        """Temperature that wet things in this air come to, degC: the limit of an air cooler."""
        return self._of("B") - KELVIN

    @property
    def density(self) -> float:
        """Density of the humid air, kg/m3."""
        return (1.0 + self.humidity_ratio) / self.volume

    def heated_to(self, t_c: float) -> Air:
        """Return the same air at another temperature, no water gained or lost."""
        _check(t_c, self.p_kpa)
        return Air(t_c, self.humidity_ratio, self.p_kpa)

    def _of(self, name: str) -> float:
        return humid_air(name, self.t_c, self.p_kpa, "W", self.humidity_ratio)


def make_air(
    t_c: float,
    *,
    relative_humidity: float | None = None,
    humidity_ratio: float | None = None,
    wet_bulb_c: float | None = None,
    dew_point_c: float | None = None,
    p_kpa: float = STANDARD_BAROMETER_KPA,
) -> Air:
    """Return the state of air of which the temperature (degC) and one other figure are known.

    `relative_humidity` is 0 to 1, `humidity_ratio` kg/kg of dry air; `p_kpa` is the absolute
    pressure, that of the place (`logbook.process.pressure.barometer_at`).

    Raises:
        ValueError: where not exactly one of the four is given, or where no such air can be.

    >>> air = make_air(25.0, relative_humidity=0.5)
    >>> round(air.humidity_ratio, 5), round(air.enthalpy, 1), round(air.wet_bulb, 1)
    (0.00993, 50.4, 17.9)
    """
    given = {
        "R": relative_humidity,
        "W": humidity_ratio,
        "B": None if wet_bulb_c is None else wet_bulb_c + KELVIN,
        "D": None if dew_point_c is None else dew_point_c + KELVIN,
    }
    known = [(key, value) for key, value in given.items() if value is not None]
    if len(known) != 1:
        msg = "give exactly one of relative humidity, humidity ratio, wet bulb and dew point"
        raise ValueError(msg)
    key, value = known[0]
    if key == "R" and not 0.0 <= value <= 1.0:
        msg = f"a relative humidity of {value:g} cannot be: give a share from 0 to 1, 60 % as 0.60"
        raise ValueError(msg)
    if key in "BD" and not value <= t_c + KELVIN:
        msg = f"air of {t_c:g} °C cannot have {_told(key, value)}: it is the higher of the two"
        raise ValueError(msg)
    if key == "W":
        if not 0.0 <= value <= 10.0:
            msg = f"a humidity ratio of {value:g} kg/kg cannot be used: give 0 to 10 kg/kg dry air"
            raise ValueError(msg)
        _check(t_c, p_kpa)
        return Air(t_c, value, p_kpa)
    return Air(t_c, humid_air("W", t_c, p_kpa, key, value), p_kpa)


def saturated_ratio(t_c: float, *, p_kpa: float = STANDARD_BAROMETER_KPA) -> float:
    """Return the most water that air at `t_c` can hold, kg per kg of dry air.

    Raises:
        ValueError: where water boils at that temperature: such "air" has no limit.

    >>> round(saturated_ratio(50.0), 5)
    0.08686
    """
    return humid_air("W", t_c, p_kpa, "R", 1.0)


def humid_air(name: str, t_c: float, p_kpa: float, key: str, value: float) -> float:
    """Return one property by CoolProp's letter, in SI units, per kg of dry air.

    `key` and `value`: the third figure of the state, by CoolProp's letter and in SI units.

    Raises:
        ValueError: outside -60 to 200 degC or 40 to 200 kPa, or where no such air can be.
    """
    _check(t_c, p_kpa)
    try:
        return _humid_air(name, t_c + KELVIN, p_kpa * 1000.0, key, value)
    except ValueError as problem:
        msg = f"no air of {t_c:g} °C and {p_kpa:g} kPa abs has {_told(key, value)}: check both figures"
        raise ValueError(msg) from problem


def _told(key: str, value: float) -> str:
    names = {
        "R": "a relative humidity",
        "W": "a humidity ratio",
        "B": "a wet bulb",
        "D": "a dew point",
    }
    shown = f"{value - KELVIN:.1f} °C" if key in "BD" else f"{value:g}"
    return f"{names[key]} of {shown}"


def _check(t_c: float, p_kpa: float) -> None:
    if not COLDEST_C <= t_c <= HOTTEST_C:
        msg = f"{t_c:g} °C is outside the range for humid air: {COLDEST_C:g} to {HOTTEST_C:g} °C"
        raise ValueError(msg)
    if not LOWEST_KPA <= p_kpa <= HIGHEST_KPA:
        msg = f"{p_kpa:g} kPa abs is outside the range for humid air: {LOWEST_KPA:g} to {HIGHEST_KPA:g} kPa"
        raise ValueError(msg)


@lru_cache(maxsize=8192)
def _humid_air(name: str, t_k: float, p_pa: float, key: str, value: float) -> float:
    from CoolProp.CoolProp import HAPropsSI

    return float(HAPropsSI(name, "T", t_k, "P", p_pa, key, value))
