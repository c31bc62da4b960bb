"""Where the boxes and bands of a flow picture stand: streams by width, for screen and paper alike.

A picture is a grid of boxes (steps of the plant, in process order from left to right) and bands
between them, each as wide as what flows. All bands share one scale. Streams from or to outside
begin or end at an edge of their box; a stream that goes back runs above all rows between boxes
of the first row, else below all rows; so does one that would run through the boxes of its row.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from logbook.shift.balance_view import Edge, FlowSteps, FlowStream

XY = tuple[float, float]

BOX_WIDTH = 104.0
BOX_HEIGHT = 44.0
"""Least height of a box: its name on two lines."""
INSIDE = 8.0
"""Edge of a box that its bands leave free, above and below together."""
STUB = 30.0
"""Length of a stream that comes from outside or goes there."""
LETTER = 6.4
"""Width of a letter of a label, about."""
LEAST_SIDE = 40.0
"""Least room at the left and right for what comes in and goes out, with its label."""
LABEL = 34.0
"""Height of a label of two lines."""
THIN = 1.5
"""Least width of a band, so that a small flow can be seen."""
LANE = 16.0
"""Gap between bands that run back below the rows."""


@dataclass(frozen=True, slots=True)
class FlowNode:
    """A step of the plant and its place in the grid."""

    key: str
    name: str
    column: int
    row: int


@dataclass(frozen=True, slots=True)
class FlowPicture:
    """What is drawn: steps, streams, and the unit of their amounts."""

    nodes: tuple[FlowNode, ...]
    streams: tuple[FlowStream, ...]
    unit: str


def picture_of(flow: FlowSteps) -> FlowPicture:
    """The picture that is drawn of a flow, on the screen and on paper."""
    return FlowPicture(tuple(FlowNode(*step) for step in flow.steps), flow.streams, flow.unit)


@dataclass(frozen=True, slots=True)
class Box:
    """A step as it stands: left, top, width, height."""

    node: FlowNode
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Band:
    """A stream as it runs along its middle; where its label stands."""

    stream: FlowStream
    points: tuple[XY, ...]
    """A straight line (2), or two corners (4) that are rounded or bent as `is_curve` says."""
    width: float
    label: XY
    """Middle of the label."""
    is_curve: bool
    """True: the four points are those of a cubic curve."""
    is_beside: bool = False
    """True: the label stands beside the end, at the left of `label` if that is the left side."""

    def near(self, x: float, y: float, *, slack: float = 4.0) -> bool:
        """Whether a place is on the band."""
        reach = self.width / 2.0 + slack
        return any(_distance((x, y), a, b) <= reach for a, b in _pairs(self.trace()))

    def trace(self, steps: int = 16) -> tuple[XY, ...]:
        """Points along the middle, a curve as `steps` straight pieces."""
        if not self.is_curve:
            return self.points
        a, b, c, d = self.points
        return tuple(_on_curve(a, b, c, d, step / steps) for step in range(steps + 1))


@dataclass(frozen=True, slots=True)
class FlowLayout:
    """Everything in its place, with the room that it needs."""

    boxes: tuple[Box, ...]
    bands: tuple[Band, ...]
    width: float
    height: float
    scale: float
    """Pixels (or points of paper) of width for one unit of flow."""

    def at(self, x: float, y: float) -> Band | None:
        """The band at a place; the thinnest where several cross."""
        found = [band for band in self.bands if band.near(x, y)]
        return min(found, key=lambda band: band.width, default=None)


def lay_out_flow(picture: FlowPicture, width: float, height: float) -> FlowLayout:
    """Lay a picture out in a room; it may come out wider or higher than that, never squeezed.

    Raises ValueError for a stream that names no step or one that is not there.
    """
    sides = _sides(picture)
    rows = sorted({node.row for node in picture.nodes})
    top, bottom = _margins(picture)
    back = {edge: _backs(picture, edge) for edge in ("top", "bottom")}
    scale = _scale(picture, sides, rows, height - top - bottom)
    above = sum(_width(s.amount, scale) + LANE for s in back["top"])
    below = sum(_width(s.amount, scale) + LANE for s in back["bottom"])
    boxes = _boxes(picture, sides, rows, width, top + above, scale)
    lowest = max((box.y + box.height for box in boxes.values()), default=0.0) + bottom
    right = max((box.x + box.width for box in boxes.values()), default=0.0)
    right += _side(picture, "right")
    lanes = {**_lanes(back["top"], LANE / 2.0, scale), **_lanes(back["bottom"], lowest, scale)}
    ports = _ports(sides, boxes, scale)
    bands = tuple(
        _return(picture, s, ports, _width(s.amount, scale), lanes[s.key])
        if s.key in lanes
        else _band(picture, s, ports, _width(s.amount, scale))
        for s in picture.streams
    )
    return FlowLayout(
        tuple(boxes.values()), bands, max(width, right), max(height, lowest + below), scale
    )


def _backs(picture: FlowPicture, edge: str) -> list[FlowStream]:
    """The streams that go back by way of the top or the bottom."""
    return [s for s in picture.streams if _is_back(picture, s) and _back_edge(picture, s) == edge]


def _lanes(streams: Sequence[FlowStream], start: float, scale: float) -> dict[str, float]:
    """The height of the middle of each stream that goes back, from `start` downwards."""
    found: dict[str, float] = {}
    for stream in streams:
        wide = _width(stream.amount, scale)
        found[stream.key] = start + wide / 2.0
        start += wide + LANE
    return found


# -- sides ----------------------------------------------------------------------------------

Sides = dict[tuple[str, Edge], list[FlowStream]]
Ports = dict[tuple[str, str, Edge], XY]


def _sides(picture: FlowPicture) -> Sides:
    """The streams at each side of each box, in the order in which they stand there."""
    place = {node.key: node for node in picture.nodes}
    found: Sides = defaultdict(list)
    for stream in picture.streams:
        if stream.source is None and stream.target is None:
            msg = f"The stream {stream.key!r} comes from nowhere and goes nowhere."
            raise ValueError(msg)
        for key, edge in _ends(picture, stream):
            if key not in place:
                msg = f"The stream {stream.key!r} is at {key!r}, which is no step of the picture."
                raise ValueError(msg)
            found[key, edge].append(stream)
    for (key, edge), streams in found.items():
        streams.sort(key=lambda s, key=key, edge=edge: _rank(picture, s, key, edge))  # type: ignore[misc]
    return found


def _ends(picture: FlowPicture, stream: FlowStream) -> list[tuple[str, Edge]]:
    if stream.source is None and stream.target is not None:
        return [(stream.target, stream.edge)]
    if stream.target is None and stream.source is not None:
        return [(stream.source, stream.edge)]
    if stream.source is None or stream.target is None:
        return []
    if _is_back(picture, stream):
        edge = _back_edge(picture, stream)
        return [(stream.source, edge), (stream.target, edge)]
    if _is_down(picture, stream):
        return [(stream.source, "bottom"), (stream.target, "top")]
    return [(stream.source, "right"), (stream.target, "left")]


def _node(picture: FlowPicture, key: str | None) -> FlowNode | None:
    return next((node for node in picture.nodes if node.key == key), None)


def _is_back(picture: FlowPicture, stream: FlowStream) -> bool:
    source, target = _node(picture, stream.source), _node(picture, stream.target)
    if source is None or target is None:
        return False
    if target.column < source.column or source.key == target.key:
        return True
    between = range(source.column + 1, target.column)
    return source.row == target.row and any(
        node.row == source.row and node.column in between for node in picture.nodes
    )


def _back_edge(picture: FlowPicture, stream: FlowStream) -> Edge:
    """The side where a stream leaves that goes back: the top where nothing stands above."""
    first = min(node.row for node in picture.nodes)
    ends = (_node(picture, stream.source), _node(picture, stream.target))
    return "top" if all(node is not None and node.row == first for node in ends) else "bottom"


def _is_down(picture: FlowPicture, stream: FlowStream) -> bool:
    source, target = _node(picture, stream.source), _node(picture, stream.target)
    return source is not None and target is not None and source.column == target.column


def _rank(picture: FlowPicture, stream: FlowStream, key: str, edge: Edge) -> tuple[float, float]:
    """Order along a side: by the row of the other end, what goes outside last at the right."""
    other = _node(picture, stream.target if stream.source == key else stream.source)
    if other is None:
        return (float("inf") if edge in {"left", "right"} else 0.0, 0.0)
    if edge in {"top", "bottom"}:
        return (float(other.column), float(other.row))
    return (float(other.row), -abs(float(other.column)))


# -- scale and places -----------------------------------------------------------------------


def _margins(picture: FlowPicture) -> tuple[float, float]:
    """Room above and below the rows for what comes and goes there."""
    outside = {s.edge for s in picture.streams if s.source is None or s.target is None}
    room = STUB + LABEL + 6.0
    return (room if "top" in outside else 12.0, room if "bottom" in outside else 12.0)


def _side(picture: FlowPicture, edge: str) -> float:
    """Room beside the boxes for the streams that come or go there, with their labels."""
    columns = [node.column for node in picture.nodes]
    outermost = min(columns) if edge == "left" else max(columns)
    told = [
        max(len(stream.name), len(stream.label) + 2)
        for stream in picture.streams
        if (stream.source is None or stream.target is None) and stream.edge == edge
        for node in (_node(picture, stream.source or stream.target),)
        if node is not None and node.column == outermost
    ]
    return STUB + 16.0 + LETTER * max(told) if told else LEAST_SIDE


def _width(amount: float | None, scale: float) -> float:
    return THIN if amount is None else max(THIN, abs(amount) * scale)


def _sum(streams: Iterable[FlowStream]) -> float:
    return sum(abs(s.amount or 0.0) for s in streams)


def _scale(picture: FlowPicture, sides: Sides, rows: Sequence[int], room: float) -> float:
    """Pixels for one unit, so that rows and returns together fill the height and no box bursts."""
    per_row = [
        max(
            _sum(sides.get((node.key, edge), ()))
            for node in picture.nodes
            if node.row == row
            for edge in ("left", "right")
        )
        for row in rows
    ]
    back = [s for s in picture.streams if _is_back(picture, s)]
    total = sum(per_row) + _sum(back)
    gaps = (len(rows) - 1) * _row_gap(picture) + len(back) * LANE + len(rows) * INSIDE
    by_height = max(room - gaps, BOX_HEIGHT) / total if total else 1.0
    across = max(
        (
            _sum(sides.get((node.key, edge), ()))
            for node in picture.nodes
            for edge in ("top", "bottom")
        ),
        default=0.0,
    )
    by_width = (BOX_WIDTH - 12.0) / across if across else by_height
    return min(by_height, by_width)


def _row_gap(picture: FlowPicture) -> float:
    return 2.0 * LABEL if any(_is_down(picture, s) for s in picture.streams) else 1.5 * LABEL


def _boxes(
    picture: FlowPicture,
    sides: Sides,
    rows: Sequence[int],
    width: float,
    top: float,
    scale: float,
) -> dict[str, Box]:
    columns = sorted({node.column for node in picture.nodes})
    high = {node.key: _box_height(sides, node.key, scale) for node in picture.nodes}
    left = _side(picture, "left")
    room = max(width - left - _side(picture, "right") - BOX_WIDTH, 0.0)
    step = max(room / max(len(columns) - 1, 1), BOX_WIDTH + 72.0)
    found: dict[str, Box] = {}
    y = top
    for row in rows:
        inside = [node for node in picture.nodes if node.row == row]
        tall = max(high[node.key] for node in inside)
        for node in inside:
            x = left + columns.index(node.column) * step
            found[node.key] = Box(
                node, x, y + (tall - high[node.key]) / 2.0, BOX_WIDTH, high[node.key]
            )
        y += tall + _row_gap(picture)
    return found


def _box_height(sides: Sides, key: str, scale: float) -> float:
    edges: tuple[Edge, Edge] = ("left", "right")
    widest = max(sum(_width(s.amount, scale) for s in sides.get((key, edge), ())) for edge in edges)
    return max(BOX_HEIGHT, widest + INSIDE)


# -- bands ----------------------------------------------------------------------------------


def _band(picture: FlowPicture, stream: FlowStream, ports: Ports, wide: float) -> Band:
    if stream.source is None or stream.target is None:
        return _stub(stream, ports, wide)
    return _across(picture, stream, ports, wide)


def _ports(sides: Sides, boxes: dict[str, Box], scale: float) -> Ports:
    """Where each stream meets its boxes, stacked along the side with the stack in its middle."""
    found: Ports = {}
    for (key, edge), streams in sides.items():
        box = boxes[key]
        widths = [_width(s.amount, scale) for s in streams]
        along = box.height if edge in {"left", "right"} else box.width
        # Bands that are hairlines spread out; wide ones lie close together.
        gap = min(14.0, max(0.0, (along - 12.0 - sum(widths)) / max(len(widths), 1)))
        at = (along - sum(widths) - gap * (len(widths) - 1)) / 2.0
        for stream, wide in zip(streams, widths, strict=True):
            middle = at + wide / 2.0
            found[stream.key, key, edge] = _on_side(box, edge, middle)
            at += wide + gap
    return found


def _on_side(box: Box, edge: Edge, along: float) -> XY:
    if edge == "left":
        return box.x, box.y + along
    if edge == "right":
        return box.x + box.width, box.y + along
    return box.x + along, box.y if edge == "top" else box.y + box.height


def _stub(stream: FlowStream, ports: Ports, wide: float) -> Band:
    """A short straight band between a box and the outside."""
    key = stream.target if stream.source is None else stream.source
    assert key is not None
    x, y = ports[stream.key, key, stream.edge]
    away = {"left": (-STUB, 0.0), "right": (STUB, 0.0), "top": (0.0, -STUB), "bottom": (0.0, STUB)}
    dx, dy = away[stream.edge]
    out = (x + dx, y + dy)
    points = (out, (x, y)) if stream.source is None else ((x, y), out)
    is_beside = stream.edge in {"left", "right"}
    further = 6.0 if is_beside else LABEL / 2.0 + 2.0
    sign_x, sign_y = (dx > 0) - (dx < 0), (dy > 0) - (dy < 0)
    label = (out[0] + sign_x * further, out[1] + sign_y * further)
    return Band(stream, points, wide, label, is_curve=False, is_beside=is_beside)


def _across(picture: FlowPicture, stream: FlowStream, ports: Ports, wide: float) -> Band:
    assert stream.source is not None
    assert stream.target is not None
    (_, first), (_, last) = _ends(picture, stream)
    x1, y1 = ports[stream.key, stream.source, first]
    x2, y2 = ports[stream.key, stream.target, last]
    if first == "bottom":
        middle = (y1 + y2) / 2.0
        points = ((x1, y1), (x1, middle), (x2, middle), (x2, y2))
    else:
        # Over several columns a band stays in its own row as long as it can.
        bend = 0.5 if x2 - x1 < 2.5 * BOX_WIDTH else 0.85
        middle = x1 + bend * (x2 - x1)
        points = ((x1, y1), (middle, y1), (middle, y2), (x2, y2))
    return Band(stream, points, wide, ((x1 + x2) / 2.0, (y1 + y2) / 2.0), is_curve=True)


def _return(
    picture: FlowPicture, stream: FlowStream, ports: Ports, wide: float, lane: float
) -> Band:
    (source, edge), (target, _) = _ends(picture, stream)
    x1, y1 = ports[stream.key, source, edge]
    x2, y2 = ports[stream.key, target, edge]
    points = ((x1, y1), (x1, lane), (x2, lane), (x2, y2))
    return Band(stream, points, wide, ((x1 + x2) / 2.0, lane), is_curve=False)


# -- geometry -------------------------------------------------------------------------------


def _on_curve(a: XY, b: XY, c: XY, d: XY, t: float) -> XY:
    s = 1.0 - t
    weights = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
    x = sum(w * p[0] for w, p in zip(weights, (a, b, c, d), strict=True))
    y = sum(w * p[1] for w, p in zip(weights, (a, b, c, d), strict=True))
    return x, y


def _pairs(points: Sequence[XY]) -> Iterable[tuple[XY, XY]]:
    return pairwise(points)


def _distance(point: XY, a: XY, b: XY) -> float:
    """From a point to the piece of a line between two others."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = dx * dx + dy * dy
    share = 0.0
    if length:
        share = ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / length
        share = min(max(share, 0.0), 1.0)
    x, y = a[0] + share * dx - point[0], a[1] + share * dy - point[1]
    return float((x * x + y * y) ** 0.5)
