"""Signing on: PINs and passwords against the book, wrong tries slowed down and kept.

Everything that happens at the door is written in the book: wrong tries, locks, signing on and
off, new secrets. What is told of a wrong try is the same whether the name or the secret was
wrong, and it takes as long.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from hashlib import sha256

from logbook.plant.model import Person, Plant, Role
from logbook.record import Book, Credential, NewAccess, NewCredential, NewRow, WriteRefused
from logbook.record.instants import EPOCH
from logbook.record.numbers import SEAT_SHIFT
from logbook.record.rows_journal import AccessKind
from logbook.shift.roles import Deed, NotAllowed, may, may_give_secret, require
from logbook.shift.secret_rules import fault_of, hashed, is_outdated, kind_for, matches, tidy
from logbook.shift.throttle import (
    LOCK_AT,
    LOCK_SECONDS,
    Standing,
    Throttle,
    Try,
    standing_of,
    wait_after,
    wait_words,
)

PAGE_KIND = "access"
FAR_AHEAD = timedelta(days=36500)
"""Tries are looked for so far ahead of now: a clock that was set back hides none."""

WRONG_WORDS = "The name or the PIN or password is not right."


@dataclass(frozen=True, slots=True)
class Answer:
    """What the door answers: who it is, or None and why not, and how long to wait for a retry."""

    person: Person | None
    message: str = ""
    wait_s: float = 0.0
    must_change: bool = False
    """True where somebody else knows the secret, or it is a PIN and the role wants a password."""

    @property
    def is_right(self) -> bool:
        """True where the secret was the person's own."""
        return self.person is not None


class Door:
    """Lets people in. One for each open book: it measures the waits that tries have earned."""

    def __init__(self, book: Book, *, monotonic: Callable[[], float] = time.monotonic) -> None:
        """A door to `book`; `monotonic` gives seconds that nobody can set."""
        self._book = book
        self._throttle = Throttle(monotonic)

    # -- who there is ---------------------------------------------------------------------

    def people(self) -> tuple[Person, ...]:
        """Everybody the plant has now, whether they have a secret yet or not."""
        return self._plant().people

    def person(self, key: str) -> Person | None:
        """The person with this key; None where the plant has them no longer, or never had."""
        return next((one for one in self.people() if one.key == key), None)

    def has_secret(self, key: str) -> bool:
        """True where the person has been given a PIN or a password."""
        return self._book.credential(key) is not None

    def wants_first_engineer(self) -> bool:
        """True as long as no engineer can sign on: then anybody may become the first one."""
        return not any(
            one.role is Role.ENGINEER and self.has_secret(one.key) for one in self.people()
        )

    # -- trying ---------------------------------------------------------------------------

    def wait_of(self, key: str) -> float:
        """Seconds until the person may try again; 0 where it may be at once."""
        name = _name_of(self.person(key), key)
        return self._throttle.left(name, self._standing(name), self._book.now())

    def check(self, key: str, secret: str, *, what_for: str) -> Answer:
        """Whether `secret` is the person's, for a signature. A wrong try is written and slowed.

        `what_for` stands in the book beside a right try that ends wrong ones. Raises BookError
        where the book cannot be written: then nobody is let in.
        """
        answer = self._try(key, secret)
        if answer.person is not None and self._standing(answer.person.key).count:
            self._note(answer.person.key, "signed_on", what_for)
        return answer

    def sign_on(self, key: str, secret: str) -> Answer:
        """Let a person in, and write it. Raises BookError as `check` does."""
        answer = self._try(key, secret)
        person = answer.person
        if person is None:
            return answer
        rows: list[NewRow] = [NewAccess(person.key, self._book.now(), "signed_on")]
        stored = self._book.credential(person.key)
        if stored is not None and is_outdated(stored.hash):
            rows.append(NewCredential(person.key, kind_for(person.role), hashed(secret)))
        self._book.write(person.key, rows, kind=PAGE_KIND)
        return answer

    def sign_off(self, key: str, why: str = "") -> None:
        """Write that a person goes; `why` such as "idle" or "another person". Raises BookError."""
        self._note(key, "signed_off", why)

    def _try(self, key: str, secret: str) -> Answer:
        person, now = self.person(key), self._book.now()
        name = _name_of(person, key)
        standing = self._standing(name)
        wait = self._throttle.left(name, standing, now)
        if wait > 0:
            return Answer(None, _wait_message(standing, wait), wait)
        stored = self._book.credential(name)
        if matches(stored.hash if stored is not None else None, secret):
            return Answer(person, must_change=_must_change(person, stored))
        return self._wrong(name, standing.count + 1, now)

    def _wrong(self, name: str, count: int, now: datetime) -> Answer:
        rows: list[NewRow] = [NewAccess(name, now, "wrong", f"try {count} in a row")]
        if count >= LOCK_AT:
            rows.append(NewAccess(name, now, "locked", f"for {wait_words(LOCK_SECONDS)}"))
        self._book.write(name, rows, kind=PAGE_KIND)
        standing = self._standing(name)
        wait = self._throttle.left(name, standing, now)
        if not wait:
            return Answer(None, f"{WRONG_WORDS} Try again.")
        return Answer(None, f"{WRONG_WORDS} {_wait_message(standing, wait)}", wait)

    def _standing(self, name: str) -> Standing:
        found = self._book.access_events(name, EPOCH, self._book.now() + FAR_AHEAD)
        return standing_of(Try(e.id, e.id >> SEAT_SHIFT, e.at, e.kind) for e in found)

    # -- giving secrets -------------------------------------------------------------------

    def first_engineer(self, name: str, secret: str) -> Person:
        """Make the book's first engineer: somebody the plant has as one, or somebody new.

        Raises NotAllowed where there is one already, WriteRefused for a name or password that is
        not taken, BookError.
        """
        if not self.wants_first_engineer():
            msg = "The book has an engineer already; ask them to enter more people."
            raise NotAllowed(msg)
        words = " ".join(name.split())
        if not words:
            msg = "The first engineer needs a name; type it."
            raise WriteRefused(msg)
        known = next((p for p in self.people() if words.casefold() == p.name.casefold()), None)
        person = known or Person(_key_for(words, self._plant()), words)
        person = replace(person, role=Role.ENGINEER)
        _require_good(person, secret)
        self._enter(person.key, person, "first engineer of the book")
        self._give(person.key, person, secret)
        return person

    def enrol(self, by: str, person: Person, secret: str) -> None:
        """Enter a new person with a first secret, by an engineer who has signed on.

        A key that ever was somebody's is not given to another. Raises NotAllowed, WriteRefused,
        BookError.
        """
        require(self._known(by).role, Deed.DEFINE)
        if self.person(person.key) is not None or self.has_secret(person.key):
            msg = f"There is a person {person.key} already; choose another key."
            raise WriteRefused(msg)
        _require_good(person, secret)
        self._enter(by, person, f"{person.name} entered as {person.role.value}")
        self._give(by, person, secret)

    def give(self, by: str, to: str, secret: str) -> None:
        """Give somebody a new secret, which ends their lock. `by` has signed on.

        Whoever has none yet may give themselves the first one, but for engineers. Raises
        NotAllowed, WriteRefused, BookError.
        """
        giver, taker = self._known(by), self._known(to)
        refused = may_give_secret(giver, taker)
        if by == to and self.has_secret(by):
            refused = "To change your own PIN or password the old one is needed; change it instead."
        elif by == to and giver.role is Role.ENGINEER:
            refused = "An engineer's first password is given by another engineer; ask one."
        if refused:
            raise NotAllowed(refused)
        _require_good(taker, secret)
        self._give(by, taker, secret)

    def change(self, key: str, old: str, new: str) -> Answer:
        """Change one's own secret. Raises WriteRefused for one that is not taken, BookError."""
        answer = self._try(key, old)
        if answer.person is not None:
            if tidy(new) == tidy(old):
                msg = "The new one is the old one; choose another."
                raise WriteRefused(msg)
            _require_good(answer.person, new)
            self._give(key, answer.person, new)
        return answer

    def _give(self, by: str, person: Person, secret: str) -> None:
        kind, told = kind_for(person.role), "" if by == person.key else f"given by {by}"
        if not told and not self.has_secret(by):
            told = "first, chosen at the first sign-on"
        rows: list[NewRow] = [
            NewCredential(person.key, kind, hashed(secret)),
            NewAccess(person.key, self._book.now(), "changed", told),
        ]
        self._book.write(by, rows, kind=PAGE_KIND)

    def _enter(self, by: str, person: Person, reason: str) -> None:
        plant = self._plant()
        if person in plant.people:
            return
        people = [person if one.key == person.key else one for one in plant.people]
        if person not in people:
            people.append(person)
        self._book.revise(
            by,
            replace(plant, people=tuple(people)),
            effective_from=self._book.now(),
            reason=reason,
        )

    # -- inside ---------------------------------------------------------------------------

    def _plant(self) -> Plant:
        return self._book.plant_at(self._book.now())

    def _known(self, key: str) -> Person:
        person = self.person(key)
        if person is None:
            msg = f"The plant has nobody called {key} now; choose somebody it has."
            raise NotAllowed(msg)
        return person

    def _note(self, name: str, kind: AccessKind, detail: str) -> None:
        row = NewAccess(name, self._book.now(), kind, detail)
        self._book.write(name, [row], kind=PAGE_KIND)


def _name_of(person: Person | None, typed: str) -> str:
    """The key tries are kept under. Of an unknown name only a digest: it may be a password."""
    if person is not None:
        return person.key
    digest = sha256(typed.strip().casefold().encode()).hexdigest()
    return f"unknown-{digest[:8]}"


def _must_change(person: Person | None, stored: Credential | None) -> bool:
    if person is None or stored is None:
        return False
    return stored.written_by != person.key or stored.kind != kind_for(person.role)


def _wait_message(standing: Standing, wait: float) -> str:
    if standing.count >= LOCK_AT:
        return (
            f"Locked after {standing.count} wrong tries in a row: try again in "
            f"{wait_words(wait)}, or ask a supervisor or an engineer for a new PIN or password."
        )
    return f"Wait {wait_words(wait)} before the next try."


def _require_good(person: Person, secret: str) -> None:
    fault = fault_of(person, secret)
    if fault:
        raise WriteRefused(fault)


def _key_for(name: str, plant: Plant) -> str:
    """A key made of a name, as plant files write them, that nobody has."""
    plain = "".join(c if c.isascii() and c.isalnum() else "_" for c in name.casefold()).strip("_")
    stem = "_".join(part for part in plain.split("_") if part) or "engineer"
    taken = {person.key for person in plant.people}
    tried = [stem, *(f"{stem}_{number}" for number in range(2, len(taken) + 3))]
    return next(key for key in tried if key not in taken)


__all__ = ["Answer", "Deed", "Door", "NotAllowed", "may", "wait_after"]
