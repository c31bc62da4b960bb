"""The sparkline: a week of one point with its limit band, and the value being typed live on it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from logbook.assess.judge import NOT_JUDGED_CODE, Judgement, Severity
from logbook.plant.model import Limits
from logbook.shift.trends import Trend
from logbook.ui.theme import Theme

RIGHT_ROOM = 10.0
"""Pixels kept free at the right for the value being typed."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps epoch seconds and values to pixels inside a box; values beyond are clipped."""

    box: QRectF
    start: float
    end: float
    low: float
    high: float

    def x(self, at: float) -> float:
        """Pixel column of an instant."""
        width = self.box.width() - RIGHT_ROOM
        return self.box.left() + (at - self.start) / ((self.end - self.start) or 1.0) * width

    def y(self, value: float) -> float:
        """Pixel row of a value."""
        part = (min(max(value, self.low), self.high) - self.low) / ((self.high - self.low) or 1.0)
        return self.box.bottom() - part * self.box.height()


def scale_of(trend: Trend, box: QRectF, live: float | None = None) -> Scale:
    """The scale of a trend in `box`; a live value stretches it like a reading would."""
    low, high = trend.span()
    if live is not None and math.isfinite(live):
        room = high - low
        low = max(min(low, live - room * 0.05), low - room)
        high = min(max(high, live + room * 0.05), high + room)
    return Scale(box, trend.start, trend.end, low, high)


def draw_spark(
    painter: QPainter,
    box: QRectF,
    trend: Trend,
    theme: Theme,
    *,
    live: float | None = None,
    judgement: Judgement | None = None,
) -> None:
    """Draw band, trace, readings out of limits and the live value into `box`."""
    scale = scale_of(trend, box.adjusted(1, 2, -1, -2), live)
    painter.save()
    painter.setClipRect(box.adjusted(-1, -1, 1, 1))
    for band in trend.bands:
        _draw_band(painter, scale, band.start, band.end, band.limits, theme)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _draw_trace(painter, scale, trend, theme)
    _draw_flags(painter, scale, trend, theme)
    if live is not None and math.isfinite(live):
        _draw_live(painter, scale, trend, live, judgement, theme)
    painter.restore()


def _draw_band(
    painter: QPainter, scale: Scale, start: float, end: float, limits: Limits, theme: Theme
) -> None:
    left = scale.x(start)
    right = scale.box.right() if end >= scale.end else scale.x(end)
    low, high = limits.warning_low, limits.warning_high
    if low is None and high is None:
        low, high = limits.action_low, limits.action_high
    if low is not None or high is not None:
        top = scale.y(high) if high is not None else scale.box.top()
        bottom = scale.y(low) if low is not None else scale.box.bottom()
        painter.fillRect(QRectF(left, top, right - left, bottom - top), theme.colour("band"))
    painter.setPen(QPen(theme.colour("band_edge"), 1, Qt.PenStyle.DotLine))
    for edge in (limits.action_low, limits.action_high):
        if edge is not None:
            painter.drawLine(QPointF(left, scale.y(edge)), QPointF(right, scale.y(edge)))


def trace_polygon(scale: Scale, trend: Trend) -> QPolygonF:
    """The trace as pixels, without a Python call per reading for the arithmetic."""
    width = scale.box.width() - RIGHT_ROOM
    xs = scale.box.left() + (trend.taken_at - scale.start) * (width / (scale.end - scale.start))
    clipped = trend.value.clip(scale.low, scale.high)
    factor = scale.box.height() / ((scale.high - scale.low) or 1.0)
    ys = scale.box.bottom() - (clipped - scale.low) * factor
    return QPolygonF([QPointF(x, y) for x, y in zip(xs.tolist(), ys.tolist(), strict=True)])


def _draw_trace(painter: QPainter, scale: Scale, trend: Trend, theme: Theme) -> None:
    if trend.value.size == 0:
        return
    painter.setPen(QPen(theme.colour("trace"), 1.2))
    polygon = trace_polygon(scale, trend)
    if polygon.count() == 1:
        painter.drawPoint(polygon.at(0))
    else:
        painter.drawPolyline(polygon)


def _draw_flags(painter: QPainter, scale: Scale, trend: Trend, theme: Theme) -> None:
    """Out-of-limit readings: an open dot for a warning, a solid one for an action limit."""
    out = ((trend.code != 0) & (trend.code != NOT_JUDGED_CODE)).nonzero()[0]
    for index in out.tolist():
        is_action = abs(int(trend.code[index])) >= Severity.ACTION
        fill = "action_fill" if is_action else "warning_fill"
        painter.setPen(QPen(theme.colour("action_fill" if is_action else "warning_edge"), 0.8))
        painter.setBrush(theme.colour(fill))
        at = QPointF(scale.x(float(trend.taken_at[index])), scale.y(float(trend.value[index])))
        radius = 2.0 if is_action else 1.6
        painter.drawEllipse(at, radius, radius)


def _draw_live(
    painter: QPainter,
    scale: Scale,
    trend: Trend,
    live: float,
    judgement: Judgement | None,
    theme: Theme,
) -> None:
    at = QPointF(scale.box.right() - RIGHT_ROOM / 2, scale.y(live))
    if trend.value.size:
        painter.setPen(QPen(theme.colour("focus"), 1.2, Qt.PenStyle.DashLine))
        last = QPointF(scale.x(float(trend.taken_at[-1])), scale.y(float(trend.value[-1])))
        painter.drawLine(last, at)
    severity = judgement.severity if judgement and judgement.is_judged else Severity.NONE
    fill = {
        Severity.NONE: "focus",
        Severity.WARNING: "warning_fill",
        Severity.ACTION: "action_fill",
    }
    edge = {
        Severity.NONE: "focus",
        Severity.WARNING: "warning_edge",
        Severity.ACTION: "action_fill",
    }
    painter.setPen(QPen(theme.colour(edge[severity]), 1.2))
    painter.setBrush(theme.colour(fill[severity]))
    painter.drawEllipse(at, 3.4, 3.4)
