from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.typed import (
    CHECK_CHOICES,
    Matched,
    Several,
    Unmatched,
    read_check,
    read_state,
)
from logbook.plant.model import Choice

RUN = (
    Choice("run", "Running"),
    Choice("rev", "Reversed"),
    Choice("stby", "On standby"),
    Choice("off", "Stopped, locked out"),
)
GRADES = (Choice("g10", "10 mesh"), Choice("g20", "20 mesh"))


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("run", "run"),
        ("Running", "run"),
        ("RUNNING", "run"),
        ("ru", "run"),
        (" rev ", "rev"),
        ("o", None),
        ("on", "stby"),
        ("of", "off"),
        ("standby", "stby"),
        ("locked", "off"),
        ("1", "run"),
        ("4", "off"),
        ("04", "off"),
        ("４", "off"),
    ],
)
def test_an_answer_is_found_by_key_name_beginning_or_number(text, key):
    """Whole words first, then the number, beginnings, and words inside a name."""
    found = read_state(text, RUN)
    if key is None:
        assert isinstance(found, Several)
    else:
        assert found == Matched(next(choice for choice in RUN if choice.key == key))


def test_a_beginning_of_several_answers_lists_them_with_their_numbers():
    """Of "r" there are Running and Reversed: the sentence says how to go on."""
    found = read_state("r", RUN)
    assert isinstance(found, Several)
    assert [choice.key for choice in found.choices] == ["run", "rev"]
    assert found.sentence.endswith("1 Running, 2 Reversed.")


@pytest.mark.parametrize("text", ["x", "runningly", "0", "5", "99999", "", "  ", "stop ped"])
def test_what_fits_no_answer_is_told_with_the_answers_there_are(text):
    """Numbers past the list and the empty text too."""
    found = read_state(text, RUN)
    assert isinstance(found, Unmatched)
    assert "1 Running" in found.sentence


def test_where_answers_start_with_digits_a_number_is_a_beginning_and_not_a_place():
    """Then "2" means 20 mesh; "1" means 10 mesh, though it is also the first."""
    assert read_state("2", GRADES) == Matched(GRADES[1])
    assert read_state("1", GRADES) == Matched(GRADES[0])
    assert isinstance(read_state("3", GRADES), Unmatched)


def test_a_whole_answer_wins_over_longer_ones_that_begin_with_it():
    """So "no" is No, not No flow."""
    choices = (Choice("no", "No"), Choice("noflow", "No flow"))
    assert read_state("no", choices) == Matched(choices[0])


def test_a_point_without_answers_says_so():
    """Nothing can be chosen."""
    assert isinstance(read_state("x", ()), Unmatched)


@pytest.mark.parametrize("text", ["y", "Y", "yes", "x", "ok", "+", "1", "d", "done"])
def test_done_is_typed_in_many_ways(text):
    """The first of two answers."""
    assert read_check(text) == Matched(CHECK_CHOICES[0])


@pytest.mark.parametrize("text", ["n", "no", "-", "−", "0", "2", "not done", "not", "not_done"])
def test_not_done_is_typed_in_many_ways(text):
    """The second of two answers."""
    assert read_check(text, ()) == Matched(CHECK_CHOICES[1])


def test_answers_of_its_own_win_over_yes_and_no_words():
    """Where the plant lists No first, "y" is still Yes."""
    choices = (Choice("no", "No leak"), Choice("yes", "Yes, leaking"))
    assert read_check("y", choices) == Matched(choices[1])
    assert read_check("n", choices) == Matched(choices[0])
    assert read_check("x", choices) == Matched(choices[0])


def test_a_check_with_three_answers_is_read_as_a_state():
    """Yes and no words mean nothing there."""
    choices = (Choice("a", "Clean"), Choice("b", "Dusty"), Choice("c", "Blocked"))
    assert read_check("bl", choices) == Matched(choices[2])
    assert isinstance(read_check("x", choices), Unmatched)


@given(text=st.text(max_size=10))
@settings(max_examples=300, deadline=None)
def test_no_text_makes_reading_an_answer_raise(text):
    """Whatever is typed, there is an answer with a choice or a sentence."""
    for found in (read_state(text, RUN), read_state(text, GRADES), read_check(text)):
        assert isinstance(found, Matched) or found.sentence.endswith(".")


@given(k=st.integers(0, 3), cut=st.integers(1, 20))
@settings(max_examples=100, deadline=None)
def test_any_beginning_of_a_name_finds_it_alone_or_among_several(k, cut):
    """Typing on never loses the answer that is meant."""
    found = read_state(RUN[k].name[:cut], RUN)
    assert RUN[k] in (found.choices if isinstance(found, Several) else (found.choice,))
