"""Recent history of points with the limits then in force, ready for a sparkline or a chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.plant.model import Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Band:
    """Limits in force from `start` until `end` (epoch seconds)."""

    start: float
    end: float
    limits: Limits


@dataclass(frozen=True, slots=True)
class Trend:
    """Readings of one point, without missing ones.

    `taken_at` epoch seconds (n,), `value` in the point's unit (n,), `code` as in
    `logbook.assess.limits` (n,).
    """

    start: float
    end: float
    taken_at: NDArray[np.int64]
    value: NDArray[np.float64]
    code: NDArray[np.int8]
    bands: tuple[Band, ...]

    @property
    def limits_now(self) -> Limits | None:
        """Limits at the end of the window."""
        return self.bands[-1].limits if self.bands else None

    def span(self) -> tuple[float, float]:
        """Lowest and highest value that a picture of it should show.

        The limits are always in the picture. A wild value may stretch it to three times
        the limits' own span and is clipped beyond, since a typing error would otherwise
        flatten a week of readings to a line.
        """
        edges = _edges(self.bands)
        held = self.value
        if not edges and held.size == 0:
            return 0.0, 1.0
        low = min([*edges, float(held.min())] if held.size else edges)
        high = max([*edges, float(held.max())] if held.size else edges)
        if len(edges) > 1 and max(edges) > min(edges):
            room = max(edges) - min(edges)
            low, high = max(low, min(edges) - room), min(high, max(edges) + room)
        margin = (high - low) * 0.08 or max(abs(high) * 0.05, 0.5)
        return low - margin, high + margin


def _edges(bands: Sequence[Band]) -> list[float]:
    names = ("warning_low", "warning_high", "action_low", "action_high", "target")
    found = [getattr(band.limits, name) for band in bands for name in names]
    return [edge for edge in found if edge is not None]


def bands_of(changes: Sequence[tuple[float, Limits]], start: float, end: float) -> tuple[Band, ...]:
    """Cut a rising sequence of (effective from, limits) into bands over [start, end]."""
    inside = [(max(at, start), limits) for at, limits in changes if at < end]
    last_before = [change for change in inside if change[0] <= start][-1:]
    kept = last_before + [change for change in inside if change[0] > start]
    stops = [*(at for at, _ in kept[1:]), end][: len(kept)]
    return tuple(Band(at, stop, limits) for (at, limits), stop in zip(kept, stops, strict=True))


Trends = Mapping[str, Trend]
