"""What an exact laboratory would find, by point key."""

from __future__ import annotations

import numpy as np

from sample_db.series import Array, ar1, delayed, stream
from sample_db.streams import Streams


def lab_gauges(streams: Streams) -> dict[str, Array]:
    """True values of the lab points; each sample is of the stream at the time it is taken."""
    noise = ar1(stream(7, "lab"), len(streams.time), hours=np.array([60.0, 90.0, 40.0]), sigma=1.0)
    return {**_raw(streams, noise), **_meal(streams), **_oil(streams, noise)}


def _raw(streams: Streams, noise: Array) -> dict[str, Array]:
    beans, prep, extraction = streams.beans, streams.prep, streams.extraction
    return {
        "lab_bean_moisture": beans.moisture,
        "lab_bean_oil": beans.oil,
        "lab_bean_protein": beans.protein,
        "lab_bean_foreign": beans.foreign,
        "lab_bean_splits": beans.splits,
        "lab_hull_oil": prep.hull_oil,
        "lab_hull_protein": prep.hull_protein,
        "lab_hull_fibre": prep.hull_fibre,
        "lab_flake_oil": prep.flakes.share("oil"),
        "lab_spent_solvent": extraction.spent_flakes.share("solvent"),
        "lab_spent_moisture": extraction.spent_flakes.share("water"),
        "lab_spent_oil": extraction.residual_oil,
        "lab_miscella_fines": np.clip(0.035 + 0.010 * noise[:, 0], 0.0, None),
    }


def _meal(streams: Streams) -> dict[str, Array]:
    drying, toaster = streams.drying, streams.desolventizing
    return {
        "lab_dt_solvent": toaster.solvent_ppm,
        "lab_meal_moisture": drying.meal.share("water"),
        "lab_meal_protein": drying.protein,
        "lab_meal_fibre": drying.fibre,
        "lab_meal_oil": drying.meal.share("oil"),
        "lab_meal_urease": delayed(toaster.urease, 0.5),
        "lab_meal_koh": delayed(toaster.solubility, 0.5),
        "lab_meal_solvent": delayed(drying.solvent_ppm, 0.5),
    }


def _oil(streams: Streams, noise: Array) -> dict[str, Array]:
    part, acid = streams.evaporation, streams.beans.free_acid
    return {
        "lab_oil_moisture": part.oil_moisture,
        "lab_oil_flash": part.flash,
        "lab_oil_solvent": part.solvent_ppm,
        "lab_oil_ffa": acid,
        "lab_oil_phosphorus": 690.0 + 55.0 * noise[:, 1],
        "lab_oil_insolubles": np.clip(0.042 + 0.012 * noise[:, 0], 0.0, None),
        "lab_oil_colour": 3.4 + 0.35 * noise[:, 2] + 2.0 * (acid - 0.55),
        "lab_waste_water_solvent": streams.solvent.waste_ppm,
        "lab_waste_water_cod": 1500.0 * np.exp(0.22 * noise[:, 2]),
        "lab_solvent_hexane": 62.0 + 1.5 * noise[:, 1],
    }
