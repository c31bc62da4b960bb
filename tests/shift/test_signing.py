"""Two people, two secrets, two times: handing a shift over, and everything that may go wrong."""

import json
from dataclasses import replace
from datetime import timedelta
from hashlib import sha256

import pytest

from logbook.record import (
    NewEntry,
    NewHandoverNote,
    NewSafetyState,
    WriteRefused,
    corrected,
    open_book,
)
from logbook.shift.access import Door
from logbook.shift.signed_state import HandoverStatus
from logbook.shift.signing import (
    SigningRefused,
    answer_subject,
    prepare,
    sign_outgoing,
    signed_content,
    unsaid,
    why_not_incoming,
    why_not_outgoing,
)


@pytest.fixture
def shift_done(crew, desk, at):
    """A day shift with a flooded bed, a thick mill and a bypass, everything said."""
    crew.shift(at("03-02 06:00"), {"16:00": {"gap.m1": 0.47, "bed": "flooded"}})
    desk.book.write("op1", [NewSafetyState(at("03-02 09:00"), "bypass", "Level trip", "tanks")])
    desk.say_nothing()
    return desk


@pytest.fixture
def handed_over(shift_done):
    """The same, signed by the outgoing crew."""
    shift_done.hand_over()
    return shift_done


def nothing_signed(desk):
    """No signature and no document of the shift is in the book."""
    day, key = desk.shift.date, desk.shift.pattern
    return not desk.book.signatures(day, key) and not desk.book.documents(day, key)


def test_a_shift_goes_from_one_crew_to_the_other(shift_done, clock):
    """Not signed, not accepted, accepted: responsibility passes with the last step alone."""
    assert shift_done.state().status is HandoverStatus.NOT_SIGNED
    shift_done.hand_over()
    assert shift_done.state().status is HandoverStatus.NOT_ACCEPTED
    assert shift_done.state().in_charge == "outgoing"
    shift_done.read_all()
    shift_done.take_over()
    state = shift_done.state()
    assert state.status is HandoverStatus.ACCEPTED
    assert state.in_charge == "incoming"
    assert (state.outgoing.person, state.incoming.person) == ("op1", "op2")
    assert state.duration == timedelta(minutes=5)
    assert state.lateness == timedelta(minutes=-5)


def test_what_is_signed_is_frozen_with_its_hash(handed_over, book):
    """Snapshot and printed form are in the book, both hashed."""
    state = handed_over.state()
    document = book.document(state.outgoing.document)
    stored = json.loads(document.snapshot)
    assert stored["content_hash"] == state.outgoing.content_hash
    assert sha256(document.pdf).hexdigest() == document.head.pdf_sha256
    assert signed_content(book, state.outgoing) == stored["content"]


def test_both_sign_the_same_content(handed_over, book):
    """The incoming document names the frozen content instead of holding it again."""
    handed_over.read_all()
    handed_over.take_over()
    state = handed_over.state()
    assert state.incoming.content_hash == state.outgoing.content_hash
    kept = json.loads(book.document(state.incoming.document).snapshot)
    assert "content" not in kept
    assert signed_content(book, state.incoming) == signed_content(book, state.outgoing)


def test_the_printed_form_shows_name_role_time_and_meaning_of_each_signature(handed_over):
    """And says that nobody has accepted, until somebody has."""
    [first] = handed_over.printed
    assert first["status"] == "NOT ACCEPTED"
    handed_over.read_all()
    handed_over.take_over()
    last = handed_over.printed[-1]
    assert last["status"] == "accepted"
    assert last["content"] == first["content"]
    assert [(s["role"], s["person"]["name"], s["at"]["label"]) for s in last["signatures"]] == [
        ("outgoing", "Operator One", "17:50"),
        ("incoming", "Operator Two", "17:55"),
    ]
    assert all(s["meaning"] and s["person_role"] == "operator" for s in last["signatures"])


# -- refused ------------------------------------------------------------------------------


def test_a_wrong_secret_signs_nothing(shift_done):
    """And the message is the door's."""
    with pytest.raises(SigningRefused, match="not right"):
        shift_done.hand_over(secret=shift_done.secrets["op2"])
    assert nothing_signed(shift_done)
    assert shift_done.printed == []


def test_a_shift_that_runs_on_cannot_be_handed_over(shift_done, clock, at):
    """Half an hour before its end it can; the message says when."""
    clock.set(at("03-02 17:00"))
    prepared = prepare(shift_done.book, shift_done.shift, clock.now)
    with pytest.raises(SigningRefused, match=r"runs until 18:00; .* from 17:30 on"):
        shift_done.hand_over(prepared=prepared)
    assert nothing_signed(shift_done)


def test_nobody_takes_over_from_themselves(handed_over):
    """A handover needs two people."""
    handed_over.read_all(person="op1")
    with pytest.raises(SigningRefused, match="Operator One handed this shift over"):
        handed_over.take_over("op1")
    assert handed_over.state().incoming is None


def test_nobody_takes_over_what_was_not_handed_over(shift_done):
    """The outgoing crew signs first."""
    with pytest.raises(SigningRefused, match="signs first"):
        shift_done.take_over()
    assert nothing_signed(shift_done)


def test_a_reader_signs_nothing(shift_done, book, clock):
    """The role is asked before the secret."""
    found = shift_done.ready().handover
    assert "reader" in why_not_outgoing(book, found, "guest", clock.now)
    assert "nobody called ghost" in why_not_outgoing(book, found, "ghost", clock.now)
    assert "reader" in why_not_incoming(book, shift_done.shift, "guest", clock.now)


def test_nothing_to_tell_must_be_said(crew, desk, book, clock, at):
    """An empty part might just be forgotten."""
    crew.shift(at("03-02 06:00"))
    found = desk.ready().handover
    assert len(unsaid(found)) == 2
    with pytest.raises(SigningRefused, match="say that nothing is"):
        desk.hand_over()
    note = NewHandoverNote(desk.shift.date, desk.shift.pattern, "no_safety", "none")
    book.write("op1", [note])
    with pytest.raises(SigningRefused, match="next shift must watch"):
        desk.hand_over()
    desk.say_nothing()
    desk.hand_over()
    assert desk.state().outgoing is not None


def test_a_safety_state_speaks_for_itself(shift_done):
    """With one open, nobody must say that there is none."""
    assert unsaid(shift_done.ready().handover) == ()


def test_each_subject_is_read_before_taking_over(handed_over):
    """The bypass, the thick mill and the flooded bed; a question will do as well."""
    keys = [subject.key for subject in handed_over.subjects()]
    assert keys[1:] == ["deviation:gap.m1", "answer:bed"]
    assert keys[0].startswith("safety:")
    with pytest.raises(SigningRefused, match=r"Read first, .*Level trip and 2 more"):
        handed_over.take_over()
    for key in keys[:2]:
        answer_subject(handed_over.book, handed_over.shift, "op2", key, "accepted")
    with pytest.raises(SigningRefused, match="Bed at the sight glass"):
        handed_over.take_over()
    answer_subject(handed_over.book, handed_over.shift, "op2", keys[2], "asked", "since when?")
    handed_over.take_over()
    state = handed_over.state()
    assert [check.text for check in state.questions] == ["since when?"]
    assert handed_over.printed[-1]["checks"][-1]["text"] == "since when?"


def test_what_somebody_else_has_read_does_not_count(handed_over):
    """The person who signs has read it."""
    handed_over.read_all(person="head")
    with pytest.raises(SigningRefused, match="Read first"):
        handed_over.take_over("op2")


def test_a_question_without_words_is_refused(handed_over):
    """There is nothing to answer in it."""
    with pytest.raises(WriteRefused):
        answer_subject(handed_over.book, handed_over.shift, "op2", "answer:bed", "asked", " ")


def test_a_safety_state_that_came_after_signing_is_read_too(handed_over, book, clock, at):
    """It is not in what was signed, and matters all the same."""
    handed_over.read_all()
    book.write("op1", [NewSafetyState(clock.now, "isolation", "Pump locked", "extraction")])
    with pytest.raises(SigningRefused, match="Pump locked"):
        handed_over.take_over()
    handed_over.read_all()
    handed_over.take_over()


def test_what_was_changed_since_it_was_looked_at_is_not_signed(shift_done, book, clock, at):
    """A correction, an entry or a remark: the person looks again."""
    prepared = shift_done.ready()
    [old] = book.readings(["gap.m1"], at("03-02 16:00"), at("03-02 16:01"))
    book.write("op1", [corrected(old, why="wrong dial", value=0.36)], kind="correction")
    with pytest.raises(SigningRefused, match="look at it again"):
        shift_done.hand_over(prepared=prepared)
    prepared = shift_done.ready()
    note = NewHandoverNote(shift_done.shift.date, shift_done.shift.pattern, "remarks", "late word")
    book.write("op1", [note])
    with pytest.raises(SigningRefused, match="look at it again"):
        shift_done.hand_over(prepared=prepared)
    assert nothing_signed(shift_done)


def test_a_change_while_the_printed_form_is_made_is_not_signed_either(shift_done, book, at):
    """It takes a second, and much can be written in a second."""

    def slow(document):
        book.write("op2", [NewEntry(at("03-02 12:00"), "forgot this")], kind="event")
        return b"pdf"

    with pytest.raises(SigningRefused, match="look at it again"):
        shift_done.hand_over(printer=slow)
    assert nothing_signed(shift_done)


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), ValueError("no font")])
def test_a_printed_form_that_fails_leaves_nothing_half_signed(shift_done, fault):
    """Neither the outgoing nor the incoming side."""

    def broken(document):
        raise fault

    with pytest.raises(type(fault)):
        shift_done.hand_over(printer=broken)
    assert nothing_signed(shift_done)
    shift_done.hand_over()
    shift_done.read_all()
    with pytest.raises(type(fault)):
        shift_done.take_over(printer=broken)
    assert shift_done.state().incoming is None
    shift_done.take_over()


def test_a_second_signature_of_a_side_is_told_who_signed(handed_over, book, clock):
    """Nothing is signed twice."""
    found = handed_over.ready().handover
    told = why_not_outgoing(book, found, "op2", clock.now)
    assert "Operator One has signed this at 17:50 already" in told


def test_of_two_windows_one_signs_and_the_other_is_told(shift_done, book, clock):
    """Both have looked, both have the right secret; the second is told who was quicker."""
    other = open_book(book.path, clock=clock, seat_name="Second window")
    with other:
        prepared = shift_done.ready()
        second = prepare(other, shift_done.shift, clock.now)

        def overtaken(document):
            shift_done.hand_over(prepared=prepared)
            return b"pdf"

        door = Door(other, monotonic=lambda: 0.0)
        with pytest.raises(SigningRefused, match="Operator One has signed this at"):
            sign_outgoing(other, door, second, "op2", shift_done.secrets["op2"], overtaken)
    [signature] = book.signatures(shift_done.shift.date, shift_done.shift.pattern)
    assert signature.person == "op1"
    assert len(book.documents(shift_done.shift.date, shift_done.shift.pattern)) == 1


# -- afterwards ---------------------------------------------------------------------------


def test_a_later_correction_shows_as_changed_since_signing(handed_over, book, clock, at):
    """And what was signed stays as it was."""
    before = signed_content(book, handed_over.state().outgoing)
    [old] = book.readings(["gap.m1"], at("03-02 16:00"), at("03-02 16:01"))
    clock.advance(minutes=1)
    book.write("head", [corrected(old, why="wrong dial", value=0.36)], kind="correction")
    state = handed_over.state()
    [change] = state.changes
    assert (change.subject, change.how, change.why) == ("gap.m1", "corrected", "wrong dial")
    assert signed_content(book, state.outgoing) == before
    handed_over.read_all()
    handed_over.take_over()
    [printed] = handed_over.printed[-1]["changed"]
    assert (printed["old"], printed["new"]) == ("0.47", "0.36")
    assert printed["subject"] == "Mills: Flake thickness, Mill 1"


def test_a_handover_that_nobody_took_over_is_loud(handed_over, clock):
    """Half an hour after the shift it is overdue; taken over late, it says how late."""
    assert not handed_over.state().is_overdue
    clock.set(handed_over.shift.end + timedelta(minutes=31))
    assert handed_over.state().is_overdue
    handed_over.read_all()
    handed_over.take_over()
    state = handed_over.state()
    assert not state.is_overdue
    assert state.lateness == timedelta(minutes=36)


def test_content_that_was_tampered_with_is_found(handed_over, book):
    """Its hash is not the one that was signed."""
    false = replace(handed_over.state().outgoing, content_hash="0" * 64)
    with pytest.raises(SigningRefused, match="verified"):
        signed_content(book, false)
