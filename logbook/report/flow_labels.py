"""Where the labels of a flow picture stand: at their band, moved off boxes and other labels."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from logbook.report.flow_layout import Band, FlowLayout

PAD = 3.0
"""Room around the words of a label."""

Measure = Callable[[str, str], float]
"""Width of a text, and which it is: "name" or "amount"."""


@dataclass(frozen=True, slots=True)
class Label:
    """Name and amount of a band, and the rectangle that holds them."""

    band: Band
    name: str
    amount: str
    x: float
    y: float
    width: float
    height: float

    def moved(self, by: float) -> Label:
        """Return the label higher or lower by that much."""
        return Label(
            self.band, self.name, self.amount, self.x, self.y + by, self.width, self.height
        )

    def meets(self, other: tuple[float, float, float, float]) -> bool:
        """Whether it lies over a rectangle (x, y, width, height)."""
        x, y, width, height = other
        return (
            self.x < x + width
            and x < self.x + self.width
            and self.y < y + height
            and y < self.y + self.height
        )

    @property
    def rectangle(self) -> tuple[float, float, float, float]:
        """x, y, width and height."""
        return self.x, self.y, self.width, self.height


def label_words(band: Band) -> tuple[str, str]:
    """What stands at a band: the name, and the amount with a mark where it is in doubt."""
    stream = band.stream
    amount = stream.label or ("not known" if stream.amount is None else f"{stream.amount:g}")
    return stream.name, f"◆ {amount}" if stream.mark == "suspect" else amount


def place_labels(layout: FlowLayout, measure: Measure, line: float) -> tuple[Label, ...]:
    """Place all labels, of two lines each `line` high; those that can move least come first.

    A label goes straight up or down from its band to the nearest place where it covers no box and
    no other label; where there is none it stays at its band.
    """
    blocked = [(box.x, box.y, box.width, box.height) for box in layout.boxes]
    found: list[Label] = []
    for band in sorted(layout.bands, key=_freedom):
        label = _free(_wanted(band, measure, line), blocked)
        blocked.append(label.rectangle)
        found.append(label)
    return tuple(found)


def _freedom(band: Band) -> tuple[bool, float]:
    stream = band.stream
    return (stream.source is not None and stream.target is not None, -band.width)


def _wanted(band: Band, measure: Measure, line: float) -> Label:
    name, amount = label_words(band)
    width = max(measure(name, "name"), measure(amount, "amount")) + 2 * PAD + 2.0
    height = 2 * line + 2 * PAD
    x, y = band.label
    left = x - width / 2.0
    if band.is_beside:
        left = x - width if band.stream.edge == "left" else x
    return Label(band, name, amount, left, y - height / 2.0, width, height)


def _free(label: Label, blocked: Sequence[tuple[float, float, float, float]]) -> Label:
    for shift in _shifts():
        moved = label.moved(shift)
        if not any(moved.meets(other) for other in blocked):
            return moved
    return label


def _shifts() -> Iterable[float]:
    yield 0.0
    for step in range(1, 40):
        yield -4.0 * step
        yield 4.0 * step
