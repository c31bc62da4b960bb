"""Painting of the picture of a shift. Nothing here decides anything; it shows the layout.

Severity shows by shape as well as colour: an action bar is solid with a square mark, a warning
bar is light with an edge and a triangular mark. Down time is hatched. A bar that is still open
ends in a point; one that began before the shift begins in a notch.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetrics, QPainter, QPen, QPolygonF

from logbook.assess.limits import Severity
from logbook.shift.picture import Lane, MatterKind, ShiftPicture
from logbook.shift.round_state import RoundState
from logbook.ui.marks import draw_clock, draw_judgement, draw_missing, draw_tick
from logbook.ui.shift_screen.lane_layout import (
    AXIS,
    LABEL,
    MARK,
    LanePlace,
    PictureLayout,
    Place,
    TimeScale,
)
from logbook.ui.theme import Theme, font

LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
TIP = 6.0
"""How far the point of an open bar reaches."""

RoundTick = tuple[datetime, str, RoundState | None]
"""When, the local time, and how the round stands; None where it is still to come."""


class PicturePainter:
    """Paints one picture with one theme."""

    def __init__(self, painter: QPainter, theme: Theme) -> None:
        self._painter = painter
        self._theme = theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)

    # -- the axis -------------------------------------------------------------------------

    def axis(self, scale: TimeScale, width: int, ticks: Iterable[RoundTick], title: str) -> None:
        """The hours above the lanes, with how each round stands."""
        painter, theme = self._painter, self._theme
        painter.fillRect(QRect(0, 0, width, AXIS), theme.colour("surface"))
        painter.setPen(theme.colour("muted"))
        painter.setFont(font("small"))
        painter.drawText(QRect(12, 0, LABEL - 20, AXIS), LEFT, title)
        for at, label, state in ticks:
            x = scale.x(at)
            painter.setPen(QPen(theme.colour("field_edge"), 1))
            painter.drawLine(QPointF(x, AXIS - 5), QPointF(x, AXIS))
            painter.setFont(font("body", medium=state is not None))
            painter.setPen(theme.colour("muted" if state is None else "text"))
            painter.drawText(QRectF(x + 4, 2, 60, 18), LEFT, label)
            self._round_mark(QRectF(x + 4, 21, 14, 14), state)
        painter.setPen(QPen(theme.colour("hairline"), 1))
        painter.drawLine(0, AXIS - 1, width, AXIS - 1)

    def _round_mark(self, box: QRectF, state: RoundState | None) -> None:
        painter, theme = self._painter, self._theme
        if state is RoundState.DONE:
            draw_tick(painter, box, theme)
        elif state is RoundState.MISSED:
            draw_missing(painter, box, theme)
        elif state in {RoundState.PARTLY, RoundState.LATE, RoundState.DUE}:
            draw_clock(painter, box, theme)
        words = {
            RoundState.DONE: "done",
            RoundState.MISSED: "not taken",
            RoundState.PARTLY: "partly",
            RoundState.LATE: "late",
            RoundState.DUE: "due now",
            RoundState.NONE: "all down",
        }
        if state is not None:
            painter.setFont(font("small"))
            painter.setPen(theme.colour("muted"))
            painter.drawText(QRectF(box.right() + 3, box.top() - 1, 70, 16), LEFT, words[state])

    # -- the lanes ------------------------------------------------------------------------

    def ground(
        self, layout: PictureLayout, picture: ShiftPicture, width: int, ticks: Iterable[RoundTick]
    ) -> None:
        """The lanes' ground and names, the rounds as lines, and the time to come."""
        painter, theme, scale = self._painter, self._theme, layout.scale
        painter.fillRect(QRectF(0, 0, width, layout.height), theme.colour("raised"))
        reach = scale.x(picture.reaches)
        if reach < scale.right:
            painter.fillRect(
                QRectF(reach, 0, scale.right - reach, layout.height), theme.colour("surface")
            )
        painter.setPen(QPen(theme.colour("hairline"), 1))
        for at, _, _ in ticks:
            painter.drawLine(QPointF(scale.x(at), 0), QPointF(scale.x(at), layout.height))
        for lane in layout.lanes:
            self._lane_ground(lane, width, scale)
        if reach < scale.right:
            painter.setPen(QPen(theme.colour("focus"), 1.4, Qt.PenStyle.DashLine))
            painter.drawLine(QPointF(reach, 0), QPointF(reach, layout.height))

    def _lane_ground(self, place: LanePlace, width: int, scale: TimeScale) -> None:
        painter, theme, box = self._painter, self._theme, place.box
        for spot in place.places:
            if spot.matter.kind is MatterKind.DOWN and _is_whole_lane(place.lane, spot):
                shade = QRectF(spot.box.left(), box.top(), spot.box.width(), box.height())
                painter.fillRect(shade, _hatch(theme.colour("hairline")))
        painter.fillRect(QRect(0, box.top(), LABEL - 8, box.height()), theme.colour("surface"))
        is_quiet = not place.places
        painter.setFont(font("body", medium=not is_quiet))
        painter.setPen(theme.colour("muted" if is_quiet else "text"))
        room = QRect(12, box.top(), LABEL - 26, box.height())
        name = QFontMetrics(painter.font()).elidedText(
            place.lane.name, Qt.TextElideMode.ElideRight, room.width()
        )
        painter.drawText(room, LEFT, name)
        painter.setPen(QPen(theme.colour("hairline"), 1))
        painter.drawLine(0, box.bottom(), width, box.bottom())

    def matter(self, place: Place, *, is_current: bool, has_focus: bool) -> None:
        """One bar or mark with its label."""
        painter = self._painter
        painter.save()
        if place.matter.kind is MatterKind.DOWN:
            self._down(place)
        elif place.matter.is_bar:
            self._deviation(place)
        else:
            self._mark(place)
        painter.restore()
        if is_current:
            colour = self._theme.colour("focus" if has_focus else "field_edge")
            painter.setPen(QPen(colour, 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(place.box.adjusted(-2, -1, 2, 1), 3, 3)

    def _deviation(self, place: Place) -> None:
        painter, theme, judgement = self._painter, self._theme, place.matter.judgement
        assert judgement is not None
        is_action = judgement.severity is Severity.ACTION
        outline = _outline(place)
        if is_action:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("action_fill"))
        else:
            painter.setPen(QPen(theme.colour("warning_edge"), 1))
            painter.setBrush(theme.colour("warning_wash"))
        painter.drawPolygon(outline)
        side = min(14.0, place.box.height())
        notch = 5 if place.starts_before else 2
        spot = QRectF(place.box.left() + notch, place.box.top(), side, place.box.height())
        draw_judgement(painter, spot, judgement, theme)
        self._label(place, "on_action" if is_action else "text", notch + side + 3)

    def _down(self, place: Place) -> None:
        painter, theme = self._painter, self._theme
        outline = _outline(place)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("raised"))
        painter.drawPolygon(outline)
        painter.setBrush(_hatch(theme.colour("field_edge")))
        painter.setPen(QPen(theme.colour("muted"), 1))
        painter.drawPolygon(outline)
        self._label(place, "text", 5, ground="raised")

    def _mark(self, place: Place) -> None:
        painter, theme, matter = self._painter, self._theme, place.matter
        side = min(14.0, place.box.height())
        spot = QRectF(place.box.center().x() - side / 2, place.box.top(), side, place.box.height())
        if matter.kind is MatterKind.GAP:
            draw_missing(painter, spot, theme)
        elif matter.kind is MatterKind.ANSWER and matter.judgement is not None:
            draw_judgement(painter, spot, matter.judgement, theme)
        else:
            self._pin(spot, matter.letter)
        self._label(place, "muted" if matter.kind is MatterKind.GAP else "text", MARK + 2)

    def _pin(self, box: QRectF, letter: str) -> None:
        """A note pinned to the lane; the letter tells its kind."""
        painter, theme = self._painter, self._theme
        side = min(box.width(), box.height())
        head = QRectF(box.center().x() - side / 2, box.center().y() - side / 2, side, side)
        painter.setPen(QPen(theme.colour("text"), 1.2))
        painter.setBrush(theme.colour("selected"))
        painter.drawEllipse(head.adjusted(0.6, 0.6, -0.6, -0.6))
        made = QFont(font("small", strong=True))
        made.setPixelSize(9)
        painter.setFont(made)
        painter.drawText(head, Qt.AlignmentFlag.AlignCenter, letter)

    def _label(self, place: Place, colour: str, indent: float, *, ground: str = "") -> None:
        """The label inside the bar where it fits, else to the right of it as far as there is room."""
        painter, theme, box = self._painter, self._theme, place.box
        painter.setFont(font("small"))
        metrics = QFontMetrics(painter.font())
        width = metrics.horizontalAdvance(place.matter.label)
        inside = QRectF(box.left() + indent, box.top(), box.width() - indent - TIP, box.height())
        beside = QRectF(box.right() + 4, box.top(), place.room - box.right() - 4, box.height())
        fits_inside = width <= inside.width() or inside.width() >= max(60.0, beside.width())
        room = inside if place.matter.is_bar and fits_inside else beside
        if room.width() < 26:
            return
        if room is beside and place.matter.is_bar:
            colour = "text"
        text = metrics.elidedText(
            place.matter.label, Qt.TextElideMode.ElideRight, int(room.width())
        )
        if ground and room is inside:
            back = QRectF(room.left() - 2, room.top() + 2, min(width, room.width()) + 4, 0)
            back.setHeight(room.height() - 4)
            painter.fillRect(back, theme.colour(ground))
        painter.setPen(theme.colour(colour))
        # A low row would cut what hangs below the line.
        painter.drawText(room.adjusted(0, -3, 0, 3), LEFT, text)


def _outline(place: Place) -> QPolygonF:
    """A bar: pointed at the right while it is open, notched at the left where it is older."""
    box, middle = place.box, place.box.center().y()
    points = [box.topLeft()]
    if place.matter.is_open:
        points += [
            QPointF(box.right() - TIP, box.top()),
            QPointF(box.right(), middle),
            QPointF(box.right() - TIP, box.bottom()),
        ]
    else:
        points += [box.topRight(), box.bottomRight()]
    points.append(box.bottomLeft())
    if place.starts_before:
        points.append(QPointF(box.left() + 4, middle))
    return QPolygonF(points)


def _hatch(colour: QColor) -> QBrush:
    return QBrush(colour, Qt.BrushStyle.BDiagPattern)


def _is_whole_lane(lane: Lane, spot: Place) -> bool:
    scope = getattr(spot.matter.source, "scope", "")
    return scope in {"plant", "area"} and lane.area == spot.matter.area
