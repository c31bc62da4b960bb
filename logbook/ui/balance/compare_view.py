"""Crews and months side by side: a dot and an interval each, in the order of the calendar."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from logbook.report.axis import nice_range, tick_words, ticks_of
from logbook.report.trend_svg import spread_of
from logbook.shift.balance_view import Comparison, Group
from logbook.ui.theme import Theme, font

HEAD, ROW, FOOT, GAP = 46, 26, 22, 20
LEFT, RIGHT = 150, 210
RIGHT_ALIGN = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT_ALIGN = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class CompareView(QWidget):
    """Draws comparisons one below the other; as high as they need."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A view without comparisons."""
        super().__init__(parent)
        self._theme = theme
        self._shown: tuple[Comparison, ...] = ()
        self.setAccessibleName("Comparison of crews and months")

    def show_comparisons(self, shown: Sequence[Comparison]) -> None:
        """Show these."""
        self._shown = tuple(shown)
        self.setMinimumHeight(self.sizeHint().height())
        said = (f"{one.title}: {one.told}" for one in self._shown)
        self.setAccessibleDescription(" ".join(said))
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self.update()

    def sizeHint(self) -> QSize:
        """High enough for all."""
        return QSize(700, GAP + sum(_height(one) + GAP for one in self._shown))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint all comparisons."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("surface"))
        top = GAP // 2
        for one in self._shown:
            self._paint(painter, QRectF(0, top, self.width(), _height(one)), one)
            top += _height(one) + GAP
        painter.end()

    def _paint(self, painter: QPainter, room: QRectF, one: Comparison) -> None:
        theme = self._theme
        painter.setPen(theme.colour("text"))
        painter.setFont(font("body", strong=True))
        unit = f" ({one.unit})" if one.unit else ""
        title = QRectF(14, room.top(), room.width() - 28, 22)
        painter.drawText(title, LEFT_ALIGN, f"{one.title}{unit}")
        painter.setFont(font())
        painter.setPen(theme.colour("muted"))
        told = QFontMetricsF(font()).elidedText(
            one.told, Qt.TextElideMode.ElideRight, room.width() - 28
        )
        painter.drawText(QRectF(14, room.top() + 22, room.width() - 28, 20), LEFT_ALIGN, told)
        inner = QRectF(LEFT, room.top() + HEAD, room.width() - LEFT - RIGHT, 0)
        inner.setHeight(ROW * len(one.groups))
        span = nice_range(spread_of(one))
        self._grid(painter, inner, span)
        for number, group in enumerate(one.groups):
            self._group(painter, inner, span, (number, group), one)

    def _grid(self, painter: QPainter, room: QRectF, span: tuple[float, float]) -> None:
        painter.setFont(font("small"))
        ticks = ticks_of(*span, 5)
        for value, words in zip(ticks, tick_words(ticks), strict=True):
            x = _x(room, span, value)
            painter.setPen(QPen(self._theme.colour("hairline"), 1))
            painter.drawLine(QPointF(x, room.top()), QPointF(x, room.bottom()))
            painter.setPen(self._theme.colour("muted"))
            label = QRectF(x - 40, room.bottom() + 2, 80, FOOT)
            painter.drawText(label, Qt.AlignmentFlag.AlignHCenter, words)

    def _group(
        self,
        painter: QPainter,
        room: QRectF,
        span: tuple[float, float],
        placed: tuple[int, Group],
        one: Comparison,
    ) -> None:
        theme, (number, group) = self._theme, placed
        y = room.top() + (number + 0.5) * ROW
        painter.setFont(font())
        painter.setPen(theme.colour("text"))
        painter.drawText(QRectF(14, y - 10, LEFT - 26, 20), LEFT_ALIGN, group.name)
        painter.setPen(theme.colour("muted"))
        words = QRectF(room.right() + 14, y - 10, RIGHT - 24, 20)
        painter.drawText(words, LEFT_ALIGN, group_words(one, group))
        if group.value is None:
            return
        if group.low is not None and group.high is not None:
            painter.setPen(QPen(theme.colour("band_edge"), 5, c=Qt.PenCapStyle.FlatCap))
            low, high = _x(room, span, group.low), _x(room, span, group.high)
            painter.drawLine(QPointF(low, y), QPointF(high, y))
        painter.setPen(QPen(theme.colour("surface"), 1.5))
        painter.setBrush(theme.colour("trace"))
        painter.drawEllipse(QPointF(_x(room, span, group.value), y), 5.0, 5.0)


def group_words(one: Comparison, group: Group) -> str:
    """Mean and half width of the interval, and what it is made of."""
    if group.value is None:
        return "too little to tell"
    words = f"{group.value:.{one.decimals}f}"
    if group.low is not None and group.high is not None:
        words += f" ± {(group.high - group.low) / 2.0:.{one.decimals}f}"
    return f"{words}  of {group.count}"


def _height(one: Comparison) -> int:
    return HEAD + ROW * len(one.groups) + FOOT


def _x(room: QRectF, span: tuple[float, float], value: float) -> float:
    held = min(max(value, span[0]), span[1])
    return room.left() + (held - span[0]) / (span[1] - span[0]) * room.width()
