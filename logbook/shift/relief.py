"""Relief during a shift: one person hands the watch of an area, or of the shift, to another.

A light form of the handover: whoever goes says so and why, and signs; whoever comes reads the open
matters one by one and signs; until then the first stays in charge. Nothing is frozen or printed on
its own: both steps are entries of the log, and so stand on the timeline and in the handover. Answers
are kept as checks whose subject names the entry ("relief:17:safety:3").
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from logbook.assess.limits import Severity
from logbook.plant.calendar import shift_at
from logbook.plant.model import Plant
from logbook.record import (
    Book,
    NewEntry,
    NewHandoverCheck,
    NewRow,
    SafetyState,
    SavedPage,
)
from logbook.record.rows_handover import CheckAnswer
from logbook.shift.access import Door
from logbook.shift.exceptions import exceptions_of
from logbook.shift.reliefs import (
    OFFERED,
    STAYED,
    SUBJECT,
    TAKEN,
    Relief,
    open_reliefs,
    place_words,
    relief_of,
)
from logbook.shift.roles import Deed, may
from logbook.shift.signing import SigningRefused
from logbook.shift.subjects import Subject, safety_key
from logbook.shift.words import person_name, point_name

PAGE_KIND = "relief"
Answers = Mapping[str, tuple[CheckAnswer, str]]
"""By key of a subject: read and accepted, or asked with the question."""


def to_read(book: Book, plant: Plant, area: str | None, now: datetime) -> tuple[Subject, ...]:
    """What whoever comes reads one by one: safety states, action deviations, open items.

    Of an area, what concerns it or the whole plant.
    """

    def concerns(where: str | None) -> bool:
        return area is None or where is None or where == area

    shift = shift_at(plant.calendar, now)
    found = exceptions_of(book, shift, now)
    states = [s for s in book.safety_states(now) if concerns(s.area)]
    items = [item for item in book.open_items(now) if concerns(item.area)]
    acting = [
        one
        for one in found.deviations
        if one.is_open
        and one.judgement.severity is Severity.ACTION
        and not one.follows
        and concerns(one.found.point.area)
    ]
    return (
        *(_safety(state) for state in states),
        *(
            Subject(
                f"deviation:{one.found.point.key}",
                point_name(plant, one.found.point),
                f"Outside its action limit. Done: {'; '.join(one.responses) or 'nothing written'}.",
            )
            for one in acting
        ),
        *(Subject(f"item:{item.id}", f"Open item: {item.text}", "") for item in items),
    )


def offer(
    book: Book, door: Door, person: str, secret: str, area: str | None, reason: str
) -> SavedPage:
    """Hand the watch over, and sign that. The person stays in charge until somebody takes over.

    Raises SigningRefused, other BookErrors; then nothing is written.
    """
    plant, now = book.plant_at(book.now()), book.now()
    _refuse(_may_not(plant, person))
    _refuse("" if reason.strip() else "Say why, such as: meal break.")
    place = place_words(plant, area)

    def guard() -> None:
        same = [one for one in open_reliefs(book, plant, now) if one.area == area]
        _refuse(f"The relief of {place} is offered already; take it over." if same else "")

    guard()
    _prove(door, person, secret, "relief")
    text = f"{person_name(plant, person)} hands over {place}: {reason.strip()}"
    row = NewEntry(_minute(now), text, OFFERED, area)
    return book.write(person, [row], kind=PAGE_KIND, guard=guard)


def take(
    book: Book, door: Door, relief: Relief, person: str, secret: str, answers: Answers
) -> SavedPage:
    """Take the watch over: every matter read and accepted or asked about, and signed.

    Raises SigningRefused (also where another window was quicker), other BookErrors.
    """
    plant, now = book.plant_at(book.now()), book.now()
    _refuse(_may_not(plant, person))
    name, first = person_name(plant, person), person_name(plant, relief.outgoing)
    if person == relief.outgoing:
        _refuse(f"{name} hands over; somebody else must take over.")
    subjects = to_read(book, plant, relief.area, now)
    left = [subject.title for subject in subjects if subject.key not in answers]
    _refuse(f"Read first, and accept it or ask: {left[0]}." if left else "")
    _prove(door, person, secret, "relief taken over")
    place = place_words(plant, relief.area)
    rows: list[NewRow] = [
        _check(plant, relief, f":{subject.key}", *answers[subject.key]) for subject in subjects
    ]
    rows.append(_check(plant, relief, "", "accepted", ""))
    text = f"{name} has taken over {place} from {first}"
    rows.append(NewEntry(_minute(now), text, TAKEN, relief.area))
    return book.write(person, rows, kind=PAGE_KIND, guard=_still_open(book, plant, relief))


def withdraw(book: Book, person: str, relief: Relief) -> SavedPage:
    """Whoever offered it stays after all. Raises SigningRefused, other BookErrors."""
    plant, now = book.plant_at(book.now()), book.now()
    if person != relief.outgoing:
        _refuse(f"Only {person_name(plant, relief.outgoing)} can stay after all.")
    text = f"{person_name(plant, person)} stays at {place_words(plant, relief.area)} after all"
    rows: list[NewRow] = [
        _check(plant, relief, "", "read", ""),
        NewEntry(_minute(now), text, STAYED, relief.area),
    ]
    return book.write(person, rows, kind=PAGE_KIND, guard=_still_open(book, plant, relief))


def _still_open(book: Book, plant: Plant, relief: Relief) -> Callable[[], None]:
    def guard() -> None:
        found = relief_of(book, plant, book.history_of_entry(relief.id)[0])
        who = person_name(plant, found.incoming) if found.incoming else "Nobody"
        _refuse("" if found.is_open else f"{who} has taken over already; look at the timeline.")

    return guard


def _check(
    plant: Plant, relief: Relief, subject: str, answer: CheckAnswer, text: str
) -> NewHandoverCheck:
    shift = shift_at(plant.calendar, relief.at)
    key = f"{SUBJECT}{relief.id}{subject}"
    return NewHandoverCheck(shift.date, shift.pattern, key, answer, text)


def _safety(state: SafetyState) -> Subject:
    who = f"Authorised by {state.authorised_by}." if state.authorised_by else ""
    return Subject(safety_key(state.id), f"{state.kind.capitalize()}: {state.what}", who)


def _may_not(plant: Plant, key: str) -> str:
    person = next((one for one in plant.people if one.key == key), None)
    if person is None:
        return "Only people of the plant hand over or take over; sign on first (F3)."
    return may(person.role, Deed.HAND_OVER)


def _prove(door: Door, person: str, secret: str, what_for: str) -> None:
    answer = door.check(person, secret, what_for=what_for)
    _refuse("" if answer.is_right else answer.message)


def _minute(at: datetime) -> datetime:
    """The log's times are to the minute; the page holds the second."""
    return at.replace(second=0, microsecond=0)


def _refuse(why: str) -> None:
    if why:
        raise SigningRefused(why)
