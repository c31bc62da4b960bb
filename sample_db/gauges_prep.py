"""Gauges from bean receiving to the flaking mills, by point key."""

from __future__ import annotations

import numpy as np

from sample_db.series import Array, lag
from sample_db.story import MILLS, POSITIONS
from sample_db.streams import Streams


def prep_gauges(streams: Streams, scale: Array) -> dict[str, Array]:
    """True values of receiving, cracking, dehulling, conditioning and flaking points."""
    return {
        **_receiving(streams, scale),
        **_cracking(streams),
        **_conditioning(streams),
        **_mills(streams),
    }


def _receiving(streams: Streams, scale: Array) -> dict[str, Array]:
    beans, load = streams.beans, streams.running.rate / 62.5
    silo = lag(streams.weather.temperature, 400.0)
    found = {
        "bean_feed_rate": streams.running.rate * scale,
        "cleaner_aspirator_dp": 1.2 * (0.4 + 0.6 * load) + 0.02 * (beans.foreign - 0.95),
        "bean_moisture": beans.moisture,
        "bean_temperature": beans.temperature,
        "cleaned_foreign_material": 0.31 * beans.foreign,
        "cleaner_current": 18.0 * (0.45 + 0.55 * load),
        "screenings_rate": 1000.0 * streams.running.rate * beans.foreign / 100.0,
    }
    for elevator in ("be1", "be2"):
        for place, rise in (("head", 16.0), ("boot", 14.0)):
            key = f"bean_elevator_bearing.{elevator}.{place}"
            found[key] = 24.0 + 0.4 * streams.weather.temperature + rise * load * 0.7
    for number in range(1, 5):
        found[f"bean_silo_temp.bs{number}"] = 9.0 + 0.6 * silo + 1.1 * number
    return found


def _cracking(streams: Streams) -> dict[str, Array]:
    beans, prep, load = streams.beans, streams.prep, streams.running.rate / 62.5
    dry = 11.0 - beans.moisture
    two = np.ones_like(load)
    for stop in streams.story.machine_stops:
        if stop.equipment == "cm2":
            time = streams.time
            two[(time >= stop.start.timestamp()) & (time < stop.end.timestamp())] = 1.5
    found = {}
    for place, mill in enumerate(("cm1", "cm2", "cm3")):
        found[f"cracking_current.{mill}"] = 95.0 * (0.35 + 0.65 * load * two) + 1.5 * (place - 1)
    return {
        **found,
        "cracks_coarse": 4.0 - 0.9 * dry,
        "cracks_fines": 2.4 + 0.5 * dry,
        "whole_beans_in_cracks": np.full_like(load, 0.08),
        "primary_aspirator_pressure": 1.5 * (0.7 + 0.3 * load),
        "secondary_aspirator_pressure": 1.1 * (0.7 + 0.3 * load),
        "dehulling_filter_dp": 0.9 * (0.6 + 0.4 * load),
        "hull_rate": prep.hulls.total,
        "hulls_in_meats": prep.hull_left,
        "meats_in_hulls": 1.0 + 0.6 * (prep.hulls.total / np.maximum(load, 0.05) / 4.0 - 1.0) * 4,
        "flake_conveyor_current": 24.0 * (0.45 + 0.55 * load),
    }


def _conditioning(streams: Streams) -> dict[str, Array]:
    prep, load = streams.prep, streams.running.rate / 62.5
    steam = streams.utilities.conditioner_steam * 1000.0
    air = streams.weather.temperature
    return {
        "conditioner_outlet_temp": prep.cracks_temperature,
        "conditioner_steam_pressure": 350.0 * (0.55 + 0.45 * steam / 2450.0),
        "conditioner_air_temp": 72.0 + 0.8 * (prep.cracks_temperature - 66.0),
        "conditioner_current": 60.0 * (0.5 + 0.5 * load),
        "conditioner_outlet_moisture": prep.cracks_moisture,
        "conditioner_steam_flow": steam,
        "conditioner_inlet_temp": streams.beans.temperature + 4.0,
        "conditioner_zone_temp.z1": 48.0 + 0.4 * (prep.cracks_temperature - 66.0) + 0.05 * air,
        "conditioner_zone_temp.z2": 60.0 + 0.7 * (prep.cracks_temperature - 66.0),
        "conditioner_zone_temp.z3": 67.0 + 0.9 * (prep.cracks_temperature - 66.0),
        "flake_temp": prep.flake_temperature + 1.0,
        "flake_moisture": prep.flakes.share("water"),
        "flake_fines": prep.fines - 1.0,
    }


def _mills(streams: Streams) -> dict[str, Array]:
    prep, found = streams.prep, {}
    for i, mill in enumerate(MILLS):
        thick, load = prep.thickness[:, i, :], prep.mill_load[:, i]
        for j, position in enumerate(POSITIONS):
            found[f"flake_thickness.{mill}.{position}"] = thick[:, j]
        current = 130.0 * (0.32 + 0.68 * load) - 170.0 * (thick.mean(axis=1) - 0.350)
        found[f"flaker_current.{mill}"] = current
        found[f"flaker_pressure.{mill}"] = prep.roll_pressure[:, i]
        found[f"flaker_roll_temp.{mill}"] = 62.0 + 0.5 * (prep.cracks_temperature - 66.0)
        found[f"flaker_regrind_hours.{mill}"] = prep.regrind_hours[:, i]
    return found
