"""Round numbers for an axis."""

from __future__ import annotations

import math
from itertools import pairwise


def nice_range(extent: tuple[float, float]) -> tuple[float, float]:
    """The extent with a little room at both ends; never empty."""
    low, high = extent
    if not high > low:
        room = abs(low) * 0.05 or 1.0
        return low - room, high + room
    room = (high - low) * 0.06
    return low - room, high + room


def ticks_of(low: float, high: float, wanted: int) -> list[float]:
    """About `wanted` round numbers within an extent: steps of 1, 2 or 5 times a power of ten.

    >>> ticks_of(17.2, 19.9, 3)
    [18.0, 19.0]
    """
    raw = (high - low) / max(wanted, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(k * step, 12) for k in range(first, last + 1)]


def tick_words(ticks: list[float]) -> list[str]:
    """The numbers of an axis, written to the place of their step.

    >>> tick_words([0.0, 2.0, 4.0]), tick_words([18.5, 19.0])
    (['0', '2', '4'], ['18.5', '19.0'])
    """
    step = min((b - a for a, b in pairwise(ticks)), default=0.0)
    if step <= 0.0:
        return [f"{value:g}" for value in ticks]
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return [f"{value + 0.0:.{places}f}" for value in ticks]
