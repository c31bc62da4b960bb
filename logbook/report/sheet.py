"""A blank round sheet: every point with its limits, and room to write a shift's rounds."""

from __future__ import annotations

from datetime import datetime

from logbook.assess.choices import choices_of
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import NORMAL_MODE, Often, Plant, Point
from logbook.plant.roster import Shift
from logbook.plant.rounds import Round, is_due, rounds_of
from logbook.report.extras import edge_texts
from logbook.report.glyphs import Json
from logbook.report.handover import foot_of
from logbook.report.typeset import typeset
from logbook.shift.words import place_name

MOST_ROUNDS = 6
"""Rounds on one sheet; a shift with more takes the later ones on a second copy."""
INTRO = (
    "For a round on paper while there is no screen. Write what the gauge shows, and the time "
    "where it is not the round's. Enter it in the book afterwards; it is then marked as late."
)
BLANKS = ("date and shift", "taken by", "entered in the book by, at")


def round_sheet_pdf(
    plant: Plant,
    shift: Shift,
    *,
    printed_at: datetime,
    seal: str = "",
    paper: str = "a4",
    mode: str = NORMAL_MODE,
    revision: str = "",
) -> bytes:
    """The PDF/A-2b of a blank sheet with the rounds of `shift`. Raises ReportError."""
    data = sheet_data(plant, shift, printed_at=printed_at, seal=seal, mode=mode, revision=revision)
    return typeset("sheet", data, paper=paper, made_at=printed_at)


def sheet_data(
    plant: Plant, shift: Shift, *, printed_at: datetime, seal: str, mode: str, revision: str = ""
) -> dict[str, Json]:
    """What the template of the sheet needs."""
    rounds = rounds_of(shift, plant.settings.round_hours)[:MOST_ROUNDS]
    names = {one.key: one.name for one in plant.modes}
    return {
        "head": {
            "plant": plant.name,
            "title": "Round sheet",
            "span": ", ".join(
                filter(None, (shift.name, f"limits of mode {names.get(mode, mode)}", revision))
            ),
        },
        "foot": foot_of(seal, to_local(printed_at, plant.time_zone)),
        "intro": INTRO,
        "blanks": list(BLANKS),
        "columns": [local_label(one.at, plant.time_zone) for one in rounds],
        "areas": [
            {"name": area.name, "caution": area.caution, "rows": rows}
            for area in plant.areas
            if (rows := [_row(plant, p, rounds, mode) for p in plant.points_of(area.key) if p.kind.is_typed])
        ],
    }  # fmt: skip


def _row(plant: Plant, point: Point, rounds: tuple[Round, ...], mode: str) -> Json:
    comma = plant.settings.decimal_comma
    answers = " / ".join(choice.name for choice in choices_of(point))
    return {
        "name": place_name(plant, point),
        "unit": point.unit,
        "often": str(point.frequency),
        "limits": list(edge_texts(point, mode, decimal_comma=comma)),
        "answers": answers,
        "due": [_has_room(plant, point, rnd, mode) for rnd in rounds],
    }


def _has_room(plant: Plant, point: Point, rnd: Round, mode: str) -> bool:
    """Read once a shift, daily or on sample: in any round; else where it is due."""
    if mode in point.silent_modes:
        return False
    if point.frequency.often in {Often.SHIFT, Often.DAY, Often.SAMPLE}:
        return True
    first = plant.calendar.first_shift_key
    return is_due(point, rnd, plant.settings.round_hours, first_shift_key=first)
