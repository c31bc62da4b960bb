"""Answered action deviations: whether somebody has looked if the answer helped."""

import pytest

from logbook.record import NewReading, NewResponse, NewStatus, corrected
from logbook.shift.responses_due import CheckState, checks_of, responses_due


@pytest.fixture
def answered(crew, at):
    """A mill's flakes far too thick at eight, answered in the same save."""
    return crew.round(at("03-02 08:00"), {"gap.m1": 0.53}, done={"gap.m1": "gap set"})


def test_a_check_is_due_at_the_next_round_and_missing_after_it(book, plant, answered, at):
    """Nothing before ten, due from ten on, missing from twelve on."""
    assert responses_due(book, plant, at("03-02 09:59")) == ()
    (coming,) = checks_of(book, plant, at("03-02 09:59"))
    assert (coming.state, coming.due_at) == (CheckState.COMING, at("03-02 10:00"))
    (due,) = responses_due(book, plant, at("03-02 10:00"))
    assert (due.point.key, due.state) == ("gap.m1", CheckState.DUE)
    assert [r.text for r in due.responses] == ["gap set"]
    assert due.reading.value == 0.53
    assert responses_due(book, plant, at("03-02 11:59"))[0].state is CheckState.DUE
    assert responses_due(book, plant, at("03-02 12:00"))[0].state is CheckState.MISSING


@pytest.mark.parametrize("value", [0.35, 0.52])
def test_the_next_value_is_the_check_whatever_it_says(book, plant, crew, answered, at, value):
    """Still out: that is a deviation of its own, which wants its own answer."""
    crew.round(at("03-02 10:00"), {"gap.m1": value})
    assert checks_of(book, plant, at("03-02 12:00")) == ()


def test_a_reason_why_it_was_not_read_is_no_check(book, plant, crew, answered, at):
    """Nobody knows yet whether it helped."""
    crew.round(at("03-02 10:00"), {"gap.m1": "!not_sampled"})
    (check,) = responses_due(book, plant, at("03-02 12:30"))
    assert check.state is CheckState.MISSING


def test_a_check_carries_over_the_change_of_shift(book, plant, crew, at):
    """Answered in the last round of the day, due in the first of the night."""
    crew.round(at("03-02 16:00"), {"gap.m1": 0.53}, done={"gap.m1": "gap set"})
    (check,) = responses_due(book, plant, at("03-02 18:05"))
    assert (check.state, check.due_at) == (CheckState.DUE, at("03-02 18:00"))


def test_an_answer_given_later_is_checked_at_the_round_after_it(book, plant, crew, clock, at):
    """There was nothing to check before it was given."""
    saved = crew.round(at("03-02 08:00"), {"gap.m1": 0.53})
    clock.set(at("03-02 10:30"))
    row = NewResponse(saved.ids[0], "gap set", at("03-02 10:20"))
    book.write("op1", [row], kind="event")
    (check,) = checks_of(book, plant, at("03-02 10:30"))
    assert check.due_at == at("03-02 12:00")


def test_unanswered_and_mild_deviations_ask_for_no_check(book, plant, crew, at):
    """An unanswered one is told elsewhere; a warning needs no answer."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.53, "gap.m2": 0.42}, done={"gap.m2": "watched"})
    assert checks_of(book, plant, at("03-02 13:00")) == ()


def test_an_answer_that_is_an_action_state_is_checked_too(book, plant, crew, at):
    """A flooded bed, read by its state."""
    crew.round(at("03-02 08:00"), {"bed": "flooded"}, done={"bed": "feed cut"})
    (check,) = responses_due(book, plant, at("03-02 10:00"))
    assert (check.point.key, check.reading.text) == ("bed", "flooded")


def test_while_the_area_is_down_no_check_is_due(book, plant, crew, answered, clock, at):
    """It is due in the first round after it is up again."""
    clock.set(at("03-02 09:30"))
    rows = [NewStatus("area", "mills", at("03-02 09:30"), "down", "belt torn")]
    book.write("op1", rows, kind="event")
    assert checks_of(book, plant, at("03-02 12:30")) == ()
    clock.set(at("03-02 13:00"))
    book.write("op1", [NewStatus("area", "mills", at("03-02 13:00"), "up")], kind="event")
    (check,) = checks_of(book, plant, at("03-02 13:00"))
    assert check.due_at == at("03-02 14:00")


def test_a_correction_decides_whether_there_was_anything_to_check(book, plant, crew, answered, at):
    """Corrected to a good value, nothing is due; to another bad one, it still is, once."""
    old = book.of_round(at("03-02 08:00"))["gap.m1"]
    book.write("op1", [corrected(old, why="misread", value=0.51)], kind="correction")
    (check,) = responses_due(book, plant, at("03-02 10:00"))
    assert check.reading.value == 0.51
    assert [r.text for r in check.responses] == ["gap set"]
    again = book.of_round(at("03-02 08:00"))["gap.m1"]
    book.write("op1", [corrected(again, why="misread", value=0.36)], kind="correction")
    assert checks_of(book, plant, at("03-02 10:00")) == ()


def test_what_is_read_on_sample_is_looked_at_within_a_day(book, plant, clock, at):
    """There is no round for it."""
    taken = at("03-02 08:00")
    clock.set(taken)
    saved = book.write("op1", [NewReading("guard.m1", taken, text="open", typed="open")])
    book.write("op1", [NewResponse(saved.ids[0], "guard shut", taken)], kind="event")
    (check,) = checks_of(book, plant, at("03-02 12:00"))
    assert (check.state, check.due_at) == (CheckState.COMING, at("03-03 08:00"))
    assert responses_due(book, plant, at("03-03 08:01"))[0].state is CheckState.MISSING


def test_the_missing_come_before_the_due(book, plant, crew, at):
    """Then by when they were due."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.53}, done={"gap.m1": "gap set"})
    crew.round(at("03-02 10:00"), {"bed": "flooded"}, done={"bed": "feed cut"}, without=("gap.m1",))
    found = responses_due(book, plant, at("03-02 12:30"))
    assert [(c.point.key, c.state) for c in found] == [
        ("gap.m1", CheckState.MISSING),
        ("bed", CheckState.DUE),
    ]


def test_after_a_week_nobody_is_asked_any_more(book, plant, answered, at):
    """The book still shows that it was never read again."""
    assert len(responses_due(book, plant, at("03-09 08:59"))) == 1
    assert responses_due(book, plant, at("03-09 09:01")) == ()
