"""What the book adds to frozen readings in print: limits edge by edge, lines, times, tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from logbook.plant.localtime import local_label
from logbook.plant.model import Plant, Point
from logbook.record import Reader
from logbook.report.parts import Content
from logbook.report.readings import Extras, PointExtra
from logbook.report.sparks import spark_of
from logbook.shift.trend_load import load_trends
from logbook.shift.trends import Trend
from logbook.shift.words import number_text

SPARK_BACK = timedelta(days=3)
"""How much of the past a line shows before the end of the shift."""
MOMENT = timedelta(seconds=1)
EDGES = ("action_low", "warning_low", "target", "warning_high", "action_high")


def extras_of(book: Reader, content: Content) -> Extras:
    """All of it for the shift that `content` is about. Raises BookError.

    Times and limits are what they were; the lines show the readings as the book now has them.
    """
    start = datetime.fromisoformat(content["shift"]["start"]["iso"])
    until = datetime.fromisoformat(content["until"]["iso"])
    end = until + MOMENT
    plant = book.plant_at(until - MOMENT)
    numeric = [point for point in plant.points if point.kind.is_numeric]
    trends = load_trends(book, plant, numeric, end - SPARK_BACK, end)
    mode = content["mode"]["key"]
    return Extras(
        points={p.key: _extra(plant, p, trends, mode) for p in plant.points},
        times=dict(_times(book, plant, start, end)),
        days=SPARK_BACK.days,
        areas_of={one.name: one.area for one in plant.equipment}
        | {area.name: area.key for area in plant.areas},
    )


def edge_texts(point: Point, mode: str, *, decimal_comma: bool) -> tuple[str, ...]:
    """Low action, low warning, target, high warning, high action; "" where there is none."""
    if not point.kind.is_numeric:
        return ()
    limits = point.limits_in(mode)
    edges = (getattr(limits, name) for name in EDGES)
    return tuple(
        "" if edge is None else number_text(point, edge, decimal_comma=decimal_comma)
        for edge in edges
    )


def _extra(plant: Plant, point: Point, trends: Mapping[str, Trend], mode: str) -> PointExtra:
    trend = trends.get(point.key)
    edges = edge_texts(point, mode, decimal_comma=plant.settings.decimal_comma)
    spark = spark_of(trend) if trend is not None else None
    table = next((t for t in plant.tables if point.place and t.key == point.place.table), None)
    if table is None or point.place is None:
        return PointExtra(edges, spark)
    rows = {row.key: row.name for row in table.rows}
    columns = {column.key: column.name for column in table.columns}
    return PointExtra(
        edges,
        spark,
        table=table.key,
        table_name=table.name,
        row_name=rows.get(point.place.row, point.place.row),
        column_name=columns.get(point.place.column, point.place.column),
    )


def _times(book: Reader, plant: Plant, start: datetime, end: datetime) -> Iterator[tuple[int, str]]:
    for reading in book.readings(None, start, end):
        if reading.round_at != reading.taken_at:
            yield reading.id, local_label(reading.taken_at, plant.time_zone)
