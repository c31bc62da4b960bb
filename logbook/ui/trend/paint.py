"""Painting the trend: stops, limits, lines, deviations, corrections, lanes and axes."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QLine, QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPixmap, QPolygonF

from logbook.assess.limits import NOT_JUDGED_CODE
from logbook.plant.model import Limits
from logbook.report.decimate import Bars, Drawn, bars, merged, thinned, worst_of_columns
from logbook.report.time_ticks import head_at, time_ticks
from logbook.report.trend_panel import Room, value_ticks
from logbook.shift.trend_study import Track
from logbook.shift.trend_words import judgement_of
from logbook.ui.marks import draw_judgement
from logbook.ui.theme import Theme, font
from logbook.ui.trend.look import line_colour, line_pen
from logbook.ui.trend.scene import Panel, Scene

MARK = 9.0
"""Side of a mark at a reading out of limits; of several in its width the worst is drawn."""
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
CENTRE = Qt.AlignmentFlag.AlignCenter
STEP_SEEN = 4.0
USUAL, STRONG = (0.0, 0.35), (-0.55, 0.0, 0.55)
"""A line is drawn a pixel wide, so often, moved by so much."""
SPARSE = 7.0
"""Readings farther apart than so many pixels get a dot each."""


def rect(room: Room) -> QRectF:
    """A room as Qt knows it."""
    return QRectF(room.left, room.top, room.width, room.height)


class TrendPainter:
    """Paints a scene without its cursor: what stays the same while the cursor moves."""

    def __init__(self, painter: QPainter, scene: Scene, theme: Theme) -> None:
        """A painter over a scene."""
        self.painter = painter
        self.scene = scene
        self.theme = theme
        self._stamps: dict[int, QPixmap] = {}
        self.ticks = time_ticks(
            scene.span.start, scene.span.end, scene.study.zone, max(2, scene.columns // 92)
        )

    def paint(self) -> None:
        """Paint everything."""
        self.painter.fillRect(
            QRectF(0, 0, self.scene.width, self.scene.placed.height), self.theme.colour("surface")
        )
        for panel in self.scene.panels:
            self._panel(panel)
        self._mode_lane()
        self._log_lane()
        self._axis()

    # -- a panel --------------------------------------------------------------------------

    def _panel(self, panel: Panel) -> None:
        painter, box = self.painter, rect(panel.room)
        painter.fillRect(box, self.theme.colour("field"))
        painter.save()
        painter.setClipRect(box)
        self._limit_bands(panel)
        self._stops(panel)
        painter.restore()
        self._grid(panel)
        painter.save()
        painter.setClipRect(box)
        self._limit_lines(panel)
        # The chosen one lies on top, and is drawn stronger where others are beside it.
        order = enumerate(panel.tracks)
        for number, track in sorted(order, key=lambda one: one[1] is panel.limits_of):
            self._line(panel, track, number)
        painter.setClipRect(box.adjusted(-5, -5, 5, 5))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for track in panel.tracks:
            self._corrections(panel, track)
            self._deviations(panel, track)
        painter.restore()

    def _grid(self, panel: Panel) -> None:
        painter, room = self.painter, panel.room
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        line = self.theme.colour("hairline")
        painter.setPen(QPen(line, 1))
        for tick in self.ticks:
            x = round(self.scene.x(tick.at))
            painter.drawLine(QLineF(x, room.top, x, room.bottom))
        painter.setFont(font("small"))
        for value, text in value_ticks((panel.low, panel.high), room.height):
            y = round(panel.y(value))
            painter.setPen(QPen(line, 1))
            painter.drawLine(QLineF(room.left, y, room.right, y))
            painter.setPen(self.theme.colour("muted"))
            painter.drawText(QRectF(0, y - 8, room.left - 8, 16), RIGHT, text)

    def _limit_bands(self, panel: Panel) -> None:
        for left, right, limits in self._bands(panel):
            low, high = limits.warning_low, limits.warning_high
            if low is None and high is None:
                low, high = limits.action_low, limits.action_high
            if low is None and high is None:
                continue
            top = panel.room.top if high is None else panel.y(high)
            bottom = panel.room.bottom if low is None else panel.y(low)
            self.painter.fillRect(
                QRectF(left, top, right - left, bottom - top), self.theme.colour("band")
            )

    def _limit_lines(self, panel: Panel) -> None:
        """Edges as lines: warning unbroken, action dotted, target dashed; steps where they change."""
        painter, edge = self.painter, self.theme.colour("band_edge")
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        styles = (
            (("warning_low", "warning_high"), Qt.PenStyle.SolidLine, edge),
            (("target",), Qt.PenStyle.DashLine, edge),
            (("action_low", "action_high"), Qt.PenStyle.DotLine, self.theme.colour("action_text")),
        )
        bands = self._bands(panel)
        for names, style, colour in styles:
            painter.setPen(QPen(colour, 1.0, style))
            for name in names:
                self._edge(panel, [(a, b, getattr(limits, name)) for a, b, limits in bands])

    def _edge(self, panel: Panel, parts: list[tuple[float, float, float | None]]) -> None:
        """One edge as steps; a part that is hardly seen has no upright lines beside it."""
        painter, before = self.painter, None
        for left, right, value in parts:
            is_seen = right - left >= STEP_SEEN
            if value is not None:
                y = round(panel.y(value))
                painter.drawLine(QLineF(left, y, right, y))
                if is_seen and before is not None and before != value:
                    painter.drawLine(QLineF(left, round(panel.y(before)), left, y))
            before = value if is_seen else before

    def _bands(self, panel: Panel) -> list[tuple[float, float, Limits]]:
        scene, found = self.scene, []
        for band in panel.limits_of.bands:
            left = max(scene.x(band.start), panel.room.left)
            right = min(scene.x(band.end), panel.room.right)
            if right > left:
                found.append((left, right, band.limits))
        return found

    def _stops(self, panel: Panel) -> None:
        """Grey blocks, those closer together than a pixel as one."""
        scene, around = self.scene, self.scene.around
        if around is None:
            return
        stops = around.of_points([track.point for track in panel.tracks])
        grey = QColor(self.theme.colour("muted"))
        grey.setAlpha(70 if self.theme.is_dark else 64)
        pixel = scene.span.length / scene.columns
        for start, end in merged([(a, b) for a, b, _ in stops], pixel):
            left, right = scene.x(start), max(scene.x(end), scene.x(start) + 1.0)
            self.painter.fillRect(
                QRectF(left, panel.room.top, right - left, panel.room.height), grey
            )
        self.painter.setFont(font("small"))
        self.painter.setPen(self.theme.colour("text"))
        for start, end, reason in stops:
            left = max(scene.x(start), panel.room.left)
            right = min(scene.x(end), panel.room.right)
            self._fitting(
                QRectF(left + 4, panel.room.top + 2, right - left - 8, 16), reason or "down"
            )

    def _fitting(self, box: QRectF, text: str) -> None:
        """A text cut to its room; none where there is hardly any."""
        if box.width() < 34:
            return
        metrics = QFontMetricsF(self.painter.font())
        shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        self.painter.drawText(box, LEFT, shown)

    # -- a line ---------------------------------------------------------------------------

    def _line(self, panel: Panel, track: Track, number: int) -> None:
        scene, painter = self.scene, self.painter
        span = (scene.span.start, scene.span.end)
        dense = bars(track.times, track.values, span, scene.columns, track.gap_s)
        if dense is not None:
            self._bars(panel, dense, number)
            return
        drawn = thinned(track.times, track.values, span, scene.columns, track.gap_s)
        if not drawn.at.size:
            return
        points = self._pixels(panel, track, drawn)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(line_pen(self.theme, number))
        runs = drawn.runs()
        polygons = [QPolygonF(points[a:b]) for a, b in runs if b - a > 1]
        is_strong = len(panel.tracks) > 1 and track is panel.limits_of
        # Qt draws a line wider than a pixel a hundred times slower where it crosses itself often.
        for shift in STRONG if is_strong else USUAL:
            painter.translate(shift, shift)
            for polygon in polygons:
                painter.drawPolyline(polygon)
            painter.translate(-shift, -shift)
        self._dots(drawn, points, runs, number)

    def _bars(self, panel: Panel, dense: Bars, number: int) -> None:
        """Where readings share columns of pixels there is nothing to smooth, nor to dash."""
        room, painter = panel.room, self.painter
        scale = room.height / ((panel.high - panel.low) or 1.0)
        xs = np.rint(room.left + dense.column).astype(np.int64).tolist()
        tops = np.rint(room.bottom - (dense.high - panel.low) * scale).astype(np.int64).tolist()
        feet = np.rint(room.bottom - (dense.low - panel.low) * scale).astype(np.int64).tolist()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setPen(QPen(line_colour(self.theme, number), 1))
        painter.drawLines(list(map(QLine, xs, tops, xs, feet)))

    def _pixels(self, panel: Panel, track: Track, drawn: Drawn) -> list[QPointF]:
        scene, room = self.scene, panel.room
        axis = scene.placed.axis
        xs = axis.left + (track.times[drawn.at] - scene.span.start) * (
            axis.width / scene.span.length
        )
        scale = room.height / ((panel.high - panel.low) or 1.0)
        ys = room.bottom - (track.values[drawn.at] - panel.low) * scale
        return list(map(QPointF, xs.tolist(), ys.tolist()))

    def _dots(
        self, drawn: Drawn, points: list[QPointF], runs: list[tuple[int, int]], number: int
    ) -> None:
        """A dot for each reading where there is room, else for those that stand alone."""
        room = self.scene.placed.axis.width / max(drawn.at.size, 1)
        if room >= SPARSE:
            alone = points
        else:
            alone = [points[first] for first, after in runs if after - first == 1]
        painter = self.painter
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(line_colour(self.theme, number))
        for point in alone:
            painter.drawEllipse(point, 2.0, 2.0)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _deviations(self, panel: Panel, track: Track) -> None:
        scene = self.scene
        first, after = track.inside(scene.span.start, scene.span.end)
        codes = track.codes[first:after]
        out = np.flatnonzero((codes != 0) & (codes != NOT_JUDGED_CODE))
        if not out.size:
            return
        width = MARK * scene.span.length / scene.columns
        # From a fixed instant, so that the marks do not dance while the picture moves.
        rank = np.abs(codes[out]).astype(np.int64)
        kept = worst_of_columns(track.times[first:after][out], rank, 0.0, width)
        for place in (out[kept] + first).tolist():
            x, y = scene.x(float(track.times[place])), panel.y(float(track.values[place]))
            self._stamp(x, y, int(track.codes[place]))

    def _stamp(self, x: float, y: float, code: int) -> None:
        """A mark, drawn once and then copied: there may be hundreds."""
        stamp = self._stamps.get(code)
        if stamp is None:
            ratio = self.painter.device().devicePixelRatioF()
            side = MARK + 2.0
            stamp = QPixmap(round(side * ratio), round(side * ratio))
            stamp.setDevicePixelRatio(ratio)
            stamp.fill(Qt.GlobalColor.transparent)
            brush = QPainter(stamp)
            draw_judgement(brush, QRectF(1, 1, MARK, MARK), judgement_of(code), self.theme)
            brush.end()
            self._stamps[code] = stamp
        self.painter.drawPixmap(QPointF(x - MARK / 2 - 1, y - MARK / 2 - 1), stamp)

    def _corrections(self, panel: Panel, track: Track) -> None:
        """The old value crossed out, the new one in a diamond, a line between the two."""
        painter, scene = self.painter, self.scene
        ink = self.theme.colour("focus")
        for one in track.corrections:
            at = one.taken_at.timestamp()
            if not scene.span.start <= at <= scene.span.end:
                continue
            new = None if one.new_value is None else QPointF(scene.x(at), panel.y(one.new_value))
            painter.setPen(QPen(ink, 1.2))
            if one.old_value is not None:
                x = scene.x(one.old_taken_at.timestamp())
                y = min(max(panel.y(one.old_value), panel.room.top + 5), panel.room.bottom - 5)
                painter.drawLine(QLineF(x - 3.5, y - 3.5, x + 3.5, y + 3.5))
                painter.drawLine(QLineF(x - 3.5, y + 3.5, x + 3.5, y - 3.5))
                if new is not None:
                    painter.setPen(QPen(ink, 1.0, Qt.PenStyle.DotLine))
                    painter.drawLine(QPointF(x, y), new)
            if new is not None:
                painter.setPen(QPen(ink, 1.4))
                painter.setBrush(self.theme.colour("field"))
                painter.drawPolygon(_diamond(new, 5.0))
                painter.setBrush(Qt.BrushStyle.NoBrush)

    # -- lanes and axis -------------------------------------------------------------------

    def _lane_name(self, room: Room, name: str) -> None:
        self.painter.setFont(font("small"))
        self.painter.setPen(self.theme.colour("muted"))
        self.painter.drawText(QRectF(0, room.top, room.left - 8, room.height), RIGHT, name)

    def _mode_lane(self) -> None:
        scene, painter, room = self.scene, self.painter, self.scene.placed.modes
        self._lane_name(room, "Mode")
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        for one in scene.study.modes:
            left, right = max(scene.x(one.start), room.left), min(scene.x(one.end), room.right)
            if right <= left:
                continue
            box = QRectF(left, room.top + 3, max(right - left, 1.0), room.height - 6)
            painter.fillRect(box, self.theme.colour("selected"))
            painter.setPen(QPen(self.theme.colour("field_edge"), 1))
            painter.drawRect(box)
            painter.setPen(self.theme.colour("text"))
            self._fitting(box.adjusted(4, 0, -4, 0), one.name)

    def _log_lane(self) -> None:
        """A flag for each log entry; a number where several stand in one place."""
        scene, painter, room = self.scene, self.painter, self.scene.placed.log
        self._lane_name(room, "Log")
        if scene.around is None:
            return
        if not scene.around.is_close:
            painter.drawText(rect(room), LEFT, "entries show in a stretch of at most 13 months")
            return
        points = [track.point for track in scene.study.tracks]
        times = [one.at.timestamp() for one in scene.around.entries_of(points)]
        inside = [at for at in times if scene.span.start <= at <= scene.span.end]
        clusters: list[list[float]] = []
        for x in map(scene.x, inside):
            if clusters and x - clusters[-1][0] < 16.0:
                clusters[-1].append(x)
            else:
                clusters.append([x])
        for cluster in clusters:
            self._flag(cluster, room)

    def _flag(self, cluster: list[float], room: Room) -> None:
        painter, count = self.painter, len(cluster)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        x = sum(cluster) / count
        half = 4.0 if count == 1 else 8.0
        box = QRectF(x - half, room.top + 4, 2 * half, room.height - 8)
        painter.setPen(QPen(self.theme.colour("trace"), 1))
        painter.setBrush(self.theme.colour("raised"))
        painter.drawRoundedRect(box, 2, 2)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if count == 1:
            y = box.center().y()
            painter.drawLine(QLineF(box.left() + 2, y - 2, box.right() - 2, y - 2))
            painter.drawLine(QLineF(box.left() + 2, y + 1.5, box.right() - 2, y + 1.5))
        else:
            painter.setFont(font("small"))
            painter.drawText(box, CENTRE, str(count) if count < 100 else "…")

    def _axis(self) -> None:
        scene, painter, room = self.scene, self.painter, self.scene.placed.axis
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setPen(QPen(self.theme.colour("field_edge"), 1))
        painter.drawLine(QLineF(room.left, room.top, room.right, room.top))
        for tick in self.ticks:
            x = scene.x(tick.at)
            painter.setPen(self.theme.colour("field_edge"))
            painter.drawLine(QLineF(round(x), room.top, round(x), room.top + 4))
            painter.setFont(font("small"))
            painter.setPen(self.theme.colour("muted"))
            painter.drawText(QRectF(x - 50, room.top + 4, 100, 16), CENTRE, tick.text)
            if tick.head and x < room.right - 40:
                painter.setPen(self.theme.colour("text"))
                painter.setFont(font("small", medium=True))
                painter.drawText(QRectF(x - 14, room.top + 19, 160, 16), LEFT, tick.head)
        head = head_at(self.ticks, scene.span.start, scene.span.end, scene.study.zone)
        painter.setFont(font("small", medium=True))
        painter.setPen(self.theme.colour("text"))
        painter.drawText(QRectF(room.left - 14, room.top + 19, 160, 16), LEFT, head)


def _diamond(middle: QPointF, size: float) -> QPolygonF:
    x, y = middle.x(), middle.y()
    return QPolygonF(
        [QPointF(x, y - size), QPointF(x + size, y), QPointF(x, y + size), QPointF(x - size, y)]
    )
