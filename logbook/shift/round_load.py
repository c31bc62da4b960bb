"""Filling the form of a round from the book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from logbook.assess.limits import NOT_JUDGED, Judgement, classify, classify_choice
from logbook.plant.localtime import local_label
from logbook.plant.model import Computation, Plant, Point, PointKind
from logbook.plant.rounds import round_at
from logbook.record import Reader, Reading
from logbook.shift.answer import Entry
from logbook.shift.dues import Dues, read_once
from logbook.shift.duty import Duty
from logbook.shift.round_form import Field, LastReading, RoundForm, SavedReading
from logbook.shift.standing import carried_states
from logbook.shift.value_words import value_words

MOMENT = timedelta(seconds=1)
PAIR_DAYS = timedelta(days=7)


def load_form(book: Reader, plant: Plant, at: datetime, *, is_round: bool) -> RoundForm:
    """The form of the round due at `at`, or of readings taken at any other time.

    Limits and duty are those in force at `at`; what the book already holds for that time is
    shown as saved. Raises BookError where the book cannot be read.
    """
    # What a machine's state says is up to the form, where the state may be read anew.
    duty = replace(Duty.of(book, plant, at, at + MOMENT), standing={})
    mode = duty.mode_at(at)
    last = book.last_before([point.key for point in plant.points], at)
    saved = {r.point: r for r in book.readings(None, at, at + MOMENT)}
    taken_back = {r.point: r.id for r in book.withdrawn(at, at + MOMENT)}
    carried = carried_states(book, plant, last, at)
    rnd = round_at(plant.calendar, plant.settings, at)
    read = read_once(book, plant, rnd)
    asks = Dues(plant, duty).of_round(rnd, read) if is_round and rnd.at == at else set()
    fields = {
        point.key: _field(
            point,
            mode,
            last.get(point.key),
            saved.get(point.key),
            duty.why_not(point, at),
            carried=carried.get(point.key, ""),
            told=_told(point, plant.time_zone, read),
            due=point.key in asks,
            was=_was(book, plant, point, saved.get(point.key)),
            taken_back=taken_back.get(point.key),
        )
        for point in plant.points
    }
    return RoundForm(
        plant=plant,
        taken_at=at,
        round_at=at if is_round else None,
        mode=mode,
        fields=fields,
        counters_before={key: _last(reading) for key, reading in last.items()},
        pairs_before=_pairs_before(book, plant, last, at),
    )


def _pairs_before(
    book: Reader, plant: Plant, last: Mapping[str, Reading], at: datetime
) -> dict[str, dict[str, LastReading]]:
    """For each quotient of counters that were not last read together: when they last were."""
    found = {}
    for point in plant.points:
        formula = point.formula
        if formula is None or formula.computation is not Computation.PER_TONNE:
            continue
        times = {last[name].taken_at if name in last else None for name in formula.inputs}
        if len(times) > 1:
            found[point.key] = _read_together(book, formula.inputs, at)
    return found


def _read_together(book: Reader, keys: Sequence[str], at: datetime) -> dict[str, LastReading]:
    """The last counts of two counters at one instant, as far back as a week; none without."""
    counts: dict[str, dict[datetime, float]] = {key: {} for key in keys}
    for reading in book.readings(keys, at - PAIR_DAYS, at):
        if reading.value is not None:
            counts[reading.point][reading.taken_at] = reading.value
    both = set.intersection(*(set(counts[key]) for key in keys))
    if not both:
        return {}
    return {key: LastReading(max(both), counts[key][max(both)]) for key in keys}


def _told(point: Point, zone: str, read: Mapping[str, datetime]) -> str:
    """What an empty field that is not due says: how often it is read, and when it last was."""
    often = str(point.frequency)
    return f"{often}, read {local_label(read[point.key], zone)}" if point.key in read else often


def _field(
    point: Point,
    mode: str,
    last: Reading | None,
    saved: Reading | None,
    off: str,
    *,
    carried: str,
    told: str,
    due: bool,
    was: str,
    taken_back: int | None,
) -> Field:
    limits = point.limits_in(mode)
    field = Field(
        point=point,
        limits=limits,
        last=_last(last) if last is not None else None,
        due=due and not off,
        off_duty=off if saved is None else "",
        carried=carried,
        told=told,
        taken_back=taken_back,
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
    return replace(field, saved=_saved(saved, was), entry=entry)


def judge_reading(point: Point, mode: str, reading: Reading) -> Judgement:
    """How a reading of the book is judged by the point's limits in `mode`."""
    if reading.value is not None:
        return classify(reading.value, point.limits_in(mode))
    if reading.text is not None and point.kind in {PointKind.STATE, PointKind.CHECK}:
        return classify_choice(point, reading.text)
    return NOT_JUDGED


def _last(reading: Reading) -> LastReading:
    return LastReading(reading.taken_at, reading.value, reading.text)


def _was(book: Reader, plant: Plant, point: Point, reading: Reading | None) -> str:
    """What a corrected reading said before its last correction; empty for any other."""
    if reading is None or reading.replaces is None:
        return ""
    return value_words(plant, point, book.reading(reading.replaces))


def _saved(reading: Reading, was: str) -> SavedReading:
    return SavedReading(
        id=reading.id,
        value=reading.value,
        text=reading.text,
        reason=reading.reason,
        typed=reading.typed,
        person=reading.person,
        written_at=reading.written_at,
        late=reading.late,
        was=was,
    )
