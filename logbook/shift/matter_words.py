"""A matter of the shift with all that is known about it, as labels and texts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from logbook.record import Entry, Found, Instruction, OpenItem, SafetyState
from logbook.shift.answers import AnswerFound
from logbook.shift.exceptions import DeviationFound
from logbook.shift.gaps import GapFound
from logbook.shift.moments import Moment
from logbook.shift.open_lines import safety_word
from logbook.shift.reliefs import Relief, place_words
from logbook.shift.responses_due import CheckDue
from logbook.shift.round_form import describe_reason
from logbook.shift.samples import WaitingSample
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.stops import StopFound
from logbook.shift.timeline import moment_words
from logbook.shift.unproven import Unproven
from logbook.shift.words import (
    answer_text,
    judgement_text,
    judgement_word,
    limits_text,
    meaning_text,
    number_text,
    point_name,
)

Fact = tuple[str, str]
"""A label and its text."""


@dataclass(frozen=True, slots=True)
class MatterWords:
    """A title and facts, in the order in which they are read."""

    title: str
    facts: tuple[Fact, ...]


def words_of(desk: ShiftDesk, source: object) -> MatterWords:
    """What is known about a deviation, an answer, a stop, an entry, gaps, an open item...

    Raises BookError.
    """
    for kind, title, facts in _TELLERS:
        if isinstance(source, kind):
            found = tuple((label, text) for label, text in facts(desk, source) if text)
            return MatterWords(title(desk, source), found)
    msg = f"nothing is known about {source!r}"
    raise TypeError(msg)


def _comma(desk: ShiftDesk) -> bool:
    return desk.plant.settings.decimal_comma


def _deviation(desk: ShiftDesk, source: DeviationFound) -> Iterator[Fact]:
    found, comma = source.found, _comma(desk)
    run, point = found.run, found.point
    unit = f" {point.unit}" if point.unit else ""
    yield "Judged", judgement_text(point, found.limits, source.judgement, decimal_comma=comma)
    count = f"{run.count} readings" if run.count != 1 else "1 reading"
    yield "Since", f"{desk.when(run.start)}, {count} outside"
    worst = number_text(point, run.worst_value, decimal_comma=comma)
    yield "Worst", f"{worst}{unit} at {desk.when(run.worst_at)}"
    yield "Last", f"{number_text(point, found.last_value, decimal_comma=comma)}{unit}"
    yield "Now", "still open" if run.is_open else str(run.closing)
    yield "Limits", limits_text(point, found.limits, decimal_comma=comma)
    yield "Means", meaning_text(point, source.judgement)
    yield "First response", point.response
    yield "Caution", point.caution
    yield "Done", "\n".join(source.responses) or "No response written."


def _answer(desk: ShiftDesk, source: AnswerFound) -> Iterator[Fact]:
    reading = source.reading
    yield "Answer", answer_text(source.point, reading.value, reading.text)
    yield "Judged", judgement_word(source.judgement)
    rounds = f", in {source.count} rounds" if source.count > 1 else ""
    yield "Since", f"{desk.when(reading.taken_at)}{rounds}, {desk.person(reading.person)}"
    yield "Means", meaning_text(source.point, source.judgement)
    yield "First response", source.point.response
    yield "Done", "\n".join(source.responses) or "No response written."


def _stop(desk: ShiftDesk, source: StopFound) -> Iterator[Fact]:
    yield "What", "operating mode" if source.scope == "mode" else "down"
    yield "Since", desk.when(source.start)
    if source.scope != "mode":
        yield "Until", desk.when(source.end) if source.end else "still down"
    yield "Why", source.reason or "no reason given"


def _entry(desk: ShiftDesk, source: Entry) -> Iterator[Fact]:
    yield "At", desk.when(source.at)
    yield "Where", desk.place(source.area, source.equipment)
    yield "Text", source.text or ""
    yield "By", f"{desk.person(source.person)}, written {desk.when(source.written_at)}"
    for older in desk.book.history_of_entry(source.id):
        if older.id == source.id:
            return
        yield "Before", f"{older.text or ''} ({desk.person(older.person)})"
        yield "Corrected because", source.why or ""


def _item(desk: ShiftDesk, source: OpenItem) -> Iterator[Fact]:
    yield "What", source.text
    yield "Where", desk.place(source.area, source.equipment)
    yield "To be done by", desk.place(source.owner, None)
    yield "Due", desk.when(source.due_at) if source.due_at else ""
    yield "Opened", f"{desk.when(source.at)}, {desk.person(source.person)}"
    words = {"update": "News", "close": "Closed", "reopen": "Opened again"}
    for event in source.events:
        when = f"{desk.when(event.at)}, {desk.person(event.person)}"
        yield words.get(event.kind, event.kind), f"{event.text} ({when})"


def _safety(desk: ShiftDesk, source: SafetyState) -> Iterator[Fact]:
    yield "What", source.what
    yield "Where", desk.place(source.area, source.equipment)
    yield "Since", f"{desk.when(source.at)}, {desk.person(source.person)}"
    yield "Allowed until", desk.when(source.until_at) if source.until_at else "no time set"
    yield "Authorised by", source.authorised_by
    for event in source.events:
        word = "Cleared" if event.kind == "clear" else "Extended"
        yield word, f"{event.text} ({desk.when(event.at)}, {desk.person(event.person)})"


def _instruction(desk: ShiftDesk, source: Instruction) -> Iterator[Fact]:
    yield "Text", source.text
    yield "Where", desk.place(source.area, None) or "everywhere"
    yield "Given", f"{desk.when(source.valid_from)}, {desk.person(source.person)}"
    yield "Holds until", desk.when(source.valid_to) if source.valid_to else "it is ended"
    read = (f"{desk.person(key)} ({desk.when(at)})" for key, at in source.acknowledged_by.items())
    yield "Read by", ", ".join(read) or "nobody yet"


def _sample(desk: ShiftDesk, source: WaitingSample) -> Iterator[Fact]:
    sample = source.sample
    yield "Label", sample.label
    yield "Taken", f"{desk.when(sample.taken_at)}, {desk.person(sample.person)}"
    yield "Looked at for", ", ".join(point.name for point in source.points)
    late = ", overdue" if source.is_overdue else ""
    yield "Results expected", f"by {desk.when(source.due_at)}{late}"
    yield "Note", sample.note


def _check(desk: ShiftDesk, source: CheckDue) -> Iterator[Fact]:
    reading, point = source.reading, source.point
    value = answer_text(point, reading.value, reading.text, decimal_comma=_comma(desk))
    yield "Was", f"{value} {point.unit} at {desk.when(reading.taken_at)}"
    for response in source.responses:
        yield "Done", f"{response.text} ({desk.person(response.person)})"
    yield "Read it again", f"in the round of {desk.when(source.due_at)}"


def _relief(desk: ShiftDesk, source: Relief) -> Iterator[Fact]:
    yield "What", source.text
    yield "Area", place_words(desk.plant, source.area)
    yield "Offered", f"{desk.when(source.at)}, {desk.person(source.outgoing)}"
    yield "In charge", f"{desk.person(source.outgoing)}, until somebody takes over"


def _unproven(desk: ShiftDesk, source: Unproven) -> Iterator[Fact]:
    yield "Name as typed", source.person
    yield "From", desk.when(source.at)
    yield "Why", source.reason
    yield "Confirmed", desk.person(source.confirmed_by) or "by nobody yet; a supervisor does it"


def _gaps(desk: ShiftDesk, source: tuple[object, ...]) -> Iterator[Fact]:
    for gap in source:
        assert isinstance(gap, GapFound)
        why = describe_reason(gap.reason) if gap.reason else "nobody said why"
        yield desk.when(gap.round_at), f"{point_name(desk.plant, gap.point)}: {why}"


def _moment(desk: ShiftDesk, source: Moment) -> Iterator[Fact]:
    yield "At", desk.when(source.at)
    yield "Where", desk.place(source.area, source.equipment)
    yield "Text", source.text
    yield "Was", source.was
    yield "Corrected because", source.why
    late = ", late" if source.is_late else ""
    yield "By", f"{desk.person(source.person)}, written {desk.when(source.written_at)}{late}"


def _found(desk: ShiftDesk, source: Found) -> Iterator[Fact]:
    yield "At", desk.when(source.at)
    yield "Where", desk.place(source.area, source.equipment)
    yield "Text", source.text
    yield "By", desk.person(source.person)


_TELLERS: tuple[
    tuple[type, Callable[[ShiftDesk, Any], str], Callable[[ShiftDesk, Any], Iterator[Fact]]], ...
] = (
    (DeviationFound, lambda desk, s: point_name(desk.plant, s.found.point), _deviation),
    (AnswerFound, lambda desk, s: point_name(desk.plant, s.point), _answer),
    (CheckDue, lambda desk, s: point_name(desk.plant, s.point), _check),
    (StopFound, lambda _, s: s.name, _stop),
    (Entry, lambda _, s: f"{s.kind.capitalize()} entry", _entry),
    (OpenItem, lambda _, s: "Open item" if s.is_open else "Closed item", _item),
    (SafetyState, lambda _, s: safety_word(s.kind).capitalize(), _safety),
    (Instruction, lambda _, __: "Standing instruction", _instruction),
    (WaitingSample, lambda _, s: f"Sample: {s.sample.sampling_point}", _sample),
    (Relief, lambda _, s: "Relief not taken over" if s.is_open else "Relief", _relief),
    (Unproven, lambda _, __: "Written without signing on", _unproven),
    (Moment, lambda _, s: moment_words(s), _moment),
    (Found, lambda _, s: s.kind.capitalize(), _found),
    (tuple, lambda _, __: "Readings missing", _gaps),
)
"""Which kind of matter has which title and facts."""
