"""What the trend chart shows at the moment, and where each value of it stands on the screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from logbook.plant.model import Limits
from logbook.report.trend_panel import Placed, Room, lay_out_panels, value_range
from logbook.report.trend_span import Span
from logbook.shift.trend_study import Around, Study, Track, panels_of

LONG = 0.1


@dataclass(frozen=True, slots=True)
class Panel:
    """Tracks on one axis; `first` is the number of the first among all tracks."""

    tracks: tuple[Track, ...]
    head: Room
    room: Room
    low: float
    high: float
    limits_of: Track
    """Whose limits are drawn: the chosen one of the panel, else its first."""

    def y(self, value: float) -> float:
        """Pixel row of a value."""
        part = (value - self.low) / ((self.high - self.low) or 1.0)
        return self.room.bottom - part * self.room.height


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything that a painter needs; made anew for each stretch, quickly."""

    study: Study
    span: Span
    around: Around | None
    chosen: str
    by_unit: bool
    width: float
    height: float
    panels: tuple[Panel, ...] = ()
    placed: Placed = field(default_factory=lambda: lay_out_panels(100.0, 100.0, ()))

    def x(self, at: float) -> float:
        """Pixel column of an instant (epoch s)."""
        axis = self.placed.axis
        return axis.left + (at - self.span.start) / self.span.length * axis.width

    def at(self, x: float) -> float:
        """Instant (epoch s) of a pixel column."""
        axis = self.placed.axis
        return self.span.start + (x - axis.left) / (axis.width or 1.0) * self.span.length

    @property
    def columns(self) -> int:
        """Columns of pixels that the lines have."""
        return max(1, round(self.placed.axis.width))

    def panel_of(self, key: str) -> Panel | None:
        """The panel that a track is drawn in."""
        return next((p for p in self.panels if any(t.key == key for t in p.tracks)), None)


def make_scene(
    study: Study,
    span: Span,
    around: Around | None,
    *,
    chosen: str,
    by_unit: bool,
    width: float,
    height: float,
) -> Scene:
    """Lay out the panels and choose the values that each shows."""
    groups = panels_of(study.tracks, by_unit=by_unit)
    placed = lay_out_panels(width, height, [len(group) for group in groups])
    panels = []
    for group, head, room in zip(groups, placed.heads, placed.panels, strict=True):
        owner = next((one for one in group if one.key == chosen), group[0])
        low, high = _range(group, owner, span)
        panels.append(Panel(group, head, room, low, high, owner))
    return Scene(study, span, around, chosen, by_unit, width, height, tuple(panels), placed)


def _range(group: Sequence[Track], owner: Track, span: Span) -> tuple[float, float]:
    lines = []
    for track in group:
        first, after = track.inside(span.start, span.end)
        lines.append(track.values[max(first - 1, 0) : after + 1])
    return value_range(lines, limits_in(owner, span))


def limits_in(track: Track, span: Span) -> list[Limits]:
    """Limits that are in force for a tenth of a stretch: those of a short start-up would flatten it."""
    held: dict[Limits, float] = {}
    for band in track.bands:
        length = min(band.end, span.end) - max(band.start, span.start)
        if length > 0.0:
            held[band.limits] = held.get(band.limits, 0.0) + length
    return [limits for limits, length in held.items() if length >= LONG * span.length]
