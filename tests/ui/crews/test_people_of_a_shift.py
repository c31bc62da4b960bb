"""Relief, missed shifts and unproven writing in the window, by keyboard."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from logbook.record import NewAccess, NewOpenItem
from logbook.shift.access import Door
from logbook.shift.catch_up import catch_up
from logbook.shift.reliefs import open_reliefs, reliefs
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.unproven import begin, to_confirm
from logbook.ui.catch_up_dialog import show_missed
from logbook.ui.relief_dialog import begin_relief, go_on
from logbook.ui.session import Session
from logbook.ui.shift_screen import deeds

SECRETS = {
    "operator_b": "482913",
    "operator_a": "730258",
    "lead_a": "seven otters crossing the ford",
}
MINUTE = timedelta(minutes=1)


@pytest.fixture
def session(night, qapp):
    """An operator of the day crew, signed on."""
    made = Session(night)
    assert made.sign_on("operator_a", SECRETS["operator_a"]) == ""
    yield made
    made.close()
    made.deleteLater()


def type_into(line, text):
    """Type into a line of a dialog."""
    line.setFocus()
    QTest.keyClicks(line, text)


def test_a_meal_break_is_handed_over_and_taken_over_by_keyboard(session, night, in_dialog, keys):
    """Two people sign; afterwards the second is the one signed on."""
    plant = session.plant
    night.write("operator_a", [NewOpenItem(night.now(), "Grease the conveyor", "recovery")])

    def offer(dialog):
        keys.type("meal break")
        keys.press(Qt.Key.Key_Tab)
        keys.type(SECRETS["operator_a"])
        in_dialog(take)
        keys.press(Qt.Key.Key_Return)

    def take(dialog):
        assert dialog.subjects.open_count > 0
        dialog.people.setCurrentIndex(dialog.people.findData("operator_b"))
        dialog.subjects.names.setFocus()
        while dialog.subjects.open_count:
            QTest.keyClick(dialog.subjects.names, Qt.Key.Key_Return)
        QApplication.processEvents()
        type_into(dialog.secret, SECRETS["operator_b"])
        QTest.keyClick(dialog.secret, Qt.Key.Key_Return)

    in_dialog(offer)
    told = begin_relief(session, night, None)
    assert told.endswith("has taken over.")
    assert session.person == "operator_b"
    [found] = reliefs(night, plant, night.now() - MINUTE, night.now() + MINUTE)
    assert (found.outgoing, found.incoming) == ("operator_a", "operator_b")


def test_an_offer_that_waits_is_taken_up_later_or_withdrawn(session, night, in_dialog, keys):
    """Unread it cannot be signed; whoever offered it may stay after all."""

    def offer(dialog):
        keys.type("going home sick")
        keys.press(Qt.Key.Key_Tab)
        keys.type(SECRETS["operator_a"])
        in_dialog(wait)
        keys.press(Qt.Key.Key_Return)

    def wait(dialog):
        type_into(dialog.secret, SECRETS["operator_b"])
        dialog.go.click()
        faults.append(dialog._fault.text())
        QTest.keyClick(dialog, Qt.Key.Key_Escape)

    faults: list[str] = []
    in_dialog(offer)
    begin_relief(session, night, None)
    assert faults[0].startswith("Read first")
    [waiting] = open_reliefs(night, session.plant, night.now())
    desk = ShiftDesk(night)
    assert [one.key for one in deeds.offered(desk, waiting, session.person)] == ["relieve"]

    def stay(dialog):
        next(b for b in dialog.findChildren(type(dialog.go)) if b.text().startswith("Stay")).click()

    in_dialog(stay)
    assert go_on(session, night, waiting, None) == "The relief is withdrawn."
    assert open_reliefs(night, session.plant, night.now()) == ()


def test_whoever_comes_back_confirms_line_by_line_with_enter(session, night, in_dialog):
    """What is left waits for the next sign-on; confirmed lines are in the book."""
    before = night.now() - timedelta(days=3)
    night.write("operator_b", [NewOpenItem(night.now(), "Grease the conveyor", "recovery")])
    night.write("operator_a", [NewAccess("operator_a", before, "signed_on")], kind="access")
    left = len(catch_up(night, session.plant, "operator_a", night.now()).unread)
    assert left >= 2

    def read(dialog):
        assert dialog.list.count() == left
        QTest.keyClick(dialog.list, Qt.Key.Key_Return)
        QApplication.processEvents()

    in_dialog(read)
    assert show_missed(session, night, None) == ""
    assert len(catch_up(night, session.plant, "operator_a", night.now()).unread) == left - 1

    def rest(dialog):
        for _ in range(left - 1):
            QTest.keyClick(dialog.list, Qt.Key.Key_Return)
            QApplication.processEvents()

    in_dialog(rest)
    show_missed(session, night, None)
    assert catch_up(night, session.plant, "operator_a", night.now()).unread == ()


def test_a_supervisor_confirms_what_was_written_without_signing_on(session, night, in_dialog, keys):
    """It stands under what is open; an operator is told who may."""
    begin(night, "Nell Overly", "PIN forgotten")
    [one] = to_confirm(night, session.plant, night.now())
    desk = ShiftDesk(night)
    [offer] = deeds.offered(desk, one, session.person)
    assert session.may(offer.what).startswith("An operator may not review")
    assert session.sign_on("lead_a", SECRETS["lead_a"]) == ""
    in_dialog(lambda dialog: keys.enter("seen at the desk"))
    asked = deeds.written(None, desk, one, offer, lambda _: lambda: "")
    asked.by(session.person)
    assert to_confirm(night, session.plant, night.now()) == ()


def test_a_given_pin_signs_no_handover(night):
    """Whoever gave it could have signed."""
    door = Door(night)
    door.give("technical_head", "operator_b", "640285")
    answer = door.check("operator_b", "640285", what_for="outgoing signature")
    assert not answer.is_right
    assert "choose one of your own" in answer.message
