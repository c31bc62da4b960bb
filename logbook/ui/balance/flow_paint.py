"""Painting a flow picture: boxes, bands by width, labels that keep clear of one another."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPen,
)

from logbook.report.flow_labels import PAD, Label, place_labels
from logbook.report.flow_layout import Band, Box, FlowLayout
from logbook.ui.theme import Theme, font

CORNER = 9.0
"""Least radius of the corners of a stream that runs back."""


class FlowPainter:
    """Draws one layout with one painter."""

    def __init__(self, painter: QPainter, theme: Theme) -> None:
        """A brush in the palette's colours."""
        self._painter = painter
        self._theme = theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)

    def picture(self, layout: FlowLayout, *, current: str = "", has_focus: bool = False) -> None:
        """Everything: bands below, boxes above them, labels on top."""
        for band in layout.bands:
            self._band(band, is_current=band.stream.key == current)
        for box in layout.boxes:
            self._box(box)
        for label in labels_of(layout):
            is_current = label.band.stream.key == current
            self._label(label, is_current=is_current, has_focus=has_focus)

    # -- bands ----------------------------------------------------------------------------

    def _band(self, band: Band, *, is_current: bool) -> None:
        painter, theme = self._painter, self._theme
        path = band_path(band)
        mark = band.stream.mark
        stroker = QPainterPathStroker()
        stroker.setWidth(band.width)
        stroker.setCapStyle(Qt.PenCapStyle.FlatCap)
        stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        outline = stroker.createStroke(path)
        if mark == "unknown":
            pen = QPen(theme.colour("field_edge"), 1.5, Qt.PenStyle.DashLine)
            painter.strokePath(path, pen)
            return
        if mark == "suspect":
            painter.fillPath(outline, theme.colour("action_wash"))
            hatch = QBrush(theme.colour("action_fill"), Qt.BrushStyle.BDiagPattern)
            painter.fillPath(outline, hatch)
            painter.strokePath(outline.simplified(), QPen(theme.colour("action_fill"), 1.5))
        else:
            painter.fillPath(outline, theme.colour("selected" if is_current else "band"))
            style = Qt.PenStyle.DashLine if mark == "inferred" else Qt.PenStyle.SolidLine
            edge = theme.colour("focus" if is_current else "band_edge")
            painter.strokePath(outline.simplified(), QPen(edge, 1.0, style))
        self._arrow(band)

    def _arrow(self, band: Band) -> None:
        """A head in the middle of the band, so that the way of a hairline can be seen."""
        trace = band.trace()
        end, before = trace[-1], trace[-2]
        dx, dy = end[0] - before[0], end[1] - before[1]
        length = max((dx * dx + dy * dy) ** 0.5, 1e-6)
        ux, uy = dx / length, dy / length
        half = min(max(band.width / 2.0, 4.0), 9.0)
        tip = QPointF(end[0], end[1])
        foot = QPointF(end[0] - ux * half * 1.4, end[1] - uy * half * 1.4)
        head = QPainterPath(tip)
        head.lineTo(foot.x() - uy * half, foot.y() + ux * half)
        head.lineTo(foot.x() + uy * half, foot.y() - ux * half)
        head.closeSubpath()
        name = "action_fill" if band.stream.mark == "suspect" else "band_edge"
        self._painter.fillPath(head, self._theme.colour(name))

    # -- boxes and labels -----------------------------------------------------------------

    def _box(self, box: Box) -> None:
        painter, theme = self._painter, self._theme
        rect = QRectF(box.x, box.y, box.width, box.height)
        painter.setPen(QPen(theme.colour("field_edge"), 1.0))
        painter.setBrush(theme.colour("raised"))
        painter.drawRoundedRect(rect, 4.0, 4.0)
        painter.setPen(theme.colour("text"))
        painter.setFont(font("body", medium=True))
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(rect.adjusted(6, 2, -6, -2), flags, box.node.name)

    def _label(self, label: Label, *, is_current: bool, has_focus: bool) -> None:
        painter, theme = self._painter, self._theme
        rect = QRectF(*label.rectangle)
        ground = QColor(theme.colour("selected" if is_current else "surface"))
        ground.setAlphaF(1.0 if is_current else 0.86)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ground)
        painter.drawRoundedRect(rect, 3.0, 3.0)
        if is_current and has_focus:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("focus"), 1.5))
            painter.drawRoundedRect(rect, 3.0, 3.0)
        stream = label.band.stream
        align = Qt.AlignmentFlag.AlignHCenter
        if label.band.is_beside:
            is_left = stream.edge == "left"
            align = Qt.AlignmentFlag.AlignRight if is_left else Qt.AlignmentFlag.AlignLeft
        align |= Qt.AlignmentFlag.AlignVCenter
        inner = rect.adjusted(PAD, PAD, -PAD, -PAD)
        half = inner.height() / 2.0
        painter.setPen(theme.colour("muted"))
        painter.setFont(font("small"))
        painter.drawText(QRectF(inner.left(), inner.top(), inner.width(), half), align, label.name)
        painter.setPen(theme.colour("action_text" if stream.mark == "suspect" else "text"))
        painter.setFont(font("body", medium=True))
        lower = QRectF(inner.left(), inner.top() + half, inner.width(), half)
        painter.drawText(lower, align, label.amount)


def labels_of(layout: FlowLayout) -> tuple[Label, ...]:
    """The labels of a layout, measured in the window's fonts."""
    small, body = QFontMetricsF(font("small")), QFontMetricsF(font("body", medium=True))

    def measure(text: str, part: str) -> float:
        return (body if part == "amount" else small).horizontalAdvance(text)

    return place_labels(layout, measure, body.height())


def band_path(band: Band) -> QPainterPath:
    """The middle of a band as a path; corners of what runs back are rounded."""
    points = [QPointF(x, y) for x, y in band.points]
    path = QPainterPath(points[0])
    if band.is_curve:
        path.cubicTo(points[1], points[2], points[3])
        return path
    radius = max(CORNER, band.width / 2.0 + CORNER)
    for before, corner, after in zip(points, points[1:], points[2:], strict=False):
        path.lineTo(_towards(corner, before, radius))
        path.quadTo(corner, _towards(corner, after, radius))
    path.lineTo(points[-1])
    return path


def _towards(start: QPointF, end: QPointF, distance: float) -> QPointF:
    line = end - start
    length = max((line.x() ** 2 + line.y() ** 2) ** 0.5, 1e-6)
    share = min(distance / length, 0.5)
    return QPointF(start.x() + line.x() * share, start.y() + line.y() * share)
