"""Closer looks drawn by matplotlib: distribution, pairs, periods, machines and crews."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from logbook.plant.localtime import to_local
from logbook.plant.model import Limits
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
    value_axis,
)
from logbook.report.chart_trend import Span, draw_line, draw_marks, long_limits, short_name
from logbook.report.trend_panel import value_range
from logbook.shift.trend_findings import GroupsFound, PairFound, PeriodsFound, ShapeFound
from logbook.shift.trend_study import Track
from logbook.shift.trend_words import length_text

Size = tuple[float, float]
SIZE: Size = (11.0, 6.0)


def shape_figure(
    found: ShapeFound, limits: Limits | None, *, look: Look = PAPER, size: Size = SIZE
) -> Figure:
    """Histogram with limits and quantiles; last digits beside it."""
    shape, point = found.shape, found.track.point
    with drawing(look):
        figure = new_figure(*size, look)
        wide, narrow = figure.subplots(1, 2, width_ratios=(3, 1.2))
        dress(wide, look)
        edges = np.array(shape.edges)
        wide.bar(
            edges[:-1], shape.counts, np.diff(edges), align="edge", color=look.line(0), alpha=0.75,
            edgecolor=look.panel, linewidth=0.6,
        )  # fmt: skip
        _limit_edges(wide, limits, look)
        top = max(shape.counts) * 1.16
        wide.set_ylim(0, top)
        wide.margins(x=0.02)
        for place, name in ((1, "5 %"), (3, "half"), (5, "95 %")):
            value = shape.quantiles[place]
            wide.plot([value, value], [0, top * 0.95], color=look.line(1), linewidth=1.2)
            wide.annotate(name, (value, top * 0.96), ha="center", fontsize=8.5, color=look.line(1))
        wide.set_xlabel(point.unit or "value")
        wide.set_ylabel("readings")
        title(wide, found.track.name, look, right=f"{shape.count} readings")
        _digits(narrow, shape.digits, look, tell=shape.digits_tell)
        figure.tight_layout(pad=1.2)
    return figure


def _limit_edges(ax: Axes, limits: Limits | None, look: Look) -> None:
    if limits is None:
        return
    for value, style, colour in (
        (limits.target, (0, (4, 3)), look.edge),
        (limits.warning_low, "-", look.warning_edge),
        (limits.warning_high, "-", look.warning_edge),
        (limits.action_low, (0, (1, 1.5)), look.action),
        (limits.action_high, (0, (1, 1.5)), look.action),
    ):
        if value is not None:
            ax.axvline(value, color=colour, linestyle=style, linewidth=1.3)


def _digits(ax: Axes, digits: Sequence[int], look: Look, *, tell: bool) -> None:
    """Counts of the last digits and, where they tell something, what is usual by chance."""
    dress(ax, look)
    count = sum(digits)
    even, spread = count / 10.0, (count * 0.09) ** 0.5
    if tell:
        ax.axhspan(even - 2 * spread, even + 2 * spread, color=look.band, linewidth=0, zorder=0)
        ax.axhline(even, color=look.edge, linewidth=0.9)
    ax.bar(range(10), digits, 0.7, color=look.line(0), alpha=0.75)
    ax.set_xticks(range(10))
    told = "last digit; band: usual by chance" if tell else "too narrow a spread to tell anything"
    ax.set_xlabel(told)
    title(ax, "Last digits", look)


def pair_figure(found: PairFound, zone: str, *, look: Look = PAPER, size: Size = SIZE) -> Figure:
    """Both lines, the pairs at the best lag, and the correlation at every lag."""
    with drawing(look):
        figure = new_figure(*size, look)
        grid = figure.add_gridspec(2, 2, height_ratios=(1.15, 1), width_ratios=(1, 1.35))
        top = figure.add_subplot(grid[0, :])
        span = (float(found.grid[0]), float(found.grid[-1]))
        for number, (track, values) in enumerate(((found.first, found.a), (found.second, found.b))):
            ax = top if not number else top.twinx()
            ax.plot(found.grid, values, color=look.line(number), linewidth=1.0, linestyle="-")
            _coloured_axis(ax, track, number, look)
        dress(top, look)
        time_axis(top, *span, zone, look, most=10)
        title(top, found.first.name, look)
        top.set_title(found.second.name, loc="right", fontsize=10.0, color=look.line(1), pad=6.0)
        _cloud(figure.add_subplot(grid[1, 0]), found, look)
        _by_lag(figure.add_subplot(grid[1, 1]), found, look)
        figure.tight_layout(pad=1.2)
    return figure


def _coloured_axis(ax: Axes, track: Track, number: int, look: Look) -> None:
    ax.set_ylabel(track.point.unit, color=look.line(number))
    ax.tick_params(axis="y", colors=look.line(number))
    for side in ("top", "left" if number else "right"):
        ax.spines[side].set_visible(False)


def _cloud(ax: Axes, found: PairFound, look: Look) -> None:
    dress(ax, look)
    a, b = found.shifted()
    ax.scatter(a, b, s=9.0, color=look.line(0), alpha=0.4, linewidths=0)
    ax.set_xlabel(_unit_name(found.first), fontsize=8.5)
    ax.set_ylabel(_unit_name(found.second), fontsize=8.5)
    lag = length_text(abs(found.found.lag) * found.step_s)
    title(ax, f"Pairs {lag} apart" if found.found.lag else "Pairs at the same time", look)


def _by_lag(ax: Axes, found: PairFound, look: Look) -> None:
    dress(ax, look)
    hours = np.array(found.found.lags) * found.step_s / 3600.0
    ax.axhline(0.0, color=look.edge, linewidth=0.9)
    ax.vlines(hours, 0.0, found.found.by_lag, color=look.line(0), linewidth=1.6)
    best = found.found.lag * found.step_s / 3600.0
    ax.plot(best, found.found.correlation, "D", color=look.line(1), markersize=6.0)
    ax.set_ylim(-1.0, 1.0)
    ax.set_xlabel("hours by which the second follows the first", fontsize=8.5)
    title(ax, "Correlation at each lag", look, right=f"best {found.found.correlation:.2f}")


def _unit_name(track: Track) -> str:
    name = track.name if len(track.name) <= 44 else f"…{track.name[-43:]}"
    return f"{name} ({track.point.unit})" if track.point.unit else name


def periods_figure(
    found: PeriodsFound, zone: str, *, look: Look = PAPER, size: Size = SIZE
) -> Figure:
    """Two stretches laid over one another from their beginnings; their spread beside them."""
    (start, end), (other, _) = found.spans
    with drawing(look):
        figure = new_figure(*size, look)
        wide, narrow = figure.subplots(1, 2, width_ratios=(4, 1), sharey=True)
        dress(wide, look)
        dress(narrow, look)
        cuts = [one.values for one in found.cuts]
        low, high = value_range(cuts, long_limits(found.track, found.spans[0]))
        value_axis(wide, low, high, size[1] - 1.0)
        for number, span in enumerate(found.spans):
            shift = start - span[0]
            draw_line(wide, found.track, span, look, number, shift=shift)
        draw_marks(wide, found.track, found.spans[0], look)
        names = [_span_name(span, zone) for span in found.spans]
        lines = wide.get_lines()[:2]
        wide.legend(
            lines, names, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, frameon=False,
            fontsize=8.5,
        )  # fmt: skip
        length = max(end - start, found.spans[1][1] - other)
        time_axis(wide, start, start + length, zone, look, most=8)
        title(wide, _unit_name(found.track), look)
        held = [(n, cut.values) for n, cut in enumerate(found.cuts) if cut.values.size]
        for number, values in held:
            _box(
                narrow,
                number,
                np.quantile(values, (0.05, 0.25, 0.5, 0.75, 0.95)).tolist(),
                look,
                number,
            )
        narrow.set_xticks([0, 1], ["this", "other"])
        narrow.set_xlim(-0.6, 1.6)
        figure.tight_layout(pad=1.2)
    return figure


def _span_name(span: Span, zone: str) -> str:
    a, b = (to_local(datetime.fromtimestamp(int(t), UTC), zone) for t in span)
    return f"{a.day} {a:%b %Y} – {b.day} {b:%b %Y}"


def _box(ax: Axes, x: float, quantiles: Sequence[float], look: Look, number: int) -> None:
    """5 to 95 % as a thin line, the middle half as a thick one, the median across."""
    low, lower, middle, upper, high = quantiles
    colour = look.line(number)
    ax.plot([x, x], [low, high], color=colour, linewidth=1.2)
    ax.plot([x, x], [lower, upper], color=colour, linewidth=9.0, alpha=0.55, solid_capstyle="butt")
    ax.plot([x - 0.14, x + 0.14], [middle, middle], color=colour, linewidth=2.0)


def groups_figure(
    found: GroupsFound, name: str, *, look: Look = PAPER, size: Size = SIZE
) -> Figure:
    """Groups in their order: spread as a box, mean with its interval as a dot."""
    with drawing(look):
        figure = new_figure(*size, look)
        ax = figure.subplots()
        dress(ax, look)
        for number, group in enumerate(found.groups):
            _box(ax, number - 0.08, group.quantiles, look, 0)
            interval = group.interval
            x = number + 0.16
            if interval is not None:
                ax.plot([x, x], interval, color=look.line(1), linewidth=2.4)
            ax.plot(x, group.mean, "o", color=look.line(1), markersize=6.0)
        names = [f"{_wrapped(g.name)}\n{g.count} readings" for g in found.groups]
        ax.set_xticks(range(len(names)), names)
        ax.set_xlim(-0.6, max(len(names) - 0.4, 0.6))
        ax.set_ylabel(found.unit)
        title(ax, name, look, right="box: 5, 25, 50, 75, 95 %; dot: mean, about 95 % sure")
        figure.tight_layout(pad=1.2)
    return figure


def _wrapped(name: str, width: int = 22) -> str:
    """A name on two lines where it is long."""
    import textwrap

    return "\n".join(textwrap.wrap(name, width)[:3])


def multiples_figure(
    tracks: Sequence[Track], span: Span, zone: str, *, look: Look = PAPER, size: Size = SIZE
) -> Figure:
    """One small panel for each track, all on one axis of values and one of time."""
    columns = 1 if len(tracks) < 3 else 2 if len(tracks) < 7 else 3
    rows = -(-len(tracks) // columns)
    with drawing(look):
        figure = new_figure(*size, look)
        axes = figure.subplots(rows, columns, sharex=True, sharey=True, squeeze=False)
        cuts = []
        for track in tracks:
            first, after = track.inside(*span)
            cuts.append(track.values[first:after])
        low, high = value_range(cuts, long_limits(tracks[0], span))
        for ax, track, values in zip(axes.flat, tracks, cuts, strict=False):
            dress(ax, look)
            draw_line(ax, track, span, look, 0)
            draw_marks(ax, track, span, look)
            mean = float(values.mean()) if values.size else float("nan")
            ax.axhline(mean, color=look.line(1), linewidth=1.1, linestyle=(0, (6, 2)))
            shown = f"mean {mean:.{track.point.decimals + 1}f} {track.point.unit}"
            title(ax, short_name(track.name), look, right=shown if values.size else "no readings")
            _limit_lines(ax, track, span, look)
        for ax in list(axes.flat)[len(tracks) :]:
            ax.set_visible(False)
        for ax in axes.flat:
            is_low = bool(ax.get_subplotspec().is_last_row())
            time_axis(ax, *span, zone, look, most=max(3, 9 // columns), with_head=is_low)
        value_axis(axes[0, 0], low, high, (size[1] - 1.0) / rows)
        figure.tight_layout(pad=1.0)
    return figure


def _limit_lines(ax: Axes, track: Track, span: Span, look: Look) -> None:
    for limits in long_limits(track, span)[-1:]:
        for value, colour in (
            (limits.warning_low, look.edge),
            (limits.warning_high, look.edge),
            (limits.action_low, look.action),
            (limits.action_high, look.action),
        ):
            if value is not None:
                ax.axhline(value, color=colour, linewidth=0.8, linestyle=(0, (1, 2)))
