"""Which PINs and passwords are taken, and that only their hashes are kept."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.model import Person, Role
from logbook.shift.secret_rules import (
    COMMON_PINS,
    fault_of,
    hashed,
    is_outdated,
    kind_for,
    matches,
)

CREW = Person("op1", "Operator One")
LEAD = Person("lead_a", "Shift lead A", Role.SUPERVISOR)
HEAD = Person("technical_head", "Technical head", Role.ENGINEER)
PHRASE = "beans roll under rain"


def test_who_can_sign_for_others_has_a_password_and_the_rest_a_pin():
    """The kind follows from the role."""
    assert [kind_for(role) for role in (Role.READER, Role.OPERATOR)] == ["pin", "pin"]
    assert [kind_for(role) for role in (Role.SUPERVISOR, Role.ENGINEER)] == ["password"] * 2


@pytest.mark.parametrize("pin", ["271834", "902615", "2718345", "31415926535"])
def test_a_pin_of_six_digits_or_more_is_taken(pin):
    """Longer ones too."""
    assert fault_of(CREW, pin) == ""


@pytest.mark.parametrize(
    ("pin", "told"),
    [
        ("", "digits only"),
        ("27183", "at least 6 digits"),
        ("27 1834", "digits only"),
        ("27183a", "digits only"),
        ("-271834", "digits only"),
        ("000000", "first that anybody would try"),
        ("123456", "first that anybody would try"),
        ("987654", "first that anybody would try"),
        ("135791", "first that anybody would try"),
        ("890123", "first that anybody would try"),
        ("121212", "first that anybody would try"),
        ("272727", "first that anybody would try"),
        ("481481", "first that anybody would try"),
        ("455545", "first that anybody would try"),
        ("147258", "first that anybody would try"),
        ("19751231", "first that anybody would try"),
        ("31122001", "first that anybody would try"),
        ("9" * 300, "longer than 256"),
    ],
)
def test_a_pin_that_is_short_or_easily_guessed_is_refused_with_the_reason(pin, told):
    """Runs, repeats, two digits only, walks on the number pad and birthdays."""
    assert told in fault_of(CREW, pin)


def test_digits_of_other_scripts_are_the_same_pin_where_they_are_forms_of_ours():
    """Full-width digits are the same keys on another keyboard; other digits are none."""
    assert fault_of(CREW, "２７１８３４") == ""
    assert "digits only" in fault_of(CREW, "٢٧١٨٣٤")
    assert matches(hashed("271834"), "２７１８３４")


def test_every_common_pin_is_refused():
    """The list is in use, and holds nothing that a rule finds anyway or that is too short."""
    assert all("first that anybody" in fault_of(CREW, pin) for pin in COMMON_PINS)


@given(st.integers(0, 999_999))
def test_few_of_all_pins_are_refused(number):
    """What is refused has one of the told shapes; other six digits are taken."""
    pin = f"{number:06d}"
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    shaped = len(steps) == 1 or len(set(pin)) <= 2 or pin in COMMON_PINS
    repeats = pin in {pin[:2] * 3, pin[:3] * 2}
    assert bool(fault_of(CREW, pin)) is (shaped or repeats)


@pytest.mark.parametrize("person", [LEAD, HEAD])
@pytest.mark.parametrize(
    "text",
    [PHRASE, "Nine mills, one belt.", "ü" + "correct horse battery", "豆" * 3 + "abcdefghijklm"],
)
def test_a_long_password_is_taken_whatever_it_is_made_of(person, text):
    """No rules of composition: words, spaces and any script."""
    assert fault_of(person, text) == ""


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("short one", "at least 15 characters"),
        ("271834", "at least 15 characters"),
        ("aaaaaaaaaaaaaaaaaaa", "little more than"),
        ("abababababababababab", "little more than"),
        ("passwordpassword1", "little more than"),
        ("Technical head 2026", "little more than"),
        ("technical_head123456", "little more than"),
        ("qwertyuiop" + "x" * 400, "longer than 256"),
    ],
)
def test_a_password_that_is_short_or_common_is_refused_with_the_reason(text, told):
    """So is one that is the person's own name with a number."""
    assert told in fault_of(HEAD, text)


def test_a_hash_tells_nothing_and_matches_only_its_secret():
    """Argon2id with a salt of its own each time; upper case, blanks and length count."""
    first, second = hashed(PHRASE), hashed(PHRASE)
    assert first.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert first != second
    assert PHRASE not in first
    assert matches(first, PHRASE)
    assert matches(second, PHRASE)
    for other in (PHRASE + " ", PHRASE.upper(), "", PHRASE * 40):
        assert not matches(first, other)


def test_without_a_stored_hash_nothing_matches():
    """An unknown person, or one without a secret yet; a damaged hash is no way in either."""
    assert not matches(None, PHRASE)
    assert not matches(None, "nobody has this one")
    assert not matches("", PHRASE)
    assert not matches("not a hash", PHRASE)


def test_a_text_that_is_too_long_is_not_cut_to_a_right_one():
    """The longest secret and one letter more differ."""
    longest = "abcdefgh" * 32
    stored = hashed(longest)
    assert fault_of(HEAD, longest) == ""
    assert matches(stored, longest)
    assert not matches(stored, longest + "x")
    assert not matches(stored, longest + "xyz")


def test_a_hash_made_with_weaker_parameters_is_told():
    """So that it can be made anew when its owner next signs on."""
    from argon2 import PasswordHasher

    weak = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1).hash("271834")
    assert matches(weak, "271834")
    assert is_outdated(weak)
    assert not is_outdated(hashed("271834"))
