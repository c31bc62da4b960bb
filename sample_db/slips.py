"""Typing errors: misplaced decimal points and swapped sides, most of them corrected later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from logbook.plant.model import Point
from sample_db.series import Array, stream
from sample_db.story import DRIFT_MILL, LIVE_MILL, MILLS, Story
from sample_db.timetable import Bools, Timetable

DECIMAL_KEYS = (
    "fresh_solvent_flow", "steam_flow", "stripping_steam_flow", "hull_rate", "sparge_steam_flow",
    "full_miscella_oil", "oil_vacuum.stripper", "work_tank_dip", "scrubber_oil_flow", "bed_depth",
    "evaporator_pressure.ev1", "dryer_outlet_moisture", "cooling_water_supply", "bean_feed_rate",
)  # fmt: skip
CORRECTED, UNCORRECTED = 16, 5
SWAPS: tuple[tuple[int, float], ...] = ((DRIFT_MILL, 136.2), (DRIFT_MILL, 132.5), (LIVE_MILL, 3.3))
"""Mill and days before the end at which left and right were entered the wrong way round."""
SWAP_SHOWS = 0.025
"""Sides that differ by less, mm, would not show a swap."""
LAST_SLIP, LAST_SLIP_ROUND = "full_miscella_oil", 4
"""In the last whole shift the two figures before the point were typed the wrong way round."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A value mistyped in a round, and when and why it was corrected (minutes None: never)."""

    place: int
    column: int
    typed: float
    minutes: float | None
    why: str


def make_slips(
    points: tuple[Point, ...],
    values: Array,
    there: Bools,
    table: Timetable,
    story: Story,
    seed: int,
) -> list[Slip]:
    """All typing errors by round; `there` is true where a reading stands."""
    rng = stream(seed, "slips")
    column = {p.key: j for j, p in enumerate(points)}
    quiet = table.place(story.last_shift.start) if story.last_shift else len(values)
    found: dict[tuple[int, int], Slip] = {}
    while len(found) < CORRECTED + UNCORRECTED:
        place = int(rng.integers(12, quiet - 12))
        j = column[DECIMAL_KEYS[int(rng.integers(len(DECIMAL_KEYS)))]]
        typed = _shifted(points[j], float(values[place, j]), up=bool(rng.random() < 0.5))
        if typed is None or not there[place, j] or (place, j) in found:
            continue
        minutes = float(rng.uniform(18.0, 540.0)) if len(found) < CORRECTED else None
        found[place, j] = Slip(place, j, typed, minutes, "decimal point misplaced")
    for mill, days in SWAPS:
        found.update(_swap(mill, days, column, values, there, table, story))
    if story.last_shift is not None:
        place = quiet + LAST_SLIP_ROUND
        j = column[LAST_SLIP]
        typed = _turned(float(values[place, j]))
        found[place, j] = Slip(place, j, typed, 52.0, "figures typed the wrong way round")
    return sorted(found.values(), key=lambda slip: (slip.place, slip.column))


def _shifted(point: Point, value: float, *, up: bool) -> float | None:
    """The value with its point misplaced, where that would still be taken as plausible."""
    wrong = round(value * 10.0 if up else value / 10.0, max(point.decimals, 1))
    low, high = point.limits.plausible_low, point.limits.plausible_high
    inside = (low is None or wrong >= low) and (high is None or wrong <= high)
    return wrong if inside and wrong != value else None


def _turned(value: float) -> float:
    """27.4 typed as 72.4."""
    tens, units = divmod(int(value), 10)
    return round(units * 10 + tens + value - int(value), 1)


def _swap(
    mill: int,
    days: float,
    column: dict[str, int],
    values: Array,
    there: Bools,
    table: Timetable,
    story: Story,
) -> dict[tuple[int, int], Slip]:
    """Both sides of a mill entered the wrong way round, in the next round where they differ."""
    left = column[f"flake_thickness.{MILLS[mill]}.left"]
    right = column[f"flake_thickness.{MILLS[mill]}.right"]
    place = table.place(story.end - timedelta(days=days))
    if place < 0:
        return {}
    for at in range(place, len(values)):
        apart = abs(values[at, left] - values[at, right]) >= SWAP_SHOWS
        if there[at, left] and there[at, right] and apart:
            why = "left and right entered the wrong way round"
            return {
                (at, left): Slip(at, left, float(values[at, right]), 130.0, why),
                (at, right): Slip(at, right, float(values[at, left]), 130.0, why),
            }
    return {}


def slips_by_round(slips: list[Slip]) -> dict[int, dict[int, float]]:
    """Mistyped values by round and column."""
    found: dict[int, dict[int, float]] = {}
    for slip in slips:
        found.setdefault(slip.place, {})[slip.column] = slip.typed
    return found


__all__ = ["Slip", "make_slips", "slips_by_round"]
