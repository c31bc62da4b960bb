"""Gauges of extraction, evaporation, solvent recovery, utilities and weather, by point key."""

from __future__ import annotations

from sample_db.cooling import CONDENSERS
from sample_db.properties import hexane_density
from sample_db.series import Array
from sample_db.streams import Streams

STAGES = (20.0, 13.0, 7.5, 3.8, 1.4)


def back_gauges(streams: Streams) -> dict[str, Array]:
    """True values of extraction, evaporation, recovery, utility and weather points."""
    return {
        **_extraction(streams),
        **_evaporation(streams),
        **_condensing(streams),
        **_recovery(streams),
        **_utilities(streams),
        **_weather(streams),
    }


def _extraction(streams: Streams) -> dict[str, Array]:
    part, load = streams.extraction, streams.running.rate / 62.5
    strength = part.full_miscella.share("oil")
    found = {
        "flake_feed_rate": streams.prep.flakes.total,
        "flake_inlet_temp": part.flake_temperature,
        "fresh_solvent_flow": part.solvent_volume,
        "solvent_inlet_temp": part.solvent_temperature,
        "full_miscella_oil": strength,
        "bed_depth": part.bed_depth,
        "extractor_pressure": part.pressure,
        "extractor_vapour_temp": part.vapour_temperature,
        "extractor_current": 34.0 * (0.55 + 0.45 * load),
        "spent_flake_temp": 57.0 + 0.5 * (part.flake_temperature - 60.0),
        "residence_time": part.residence,
        "miscella_feed_flow": part.miscella_volume,
    }
    for number, oil in enumerate(STAGES, 1):
        found[f"stage_miscella.s{number}"] = oil * (1.0 + (strength - 27.0) / 27.0)
        found[f"stage_pump_current.s{number}"] = 21.0 * (0.7 + 0.3 * load)
    return found


def _evaporation(streams: Streams) -> dict[str, Array]:
    part = streams.evaporation
    return {
        "evaporator_temp.ev1": part.first_temperature,
        "evaporator_pressure.ev1": part.first_pressure,
        "evaporator_temp.ev2": part.second_temperature,
        "evaporator_pressure.ev2": part.second_pressure,
        "evaporator_temp.stripper": part.stripper_temperature,
        "oil_vacuum.stripper": part.stripper_pressure,
        "oil_vacuum.dryer": part.dryer_pressure,
        "stripping_steam_flow": part.steam_kg_h,
        "oil_out_temp": part.oil_temperature,
        "second_stage_steam_pressure": 170.0
        + 9.0 * (part.second_temperature - 100.0)
        - 4.0 * (part.first_oil - 72.0),
        "evaporator_oil.ev1": part.first_oil,
        "evaporator_oil.ev2": part.second_oil,
    }


def _condensing(streams: Streams) -> dict[str, Array]:
    part, found = streams.cooling, {}
    for place, condenser in enumerate(CONDENSERS):
        found[f"condenser_outlet.{condenser}"] = part.outlets[:, place]
        found[f"condenser_water_out.{condenser}"] = part.back + 0.4 * (place - 1.5)
    return found


def _recovery(streams: Streams) -> dict[str, Array]:
    part, cooling = streams.solvent, streams.cooling
    return {
        "vent_gas_temp": cooling.vent_gas,
        "scrubber_cold_oil_temp": part.cold_oil,
        "scrubber_hot_oil_temp": part.hot_oil,
        "vent_lel": part.vent_lel,
        "separator_temp": 41.5 + 0.6 * (cooling.supply - 23.0),
        "solvent_temp.st1": part.store_temperature,
        "solvent_temp.st2": part.store_temperature + 0.4,
        "gas_lel.extraction": 400.0 * part.vent_loss * 0.15,
    }


def _utilities(streams: Streams) -> dict[str, Array]:
    part, cooling = streams.utilities, streams.cooling
    return {
        "steam_flow": part.steam,
        "cooling_water_supply": cooling.supply,
        "cooling_water_return": cooling.back,
        "power_demand": part.power,
        "effluent_flow": part.effluent,
        "cooling_water_pressure": 320.0 + 0.8 * (cooling.supply - 23.0),
        "steam_header_pressure": 1000.0 - 6.0 * (part.steam - 17.6),
    }


def _weather(streams: Streams) -> dict[str, Array]:
    air = streams.weather
    return {
        "ambient_temp": air.temperature,
        "ambient_humidity": air.humidity,
        "wind_speed": air.wind,
    }


def solvent_volumes(streams: Streams) -> tuple[Array, Array]:
    """Volumes in m3 at tank temperature: (work tank, both store tanks)."""
    density = hexane_density(streams.solvent.store_temperature)
    return streams.solvent.work_stock / density, streams.solvent.store_stock / density
