"""Closer looks at trends by name: the picture of one, with the words that belong to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.report.chart_look import PAPER, Figure, Look, as_png
from logbook.report.chart_studies import (
    groups_figure,
    multiples_figure,
    pair_figure,
    periods_figure,
    shape_figure,
)
from logbook.shift.trend_findings import (
    FEW,
    by_crew,
    pair_found,
    periods_found,
    shape_found,
    side_by_side,
)
from logbook.shift.trend_study import Study, Track

Span = tuple[float, float]
MADE = tuple[Figure | None, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PageAsk:
    """What is to be drawn: a page, of which points, over which stretch (epoch s).

    `other` the stretch to compare with; None: as long, right before. `size` in inches.
    """

    page: str
    study: Study
    chosen: str
    span: Span
    other: Span | None = None
    look: Look = PAPER
    size: tuple[float, float] = (11.0, 6.0)

    @property
    def track(self) -> Track | None:
        """The point chosen."""
        return self.study.track(self.chosen)

    @property
    def second(self) -> Track | None:
        """The point that stands after the chosen one, or before it where it is the last."""
        keys = [track.key for track in self.study.tracks]
        if self.chosen not in keys or len(keys) < 2:
            return None
        at = keys.index(self.chosen)
        return self.study.tracks[at + 1 if at + 1 < len(keys) else at - 1]


@dataclass(frozen=True, slots=True)
class PageDrawn:
    """A page as PNG (empty where there is nothing to draw) and its words."""

    png: bytes
    told: tuple[str, ...]


def draw_page(ask: PageAsk, *, dpi: float = 100.0) -> PageDrawn:
    """Draw a page; words alone where there is too little to draw."""
    figure, told = page_figure(ask)
    return PageDrawn(as_png(figure, dpi=dpi) if figure is not None else b"", told)


def page_figure(ask: PageAsk) -> MADE:
    """The figure of a page, or None, and its words. Raises KeyError for a page there is not."""
    if ask.track is None:
        return None, ("Add a point to look at it closer (Ctrl+F).",)
    return _MAKERS[ask.page](ask, ask.track)


def _shape(ask: PageAsk, track: Track) -> MADE:
    found = shape_found(track, *ask.span)
    if found is None:
        return None, (FEW,)
    limits = track.limits_at(min(ask.span[1], ask.study.end) - 1.0)
    return shape_figure(found, limits, look=ask.look, size=ask.size), found.told


def _pair(ask: PageAsk, track: Track) -> MADE:
    second = ask.second
    if second is None:
        return None, ("Add a second point to hold the two against each other (Ctrl+F).",)
    found = pair_found(track, second, *ask.span)
    if found is None:
        return None, (FEW,)
    return pair_figure(found, ask.study.zone, look=ask.look, size=ask.size), found.told


def _periods(ask: PageAsk, track: Track) -> MADE:
    start, end = ask.span
    other = ask.other or (start - (end - start), start)
    found = periods_found(track, ask.span, other, ("this", "other"))
    if not any(cut.values.size for cut in found.cuts):
        return None, (FEW,)
    return periods_figure(found, ask.study.zone, look=ask.look, size=ask.size), found.told


def _side(ask: PageAsk, track: Track) -> MADE:
    tracks = [one for one in ask.study.tracks if one.point.unit == track.point.unit]
    found = side_by_side(tracks, *ask.span)
    figure = multiples_figure(tracks, ask.span, ask.study.zone, look=ask.look, size=ask.size)
    return figure, found.told


def _crews(ask: PageAsk, track: Track) -> MADE:
    found = by_crew(ask.study, track, *ask.span)
    if not found.groups:
        return None, (FEW,)
    return groups_figure(found, track.name, look=ask.look, size=ask.size), found.told


def _control(ask: PageAsk, track: Track) -> MADE:
    from logbook.report.chart_control import control_figure
    from logbook.shift.trend_control import control_found

    found = control_found(track, *ask.span, ask.study.zone)
    if found is None:
        return None, (FEW,)
    return control_figure(found, ask.study.zone, look=ask.look, size=ask.size), found.told


_MAKERS: dict[str, Callable[[PageAsk, Track], MADE]] = {
    "control": _control,
    "shape": _shape,
    "pair": _pair,
    "periods": _periods,
    "side": _side,
    "crews": _crews,
}
PAGES: tuple[tuple[str, str], ...] = (
    ("control", "Control chart"),
    ("shape", "Distribution"),
    ("pair", "Two points"),
    ("periods", "Periods"),
    ("side", "Side by side"),
    ("crews", "Crews"),
)
"""Key and name of each page."""
