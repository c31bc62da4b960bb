"""The plant as it was before the engineer's change of limits, and how readings are judged then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from logbook.assess.limits import Bounds, classify_array
from logbook.plant.model import Limits, Plant, Point
from sample_db.series import Array

BEFORE: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "lab_meal_solvent": {"warning_high": 260.0, "action_high": 450.0},
        "dt_vapour_temp": {"warning_low": 68.0, "action_low": 66.0},
        "lab_dt_solvent": {"warning_high": 450.0, "action_high": 600.0},
    }
)
"""Limits of the normal mode until the revision; since then those of the plant file hold."""

REVISION_REASON = (
    "New meal contract: at most 200 mg/kg solvent in finished meal. Vapour temperature raised to "
    "keep it; limits of both laboratory points and of the vapour follow."
)


def plant_before(plant: Plant) -> Plant:
    """The plant with the limits in force before the revision."""
    points = tuple(
        replace(p, limits=replace(p.limits, **BEFORE[p.key])) if p.key in BEFORE else p
        for p in plant.points
    )
    return replace(plant, points=points)


def judged(
    point: Point,
    old: Limits,
    values: Array,
    seconds: NDArray[np.int64],
    modes: NDArray[np.str_],
    revised: int | None,
) -> NDArray[np.int8]:
    """Codes of a point's values by the limits in force; `old` held before `revised` (epoch s)."""
    keys = sorted(set(modes.tolist()))
    table = [point.limits_in(mode) for mode in keys] + [old]
    index = np.searchsorted(np.array(keys), modes)
    if revised is not None:
        index = np.where((modes == "normal") & (seconds < revised), len(keys), index)
    return classify_array(values, Bounds.stacked(table).take(index))
