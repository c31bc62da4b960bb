"""Time that does not count for a point: what it belongs to stood, or a mode in which it is silent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from logbook.plant.model import Plant, Point
from logbook.record import Reader
from logbook.shift.account_cut import OnTime
from logbook.shift.downtime import line_areas

Span = tuple[float, float]


@dataclass(slots=True)
class OffTimes:
    """Stops and modes of a stretch of time, epoch seconds."""

    down: Mapping[tuple[str, str], Sequence[Span]]
    """(scope, target) to spans in which it stood."""
    modes: Mapping[str, Sequence[Span]]
    """Mode to spans in which it was in force."""
    line: OnTime
    """Time in which neither the plant nor an area that the beans pass stood."""
    steady: OnTime
    """The same less the modes in which some points are silent, such as start-up and shut-down."""
    _known: dict[tuple[object, ...], OnTime] = field(default_factory=dict)

    @classmethod
    def of(cls, book: Reader, plant: Plant, start: datetime, end: datetime) -> OffTimes:
        """Read the stops and modes of [start, end). Raises BookError."""
        down: dict[tuple[str, str], list[Span]] = {}
        for one in book.down_intervals(start, end):
            until = min(one.end or end, end).timestamp()
            scope = (one.scope, one.target if one.scope != "plant" else "")
            down.setdefault(scope, []).append((one.start.timestamp(), until))
        areas = [("plant", ""), *(("area", area) for area in line_areas(plant))]
        stood = [span for key in areas for span in down.get(key, ())]
        modes = _mode_spans(book, start, end)
        passing = {mode for point in plant.points for mode in point.silent_modes}
        unsteady = [span for mode in passing for span in modes.get(mode, ())]
        return cls(down, modes, OnTime.without(stood), OnTime.without([*stood, *unsteady]))

    def of_point(self, point: Point, *, silent: bool) -> OnTime:
        """The time that counts for a point; `silent`: modes in which it is silent do not."""
        modes = point.silent_modes if silent else ()
        key = (point.area, point.equipment, modes)
        if key not in self._known:
            scopes = [("plant", ""), ("area", point.area), ("equipment", point.equipment or "")]
            spans = [span for scope in scopes for span in self.down.get(scope, ())]
            spans += [span for mode in modes for span in self.modes.get(mode, ())]
            self._known[key] = OnTime.without(spans)
        return self._known[key]


def _mode_spans(book: Reader, start: datetime, end: datetime) -> dict[str, list[Span]]:
    changes = book.modes(start, end)
    ends = [*(change.at for change in changes[1:]), end][: len(changes)]
    found: dict[str, list[Span]] = {}
    for change, until in zip(changes, ends, strict=True):
        found.setdefault(change.mode, []).append((change.at.timestamp(), until.timestamp()))
    return found
