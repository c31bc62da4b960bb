"""The people of the plant, by keyboard: first PINs, forgotten ones, new people, codes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from logbook.plant.model import Person, Role

PASSWORD = "seven damp owls counting"  # noqa: S105 -- of an invented person
PIN, OWN = "480517", "902615"


@pytest.fixture
def engineer(window, book):
    """The first engineer, signed on in the window; beside them a supervisor and an operator."""
    plant = book.plant_at(book.now())
    people = (
        Person("ambertwist", "Edda Ambertwist", Role.ENGINEER),
        Person("sedgely", "Vane Sedgely", Role.SUPERVISOR),
        Person("rushlight", "Olla Rushlight", Role.OPERATOR),
    )
    wider = replace(plant, people=(*plant.people, *people))
    book.revise(plant.people[0].key, wider, effective_from=book.now(), reason="people entered")
    assert window.session.set_first("ambertwist", PASSWORD) == ""
    return window.session


@pytest.fixture
def people(window, in_dialog):
    """Open the dialog of people, do something in it, and close it."""

    def opened(act):
        def acting(dialog):
            act(dialog)
            dialog.accept()

        in_dialog(acting)
        window.show_people()

    return opened


def row_of(dialog, key):
    """The words of a person's row."""
    dialog.choose(key)
    item = dialog.list.currentItem()
    return [item.text(column) for column in range(4)]


def test_an_engineer_gives_a_first_pin_that_is_shown_once(engineer, people, in_dialog, keys):
    """Enter on the person, the own password, and the PIN stands there to be written down."""
    shown: list[str] = []

    def prove(dialog):
        in_dialog(once)
        keys.enter(PASSWORD)

    def once(dialog):
        shown.append(dialog.code.text())
        dialog.reject()  # Esc does not close it
        keys.press(Qt.Key.Key_Return)

    def act(dialog):
        assert row_of(dialog, "rushlight")[3] == "no PIN yet"
        dialog.list.setFocus()
        in_dialog(prove)
        keys.press(Qt.Key.Key_Return)
        assert row_of(dialog, "rushlight")[3] == "PIN given, to be changed at the first sign-on"

    people(act)
    assert engineer.sign_on("rushlight", shown[0]).startswith("Somebody else knows this one")
    assert engineer.person == "ambertwist"
    assert engineer.choose_own("rushlight", shown[0], OWN) == ""
    assert engineer.person == "rushlight"


def test_without_the_own_password_nothing_is_given(engineer, people, in_dialog, keys):
    """A PC left alone gives nobody a PIN."""

    def act(dialog):
        dialog.choose("rushlight")
        in_dialog(lambda prove: keys.press(Qt.Key.Key_Escape))
        dialog.give()
        assert dialog.told == "Nothing was given."

    people(act)
    assert not engineer.door.has_secret("rushlight")


def test_an_operator_sees_the_list_and_is_told_who_may(engineer, people):
    """Neither a PIN for others nor new people nor a code."""
    engineer.door.give("ambertwist", "rushlight", PIN)
    assert engineer.choose_own("rushlight", PIN, OWN) == ""

    def act(dialog):
        dialog.choose("sedgely")
        dialog.give()
        assert dialog.told.startswith("An operator may not give others")
        dialog.enter_person()
        assert dialog.told.startswith("An operator may not change the plant")
        assert not dialog.code_button.isEnabled()

    people(act)


def test_a_new_person_is_entered_with_role_crew_and_a_first_pin(engineer, people, in_dialog, keys):
    """A trainee stands as one in the list."""
    shown: list[str] = []

    def form(dialog):
        keys.type("Tam Furlong")
        boxes = dialog.findChildren(
            type(dialog.form.itemAt(1, dialog.form.ItemRole.FieldRole).widget())
        )
        boxes[1].setCurrentIndex(1)
        boxes[2].setCurrentIndex(1)
        in_dialog(prove)
        keys.press(Qt.Key.Key_Return)

    def prove(dialog):
        in_dialog(once)
        keys.enter(PASSWORD)

    def once(dialog):
        shown.append(dialog.code.text())
        keys.press(Qt.Key.Key_Return)

    def act(dialog):
        in_dialog(form)
        dialog.enter_person()
        assert row_of(dialog, "tam_furlong")[1] == "operator, trainee"

    people(act)
    made = engineer.described("tam_furlong")
    assert (made.name, made.role, made.trainee) == ("Tam Furlong", Role.OPERATOR, True)
    assert made.crew == engineer.plant.calendar.crews[0].key
    assert len(shown[0]) == 6


def test_an_engineer_makes_a_new_recovery_code(engineer, people, in_dialog, keys):
    """It is said in the list where there is none."""
    shown: list[str] = []

    def prove(dialog):
        in_dialog(once)
        keys.enter(PASSWORD)

    def once(dialog):
        shown.append(dialog.code.text())
        keys.press(Qt.Key.Key_Return)

    def act(dialog):
        assert row_of(dialog, "ambertwist")[3] == "own password, no recovery code"
        in_dialog(prove)
        dialog.make_code()
        assert row_of(dialog, "ambertwist")[3] == "own password"

    people(act)
    assert engineer.door.recover("ambertwist", shown[0], "nine blue kettles whistling").code


def test_ones_own_pin_is_changed_with_the_old_one(engineer, people, in_dialog, keys):
    """Enter on oneself."""

    def change(dialog):
        for text in (PASSWORD, "nine blue kettles whistling", "nine blue kettles whistling"):
            keys.type(text)
            keys.press(Qt.Key.Key_Tab)
        keys.press(Qt.Key.Key_Return)

    def act(dialog):
        dialog.choose("ambertwist")
        in_dialog(change)
        dialog.give()
        assert dialog.told == "Changed."

    people(act)
    assert engineer.door.sign_on("ambertwist", "nine blue kettles whistling").is_right
