"""Control charts drawn by matplotlib: single readings, their weighted average, cumulative sums."""

from __future__ import annotations

import numpy as np

from logbook.report.chart_look import (
    PAPER,
    Axes,
    Figure,
    Look,
    drawing,
    dress,
    new_figure,
    time_axis,
    title,
)
from logbook.shift.trend_control import ControlFound

Size = tuple[float, float]


def control_figure(
    found: ControlFound, zone: str, *, look: Look = PAPER, size: Size = (11.0, 6.5)
) -> Figure:
    """Three charts over one time axis."""
    with drawing(look):
        figure = new_figure(*size, look)
        axes = figure.subplots(3, 1, sharex=True, height_ratios=(2.2, 1.2, 1.2))
        _single(axes[0], found, look)
        _average(axes[1], found, look)
        _sums(axes[2], found, look)
        for ax in axes:
            dress(ax, look)
        start, end = found.span
        for ax in axes:
            time_axis(ax, start, end, zone, look, most=9, with_head=ax is axes[-1])
            ax.tick_params(labelbottom=ax is axes[-1])
        figure.tight_layout(pad=1.0)
    return figure


def _single(ax: Axes, found: ControlFound, look: Look) -> None:
    shown, one = found.shown, found.charts.individuals
    times, values = found.taken_at[shown], one.values[shown]
    ax.plot(times, values, color=look.line(0), linewidth=0.9, marker="o", markersize=2.2)
    _levels(ax, one.centre, (one.lower, one.upper), look)
    _baseline(ax, found, look)
    fired = found.charts.rules.fired[shown]
    ax.plot(
        times[fired], values[fired], linestyle="none", marker="D", markersize=4.5, zorder=4,
        color=look.warning, markeredgecolor=look.warning_edge, markeredgewidth=0.7,
    )  # fmt: skip
    out = one.out[shown] != 0
    ax.plot(
        times[out], values[out], linestyle="none", marker="s", markersize=5.0, color=look.action,
        zorder=5,
    )  # fmt: skip
    unit = f" ({found.track.point.unit})" if found.track.point.unit else ""
    told = "square: beyond the limits; diamond: a run rule"
    title(ax, f"{found.track.name}{unit}", look, right=told)


def _average(ax: Axes, found: ControlFound, look: Look) -> None:
    shown, chart = found.shown, found.charts.ewma
    times, average = found.taken_at[shown], chart.average[shown]
    ax.plot(times, average, color=look.line(1), linewidth=1.2)
    _levels(ax, chart.centre, (chart.lower_asymptotic, chart.upper_asymptotic), look)
    out = chart.out[shown]
    ax.plot(times[out], average[out], "s", markersize=3.6, color=look.action)
    title(ax, f"Weighted average (EWMA, weight {chart.weight:g})", look)


def _sums(ax: Axes, found: ControlFound, look: Look) -> None:
    shown, chart = found.shown, found.charts.cusum
    times = found.taken_at[shown]
    ax.plot(times, chart.upper[shown], color=look.line(0), linewidth=1.1)
    ax.plot(times, -chart.lower[shown], color=look.line(1), linewidth=1.1)
    ax.axhline(0.0, color=look.edge, linewidth=0.8)
    for level in (chart.decision, -chart.decision):
        ax.axhline(level, color=look.action, linewidth=0.9, linestyle=(0, (1, 2)))
    title(ax, "Cumulative sum up and down (sigma of what each reading adds)", look)


def _levels(ax: Axes, centre: float, limits: tuple[float, float], look: Look) -> None:
    if np.isfinite(centre):
        ax.axhline(centre, color=look.edge, linewidth=0.9, linestyle=(0, (4, 3)))
    for level in limits:
        if np.isfinite(level):
            ax.axhline(level, color=look.action, linewidth=0.9, linestyle=(0, (1, 2)))


def _baseline(ax: Axes, found: ControlFound, look: Look) -> None:
    """The stable stretch as a band, as far as it is shown."""
    base = found.charts.baseline
    if not base.found:
        return
    start = max(float(found.taken_at[base.first]), found.span[0])
    end = min(float(found.taken_at[base.stop - 1]), found.span[1])
    if start < end:
        ax.axvspan(start, end, color=look.band, linewidth=0, zorder=0)
