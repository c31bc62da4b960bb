"""A period's balance as plain data: figures unrounded, times ISO 8601 in local time with offset."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum

from logbook.plant.localtime import to_local
from logbook.plant.model import Plant
from logbook.process.quantity import Quantity
from logbook.process.reconcile_plant import PlantReconciliation
from logbook.process.solvent import Compliance
from logbook.process.solvent_forecast import Forecast
from logbook.shift.accounts import CAUTIONS, Accounts
from logbook.shift.period import Period

Json = dict[str, object]
PARTS = (
    "throughput", "yields", "oil", "oil_worth", "water", "solvent", "toaster", "dryer", "cooler",
    "stages", "extractor", "meal",
)  # fmt: skip
"""Fields of `Accounts` that are told whole."""


def as_json(
    found: Accounts,
    period: Period,
    ratio: Compliance | None,
    forecast: Forecast | None = None,
) -> Json:
    """The whole, ready for `json.dumps`; `ratio` is that of the rolling year, if told.

    `forecast` is what it comes to at the end of a month that still runs.
    """
    inputs = found.inputs
    plant = inputs.plant
    return {
        "plant": plant.name,
        "period": {
            "kind": period.kind.value,
            "name": period.name,
            "start": _when(plant, period.start),
            "end": _when(plant, period.end),
            "hours": period.hours,
        },
        "figures": {name: figure_json(one) for name, one in inputs.roles.items()},
        "stocks": {name: plain(one, plant) for name, one in inputs.stocks.items()},
        "deliveries": [plain(one, plant) for one in inputs.deliveries],
        "downtime": [
            {
                "scope": one.scope,
                "target": one.target,
                "name": one.name,
                "reason": one.reason,
                "start": _when(plant, one.start),
                "end": None if one.end is None else _when(plant, one.end),
                "hours": one.hours,
            }
            for one in inputs.downtimes
        ],
        **{name: plain(getattr(found, name), plant) for name in PARTS},
        "compliance": None if ratio is None else plain(ratio, plant),
        "forecast": None if forecast is None else plain(forecast, plant),
        "reconciliation": _reconciled(found.reconciliation, plant),
        "lacks": dict(found.lacks),
        "cautions": list(CAUTIONS),
    }


def figure_json(one: Quantity) -> Json:
    """A figure with all that it was made of."""
    return {
        "name": one.name,
        "value": _number(one.value),
        "unit": one.unit,
        "sigma": _number(one.sigma),
        "inputs": list(one.inputs),
        "source": one.source,
        "missing": list(one.missing),
        "note": one.note,
    }


def plain(value: object, plant: Plant) -> object:
    """Records, figures, times and numbers as JSON has them; what is not a number is null."""
    if isinstance(value, Quantity):
        return figure_json(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        return _when(plant, value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, Mapping):
        return {str(key): plain(one, plant) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(one, plant) for one in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name), plant) for f in fields(value)}
    return value


def _reconciled(one: PlantReconciliation, plant: Plant) -> Json:
    return {
        "balances": one.balances,
        "chi2": _number(one.chi2),
        "dof": one.dof,
        "p_value": _number(one.p_value),
        "level": one.level,
        "limit": _number(one.limit),
        "suspects": list(one.suspects),
        "accusations": plain(one.accusations, plant),
        "flows": plain(one.flows, plant),
        "contents": plain(one.contents, plant),
        "missing": list(one.missing),
        "note": one.note,
    }


def _when(plant: Plant, at: datetime) -> str:
    return to_local(at, plant.time_zone).isoformat()


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)
