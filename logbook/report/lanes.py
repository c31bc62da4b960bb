"""The picture of a shift for print: a lane per area, as plain coordinates between 0 and 1."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.limits import Severity
from logbook.plant.localtime import local_label
from logbook.report.cells import mark_name
from logbook.report.glyphs import Json
from logbook.shift.picture import Lane, Matter, MatterKind, ShiftPicture

LEAST = 0.022
"""Width that a mark takes, as a part of the shift; a shorter bar is drawn as wide."""
GAP = 0.004
MOST_ROWS = 3
"""Rows of a lane; what finds no room in them is counted."""
HOURS = 2


@dataclass(frozen=True, slots=True)
class _Placed:
    matter: Matter
    row: int
    left: float
    right: float


def lanes_part(picture: ShiftPicture) -> dict[str, Json]:
    """Axis, rounds and lanes of a shift, ready for the template."""
    scale = _Scale(picture.shift.start, picture.shift.end)
    zone = picture.plant.time_zone
    return {
        "hours": [
            {"x": scale.x(at), "label": local_label(at, zone)} for at in _hours(picture.shift.start, picture.shift.end)
        ],
        "rounds": [
            {"x": scale.x(r.at), "state": r.state.value, "text": f"{r.done}/{r.due}"}
            for r in picture.rounds
        ],
        "reaches": scale.x(picture.reaches),
        "lanes": [_lane(lane, scale) for lane in picture.lanes],
    }


def _hours(start: datetime, end: datetime) -> Iterable[datetime]:
    at = start
    while at <= end:
        yield at
        at += timedelta(hours=HOURS)


@dataclass(frozen=True, slots=True)
class _Scale:
    start: datetime
    end: datetime

    def x(self, at: datetime) -> float:
        """Where an instant lies in the shift, kept within 0 to 1."""
        span = (self.end - self.start).total_seconds() or 1.0
        return round(min(1.0, max(0.0, (at - self.start).total_seconds() / span)), 4)

    def extent(self, matter: Matter) -> tuple[float, float]:
        """Left and right edge of a matter; a mark stands on its instant, inside the picture."""
        left = self.x(matter.start)
        if matter.end is None:
            left = min(max(0.0, left - LEAST / 2), 1.0 - LEAST)
            return left, left + LEAST
        right = min(1.0, max(self.x(matter.end), left + LEAST))
        return min(left, right - LEAST), right


def _lane(lane: Lane, scale: _Scale) -> Json:
    placed, over = _packed(lane.matters, scale)
    return {
        "name": lane.name,
        "rows": max((one.row + 1 for one in placed), default=0),
        "over": over,
        "items": [_item(one, placed, scale) for one in placed],
    }


def _packed(matters: Sequence[Matter], scale: _Scale) -> tuple[list[_Placed], int]:
    """As few rows as keep the matters apart, the graver first; and how many found no room."""
    placed: list[_Placed] = []
    over = 0
    for matter in sorted(matters, key=_rank):
        left, right = scale.extent(matter)
        row = next((r for r in range(MOST_ROWS) if _is_free(placed, r, left, right)), None)
        if row is None:
            over += 1
        else:
            placed.append(_Placed(matter, row, left, right))
    return placed, over


def _rank(matter: Matter) -> tuple[int, bool, datetime]:
    severity = matter.judgement.severity if matter.judgement else Severity.NONE
    return -severity, matter.kind is not MatterKind.DOWN, matter.start


def _is_free(placed: Iterable[_Placed], row: int, left: float, right: float) -> bool:
    return all(
        one.row != row or right + GAP <= one.left or one.right + GAP <= left for one in placed
    )


def _item(one: _Placed, placed: Iterable[_Placed], scale: _Scale) -> Json:
    matter = one.matter
    following = [o.left for o in placed if o.row == one.row and o.left > one.left]
    return {
        "kind": matter.kind.value,
        "row": one.row,
        "left": one.left,
        "right": one.right,
        "room": min(following, default=1.0),
        "bar": matter.is_bar,
        "open": matter.is_open,
        "before": matter.is_bar and matter.start < scale.start,
        "mark": mark_name(matter.judgement) if matter.judgement else "",
        "letter": matter.letter,
        "label": matter.label,
    }
