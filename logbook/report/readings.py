"""The readings of a shift by area: single points as rows, repeated machines as tables.

What was read comes from the frozen content; lines, limits and the places of machines in their
tables are added from the book (`logbook.report.extras`) where it is at hand.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from logbook.report.glyphs import Json
from logbook.report.parts import Content, when

MOST_COLUMNS = 12
"""Rounds that stand side by side; more are printed as further rows of columns."""
MARK_OF_SIGN = {
    "HH": "action-high",
    "LL": "action-low",
    "A": "action",
    "H": "warning-high",
    "L": "warning-low",
    "W": "warning",
    "?": "missing",
    "/": "missing",
}
"""The drawn mark for the letters by which the frozen readings tell a state."""
FLAG_OF_SIGN = {"t": "late", "c": "corrected", "~": "doubtful"}


@dataclass(frozen=True, slots=True)
class PointExtra:
    """What the book adds to a point: limits edge by edge, the line of the last days, its table."""

    edges: tuple[str, ...] = ()
    """Low action, low warning, target, high warning, high action; empty where there is none."""
    spark: Json = None
    table: str = ""
    table_name: str = ""
    row_name: str = ""
    column_name: str = ""


@dataclass(frozen=True, slots=True)
class Extras:
    """What the book adds to the frozen readings: by point key, and times by reading id."""

    points: Mapping[str, PointExtra]
    times: Mapping[int, str]
    """When it was taken, of those readings that were not taken at the time of their round."""
    days: int
    areas_of: Mapping[str, str]
    """Key of the area by the name of an area or a machine."""


NO_EXTRAS = Extras({}, {}, 0, {})


def marks_of(cell: Content | None) -> tuple[str, list[str]]:
    """The drawn mark of a cell, empty where nothing wants a look, and its flags."""
    mark, flags = "", []
    for sign in (cell or {}).get("signs", "").split():
        if sign in MARK_OF_SIGN:
            mark = MARK_OF_SIGN[sign]
        else:
            flags += [FLAG_OF_SIGN[letter] for letter in sign if letter in FLAG_OF_SIGN]
    return mark, flags


def readings_part(readings: Content, extras: Extras = NO_EXTRAS) -> dict[str, Json]:
    """Every area with what was read in it, ready for the template."""
    labels: list[Json] = [when(one) for one in readings["rounds"]]
    areas = [_Area(area, extras) for area in readings["areas"]]
    return {
        "chunks": [
            {"from": first, "labels": labels[first : first + MOST_COLUMNS]}
            for first in range(0, len(labels), MOST_COLUMNS)
        ],
        "days": extras.days,
        "areas": [area.shown() for area in areas],
    }


class _Area:
    """Turns the rows of an area into what the template draws."""

    def __init__(self, area: Content, extras: Extras) -> None:
        self.area, self.extras = area, extras
        self.held = [row for row in area["rows"] if any(row["cells"])]

    def shown(self) -> dict[str, Json]:
        """Name, blocks of rows and tables, and the names of what was not read."""
        left = [row["name"] for row in self.area["rows"] if not any(row["cells"])]
        return {"name": self.area["name"], "blocks": list(self._blocks()), "left": left}

    def _extra(self, row: Content) -> PointExtra:
        return self.extras.points.get(row["key"], PointExtra())

    def _blocks(self) -> Iterator[Json]:
        """Tables of machines that stand together in a grid, everything else row by row."""
        gridded = self._gridded()
        singles: list[Json] = []
        done: set[str] = set()
        for row in self.held:
            table = gridded.get(row["key"])
            if table is None:
                singles.append(self._single(row))
            elif table not in done:
                if singles:
                    yield {"rows": singles}
                    singles = []
                done.add(table)
                yield self._grid([r for r in self.held if gridded.get(r["key"]) == table])
        if singles:
            yield {"rows": singles}

    def _gridded(self) -> dict[str, str]:
        """By point the table it is shown in: columns with the same limits, read several times."""
        columns: dict[tuple[str, str], list[Content]] = {}
        for row in self.held:
            extra = self._extra(row)
            if extra.table:
                columns.setdefault((extra.table, extra.column_name), []).append(row)
        found: dict[str, str] = {}
        for (table, _), column in columns.items():
            alike = len({(row["limits"], row["unit"]) for row in column}) == 1
            often = any(sum(map(bool, row["cells"])) > 1 for row in column)
            if alike and often and len(column) > 1:
                found |= {row["key"]: table for row in column}
        return found

    def _single(self, row: Content) -> Json:
        return {
            "name": row["name"],
            "unit": row["unit"],
            "edges": list(self._extra(row).edges),
            "limits": row["limits"],
            **self._cells(row),
        }

    def _cells(self, row: Content) -> dict[str, Json]:
        return {
            "cells": [self._cell(cell) for cell in row["cells"]],
            "spark": self._extra(row).spark,
            "word": worst_word(row["cells"]),
        }

    def _cell(self, cell: Content | None) -> Json:
        if not cell:
            return None
        mark, flags = marks_of(cell)
        text = cell.get("text", "")
        if not text:
            text = "; ".join(cell.get("why", ())) or cell.get("state", "")
        shown: dict[str, Json] = {"text": text, "mark": mark}
        if flags:
            shown["flags"] = list(flags)
        if at := self.extras.times.get(cell.get("id", -1)):
            shown["at"] = at
        return shown

    def _grid(self, members: Sequence[Content]) -> Json:
        columns: dict[str, list[Content]] = {}
        for row in members:
            columns.setdefault(self._extra(row).column_name, []).append(row)
        return {
            "table": self._extra(members[0]).table_name,
            "columns": [self._column(name, rows) for name, rows in columns.items()],
        }

    def _column(self, name: str, rows: Sequence[Content]) -> Json:
        return {
            "name": name,
            "unit": rows[0]["unit"],
            "edges": list(self._extra(rows[0]).edges),
            "rows": [{"name": self._extra(row).row_name, **self._cells(row)} for row in rows],
        }


def worst_word(cells: Sequence[Mapping[str, Any] | None]) -> str:
    """The worst of a row in words, with how often it came: "warning high ×3"."""
    marks = [mark for mark, _ in map(marks_of, cells) if mark not in {"", "missing"}]
    if not marks:
        return ""
    worst = min(marks)  # "action" stands before "warning"
    severity = worst.partition("-")[0]
    count = sum(mark.startswith(severity) for mark in marks)
    return worst.replace("-", " ") + (f" ×{count}" if count > 1 else "")
