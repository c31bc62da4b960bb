"""Filling the form of a round from the book."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from logbook.assess.limits import NOT_JUDGED, Judgement, classify, classify_choice
from logbook.plant.calendar import shift_at
from logbook.plant.model import Often, Plant, Point
from logbook.plant.rounds import Round, is_due, round_at
from logbook.record import Reader, Reading
from logbook.shift.answer import Entry
from logbook.shift.duty import Duty
from logbook.shift.round_form import Field, LastReading, RoundForm, SavedReading

MOMENT = timedelta(seconds=1)


def load_form(book: Reader, plant: Plant, at: datetime, *, is_round: bool) -> RoundForm:
    """The form of the round due at `at`, or of readings taken at any other time.

    Limits and duty are those in force at `at`; what the book already holds for that time is
    shown as saved. Raises BookError where the book cannot be read.
    """
    duty = Duty.of(book, plant, at, at + MOMENT)
    mode = duty.mode_at(at)
    keys = [point.key for point in plant.points]
    last = book.last_before(keys, at)
    saved = {r.point: r for r in book.readings(None, at, at + MOMENT)}
    rnd = round_at(plant.calendar, plant.settings, at)
    due = set(_due(book, plant, rnd)) if is_round and rnd.at == at else set()
    fields = {
        point.key: _field(
            point,
            mode,
            last.get(point.key),
            saved.get(point.key),
            duty.why_not(point, at),
            due=point.key in due,
        )
        for point in plant.points
    }
    counters = {key: _last(reading) for key, reading in last.items()}
    return RoundForm(
        plant=plant,
        taken_at=at,
        round_at=at if is_round else None,
        mode=mode,
        fields=fields,
        counters_before=counters,
    )


def _due(book: Reader, plant: Plant, rnd: Round) -> Iterable[str]:
    """Due by frequency; what is due once a shift or a day stays due until it is read."""
    hours, first = plant.settings.round_hours, plant.calendar.shifts[0].key
    day_start = rnd.shift.start
    while shift_at(plant.calendar, day_start).pattern != first:
        day_start = shift_at(plant.calendar, day_start - MOMENT).start
    since = {Often.SHIFT: rnd.shift.start, Often.DAY: day_start}
    rare = [p.key for p in plant.points if p.frequency.often in since and p.kind.is_typed]
    read: dict[str, datetime] = {}
    for reading in book.readings(rare, day_start, rnd.at):
        read[reading.point] = reading.taken_at
    for point in plant.points:
        start = since.get(point.frequency.often)
        if start is None or not point.kind.is_typed:
            if is_due(point, rnd, hours, first_shift_key=first):
                yield point.key
        elif point.key not in read or read[point.key] < start:
            yield point.key


def _field(
    point: Point, mode: str, last: Reading | None, saved: Reading | None, off: str, *, due: bool
) -> Field:
    limits = point.limits_in(mode)
    field = Field(
        point=point,
        limits=limits,
        last=_last(last) if last is not None else None,
        due=due and not off,
        off_duty=off if saved is None else "",
    )
    if saved is None:
        return field
    entry = Entry(
        typed=saved.typed,
        value=saved.value,
        text=saved.text,
        reason=saved.reason,
        judgement=judge_reading(point, mode, saved) if not off else NOT_JUDGED,
    )
    return replace(field, saved=_saved(saved), entry=entry)


def judge_reading(point: Point, mode: str, reading: Reading) -> Judgement:
    """How a reading of the book is judged by the point's limits in `mode`."""
    if reading.value is not None:
        return classify(reading.value, point.limits_in(mode))
    if reading.text is not None and point.choices:
        return classify_choice(point, reading.text)
    return NOT_JUDGED


def _last(reading: Reading) -> LastReading:
    return LastReading(reading.taken_at, reading.value, reading.text)


def _saved(reading: Reading) -> SavedReading:
    return SavedReading(
        id=reading.id,
        value=reading.value,
        text=reading.text,
        reason=reading.reason,
        typed=reading.typed,
        person=reading.person,
        written_at=reading.written_at,
        late=reading.late,
        corrected=reading.replaces is not None,
    )
