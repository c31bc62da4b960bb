"""The trend as it is printed or saved: panels over one time axis, as the window shows them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from logbook.assess.limits import NOT_JUDGED_CODE
from logbook.plant.model import Limits
from logbook.report.chart_look import (
    DASHES,
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
from logbook.report.decimate import merged, thinned
from logbook.report.trend_panel import value_range
from logbook.shift.trend_study import Around, Study, Track, panels_of
from logbook.shift.trend_words import span_text

Span = tuple[float, float]
COLUMNS = 2400
MARKERS = {-2: "v", -1: "v", 1: "^", 2: "^"}


def trend_figure(
    study: Study,
    span: Span,
    *,
    around: Around | None = None,
    by_unit: bool = False,
    look: Look = PAPER,
    size: tuple[float, float] = (11.0, 7.0),
) -> Figure:
    """Panels of all points of a study over a stretch (epoch s); `size` in inches.

    Raises ValueError for a study without points.
    """
    groups = panels_of(study.tracks, by_unit=by_unit)
    if not groups:
        raise ValueError("name at least one point to draw its trend")
    with drawing(look):
        figure = new_figure(*size, look)
        axes = figure.subplots(len(groups), 1, sharex=True, squeeze=False)[:, 0]
        for ax, group in zip(axes, groups, strict=True):
            _panel(ax, group, span, around, look, (size[1] - 1.0) / len(groups))
        time_axis(axes[-1], *span, study.zone, look, most=max(3, int(size[0] * 0.9)))
        for ax in axes[:-1]:
            ax.grid(visible=True, axis="x", color=look.hairline, linewidth=0.7)
            ax.tick_params(labelbottom=False)
        figure.text(
            0.985, 0.01, f"{study.plant.name} · {span_text(*span, study.zone)}", ha="right",
            va="bottom", fontsize=8.5, color=look.muted,
        )  # fmt: skip
        _log_marks(axes, study, span, around, look)
        figure.subplots_adjust(
            left=0.075,
            right=0.985,
            top=1.0 - 0.5 / size[1],
            bottom=0.55 / size[1],
            hspace=0.1 * len(groups) + 0.02,
        )
        figure.canvas.draw()
    return figure


def _panel(
    ax: Axes,
    group: Sequence[Track],
    span: Span,
    around: Around | None,
    look: Look,
    inches: float,
) -> None:
    dress(ax, look)
    owner = group[0]
    _limits(ax, owner, span, look)
    if around is not None:
        _stops(ax, group, span, around, look)
    cuts = []
    for number, track in enumerate(group):
        draw_line(ax, track, span, look, number)
    for track in group:
        draw_marks(ax, track, span, look)
        first, after = track.inside(*span)
        cuts.append(track.values[first:after])
    low, high = value_range(cuts, long_limits(owner, span))
    value_axis(ax, low, high, inches)
    unit = f" ({owner.point.unit})" if owner.point.unit else ""
    if len(group) == 1:
        title(ax, f"{owner.area} · {owner.name}{unit}", look)
        return
    families = {track.name.rpartition(": ")[0] for track in group}
    is_one = len(families) == 1 and "" not in families
    names = [short_name(one.name) if is_one else one.name for one in group]
    ax.legend(
        ax.get_lines()[: len(names)], names, loc="lower right",
        bbox_to_anchor=(1.0, 1.0), ncols=6 if is_one else 2, frameon=False, fontsize=8.5,
        borderaxespad=0.1, handlelength=2.6, columnspacing=1.4,
    )  # fmt: skip
    title(ax, f"{owner.area}{f' · {families.pop()}' if is_one else ''}{unit}", look)


def short_name(name: str) -> str:
    """What tells machines of a table apart: what stands behind the table's name."""
    return name.rpartition(": ")[2]


def draw_line(
    ax: Axes, track: Track, span: Span, look: Look, number: int, *, shift: float = 0.0
) -> None:
    """A track over a stretch, with its gaps and every spike; `shift` seconds later."""
    drawn = thinned(track.times, track.values, span, COLUMNS, track.gap_s)
    times, values = track.times[drawn.at] + shift, track.values[drawn.at].astype(float)
    breaks = np.flatnonzero(~drawn.joined[1:]) + 1
    times = np.insert(times.astype(float), breaks, np.nan)
    values = np.insert(values, breaks, np.nan)
    is_sparse = drawn.at.size < 120
    ax.plot(
        times, values, color=look.line(number), linewidth=1.0, linestyle=DASHES[number % len(DASHES)],
        label=track.name, marker="o" if is_sparse else None, markersize=2.6,
    )  # fmt: skip


def draw_marks(ax: Axes, track: Track, span: Span, look: Look) -> None:
    """Readings out of limits by shape and colour; corrections with the old value crossed out."""
    first, after = track.inside(*span)
    codes = track.codes[first:after]
    for code, marker in MARKERS.items():
        at = np.flatnonzero((codes == code) & (codes != NOT_JUDGED_CODE)) + first
        if at.size:
            is_action = abs(code) == 2
            ax.plot(
                track.times[at], track.values[at], linestyle="none", marker="s" if is_action else marker,
                markersize=5.0, markeredgewidth=0.7, zorder=4,
                color=look.action if is_action else look.warning,
                markeredgecolor=look.action if is_action else look.warning_edge,
            )  # fmt: skip
    for one in track.corrections:
        at_s = one.taken_at.timestamp()
        if not span[0] <= at_s <= span[1]:
            continue
        if one.old_value is not None:
            ax.plot(one.old_taken_at.timestamp(), one.old_value, "x", color=look.line(1), zorder=5)
        if one.new_value is not None:
            ax.plot(
                at_s, one.new_value, "D", markersize=6.0, markerfacecolor=look.panel,
                markeredgecolor=look.line(1), zorder=5,
            )  # fmt: skip


def long_limits(track: Track, span: Span) -> list[Limits]:
    """Limits that hold for a tenth of a stretch at least."""
    held: dict[Limits, float] = {}
    for band in track.bands:
        length = min(band.end, span[1]) - max(band.start, span[0])
        if length > 0.0:
            held[band.limits] = held.get(band.limits, 0.0) + length
    return [limits for limits, length in held.items() if length >= 0.1 * (span[1] - span[0])]


def _limits(ax: Axes, track: Track, span: Span, look: Look) -> None:
    far = 1e12
    for band in track.bands:
        start, end = max(band.start, span[0]), min(band.end, span[1])
        if start >= end:
            continue
        one = band.limits
        low, high = one.warning_low, one.warning_high
        if low is not None or high is not None:
            bottom, top = -far if low is None else low, far if high is None else high
            ax.fill_between([start, end], bottom, top, color=look.band, linewidth=0, zorder=0)
        for value, style, colour in (
            (low, "-", look.edge),
            (high, "-", look.edge),
            (one.target, (0, (4, 3)), look.edge),
            (one.action_low, (0, (1, 2)), look.action),
            (one.action_high, (0, (1, 2)), look.action),
        ):
            if value is not None:
                ax.hlines(value, start, end, colors=colour, linestyles=[style], linewidth=0.8)


def _stops(ax: Axes, group: Sequence[Track], span: Span, around: Around, look: Look) -> None:
    spans = [(a, b) for a, b, _ in around.of_points([track.point for track in group])]
    for start, end in merged(spans, (span[1] - span[0]) / COLUMNS):
        if start < span[1] and end > span[0]:
            ax.axvspan(start, end, color=look.stop, linewidth=0, zorder=0.5)


def _log_marks(
    axes: Sequence[Axes], study: Study, span: Span, around: Around | None, look: Look
) -> None:
    """Log entries as ticks on the lowest axis."""
    if around is None:
        return
    entries = around.entries_of([track.point for track in study.tracks])
    inside = [at for at in (one.at.timestamp() for one in entries) if span[0] <= at <= span[1]]
    if inside:
        low, high = axes[-1].get_ylim()
        height = low + 0.05 * (high - low)
        axes[-1].vlines(inside, low, height, colors=look.ink, linewidth=1.2, zorder=3)
        axes[-1].annotate(
            "log entries", (1.0, 0.06), xycoords="axes fraction", ha="right", fontsize=8.0,
            color=look.muted,
        )  # fmt: skip
