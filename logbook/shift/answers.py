"""States and checks of a shift whose answers are not normal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from logbook.assess.limits import Judgement
from logbook.plant.model import Point
from logbook.record import Reader, Reading
from logbook.shift.duty import Duty
from logbook.shift.plants import PlantHistory
from logbook.shift.round_load import judge_reading


@dataclass(frozen=True, slots=True)
class AnswerFound:
    """A state or check that is not normal: the first of readings in a row that say so."""

    point: Point
    reading: Reading
    judgement: Judgement
    count: int = 1
    responses: tuple[str, ...] = ()


def answers_in(
    book: Reader,
    plants: PlantHistory,
    readings: Iterable[Reading],
    start: datetime,
    end: datetime,
    duty: Duty | None = None,
) -> tuple[AnswerFound, ...]:
    """The answers that are not normal among `readings` of [start, end), worst first.

    The same answer in rounds that follow one another is one. Nothing is judged while the area
    or the machine was down: `duty`, which is read where it is not given.
    """
    duty = duty or Duty.of(book, plants.at(start), start, end)
    by_point: dict[str, list[Reading]] = {}
    for reading in readings:
        if reading.text is not None:
            by_point.setdefault(reading.point, []).append(reading)
    found = [
        _found(book, point, row, judgement)
        for own in by_point.values()
        for point, row, judgement in _rows(plants, duty, own)
        if judgement.is_out
    ]
    return tuple(sorted(found, key=lambda a: (-a.judgement.severity, a.reading.taken_at)))


def _rows(
    plants: PlantHistory, duty: Duty, readings: Iterable[Reading]
) -> list[tuple[Point, list[Reading], Judgement]]:
    """Readings of one point in rows of the same answer."""
    rows: list[tuple[Point, list[Reading], Judgement]] = []
    for reading in readings:
        point = plants.point_of(reading)
        if point is None or duty.why_not(point, reading.taken_at):
            continue
        if rows and rows[-1][1][-1].text == reading.text:
            rows[-1][1].append(reading)
        else:
            rows.append((point, [reading], judge_reading(point, reading.mode, reading)))
    return rows


def _found(book: Reader, point: Point, row: list[Reading], judgement: Judgement) -> AnswerFound:
    told = book.responses(reading.id for reading in row)
    texts = tuple(r.text for reading in row for r in told.get(reading.id, ()))
    return AnswerFound(point, row[0], judgement, len(row), texts)
