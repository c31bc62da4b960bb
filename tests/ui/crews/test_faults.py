"""Signing in a window where disk, people and other windows get in the way."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest

from logbook.record import NewEntry, NewSafetyEvent
from logbook.shift.access import Door
from logbook.shift.signing import finish
from logbook.ui.handover import screen as handover_screen
from logbook.ui.handover.desk import HandoverDesk, printed
from logbook.ui.handover.screen import HandoverScreen
from logbook.ui.review.screen import ReviewScreen

OUT_PIN, IN_PIN = "482913", "730258"
LEAD_A = "seven otters crossing the ford"
NOTE = "Watch the feed gate."
PATIENCE_S = 20


def signed(book, screen) -> tuple[list[str], int]:
    """Who has signed the shift of a screen, and how many documents are stored of it."""
    shift = screen.desk.shift
    people = [one.person for one in book.signatures(shift.date, shift.pattern)]
    return people, len(book.documents(shift.date, shift.pattern))


def enter_pin(dialog, secret: str) -> None:
    """Type a secret and press Enter, without waiting for what comes of it."""
    QTest.keyClicks(dialog.secret, secret)
    QTest.keyClick(dialog.secret, Qt.Key.Key_Return)


@pytest.fixture
def ready(handover, keys) -> HandoverScreen:
    """The night's handover with its notes typed, ready to be signed."""
    handover.steps.prepare_body.next_shift.setFocus()
    keys.type(NOTE)
    return handover


@pytest.fixture
def held(monkeypatch) -> threading.Event:
    """The printed form is made only once this is set."""
    go_on = threading.Event()

    def slow(book, document):
        assert go_on.wait(PATIENCE_S)
        return printed(book, document)

    monkeypatch.setattr(handover_screen, "printed", slow)
    yield go_on
    go_on.set()


@pytest.mark.parametrize("spare", [0, 8])
def test_a_full_disk_signs_nothing_and_the_same_dialog_tries_again(
    ready, night, keys, in_dialog, settled, spare
):
    """One sentence in the dialog, the notes still there; with room again the same PIN signs."""
    told = []

    def act(dialog):
        pages = night._writer.execute("PRAGMA page_count").fetchone()[0]
        night._writer.execute(f"PRAGMA max_page_count = {pages + spare}")
        enter_pin(dialog, OUT_PIN)
        settled()
        told.append((dialog._fault.text(), dialog.isVisible(), dialog.secret.isEnabled()))
        told.append(signed(night, ready))
        enter_pin(dialog, OUT_PIN)  # a fresh connection knows no limit: there is room again
        settled()

    in_dialog(act)
    keys.press(Qt.Key.Key_F6)
    fault, *state = told[0]
    assert "free some space" in fault
    assert state == [True, True]
    assert told[1] == ([], 0)
    assert signed(night, ready) == (["operator_b"], 1)
    assert NOTE in ready.cards.text


def test_while_the_form_is_made_the_window_lives_and_cancel_signs_nothing(
    ready, night, keys, in_dialog, settled, held
):
    """It says what one waits for, no second signature can be asked for, Escape gives up."""
    ticks, told = [], []

    def act(dialog):
        timer = QTimer(dialog)
        timer.timeout.connect(lambda: ticks.append(1))
        timer.start(1)
        enter_pin(dialog, OUT_PIN)
        told.append((dialog.is_busy, dialog.wait.isVisible(), dialog.wait.text.text()))
        told.append([w.isEnabled() for w in (dialog.go, dialog.secret, dialog.people)])
        while len(ticks) < 20:
            QTest.qWait(1)
        QTest.keyClick(dialog, Qt.Key.Key_Escape)
        told.append(dialog.isVisible())
        held.set()

    in_dialog(act)
    keys.press(Qt.Key.Key_F6)
    assert told == [(True, True, "Making the handover…"), [False] * 3, False]
    assert ready.message.text == "Not signed."
    settled()
    assert signed(night, ready) == ([], 0)
    assert ready.steps.prepare_body.next_shift.toPlainText() == NOTE


def test_closing_the_window_while_the_form_is_made_signs_nothing(
    ready, night, keys, in_dialog, held
):
    """The dialog gives up, the thread has ended, and the book can be closed."""

    def act(dialog):
        enter_pin(dialog, OUT_PIN)
        assert dialog.is_busy
        held.set()
        ready.leave()
        assert not dialog.isVisible()

    in_dialog(act)
    keys.press(Qt.Key.Key_F6)
    assert signed(night, ready) == ([], 0)


def test_another_window_that_signs_while_the_form_is_made_wins(
    ready, night, second, keys, in_dialog, settled, held
):
    """This one is told who was quicker; of its own nothing is in the book."""
    told = []

    def act(dialog):
        enter_pin(dialog, OUT_PIN)
        other = HandoverDesk(second)
        signing = other.begin_outgoing(Door(second), "lead_b", "two lanterns above the weir")
        finish(second, signing, printed(second, signing.document))
        held.set()
        settled()
        told.append(dialog._fault.text())

    in_dialog(act)
    keys.press(Qt.Key.Key_F6)
    assert told[0].startswith("Shift lead B has signed this at")
    assert signed(night, ready) == (["lead_b"], 1)
    assert ready.desk.state.outgoing.person == "lead_b"


def test_what_is_written_while_the_form_is_made_is_not_signed_unseen(
    ready, night, second, keys, in_dialog, settled, held
):
    """The frozen content is what the signer saw: they are told, look again, and sign that."""
    told = []

    def act(dialog):
        enter_pin(dialog, OUT_PIN)
        at = (
            ready.desk.shift.end.replace(second=0)
            - (ready.desk.shift.end - ready.desk.shift.start) / 2
        )
        second.write("lead_b", [NewEntry(at, "process", "Steam was low.", area="utilities")])
        held.set()
        settled()
        told.append(dialog._fault.text())

    in_dialog(act)
    keys.press(Qt.Key.Key_F6)
    assert "changed since this was put together" in told[0]
    assert signed(night, ready) == ([], 0)
    assert "Steam was low." in ready.cards.text


def test_a_review_that_cannot_be_stored_is_not_signed(review, night, keys, in_dialog, settled):
    """The disk is full: the supervisor's dialog says so and the shift stays unreviewed."""
    told = []

    def act(dialog):
        assert dialog.wait.text.text() == "Making the review…"
        pages = night._writer.execute("PRAGMA page_count").fetchone()[0]
        night._writer.execute(f"PRAGMA max_page_count = {pages + 3}")
        enter_pin(dialog, LEAD_A)
        settled()
        told.append(dialog._fault.text())

    in_dialog(act)
    keys.press(Qt.Key.Key_F6)
    assert "free some space" in told[0]
    assert review.message.text == "Not signed."
    assert signed(night, review) == ([], 0)


def test_quick_steps_show_only_the_last_shift(review, keys, qtbot, settled):
    """Three presses while the first is still read: nothing of the two between is shown."""
    titles, start = [], review.desk.shift.start
    review.title_changed.connect(titles.append)
    for _ in range(3):
        QTest.keyClick(review.grid, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
    assert review.desk.shift.start == start  # what was shown stays until the new one is read
    settled()
    assert titles == [review.desk.title()]
    assert (start - review.desk.shift.end).total_seconds() == 2 * 12 * 3600
    assert review.grid.hasFocus()


def test_what_is_typed_while_the_book_is_read_stays(handover, keys, settled):
    """Typing goes on over a reload: not a letter is lost, and the cursor stays where it was."""
    field = handover.steps.prepare_body.remarks
    field.setFocus()
    QTest.keyClicks(field, "Pump 2 ")
    handover.refresh()
    QTest.keyClicks(field, "hums")
    settled()
    QTest.keyClicks(field, ".")
    assert field.toPlainText() == "Pump 2 hums."


def test_notes_of_somebody_not_signed_on_wait_for_their_shift(show, night, keys, settled):
    """They cannot be written yet; going to another shift and back loses nothing."""
    screen = show(HandoverScreen, night)
    screen.steps.prepare_body.remarks.setFocus()
    keys.type("Belt 4 squeaks.")
    screen.earlier_button.click()
    settled()
    assert screen.steps.prepare_body.remarks.toPlainText() == ""
    screen.later_button.click()
    settled()
    assert screen.steps.prepare_body.remarks.toPlainText() == "Belt 4 squeaks."


def test_a_safety_state_cleared_after_the_shift_says_so(show, handed, clock, settled):
    """The signed part stays, told with when and by whom it ended; the change stands on top."""
    screen = show(HandoverScreen, handed, "operator_a")
    (state,) = handed.safety_states(handed.now())
    clock.advance(minutes=10)
    handed.write("operator_a", [NewSafetyEvent(state.id, handed.now(), "clear", "trip tested")])
    screen.enter()
    settled()
    part = next(part for part in screen.cards.parts if part.number == 1)
    assert part.lines[0].tag == "open at handover; cleared at 03 Mar 10:15, after this shift"
    assert not part.is_loud
    assert "Operator A: trip tested" in part.lines[0].details[-1]
    assert screen.cards.parts[0].title == "Changed since signing"
    (change,) = screen.cards.parts[0].lines
    assert (change.head, change.text) == (state.what, "cleared: trip tested")


def test_a_screen_waits_for_its_first_shift_without_a_fault(qtbot, night, qapp):
    """Before the book is read there is nothing to sign, to keep or to print, and it says nothing."""
    from logbook.ui.session import Session
    from logbook.ui.theme import LIGHT_THEME

    session = Session(night)
    for kind in (HandoverScreen, ReviewScreen):
        screen = kind(night, LIGHT_THEME, session)
        qtbot.addWidget(screen)
        screen.show()
        for slot in (screen.sign, screen.preview, screen.earlier, screen.later):
            slot()
        assert screen.message.text == ""
        screen.leave()
    session.close()
