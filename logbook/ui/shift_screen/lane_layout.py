"""Where everything stands in the picture of a shift: pixels out of instants. Paints nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from PySide6.QtCore import QRect, QRectF

from logbook.shift.picture import Lane, Matter, ShiftPicture

LABEL = 196
"""Width of the lanes' names."""
AXIS = 40
"""Height of the hours and rounds above the lanes."""
RIGHT = 14
ROW = (20, 15)
"""Height of a row of bars: as wished, and the least that is still told apart."""
PAD = 2
"""Above and below the rows of a lane."""
MARK = 16
"""Width of a mark without a length; a shorter bar is drawn as wide."""


@dataclass(frozen=True, slots=True)
class Place:
    """A matter and where it is drawn; `room` is how far its label may reach to the right."""

    matter: Matter
    box: QRectF
    room: float
    starts_before: bool


@dataclass(frozen=True, slots=True)
class LanePlace:
    """A lane and where it is drawn, with what stands in it."""

    lane: Lane
    box: QRect
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class TimeScale:
    """Instants to pixels from left to right, over one shift."""

    start: datetime
    end: datetime
    left: float
    right: float

    def x(self, at: datetime) -> float:
        """Where an instant lies, kept within the shift."""
        span = (self.end - self.start).total_seconds() or 1.0
        part = (at - self.start).total_seconds() / span
        return self.left + min(1.0, max(0.0, part)) * (self.right - self.left)


@dataclass(frozen=True, slots=True)
class PictureLayout:
    """All lanes with their places; `height` without the axis above them."""

    scale: TimeScale
    lanes: tuple[LanePlace, ...]
    height: int
    row: int

    @property
    def places(self) -> tuple[Place, ...]:
        """Everything drawn, lane by lane."""
        return tuple(place for lane in self.lanes for place in lane.places)

    def at(self, x: float, y: float) -> Place | None:
        """What is drawn at a point, measured below the axis."""
        hit = (p for p in self.places if p.box.adjusted(-2, -1, 2, 1).contains(x, y))
        return next(hit, None)


def lay_out(picture: ShiftPicture, width: int, height: int) -> PictureLayout:
    """Lanes for a picture of `width` pixels, low enough for `height` where they can be."""
    scale = TimeScale(
        picture.shift.start, picture.shift.end, LABEL, max(LABEL + 200, width - RIGHT)
    )
    rows = [_rows(lane.matters, scale) for lane in picture.lanes]
    count = sum(max(1, len(lane_rows)) for lane_rows in rows)
    row = _row_height(count, len(rows), height)
    lanes, top = [], 0
    for lane, lane_rows in zip(picture.lanes, rows, strict=True):
        box = QRect(0, top, width, max(1, len(lane_rows)) * row + 2 * PAD)
        lanes.append(LanePlace(lane, box, _places(lane_rows, scale, box, row)))
        top += box.height()
    return PictureLayout(scale, tuple(lanes), top, row)


def _row_height(rows: int, lanes: int, height: int) -> int:
    wished, least = ROW
    return max(least, min(wished, (height - 2 * PAD * lanes) // max(1, rows)))


def _extent(matter: Matter, scale: TimeScale) -> tuple[float, float]:
    left = scale.x(matter.start)
    if matter.end is None:
        # A mark stands on its instant, but never over the edge of the picture.
        left = min(max(scale.left, left - MARK / 2), scale.right - MARK)
        return left, left + MARK
    right = max(scale.x(matter.end), left + MARK)
    if right > scale.right:
        left, right = min(left, scale.right - MARK), scale.right
    return left, right


def _rows(matters: Iterable[Matter], scale: TimeScale) -> list[list[Matter]]:
    """Matters dealt out to as few rows as keep them from covering one another."""
    rows: list[list[Matter]] = []
    ends: list[float] = []
    for matter in matters:
        left, right = _extent(matter, scale)
        free = next((k for k, end in enumerate(ends) if end + 3 <= left), None)
        if free is None:
            rows.append([])
            ends.append(0.0)
            free = len(rows) - 1
        rows[free].append(matter)
        ends[free] = right
    return rows


def _places(
    rows: Sequence[Sequence[Matter]], scale: TimeScale, lane: QRect, row: int
) -> tuple[Place, ...]:
    found = []
    for number, matters in enumerate(rows):
        top = lane.top() + PAD + number * row
        for k, matter in enumerate(matters):
            left, right = _extent(matter, scale)
            follower = matters[k + 1] if k + 1 < len(matters) else None
            until = _extent(follower, scale)[0] - 4 if follower else scale.right
            box = QRectF(left, top + 1, right - left, row - 2)
            found.append(Place(matter, box, until, matter.start < scale.start))
    return tuple(sorted(found, key=lambda place: (place.matter.start, place.box.top())))
