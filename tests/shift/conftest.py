"""The plant of two mills, forms of it without a book, and real books of it."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.file import read_plant
from logbook.plant.localtime import to_utc
from logbook.record import (
    NewCredential,
    NewHandoverNote,
    NewReading,
    NewResponse,
    Ref,
    create_book,
)
from logbook.shift.access import Door
from logbook.shift.dues import Dues
from logbook.shift.duty import Duty
from logbook.shift.handover import compose
from logbook.shift.handover_json import canonical
from logbook.shift.round_form import Field, LastReading, RoundForm
from logbook.shift.secret_rules import hashed
from logbook.shift.signed_state import signed_state
from logbook.shift.signing import (
    answer_subject,
    prepare,
    sign_incoming,
    sign_outgoing,
    subjects_to_read,
)

ZONE = "America/Chicago"
PAIR = Path(__file__).parents[1] / "data" / "plants" / "pair.toml"
BEGUN = to_utc(date(2026, 3, 1), time(6), ZONE)
ROUND = to_utc(date(2026, 3, 2), time(14), ZONE)

QUIET = {
    "gap.m1": 0.35,
    "gap.m2": 0.35,
    "pressure": -80.0,
    "moisture": 12.0,
    "dip": 1.2,
    "bed": "even",
}
"""Answers with which nothing is wrong; counters are added by `Desk.round`."""


def local(text: str) -> datetime:
    """The instant of "03-02 14:00" in the plant's local time of 2026."""
    day, clock = text.split()
    month, number = day.split("-")
    return to_utc(date(2026, int(month), int(number)), time.fromisoformat(clock), ZONE)


@pytest.fixture(scope="session")
def plant():
    """The plant of two mills."""
    return read_plant(PAIR)


@pytest.fixture
def at():
    """What turns a local time such as "03-02 14:00" into an instant."""
    return local


@pytest.fixture(scope="session")
def make_form(plant):
    """Makes a form of the 14:00 round without a book; `last` by point key, two hours before."""

    def make(last=None, mode="normal", saved=None, of=plant, off=None, carried=None):
        off, carried = off or {}, carried or {}
        before = {k: LastReading(ROUND - timedelta(hours=2), v) for k, v in (last or {}).items()}
        fields = {
            point.key: Field(
                point=point,
                limits=point.limits_in(mode),
                last=before.get(point.key),
                saved=(saved or {}).get(point.key),
                due=str(point.frequency) != "on sample" and point.kind.is_typed,
                off_duty=off.get(point.key, ""),
                carried=carried.get(point.key, ""),
            )
            for point in of.points
        }
        return RoundForm(
            plant=of,
            taken_at=ROUND,
            round_at=ROUND,
            mode=mode,
            fields=fields,
            counters_before=before,
        )

    return make


@pytest.fixture
def form(make_form):
    """A form of the 14:00 round with counters read two hours before."""
    return make_form(last={"feed": 1000.0, "solvent": 500.0, "gap.m1": 0.34})


@pytest.fixture
def book(tmp_path, plant, clock):
    """A real book begun on Sunday, 1 March, 06:00 local; the clock then shows that."""
    clock.set(BEGUN)
    made = create_book(
        tmp_path / "pair.logbook", plant, clock=clock, person="head", reason="book begun"
    )
    yield made
    made.close()


class Crew:
    """Writes rounds into a book as a crew would, ten minutes after they are due."""

    def __init__(self, book, clock):
        self.book, self.clock = book, clock

    def reading(self, key, when, answer, round_at=None, **more):
        """A new reading of a number, an answer or, with a leading "!", a reason."""
        if isinstance(answer, str) and answer.startswith("!"):
            return NewReading(key, when, reason=answer[1:], round_at=round_at, **more)
        if isinstance(answer, str):
            return NewReading(key, when, text=answer, typed=answer, round_at=round_at, **more)
        return NewReading(
            key, when, value=float(answer), typed=str(answer), round_at=round_at, **more
        )

    def round(
        self, when, answers=None, *, without=(), person="op1", after_min=10, note="", done=None
    ):
        """Write a round: quiet answers, changed by `answers`; `done` are responses by key."""
        hours = int((when - BEGUN).total_seconds() // 3600)
        counts = {"feed": 1000.0 + 60 * hours, "solvent": 500.0 + 50 * hours}
        every_4_h = hours % 4 == 0
        given = {**QUIET, **counts, **(answers or {})}
        rows = []
        mode = self.book.mode_at(when)
        for key, answer in given.items():
            left_out = key == "pressure" and not every_4_h and key not in (answers or {})
            if key in without or left_out:
                continue
            rows.append(self.reading(key, when, answer, round_at=when, mode=mode))
            if done and key in done:
                place = Ref(len(rows) - 1)
                rows.append(NewResponse(reading=place, text=done[key], at=when))
        self.clock.set(max(self.clock.now, when + timedelta(minutes=after_min)))
        return self.book.write(person, rows, kind="round", note=note)

    def shift(self, start, changes=None, *, skip=(), states=True):
        """Write the six rounds of a shift that starts at `start`; changes by local clock."""
        for k in range(6):
            when = start + timedelta(hours=2 * k)
            clock = f"{when.astimezone(UTC) - timedelta(hours=6):%H:%M}"
            if clock in skip:
                continue
            answers = dict((changes or {}).get(clock, {}))
            if k == 0 and states:
                answers = {"state.m1": "running", "state.m2": "running", **answers}
                if clock == "06:00":
                    answers = {"magnets": "done", **answers}
            self.round(when, answers)


@pytest.fixture
def crew(book, clock):
    """Writes rounds into `book`."""
    return Crew(book, clock)


@pytest.fixture
def dues_of(book, plant):
    """Keys due in a round of the book, by its instant."""
    from logbook.plant.rounds import round_at

    def due(when, read=()):
        duty = Duty.of(book, plant, when, when + timedelta(seconds=1))
        return Dues(plant, duty).of_round(round_at(plant.calendar, plant.settings, when), read)

    return due


# -- handing a shift over -----------------------------------------------------------------

SECRETS = {"op1": "271834", "op2": "902615", "head": "beans roll under rain"}


@pytest.fixture(scope="session")
def secret_hashes():
    """Hashes of the secrets of three people: made once, since making one takes its time."""
    return {person: hashed(secret) for person, secret in SECRETS.items()}


class HandoverDesk:
    """The two crews of a book at the change of one shift, and the supervisor after it."""

    secrets = SECRETS

    def __init__(self, book, clock, shift):
        self.book, self.clock, self.shift = book, clock, shift
        self.door = Door(book, monotonic=lambda: 0.0)
        self.printed = []

    def print(self, document):
        """Stand in for the printer: keeps what it was given, gives some bytes."""
        self.printed.append(document)
        return canonical(document).encode()

    def say_nothing(self, person="op1"):
        """Say in so many words that there is no safety state and nothing for the next shift."""
        day, key = self.shift.date, self.shift.pattern
        rows = [NewHandoverNote(day, key, part, "none") for part in ("no_safety", "no_next")]
        self.book.write(person, rows, kind="handover")

    def ready(self):
        """Go to ten minutes before the end of the shift, where it is not later."""
        self.clock.set(max(self.clock.now, self.shift.end - timedelta(minutes=10)))
        return prepare(self.book, self.shift, self.clock.now)

    def hand_over(self, person="op1", secret=None, *, prepared=None, printer=None):
        """Sign for the outgoing crew."""
        return sign_outgoing(
            self.book,
            self.door,
            prepared or self.ready(),
            person,
            SECRETS[person] if secret is None else secret,
            printer or self.print,
        )

    def read_all(self, person="op2", answer="accepted"):
        """Answer every subject alike."""
        for subject in self.subjects():
            answer_subject(self.book, self.shift, person, subject.key, answer, "why?")

    def subjects(self):
        """What there is to be read."""
        return subjects_to_read(self.book, self.shift, self.clock.now)

    def take_over(self, person="op2", secret=None, *, printer=None):
        """Sign for the incoming crew, five minutes after the outgoing."""
        self.clock.advance(minutes=5)
        secret = SECRETS[person] if secret is None else secret
        return sign_incoming(
            self.book, self.door, self.shift, person, secret, printer or self.print
        )

    def state(self):
        """How the handover stands."""
        return signed_state(self.book, self.shift, self.clock.now)

    def compose(self, now=None):
        """The handover as it would be put together now."""
        return compose(self.book, self.shift, now or self.clock.now)


@pytest.fixture
def desk(book, plant, clock, at, secret_hashes):
    """The change of the day shift of 2 March, everybody with a secret."""
    for person, hash_ in secret_hashes.items():  # each their own: a given one signs nothing
        row = NewCredential(person, "password" if person == "head" else "pin", hash_)
        book.write(person, [row], kind="access")
    return HandoverDesk(book, clock, shift_at(plant.calendar, at("03-02 06:00")))
