"""Entering the results of a sample that was taken earlier."""

from __future__ import annotations

from collections.abc import Mapping

from logbook.plant.model import NO_LIMITS, Limits, Point
from logbook.record import NewReading, Reader
from logbook.shift.answer import EMPTY, read_entry
from logbook.shift.answer import Entry as Typed
from logbook.shift.samples import WaitingSample


class SampleResults:
    """The results of one sample as they are typed, judged by the limits when it was taken."""

    def __init__(self, book: Reader, waiting: WaitingSample, *, decimal_comma: bool) -> None:
        """Results of `waiting`, none typed yet. Raises BookError."""
        self.sample = waiting.sample
        self.points = waiting.points
        self._comma = decimal_comma
        self._mode = book.mode_at(self.sample.taken_at)
        last = book.last_before([p.key for p in self.points], self.sample.taken_at)
        self._last = {key: reading.value for key, reading in last.items()}
        self._typed: dict[str, Typed] = {}

    def read(self, point: Point, text: str) -> Typed:
        """Read and judge what is typed; the same implausible text twice is meant."""
        before = self._typed.get(point.key, EMPTY)
        is_again = before.question is not None and before.question.can_confirm
        confirmed = before.typed == text and (before.confirmed or is_again)
        base = Typed(typed=text, confirmed=confirmed)
        found = read_entry(
            point,
            self._limits(point),
            text,
            base,
            last=self._last.get(point.key),
            decimal_comma=self._comma,
        )
        self._typed[point.key] = found
        return found

    def fault(self, texts: Mapping[str, str]) -> str:
        """What stands in the way of writing these texts, by point key; empty: nothing."""
        if not any(text.strip() for text in texts.values()):
            return "Type at least one result."
        for point in self.points:
            found = self.read(point, texts.get(point.key, ""))
            if found.question is not None:
                return f"{point.name}: {found.question.sentence}"
        return ""

    def rows(self) -> list[NewReading]:
        """The readings to write: those results that are there, as of when it was taken."""
        return [
            NewReading(
                point=point.key,
                taken_at=self.sample.taken_at,
                value=found.value,
                text=found.text,
                typed=found.typed.strip(),
                mode=self._mode,
                sample=self.sample.id,
            )
            for point in self.points
            if (found := self._typed.get(point.key, EMPTY)).is_taken
        ]

    def _limits(self, point: Point) -> Limits:
        silent = self._mode in point.silent_modes
        return NO_LIMITS if silent else point.limits_in(self._mode)
