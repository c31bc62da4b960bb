"""The supervisor's review of a shift on one page: what was found where, and who has signed it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from logbook.plant.localtime import to_local
from logbook.report.glyphs import Json
from logbook.report.handover import foot_of, head_of, signature_of
from logbook.report.parts import Content, line, when
from logbook.report.readings import FLAG_OF_SIGN, marks_of
from logbook.report.typeset import typeset

RANK = ("action", "missing", "warning", "doubtful", "corrected", "missing with reason", "late")
"""What comes first among the lines, the gravest first."""
TILES = ("flagged", "missing", "late", "corrected", "doubtful")


def review_pdf(document: Content, *, printed_at: datetime, paper: str = "a4") -> bytes:
    """The PDF/A-2b of a review.

    `document` holds "content" (`logbook.shift.review_sign.review_content`), "content_hash",
    "seal" and, where it is signed, "signatures". Raises ReportError.
    """
    data = review_data(document, printed_at)
    return typeset("review", data, paper=paper, made_at=printed_at)


def review_data(document: Content, printed_at: datetime) -> dict[str, Json]:
    """What the template of the review needs."""
    content = document["content"]
    counts, readings = content["counts"], content["readings"]
    found = list(_exceptions(readings))
    zone = content["plant"].get("time_zone", "")
    # What was signed before the zone stood in it has only the offset of its shift.
    offset = datetime.fromisoformat(content["made_at"]["iso"]).tzinfo
    local = to_local(printed_at, zone) if zone else printed_at.astimezone(offset)
    return {
        "head": head_of(content, "Review"),
        "foot": foot_of(document.get("seal", ""), local),
        "tiles": [{"label": key, "figure": str(counts.get(key, 0)), "below": ""} for key in TILES],
        "columns": [when(one) for one in readings["rounds"]],
        "areas": [_area(area, len(readings["rounds"])) for area in readings["areas"]],
        "lines": _lines(readings, found),
        "remark": content.get("remark", ""),
        "content_hash": document.get("content_hash", ""),
        "signature": signature_of(document.get("signatures", ()), "review"),
    }


def _area(area: Mapping[str, Any], rounds: int) -> Json:
    """How often each mark came in an area, by round."""
    cells: list[dict[str, int]] = [{} for _ in range(rounds)]
    for row in area["rows"]:
        for column, cell in enumerate(row["cells"]):
            for name in _marks(cell):
                cells[column][name] = cells[column].get(name, 0) + 1
    return {
        "name": area["name"],
        "cells": [[{"mark": name, "count": n} for name, n in cell.items()] for cell in cells],
    }


def _marks(cell: Mapping[str, Any] | None) -> list[str]:
    """Names of mark and flags of a cell; none where nothing wants a look."""
    mark, flags = marks_of(cell)
    return [mark, *flags] if mark else flags


def _exceptions(
    readings: Mapping[str, Any],
) -> Iterator[tuple[int, str, Mapping[str, Any], list[tuple[int, Mapping[str, Any]]]]]:
    """(rank, area, row, cells that want a look) of every point with at least one."""
    for area in readings["areas"]:
        for row in area["rows"]:
            cells = [(k, cell) for k, cell in enumerate(row["cells"]) if _marks(cell)]
            if cells:
                yield min(_rank(cell) for _, cell in cells), area["name"], row, cells


def _rank(cell: Mapping[str, Any]) -> int:
    names = {str(cell.get("state", "ok")), *(name for name in _marks(cell))}
    return min((RANK.index(name) for name in names if name in RANK), default=len(RANK))


def _lines(
    readings: Mapping[str, Any],
    found: Sequence[tuple[int, str, Mapping[str, Any], list[tuple[int, Mapping[str, Any]]]]],
) -> list[Json]:
    """A line for each point with something to look at, but for what was only entered late."""
    labels = [when(one) for one in readings["rounds"]]
    late = RANK.index("late")
    told: list[Json] = []
    for rank, area, row, cells in sorted(found, key=lambda one: one[0]):
        if rank < late:
            worst = min((cell for _, cell in cells), key=_rank)
            shown = [(k, cell) for k, cell in cells if _rank(cell) < late]
            text = "; ".join(_told(labels[k], cell, row["unit"]) for k, cell in shown)
            told.append(line(f"{area}: {row['name']}", text, mark=next(iter(_marks(worst)), "")))
    return told


def _told(label: str, cell: Mapping[str, Any], unit: str) -> str:
    words = [str(cell.get("state", "")), *_flags(_marks(cell)), *cell.get("why", ())]
    text = str(cell.get("text", ""))
    value = f"{text} {unit}".strip() if text and unit and text.lstrip("-")[:1].isdigit() else text
    named = ", ".join(dict.fromkeys(word for word in words if word and word != value))
    return " ".join(part for part in (label, value, f"({named})" if named else "") if part)


def _flags(marks: Iterable[str]) -> list[str]:
    return [name for name in marks if name in FLAG_OF_SIGN.values()]
