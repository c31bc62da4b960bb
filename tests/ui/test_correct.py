"""Correcting a saved reading in the Round screen, by keyboard and by mouse."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialogButtonBox

from logbook.plant.calendar import shift_at
from logbook.plant.model import Role
from logbook.record import NewSignature
from logbook.ui.round.correct_dialog import CorrectDialog

THICK = "flake_thickness.fm1.left"
SECOND = "flake_thickness.fm2.left"
STATE = "flaker_state.fm1"


@pytest.fixture
def who(template_plant):
    """A person of each role by role; the operator is of the crew that wrote."""
    return {p.role: p.key for p in reversed(template_plant.people)}


@pytest.fixture
def saved(screen, keys, who):
    """The Round screen on the flaking form with two readings and a state saved by an operator."""
    screen.session.take(who[Role.OPERATOR])
    screen.show_area("flaking")
    for key, text in ((STATE, "1"), (THICK, "0.53"), (SECOND, "0.35")):
        screen.sheet.go_to(key)
        screen._on_typed(key, text)
        screen._on_settled(key)
    screen.save()
    screen.save()  # the deviation is left open
    assert screen.form.fields[THICK].saved is not None
    return screen


@pytest.fixture
def correct(saved, keys, in_dialog, qtbot):
    """Presses F2 and does `act` in the dialog that opens."""

    def do(act):
        # This platform has no window manager that gives the window back its focus.
        saved.window().activateWindow()
        saved.sheet.setFocus()
        qtbot.waitUntil(saved.sheet.focusProxy().hasFocus)
        in_dialog(act)
        keys.press(Qt.Key.Key_F2)

    return do


def versions(screen, key):
    """Every version of a saved reading."""
    return screen.desk.book.history_of(screen.form.fields[key].saved.id)


def choose(dialog, key):
    """Turn to a field in the open dialog."""
    dialog.what.setCurrentIndex(dialog.what.findData(key))
    dialog.new.setFocus()


def test_f2_opens_the_correction_of_the_saved_field_nearest_to_the_one_in_use(saved, keys, correct):
    """Old value, new value and reason by keyboard alone; both stand in the book and on the form."""
    saved.sheet.go_to("flake_thickness.fm1.centre")
    seen = []

    def act(dialog):
        assert isinstance(dialog, CorrectDialog)
        seen.append((dialog.what.currentData(), dialog.old.text()))
        keys.type("0.35")
        seen.append(dialog.judged.text())
        keys.press(Qt.Key.Key_Tab)
        keys.type("digits swapped")
        keys.press(Qt.Key.Key_Return)

    correct(act)
    key, old = seen[0]
    assert key == THICK
    assert old.startswith("0.53 mm, ")
    assert seen[1] == "within"
    first, second = versions(saved, THICK)
    assert (first.value, second.value, second.why) == (0.53, 0.35, "digits swapped")
    assert second.person == saved.person
    shown = saved.form.fields[THICK].saved
    assert (shown.value, shown.was, shown.corrected) == (0.35, "0.53", True)
    assert "corrected: 0.53 is now 0.35. Seal" in saved.message.text
    assert saved.sheet.current == "flake_thickness.fm1.centre"


@pytest.mark.parametrize(
    ("current", "offered"),
    [
        ("flake_thickness.fm2.centre", SECOND),
        ("flake_thickness.fm3.left", SECOND),
        ("flake_thickness.fm1.right", THICK),
    ],
)
def test_the_saved_field_before_the_one_in_use_is_offered(saved, correct, current, offered):
    """What was typed just now is what one notices first."""
    saved.sheet.go_to(current)
    seen = []

    def act(dialog):
        seen.append(dialog.what.currentData())

    correct(act)
    assert seen == [offered]


def test_a_double_click_on_a_saved_field_opens_its_correction(saved, in_dialog):
    """A single click does nothing; a field that is open is not corrected but typed in."""
    chosen = []

    def act(dialog):
        chosen.append(dialog.what.currentData())

    in_dialog(act)
    cell = saved.sheet._placed.cells[THICK]
    at = cell.box.center() - QPoint(0, saved.sheet.verticalScrollBar().value())
    QTest.mouseClick(saved.sheet.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert chosen == []
    QTest.mouseDClick(saved.sheet.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert chosen == [THICK]
    assert len(versions(saved, THICK)) == 1, "a dialog that is left writes nothing"


def test_the_new_value_is_judged_and_questioned_as_in_the_form(saved, keys, correct):
    """Each letter; what cannot be read is not taken, what is implausible only at the second Enter."""
    told = []

    def act(dialog):
        choose(dialog, THICK)
        keys.type("0.47")
        told.append(dialog.judged.text())
        dialog.new.clear()
        keys.enter("abc")
        told.append(dialog._fault.text())
        dialog.new.clear()
        dialog.why.setText("measured again")
        keys.enter("0.035")
        told.append(dialog._fault.text())
        assert dialog.isVisible()
        keys.press(Qt.Key.Key_Return)
        told.append(dialog.isVisible())

    correct(act)
    assert told[0].startswith("action high, over")
    assert '"abc"' in told[1] or "number" in told[1]
    assert told[2].startswith("Below the plausible")
    assert told[3] is False
    assert versions(saved, THICK)[-1].value == 0.035


def test_an_implausible_value_typed_anew_is_asked_about_anew(saved, keys, correct):
    """A second Enter confirms only the text that was asked about."""
    told = []

    def act(dialog):
        choose(dialog, THICK)
        dialog.why.setText("measured again")
        for text in ("0.035", "0.036"):
            dialog.new.clear()
            keys.enter(text)
            told.append((dialog.isVisible(), dialog._fault.text()[:20]))

    correct(act)
    assert told == [(True, "Below the plausible ")] * 2
    assert len(versions(saved, THICK)) == 1


def test_a_correction_needs_a_reason_and_a_change(saved, keys, correct):
    """The dialog stays open and says what is missing; nothing is written."""
    told = []

    def act(dialog):
        choose(dialog, THICK)
        keys.enter("0.35")
        told.append(dialog._fault.text())
        dialog.why.setText("   ")
        dialog.new.setFocus()
        keys.press(Qt.Key.Key_Return)
        told.append(dialog._fault.text())
        dialog.why.setText("misread")
        dialog.new.setText("0.53")
        keys.press(Qt.Key.Key_Return)
        told.append(dialog._fault.text())

    correct(act)
    assert told[:2] == ["Say why the reading is corrected."] * 2
    assert "stands already" in told[2]
    assert len(versions(saved, THICK)) == 1


def test_a_reading_can_become_a_missing_one_or_be_taken_back(saved, keys, correct):
    """Taken back, the field can be typed in again; its first value stays in the book."""

    def missing(dialog):
        choose(dialog, THICK)
        dialog.instead.setCurrentIndex(dialog.instead.findData("instrument_fault"))
        assert not dialog.new.isVisible()
        dialog.why.setFocus()
        keys.enter("gauge was loose")

    correct(missing)
    assert saved.form.fields[THICK].saved.reason == "instrument_fault"

    def back(dialog):
        choose(dialog, SECOND)
        dialog.instead.setCurrentIndex(dialog.instead.count() - 1)
        dialog.why.setFocus()
        keys.enter("of another mill")

    old = saved.form.fields[SECOND].saved.id
    correct(back)
    assert saved.form.fields[SECOND].saved is None
    assert saved.form.is_open(SECOND)
    assert saved.desk.book.history_of(old)[0].value == 0.35
    saved.sheet.go_to(SECOND)
    saved._on_typed(SECOND, "0.36")
    saved.save()
    assert saved.form.fields[SECOND].saved.value == 0.36
    assert [row.value for row in versions(saved, SECOND)] == [0.35, None, 0.36]


def test_a_state_is_corrected_by_its_letter(saved, keys, correct):
    """And the machine stands from then on: its fields are no longer asked for."""

    def act(dialog):
        choose(dialog, STATE)
        keys.type("d")
        dialog.why.setText("looked at the wrong mill")
        dialog.new.setFocus()
        keys.press(Qt.Key.Key_Return)

    correct(act)
    assert saved.form.fields[STATE].saved.text == "down"
    assert not saved.form.is_open("flake_thickness.fm1.centre")


def test_who_may_not_correct_sees_why_and_can_write_nothing(saved, template_plant, correct):
    """Another operator; the fields of the dialog are shut."""
    me = saved.person
    other = next(p for p in template_plant.people if p.role is Role.OPERATOR and p.key != me)
    saved.session.take(other.key)
    told = []

    def act(dialog):
        choose(dialog, THICK)
        go = dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)
        shut = not any(part.isEnabled() for part in (dialog.new, dialog.why, go))
        told.append((dialog._fault.text(), shut))
        dialog.why.setText("misread")
        dialog.new.setText("0.35")
        dialog.buttons.accepted.emit()
        told.append(dialog.isVisible())

    correct(act)
    assert "only they, a supervisor or an engineer may correct it" in told[0][0]
    assert told[0][1] is True
    assert told[1] is True
    assert len(versions(saved, THICK)) == 1


def test_after_the_shift_is_signed_only_a_supervisor_corrects(
    saved, keys, who, clock, values, correct
):
    """The writer is told so; the supervisor's correction stands in the book."""
    book, me = saved.desk.book, saved.person
    shift = shift_at(saved.desk.plant.calendar, values.round_at)
    clock.set(shift.end + timedelta(minutes=1))
    row = NewSignature(
        shift.date, shift.pattern, "outgoing", clock.now, "hands over", content_hash="0" * 64
    )
    book.write(me, [row], kind="handover")
    told = []

    def shut(dialog):
        told.append(dialog._fault.text())

    correct(shut)
    assert told == ["The shift is signed: only a supervisor or an engineer may correct it now."]
    saved.session.take(who[Role.SUPERVISOR])

    def act(dialog):
        choose(dialog, THICK)
        dialog.why.setText("seen on the lab sheet")
        keys.enter("0.35")

    correct(act)
    assert versions(saved, THICK)[-1].person == who[Role.SUPERVISOR]


def test_without_a_saved_reading_or_a_person_there_is_nothing_to_correct(screen, keys, who):
    """The message says so; no dialog opens."""
    keys.press(Qt.Key.Key_F2)
    assert "nothing to correct" in screen.message.text
    screen.show_area("flaking")
    keys.press(Qt.Key.Key_F2)
    assert "nothing to correct" in screen.message.text


def test_a_second_correction_shows_every_version_before_it(saved, keys, clock, correct):
    """Newest first, each with who wrote it, when, and why."""

    def first(dialog):
        choose(dialog, THICK)
        dialog.why.setText("digits swapped")
        keys.enter("0.35")

    correct(first)
    clock.advance(minutes=3)
    told = []

    def second(dialog):
        choose(dialog, THICK)
        told.extend(dialog.old.text().split("\n"))

    correct(second)
    assert [line.split(",")[0] for line in told] == ["0.35 mm", "0.53 mm"]
    assert told[0].endswith(": digits swapped")


def test_what_is_half_typed_elsewhere_survives_a_correction(saved, keys, correct):
    """The round is loaded anew with its draft."""
    saved.sheet.go_to("flake_thickness.fm3.left")
    keys.type("0.31")

    def act(dialog):
        choose(dialog, THICK)
        dialog.why.setText("misread")
        keys.enter("0.35")

    correct(act)
    assert saved.form.fields["flake_thickness.fm3.left"].entry.typed == "0.31"
    assert saved.sheet.current == "flake_thickness.fm3.left"
