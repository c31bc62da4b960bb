"""The picture of a shift as a widget: scrolled, chosen from by mouse and keyboard."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QToolTip, QWidget

from logbook.plant.localtime import local_label
from logbook.plant.rounds import rounds_of
from logbook.shift.picture import Matter, ShiftPicture
from logbook.ui.shift_screen.lane_layout import AXIS, PictureLayout, Place, lay_out
from logbook.ui.shift_screen.lane_paint import PicturePainter, RoundTick
from logbook.ui.theme import Theme


class LaneView(QAbstractScrollArea):
    """Arrow keys go from matter to matter; Enter or a click opens one."""

    opened = Signal(object)
    """The matter that was opened."""
    current_changed = Signal(object)
    """The matter now chosen, or None."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A view without a picture."""
        super().__init__(parent)
        self._theme = theme
        self._picture: ShiftPicture | None = None
        self._layout: PictureLayout | None = None
        self._ticks: tuple[RoundTick, ...] = ()
        self._current: Matter | None = None
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("The shift as one picture")
        self.setMinimumHeight(AXIS + 80)

    @property
    def current(self) -> Matter | None:
        """The matter now chosen."""
        return self._current

    def show_picture(self, picture: ShiftPicture) -> None:
        """Show a shift; what was chosen stays chosen where it is still there."""
        self._picture = picture
        self._ticks = _ticks(picture)
        kept = self._current.source if self._current is not None else None
        self._current = next((m for m in picture.matters if m.source == kept), None)
        self._arrange()
        self.current_changed.emit(self._current)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self.viewport().update()

    def sizeHint(self) -> QSize:
        """High enough for a busy shift."""
        return QSize(900, AXIS + 380)

    def choose(self, matter: Matter | None) -> None:
        """Choose a matter and bring it into view."""
        self._current = matter
        place = self._place_of(matter)
        if place is not None:
            self._reveal(place)
        self.setAccessibleDescription(matter.words if matter else "")
        self.viewport().update()
        self.current_changed.emit(matter)

    # -- events ---------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out anew."""
        self._arrange()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the lanes, and the axis over them."""
        if self._picture is None or self._layout is None:
            return
        painter = QPainter(self.viewport())
        brush = PicturePainter(painter, self._theme)
        width = self.viewport().width()
        painter.fillRect(self.viewport().rect(), self._theme.colour("surface"))
        painter.save()
        painter.translate(0, AXIS - self.verticalScrollBar().value())
        brush.ground(self._layout, self._picture, width, self._ticks)
        for place in self._layout.places:
            brush.matter(place, is_current=place.matter is self._current, has_focus=self.hasFocus())
        painter.restore()
        brush.axis(self._layout.scale, width, self._ticks, "Rounds")
        painter.end()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click chooses and opens."""
        place = self._at(event.position().toPoint())
        if place is not None and event.button() is Qt.MouseButton.LeftButton:
            self.choose(place.matter)
            self.opened.emit(place.matter)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and Right within the lane, Up and Down between lanes, Enter opens."""
        key = event.key()
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space}:
            if self._current is not None:
                self.opened.emit(self._current)
            return
        target = self._step(Qt.Key(key))
        if target is None:
            super().keyPressEvent(event)
        else:
            self.choose(target)

    def focusInEvent(self, event: QEvent) -> None:
        """Show where the keyboard is; choose something where nothing is."""
        if self._current is None and self._picture is not None and self._picture.matters:
            self.choose(self._picture.matters[0])
        self.viewport().update()

    def focusOutEvent(self, event: QEvent) -> None:
        """Show that the keyboard is elsewhere."""
        self.viewport().update()

    def viewportEvent(self, event: QEvent) -> bool:
        """A tip with the whole sentence."""
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            place = self._at(event.pos())
            QToolTip.showText(event.globalPos(), place.matter.words if place else "", self)
            return True
        return super().viewportEvent(event)

    # -- inside ---------------------------------------------------------------------------

    def _arrange(self) -> None:
        if self._picture is None:
            return
        view = self.viewport()
        room = view.height() - AXIS
        self._layout = lay_out(self._picture, view.width(), room)
        bar = self.verticalScrollBar()
        bar.setPageStep(max(1, room))
        bar.setSingleStep(self._layout.row)
        bar.setRange(0, max(0, self._layout.height - room))
        view.update()

    def _at(self, point: QPoint) -> Place | None:
        if self._layout is None or point.y() < AXIS:
            return None
        return self._layout.at(point.x(), point.y() - AXIS + self.verticalScrollBar().value())

    def _place_of(self, matter: Matter | None) -> Place | None:
        places = self._layout.places if self._layout else ()
        return next((p for p in places if p.matter is matter), None)

    def _reveal(self, place: Place) -> None:
        bar, room = self.verticalScrollBar(), self.viewport().height() - AXIS
        box = QRect(place.box.toRect())
        if box.top() < bar.value():
            bar.setValue(box.top() - 4)
        elif box.bottom() > bar.value() + room:
            bar.setValue(box.bottom() - room + 4)

    def _step(self, key: Qt.Key) -> Matter | None:
        """The matter that an arrow key leads to."""
        lanes = [lane.places for lane in self._layout.lanes if lane.places] if self._layout else []
        if not lanes:
            return None
        if key is Qt.Key.Key_Home:
            return lanes[0][0].matter
        if key is Qt.Key.Key_End:
            return lanes[-1][-1].matter
        return _neighbour(lanes, self._current, key)


def _neighbour(
    lanes: list[tuple[Place, ...]], current: Matter | None, key: Qt.Key
) -> Matter | None:
    steps = {
        Qt.Key.Key_Left: (0, -1),
        Qt.Key.Key_Right: (0, 1),
        Qt.Key.Key_Up: (-1, 0),
        Qt.Key.Key_Down: (1, 0),
    }
    if key not in steps:
        return None
    for row, lane in enumerate(lanes):
        for column, place in enumerate(lane):
            if place.matter is current:
                down, across = steps[key]
                if across:
                    return lane[min(max(column + across, 0), len(lane) - 1)].matter
                other = lanes[min(max(row + down, 0), len(lanes) - 1)]
                return min(other, key=lambda p: abs(p.box.left() - place.box.left())).matter
    return lanes[0][0].matter


def _ticks(picture: ShiftPicture) -> tuple[RoundTick, ...]:
    """The rounds of the shift, those to come too."""
    states = {status.at: status.state for status in picture.rounds}
    hours = picture.plant.settings.round_hours
    return tuple(
        (rnd.at, local_label(rnd.at, picture.plant.time_zone), states.get(rnd.at))
        for rnd in rounds_of(picture.shift, hours)
    )
