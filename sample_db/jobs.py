"""Everything that is written into the book, in the order of writing.

A job knows when it is written and makes its page only when its turn comes, so that half a
million rows never stand in memory together. Rows that name a row of an earlier page need its
id: ids of a seat count upwards in each table, so they are known as soon as the order is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial

from logbook.plant.calendar import shift_at
from logbook.plant.model import Point
from logbook.record import NewEntry, NewModeChange, NewReading, NewResponse, NewRow, NewSample
from logbook.record.links import Ref
from logbook.record.numbers import SEAT_SHIFT
from logbook.record.rows import NewStatus, Page
from sample_db.entries import LogEntry
from sample_db.habits import Sheets
from sample_db.missing import REASONS, SKIPPED, WORDS
from sample_db.outages import ModeSpan, Outage
from sample_db.rota import Rota
from sample_db.samples import LabSample
from sample_db.slips import Slip, slips_by_round
from sample_db.verdicts import Answer, Verdicts


@dataclass(order=True, slots=True)
class Job:
    """A page to write at `at`; `turn` orders pages of the same instant."""

    at: datetime
    turn: int
    make: Callable[[Ledger], Page | None] = field(compare=False)


class Ledger:
    """Ids of rows already written that later rows name."""

    def __init__(self, seat: int) -> None:
        self._first = (seat << SEAT_SHIFT) + 1
        self._counts = {NewReading: 0, NewSample: 0}
        self.readings: dict[tuple[int, int], int] = {}
        """(round, column) to the id of its reading, for what is named later."""
        self.samples: dict[str, int] = {}

    def next_id(self, kind: type) -> int:
        """Id that the next row of a kind will get."""
        return self._first + self._counts[kind]

    def count(self, page: Page) -> None:
        """Take the rows of a page that is about to be written into account."""
        for row in page.rows:
            kind = type(row)
            if kind in self._counts:
                self._counts[kind] += 1


class RoundPages:
    """Makes the pages of rounds, of their corrections and of responses written later."""

    def __init__(self, sheets: Sheets, verdicts: Verdicts, plant_names: dict[str, str]) -> None:
        self._sheets, self._verdicts, self._names = sheets, verdicts, plant_names
        self._wrong = slips_by_round(sheets.slips)
        self._has_row = sheets.due & (sheets.absent != SKIPPED)
        self._formats = [f"%.{p.decimals}f" for p in sheets.points]
        self._choices = [[(c.key, c.name) for c in p.choices] for p in sheets.points]
        self._keys = [p.key for p in sheets.points]
        self._kinds = [_kind(p) for p in sheets.points]

    def jobs(self, rota: Rota) -> Iterator[Job]:
        """All jobs that come of rounds."""
        sheets = self._sheets
        for place in range(len(sheets.table.rounds)):
            if self._has_row[place].any():
                yield Job(sheets.written_at(place), 5, partial(self.page, place))
        later: dict[int, list[Answer]] = {}
        for answers in self._verdicts.answers.values():
            for answer in answers:
                if answer.later:
                    later.setdefault(answer.place, []).append(answer)
        for place, some in later.items():
            at = max(answer.at for answer in some)
            yield Job(at, 7, partial(self._respond, place, some))
        yield from self._corrections(rota)

    def page(self, place: int, ledger: Ledger) -> Page | None:
        """The page of a round."""
        sheets = self._sheets
        due_at, mode = sheets.table.rounds[place].at, sheets.table.modes[place]
        values, absent = sheets.values[place].tolist(), sheets.absent[place].tolist()
        answers, wrong = sheets.answers[place].tolist(), self._wrong.get(place, {})
        rows: list[NewRow] = []
        where: dict[int, int] = {}
        for j in self._has_row[place].nonzero()[0].tolist():
            where[j] = len(rows)
            key, code = self._keys[j], absent[j]
            if code:
                reason = sheets.words.get(place, "") if code == WORDS else REASONS[code]
                rows.append(NewReading(key, due_at, reason=reason, round_at=due_at, mode=mode))
            elif self._kinds[j] == "number":
                value = wrong.get(j, values[j])
                typed = self._typed(j, value, slipped=j in wrong)
                rows.append(NewReading(key, due_at, value, None, None, typed, due_at, mode))
            else:
                text, typed = self._words(j, answers[j], place)
                rows.append(NewReading(key, due_at, None, text, None, typed, due_at, mode))
        self._remember(place, where, ledger)
        rows += [
            NewResponse(Ref(where[answer.column]), answer.text, answer.at)
            for answer in self._verdicts.answers.get(place, ())
            if not answer.later and answer.column in where
        ]
        return Page(sheets.people[place], rows, "round")

    def _typed(self, column: int, value: float, *, slipped: bool) -> str:
        """The text of a number; a misplaced point may leave more decimals than the point has."""
        text = self._formats[column] % value
        return text if not slipped or float(text) == value else f"{value:g}"

    def _words(self, column: int, answer: int, place: int) -> tuple[str, str]:
        if self._kinds[column] == "choice":
            key, _ = self._choices[column][answer]
            return key, key
        text = self._names[str(self._sheets.table.rounds[place].at.toordinal() % 2)]
        return text, text

    def _remember(self, place: int, where: dict[int, int], ledger: Ledger) -> None:
        first = ledger.next_id(NewReading)
        named = set(self._wrong.get(place, ()))
        named |= {a.column for a in self._verdicts.answers.get(place, ()) if a.later}
        for column in named & set(where):
            ledger.readings[place, column] = first + where[column]

    def _respond(self, place: int, some: list[Answer], ledger: Ledger) -> Page | None:
        rows: list[NewRow] = [
            NewResponse(ledger.readings[place, a.column], a.text, a.at)
            for a in some
            if (place, a.column) in ledger.readings
        ]
        return Page(self._sheets.people[place], rows, "response") if rows else None

    def _corrections(self, rota: Rota) -> Iterator[Job]:
        together: dict[tuple[int, float], list[Slip]] = {}
        for slip in self._sheets.slips:
            if slip.minutes is not None:
                together.setdefault((slip.place, slip.minutes), []).append(slip)
        for (place, minutes), slips in together.items():
            at = self._sheets.written_at(place) + timedelta(minutes=round(minutes))
            yield Job(at, 8, partial(self._correct, place, slips, rota))

    def _correct(self, place: int, slips: list[Slip], rota: Rota, ledger: Ledger) -> Page | None:
        sheets = self._sheets
        rows: list[NewRow] = []
        this = sheets.table.rounds[place]
        for slip in slips:
            value = float(sheets.values[place, slip.column])
            rows.append(
                NewReading(
                    self._keys[slip.column], this.at, value,
                    typed=self._formats[slip.column] % value, round_at=this.at,
                    mode=sheets.table.modes[place], why=slip.why,
                    replaces=ledger.readings[place, slip.column],
                )
            )  # fmt: skip
        by_lead = (slips[0].minutes or 0.0) > 300.0
        person = rota.lead(this.shift.crew) if by_lead else sheets.people[place]
        return Page(person, rows, "correction")


def _kind(point: Point) -> str:
    return "choice" if point.choices else "number" if point.kind.is_numeric else "text"


def lab_jobs(samples: list[LabSample], verdicts: Verdicts) -> Iterator[Job]:
    """A page when a sampling walk is back and one for each lot of results."""
    walks: dict[tuple[datetime, str], list[LabSample]] = {}
    lots: dict[tuple[datetime, str], list[LabSample]] = {}
    for sample in samples:
        walks.setdefault((sample.registered_at, sample.sampler), []).append(sample)
        if sample.found:
            lots.setdefault((sample.result_at, sample.analyst), []).append(sample)
    for (at, person), some in walks.items():
        yield Job(at, 1, partial(_register, person, some))
    for (at, person), some in lots.items():
        yield Job(at, 2, partial(_results, person, some, verdicts))


def _register(person: str, samples: list[LabSample], ledger: Ledger) -> Page | None:
    rows: list[NewRow] = []
    for sample in samples:
        ledger.samples[sample.label] = ledger.next_id(NewSample) + len(rows)
        rows.append(NewSample(sample.taken_at, sample.sampling_point, sample.label))
    return Page(person, rows, "sample")


def _results(
    person: str, samples: list[LabSample], verdicts: Verdicts, ledger: Ledger
) -> Page | None:
    rows: list[NewReading] = []
    done: list[NewResponse] = []
    for sample in samples:
        where = ledger.samples[sample.label]
        for key, value in sample.found.items():
            said = verdicts.lab_answers.get((sample.label, key))
            if said:
                done.append(NewResponse(Ref(len(rows)), said, sample.result_at))
            rows.append(_finding(sample, key, value, where))
    return Page(person, [*rows, *done], "lab")


def _finding(sample: LabSample, key: str, value: float, where: int) -> NewReading:
    typed, mode = f"{value:g}", sample.mode
    return NewReading(key, sample.taken_at, value, typed=typed, mode=mode, sample=where)


def event_jobs(
    entries: list[LogEntry], outages: tuple[Outage, ...], modes: list[ModeSpan], rota: Rota
) -> Iterator[Job]:
    """Log entries, downtime and mode changes."""
    for number, entry in enumerate(entries):
        row = NewEntry(entry.at, entry.text, entry.kind, entry.area, entry.equipment)
        at = entry.at + timedelta(minutes=3 + number % 9, seconds=number % 59)
        yield Job(at, 3, partial(_page, entry.person, [row]))
    grouped: dict[tuple[datetime, str], list[NewStatus]] = {}
    for outage in outages:
        down = NewStatus(outage.scope, outage.target, outage.start, "down", outage.reason)
        grouped.setdefault((outage.start, "down"), []).append(down)
        up = NewStatus(outage.scope, outage.target, outage.end, "up")
        grouped.setdefault((outage.end, "up"), []).append(up)
    for (at, _), rows in grouped.items():
        yield Job(at + timedelta(minutes=2), 0, partial(_page, _lead(rota, at), rows))
    for span in modes[1:]:
        change = NewModeChange(span.start, span.mode, span.reason)
        at = span.start + timedelta(minutes=2, seconds=30)
        yield Job(at, 0, partial(_page, _lead(rota, span.start), [change]))


def _lead(rota: Rota, at: datetime) -> str:
    return rota.lead(shift_at(rota.plant.calendar, at).crew)


def _page(person: str, rows: Sequence[NewRow], _ledger: Ledger) -> Page:
    return Page(person, rows, "event")


__all__ = ["Job", "Ledger", "RoundPages", "event_jobs", "lab_jobs"]
