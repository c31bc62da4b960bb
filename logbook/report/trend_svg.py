"""Trends by day and comparisons of crews and months as SVG, for paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from xml.sax.saxutils import escape

from logbook.report.axis import nice_range, tick_words, ticks_of
from logbook.report.glyphs import Json
from logbook.shift.balance_view import Comparison, TrendLine, TrendPoint

FONT = "Inter"
WIDTH, HEIGHT = 1000.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 70.0, 10.0, 8.0, 26.0
ROW = 24.0
NAME, WORDS = 170.0, 190.0


def trend_svg(line: TrendLine) -> Json:
    """Title, words and drawing of a figure over days: interval as a band, value as a line."""
    unit = f" ({line.unit})" if line.unit else ""
    return {"title": f"{line.name}{unit}", "told": line.told, "svg": _trend(line)}


def extent_of(points: Sequence[TrendPoint], target: float | None) -> tuple[float, float]:
    """Least and greatest of what is to be seen: values, the usual interval around them, target.

    The width of the usual interval is the median: one day with hardly any data must not flatten
    all the others.
    """
    values = [p.value for p in points if p.value is not None]
    if not values:
        return 0.0, 1.0
    wide = sorted(p.high - p.low for p in points if p.low is not None and p.high is not None)
    usual = wide[len(wide) // 2] / 2.0 if wide else 0.0
    low, high = min(values) - usual, max(values) + usual
    if target is not None:
        low, high = min(low, target), max(high, target)
    return low, high


def spread_of(one: Comparison) -> tuple[float, float]:
    """Least and greatest of what is to be seen: the means, and around them the usual interval.

    An interval three times as wide as the median one is cut: a month of a few days must not
    flatten all the others.
    """
    values = [group.value for group in one.groups if group.value is not None]
    if not values:
        return 0.0, 1.0
    halves = sorted(
        (group.high - group.low) / 2.0
        for group in one.groups
        if group.low is not None and group.high is not None
    )
    most = 3.0 * halves[len(halves) // 2] if halves else 0.0
    bounds = [
        min(max(bound, group.value - most), group.value + most)
        for group in one.groups
        if group.value is not None
        for bound in (group.value, group.low, group.high)
        if bound is not None
    ]
    return min(bounds), max(bounds)


def _trend(line: TrendLine) -> str:
    count = max(len(line.points), 1)
    step = (WIDTH - LEFT - RIGHT) / count
    low, high = nice_range(extent_of(line.points, line.target))
    floor = HEIGHT - BOTTOM

    def x_of(number: int) -> float:
        return LEFT + (number + 0.5) * step

    def y_of(value: float) -> float:
        held = min(max(value, low), high)
        return floor - (held - low) / (high - low) * (floor - TOP)

    parts = [_svg(WIDTH, HEIGHT)]
    ticks = ticks_of(low, high, 4)
    for value, words in zip(ticks, tick_words(ticks), strict=True):
        y = y_of(value)
        parts.append(_line(LEFT, y, WIDTH - RIGHT, y, "#d0d0d0", 0.8))
        parts.append(_text(LEFT - 8, y + 4, words, "end"))
    for run in _runs(line.points, lambda p: p.low is not None and p.high is not None):
        upper = [f"{x_of(n):.1f} {y_of(p.high or 0.0):.1f}" for n, p in run]
        lower = [f"{x_of(n):.1f} {y_of(p.low or 0.0):.1f}" for n, p in reversed(run)]
        parts.append(f'<path d="M{"L".join(upper + lower)}Z" fill="#dddddd" stroke="#dddddd"/>')
    if line.target is not None:
        y = y_of(line.target)
        parts.append(_line(LEFT, y, WIDTH - RIGHT, y, "#666666", 1.2, dash="6 4"))
    for run in _runs(line.points, lambda p: p.value is not None):
        path = "L".join(f"{x_of(n):.1f} {y_of(p.value or 0.0):.1f}" for n, p in run)
        shape = 'fill="none" stroke="#222222" stroke-width="1.6" stroke-linecap="round"'
        parts.append(f'<path d="M{path}{"h0.1" if len(run) == 1 else ""}" {shape}/>')
        parts += [_doubt(x_of(n), y_of(p.value or 0.0)) for n, p in run if p.mark]
    every = max(1, round(78.0 / step + 0.5))
    parts += [
        _text(x_of(n), HEIGHT - 8, line.points[n].short, "middle")
        for n in range(0, len(line.points), every)
    ]
    return "".join([*parts, "</svg>"])


def compare_svg(one: Comparison) -> str:
    """Dots with their intervals, one row for each group, in the order given."""
    height = ROW * len(one.groups) + 26.0
    low, high = nice_range(spread_of(one))
    right = WIDTH - WORDS

    def x_of(value: float) -> float:
        held = min(max(value, low), high)
        return NAME + (held - low) / (high - low) * (right - NAME)

    parts = [_svg(WIDTH, height)]
    ticks = ticks_of(low, high, 5)
    for value, words in zip(ticks, tick_words(ticks), strict=True):
        parts.append(_line(x_of(value), 0, x_of(value), height - 22, "#d0d0d0", 0.8))
        parts.append(_text(x_of(value), height - 6, words, "middle"))
    for number, group in enumerate(one.groups):
        y = ROW * (number + 0.5)
        parts.append(_text(4, y + 4, group.name, "start"))
        if group.value is None:
            parts.append(_text(right + 12, y + 4, "too little to tell", "start"))
            continue
        words = f"{group.value:.{one.decimals}f}"
        if group.low is not None and group.high is not None:
            words += f" ± {(group.high - group.low) / 2.0:.{one.decimals}f}"
            parts.append(_line(x_of(group.low), y, x_of(group.high), y, "#999999", 5.0))
        parts.append(f'<circle cx="{x_of(group.value):.1f}" cy="{y:.1f}" r="5" fill="#222222"/>')
        parts.append(_text(right + 12, y + 4, f"{words}  of {group.count}", "start"))
    return "".join([*parts, "</svg>"])


def _runs(
    points: Sequence[TrendPoint], has: Callable[[TrendPoint], bool]
) -> list[list[tuple[int, TrendPoint]]]:
    """Stretches of points that have what is drawn, each point with its place."""
    numbered = enumerate(points)
    return [list(run) for held, run in groupby(numbered, key=lambda one: has(one[1])) if held]


def _svg(width: float, height: float) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" '
        f'viewBox="0 0 {width:.0f} {height:.0f}">'
    )


def _line(
    x1: float, y1: float, x2: float, y2: float, colour: str, width: float, *, dash: str = ""
) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="{colour}" '
        f'stroke-width="{width}"{dashes}/>'
    )


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="{FONT}" font-size="13" fill="#333333" '
        f'text-anchor="{anchor}">{escape(text)}</text>'
    )


def _doubt(x: float, y: float) -> str:
    return (
        f'<path d="M{x:.1f} {y - 5:.1f}l5 5l-5 5l-5 -5Z" fill="#222222" stroke="#ffffff" '
        'stroke-width="1"/>'
    )
