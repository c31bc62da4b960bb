"""The small line of a point's last days, as plain coordinates between 0 and 1."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.report.glyphs import Json

if TYPE_CHECKING:
    from logbook.plant.model import Limits
    from logbook.shift.trends import Trend

MOST = 60
"""Points of a line: as many as can be told apart in print."""
NOT_JUDGED = -128


def spark_of(trend: Trend) -> Json:
    """Line, limit band, action limits and readings out of limits; None where nothing was read.

    x runs from 0 (oldest) to 1, y from 0 (low) to 1. A line of many readings is thinned to the
    lowest and the highest of each stretch, so that no peak is lost.
    """
    if trend.value.size == 0:
        return None
    low, high = trend.span()
    xs = (trend.taken_at - trend.start) / ((trend.end - trend.start) or 1.0)
    ys = ((trend.value - low) / ((high - low) or 1.0)).clip(0.0, 1.0)
    out = ((trend.code != 0) & (trend.code != NOT_JUDGED)).nonzero()[0].tolist()
    kept = _kept(ys.tolist())
    return {
        "line": [[round(float(xs[k]), 3), round(float(ys[k]), 3)] for k in kept],
        "out": [
            [round(float(xs[k]), 3), round(float(ys[k]), 3), abs(int(trend.code[k]))]
            for k in out[-MOST:]
        ],
        **_bands(trend.limits_now, low, high),
    }


def _kept(ys: list[float]) -> list[int]:
    if len(ys) <= MOST:
        return list(range(len(ys)))
    step = -(-len(ys) * 2 // MOST)
    kept = {0, len(ys) - 1}
    for first in range(0, len(ys), step):
        stretch = range(first, min(first + step, len(ys)))
        kept.update((min(stretch, key=ys.__getitem__), max(stretch, key=ys.__getitem__)))
    return sorted(kept)


def _bands(limits: Limits | None, low: float, high: float) -> dict[str, Json]:
    def placed(edge: float | None) -> float | None:
        if edge is None:
            return None
        return round(min(max((edge - low) / ((high - low) or 1.0), 0.0), 1.0), 3)

    if limits is None:
        return {"band": None, "edges": []}
    inner = (placed(limits.warning_low), placed(limits.warning_high))
    edges = (placed(limits.action_low), placed(limits.action_high))
    band = inner if any(edge is not None for edge in inner) else edges
    has_band = any(edge is not None for edge in band)
    return {
        "band": [band[0] or 0.0, 1.0 if band[1] is None else band[1]] if has_band else None,
        "edges": [edge for edge in edges if edge is not None],
    }
