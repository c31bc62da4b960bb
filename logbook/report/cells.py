"""The readings of a shift in the columns of its rounds, as a report prints them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.limits import NOT_JUDGED, Judgement, judgement_of
from logbook.plant.localtime import local_label
from logbook.plant.model import Limits, Plant, Point
from logbook.plant.roster import Shift
from logbook.plant.rounds import rounds_of
from logbook.record import Reader, Reading
from logbook.report.glyphs import Json
from logbook.shift.duty import Duty
from logbook.shift.exceptions import ShiftExceptions
from logbook.shift.round_form import describe_reason
from logbook.shift.round_load import judge_reading
from logbook.shift.trends import Trend
from logbook.shift.words import answer_text, judgement_word, number_text

MOMENT = timedelta(seconds=1)
EDGES = ("action_low", "warning_low", "target", "warning_high", "action_high")


def mark_name(judgement: Judgement) -> str:
    """Name of the mark that a template draws: "warning-high", "action"; empty within limits."""
    return judgement_word(judgement).replace(" ", "-") if judgement.is_out else ""


def edge_texts(point: Point, limits: Limits, *, comma: bool) -> list[Json]:
    """Low action, low warning, target, high warning, high action; empty where there is none."""
    edges = [getattr(limits, name) for name in EDGES]
    if not point.kind.is_numeric:
        return []
    return [
        "" if edge is None else number_text(point, edge, decimal_comma=comma) for edge in edges
    ]


def worst_word(judgements: Iterable[Judgement]) -> str:
    """The worst of them in words, with how often it came: "warning high, 3 times"."""
    out = [judgement for judgement in judgements if judgement.is_out]
    if not out:
        return ""
    worst = max(out, key=lambda judgement: judgement.severity)
    count = sum(judgement.severity is worst.severity for judgement in out)
    return judgement_word(worst) + (f" ×{count}" if count > 1 else "")


@dataclass(frozen=True, slots=True)
class Row:
    """What a shift read of one point: cells by round, and the judgements in them."""

    point: Point
    cells: tuple[tuple[dict[str, Json], ...], ...]
    judgements: tuple[Judgement, ...]

    @property
    def is_empty(self) -> bool:
        """True where there is nothing to print."""
        return not any(self.cells)

    @property
    def read_in(self) -> int:
        """In how many rounds it was read."""
        return sum(bool(cell) for cell in self.cells)


class CellMaker:
    """Lays the readings of a shift into its rounds."""

    def __init__(
        self,
        book: Reader,
        found: ShiftExceptions,
        until: datetime,
        trends: Mapping[str, Trend],
    ) -> None:
        self.plant: Plant = found.plant
        self.shift: Shift = found.shift
        self.starts = [r.at for r in rounds_of(self.shift, self.plant.settings.round_hours)]
        self._end = min(self.shift.end, until + MOMENT)
        self._duty = Duty.of(book, self.plant, self.shift.start, self._end)
        self._trends = trends
        self._doubts = {doubt.reading.id for doubt in found.doubts}
        self._readings: dict[str, list[Reading]] = {}
        for reading in book.readings(None, self.shift.start, self._end):
            self._readings.setdefault(reading.point, []).append(reading)
        self._missing = {(g.point.key, g.round_at) for g in found.gaps if g.reason is None}

    def row(self, point: Point) -> Row:
        """The cells of one point."""
        cells: list[list[dict[str, Json]]] = [[] for _ in self.starts]
        judged: list[Judgement] = []
        for column, cell, judgement in self._entries(point):
            cells[column].append(cell)
            judged.append(judgement)
        for column, at in enumerate(self.starts):
            if (point.key, at) in self._missing and not cells[column]:
                cells[column].append({"text": "missing", "mark": "missing"})
        return Row(point, tuple(tuple(cell) for cell in cells), tuple(judged))

    def labels(self) -> list[Json]:
        """The rounds' times, as they head the columns."""
        return [self._clock(at) for at in self.starts]

    def _entries(self, point: Point) -> Iterable[tuple[int, dict[str, Json], Judgement]]:
        if not point.kind.is_typed:
            yield from self._computed(point)
            return
        for reading in self._readings.get(point.key, ()):
            yield self._column(reading.round_at or reading.taken_at), *self._cell(point, reading)

    def _computed(self, point: Point) -> Iterable[tuple[int, dict[str, Json], Judgement]]:
        trend = self._trends.get(point.key)
        first = self.shift.start.timestamp()
        for at, value, code in (
            zip(trend.taken_at.tolist(), trend.value.tolist(), trend.code.tolist(), strict=True)
            if trend is not None
            else ()
        ):
            instant = self.shift.start + timedelta(seconds=at - first)
            if first <= at and instant < self._end:
                off = self._duty.why_not(point, instant)
                judgement = NOT_JUDGED if off else judgement_of(code)
                text = number_text(point, value, decimal_comma=self._comma)
                cell: dict[str, Json] = {"text": text, "mark": mark_name(judgement)}
                yield self._column(instant), cell, judgement

    def _cell(self, point: Point, reading: Reading) -> tuple[dict[str, Json], Judgement]:
        if reading.reason is not None:
            return {"text": describe_reason(reading.reason), "mark": "missing"}, NOT_JUDGED
        off = self._duty.why_not(point, reading.taken_at)
        judgement = NOT_JUDGED if off else judge_reading(point, reading.mode, reading)
        text = answer_text(point, reading.value, reading.text, decimal_comma=self._comma)
        cell: dict[str, Json] = {"text": text, "mark": mark_name(judgement)}
        flags = [
            name
            for name, holds in (
                ("late", reading.late),
                ("corrected", reading.corrected),
                ("doubtful", reading.id in self._doubts),
            )
            if holds
        ]
        if flags:
            cell["flags"] = flags
        if reading.taken_at not in self.starts:
            cell["at"] = self._clock(reading.taken_at)
        return cell, judgement

    @property
    def _comma(self) -> bool:
        return self.plant.settings.decimal_comma

    def _column(self, at: datetime) -> int:
        return max(0, bisect_right(self.starts, at) - 1)

    def _clock(self, at: datetime) -> str:
        return local_label(at, self.plant.time_zone)
