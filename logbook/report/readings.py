"""The readings of a shift by area: single points as rows, repeated machines as tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from logbook.plant.model import NORMAL_MODE, Plant, Point, PointTable
from logbook.record import Reader
from logbook.report.cells import CellMaker, Row, edge_texts, worst_word
from logbook.report.glyphs import Json
from logbook.report.sparks import spark_of
from logbook.shift.exceptions import ShiftExceptions
from logbook.shift.trend_load import load_trends
from logbook.shift.trends import Trend
from logbook.shift.words import place_name

SPARK_BACK = timedelta(days=3)
"""How much of the past a line shows before the end of the shift."""
MOMENT = timedelta(seconds=1)
MOST_COLUMNS = 12
"""Rounds that stand side by side; more are printed as further rows of columns."""


def readings_part(
    book: Reader, found: ShiftExceptions, until: datetime, *, mode: str = NORMAL_MODE
) -> dict[str, Json]:
    """Every area with what was read in it, ready for the template. Raises BookError."""
    plant = found.plant
    numeric = [point for point in plant.points if point.kind.is_numeric]
    end = min(found.shift.end, until + MOMENT)
    trends = load_trends(book, plant, numeric, end - SPARK_BACK, end)
    maker = CellMaker(book, found, until, trends)
    rows = {point.key: maker.row(point) for point in plant.points}
    shown = _Shown(plant, rows, trends, mode)
    labels = maker.labels()
    return {
        "chunks": [
            {"from": first, "labels": labels[first : first + MOST_COLUMNS]}
            for first in range(0, len(labels), MOST_COLUMNS)
        ],
        "days": SPARK_BACK.days,
        "areas": [shown.area(area.key, area.name) for area in plant.areas],
    }


class _Shown:
    """Turns rows of cells into what the template draws."""

    def __init__(
        self, plant: Plant, rows: Mapping[str, Row], trends: Mapping[str, Trend], mode: str
    ) -> None:
        self.plant, self.rows, self.trends, self.mode = plant, rows, trends, mode
        self.tables = {table.key: table for table in plant.tables}

    def area(self, key: str, name: str) -> dict[str, Json]:
        points = list(self.plant.points_of(key))
        held = [point for point in points if not self.rows[point.key].is_empty]
        left = [place_name(self.plant, p) for p in points if self.rows[p.key].is_empty]
        return {"name": name, "blocks": list(self._blocks(held)), "left": left}

    def _blocks(self, points: Sequence[Point]) -> Iterable[Json]:
        """Tables of machines that stand together in `grid`, everything else row by row."""
        gridded = self._gridded(points)
        singles: list[Json] = []
        done: set[str] = set()
        for point in points:
            key = gridded.get(point.key)
            if key is None:
                singles.append(self._single(point))
            elif key not in done:
                if singles:
                    yield {"rows": singles}
                    singles = []
                done.add(key)
                members = [p for p in points if gridded.get(p.key) == key]
                yield self._grid(self.tables[key], members)
        if singles:
            yield {"rows": singles}

    def _gridded(self, points: Sequence[Point]) -> dict[str, str]:
        """By point the table it is shown in: columns with the same limits, read several times."""
        columns: dict[tuple[str, str], list[Point]] = {}
        for point in points:
            if point.place is not None and point.place.table in self.tables:
                columns.setdefault((point.place.table, point.place.column), []).append(point)
        found: dict[str, str] = {}
        for (table, _), column in columns.items():
            alike = len({(p.limits_in(self.mode), p.unit) for p in column}) == 1
            if alike and len(column) > 1 and any(self.rows[p.key].read_in > 1 for p in column):
                found |= {point.key: table for point in column}
        return found

    def _single(self, point: Point) -> Json:
        row = self.rows[point.key]
        return {
            "name": place_name(self.plant, point),
            "unit": point.unit,
            "limits": self._limits(point),
            **self._cells(row),
        }

    def _cells(self, row: Row) -> dict[str, Json]:
        trend = self.trends.get(row.point.key)
        return {
            "cells": [list(cell) for cell in row.cells],
            "spark": spark_of(trend) if trend is not None else None,
            "word": worst_word(row.judgements),
        }

    def _limits(self, point: Point) -> list[Json]:
        comma = self.plant.settings.decimal_comma
        return edge_texts(point, point.limits_in(self.mode), comma=comma)

    def _grid(self, table: PointTable, members: Sequence[Point]) -> Json:
        columns: list[Json] = []
        for column in table.columns:
            own = {p.place.row: p for p in members if p.place and p.place.column == column.key}
            if not own:
                continue
            first = next(iter(own.values()))
            rows: list[Json] = [
                {"name": head.name, **self._cells(self.rows[own[head.key].key])}
                for head in table.rows
                if head.key in own
            ]
            columns.append(
                {
                    "name": column.name,
                    "unit": first.unit,
                    "limits": self._limits(first),
                    "rows": rows,
                }
            )
        return {"table": table.name, "columns": columns}
