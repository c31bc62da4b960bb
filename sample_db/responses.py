"""What crews write that they did about a reading beyond its action limit."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from logbook.plant.model import Point, PointKind

HIGH_LOW: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "bean_feed_rate": (
        ("Feeder pulled back to plan.", "Rate taken down, day bin gate was wide open."),
        ("Feeder checked, bin gate freed.", "Rate below plan, see log; told the lead."),
    ),
    "flake_thickness": (
        ("Pressure on that side raised 2 bar, re-measured after 20 min.",
         "Thick side: roll pressure up, mill on the list for regrind.",
         "Measured again with ten flakes, same. Pressure raised."),
        ("Pressure eased 2 bar.", "Too thin, pressure lowered, fines watched."),
    ),
    "flaker_current": (
        ("Feed to the mill cut a little.", "Mill listened to, feed gate trimmed."),
        ("Mill was running light, feed gate opened.", "Roll gap looked at, gate choke cleared."),
    ),
    "cracking_current": (
        ("Feed to the mill cut, other two take more.", "Magnet and feeder looked at, load falling."),
        ("Feeder gate opened.", "Feed was short at this mill, chute poked free."),
    ),
    "condenser_outlet": (
        ("Cooling water opened full, tower fans checked.",
         "Water side vented, flow felt by hand, outlet watched each half hour.",
         "Told the lead, rate to be cut if it goes on."),
        ("Water throttled.",),
    ),
    "cooling_water_supply": (
        ("Fans checked at the tower.", "Second fan started by hand, make-up checked."),
        ("Bypass opened a turn.",),
    ),
    "vent_gas_temp": (
        ("Condenser water checked, scrubber oil flow raised.",),
        ("Water throttled, gauge compared.",),
    ),
    "vent_lel": (
        ("Scrubber oil flow raised, cold oil temperature checked.",
         "Vent watched, hot oil heater trap cleared."),
        ("Zero of the analyser checked.",),
    ),
    "dt_vapour_temp": (
        ("Sparge trimmed down a little.", "Level in tray 1 checked, steam eased."),
        ("Sparge raised 0.2 t/h, feed moisture checked.",
         "Sparge up, meal sample sent to the laboratory."),
    ),
    "dt_tray_temp": (
        ("Jacket steam eased.", "Tray gate opened, steam pressure down 30 kPa."),
        ("Trap blown down, jacket pressure raised.", "Steam valve exercised by hand, trap changed over.",
         "Told the lead; residence time raised, sample taken."),
    ),
    "dryer_outlet_moisture": (
        ("Dryer air up 4 degrees.", "Air temperature raised, second check in half an hour."),
        ("Dryer air down 4 degrees.",),
    ),
    "extractor_pressure": (
        ("Vent checked, draft opened.", "Seal level and vent looked at."),
        ("Draft throttled.",),
    ),
    "dt_pressure": (
        ("Vapour line drained, draft opened a little.",),
        ("Draft throttled.",),
    ),
    "oil_vacuum": (
        ("Ejector steam raised, suction strainer checked.",), ("Air bleed trimmed.",),
    ),
    "steam_flow": (
        ("Boiler house told, traps walked.",), ("Rate is down, boiler turned down too.",),
    ),
    "lab_meal_solvent": (
        ("Vapour temperature and sparge raised, next sample in two hours.",
         "Bin kept apart until the check sample is in."),
        (),
    ),
    "lab_dt_solvent": (
        ("Sparge raised, retention up; check sample taken.",), (),
    ),
    "lab_meal_urease": (
        ("Toasting trays raised 2 degrees, bin marked.",), ("Toasting eased.",),
    ),
    "lab_meal_protein": (
        ("Nothing to do; blend noted.",), ("Hulls in meats checked, aspiration opened.",),
    ),
    "lab_meal_fibre": (
        ("Aspirators opened, hulls in meats to be checked each four hours.",), (),
    ),
    "lab_meal_moisture": (
        ("Dryer air raised, cooler checked.",), ("Dryer air lowered.",),
    ),
    "gas_panel": (
        ("Area cleared, portable meter round made, panel reset after the cause was found.",), (),
    ),
    "spark_detection": (("Put back in service at once.",), ()),
    "bed_percolation": (("Solvent cut at the flooded stage, bed watched.",), ()),
    "extraction_leak_walk": (("Leak isolated, seal to be changed; area taped off.",), ()),
}  # fmt: skip

PLAIN_HIGH = (
    "Checked on the spot, reading right. Brought back towards target.",
    "Trimmed down, looked at again after half an hour.",
    "Told the lead, watching it.",
    "Second gauge compared, agrees; setting lowered.",
)
PLAIN_LOW = (
    "Checked on the spot, reading right. Brought back towards target.",
    "Trimmed up, looked at again after half an hour.",
    "Told the lead, watching it.",
    "Second gauge compared, agrees; setting raised.",
)
NOT_NUMBER = ("Done later in the round.", "Made good at once, lead told.", "See log.")


def response_to(point: Point, code: int, rng: np.random.Generator) -> str:
    """Words for a deviation of `point`; `code` is negative for low."""
    high, low = HIGH_LOW.get(point.key.split(".")[0], ((), ()))
    words = high if code > 0 else low
    if not words and point.kind in {PointKind.STATE, PointKind.CHECK}:
        words = NOT_NUMBER
    words = words or (PLAIN_HIGH if code > 0 else PLAIN_LOW)
    return words[int(rng.integers(len(words)))]
