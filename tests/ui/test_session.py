"""Who is signed on: choosing, signing on by keyboard, locking, changing, refusing."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication

from logbook.plant.model import Person, Role
from logbook.shift.roles import Deed
from logbook.ui.session import LOCK_AFTER_S, LOOK_TICKS, WARN_S, Session
from logbook.ui.sign_on import SignOnDialog

PASSWORD = "seven damp owls counting"  # noqa: S105 -- of an invented person
PIN = "480517"
GIVEN = "730264"
NEW_PASSWORD = "nine blue kettles whistling"  # noqa: S105 -- of an invented person
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def seconds():
    """A settable clock of rising seconds."""
    return SimpleNamespace(now=1000.0)


@pytest.fixture
def session(qapp, book, seconds):
    """A session on the book, by the settable seconds."""
    made = Session(book, qapp, monotonic=lambda: seconds.now)
    yield made
    made.close()
    made.deleteLater()


@pytest.fixture(autouse=True)
def who(book):
    """One person of each role, by role; written into the book before any window is made."""
    plant = book.plant_at(book.now())
    crew = plant.calendar.crews[0].key
    people = {
        Role.OPERATOR: Person("rushlight", "Olla Rushlight", Role.OPERATOR, crew),
        Role.SUPERVISOR: Person("sedgely", "Vane Sedgely", Role.SUPERVISOR, crew),
        Role.ENGINEER: Person("ambertwist", "Edda Ambertwist", Role.ENGINEER),
        Role.READER: Person("readwell", "Rory Readwell", Role.READER),
    }
    author = plant.people[0].key
    wider = replace(plant, people=(*plant.people, *people.values()))
    book.revise(author, wider, effective_from=book.now(), reason="people entered")
    return people


@pytest.fixture
def guarded(session, who):
    """The session of a book in which an engineer and an operator have secrets; nobody is on."""
    with_pins(session, who)
    assert session.sign_off() == ""
    return session


def with_pins(session, who, others=(Role.OPERATOR,)):
    """Give the first engineer a password and others PINs of their own; the engineer is on."""
    engineer = who[Role.ENGINEER].key
    assert session.set_first(engineer, PASSWORD) == ""
    for role in others:
        session.door.give(engineer, who[role].key, GIVEN)
        assert session.door.change(who[role].key, GIVEN, PIN).is_right


def test_without_any_pin_people_are_only_chosen(session, who):
    """In a book without PINs a person is taken by name, and the book notes no sign-on."""
    session.take(who[Role.OPERATOR].key)
    assert session.person == who[Role.OPERATOR].key
    assert session.may(Deed.WRITE) == ""
    session.lock()
    assert session.person, "there is nothing to unlock it with"


def test_once_somebody_has_a_pin_nobody_is_only_chosen(guarded, who):
    """Taking a person by name does nothing after the first engineer has a password."""
    guarded.take(who[Role.OPERATOR].key)
    assert guarded.person == ""
    assert guarded.sign_on(who[Role.OPERATOR].key, PIN) == ""
    assert guarded.person == who[Role.OPERATOR].key


def test_a_wrong_pin_changes_nobody_and_says_so(guarded, who):
    """The sentence names neither the name nor the PIN as the wrong one; who was on stays on."""
    guarded.sign_on(who[Role.ENGINEER].key, PASSWORD)
    told = guarded.sign_on(who[Role.OPERATOR].key, "999111")
    assert "not right" in told
    assert guarded.person == who[Role.ENGINEER].key


def test_another_person_signing_on_signs_the_first_off_in_the_book(guarded, who, book):
    """The book holds the sign-off of the one who was there before."""
    engineer, operator = who[Role.ENGINEER].key, who[Role.OPERATOR].key
    guarded.sign_on(engineer, PASSWORD)
    guarded.sign_on(operator, PIN)
    events = book.access_events(engineer, book.created_at, book.now().replace(year=2027))
    assert events[-1].kind == "signed_off"
    assert events[-1].detail == "another person"


def test_a_role_that_may_not_is_told_why(guarded, who):
    """An operator who wants to give an instruction reads who may."""
    assert guarded.may(Deed.INSTRUCT).startswith("Nobody is signed on")
    guarded.sign_on(who[Role.OPERATOR].key, PIN)
    assert guarded.may(Deed.INSTRUCT) == (
        "An operator may not write standing instructions; ask a supervisor to do it."
    )


def test_it_warns_at_least_twenty_seconds_before_it_locks(guarded, who, seconds):
    """Left alone, it counts down from 30 s, then nobody is signed on and it is locked."""
    told: list[int] = []
    guarded.warned.connect(told.append)
    guarded.sign_on(who[Role.OPERATOR].key, PIN)
    locked_after = None
    for _ in range(int(LOCK_AFTER_S) + 2):
        seconds.now += 1
        guarded.tick()
        if guarded.is_locked and locked_after is None:
            locked_after = len([n for n in told if n > 0])
    assert max(told) == WARN_S
    assert locked_after is not None
    assert locked_after >= 20, "the warning stood less than 20 s"
    assert guarded.person == ""
    assert guarded.locked_person == who[Role.OPERATOR].key


def test_a_key_pressed_in_time_keeps_it_open(guarded, who, seconds, qapp):
    """A key event anywhere in the program takes the warning back and starts the time anew."""
    told: list[int] = []
    guarded.warned.connect(told.append)
    guarded.sign_on(who[Role.OPERATOR].key, PIN)
    seconds.now += LOCK_AFTER_S - 10
    guarded.tick()
    assert told[-1] > 0
    key = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_A, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(qapp, key)
    assert told[-1] == 0
    seconds.now += 60
    guarded.tick()
    assert not guarded.is_locked


def test_a_pc_that_slept_still_warns_before_it_locks(guarded, who, seconds):
    """A jump of hours over the warning does not lock without one."""
    guarded.sign_on(who[Role.OPERATOR].key, PIN)
    seconds.now += 9000
    guarded.tick()
    assert not guarded.is_locked
    seconds.now += WARN_S + 1
    guarded.tick()
    assert guarded.is_locked


def test_what_is_half_typed_stays_through_a_lock_and_a_change_of_person(window, screen, keys, who):
    """The form keeps its entries; saving then asks who is there and bears the new name."""
    session = window.session
    with_pins(session, who)
    session.sign_on(who[Role.OPERATOR].key, PIN)
    assert not screen.bar.person.isVisible(), "names are not chosen any more"
    keys.enter("61.5")
    key = next(iter(screen.form.taken())).point.key
    session.lock()
    assert screen.message.text == "Locked. What is typed stays."
    assert screen.form.fields[key].entry.typed == "61.5"
    assert window.nav.person.accessibleName().startswith("Locked")
    assert session.sign_on(who[Role.ENGINEER].key, PASSWORD) == ""
    assert screen.form.fields[key].entry.typed == "61.5"
    assert screen.person == who[Role.ENGINEER].key


def test_the_first_engineer_sets_a_password_by_keyboard(window, screen, keys, in_dialog, who):
    """Typed twice, Enter: the engineer is on, and names are no longer only chosen."""

    def act(dialog):
        keys.type(PASSWORD)
        keys.press(Qt.Key.Key_Tab)
        keys.type(PASSWORD)
        in_dialog(code)
        keys.press(Qt.Key.Key_Return)

    def code(dialog):
        shown.append(dialog.code.text())
        keys.press(Qt.Key.Key_Return)

    shown: list[str] = []
    in_dialog(act)
    window.begin_secrets(who[Role.ENGINEER].name)
    assert len(shown[0]) == 24, "the recovery code is shown once"
    assert window.session.person == who[Role.ENGINEER].key
    assert window.session.uses_secrets
    assert window.nav.person.accessibleName() == f"{who[Role.ENGINEER].name}, engineer"


def test_a_given_pin_is_changed_by_keyboard_at_the_first_sign_on(window, keys, in_dialog, who):
    """Typed, the dialog asks for a new one twice; one too common or mistyped is told."""
    with_pins(window.session, who, ())
    window.session.door.give(who[Role.ENGINEER].key, who[Role.OPERATOR].key, GIVEN)
    window.session.sign_off()
    told: list[str] = []

    def act(dialog):
        dialog.people.setCurrentIndex(dialog.people.findData(who[Role.OPERATOR].key))
        keys.enter(GIVEN)
        told.append(dialog._hint.text())
        assert window.session.person == "", "not let in with it"
        for pair in (("123456", "123456"), (PIN, "480518"), (PIN, PIN)):
            for line, text in zip((dialog.new, dialog.again), pair, strict=True):
                line.setFocus()
                line.selectAll()
                keys.type(text)
            keys.press(Qt.Key.Key_Return)
            told.append(dialog._fault.text())

    in_dialog(act)
    window.sign_on()
    assert told[0].startswith("Somebody else knows this one")
    assert "among the first" in told[1]
    assert "not the same" in told[2]
    assert window.session.person == who[Role.OPERATOR].key
    assert not window.session.door.must_change(who[Role.OPERATOR].key)


def test_whoever_has_no_pin_is_told_who_gives_one(window, keys, in_dialog, who):
    """Nobody sets their own first one: that it is them, somebody else vouches for."""
    with_pins(window.session, who, ())
    window.session.sign_off()
    told: list[str] = []

    def act(dialog):
        dialog.people.setCurrentIndex(dialog.people.findData(who[Role.OPERATOR].key))
        told.append(dialog._hint.text())
        keys.enter(PIN)
        told.append(dialog._fault.text())
        dialog.reject()

    in_dialog(act)
    window.sign_on()
    assert told[0].startswith("Olla Rushlight has no PIN or password yet. A supervisor")
    assert "not right" in told[1]
    assert window.session.set_first(who[Role.OPERATOR].key, PIN) == told[0]
    assert not window.session.door.has_secret(who[Role.OPERATOR].key)


def test_f3_asks_for_the_pin_once_there_are_any(window, screen, keys, in_dialog, who):
    """F3 on the Round screen opens the sign-on dialog instead of the list of names."""
    window.session.set_first(who[Role.ENGINEER].key, PASSWORD)
    seen: list[str] = []

    def act(dialog):
        assert isinstance(dialog, SignOnDialog)
        seen.append(dialog.person)
        keys.enter(PASSWORD)

    window.session.lock()
    in_dialog(act)
    keys.press(Qt.Key.Key_F3)
    assert seen == [who[Role.ENGINEER].key], "the one who is locked is chosen first"
    assert window.session.person == who[Role.ENGINEER].key


def test_saving_a_round_asks_who_is_there_and_goes_on(window, screen, keys, in_dialog, who, book):
    """While it is locked Ctrl+S asks for the PIN and then saves in that person's name."""
    window.session.set_first(who[Role.ENGINEER].key, PASSWORD)
    keys.enter("61.5")
    in_dialog(lambda dialog: keys.enter(PASSWORD))
    window.session.lock()
    keys.chord(Qt.Key.Key_S, CTRL)
    assert screen.message.text.startswith("Saved")
    assert book.last_page().kind == "round"
    assert book.last_page().person == window.session.person


def test_a_reader_may_look_and_not_save(window, screen, keys, who, book):
    """A reader who signs on is told why the round is not saved."""
    with_pins(window.session, who, (Role.READER,))
    window.session.sign_on(who[Role.READER].key, PIN)
    keys.enter("61.5")
    keys.chord(Qt.Key.Key_S, CTRL)
    assert screen.message.text == "A reader may not write readings; ask an operator to do it."
    assert book.last_page().kind == "access", "the last thing written is the sign-on"


def test_proving_for_a_signature_signs_nobody_on(guarded, who, in_dialog, keys, qtbot):
    """`ask_secret` gives the key of whoever proved it and leaves the session as it was."""
    in_dialog(lambda dialog: (keys.type(PIN), keys.press(Qt.Key.Key_Return)))
    key = guarded.ask_secret(None, "to sign the shift", who[Role.OPERATOR].key)
    assert key == who[Role.OPERATOR].key
    assert guarded.person == ""


def test_a_wrong_pin_for_a_signature_is_no_signature(guarded, who, in_dialog, keys):
    """The dialog stays open with the sentence; given up, there is no key."""
    faults: list[str] = []

    def act(dialog):
        keys.enter("480518")
        faults.append(dialog._fault.text())
        keys.press(Qt.Key.Key_Escape)

    in_dialog(act)
    assert guarded.ask_secret(None, "to sign the shift", who[Role.OPERATOR].key) is None
    assert "not right" in faults[0]


# ---------------------------------------------------------------- other ways


def test_after_a_signed_handover_the_outgoing_is_off_and_the_incoming_on(guarded, who, book):
    """Both in the book; nobody signs on or off by hand."""
    engineer, operator = who[Role.ENGINEER].key, who[Role.OPERATOR].key
    guarded.sign_on(operator, PIN)
    assert guarded.hand_to(engineer, before=operator) == ""
    assert guarded.person == engineer
    events = book.access_events(None, book.now(), book.now().replace(year=2027))
    ends = [(e.person, e.kind, e.detail) for e in events if e.kind != "changed"]
    assert ends[-2:] == [
        (operator, "signed_off", "handed over"),
        (engineer, "signed_on", "took over"),
    ]


def test_whoever_was_relieved_at_another_window_is_signed_off_here(guarded, who, seconds):
    """It is looked at every few seconds, and nobody writes in their name any more."""
    engineer, operator = who[Role.ENGINEER].key, who[Role.OPERATOR].key
    guarded.sign_on(operator, PIN)
    guarded.tick()
    assert guarded.person == operator
    guarded.door.succeed(operator, engineer)
    for _ in range(LOOK_TICKS):
        guarded.tick()
    assert guarded.person == ""


def test_who_cannot_sign_on_goes_on_logging_under_a_loud_name(
    window, screen, keys, in_dialog, who, book, qtbot
):
    """By keyboard: name and reason; the log says it, and a round is saved with the mark."""
    with_pins(window.session, who)
    window.session.sign_off()

    def act(dialog):
        in_dialog(other_way)
        dialog._forgotten.click()

    def other_way(dialog):
        dialog.name.setText("Nell Overly")
        keys.type("PIN forgotten")
        keys.press(Qt.Key.Key_Return)

    in_dialog(act)
    window.sign_on()
    session = window.session
    assert session.person == "Nell Overly (not signed on)"
    assert window.nav.person.accessibleName() == "Nell Overly (not signed on), to be confirmed"
    [entry] = book.entries(book.created_at, book.now() + timedelta(seconds=1))
    assert "writes without signing on: PIN forgotten" in entry.text
    assert session.may(Deed.HAND_OVER).startswith("Without signing on nobody may hand")
    window.activateWindow()
    screen.setFocus()
    qtbot.waitUntil(lambda: QApplication.focusWidget() is not None)
    keys.enter("61.5")
    keys.chord(Qt.Key.Key_S, CTRL)
    assert screen.message.text.startswith("Saved")
    assert book.last_page().person == "Nell Overly (not signed on)"
    session.lock()
    assert (session.person, session.is_locked) == ("", False), "left alone, it simply ends"


def test_an_engineer_comes_back_by_the_recovery_code(window, keys, in_dialog, who, book):
    """In the sign-on dialog, by keyboard; the code is burnt and a new one is shown."""
    with_pins(window.session, who, ())
    engineer = who[Role.ENGINEER].key
    code = window.session.door.make_recovery_code(engineer)
    window.session.sign_off()
    shown: list[str] = []

    def act(dialog):
        dialog.people.setCurrentIndex(dialog.people.findData(engineer))
        in_dialog(other_way)
        dialog._forgotten.click()

    def other_way(dialog):
        dialog.way.setCurrentIndex(1)
        for text in (code, NEW_PASSWORD, NEW_PASSWORD):
            keys.type(text)
            keys.press(Qt.Key.Key_Tab)
        in_dialog(new_code)
        keys.press(Qt.Key.Key_Return)

    def new_code(dialog):
        shown.append(dialog.code.text())
        keys.press(Qt.Key.Key_Return)

    in_dialog(act)
    window.sign_on()
    assert window.session.person == engineer
    assert shown[0] != code
    assert not window.session.door.recover(engineer, code, PASSWORD).answer.is_right
    assert window.session.door.recover(engineer, shown[0], PASSWORD).answer.is_right
