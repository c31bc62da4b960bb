"""Weather: seasons, days, fronts; temperature, humidity, dew point and wet bulb that agree."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_db.series import Array, ar1, stream

MEAN_C, SEASON_K, DAY_K, FRONT_K = 11.5, 12.0, 4.6, 3.4
WARMEST_DAY = 201
"""Day of the year (about 20 July) on which the season is warmest, northern mid-latitudes."""


@dataclass(frozen=True, slots=True)
class Weather:
    """Arrays over time: air temperature, dew point, wet bulb (degC), humidity (%, g/kg dry air)."""

    temperature: Array
    dew_point: Array
    humidity: Array
    wet_bulb: Array
    mixing_ratio: Array
    wind: Array


def saturation_kpa(celsius: Array) -> Array:
    """Saturation vapour pressure over water, kPa: the Magnus form, constants from memory."""
    return np.asarray(0.61094 * np.exp(17.625 * celsius / (celsius + 243.04)))


def wet_bulb(celsius: Array, humidity: Array) -> Array:
    """Wet-bulb temperature, degC, from air temperature (degC) and relative humidity (%).

    R. Stull, "Wet-bulb temperature from relative humidity and air temperature", Journal of
    Applied Meteorology and Climatology 50 (2011), equation 1; near 101.3 kPa, 5 to 99 %.
    """
    return np.asarray(
        celsius * np.arctan(0.151977 * np.sqrt(humidity + 8.313659))
        + np.arctan(celsius + humidity)
        - np.arctan(humidity - 1.676331)
        + 0.00391838 * humidity**1.5 * np.arctan(0.023101 * humidity)
        - 4.686035
    )


def make_weather(seed: int, year_day: Array, solar_hour: Array) -> Weather:
    """Weather for each step; `year_day` counts from 1 January, `solar_hour` is 0 to 24."""
    rng, steps = stream(seed, "weather"), len(year_day)
    season = np.cos(2 * np.pi * (year_day - WARMEST_DAY) / 365.25)
    noise = ar1(
        rng, steps, hours=np.array([62.0, 40.0, 30.0, 14.0]), sigma=np.array([1.0, 1.0, 1.0, 1.0])
    )
    clear = 0.75 + 0.25 * np.tanh(noise[:, 1])
    sun = np.cos(2 * np.pi * (solar_hour - 15.0) / 24.0) * clear
    amplitude = DAY_K * (1.0 + 0.25 * season)
    temperature = MEAN_C + SEASON_K * season + FRONT_K * noise[:, 0] + amplitude * sun
    # The dew point follows season and fronts but hardly the hour, so humidity peaks before dawn.
    slow = temperature - amplitude * sun
    depression = 4.6 + 1.2 * season + 1.9 * clear + 1.3 * noise[:, 2]
    dew = np.minimum(slow + 0.25 * amplitude * sun - np.maximum(depression, 0.4), temperature - 0.2)
    humidity = 100.0 * saturation_kpa(dew) / saturation_kpa(temperature)
    vapour = saturation_kpa(dew)
    return Weather(
        temperature=temperature,
        dew_point=dew,
        humidity=humidity,
        wet_bulb=np.minimum(wet_bulb(temperature, humidity), temperature),
        mixing_ratio=622.0 * vapour / (101.325 - vapour),
        wind=np.abs(3.2 + 2.2 * noise[:, 3]),
    )
