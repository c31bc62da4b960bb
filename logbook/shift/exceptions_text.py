"""A shift's exceptions as lines of text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.limits import Closing, Severity
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Plant
from logbook.record import Reading
from logbook.shift.answers import AnswerFound
from logbook.shift.exceptions import CorrectionFound, DeviationFound, LateFound, ShiftExceptions
from logbook.shift.gap_words import gap_lines
from logbook.shift.round_form import describe_reason
from logbook.shift.round_state import RoundState
from logbook.shift.stops import StopFound
from logbook.shift.words import answer_text, judgement_text, person_name, place_name, point_name

WIDTH = 110

Line = tuple[str, str]
"""Local time, empty on a line that goes on with the one before, and what was."""


def text_lines(found: ShiftExceptions) -> list[str]:
    """The whole as lines of at most 110 characters, worst first."""
    words = _Words(found)
    lines = [*_wrapped(words.head()), *_wrapped(words.rounds(), "  "), ""]
    if found.is_quiet:
        quiet = "Nothing out of limits, nothing missing, nothing down, nothing late or corrected."
        return [*lines, quiet]
    for title, part in words.parts():
        lines += [title, *_laid_out(part), ""] if part else []
    return lines[:-1]


def _laid_out(part: Iterable[Line]) -> Iterator[str]:
    """Times in one column, what was in another."""
    rows = list(part)
    column = max(len(clock) for clock, _ in rows)
    for clock, text in rows:
        yield from _wrapped(f"  {clock:{column}}  {text}", " " * (column + 6))


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, subsequent_indent=indent, break_long_words=True, break_on_hyphens=False
    )


@dataclass(frozen=True, slots=True)
class _Words:
    """The sentences of one shift."""

    found: ShiftExceptions

    def parts(self) -> Iterator[tuple[str, list[Line]]]:
        """The headings and what stands under them, worst first."""
        found = self.found
        yield "ACTION", list(self._severity(Severity.ACTION))
        yield "WARNING", list(self._severity(Severity.WARNING))
        yield "DOUBTFUL, KEPT AS TYPED", [self._doubt(d.reading, d.why) for d in found.doubts]
        yield "DOWN, AND CHANGES OF MODE", [self._stop(stop) for stop in found.stops]
        yield "NOT TAKEN", gap_lines(self._plant, found.rounds, found.gaps, self._when)
        yield "LATE", [self._late(late) for late in found.late]
        yield "CORRECTED", [self._correction(one) for one in found.corrections]

    def head(self) -> str:
        """Plant, shift, its local times and crew."""
        plant, shift = self._plant, self.found.shift
        crews = {crew.key: crew.name for crew in plant.calendar.crews}
        crew = f", {crews.get(shift.crew, shift.crew)}" if shift.crew else ""
        start, end = (local_label(at, plant.time_zone) for at in (shift.start, shift.end))
        return f"{plant.name}: {shift.name} of {shift.date.isoformat()}, {start} to {end}{crew}"

    def rounds(self) -> str:
        """How many readings, and how far each round is."""
        count = self.found.reading_count
        told = "1 reading" if count == 1 else f"{count} readings"
        parts = []
        for status in self.found.rounds:
            none = status.state is RoundState.NONE
            done = "nothing due" if none else f"{status.done}/{status.due}"
            parts.append(f"{self._when(status.at)} {done}")
        return f"{told}; rounds {', '.join(parts)}" if parts else f"{told}; no round was due"

    @property
    def _plant(self) -> Plant:
        return self.found.plant

    def _when(self, at: datetime) -> str:
        """Local time of day; with the date where it lies outside the shift."""
        shift, zone = self.found.shift, self._plant.time_zone
        clock = local_label(at.replace(second=0, microsecond=0), zone)
        inside = shift.start <= at <= shift.end
        return clock if inside else f"{to_local(at, zone):%Y-%m-%d} {clock}"

    def _number(self, deviation: DeviationFound, value: float) -> str:
        comma = self._plant.settings.decimal_comma
        return answer_text(deviation.found.point, value, None, decimal_comma=comma)

    # -- out of limits --------------------------------------------------------------------

    def _severity(self, severity: Severity) -> Iterator[Line]:
        """Numbers and answers in the order in which they went out."""
        parts = [
            (deviation.found.run.start, self._deviation(deviation))
            for deviation in self.found.deviations
            if deviation.judgement.severity is severity and not deviation.follows
        ]
        parts += [
            (answer.reading.taken_at, self._answer(answer))
            for answer in self.found.answers
            if answer.judgement.severity is severity
        ]
        for _, lines in sorted(parts, key=lambda part: part[0]):
            yield from lines

    def _deviation(self, deviation: DeviationFound) -> Iterator[Line]:
        point, run = deviation.found.point, deviation.found.run
        last = deviation.found.last_value
        value = self._value(deviation)
        if last != run.worst_value:
            value += f", last {self._number(deviation, last)}"
        count = "1 reading" if run.count == 1 else f"{run.count} readings"
        span = f" over {hours_text(run.last_out - run.start)}" if run.count > 1 else ""
        yield (
            self._when(run.start),
            f"{point_name(self._plant, point)}: {value}, {count}{span}, {self._closing(deviation)}",
        )
        for other in self._following(deviation):
            name = place_name(self._plant, other.found.point)
            yield "", f"with it: {name} {self._value(other)}"
        yield from self._responses(deviation.responses, deviation.judgement.severity)

    def _value(self, deviation: DeviationFound) -> str:
        """The worst value with the limit passed: "0.52 mm (high, over 0.45)"."""
        point, comma = deviation.found.point, self._plant.settings.decimal_comma
        words = judgement_text(
            point, deviation.found.limits, deviation.judgement, decimal_comma=comma
        )
        worst = self._number(deviation, deviation.found.run.worst_value)
        return f"{f'{worst} {point.unit}'.strip()} ({words.split(' ', 1)[-1]})"

    def _closing(self, deviation: DeviationFound) -> str:
        run = deviation.found.run
        if run.closing is Closing.BACK_INSIDE and run.end is not None:
            return f"back inside at {self._when(run.end)}"
        words = {
            Closing.OTHER_SIDE: "then out on the other side",
            Closing.NOT_DUE: "then down or not in use",
            Closing.GAP: "then not read for too long",
        }
        if run.closing in words:
            return words[run.closing]
        is_old = run.last_out < self.found.shift.start
        return "still open" + (f", last read {self._when(run.last_out)}" if is_old else "")

    def _following(self, deviation: DeviationFound) -> Iterator[DeviationFound]:
        """Deviations of computed points that are told with this one: each under one input."""
        shown = [d.found.point.key for d in self.found.deviations if not d.follows]
        for other in self.found.deviations:
            causes = [key for key in shown if key in other.follows]
            if causes[:1] == [deviation.found.point.key] and _touch(other, deviation):
                yield other

    def _answer(self, answer: AnswerFound) -> Iterator[Line]:
        shown = answer_text(answer.point, None, answer.reading.text)
        count = f", {answer.count} readings" if answer.count > 1 else ""
        name = point_name(self._plant, answer.point)
        yield self._when(answer.reading.taken_at), f"{name}: {shown}{count}"
        yield from self._responses(answer.responses, answer.judgement.severity)

    def _responses(self, responses: tuple[str, ...], severity: Severity) -> Iterator[Line]:
        if not responses and severity is Severity.ACTION:
            yield "", "no response written"
        for text in responses:
            yield "", f"done: {text}"

    # -- the rest -------------------------------------------------------------------------

    def _doubt(self, reading: Reading, why: str) -> Line:
        name, shown = self._read(reading)
        return self._when(reading.taken_at), f"{name}: {shown}, {why}"

    def _read(self, reading: Reading) -> Line:
        """Name and answer of a reading."""
        point = next((p for p in self._plant.points if p.key == reading.point), None)
        if point is None:
            return reading.point, reading.typed
        comma = self._plant.settings.decimal_comma
        shown = answer_text(point, reading.value, reading.text, decimal_comma=comma)
        unit = point.unit if reading.value is not None else ""
        return point_name(self._plant, point), f"{shown} {unit}".strip()

    def _stop(self, stop: StopFound) -> Line:
        why = f": {stop.reason}" if stop.reason else ""
        if stop.scope == "mode":
            return self._when(stop.start), f"mode {stop.name}{why}"
        until = f"until {self._when(stop.end)}" if stop.end else "still down"
        return self._when(stop.start), f"{stop.name} down{why}, {until}"

    def _late(self, late: LateFound) -> Line:
        note = f": {late.note}" if late.note else ""
        count = "1 reading" if late.count == 1 else f"{late.count} readings"
        person = person_name(self._plant, late.person)
        written = f"{count} written at {self._when(late.written_at)} by {person}{note}"
        return self._when(late.taken_at), written

    def _correction(self, one: CorrectionFound) -> Line:
        before, after = one.before, one.after
        name, _ = self._read(after)
        person = person_name(self._plant, after.person)
        what = "withdrawn" if after.withdrawn else f"corrected to {self._answer_of(after)}"
        return (
            self._when(after.taken_at),
            f"{name}: {self._answer_of(before)} {what} by {person}: {after.why}",
        )

    def _answer_of(self, reading: Reading) -> str:
        if reading.reason is not None:
            return f"no reading ({describe_reason(reading.reason)})"
        return self._read(reading)[1]


def _touch(one: DeviationFound, other: DeviationFound) -> bool:
    a, b = one.found.run, other.found.run
    return a.start <= b.last_out and b.start <= a.last_out


def hours_text(span: timedelta) -> str:
    """A span in words: "6 h", "1.5 h", "40 min", "4 days"."""
    hours = span.total_seconds() / 3600
    if hours < 1:
        return f"{hours * 60:.0f} min"
    if hours >= 72:
        return f"{hours / 24:.0f} days"
    return f"{hours:.0f} h" if abs(hours - round(hours)) < 0.05 else f"{hours:.1f} h"
