"""Histories of points out of the book: values, codes by the limits then in force, bands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from logbook.assess.computed import (
    counter_rates,
    evaluate_array,
    per_tonne,
    round_array_for_judging,
)
from logbook.assess.limits import NOT_JUDGED_CODE, LimitHistory, LimitSet, classify_array
from logbook.plant.model import NORMAL_MODE, Computation, Plant, Point
from logbook.record import Lines, Reader
from logbook.shift.trends import Band, Trend, bands_of

Times = NDArray[np.int64]
Values = NDArray[np.float64]
Codes = NDArray[np.int8]
Line = tuple[Times, Values]
NO_TIMES: Times = np.empty(0, dtype=np.int64)
NO_VALUES: Values = np.empty(0, dtype=np.float64)


def load_trends(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> dict[str, Trend]:
    """The trend of each numeric point over [start, end); computed points are worked out.

    Raises BookError where the book cannot be read.
    """
    lines = load_lines(book, plant, points, start, end)
    histories = limit_histories(book, [point.key for point in points])
    changes = [(change.at, change.mode) for change in book.modes(start, end)]
    return {
        point.key: trend_of(lines[point.key], histories[point.key], changes, start, end)
        for point in points
    }


def load_lines(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> dict[str, Line]:
    """Times (epoch s) and values of each point over [start, end), without missing readings."""
    by_key = {point.key: point for point in plant.points}
    needed = _with_inputs([point.key for point in points], by_key)
    found = _numbers(book, [key for key in needed if by_key[key].kind.is_typed], start, end)
    lines: dict[str, Line] = {
        key: (found.taken_at[low:high], found.value[low:high])
        for key, (low, high) in zip(found.keys, pairwise(found.edges.tolist()), strict=True)
    }
    for key in needed:
        if key not in lines:
            lines[key] = _computed(by_key[key], by_key, lines)
    return lines


def load_end_to_end(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> Lines:
    """`load_lines` of points end to end, in the order of the points."""
    keys = [point.key for point in points]
    if all(point.kind.is_typed for point in points):
        return _numbers(book, keys, start, end)
    lines = load_lines(book, plant, points, start, end)
    times, values = zip(*(lines[key] for key in keys), strict=True)
    edges = np.concatenate(([0], np.cumsum([one.size for one in times], dtype=np.intp)))
    return Lines(tuple(keys), edges, np.concatenate(times), np.concatenate(values))


def _numbers(book: Reader, keys: Sequence[str], start: datetime, end: datetime) -> Lines:
    """Finite numbers of typed points."""
    found = book.lines(keys, start, end)
    held = np.isfinite(found.value)
    if held.all():
        return found
    edges = np.append(0, np.cumsum(held))[found.edges]
    return Lines(found.keys, edges, found.taken_at[held], found.value[held])


def _with_inputs(keys: Sequence[str], by_key: Mapping[str, Point]) -> list[str]:
    """`keys` and all they are computed from, inputs before what needs them."""
    order: dict[str, None] = {}

    def visit(key: str) -> None:
        formula = by_key[key].formula
        for name in formula.inputs if formula and key not in order else ():
            visit(name)
        order.setdefault(key)

    for key in keys:
        visit(key)
    return list(order)


def _computed(point: Point, by_key: Mapping[str, Point], lines: Mapping[str, Line]) -> Line:
    formula = point.formula
    if formula is None:
        return NO_TIMES, NO_VALUES
    times, table = _aligned([lines[name] for name in formula.inputs])
    rollovers = [by_key[name].rollover for name in formula.inputs]
    if formula.computation is Computation.RATE:
        values = counter_rates(times, table[0], rollovers[0])
    elif formula.computation is Computation.PER_TONNE:
        values = per_tonne(table[0], table[1], rollovers[0], rollovers[1])
    else:
        values = evaluate_array(formula.computation, table)
    held = np.isfinite(values)
    return times[held], round_array_for_judging(values[held], point.decimals)


def _aligned(lines: Sequence[Line]) -> tuple[Times, list[Values]]:
    """The lines on their common times; NaN where one has no reading."""
    if all(line[0].size == lines[0][0].size and (line[0] == lines[0][0]).all() for line in lines):
        return lines[0][0], [line[1] for line in lines]
    times = np.unique(np.concatenate([line[0] for line in lines]))
    table = []
    for at, value in lines:
        row = np.full(times.size, np.nan)
        row[np.searchsorted(times, at)] = value
        table.append(row)
    return times, table


def limit_histories(book: Reader, keys: Sequence[str]) -> dict[str, LimitHistory]:
    """Each point's limits over time, ready to judge with."""
    return {key: LimitHistory(found) for key, found in limit_sets(book, keys).items()}


def limit_sets(book: Reader, keys: Sequence[str]) -> dict[str, list[LimitSet]]:
    """Each point's limits over time, by mode and the instant they took effect."""
    sets: dict[str, list[LimitSet]] = {key: [] for key in keys}
    for row in book.limit_history(keys):
        sets[row.point].append(LimitSet(row.mode, row.effective_from, row.limits))
    return sets


def trend_of(
    line: Line,
    history: LimitHistory,
    changes: Sequence[tuple[datetime, str]],
    start: datetime,
    end: datetime,
) -> Trend:
    """Judge a line by the limits in force at each reading and cut the limits into bands."""
    times, values = line
    first, last = start.timestamp(), end.timestamp()
    moments = {start} | {one.effective_from for one in history.sets if start < one.effective_from}
    moments |= {at for at, _ in changes if start < at}
    steps = [(at.timestamp(), history.at(at, _mode_at(changes, at))) for at in sorted(moments)]
    merged = [step for k, step in enumerate(steps) if k == 0 or step[1] != steps[k - 1][1]]
    bands = bands_of(merged, first, last)
    return Trend(first, last, times, values, _judged(times, values, bands), bands)


def _judged(times: Times, values: Values, bands: Sequence[Band]) -> Codes:
    """Codes of readings by the band that each lies in: much less to do than limits for each."""
    codes = np.full(times.shape, NOT_JUDGED_CODE, dtype=np.int8)
    edges = np.searchsorted(times, [band.start for band in bands], side="left").tolist()
    for band, first, after in zip(bands, edges, [*edges[1:], times.size], strict=True):
        if after > first:
            codes[first:after] = classify_array(values[first:after], band.limits)
    return codes


def _mode_at(changes: Sequence[tuple[datetime, str]], at: datetime) -> str:
    return next((mode for since, mode in reversed(changes) if since <= at), NORMAL_MODE)
