"""The sheets of an audit as lines to be printed and as plain data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from logbook.plant.model import Plant
from logbook.shift.audit import OBSERVED, AuditSheet
from logbook.shift.json_words import Json
from logbook.shift.words import person_name

MARK = {True: "[x]", False: "[ ]"}


def audit_lines(sheets: Iterable[AuditSheet], plant: Plant) -> Iterator[str]:
    """One block for each shift; what must be observed has an empty box."""
    for sheet in sheets:
        shift = sheet.shift
        yield f"{shift.name} of {shift.date.isoformat()}: {sheet.met} of {len(sheet.scores)} shown"
        for score in sheet.scores:
            yield f"  {MARK[score.is_met]} {score.what}: {person_name(plant, score.shown)}"
        for words in OBSERVED:
            yield f"  {MARK[False]} to observe: {words}"
        yield ""


def audit_json(sheets: Iterable[AuditSheet]) -> list[Json]:
    """The same as plain data."""
    return [
        {
            "date": sheet.shift.date.isoformat(),
            "shift": sheet.shift.pattern,
            "met": sheet.met,
            "scores": [
                {"what": score.what, "met": score.is_met, "shown": score.shown}
                for score in sheet.scores
            ],
            "to_observe": list(OBSERVED),
        }
        for sheet in sheets
    ]
