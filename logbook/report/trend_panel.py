"""Where the panels of a trend stand, and which values each shows; plain numbers, for any painter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logbook.plant.model import Limits
from logbook.report.axis import nice_range, ticks_of

LEFT, RIGHT = 68.0, 18.0
HEAD_ROW, GAP, LEAST = 20.0, 10.0, 84.0
LANE, AXIS = 20.0, 38.0
FLATTEST = 6.0
"""Limits are shown as long as the readings keep a sixth of the height."""


@dataclass(frozen=True, slots=True)
class Room:
    """A rectangle in pixels."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class Placed:
    """Room of each panel's head and drawing, of the lanes under them, and of the time axis."""

    heads: tuple[Room, ...]
    panels: tuple[Room, ...]
    modes: Room
    log: Room
    axis: Room
    height: float
    """At least as high as the room given; higher where the panels need it."""

    def panel_at(self, y: float) -> int:
        """The panel at a height, its head included; -1 where there is none."""
        for number, (head, panel) in enumerate(zip(self.heads, self.panels, strict=True)):
            if head.top <= y < panel.bottom + GAP:
                return number
        return -1


def lay_out_panels(width: float, height: float, rows: Sequence[int]) -> Placed:
    """Panels below one another, each with so many lines of heading, all drawings equally high."""
    right = max(width - RIGHT, LEFT + 10.0)
    fixed = sum(HEAD_ROW * count + GAP for count in rows) + 2 * LANE + AXIS
    each = max(LEAST, (height - fixed) / max(len(rows), 1))
    heads, panels, top = [], [], 4.0
    for count in rows:
        heads.append(Room(LEFT, top, right, top + HEAD_ROW * count))
        top += HEAD_ROW * count
        panels.append(Room(LEFT, top, right, top + each - 4.0))
        top += each + GAP
    top = max(top - GAP, height - AXIS - 2 * LANE) if not rows else top - GAP
    modes = Room(LEFT, top, right, top + LANE)
    log = Room(LEFT, top + LANE, right, top + 2 * LANE)
    axis = Room(LEFT, top + 2 * LANE, right, top + 2 * LANE + AXIS)
    return Placed(tuple(heads), tuple(panels), modes, log, axis, axis.bottom)


def value_range(
    lines: Iterable[NDArray[np.float64]], limits: Iterable[Limits]
) -> tuple[float, float]:
    """The values that a panel shows: every reading, and the limits unless they flatten them.

    No reading is ever cut off, however wild. An edge of the limits is left out where the
    readings would keep less than a sixth of the height for it.
    """
    held = [line for line in lines if line.size]
    edges = sorted({edge for one in limits for edge in limit_edges(one)})
    if not held:
        return nice_range((edges[0], edges[-1]) if edges else (0.0, 1.0))
    low, high = min(float(x.min()) for x in held), max(float(x.max()) for x in held)
    longest = FLATTEST * (high - low) or math.inf
    for edge in sorted(edges, key=lambda e: max(low - e, e - high, 0.0)):
        lower, upper = min(low, edge), max(high, edge)
        if upper - lower <= longest:
            low, high = lower, upper
    return nice_range((low, high))


def limit_edges(limits: Limits) -> list[float]:
    """Target, warning and action limits that there are."""
    all_of = (
        limits.target,
        limits.warning_low,
        limits.warning_high,
        limits.action_low,
        limits.action_high,
    )
    return [edge for edge in all_of if edge is not None]


def value_ticks(span: tuple[float, float], height: float) -> list[tuple[float, str]]:
    """Round numbers over a range, about one to each 26 pixels, with as few decimals as they need.

    >>> value_ticks((0.28, 0.43), 90.0)
    [(0.3, '0.30'), (0.35, '0.35'), (0.4, '0.40')]
    """
    ticks = ticks_of(*span, max(2, int(height / 26.0)))
    if len(ticks) < 2:
        return [(value, f"{value:g}") for value in ticks]
    step = ticks[1] - ticks[0]
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [(value, f"{value:,.{decimals}f}".replace(",", "\u202f")) for value in ticks]
