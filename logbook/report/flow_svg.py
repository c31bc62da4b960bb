"""A flow picture as SVG, for paper: the same boxes and bands as on the screen, in grey.

Text goes through XML escaping and never becomes markup. A suspect stream is told by its hatching
and by a mark, so that a black and white printer shows it too.
"""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from logbook.report.flow_labels import PAD, Label, place_labels
from logbook.report.flow_layout import XY, Band, Box, FlowLayout

FONT = "Inter"
CORNER = 9.0
LINE = 14.0
"""Height of a line of a label."""


def flow_svg(layout: FlowLayout) -> str:
    """Draw a layout as an SVG document of its own size."""
    size = f'width="{layout.width:.0f}" height="{layout.height:.0f}"'
    view = f'viewBox="0 0 {layout.width:.0f} {layout.height:.0f}"'
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view}>', _HATCH]
    parts += [_band(band) for band in layout.bands]
    parts += [_box(box) for box in layout.boxes]
    parts += [_label(label) for label in place_labels(layout, _measure, LINE)]
    return "".join([*parts, "</svg>"])


_HATCH = (
    '<defs><pattern id="doubt" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="5" height="5" fill="#ffffff"/>'
    '<rect width="2" height="5" fill="#555555"/></pattern></defs>'
)


def _xy(point: XY) -> str:
    return f"{point[0]:.1f} {point[1]:.1f}"


def _path(band: Band) -> str:
    points = band.points
    if band.is_curve:
        return f"M{_xy(points[0])}C{_xy(points[1])} {_xy(points[2])} {_xy(points[3])}"
    made = f"M{_xy(points[0])}"
    radius = max(CORNER, band.width / 2.0 + CORNER)
    for before, corner, after in zip(points, points[1:], points[2:], strict=False):
        made += f"L{_xy(_towards(corner, before, radius))}"
        made += f"Q{_xy(corner)} {_xy(_towards(corner, after, radius))}"
    return made + f"L{_xy(points[-1])}"


def _towards(start: XY, end: XY, distance: float) -> XY:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = max((dx * dx + dy * dy) ** 0.5, 1e-6)
    share = min(distance / length, 0.5)
    return start[0] + dx * share, start[1] + dy * share


def _band(band: Band) -> str:
    path, mark = quoteattr(_path(band)), band.stream.mark
    if mark == "unknown":
        return f'<path d={path} fill="none" stroke="#777777" stroke-dasharray="4 3"/>'
    edge = "#111111" if mark == "suspect" else "#888888"
    fill = "url(#doubt)" if mark == "suspect" else "#dddddd"
    outer = f'<path d={path} fill="none" stroke="{edge}" stroke-width="{band.width + 1.2:.1f}"/>'
    inner = f'<path d={path} fill="none" stroke="{fill}" stroke-width="{band.width:.1f}"/>'
    return outer + inner + _arrow(band)


def _arrow(band: Band) -> str:
    trace = band.trace()
    (x, y), (bx, by) = trace[-1], trace[-2]
    length = max(((x - bx) ** 2 + (y - by) ** 2) ** 0.5, 1e-6)
    ux, uy = (x - bx) / length, (y - by) / length
    half = min(max(band.width / 2.0, 4.0), 9.0)
    foot = (x - ux * half * 1.4, y - uy * half * 1.4)
    left = (foot[0] - uy * half, foot[1] + ux * half)
    right = (foot[0] + uy * half, foot[1] - ux * half)
    return f'<path d="M{_xy((x, y))}L{_xy(left)}L{_xy(right)}Z" fill="#666666"/>'


def _box(box: Box) -> str:
    rect = (
        f'<rect x="{box.x:.1f}" y="{box.y:.1f}" width="{box.width:.1f}" '
        f'height="{box.height:.1f}" rx="4" fill="#ffffff" stroke="#555555"/>'
    )
    lines = wrapped(box.node.name)
    first = box.y + box.height / 2.0 - (len(lines) - 1) * 7.5 + 4.5
    middle = box.x + box.width / 2.0
    return rect + "".join(
        _text(middle, first + 15.0 * number, line, "middle", 12.5)
        for number, line in enumerate(lines)
    )


def wrapped(name: str, width: int = 16) -> list[str]:
    """A name in lines of at most about `width` characters, broken at blanks and hyphens.

    >>> wrapped("Desolventizer-toaster")
    ['Desolventizer-', 'toaster']
    """
    lines: list[str] = []
    for word in name.replace("-", "- ").split():
        gap = "" if lines and lines[-1].endswith("-") else " "
        if lines and len(lines[-1]) + len(gap) + len(word) <= width:
            lines[-1] += gap + word
        else:
            lines.append(word)
    return lines


def _measure(text: str, part: str) -> float:
    """Width of a text, a little more than Inter takes for most words."""
    return len(text) * (7.2 if part == "amount" else 5.9)


def _label(label: Label) -> str:
    stream = label.band.stream
    x, anchor = label.x + label.width / 2.0, "middle"
    if label.band.is_beside:
        is_left = stream.edge == "left"
        anchor = "end" if is_left else "start"
        x = label.x + (label.width - PAD if is_left else PAD)
    name = _text(x, label.y + PAD + 11.0, label.name, anchor, 10.5, halo=True)
    amount = label.y + PAD + LINE + 11.5
    return name + _text(x, amount, label.amount, anchor, 12.0, weight="600", halo=True)


def _text(
    x: float,
    y: float,
    text: str,
    anchor: str,
    size: float,
    *,
    weight: str = "400",
    halo: bool = False,
) -> str:
    shared = (
        f'x="{x:.1f}" y="{y:.1f}" font-family="{FONT}" font-size="{size}" '
        f'font-weight="{weight}" text-anchor="{anchor}"'
    )
    words = escape(text)
    under = f'<text {shared} fill="none" stroke="#ffffff" stroke-width="4">{words}</text>'
    return (under if halo else "") + f'<text {shared} fill="#111111">{words}</text>'
