"""The flow picture as a widget: scrolled, chosen from by mouse and keyboard."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QToolTip, QWidget

from logbook.report.flow_layout import Band, FlowLayout, FlowPicture, lay_out_flow
from logbook.shift.balance_view import FlowStream
from logbook.ui.balance.flow_paint import FlowPainter
from logbook.ui.theme import Theme

LEAST = (1000, 300)
"""Below this width and height the picture is scrolled, not squeezed."""

STEPS = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_Down: 1,
}


class FlowView(QAbstractScrollArea):
    """Arrow keys go from stream to stream in process order; Enter or a click opens one."""

    opened = Signal(str)
    """Key of the stream that was opened."""
    current_changed = Signal(str)
    """Key of the stream now chosen, or an empty text."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A view without a picture."""
        super().__init__(parent)
        self._theme = theme
        self._picture: FlowPicture | None = None
        self._layout: FlowLayout | None = None
        self._current = ""
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Streams by width")
        self.setMinimumHeight(200)

    @property
    def current(self) -> str:
        """Key of the stream now chosen; empty where none is."""
        return self._current

    @property
    def layout_shown(self) -> FlowLayout | None:
        """Where everything stands now."""
        return self._layout

    def show_picture(self, picture: FlowPicture) -> None:
        """Show another picture; the chosen stream stays chosen where it is still there."""
        self._picture = picture
        if not any(stream.key == self._current for stream in picture.streams):
            self._current = ""
        self._arrange()
        self._tell()

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self.viewport().update()

    def sizeHint(self) -> QSize:
        """Room for six steps side by side."""
        return QSize(1240, 430)

    def choose(self, key: str) -> None:
        """Choose a stream and bring it into view."""
        self._current = key
        band = next((b for b in self._bands() if b.stream.key == key), None)
        if band is not None:
            self._reveal(band)
        self.viewport().update()
        self._tell()

    # -- events ---------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out anew."""
        self._arrange()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the part that is in view."""
        painter = QPainter(self.viewport())
        painter.fillRect(self.viewport().rect(), self._theme.colour("surface"))
        if self._layout is not None:
            x, y = self._offset()
            painter.translate(-x, -y)
            brush = FlowPainter(painter, self._theme)
            brush.picture(self._layout, current=self._current, has_focus=self.hasFocus())
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Wait for the release."""
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click chooses and opens."""
        band = self._at(event.position().toPoint())
        if band is not None and event.button() is Qt.MouseButton.LeftButton:
            self.choose(band.stream.key)
            self.opened.emit(band.stream.key)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows go along the process, Home and End to its ends, Enter opens."""
        key = Qt.Key(event.key())
        streams = self._streams()
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space}:
            if self._current:
                self.opened.emit(self._current)
        elif key is Qt.Key.Key_Home and streams:
            self.choose(streams[0].key)
        elif key is Qt.Key.Key_End and streams:
            self.choose(streams[-1].key)
        elif key in STEPS and streams:
            self.choose(streams[self._stepped(STEPS[key])].key)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QEvent) -> None:
        """Show where the keyboard is; choose something where nothing is."""
        if not self._current and self._streams():
            self.choose(self._streams()[0].key)
        self.viewport().update()

    def focusOutEvent(self, event: QEvent) -> None:
        """Show that the keyboard is elsewhere."""
        self.viewport().update()

    def viewportEvent(self, event: QEvent) -> bool:
        """A tip with the whole sentence."""
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            band = self._at(event.pos())
            QToolTip.showText(event.globalPos(), band.stream.words if band else "", self)
            return True
        return super().viewportEvent(event)

    # -- inside ---------------------------------------------------------------------------

    def _streams(self) -> tuple[FlowStream, ...]:
        return self._picture.streams if self._picture is not None else ()

    def _bands(self) -> tuple[Band, ...]:
        return self._layout.bands if self._layout is not None else ()

    def _stepped(self, by: int) -> int:
        keys = [stream.key for stream in self._streams()]
        at = keys.index(self._current) + by if self._current in keys else 0
        return min(max(at, 0), len(keys) - 1)

    def _tell(self) -> None:
        words = next((s.words for s in self._streams() if s.key == self._current), "")
        self.setAccessibleDescription(words)
        self.current_changed.emit(self._current)

    def _arrange(self) -> None:
        if self._picture is None:
            return
        view = self.viewport()
        width, height = max(view.width(), LEAST[0]), max(view.height(), LEAST[1])
        self._layout = lay_out_flow(self._picture, width, height)
        for bar, room, need in (
            (self.horizontalScrollBar(), view.width(), self._layout.width),
            (self.verticalScrollBar(), view.height(), self._layout.height),
        ):
            bar.setPageStep(max(1, room))
            bar.setSingleStep(24)
            bar.setRange(0, max(0, round(need) - room))
        view.update()

    def _offset(self) -> tuple[int, int]:
        return self.horizontalScrollBar().value(), self.verticalScrollBar().value()

    def _at(self, point: QPoint) -> Band | None:
        if self._layout is None:
            return None
        x, y = self._offset()
        return self._layout.at(point.x() + x, point.y() + y)

    def _reveal(self, band: Band) -> None:
        x, y = band.label
        for bar, at, room in (
            (self.horizontalScrollBar(), round(x), self.viewport().width()),
            (self.verticalScrollBar(), round(y), self.viewport().height()),
        ):
            if not bar.value() + 60 <= at <= bar.value() + room - 60:
                bar.setValue(at - room // 2)
