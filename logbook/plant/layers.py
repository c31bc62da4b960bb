"""Limits stated in several places of a plant file, laid over one another.

A point states limits; an exception at a row or column, or another mode, states only what
differs. Each stated limit keeps the key path it came from, so that a clash is told there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from logbook.plant import schema
from logbook.plant.faults import KeyPath
from logbook.plant.model import Limits

PAIRS = ("warning", "action", "plausible")
LADDER = (
    "plausible_low",
    "action_low",
    "warning_low",
    "target",
    "warning_high",
    "action_high",
    "plausible_high",
)
"""The limits from the lowest to the highest, as they must be ordered."""


@dataclass(frozen=True, slots=True)
class Stated:
    """A limit as stated, None where it is taken away, with its key path."""

    value: float | None
    path: KeyPath


Layer = Mapping[str, Stated]


def stated_limits(fields: schema.LimitFields, path: KeyPath) -> dict[str, Stated]:
    """The limits stated in one place, by the names of `Limits`."""
    found: dict[str, Stated] = {}
    for pair in PAIRS:
        if pair in fields.model_fields_set:
            low, high = getattr(fields, pair)
            found[f"{pair}_low"] = Stated(low, (*path, pair))
            found[f"{pair}_high"] = Stated(high, (*path, pair))
    for edge in LADDER:
        if edge in fields.model_fields_set:
            found[edge] = Stated(getattr(fields, edge), (*path, edge))
    return found


def lay_over(*layers: Layer) -> dict[str, Stated]:
    """Later layers over earlier ones."""
    merged: dict[str, Stated] = {}
    for layer in layers:
        merged.update(layer)
    return merged


def as_limits(layer: Layer) -> Limits:
    """The limits of a merged layer."""
    return Limits(**{edge: stated.value for edge, stated in layer.items()})
