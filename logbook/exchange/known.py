"""What a book says about the rows of a file, asked for once and not row by row."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from math import isfinite

from logbook.plant.model import NORMAL_MODE, Plant, Point
from logbook.record import Book
from logbook.shift.plants import PlantHistory

BACK = timedelta(days=31)
"""How far before the file's first reading the count before it is looked for."""
MOMENT = timedelta(seconds=1)


class Known:
    """Plants, modes and readings of a book; `look_up` reads what bears on a file."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self.now = book.now()
        self._plants = PlantHistory(book)
        self._points: dict[int, dict[str, Point]] = {}
        self._modes: list[tuple[datetime, str]] = []
        self._taken: set[tuple[str, int]] = set()
        self._values: dict[str, list[tuple[float, float]]] = {}
        self._look_up_modes()

    def plant_at(self, at: datetime) -> Plant:
        """The plant as defined at an instant."""
        return self._plants.at(at)

    def points_of(self, plant: Plant) -> Mapping[str, Point]:
        """The points of a plant by key."""
        found = self._points.get(id(plant))
        if found is None:
            found = self._points[id(plant)] = {point.key: point for point in plant.points}
        return found

    def mode_at(self, at: datetime) -> str:
        """The operating mode at an instant."""
        place = bisect_left(self._modes, (at + MOMENT, "")) - 1
        return self._modes[place][1] if place >= 0 else NORMAL_MODE

    def look_up(self, places: Iterable[tuple[str, datetime]]) -> None:
        """Read the readings of these points around these times. Raises BookError."""
        wanted = list(places)
        if not wanted:
            return
        times = [at for _, at in wanted]
        keys = sorted({key for key, _ in wanted})
        found = self._book.series(keys, min(times) - BACK, max(times) + MOMENT)
        for key, series in found.items():
            self._taken |= {(key, int(at)) for at in series.taken_at}
            pairs = zip(series.taken_at.tolist(), series.value.tolist(), strict=True)
            self._values[key] = [(at, value) for at, value in pairs if isfinite(value)]

    def is_taken(self, point: str, at: datetime) -> bool:
        """True where the book holds a reading of the point at an instant."""
        return (point, int(at.timestamp())) in self._taken

    def last(self, point: str, at: datetime) -> float | None:
        """The last number before an instant, of the book or remembered; None without one."""
        values = self._values.get(point, [])
        place = bisect_left(values, (at.timestamp(), float("-inf"))) - 1
        return values[place][1] if place >= 0 else None

    def remember(self, point: str, at: datetime, value: float) -> None:
        """Take a number of the file for one that `last` may give."""
        insort(self._values.setdefault(point, []), (at.timestamp(), value))

    def _look_up_modes(self) -> None:
        start = datetime(1970, 1, 1, tzinfo=self.now.tzinfo)
        changes = self._book.modes(start, self.now + MOMENT)
        self._modes = [(change.at, change.mode) for change in changes]
