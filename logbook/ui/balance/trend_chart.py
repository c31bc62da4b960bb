"""Figures over days, one panel below another: value, interval, target; a cursor for the keyboard."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QWidget

from logbook.report.axis import nice_range, tick_words, ticks_of
from logbook.report.trend_svg import extent_of
from logbook.shift.balance_view import TrendLine, TrendPoint
from logbook.ui.theme import Theme, font

LEFT, RIGHT, HEAD, FOOT, GAP = 64.0, 22.0, 24.0, 24.0, 10.0
LEAST = 108
"""Height of a panel below which it says nothing."""
RIGHT_ALIGN = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT_ALIGN = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class TrendChart(QWidget):
    """Left and Right go from day to day; what stands there is told."""

    day_chosen = Signal(int)
    """Place of the day under the cursor in the points of each line."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A chart without lines."""
        super().__init__(parent)
        self._theme = theme
        self._lines: tuple[TrendLine, ...] = ()
        self._at = -1
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Figures by day")

    def show_lines(self, lines: Sequence[TrendLine]) -> None:
        """Show these, the cursor on the last day."""
        self._lines = tuple(lines)
        self._at = self._count() - 1
        self.setMinimumHeight(LEAST * len(self._lines) + int(FOOT))
        self._tell()
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self.update()

    @property
    def at(self) -> int:
        """The day under the cursor; -1 where there is none."""
        return self._at

    def sizeHint(self) -> QSize:
        """Three panels."""
        return QSize(900, 3 * 160)

    def told(self) -> str:
        """What stands under the cursor, in words."""
        if not 0 <= self._at < self._count():
            return ""
        day = self._lines[0].points[self._at].name
        figures = (f"{ln.name} {point_words(ln, ln.points[self._at])}" for ln in self._lines)
        return " · ".join([day, *figures])

    # -- events ---------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the panels."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("surface"))
        for number, line in enumerate(self._lines):
            self._panel(painter, self._room(number), line)
        if self._lines:
            self._axis(painter)
        painter.end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Day by day, week by week with Page Up and Down, or to the ends."""
        last = self._count() - 1
        places = {
            Qt.Key.Key_Left: self._at - 1,
            Qt.Key.Key_Right: self._at + 1,
            Qt.Key.Key_PageUp: self._at - 7,
            Qt.Key.Key_PageDown: self._at + 7,
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: last,
        }
        key = Qt.Key(event.key())
        if key not in places:
            super().keyPressEvent(event)
            return
        self.choose(min(max(places[key], 0), last))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """The day nearest to the click."""
        if self._count():
            step = self._step()
            nearest = round((event.position().x() - LEFT) / step - 0.5) if step else 0
            self.choose(min(max(nearest, 0), self._count() - 1))

    def focusInEvent(self, event: QEvent) -> None:
        """Show where the keyboard is."""
        self.update()

    def focusOutEvent(self, event: QEvent) -> None:
        """Show that the keyboard is elsewhere."""
        self.update()

    def choose(self, at: int) -> None:
        """Put the cursor on a day."""
        self._at = at
        self._tell()
        self.update()
        self.day_chosen.emit(at)

    # -- painting -------------------------------------------------------------------------

    def _panel(self, painter: QPainter, room: QRectF, line: TrendLine) -> None:
        theme = self._theme
        painter.setFont(font("body", medium=True))
        painter.setPen(theme.colour("text"))
        head = QRectF(room.left(), room.top() - HEAD, room.width(), HEAD)
        unit = f" ({line.unit})" if line.unit else ""
        painter.drawText(head, LEFT_ALIGN, f"{line.name}{unit}")
        told = line.told
        if told:
            painter.setFont(font("small"))
            painter.setPen(theme.colour("muted"))
            painter.drawText(head, RIGHT_ALIGN, told)
        low, high = nice_range(extent_of(line.points, line.target))
        painter.setFont(font("small"))
        ticks = ticks_of(low, high, 4)
        for value, words in zip(ticks, tick_words(ticks), strict=True):
            y = _y(room, low, high, value)
            painter.setPen(QPen(theme.colour("hairline"), 1))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            painter.setPen(theme.colour("muted"))
            label = QRectF(0, y - 8, LEFT - 8, 16)
            painter.drawText(label, RIGHT_ALIGN, words)
        painter.save()
        painter.setClipRect(room.adjusted(-2, -2, 2, 2))
        self._intervals(painter, room, line, (low, high))
        self._target(painter, room, line, (low, high))
        self._values(painter, room, line, (low, high))
        painter.restore()
        self._cursor(painter, room)

    def _intervals(
        self, painter: QPainter, room: QRectF, line: TrendLine, span: tuple[float, float]
    ) -> None:
        """The interval of each day as a band, broken where there is none."""
        for run in _runs(line.points):
            upper = [QPointF(self._x(n), _y(room, *span, p.high or 0.0)) for n, p in run]
            lower = [QPointF(self._x(n), _y(room, *span, p.low or 0.0)) for n, p in run]
            if len(run) == 1:
                painter.setPen(QPen(self._theme.colour("band_edge"), 2))
                painter.drawLine(upper[0], lower[0])
                continue
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self._theme.colour("band"))
            painter.drawPolygon(QPolygonF([*upper, *reversed(lower)]))

    def _target(
        self, painter: QPainter, room: QRectF, line: TrendLine, span: tuple[float, float]
    ) -> None:
        if line.target is None or not span[0] <= line.target <= span[1]:
            return
        y = _y(room, *span, line.target)
        painter.setPen(QPen(self._theme.colour("band_edge"), 1.2, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))

    def _values(
        self, painter: QPainter, room: QRectF, line: TrendLine, span: tuple[float, float]
    ) -> None:
        theme = self._theme
        path, is_on = QPainterPath(), False
        for number, point in enumerate(line.points):
            if point.value is None:
                is_on = False
                continue
            place = QPointF(self._x(number), _y(room, *span, point.value))
            if is_on:
                path.lineTo(place)
            else:
                path.moveTo(place)
                alone = number + 1 >= len(line.points) or line.points[number + 1].value is None
                if alone:
                    painter.setBrush(theme.colour("trace"))
                    painter.setPen(Qt.PenStyle.NoPen)
                    painter.drawEllipse(place, 2.0, 2.0)
            is_on = True
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.colour("trace"), 1.4))
        painter.drawPath(path)
        for number, point in enumerate(line.points):
            if point.mark and point.value is not None:
                self._doubt(painter, QPointF(self._x(number), _y(room, *span, point.value)))

    def _doubt(self, painter: QPainter, place: QPointF) -> None:
        """A diamond: a meter behind this figure is in doubt."""
        size = 4.5
        shape = QPolygonF(
            [
                QPointF(place.x(), place.y() - size),
                QPointF(place.x() + size, place.y()),
                QPointF(place.x(), place.y() + size),
                QPointF(place.x() - size, place.y()),
            ]
        )
        painter.setPen(QPen(self._theme.colour("surface"), 1))
        painter.setBrush(self._theme.colour("action_fill"))
        painter.drawPolygon(shape)

    def _cursor(self, painter: QPainter, room: QRectF) -> None:
        if not 0 <= self._at < self._count():
            return
        width = 2.0 if self.hasFocus() else 1.0
        name = "focus" if self.hasFocus() else "field_edge"
        painter.setPen(QPen(self._theme.colour(name), width))
        x = self._x(self._at)
        painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))

    def _axis(self, painter: QPainter) -> None:
        points = self._lines[0].points
        if not points:
            return
        painter.setFont(font("small"))
        painter.setPen(self._theme.colour("muted"))
        every = max(1, round(70.0 / max(self._step(), 1e-6) + 0.5))
        top = self.height() - FOOT
        for number in range(0, len(points), every):
            label = QRectF(self._x(number) - 40, top, 80, FOOT)
            painter.drawText(label, Qt.AlignmentFlag.AlignCenter, points[number].short)

    # -- places ---------------------------------------------------------------------------

    def _count(self) -> int:
        return len(self._lines[0].points) if self._lines else 0

    def _step(self) -> float:
        count = self._count()
        return (self.width() - LEFT - RIGHT) / count if count else 0.0

    def _x(self, number: int) -> float:
        return LEFT + (number + 0.5) * self._step()

    def _room(self, number: int) -> QRectF:
        each = (self.height() - FOOT) / max(len(self._lines), 1)
        top = number * each + HEAD
        return QRectF(LEFT, top, self.width() - LEFT - RIGHT, each - HEAD - GAP)

    def _tell(self) -> None:
        self.setAccessibleDescription(self.told())


def point_words(line: TrendLine, point: TrendPoint) -> str:
    """A day's figure in words, with its interval."""
    if point.value is None:
        return "not known"
    words = f"{point.value:.{line.decimals}f} {line.unit}".strip()
    if point.low is not None and point.high is not None:
        words += f" ({point.low:.{line.decimals}f} to {point.high:.{line.decimals}f})"
    return f"{words}, a meter in doubt" if point.mark else words


def _runs(points: Sequence[TrendPoint]) -> list[list[tuple[int, TrendPoint]]]:
    found: list[list[tuple[int, TrendPoint]]] = []
    is_on = False
    for number, point in enumerate(points):
        has = point.low is not None and point.high is not None
        if has and is_on:
            found[-1].append((number, point))
        elif has:
            found.append([(number, point)])
        is_on = has
    return found


def _y(room: QRectF, low: float, high: float, value: float) -> float:
    return room.bottom() - (value - low) / (high - low) * room.height()
