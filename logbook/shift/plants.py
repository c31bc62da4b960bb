"""The plant as it was defined at any instant, read from the book once for each definition."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from datetime import datetime

from logbook.plant.model import Plant, Point
from logbook.record import Reader, Reading


class PlantHistory:
    """Asks the book for a plant only where its definitions differ from those it has."""

    def __init__(self, book: Reader) -> None:
        self._book = book
        self._mark: tuple[int, int] | None = None
        self._starts: list[datetime] = []
        self._known: dict[int, Plant] = {}
        self._points: dict[int, dict[str, Point]] = {}
        self._at: datetime | None = None
        self._points_then: Mapping[str, Point] = {}
        self.refresh()

    def beside(self, book: Reader) -> PlantHistory:
        """The same for another thread and its reader, with what is known so far."""
        made = PlantHistory(book)
        if made._mark == self._mark:
            made._known = dict(self._known)
        return made

    def refresh(self) -> None:
        """Look whether the plant was revised meanwhile. Raises BookError."""
        mark = self._book.definition_mark()
        if mark != self._mark:
            self._mark, self._known, self._points, self._at = mark, {}, {}, None
            self._starts = self._book.definition_starts()

    def at(self, instant: datetime) -> Plant:
        """The plant in force at an instant. Raises BookError where the book cannot be read."""
        place = bisect_right(self._starts, instant)
        if place not in self._known:
            self._known[place] = self._book.plant_at(instant)
        return self._known[place]

    def point_of(self, reading: Reading) -> Point | None:
        """The point of a reading as defined when it was taken; None where it was not then."""
        at = reading.taken_at
        if at is not self._at:  # the readings of a round come together
            self._at, self._points_then = at, self.points_at(at)
        return self._points_then.get(reading.point)

    def points_at(self, instant: datetime) -> Mapping[str, Point]:
        """The points in force at an instant by key; the same object for the same definitions."""
        place = bisect_right(self._starts, instant)
        if place not in self._points:
            self._points[place] = {point.key: point for point in self.at(instant).points}
        return self._points[place]
