"""A shift's exceptions as lines of text."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from logbook.assess.limits import Severity
from logbook.plant.localtime import local_label
from logbook.plant.model import Plant
from logbook.shift.exceptions import DeviationFound, GapFound, ShiftExceptions
from logbook.shift.round_form import describe_reason
from logbook.shift.round_state import RoundState
from logbook.shift.words import answer_text, judgement_text, point_name


def text_lines(plant: Plant, found: ShiftExceptions) -> list[str]:
    """The whole as lines of at most about 110 characters, worst first."""
    lines = [_head(plant, found), _rounds_line(plant, found), ""]
    if found.is_quiet:
        return [*lines, "Nothing out of limits, nothing missing, nothing late or corrected."]
    for severity, title in ((Severity.ACTION, "ACTION"), (Severity.WARNING, "WARNING")):
        group = list(_severity_lines(plant, found, severity))
        lines += [title, *group, ""] if group else []
    lines += _part("NOT TAKEN", _gap_lines(plant, found))
    lines += _part("LATE", _late_lines(plant, found))
    lines += _part("CORRECTED", _correction_lines(plant, found))
    return lines[:-1]


def _part(title: str, lines: Iterator[str]) -> list[str]:
    found = list(lines)
    return [title, *found, ""] if found else []


def _head(plant: Plant, found: ShiftExceptions) -> str:
    shift = found.shift
    zone = plant.time_zone
    crews = {crew.key: crew.name for crew in plant.calendar.crews}
    crew = f", {crews.get(shift.crew, shift.crew)}" if shift.crew else ""
    start, end = local_label(shift.start, zone), local_label(shift.end, zone)
    return f"{plant.name}: {shift.name} of {shift.date.isoformat()}, {start} to {end}{crew}"


def _rounds_line(plant: Plant, found: ShiftExceptions) -> str:
    parts = []
    for status in found.rounds:
        clock = local_label(status.at, plant.time_zone)
        if status.state is RoundState.NONE:
            parts.append(f"{clock} nothing due")
        else:
            parts.append(f"{clock} {status.done}/{status.due}")
    return f"{found.reading_count} readings; rounds " + ", ".join(parts)


def _severity_lines(plant: Plant, found: ShiftExceptions, severity: Severity) -> Iterator[str]:
    for deviation in found.deviations:
        if deviation.judgement.severity is severity:
            yield from _deviation_lines(plant, deviation)
    for answer in found.answers:
        if answer.judgement.severity is severity:
            clock = local_label(answer.reading.taken_at, plant.time_zone)
            shown = answer_text(answer.point, None, answer.reading.text)
            yield f"  {clock}  {point_name(plant, answer.point)}: {shown}"


def _deviation_lines(plant: Plant, deviation: DeviationFound) -> Iterator[str]:
    found, run = deviation.found, deviation.found.run
    point = found.point
    comma = plant.settings.decimal_comma
    worst = answer_text(point, run.worst_value, None, decimal_comma=comma)
    words = judgement_text(point, found.limits, deviation.judgement, decimal_comma=comma)
    words = words.split(" ", 1)[-1]
    count = "1 reading" if run.count == 1 else f"{run.count} readings over {_hours(run.duration)}"
    state = "still open" if deviation.is_open else "closed"
    clock = local_label(run.start, plant.time_zone)
    yield (
        f"  {clock}  {point_name(plant, point)}: {worst} {point.unit} ({words}), {count}, {state}"
    ).replace("  (", " (")
    if deviation.responses:
        yield from (f"         done: {text}" for text in deviation.responses)
    elif deviation.judgement.severity is Severity.ACTION:
        yield "         no response written"


def _gap_lines(plant: Plant, found: ShiftExceptions) -> Iterator[str]:
    """Rounds nobody took as one line each, then single readings."""
    whole = {s.at for s in found.rounds if s.due and not s.done}
    for at in sorted(whole):
        yield f"  {local_label(at, plant.time_zone)}  the whole round, no reason given"
    for gap in found.gaps:
        if gap.round_at not in whole:
            yield f"  {local_label(gap.round_at, plant.time_zone)}  {_gap_text(plant, gap)}"


def _gap_text(plant: Plant, gap: GapFound) -> str:
    why = describe_reason(gap.reason) if gap.reason else "no reason given"
    return f"{point_name(plant, gap.point)}: {why}"


def _late_lines(plant: Plant, found: ShiftExceptions) -> Iterator[str]:
    for late in found.late:
        clock = local_label(late.taken_at, plant.time_zone)
        written = local_label(late.written_at, plant.time_zone)
        note = f": {late.note}" if late.note else ""
        count = "1 reading" if late.count == 1 else f"{late.count} readings"
        yield f"  {clock}  {count} written at {written} by {late.person}{note}"


def _correction_lines(plant: Plant, found: ShiftExceptions) -> Iterator[str]:
    for one in found.corrections:
        before = answer_text(one.point, one.before.value, one.before.text) or "no reading"
        after = answer_text(one.point, one.after.value, one.after.text) or "withdrawn"
        clock = local_label(one.after.taken_at, plant.time_zone)
        yield (
            f"  {clock}  {point_name(plant, one.point)}: {before} corrected to {after} "
            f"by {one.after.person}: {one.after.why}"
        )


def _hours(span: timedelta) -> str:
    hours = span.total_seconds() / 3600
    return f"{hours:.0f} h" if hours == round(hours) else f"{hours:.1f} h"
