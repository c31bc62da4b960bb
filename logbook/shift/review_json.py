"""The readings of a shift by area and round, as plain data."""

from __future__ import annotations

from logbook.shift.json_words import Json, JsonWords
from logbook.shift.review import ReviewGrid
from logbook.shift.review_cells import LEGEND, Cell, CellState, ReviewRow
from logbook.shift.words import place_name


def grid_json(words: JsonWords, grid: ReviewGrid) -> Json:
    """The grid: rounds, a table for each area in process order, and the legend of its signs."""
    plant = grid.plant
    by_area: dict[str, list[ReviewRow]] = {area.key: [] for area in plant.areas}
    for row in grid.rows:
        by_area.setdefault(row.point.area, []).append(row)
    return {
        "rounds": [words.when(rnd.at) for rnd in grid.rounds],
        "areas": [
            {
                "key": area.key,
                "name": area.name,
                "rows": [_row(words, row) for row in by_area[area.key]],
            }
            for area in plant.areas
            if by_area[area.key]
        ],
        "legend": [{"sign": sign, "text": text} for sign, text in LEGEND],
    }


def _row(words: JsonWords, row: ReviewRow) -> Json:
    point = row.point
    return {
        "key": point.key,
        "name": place_name(words.plant, point),
        "unit": point.unit,
        "limits": words.limits(point, point.limits),
        "cells": [_cell(cell) for cell in row.cells],
    }


def _cell(cell: Cell) -> Json | None:
    """What is not said is empty; a state that is not said is "ok"; None: not due, not read."""
    if cell.state is CellState.NOT_DUE and cell.reading is None:
        return None
    found: Json = {"text": cell.text} if cell.text else {}
    if cell.state is not CellState.OK:
        found["state"] = cell.state.value
    if cell.signs:
        found["signs"] = cell.signs
    if cell.why:
        found["why"] = list(cell.why)
    if cell.reading is not None:
        found["id"] = cell.reading.id
        if cell.reading.typed != cell.text:
            found["typed"] = cell.reading.typed
    return found
