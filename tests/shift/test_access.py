"""Signing on against a real book: who gets in, what is written, how wrong tries are slowed."""

import sqlite3
import time
from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.model import Person, Role
from logbook.record import (
    BookError,
    BookReadOnly,
    NewAccess,
    NewCredential,
    WriteRefused,
    open_book,
)
from logbook.record.instants import EPOCH
from logbook.shift.access import Door
from logbook.shift.codes import first_secret
from logbook.shift.roles import NotAllowed
from logbook.shift.secret_rules import fault_of

FIRST_PIN = "640285"
PIN, OTHER_PIN, PHRASE = "271834", "902615", "beans roll under rain"
OTHER_PHRASE = "seven pumps in a row"
WRONG = "The name or the PIN or password is not right."


class Running:
    """Seconds that nobody can set, moved together with the clock of the book."""

    def __init__(self, clock):
        self.clock, self.seconds = clock, 5000.0

    def __call__(self):
        """The seconds now."""
        return self.seconds

    def wait(self, seconds):
        """Let time go by."""
        self.seconds += seconds
        self.clock.advance(seconds=seconds)


@pytest.fixture
def running(clock):
    """The clock that measures waits."""
    return Running(clock)


@pytest.fixture
def door(book, running):
    """The door of a book in which nobody has a secret yet."""
    return Door(book, monotonic=running)


@pytest.fixture
def manned(door):
    """The same with an engineer, and a PIN for the first operator."""
    door.first_engineer("Technical head", PHRASE)
    door.give("head", "op1", FIRST_PIN)
    assert door.change("op1", FIRST_PIN, PIN).is_right
    return door


def events_of(book, key):
    """What the book says happened to a person, in order."""
    found = book.access_events(key, EPOCH, book.now() + timedelta(days=1))
    return [(event.kind, event.detail) for event in sorted(found, key=lambda e: e.id)]


def fail(door, key, times, running):
    """So many wrong tries in a row, the last of them at the door, waiting as long as asked."""
    book = door._book
    for _ in range(times - 1):
        running.wait(door.wait_of(key))
        book.write(key, [NewAccess(key, book.now(), "wrong")], kind="access")
    running.wait(door.wait_of(key))
    assert door.sign_on(key, "000000").person is None


# ---------------------------------------------------------------- the first engineer


def test_the_first_start_makes_the_first_engineer_once(door, book):
    """Somebody the plant has as an engineer gets a password; after that nobody else becomes one."""
    assert door.wants_first_engineer()
    made = door.first_engineer(" technical  HEAD ", PHRASE)
    assert (made.key, made.role) == ("head", Role.ENGINEER)
    assert not door.wants_first_engineer()
    assert door.sign_on("head", PHRASE).is_right
    with pytest.raises(NotAllowed, match="has an engineer already"):
        door.first_engineer("Somebody Else", OTHER_PHRASE)


def test_a_first_engineer_whom_the_plant_does_not_have_is_entered_in_it(door, book):
    """Under a key made of the name that nobody has, with the reason in the book."""
    made = door.first_engineer("Op1", PHRASE)
    assert made == Person("op1_2", "Op1", Role.ENGINEER)
    assert made in book.plant_at(book.now()).people
    assert book.revisions()[-1].reason == "first engineer of the book"
    assert door.sign_on("op1_2", PHRASE).is_right


def test_an_operator_who_becomes_the_first_engineer_keeps_their_key(door, book):
    """The role changes from now on; nobody is entered twice."""
    made = door.first_engineer("Operator Two", PHRASE)
    assert (made.key, made.role, made.crew) == ("op2", Role.ENGINEER, "B")
    people = book.plant_at(book.now()).people
    assert [p.key for p in people].count("op2") == 1
    assert len(people) == 4


@pytest.mark.parametrize(
    ("name", "secret", "told"),
    [("  ", PHRASE, "needs a name"), ("Anna", PIN, "at least 15"), ("豆", "short", "at least 15")],
)
def test_a_first_engineer_without_name_or_good_password_is_refused_whole(
    door, book, name, secret, told
):
    """Nobody is entered then."""
    with pytest.raises(WriteRefused, match=told):
        door.first_engineer(name, secret)
    assert door.wants_first_engineer()
    assert len(book.plant_at(book.now()).people) == 4


def test_a_name_without_a_latin_letter_gets_a_key_too(door):
    """The name itself stays as typed."""
    made = door.first_engineer("豆 工", PHRASE)
    assert (made.key, made.name) == ("engineer", "豆 工")


# ---------------------------------------------------------------- signing on and off


def test_signing_on_and_off_stands_in_the_book(manned, book):
    """With who and why, in the order in which it happened."""
    assert manned.sign_on("op1", PIN).person.name == "Operator One"
    manned.sign_off("op1", "another person")
    assert events_of(book, "op1")[2:] == [("signed_on", ""), ("signed_off", "another person")]


def test_no_secret_is_ever_in_the_file(manned, book):
    """Neither a right one nor a wrong one, nor a name that may be a password typed in its place."""
    manned.sign_on("op1", PIN)
    manned.sign_on("op1", "wrong-secret-typed")
    manned.sign_on("hunter2hunter2", "x")
    path = book.path
    book.close()
    for file in path.parent.glob(path.name + "*"):
        content = file.read_bytes()
        for secret in (PIN, PHRASE, "wrong-secret-typed", "hunter2hunter2"):
            assert secret.encode() not in content, file.name
    plain = sqlite3.connect(path)
    hashes = [row[0] for row in plain.execute("SELECT hash FROM credential")]
    plain.close()
    assert hashes
    assert all(text.startswith("$argon2id$") for text in hashes)


def test_a_wrong_secret_and_an_unknown_name_are_told_alike(manned):
    """Also for somebody who has no PIN yet, try by try."""
    told = [
        [manned.sign_on(key, "000001").message for _ in range(3)]
        for key in ("op1", "op2", "nobody", "")
    ]
    assert told[0] == [f"{WRONG} Try again."] * 2 + [f"{WRONG} Wait 1 s before the next try."]
    assert told == [told[0]] * 4


def test_a_wrong_secret_and_an_unknown_name_take_as_long(manned, running):
    """Neither answers early: each hashes once."""

    def spent(key):
        running.wait(manned.wait_of(key))
        begun = time.perf_counter()
        manned.sign_on(key, "000001")
        return time.perf_counter() - begun

    pairs = [(spent("op1"), spent("op2"), spent(f"nobody{k}")) for k in range(3)]
    known, bare, unknown = (min(times) for times in zip(*pairs, strict=True))
    assert 0.5 < bare / known < 2.0
    assert 0.5 < unknown / known < 2.0


def test_somebody_the_plant_no_longer_has_does_not_get_in(manned, book, clock):
    """Their secret is still in the book, but the door no longer knows them."""
    plant = book.plant_at(book.now())
    clock.advance(minutes=1)
    left = replace(plant, people=tuple(p for p in plant.people if p.key != "op1"))
    book.revise("head", left, effective_from=clock.now, reason="left the plant")
    assert manned.sign_on("op1", PIN).message == f"{WRONG} Try again."
    with pytest.raises(WriteRefused, match="a person op1 already"):
        manned.enrol("head", Person("op1", "Somebody New"), OTHER_PIN)


# ---------------------------------------------------------------- wrong tries


def test_wrong_tries_are_slowed_then_locked_and_all_of_it_is_written(manned, book, running):
    """Eight in a row lock for fifteen minutes; what is tried meanwhile is not even looked at."""
    fail(manned, "op1", 8, running)
    answer = manned.sign_on("op1", PIN)
    assert not answer.is_right
    assert answer.message.startswith("Locked after 8 wrong tries in a row: try again in 15 min")
    assert answer.wait_s == 900
    kinds = [kind for kind, _ in events_of(book, "op1")]
    assert kinds == ["changed", "changed", *["wrong"] * 8, "locked"]
    running.wait(899)
    assert not manned.sign_on("op1", PIN).is_right
    running.wait(1)
    assert manned.sign_on("op1", PIN).is_right
    assert [kind for kind, _ in events_of(book, "op1")][-1] == "signed_on"
    assert manned.wait_of("op1") == 0


def test_a_right_pin_starts_the_count_anew(manned, running):
    """Seven wrong tries and a right one, day after day, lock nobody out."""
    for _ in range(2):
        fail(manned, "op1", 7, running)
        running.wait(manned.wait_of("op1"))
        assert manned.sign_on("op1", PIN).is_right


def test_a_restart_or_another_window_forgets_no_wrong_try(manned, book, running, clock):
    """The count and the wait come out of the book."""
    fail(manned, "op1", 8, running)
    running.wait(100)
    again = Door(book, monotonic=running)
    assert again.wait_of("op1") == pytest.approx(800, abs=1)
    with open_book(book.path, clock=clock, seat_name="second desk") as other:
        second = Door(other, monotonic=running)
        assert not second.sign_on("op1", PIN).is_right
        running.wait(800)
        assert second.sign_on("op1", PIN).is_right
    assert manned.sign_on("op1", PIN).is_right


def test_a_clock_set_back_or_forward_helps_nobody_and_locks_nobody_out(manned, running, clock):
    """Forward: the lock lasts. Back, with a restart: it lasts its fifteen minutes, not longer."""
    fail(manned, "op1", 8, running)
    clock.advance(hours=5)
    assert not manned.sign_on("op1", PIN).is_right
    clock.advance(hours=-9)
    running.wait(900)
    assert manned.sign_on("op1", PIN).is_right
    fail(manned, "op1", 8, running)
    clock.advance(hours=-3)
    again = Door(manned._book, monotonic=running)
    assert again.wait_of("op1") == 900
    running.wait(900)
    assert again.sign_on("op1", PIN).is_right


def test_a_signature_with_a_wrong_pin_counts_as_a_wrong_try(manned, book, running):
    """And a right one ends the count, with what it was for."""
    for _ in range(2):
        assert not manned.check("op1", "000000", what_for="handover").is_right
    assert manned.check("op1", PIN, what_for="handover").is_right
    assert events_of(book, "op1")[-1] == ("signed_on", "handover")
    before = events_of(book, "op1")
    assert manned.check("op1", PIN, what_for="handover").is_right
    assert events_of(book, "op1") == before, "a right try needs no row of its own"


def test_one_persons_lock_is_nobody_elses(manned, running):
    """The others go on working."""
    fail(manned, "op1", 8, running)
    assert manned.sign_on("head", PHRASE).is_right


def test_a_book_that_cannot_be_written_lets_nobody_in(manned, book, clock, running):
    """Not even with the right PIN: a try must be kept."""
    book.close()
    with open_book(book.path, clock=clock, writable=False) as still:
        shut = Door(still, monotonic=running)
        for secret in (PIN, "000000"):
            with pytest.raises(BookReadOnly):
                shut.sign_on("op1", secret)


# ---------------------------------------------------------------- giving and changing


def test_a_new_pin_from_an_engineer_ends_the_lock_and_has_to_be_changed(manned, book, running):
    """Whoever gave it knows it, so its owner is asked for another at the next sign-on."""
    fail(manned, "op1", 8, running)
    manned.give("head", "op1", OTHER_PIN)
    answer = manned.sign_on("op1", OTHER_PIN)
    assert answer.is_right
    assert answer.must_change
    assert events_of(book, "op1")[-1] == ("changed", "given by head"), "not let in with it"
    assert manned.change("op1", OTHER_PIN, "314158").is_right
    answer = manned.sign_on("op1", "314158")
    assert answer.is_right
    assert not answer.must_change
    assert not manned.sign_on("op1", OTHER_PIN).is_right


def test_changing_ones_own_pin_needs_the_old_one(manned, running):
    """A wrong old one counts as a wrong try; a bad or the same new one is refused."""
    assert manned.change("op1", "000000", OTHER_PIN).message == f"{WRONG} Try again."
    for new, told in (("123456", "first that anybody"), (PIN, "is the old one")):
        with pytest.raises(WriteRefused, match=told):
            manned.change("op1", PIN, new)
    with pytest.raises(NotAllowed, match="old one is needed"):
        manned.give("op1", "op1", OTHER_PIN)
    assert manned.sign_on("op1", PIN).is_right


def test_nobody_gives_themselves_the_first_one(manned):
    """That somebody is who they say, a supervisor or an engineer vouches for."""
    with pytest.raises(NotAllowed, match="ask a supervisor or an engineer"):
        manned.give("op2", "op2", OTHER_PIN)
    manned.give("head", "op2", OTHER_PIN)
    manned.enrol("head", Person("lead", "Shift lead", Role.SUPERVISOR), PHRASE)
    assert manned.sign_on("lead", PHRASE).must_change
    assert manned.change("lead", PHRASE, OTHER_PHRASE).is_right
    manned.give("lead", "op1", OTHER_PIN)
    with pytest.raises(NotAllowed, match="ask an engineer"):
        manned.give("lead", "head", OTHER_PHRASE)


def test_a_secret_given_by_somebody_else_opens_and_signs_nothing(manned, book):
    """Whoever gave it could have signed; only the way to one's own is open."""
    manned.give("head", "op2", OTHER_PIN)
    kept = book.credential("op2")
    answer = manned.check("op2", OTHER_PIN, what_for="signature")
    assert not answer.is_right
    assert "choose one of your own" in answer.message
    assert manned.sign_on("op2", OTHER_PIN).must_change
    assert book.credential("op2") == kept, "hashing it anew would make it look like their own"
    assert [kind for kind, _ in events_of(book, "op2")] == ["changed"]
    assert manned.change("op2", OTHER_PIN, "314158").is_right
    assert manned.check("op2", "314158", what_for="signature").is_right


def test_nobody_gives_a_secret_to_somebody_above_them(manned):
    """Neither an operator to anybody, nor to somebody who is not there."""
    with pytest.raises(NotAllowed, match="may not give others"):
        manned.give("op1", "op2", OTHER_PIN)
    with pytest.raises(NotAllowed, match="nobody called ghost"):
        manned.give("head", "ghost", OTHER_PIN)
    assert not manned.has_secret("op2")


def test_an_engineer_whom_nobody_gave_a_password_cannot_help_themselves(manned, book, clock):
    """A second engineer of the plant file waits for the first one."""
    plant = book.plant_at(book.now())
    clock.advance(minutes=1)
    more = (*plant.people, Person("second", "Second engineer", Role.ENGINEER))
    book.revise("head", replace(plant, people=more), effective_from=clock.now, reason="hired")
    with pytest.raises(NotAllowed, match="ask another engineer"):
        manned.give("second", "second", OTHER_PHRASE)
    manned.give("head", "second", OTHER_PHRASE)
    assert manned.sign_on("second", OTHER_PHRASE).must_change


def test_only_an_engineer_enters_people(manned, book):
    """With a key that nobody has and a secret that is taken; else nothing is written."""
    new = Person("op9", "Operator Nine", crew="B")
    with pytest.raises(NotAllowed, match="ask an engineer"):
        manned.enrol("op1", new, OTHER_PIN)
    with pytest.raises(WriteRefused, match="first that anybody"):
        manned.enrol("head", new, "111111")
    assert manned.person("op9") is None
    manned.enrol("head", new, OTHER_PIN)
    assert manned.person("op9") == new
    with pytest.raises(WriteRefused, match="a person op9 already"):
        manned.enrol("head", new, PIN)


def test_an_operator_who_became_a_supervisor_is_asked_for_a_password(manned, book, clock):
    """The PIN still lets them in, and says that it no longer fits the role."""
    plant = book.plant_at(book.now())
    clock.advance(minutes=1)
    people = [replace(p, role=Role.SUPERVISOR) if p.key == "op1" else p for p in plant.people]
    book.revise(
        "head", replace(plant, people=tuple(people)), effective_from=clock.now, reason="promoted"
    )
    assert manned.sign_on("op1", PIN).must_change
    with pytest.raises(WriteRefused, match="at least 15"):
        manned.change("op1", PIN, OTHER_PIN)
    assert manned.change("op1", PIN, OTHER_PHRASE).is_right
    assert not manned.sign_on("op1", OTHER_PHRASE).must_change


def test_a_hash_of_weaker_parameters_is_made_anew_at_the_next_sign_on(manned, book):
    """Its owner notices nothing."""
    from argon2 import PasswordHasher

    weak = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1).hash(PIN)
    book.write("op1", [NewCredential("op1", "pin", weak)], kind="access")
    assert manned.sign_on("op1", PIN).is_right
    assert "m=65536,t=3,p=4" in book.credential("op1").hash
    assert manned.sign_on("op1", PIN).is_right


def test_an_error_of_the_book_is_one_error_for_whoever_calls(manned):
    """So that a screen has one kind to catch and to show."""
    with pytest.raises(BookError) as caught:
        manned.give("op1", "op2", OTHER_PIN)
    assert caught.value.message.endswith("ask a supervisor to do it.")


def test_the_secret_set_last_holds_though_the_clock_was_set_back_in_between(manned, clock):
    """Of one seat the order of writing counts, as for wrong tries."""
    clock.advance(hours=6)
    manned.change("op1", PIN, OTHER_PIN)
    clock.advance(hours=-5)
    manned.change("op1", OTHER_PIN, "314158")
    assert manned.sign_on("op1", "314158").is_right
    assert not manned.sign_on("op1", OTHER_PIN).is_right


def test_the_secret_set_last_holds_whichever_desk_it_was_set_at(manned, book, running, clock):
    """Of two seats the later instant counts, not the higher number."""
    with open_book(book.path, clock=clock, seat_name="second desk") as other:
        clock.advance(minutes=1)
        Door(other, monotonic=running).change("op1", PIN, OTHER_PIN)
    clock.advance(minutes=1)
    manned.change("op1", OTHER_PIN, "314158")
    assert manned.sign_on("op1", "314158").is_right
    assert not manned.sign_on("op1", OTHER_PIN).is_right


# ---------------------------------------------------------------- the way back


@pytest.fixture
def code(manned):
    """The recovery code of the only engineer."""
    return manned.make_recovery_code("head")


def test_a_recovery_code_sets_a_new_password_and_is_burnt_by_it(manned, code, book):
    """A new code takes its place; who signed on before cannot with the old password."""
    done = manned.recover("head", code.lower().replace("-", " "), OTHER_PHRASE)
    assert done.answer.is_right
    assert manned.sign_on("head", OTHER_PHRASE).is_right
    assert not manned.sign_on("head", PHRASE).is_right
    again = manned.recover("head", code, PHRASE)
    assert (again.answer.is_right, again.code) == (False, "")
    assert manned.recover("head", done.code, PHRASE).answer.is_right


def test_the_use_of_a_recovery_code_stands_loudly_in_the_log(manned, code, book, clock):
    """As an entry of the kind safety, on the timeline and in the handover of the shift."""
    manned.recover("head", code, OTHER_PHRASE)
    [entry] = book.entries(book.created_at, clock.now + timedelta(seconds=1))
    assert (entry.kind, entry.person) == ("safety", "head")
    assert entry.text.startswith("Recovery code used: Technical head set a new password")
    assert events_of(book, "head")[-1] == ("changed", "by the recovery code")


def test_a_wrong_recovery_code_is_written_slowed_and_locked(manned, code, book, running):
    """Eight in a row lock it, and the engineer's own password still lets them in."""
    name = "recovery:head"
    for _ in range(7):
        book.write("head", [NewAccess(name, book.now(), "wrong")], kind="access")
    running.wait(300)
    assert not manned.recover("head", "0000-0000-0000-0000-0000", OTHER_PHRASE).answer.is_right
    assert manned.recover("head", code, OTHER_PHRASE).answer.message.startswith("Locked after 8")
    assert manned.sign_on("head", PHRASE).is_right
    running.wait(900)
    assert manned.recover("head", code, OTHER_PHRASE).answer.is_right


def test_a_recovery_code_is_kept_as_a_hash_only_and_a_later_one_ends_it(manned, code, book):
    """Asked for again, the paper of before is worth nothing."""
    later = manned.make_recovery_code("head")
    assert book.credential("recovery:head").hash.startswith("$argon2id$")
    assert not manned.recover("head", code, OTHER_PHRASE).answer.is_right
    with pytest.raises(WriteRefused, match="at least 15"):
        manned.recover("head", later, "short")
    assert manned.recover("head", later, OTHER_PHRASE).answer.is_right


def test_only_an_engineer_has_a_recovery_code(manned):
    """Everybody else asks one of those above them; a wrong name is told as a wrong code."""
    with pytest.raises(NotAllowed, match="ask an engineer"):
        manned.make_recovery_code("op1")
    assert not manned.has_recovery_code("op1")
    assert manned.recover("op1", "0000", OTHER_PHRASE).answer.message == f"{WRONG} Try again."
    assert manned.recover("nobody", "0000", OTHER_PHRASE).answer.message == f"{WRONG} Try again."


@pytest.mark.parametrize("role", [Role.OPERATOR, Role.ENGINEER])
def test_a_first_secret_made_by_the_program_is_one_that_is_taken(role):
    """Of the kind that the role needs, and never the same twice."""
    person = Person("somebody", "Some Body", role)
    made = {first_secret(person) for _ in range(20)}
    assert not any(fault_of(person, secret) for secret in made)
    assert len(made) > 15
