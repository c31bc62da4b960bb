"""The moving chart: panels over one time axis, panned and zoomed, with a cursor that reads values."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from logbook.report.trend_panel import HEAD_ROW, lay_out_panels
from logbook.report.trend_span import LENGTHS, Span
from logbook.shift.trend_study import Around, Study, Track, panels_of
from logbook.shift.trend_words import ReadOut, happened_at, read_out, when_text
from logbook.ui.marks import draw_judgement
from logbook.ui.theme import Theme, font
from logbook.ui.trend.look import line_pen
from logbook.ui.trend.paint import LEFT, TrendPainter
from logbook.ui.trend.scene import Panel, Scene, make_scene

STEP, ZOOM = 0.1, 0.8
REACH_PX = 12.0
"""What lies nearer to the cursor than that is told."""
DRAG_PX = 4.0
MONTH = 30 * 86400.0


class TrendChart(QWidget):
    """Arrows move, + and - zoom, digits choose a length; Up and Down choose a point."""

    span_changed = Signal(object)
    """The stretch now shown (Span)."""
    cursor_changed = Signal()
    chosen_changed = Signal(str)
    """Key of the point now chosen."""
    opened = Signal(str, float)
    """A reading of a point is wanted on the Round screen: key, instant (epoch s)."""
    removal_wanted = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A chart without points."""
        super().__init__(parent)
        self._theme = theme
        self.study: Study | None = None
        self.around: Around | None = None
        self.span: Span | None = None
        self.by_unit = False
        self.chosen = ""
        self.cursor_at: float | None = None
        self._scene: Scene | None = None
        self._picture: QPixmap | None = None
        self._grabbed: tuple[float, Span] | None = None
        self._is_dragging = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Trend")
        self.setMinimumHeight(160)

    # -- what is shown --------------------------------------------------------------------

    def show_study(self, study: Study) -> None:
        """Show these histories; stretch, cursor and choice stay where they still fit."""
        had = self.span
        self.study = study
        first, last = study.start, max(study.end, study.start + 3600.0)
        if had is None:
            self.span = Span(first, last, first, last).at_end().of_length(MONTH)
        else:
            self.span = Span(first, last, first, last).placed(had.start, had.end)
        if study.track(self.chosen) is None:
            self.chosen = study.tracks[0].key if study.tracks else ""
            self.chosen_changed.emit(self.chosen)
        if self.cursor_at is None or not first <= self.cursor_at <= last:
            self.cursor_at = study.end
        self._fit_height()
        self._changed()
        self.span_changed.emit(self.span)

    def show_around(self, around: Around) -> None:
        """Show what happened in a stretch."""
        self.around = around
        self._changed()

    def show_span(self, span: Span) -> None:
        """Show another stretch."""
        if self.study is None or span == self.span:
            return
        self.span = span
        if self.cursor_at is not None:
            self.cursor_at = min(max(self.cursor_at, span.start), span.end)
        self._changed()
        self.span_changed.emit(span)

    def share_axes(self, *, by_unit: bool) -> None:
        """Points of one unit on one axis, or each on its own."""
        self.by_unit = by_unit
        self._fit_height()
        self._changed()

    def choose(self, key: str) -> None:
        """Choose a point: its limits are drawn, and the keys for readings go along it."""
        if key == self.chosen or self.study is None or self.study.track(key) is None:
            return
        self.chosen = key
        self._changed()
        self.chosen_changed.emit(key)

    def put_cursor(self, at: float) -> None:
        """Read the values at an instant (epoch s)."""
        self.cursor_at = at
        self.setAccessibleDescription(self.told())
        self.update()
        self.cursor_changed.emit()

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._theme = theme
        self._changed()

    def sizeHint(self) -> QSize:
        """Room for three panels."""
        return QSize(1100, 560)

    def read_outs(self) -> list[ReadOut]:
        """Every point's reading at the cursor."""
        if self.study is None or self.cursor_at is None:
            return []
        return [read_out(self.study, track, self.cursor_at) for track in self.study.tracks]

    def told(self) -> str:
        """The cursor in words: values, and what happened there."""
        if self.study is None or self.cursor_at is None:
            return ""
        words = [when_text(self.cursor_at // 60 * 60, self.study.zone)]
        words += [one.words for one in self.read_outs()]
        return ". ".join([*words, *self.happened()])

    def happened(self) -> list[str]:
        """Corrections, log entries and stops at the cursor, nearest first."""
        if self.study is None or self.cursor_at is None or self.span is None:
            return []
        reach = REACH_PX * self.span.length / self.scene.columns
        return happened_at(self.study, self.around, self.study.tracks, self.cursor_at, reach)

    @property
    def scene(self) -> Scene:
        """Where everything now stands. Only with a study."""
        assert self.study is not None
        assert self.span is not None
        if self._scene is None:
            self._scene = make_scene(
                self.study,
                self.span,
                self.around,
                chosen=self.chosen,
                by_unit=self.by_unit,
                width=float(self.width()),
                height=float(self.height()),
            )
        return self._scene

    def _changed(self) -> None:
        self._scene = self._picture = None
        self.setAccessibleDescription(self.told())
        self.update()
        self.cursor_changed.emit()

    def _fit_height(self) -> None:
        tracks = self.study.tracks if self.study is not None else ()
        rows = [len(group) for group in panels_of(tracks, by_unit=self.by_unit)]
        self.setMinimumHeight(int(lay_out_panels(400.0, 0.0, rows).height) if rows else 160)

    # -- painting -------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """What stays is kept as a picture; cursor and values are painted over it."""
        painter = QPainter(self)
        if self.study is None or not self.study.tracks:
            painter.fillRect(self.rect(), self._theme.colour("surface"))
            self._say_empty(painter)
            painter.end()
            return
        if self._picture is None:
            self._picture = self._paint_picture()
        painter.drawPixmap(0, 0, self._picture)
        self._paint_heads(painter)
        self._paint_cursor(painter)
        painter.end()

    def _paint_picture(self) -> QPixmap:
        ratio = self.devicePixelRatioF()
        picture = QPixmap(self.size() * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(self._theme.colour("surface"))
        painter = QPainter(picture)
        TrendPainter(painter, self.scene, self._theme).paint()
        painter.end()
        return picture

    def _say_empty(self, painter: QPainter) -> None:
        painter.setPen(self._theme.colour("muted"))
        painter.setFont(font("title"))
        words = "Type a name, a tag or an area above to see a point (Ctrl+F)"
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, words)

    def _paint_heads(self, painter: QPainter) -> None:
        """Name, unit and reading at the cursor of every line."""
        outs = {one.track.key: one for one in self.read_outs()}
        for panel in self.scene.panels:
            for number, track in enumerate(panel.tracks):
                top = panel.head.top + number * HEAD_ROW
                box = QRectF(panel.head.left, top, panel.head.width, HEAD_ROW)
                self._paint_head(painter, box, outs[track.key], number)

    def _paint_head(self, painter: QPainter, box: QRectF, out: ReadOut, number: int) -> None:
        theme, track, y = self._theme, out.track, box.center().y()
        is_chosen = track.key == self.chosen
        if is_chosen:
            name = "focus" if self.hasFocus() else "field_edge"
            painter.fillRect(
                QRectF(box.left() - 8, box.top() + 3, 3, HEAD_ROW - 6), theme.colour(name)
            )
        painter.setPen(line_pen(theme, number, 2.0))
        painter.drawLine(QPointF(box.left(), y), QPointF(box.left() + 24, y))
        title_font = font("body", strong=is_chosen, medium=True)
        value, judged = self._value_words(out)
        room = QFontMetricsF(font("body", strong=True)).horizontalAdvance(value + judged) + 40
        unit = f" ({track.point.unit})" if track.point.unit else ""
        title = f"{track.area} · {track.name}{unit}"
        metrics = QFontMetricsF(title_font)
        width = box.width() - room - 32
        shown = metrics.elidedText(title, Qt.TextElideMode.ElideMiddle, max(width, 40))
        painter.setFont(title_font)
        painter.setPen(theme.colour("text"))
        painter.drawText(QRectF(box.left() + 32, box.top(), width, HEAD_ROW), LEFT, shown)
        self._paint_value(painter, box, out, value, judged)

    def _value_words(self, out: ReadOut) -> tuple[str, str]:
        if out.place < 0:
            return "no reading here", ""
        unit = f" {out.track.point.unit}" if out.track.point.unit else ""
        return f"{out.value}{unit}", f"  {out.judged}" if out.judged else ""

    def _paint_value(
        self, painter: QPainter, box: QRectF, out: ReadOut, value: str, judged: str
    ) -> None:
        """At the right: the reading, its mark and, where it is out, in which way."""
        theme, bold = self._theme, font("body", strong=out.place >= 0)
        right, plain = box.right(), font("body")
        if judged:
            width = QFontMetricsF(plain).horizontalAdvance(judged)
            painter.setFont(plain)
            painter.setPen(theme.colour("text"))
            painter.drawText(QRectF(right - width, box.top(), width + 2, HEAD_ROW), LEFT, judged)
            right -= width + 14
            draw_judgement(painter, QRectF(right + 2, box.top() + 4, 12, 12), out.judgement, theme)
            right -= 4
        width = QFontMetricsF(bold).horizontalAdvance(value)
        painter.setFont(bold)
        painter.setPen(theme.colour("text" if out.place >= 0 else "muted"))
        painter.drawText(QRectF(right - width, box.top(), width + 2, HEAD_ROW), LEFT, value)

    def _paint_cursor(self, painter: QPainter) -> None:
        if self.cursor_at is None or self.span is None:
            return
        scene, theme = self.scene, self._theme
        if not self.span.start <= self.cursor_at <= self.span.end:
            return
        x = scene.x(self.cursor_at)
        name = "focus" if self.hasFocus() else "field_edge"
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setPen(QPen(theme.colour(name), 1.0))
        for panel in scene.panels:
            painter.drawLine(QPointF(x, panel.room.top), QPointF(x, panel.room.bottom))
        painter.drawLine(QPointF(x, scene.placed.modes.top), QPointF(x, scene.placed.axis.top))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for out in self.read_outs():
            home = scene.panel_of(out.track.key)
            if out.place >= 0 and home is not None:
                self._ring(painter, home, out)
        self._cursor_time(painter, x)

    def _ring(self, painter: QPainter, panel: Panel, out: ReadOut) -> None:
        track, place = out.track, out.place
        x = self.scene.x(float(track.times[place]))
        if not panel.room.left - 6 <= x <= panel.room.right + 6:
            return
        painter.setPen(QPen(self._theme.colour("focus"), 1.6))
        painter.drawEllipse(QPointF(x, panel.y(float(track.values[place]))), 6.0, 6.0)

    def _cursor_time(self, painter: QPainter, x: float) -> None:
        """The cursor's instant on the axis, over whatever label stands there."""
        assert self.study is not None
        assert self.cursor_at is not None
        axis = self.scene.placed.axis
        words = when_text(self.cursor_at // 60 * 60, self.study.zone)
        painter.setFont(font("small", medium=True))
        width = QFontMetricsF(painter.font()).horizontalAdvance(words) + 14
        left = min(max(x - width / 2, 2.0), self.width() - width - 2.0)
        box = QRectF(left, axis.top + 2, width, 18)
        painter.setPen(QPen(self._theme.colour("field_edge"), 1))
        painter.setBrush(self._theme.colour("raised"))
        painter.drawRoundedRect(box, 3, 3)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._theme.colour("text"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)

    # -- keyboard -------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys of the chart; others go on to the screen."""
        has_shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if self.span is None or event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
        ):
            super().keyPressEvent(event)
            return
        key = Qt.Key(event.key())
        if has_shift and key in {Qt.Key.Key_Left, Qt.Key.Key_Right}:
            self._step_reading(1 if key is Qt.Key.Key_Right else -1)
            return
        moved = self._moved(key, event.text())
        if moved is not None:
            self.show_span(moved)
        elif not self._other_key(key):
            super().keyPressEvent(event)

    def _moved(self, key: Qt.Key, text: str) -> Span | None:
        """The stretch that a key leads to."""
        span = self.span
        assert span is not None
        if text == "0":
            return span.whole()
        length = next((seconds for digit, _, seconds in LENGTHS if digit == text), None)
        if length is not None:
            return span.of_length(length)
        if text in {"+", "="}:
            return span.zoomed(ZOOM, self._zoom_at())
        if text in {"-", "_"}:
            return span.zoomed(1.0 / ZOOM, self._zoom_at())
        places = {
            Qt.Key.Key_Left: span.moved(-STEP),
            Qt.Key.Key_Right: span.moved(STEP),
            Qt.Key.Key_PageUp: span.moved(-1.0),
            Qt.Key.Key_PageDown: span.moved(1.0),
            Qt.Key.Key_Home: span.at_start(),
            Qt.Key.Key_End: span.at_end(),
        }
        return places.get(key)

    def _zoom_at(self) -> float | None:
        """Zoom around the cursor where it is in view."""
        span, at = self.span, self.cursor_at
        return at if span is not None and at is not None and span.start <= at <= span.end else None

    def _other_key(self, key: Qt.Key) -> bool:
        if key in {Qt.Key.Key_Up, Qt.Key.Key_Down}:
            self._step_point(1 if key is Qt.Key.Key_Down else -1)
        elif key in {Qt.Key.Key_N, Qt.Key.Key_P}:
            self._step_deviation(1 if key is Qt.Key.Key_N else -1)
        elif key is Qt.Key.Key_Delete and self.chosen:
            self.removal_wanted.emit(self.chosen)
        elif key in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and self.chosen:
            self._open_chosen()
        else:
            return False
        return True

    def _open_chosen(self) -> None:
        track = self.study.track(self.chosen) if self.study is not None else None
        if track is None or self.study is None or self.cursor_at is None:
            return
        out = read_out(self.study, track, self.cursor_at)
        if out.place >= 0:
            self.opened.emit(track.key, float(track.times[out.place]))

    def _step_point(self, by: int) -> None:
        keys = [track.key for track in self.study.tracks] if self.study is not None else []
        if self.chosen in keys:
            self.choose(keys[min(max(keys.index(self.chosen) + by, 0), len(keys) - 1)])

    def _step_reading(self, by: int) -> None:
        """The cursor to the next or previous reading of the chosen point."""
        track = self.study.track(self.chosen) if self.study is not None else None
        if track is not None and self.cursor_at is not None:
            self._go_to(track, list(range(track.times.size)), by)

    def _step_deviation(self, by: int) -> None:
        """The cursor to the next or previous reading out of limits of the chosen point."""
        track = self.study.track(self.chosen) if self.study is not None else None
        if track is not None and self.cursor_at is not None:
            out = ((track.codes != 0) & (track.codes >= -2)).nonzero()[0].tolist()
            self._go_to(track, out, by)

    def _go_to(self, track: Track, places: list[int], by: int) -> None:
        assert self.cursor_at is not None
        times = track.times[places] if places else track.times[:0]
        cursor = int(self.cursor_at)
        after = int(times.searchsorted(cursor, side="right"))
        at = after if by > 0 else int(times.searchsorted(cursor, side="left")) - 1
        if 0 <= at < len(places):
            self._reveal(float(times[at]))
            self.put_cursor(float(times[at]))

    def _reveal(self, at: float) -> None:
        span = self.span
        if span is not None and not span.start <= at <= span.end:
            self.show_span(span.placed(at - span.length / 2, at + span.length / 2))

    # -- mouse ----------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin to drag; a click puts the cursor and chooses the panel's point."""
        if event.button() is not Qt.MouseButton.LeftButton or self.span is None:
            return
        self._grabbed = (event.position().x(), self.span)
        self._is_dragging = False
        panel = self.scene.placed.panel_at(event.position().y())
        if panel >= 0:
            shown = self.scene.panels[panel]
            row = int((event.position().y() - shown.head.top) // HEAD_ROW)
            if 0 <= row < len(shown.tracks):
                self.choose(shown.tracks[row].key)
            elif self.chosen not in {track.key for track in shown.tracks}:
                self.choose(shown.tracks[0].key)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the picture, or read the values under the pointer."""
        if self.span is None or self.study is None or not self.study.tracks:
            return
        x = event.position().x()
        if self._grabbed is None:
            self.put_cursor(min(max(self.scene.at(x), self.span.start), self.span.end))
            return
        begun, span = self._grabbed
        if self._is_dragging or abs(x - begun) >= DRAG_PX:
            self._is_dragging = True
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
            self.show_span(span.moved((begun - x) / (self.scene.placed.axis.width or 1.0)))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go; where nothing was dragged, put the cursor there."""
        if self._grabbed is not None and not self._is_dragging and self.span is not None:
            self.put_cursor(self.scene.at(event.position().x()))
        self._grabbed = None
        self._is_dragging = False
        self.unsetCursor()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom around the pointer; with Shift, or sideways, move."""
        if self.span is None:
            return
        turn = event.angleDelta()
        if turn.x() or event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self.show_span(self.span.moved(-(turn.x() or turn.y()) / 1200.0))
        elif turn.y():
            at = self.scene.at(event.position().x())
            self.show_span(self.span.zoomed(0.8 ** (turn.y() / 120.0), at))
        event.accept()

    # -- others ---------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out anew."""
        self._changed()

    def focusInEvent(self, event: QEvent) -> None:
        """Show where the keyboard is."""
        self.update()

    def focusOutEvent(self, event: QEvent) -> None:
        """Show that the keyboard is elsewhere."""
        self.update()
