"""Two crews at the Handover screen, with keys."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt

from logbook.record import NewSafetyState, corrected
from logbook.shift.signed_state import HandoverStatus, signed_state
from logbook.shift.signing import SigningRefused
from logbook.ui.handover.screen import HandoverScreen
from logbook.ui.theme import DARK_THEME

OUT_PIN, IN_PIN = "482913", "730258"
OUT = "bean_feed_rate"


def write_notes(screen, keys, *, text: str = "Watch the feed gate.") -> None:
    """Type what the next shift must do."""
    screen.steps.prepare_body.next_shift.setFocus()
    keys.type(text)


def hand_over(screen, keys, sign) -> None:
    """Write the notes and sign for the night."""
    write_notes(screen, keys)
    told = sign(OUT_PIN)
    keys.press(Qt.Key.Key_F6)
    assert told == [""]


@pytest.fixture
def handed_over(show, handed) -> HandoverScreen:
    """The night, signed by its operator, who is still at the screen."""
    return show(HandoverScreen, handed, "operator_b")


@pytest.fixture
def taking(show, handed) -> HandoverScreen:
    """The same handover, an operator of the day at the screen."""
    return show(HandoverScreen, handed, "operator_a")


def status(book, screen) -> HandoverStatus:
    """How the handover stands in the book."""
    return signed_state(book, screen.desk.shift, book.now()).status


def read_all(screen, keys) -> None:
    """Read each subject and accept it."""
    screen.steps.subjects.names.setFocus()
    for _ in screen.steps.subjects.subjects:
        keys.press(Qt.Key.Key_Return)


def test_the_handover_composes_itself_with_safety_first(handover):
    """The bypass heads the parts in their fixed order; the open deviation comes next."""
    parts = [part for part in handover.cards.parts if part.number]
    assert [part.number for part in parts] == list(range(1, len(parts) + 1))
    assert "Low level trip of the work tank" in parts[0].lines[0].text
    assert parts[0].is_loud
    assert any("Bean feed rate" in line.head for line in parts[1].lines)
    assert "Feed gate eased by hand" in handover.cards.text


def test_a_part_with_nothing_in_it_stands_there_and_says_so(handover):
    """No part is left out because it is empty."""
    empty = [part for part in handover.cards.parts if not part.lines]
    assert empty
    assert all(part.nothing for part in empty)


def test_both_crews_sign_by_keyboard(handover, show, night, to_front, keys, sign):
    """Notes, outgoing PIN, each subject read, incoming PIN: two people, two signatures."""
    hand_over(handover, keys, sign)
    taking = show(HandoverScreen, night, "operator_a")
    assert taking.steps.subjects.subjects[0].subject.key.startswith("safety:")
    read_all(taking, keys)
    told = sign(IN_PIN)
    keys.press(Qt.Key.Key_F6)
    assert told == [""]
    state = signed_state(night, taking.desk.shift, night.now())
    assert state.status is HandoverStatus.ACCEPTED
    assert (state.outgoing.person, state.incoming.person) == ("operator_b", "operator_a")
    assert "Operator A took over" in taking.banner.text
    assert night.document(state.incoming.document).pdf.startswith(b"%PDF")


def test_a_handover_nobody_took_over_is_loud(handed_over):
    """The banner is an alarm and says who stays in charge."""
    assert handed_over.banner.text.startswith("NOT TAKEN OVER")
    assert handed_over.banner.property("role") == "banner"
    assert "outgoing crew stays in charge" in handed_over.banner.text


def test_nothing_for_the_next_shift_must_be_said(handover, night, keys):
    """An empty field is no answer: without words and without a tick nobody signs."""
    keys.press(Qt.Key.Key_F6)
    assert "next shift" in handover.message.text
    assert status(night, handover) is HandoverStatus.NOT_SIGNED


def test_nothing_can_be_chosen_with_a_tick(handover, night, keys, sign):
    """With the tick the shift can be signed, and the part says who said it."""
    handover.steps.prepare_body.no_next.setFocus()
    keys.press(Qt.Key.Key_Space)
    told = sign(OUT_PIN)
    keys.press(Qt.Key.Key_F6)
    assert told == [""]
    assert "Nothing for the next shift." in handover.cards.text


def test_a_tick_gives_way_to_words(handover, keys):
    """Something for the next shift takes "nothing" back."""
    handover.steps.prepare_body.no_next.setFocus()
    keys.press(Qt.Key.Key_Space)
    write_notes(handover, keys)
    typed = handover.steps.prepare_body.typed
    assert (typed.next_shift, typed.no_next) == ("Watch the feed gate.", False)


def test_nobody_can_say_that_nothing_is_bypassed_while_something_is(handover):
    """With an open safety state the tick is not offered."""
    assert handover.steps.prepare_body.no_safety.isHidden()


def test_a_wrong_pin_signs_nothing(handover, night, keys, sign):
    """The dialog says that it is wrong, and the shift is as unsigned as before."""
    write_notes(handover, keys)
    told = sign("999111")
    keys.press(Qt.Key.Key_F6)
    assert "not right" in told[0]
    assert handover.message.text == "Not signed."
    assert status(night, handover) is HandoverStatus.NOT_SIGNED
    assert night.documents(handover.desk.shift.date, handover.desk.shift.pattern) == []


def test_nobody_takes_over_from_themselves(handed_over, handed, keys, sign):
    """The person who handed over can neither read for the other side nor sign for it."""
    handed_over.steps.subjects.names.setFocus()
    keys.press(Qt.Key.Key_Return)
    assert "handed over" in handed_over.message.text
    keys.press(Qt.Key.Key_F6)
    assert "somebody else must take it over" in handed_over.message.text
    assert status(handed, handed_over) is HandoverStatus.NOT_ACCEPTED


def test_the_same_person_is_refused_in_the_dialog_too(taking, handed, keys, sign):
    """Choosing the outgoing person there, with the right PIN, signs nothing."""
    read_all(taking, keys)
    told = sign(OUT_PIN, person="operator_b")
    keys.press(Qt.Key.Key_F6)
    assert "somebody else must take it over" in told[0]
    assert status(handed, taking) is HandoverStatus.NOT_ACCEPTED


def test_nobody_takes_over_what_they_have_not_read(taking, handed, keys):
    """Each safety state and each open action deviation is read first, one by one."""
    keys.press(Qt.Key.Key_F6)
    assert taking.message.text.startswith("Read first")
    taking.steps.subjects.names.setFocus()
    before = taking.steps.subjects.open_count
    keys.press(Qt.Key.Key_Return)
    assert taking.steps.subjects.open_count == before - 1
    keys.press(Qt.Key.Key_F6)
    assert taking.message.text.startswith("Read first")
    assert status(handed, taking) is HandoverStatus.NOT_ACCEPTED


def test_a_question_stays_on_the_record_and_settles_its_subject(taking, handed, keys):
    """The incoming asks with words; the question is kept with who asked."""
    taking.steps.subjects.question.setFocus()
    keys.enter("Who holds the key of the bypass?")
    checks = handed.handover_checks(taking.desk.shift.date, taking.desk.shift.pattern)
    assert [(c.answer, c.text, c.person) for c in checks] == [
        ("asked", "Who holds the key of the bypass?", "operator_a")
    ]
    assert taking.steps.subjects.subjects[0].is_settled


def test_a_running_shift_cannot_be_handed_over(handover, night, keys):
    """The day runs until 18:00: it says so and from when on it can be signed."""
    keys.chord(Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert handover.desk.is_running
    handover.steps.prepare_body.no_next.setFocus()
    keys.press(Qt.Key.Key_Space)
    keys.press(Qt.Key.Key_F6)
    assert handover.message.text == (
        "The shift runs until 18:00; it can be handed over from 17:30 on."
    )
    assert status(night, handover) is HandoverStatus.NOT_SIGNED


def test_of_two_windows_that_sign_the_same_shift_one_wins(
    handover, show, second, to_front, keys, sign
):
    """The other is told who signed when, and nothing of its own is in the book."""
    other = show(HandoverScreen, second, "lead_b")
    to_front(handover)
    hand_over(handover, keys, sign)
    with pytest.raises(SigningRefused, match=r"Operator B has signed this|changed since"):
        other.desk.begin_outgoing(other.session.door, "lead_b", "two lanterns above the weir")
    shift = other.desk.shift
    assert [s.person for s in second.signatures(shift.date, shift.pattern)] == ["operator_b"]
    assert len(second.documents(shift.date, shift.pattern)) == 1


def test_the_second_window_sees_the_signature_when_it_signs(
    handover, show, second, to_front, keys, sign
):
    """F6 in the other window looks again before it asks for a PIN."""
    other = show(HandoverScreen, second, "lead_b")
    to_front(handover)
    hand_over(handover, keys, sign)
    to_front(other)
    keys.press(Qt.Key.Key_F6)
    assert "signed" in other.message.text
    assert other.desk.state.outgoing.person == "operator_b"


def test_what_changes_after_signing_is_shown_and_the_signed_stays(
    taking, handed, clock, keys, sign, settled
):
    """A later correction stands at the top with old and new value; the parts show what was signed."""
    read_all(taking, keys)
    sign(IN_PIN)
    keys.press(Qt.Key.Key_F6)
    clock.set(handed.now() + timedelta(minutes=5))
    reading = next(
        r for r in handed.readings([OUT], taking.desk.shift.start, taking.desk.shift.end)
    )
    handed.write("lead_a", [corrected(reading, why="misread", value=61.5, typed="61.5")])
    signed = [part for part in taking.cards.parts if part.number]
    taking.enter()
    settled()
    assert taking.cards.parts[0].title == "Changed since signing"
    assert "61.5" in taking.cards.text
    assert "misread" in taking.cards.text
    assert "1 change since signing" in taking.banner.text
    assert [part for part in taking.cards.parts if part.number] == signed


def test_a_safety_state_entered_after_signing_must_be_read_too(taking, handed, settled):
    """What became unsafe meanwhile stands among what the incoming reads."""
    before = taking.steps.subjects.open_count
    permit = NewSafetyState(handed.now(), "permit", "Hot work at the meal cooler")
    handed.write("operator_b", [permit])
    taking.enter()
    settled()
    assert taking.steps.subjects.open_count == before + 1
    assert "Hot work" in taking.steps.subjects.subjects[-1].subject.title


def test_notes_are_kept_when_the_screen_is_left(handover, night, keys):
    """What was typed is in the book, without a click."""
    write_notes(handover, keys, text="Pump 2 hums.")
    handover.leave()
    notes = night.handover_notes(handover.desk.shift.date, handover.desk.shift.pattern)
    assert notes["next_shift"].text == "Pump 2 hums."


def test_half_typed_notes_survive_a_refresh(handover, keys):
    """F5 puts the handover together again and leaves the typing alone."""
    write_notes(handover, keys, text="half a sen")
    keys.press(Qt.Key.Key_F5)
    assert handover.steps.prepare_body.next_shift.toPlainText() == "half a sen"


def test_the_screen_shows_in_the_other_palette(handover):
    """The cards are made anew and say the same."""
    before = handover.cards.text
    handover.set_theme(DARK_THEME)
    assert handover.cards.text == before
