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
from logbook.record import (
    Book,
    Credential,
    NewAccess,
    NewCredential,
    NewEntry,
    NewRow,
    WriteRefused,
)
from logbook.record.instants import EPOCH
from logbook.record.numbers import SEAT_SHIFT
from logbook.record.rows_journal import AccessKind
from logbook.shift.codes import new_code, recovery_name, tidy_code
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
LOOKED_BACK = timedelta(days=2)
HANDED_OVER = "handed over"
"""Why a session ends when somebody has taken over."""
FAR_AHEAD = timedelta(days=36500)
"""Tries are looked for so far ahead of now: a clock that was set back hides none."""

WRONG_WORDS = "The name or the PIN or password is not right."
CHANGE_FIRST = (
    "That PIN or password was given by somebody else, or no longer fits the role: sign on with it "
    "(F3) and choose one of your own, then sign."
)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the door answers: who it is, or None and why not, and how long to wait for a retry."""

    person: Person | None
    message: str = ""
    wait_s: float = 0.0
    must_change: bool = False
    """True where somebody else knows the secret, or it is a PIN and the role wants a password.

    Then it opens nothing but the way to one's own (`Door.change`).
    """

    @property
    def is_right(self) -> bool:
        """True where the secret was the person's own."""
        return self.person is not None


@dataclass(frozen=True, slots=True)
class Recovered:
    """What came of a recovery code, and the new code that takes its place."""

    answer: Answer
    code: str


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

    def must_change(self, key: str) -> bool:
        """True where the person's secret lets them in no further than to one of their own."""
        return _must_change(self.person(key), self._book.credential(key))

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
        where the book cannot be written: then nobody is let in. A secret that must be changed
        signs nothing: whoever gave it could have signed.
        """
        answer = self._try(key, secret)
        if answer.must_change:
            return Answer(None, CHANGE_FIRST, must_change=True)
        if answer.person is not None and self._standing(answer.person.key).count:
            self._note(answer.person.key, "signed_on", what_for)
        return answer

    def sign_on(self, key: str, secret: str) -> Answer:
        """Let a person in, and write it. Raises BookError as `check` does.

        With a secret that must be changed nobody is let in yet, see `Answer.must_change`.
        """
        answer = self._try(key, secret)
        person = answer.person
        if person is None or answer.must_change:
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

    def succeed(self, before: str, after: str) -> None:
        """After a shift was taken over: the session of `before` ends, that of `after` begins.

        Both have just signed. Raises BookError.
        """
        now = self._book.now()
        rows: list[NewRow] = [NewAccess(after, now, "signed_on", "took over")]
        if before and before != after and self._is_on(before):
            rows.insert(0, NewAccess(before, now, "signed_off", HANDED_OVER))
        self._book.write(after, rows, kind=PAGE_KIND)

    def was_relieved(self, key: str, since: datetime) -> bool:
        """True where somebody has taken over from the person since, at whichever window."""
        found = self._book.access_events(key, since, self._book.now() + FAR_AHEAD)
        return bool(found) and (found[-1].kind, found[-1].detail) == ("signed_off", HANDED_OVER)

    def _is_on(self, key: str) -> bool:
        now = self._book.now()
        events = self._book.access_events(key, now - LOOKED_BACK, now + FAR_AHEAD)
        coming = [event.kind for event in events if event.kind in {"signed_on", "signed_off"}]
        return bool(coming) and coming[-1] == "signed_on"

    def _try(self, key: str, secret: str) -> Answer:
        person = self.person(key)
        answer = self._tried(_name_of(person, key), person, secret)
        if answer.person is None:
            return answer
        return replace(answer, must_change=_must_change(person, self._book.credential(key)))

    def _tried(self, name: str, person: Person | None, secret: str) -> Answer:
        """Whether `secret` is what the book keeps under `name`; a wrong try is written, slowed."""
        now = self._book.now()
        standing = self._standing(name)
        wait = self._throttle.left(name, standing, now)
        if wait > 0:
            return Answer(None, _wait_message(standing, wait), wait)
        stored = self._book.credential(name)
        if matches(stored.hash if stored is not None else None, secret):
            return Answer(person)
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
        person = known or Person(key_for(words, self._plant()), words)
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

        It opens nothing but the way to one of their own. Nobody gives themselves the first one:
        who somebody is, another person vouches for. Raises NotAllowed, WriteRefused, BookError.
        """
        giver, taker = self._known(by), self._known(to)
        refused = may_give_secret(giver, taker)
        if by == to and self.has_secret(by):
            refused = "To change your own PIN or password the old one is needed; change it instead."
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

    # -- the way back ---------------------------------------------------------------------

    def make_recovery_code(self, key: str) -> str:
        """A new code with which an engineer who has forgotten the password sets another.

        An older one no longer opens. It is returned this once and kept as a hash. Raises
        NotAllowed, BookError.
        """
        person = self._known(key)
        require(person.role, Deed.DEFINE)
        code = new_code()
        note = NewAccess(key, self._book.now(), "changed", "a recovery code was made")
        self._book.write(key, [_code_row(person, code), note], kind=PAGE_KIND)
        return code

    def has_recovery_code(self, key: str) -> bool:
        """True where a code was made for the person; one that was used is followed by another."""
        return self._book.credential(recovery_name(key)) is not None

    def recover(self, key: str, code: str, secret: str) -> Recovered:
        """Set an engineer's new password by the recovery code, which ends with it.

        It is told in the log for all to see, and a new code is made. A wrong code is slowed and
        locked as a wrong password is. Raises WriteRefused for a password that is not taken,
        BookError.
        """
        person = self.person(key)
        name = recovery_name(_name_of(person, key))
        answer = self._tried(name, person, tidy_code(code))
        if answer.person is None:
            return Recovered(answer, "")
        require(answer.person.role, Deed.DEFINE)
        _require_good(answer.person, secret)
        again, now = new_code(), self._book.now()
        told = f"Recovery code used: {answer.person.name} set a new password without the old one."
        rows: list[NewRow] = [
            NewCredential(key, kind_for(answer.person.role), hashed(secret)),
            _code_row(answer.person, again),
            NewAccess(name, now, "changed", "the recovery code was used"),
            NewAccess(key, now, "changed", "by the recovery code"),
            NewEntry(now, told, "safety"),
        ]
        self._book.write(key, rows, kind=PAGE_KIND)
        return Recovered(answer, again)

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


def _code_row(person: Person, code: str) -> NewCredential:
    return NewCredential(recovery_name(person.key), "password", hashed(tidy_code(code)))


def key_for(name: str, plant: Plant) -> str:
    """A key made of a name, as plant files write them, that nobody has."""
    plain = "".join(c if c.isascii() and c.isalnum() else "_" for c in name.casefold()).strip("_")
    stem = "_".join(part for part in plain.split("_") if part) or "engineer"
    taken = {person.key for person in plant.people}
    tried = [stem, *(f"{stem}_{number}" for number in range(2, len(taken) + 3))]
    return next(key for key in tried if key not in taken)


__all__ = ["Answer", "Deed", "Door", "NotAllowed", "may", "wait_after"]
