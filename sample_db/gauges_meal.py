"""Gauges of desolventizer, dryer, meal grinding and hull pelleting, by point key."""

from __future__ import annotations

from sample_db.series import Array, lag
from sample_db.streams import Streams


def meal_gauges(streams: Streams) -> dict[str, Array]:
    """True values of desolventizing, drying, grinding and hull points."""
    return {**_toaster(streams), **_dryer(streams), **_grinding(streams), **_hulls(streams)}


def _toaster(streams: Streams) -> dict[str, Array]:
    part, load = streams.desolventizing, streams.running.rate / 62.5
    found = {f"dt_tray_temp.t{i + 1}": part.trays[:, i] for i in range(part.trays.shape[1])}
    # More sparge steam and a warmer vapour raise the pressure in the dome.
    lift = 18.0 * (part.sparge_steam.water / 5.4 - 1.0) + 3.0 * (part.vapour_temperature - 72.0)
    return {
        **found,
        "dt_vapour_temp": part.vapour_temperature,
        "dt_pressure": -62.0 + lift,
        "sparge_steam_flow": part.sparge_steam.water,
        "jacket_steam_pressure": part.jacket_pressure,
        "dt_drive_current": 210.0 * (0.5 + 0.5 * load),
        "dt_meal_temp": part.trays[:, -1] - 1.0,
        "dt_outlet_moisture": part.meal.share("water"),
        "dt_scrubber_temp": part.vapour_temperature - 2.0,
        "dt_retention": part.retention,
        "dt_vapour_line_dp": 250.0 * load**2,
        "sparge_steam_pressure": 600.0 + 40.0 * (part.sparge_steam.water / 5.4 - 1.0),
    }


def _dryer(streams: Streams) -> dict[str, Array]:
    part, load = streams.drying, streams.running.rate / 62.5
    return {
        "dryer_air_temp": part.air_temperature,
        "dryer_exhaust_temp": 60.0
        + 0.35 * (part.air_temperature - 120.0)
        + 0.06 * (streams.weather.temperature - 12.0),
        "dryer_outlet_moisture": part.outlet_moisture,
        "dryer_steam_pressure": 800.0 + 5.0 * (part.air_temperature - 120.0),
        "cooled_meal_temp": part.meal_temperature,
        "dryer_deck_meal_temp": 75.0 + 0.3 * (part.air_temperature - 120.0),
        "dryer_steam_flow": streams.utilities.dryer_steam,
        "cooler_fan_current": 105.0 * (0.8 + 0.2 * load),
    }


def _grinding(streams: Streams) -> dict[str, Array]:
    time, load = streams.time, streams.running.rate / 62.5
    alone = 1.0 + 0.0 * load
    for stop in streams.story.machine_stops:
        if stop.equipment == "mg2":
            alone[(time >= stop.start.timestamp()) & (time < stop.end.timestamp())] = 1.28
    current = 165.0 * (0.4 + 0.6 * load) * alone
    return {
        "grinder_current.mg1": current,
        "grinder_current.mg2": 165.0 * (0.4 + 0.6 * load),
        "hull_addback_rate": streams.drying.added_hulls.total,
        "ground_meal_temp": streams.drying.meal_temperature + 6.0,
    }


def _hulls(streams: Streams) -> dict[str, Array]:
    hulls = (streams.prep.hulls - streams.drying.added_hulls).total / 4.0
    slow = lag(streams.weather.temperature, 2.0)
    return {
        "pellet_mill_current": 195.0 * (0.35 + 0.65 * hulls),
        "hull_grinder_current": 120.0 * (0.4 + 0.6 * hulls),
        "pellet_cooler_temp": 11.0 + slow * 0.85,
        "pellet_bin_temp": 9.0 + 0.8 * lag(streams.weather.temperature, 60.0),
        "loading_meal_temp": 3.0 + lag(streams.drying.meal_temperature, 30.0),
    }
