"""The picture of a shift for print: a lane per area, as plain coordinates between 0 and 1.

It is drawn from the frozen content alone, so that it shows what was signed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from logbook.plant.localtime import local_label
from logbook.report.glyphs import Json
from logbook.report.parts import Content, mark_of, text_of

LEAST = 0.022
"""Width that a mark takes, as a part of the shift; a shorter bar is drawn as wide."""
GAP = 0.004
MOST_ROWS = 3
"""Rows of a lane; what finds no room in them is counted."""
ALL_ROWS = 38
"""Rows of all lanes together; in a worse shift each lane has fewer of them."""
HOURS = 2
WHOLE = ""
"""Key of the lane for what concerns the whole plant."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Thing:
    """A bar or a mark in a lane."""

    area: str
    kind: str
    start: datetime
    end: datetime | None = None
    is_open: bool = False
    mark: str = ""
    letter: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class _Placed:
    thing: _Thing
    row: int
    left: float
    right: float


def lanes_part(content: Content, areas_of: Mapping[str, str]) -> dict[str, Json]:
    """Axis, rounds and lanes of a shift, ready for the template.

    `areas_of` gives the area's key by the name of an area or a machine; what is not in it stands
    in a lane for the whole plant.
    """
    shift = content["shift"]
    scale = _Scale(_at(shift["start"]), _at(shift["end"]))
    until = min(_at(content["until"]), scale.end)
    things = list(_Things(content, areas_of, until))
    names = {area["key"]: area["name"] for area in content["readings"]["areas"]}
    groups: dict[str, list[_Thing]] = {key: [] for key in names}
    whole: list[_Thing] = []
    for thing in things:
        groups.get(thing.area, whole).append(thing)
    named = [("Whole plant", whole)] if whole else []
    named += [(names[key], group) for key, group in groups.items()]
    return {
        "hours": list(_hours(scale, content["plant"]["time_zone"])),
        "rounds": [
            {
                "x": scale.x(_at(one["at"])),
                "state": one["state"],
                "text": f"{one['done']}/{one['due']}",
            }
            for one in content["rounds"]
        ],
        "reaches": scale.x(until),
        "lanes": _lanes(named, scale),
    }


def _lanes(named: Sequence[tuple[str, Sequence[_Thing]]], scale: _Scale) -> list[Json]:
    """The lanes with as many rows each as leave all of them readable on one page."""
    for most in range(MOST_ROWS, 0, -1):
        packed = [(name, *_packed(things, scale, most)) for name, things in named]
        total = sum(max([1, *(one.row + 1 for one in placed)]) for _, placed, _ in packed)
        if total <= ALL_ROWS:
            break
    return [_lane(name, placed, over, scale) for name, placed, over in packed]


def _at(one: Content) -> datetime:
    return datetime.fromisoformat(one["iso"]).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class _Scale:
    start: datetime
    end: datetime

    def x(self, at: datetime) -> float:
        """Where an instant lies in the shift, kept within 0 to 1."""
        span = (self.end - self.start).total_seconds() or 1.0
        return round(min(1.0, max(0.0, (at - self.start).total_seconds() / span)), 4)

    def extent(self, thing: _Thing) -> tuple[float, float]:
        """Left and right edge of a thing; a mark stands on its instant, inside the picture."""
        left = self.x(thing.start)
        if thing.end is None:
            left = min(max(0.0, left - LEAST / 2), 1.0 - LEAST)
            return left, left + LEAST
        right = min(1.0, max(self.x(thing.end), left + LEAST))
        return min(left, right - LEAST), right


def _hours(scale: _Scale, zone: str) -> Iterator[Json]:
    """Every second hour in true elapsed time, by the plant's own clock."""
    at = scale.start
    while at <= scale.end:
        yield {"x": scale.x(at), "label": local_label(at, zone)}
        at += timedelta(hours=HOURS)


@dataclass(frozen=True, slots=True)
class _Things:
    """What stands in the lanes, read out of the content."""

    content: Content
    areas_of: Mapping[str, str]
    until: datetime

    def __iter__(self) -> Iterator[_Thing]:
        yield from self._deviations()
        yield from self._answers()
        yield from self._stops()
        yield from self._entries()
        yield from self._gaps()

    def _deviations(self) -> Iterator[_Thing]:
        for one in (*self.content["open_deviations"], *self.content["closed_deviations"]):
            is_open = one["end"] is None and one["closing"] == "still open"
            ends = one["end"] or one["last_at"]
            area, _, name = str(one["point"]["name"]).partition(": ")
            yield _Thing(
                area=one["point"]["area"],
                kind="deviation",
                start=_at(one["start"]),
                end=self.until if is_open else _at(ends),
                is_open=is_open,
                mark=mark_of(one),
                label=f"{text_of(one['worst'])} {_short(name or area)}",
            )

    def _answers(self) -> Iterator[_Thing]:
        for one in (*self.content["open_answers"], *self.content["closed_answers"]):
            yield _Thing(
                area=one["point"]["area"],
                kind="answer",
                start=_at(one["reading"]["taken_at"]),
                mark=mark_of(one),
            )

    def _stops(self) -> Iterator[_Thing]:
        for one in self.content["lost_time"]["downs"]:
            yield _Thing(
                area=self.areas_of.get(one["name"], WHOLE),
                kind="down",
                start=_at(one["start"]),
                end=_at(one["end"]) if one["end"] else self.until,
                is_open=one["end"] is None,
                label=f"{one['name']} down: {one['reason']}",
            )
        for one in self.content["mode_changes"]:
            yield _Thing(area=WHOLE, kind="mode", start=_at(one["start"]), letter="M")

    def _entries(self) -> Iterator[_Thing]:
        for one in self.content["entries"]:
            area = self.areas_of.get(one["place"], WHOLE)
            letter = str(one["kind"])[:1].upper()
            yield _Thing(area=area, kind="entry", start=_at(one["at"]), letter=letter)

    def _gaps(self) -> Iterator[_Thing]:
        places = {
            (one["point"]["area"], one["round_at"]["iso"]) for one in self.content["gaps"]["each"]
        }
        for area, iso in sorted(places):
            yield _Thing(area=area, kind="missing", start=_at({"iso": iso}))


def _short(name: str) -> str:
    """Machine and position without the table's name: "Mill 2, left"."""
    return name.rpartition(": ")[2]


def _lane(name: str, placed: Sequence[_Placed], over: int, scale: _Scale) -> Json:
    return {
        "name": name,
        "rows": max((one.row + 1 for one in placed), default=0),
        "over": over,
        "items": [_item(one, placed, scale) for one in placed],
    }


def _packed(things: Sequence[_Thing], scale: _Scale, most: int) -> tuple[list[_Placed], int]:
    """As few rows as keep the things apart, the graver first; and how many found no room."""
    placed: list[_Placed] = []
    over = 0
    for thing in sorted(things, key=_rank):
        left, right = scale.extent(thing)
        row = next((r for r in range(most) if _is_free(placed, r, left, right)), None)
        if row is None:
            over += 1
        else:
            placed.append(_Placed(thing, row, left, right))
    return placed, over


def _rank(thing: _Thing) -> tuple[int, bool, datetime]:
    severity = ("action", "warning", "").index(thing.mark.partition("-")[0])
    return severity, thing.kind != "down", thing.start


def _is_free(placed: Iterable[_Placed], row: int, left: float, right: float) -> bool:
    return all(
        one.row != row or right + GAP <= one.left or one.right + GAP <= left for one in placed
    )


def _item(one: _Placed, placed: Iterable[_Placed], scale: _Scale) -> Json:
    thing = one.thing
    following = [o.left for o in placed if o.row == one.row and o.left > one.left]
    return {
        "kind": thing.kind,
        "row": one.row,
        "left": one.left,
        "right": one.right,
        "room": min(following, default=1.0),
        "bar": thing.end is not None,
        "open": thing.is_open,
        "before": thing.end is not None and thing.start < scale.start,
        "mark": thing.mark,
        "letter": thing.letter,
        "label": thing.label,
    }
