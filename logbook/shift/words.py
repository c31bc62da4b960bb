"""Judgements, limits and times in the words that screens, prints and the command line share."""

from __future__ import annotations

from logbook.assess.choices import choices_of
from logbook.assess.limits import Direction, Judgement, Severity
from logbook.assess.typed import format_number
from logbook.plant.model import Limits, Plant, Point, PointKind

SEVERITY_WORD = {Severity.NONE: "within", Severity.WARNING: "warning", Severity.ACTION: "action"}
DIRECTION_WORD = {Direction.LOW: "low", Direction.NONE: "", Direction.HIGH: "high"}


def number_text(point: Point, value: float, *, decimal_comma: bool = False) -> str:
    """`value` with the point's decimals, without unit."""
    return format_number(value, point.decimals, decimal_comma=decimal_comma)


def answer_text(
    point: Point, value: float | None, text: str | None, *, decimal_comma: bool = False
) -> str:
    """A reading as people read it: number, or the name of the answer; empty where there is none."""
    if value is not None:
        return number_text(point, value, decimal_comma=decimal_comma)
    if text is None:
        return ""
    choice = next((c for c in choices_of(point) if c.key == text), None)
    return choice.name if choice else text


def judgement_word(judgement: Judgement) -> str:
    """Such as "warning high" or "action"; empty where nothing was judged."""
    if not judgement.is_judged:
        return ""
    severity = SEVERITY_WORD[judgement.severity]
    return f"{severity} {DIRECTION_WORD[judgement.direction]}".strip()


def judgement_text(
    point: Point, limits: Limits, judgement: Judgement, *, decimal_comma: bool = False
) -> str:
    """The judgement with the limit passed, such as "warning high, over 0.40"."""
    word = judgement_word(judgement)
    edge = limit_passed(limits, judgement)
    if edge is None or not point.kind.is_numeric:
        return word
    side = "over" if judgement.direction is Direction.HIGH else "under"
    return f"{word}, {side} {number_text(point, edge, decimal_comma=decimal_comma)}"


def limit_passed(limits: Limits, judgement: Judgement) -> float | None:
    """The limit that the judged value lies beyond; None within limits."""
    edges = {
        (Severity.WARNING, Direction.LOW): limits.warning_low,
        (Severity.WARNING, Direction.HIGH): limits.warning_high,
        (Severity.ACTION, Direction.LOW): limits.action_low,
        (Severity.ACTION, Direction.HIGH): limits.action_high,
    }
    return edges.get((judgement.severity, judgement.direction))


def range_text(
    point: Point, low: float | None, high: float | None, *, decimal_comma: bool = False
) -> str:
    """A two- or one-sided range: "0.30 to 0.40", "at least 0.30", "at most 0.40", or "none"."""

    def shown(value: float) -> str:
        return number_text(point, value, decimal_comma=decimal_comma)

    if low is not None and high is not None:
        return f"{shown(low)} to {shown(high)}"
    if low is not None:
        return f"at least {shown(low)}"
    if high is not None:
        return f"at most {shown(high)}"
    return "none"


def limits_text(point: Point, limits: Limits, *, decimal_comma: bool = False) -> str:
    """Target and limits of a numeric point on one line; the answers of a choice point."""
    if point.kind in {PointKind.STATE, PointKind.CHECK}:
        return " · ".join(choice.name for choice in choices_of(point))
    parts = []
    if limits.target is not None:
        parts.append(f"target {number_text(point, limits.target, decimal_comma=decimal_comma)}")
    pairs = (
        ("warning", limits.warning_low, limits.warning_high),
        ("action", limits.action_low, limits.action_high),
        ("plausible", limits.plausible_low, limits.plausible_high),
    )
    for name, low, high in pairs:
        if low is not None or high is not None:
            parts.append(f"{name} {range_text(point, low, high, decimal_comma=decimal_comma)}")
    return " · ".join(parts)


def meaning_text(point: Point, judgement: Judgement) -> str:
    """What a deviation in this direction means for the plant."""
    if judgement.direction is Direction.LOW:
        return point.low_means
    if judgement.direction is Direction.HIGH:
        return point.high_means
    return point.high_means or point.low_means


def point_name(plant: Plant, point: Point) -> str:
    """Area and full name of a point, so that it stands alone."""
    area = next((area.name for area in plant.areas if area.key == point.area), point.area)
    return f"{area}: {place_name(plant, point)}"


def place_name(plant: Plant, point: Point) -> str:
    """Name of a point with its machine and position: "Flake thickness: Mill 3, left"."""
    if point.place is None:
        return point.name
    table = next((t for t in plant.tables if t.key == point.place.table), None)
    if table is None:
        return point.name
    row = next((r.name for r in table.rows if r.key == point.place.row), "")
    column = next((c.name for c in table.columns if c.key == point.place.column), "")
    return f"{table.name}: {row}, {_lowered(column)}" if column else f"{table.name}: {row}"


def person_name(plant: Plant, key: str) -> str:
    """Name of a person; the key where the plant no longer has them."""
    return next((person.name for person in plant.people if person.key == key), key)


def _lowered(name: str) -> str:
    """The name within a sentence; what begins with an abbreviation stays as it is."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name
