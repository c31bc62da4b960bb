"""The cards out of a handover's plain data: the same lines that are printed, live or frozen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from logbook.assess.limits import NOT_JUDGED, Direction, Judgement, Severity
from logbook.report.parts import duration, joined, name_of, parts_of, text_of, when
from logbook.ui.handover.parts import Line, Part

Json = Mapping[str, Any]

SEVERITIES = {"warning": Severity.WARNING, "action": Severity.ACTION, "safety": Severity.ACTION}
DIRECTIONS = {"low": Direction.LOW, "high": Direction.HIGH}
SAFETY, CHANGES, QUESTIONS = 1, 12, 17
"""Numbers of parts that the screen shows otherwise than the paper."""


def cards_of(content: Json) -> tuple[Part, ...]:
    """All parts in their fixed order, safety first; questions stand beside what they ask about."""
    made = (_part(one, content) for one in parts_of(content))
    return tuple(part for part in made if part.number != QUESTIONS)


USUALLY_MISSED = 2
"""Shifts that a crew misses between two of its own, in most rosters."""


def risks_of(content: Json) -> tuple[Line, ...]:
    """Why this handover needs more care than others, and how long the next crew was away."""
    lines = [Line(risk["text"]) for risk in content["risks"]]
    away = content.get("away") or {}
    count = len(away.get("missed") or ())
    # A shift or two between two of a crew's own are the roster, not an absence.
    if lines and count > USUALLY_MISSED:
        away_for = duration(away["minutes"])
        lines.append(Line(f"The next crew was away for {count} shifts, {away_for}."))
    return tuple(lines)


def _part(made: Any, content: Json) -> Part:  # noqa: ANN401 - JSON has no narrower type
    number = int(made["no"])
    lines = _changes(content) if number == CHANGES else map(_line, made["lines"])
    is_loud = number == SAFETY and bool(content.get("safety"))
    none = str(made["none"])
    return Part(str(made["title"]), tuple(lines), f"{none[:1].upper()}{none[1:]}.", number, is_loud)


def _line(data: Json) -> Line:
    details = (joined(one["what"], one["text"], by=": ") for one in data["more"])
    return Line(
        data["text"],
        data["head"],
        data["when"],
        _judgement(data["mark"]),
        str(data["tag"]).upper(),
        tuple(details),
    )


def _judgement(mark: str) -> Judgement:
    word, _, side = mark.partition("-")
    if word not in SEVERITIES:
        return NOT_JUDGED
    return Judgement(SEVERITIES[word], DIRECTIONS.get(side, Direction.NONE))


def _changes(content: Json) -> Iterator[Line]:
    """On paper they have a page of their own; here each stands in its part."""
    for one in content["corrections"]:
        new = "withdrawn" if one["withdrawn"] else f"corrected to {text_of(one['after'])}"
        by = f"{name_of(one['person'])}, {when(one['written_at'])}: {one['why']}"
        told = f"{text_of(one['before'])} {new}"
        yield Line(told, name_of(one["point"]), when(one["taken_at"]), details=(by,))
    for one in content["late"]:
        count = one["readings"]
        what = "1 reading" if count == 1 else f"{count} readings"
        told = f"entered at {when(one['written_at'])} by {name_of(one['person'])}"
        head = f"{what} late"
        yield Line(joined(told, one["note"], by=": "), head, when(one["taken_at"]))
    for one in content["doubts"]:
        told = f"{text_of(one['reading'])}, {one['why']}"
        yield Line(told, name_of(one["point"]), when(one["reading"]["taken_at"]), tag="DOUBTFUL")
