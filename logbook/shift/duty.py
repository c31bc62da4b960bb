"""Whether a point is on duty at an instant: what was down, and which mode the plant was in."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from logbook.plant.model import NORMAL_MODE, Plant, Point, PointKind
from logbook.record import Down, Reader
from logbook.shift.standing import standing_spans


@dataclass(frozen=True, slots=True)
class Duty:
    """Down times and modes of a stretch of time."""

    down: Mapping[tuple[str, str], Sequence[Down]]
    mode_from: tuple[datetime, ...]
    modes: tuple[str, ...]
    mode_names: Mapping[str, str]
    standing: Mapping[str, Sequence[Down]] = field(default_factory=dict)
    """By equipment key, when its state was read as not running."""

    @classmethod
    def of(cls, book: Reader, plant: Plant, start: datetime, end: datetime) -> Duty:
        """Read from the book what bears on [start, end)."""
        down: dict[tuple[str, str], list[Down]] = {}
        for interval in book.down_intervals(start, end):
            down.setdefault((interval.scope, interval.target), []).append(interval)
        changes = book.modes(start, end)
        names = {mode.key: mode.name for mode in plant.modes}
        standing = standing_spans(book, plant, start, end)
        since, modes = tuple(c.at for c in changes), tuple(c.mode for c in changes)
        return cls(down, since, modes, names, standing)

    def mode_at(self, at: datetime) -> str:
        """The operating mode at an instant."""
        place = bisect_right(self.mode_from, at) - 1
        return self.modes[place] if place >= 0 else NORMAL_MODE

    def why_not(self, point: Point, at: datetime) -> str:
        """Why the point is neither due nor judged at `at`, in words; empty where it is."""
        if self.down:  # asked for every cell of a grid, and mostly nothing is
            if self._is_down("plant", "", at):
                return "plant down"
            if self._is_down("area", point.area, at):
                return "area down"
            if point.equipment and self._is_down("equipment", point.equipment, at):
                return "machine down"
        mode = self.mode_at(at)
        if mode in point.silent_modes:
            return f"not in {self.mode_names.get(mode, mode).lower()}"
        return next((span.reason for span in self._standing(point) if _covers(span, at)), "")

    @property
    def knows_off_times(self) -> bool:
        """False where no point can have any: nothing was down, and no mode was entered."""
        return bool(self.down or self.mode_from or any(self.standing.values()))

    def off_times(self, point: Point) -> list[tuple[datetime, datetime | None]]:
        """Stretches in which the point was neither due nor judged; None: it lasts."""
        scopes = [self._of_scope("plant", ""), self._of_scope("area", point.area)]
        if point.equipment:
            scopes.append(self._of_scope("equipment", point.equipment))
        scopes.append(self._standing(point))
        found = [(i.start, i.end) for group in scopes for i in group]
        stops: list[datetime | None] = [*self.mode_from[1:], None]
        silent = zip(self.mode_from, stops, self.modes, strict=False)
        return found + [(a, b) for a, b, mode in silent if mode in point.silent_modes]

    def _of_scope(self, scope: str, target: str) -> Sequence[Down]:
        if scope == "plant":
            return [i for (s, _), group in self.down.items() if s == scope for i in group]
        return self.down.get((scope, target), ())

    def _standing(self, point: Point) -> Sequence[Down]:
        """A standing machine is not read, but its state still is."""
        if point.equipment is None or point.kind is PointKind.STATE:
            return ()
        return self.standing.get(point.equipment, ())

    def _is_down(self, scope: str, target: str, at: datetime) -> bool:
        return any(_covers(span, at) for span in self._of_scope(scope, target))


def _covers(span: Down, at: datetime) -> bool:
    return span.start <= at and (span.end is None or at < span.end)
