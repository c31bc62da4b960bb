from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from logbook.assess.typed import Ambiguous, Typed, Unreadable, format_number, read_number
from logbook.assess.unit_text import plain_unit

# What a plant with a decimal point reads; for one with a comma "." and "," change places.
READ = {
    "0": (0.0, 0),
    "5": (5.0, 0),
    "12": (12.0, 0),
    "007": (7.0, 0),
    "12.5": (12.5, 1),
    "0.40": (0.4, 2),
    "12.50": (12.5, 2),
    "1.234": (1.234, 3),
    "0.123": (0.123, 3),
    "12.345": (12.345, 3),
    "123.456": (123.456, 3),
    "1234.567": (1234.567, 3),
    "1.2345": (1.2345, 4),
    "1.23": (1.23, 2),
    ".5": (0.5, 1),
    "5.": (5.0, 0),
    ".500": (0.5, 3),
    "00.5": (0.5, 1),
    # the other mark, where it can only be a decimal mark
    "12,5": (12.5, 1),
    "0,40": (0.4, 2),
    "0,123": (0.123, 3),
    "1,23": (1.23, 2),
    "1,2": (1.2, 1),
    "1,2345": (1.2345, 4),
    "1234,567": (1234.567, 3),
    "12345,678": (12345.678, 3),
    ",5": (0.5, 1),
    ",500": (0.5, 3),
    "5,": (5.0, 0),
    "123,": (123.0, 0),
    # both marks: the last is the decimal mark
    "1,234.5": (1234.5, 1),
    "1.234,5": (1234.5, 1),
    "1,234.567": (1234.567, 3),
    "1.234,567": (1234.567, 3),
    "12,345.6": (12345.6, 1),
    "123,456.78": (123456.78, 2),
    "1,234,567.8": (1234567.8, 1),
    "1.234.567,8": (1234567.8, 1),
    "1,234.": (1234.0, 0),
    # several equal marks
    "1,234,567": (1234567.0, 0),
    "1.234.567": (1234567.0, 0),
    "12,345,678": (12345678.0, 0),
    "123,456,789": (123456789.0, 0),
    # spaces and apostrophes as group marks
    "1 234": (1234.0, 0),
    "12 345": (12345.0, 0),
    "123 456": (123456.0, 0),
    "1 234 567": (1234567.0, 0),
    "1 234.5": (1234.5, 1),
    "1 234,5": (1234.5, 1),
    "1 234,567": (1234.567, 3),
    "1\u00a0234.5": (1234.5, 1),
    "1\u202f234.5": (1234.5, 1),
    "1\u2009234\u2009567": (1234567.0, 0),
    "1'234": (1234.0, 0),
    "1'234.5": (1234.5, 1),
    "1’234’567.25": (1234567.25, 2),
    # signs
    "-5": (-5.0, 0),
    "+5": (5.0, 0),
    "−5": (-5.0, 0),
    "- 5": (-5.0, 0),
    "-.5": (-0.5, 1),
    "-0,5": (-0.5, 1),
    "-1 234.5": (-1234.5, 1),
    "-1,234.5": (-1234.5, 1),
    "–5": (-5.0, 0),
    "-0": (0.0, 0),
    "-0.0": (0.0, 1),
    # around it
    "  7  ": (7.0, 0),
    "\t12.5\n": (12.5, 1),
    "\u00a012.5\u202f": (12.5, 1),
    "\ufeff12.5": (12.5, 1),
    "\u200e-12.5\u200f": (-12.5, 1),
    # digits of other scripts, full width
    "１２．５": (12.5, 1),
    "１２，５": (12.5, 1),
    "－７": (-7.0, 0),
    "＋７": (7.0, 0),
    "٣٫٥": (3.5, 1),
    "١٬٢٣٤": (1234.0, 0),
    "१२.५": (12.5, 1),
    "๑๒": (12.0, 0),
    # many digits
    "123456789012345": (123456789012345.0, 0),
    "0.000000123456789": (0.000000123456789, 15),
    "000000000000000000001": (1.0, 0),
}

# Ambiguous in a plant with a decimal point: both values.
EITHER = {
    "1,234": (1.234, 1234.0),
    "1,000": (1.0, 1000.0),
    "12,345": (12.345, 12345.0),
    "123,456": (123.456, 123456.0),
    "-1,234": (-1.234, -1234.0),
    "−12,345": (-12.345, -12345.0),
    "+1,234": (1.234, 1234.0),
    " 1,234 ": (1.234, 1234.0),
    "１，２３４": (1.234, 1234.0),
    "9,999": (9.999, 9999.0),
    "012,345": (12.345, 12345.0),
    "00,123": (0.123, 123.0),
    "1,234\u00a0": (1.234, 1234.0),
}

# What nobody can read, and words of the sentence that says so.
REFUSED = {
    "": "Nothing is typed",
    "   ": "Nothing is typed",
    "\u200b": "Nothing is typed",
    ".": "no digits",
    ",": "no digits",
    "-": "no digits",
    "+": "no digits",
    "-.": "no digits",
    "'": "no digits",
    "1e5": "exponent",
    "1E5": "exponent",
    "1e-5": "exponent",
    "1.5e+3": "exponent",
    "1,5 e 3": "exponent",
    "1.5x10^3": "exponent",
    "1.5 × 10³": "exponent",
    "2*10": "exponent",
    "-2e3": "exponent",
    "nan": "give a reason",
    "NaN": "give a reason",
    "inf": "give a reason",
    "-inf": "give a reason",
    "Infinity": "give a reason",
    "∞": "give a reason",
    "0x1F": "for computers",
    "0b101": "for computers",
    "-0o17": "for computers",
    "1_000": "underscore",
    "_1": "underscore",
    "<0.5": "not one number",
    "> 3": "not one number",
    "≤2": "not one number",
    "~5": "not one number",
    "abc": "not a number",
    "x": "not a number",
    "°C": "not a number",
    "12a": "does not belong",
    "l2": "not a number",
    "1O": "does not belong",
    "5 mm": "does not belong",
    "12.5%": "does not belong",
    "3/4": "does not belong",
    "²": "not a number",
    "5²": "does not belong",
    "½": "not a number",
    "12:30": "looks like a time",
    "--5": "more than one sign",
    "+-5": "more than one sign",
    "- -5": "more than one sign",
    "−-5": "more than one sign",
    "5-": "sign at the end",
    "5 −": "sign at the end",
    "5-6": "more than one number",
    "5 - 6": "more than one number",
    "5+6": "more than one number",
    "5±1": "does not belong",
    "1 2": "not of three digits",
    "12 13": "not of three digits",
    "1 23 456": "not of three digits",
    "1234 567": "not of three digits",
    "1,23,456": "not of three digits",
    "1.2.3": "not of three digits",
    "1..2": "not of three digits",
    "1,,2": "not of three digits",
    "12,34.5": "not of three digits",
    "1234,567.8": "not of three digits",
    "0,123.5": "not of three digits",
    "0,123,456": "not of three digits",
    "012,345.6": "not of three digits",
    ",234.5": "not of three digits",
    ".234.567": "not of three digits",
    "1,234,567,": "not of three digits",
    "1 234 5": "not of three digits",
    "1'23": "not of three digits",
    "1''234": "not of three digits",
    "12 .5": "not of three digits",
    "1,234.567,8": "marks mixed",
    "1.234,567.8": "marks mixed",
    "1,234 567.8": "different group marks",
    "1'234 567": "different group marks",
    "1 234,567.8": "different group marks",
    "12. 5": "gap behind the decimal mark",
    "0.123 456": "gap behind the decimal mark",
    "1234567890123456": "More than 15 digits",
    "1.234567890123456": "More than 15 digits",
    "9" * 61: "61 characters are too many",
}


def swapped(text):
    """The same text as a plant with a decimal comma would write it."""
    return text.translate(str.maketrans(".,．，", ",.，．"))


@pytest.mark.parametrize("comma", [False, True], ids=["point plant", "comma plant"])
@pytest.mark.parametrize("text", READ)
def test_a_spelling_is_read_as_the_number_it_can_only_mean(text, comma):
    """Value, digits behind the mark and the exact text, in plants of both kinds."""
    typed = swapped(text) if comma else text
    value, decimals = READ[text]
    found = read_number(typed, decimal_comma=comma)
    assert found == Typed(value, decimals, typed)
    assert math.copysign(1, found.value) == math.copysign(1, value)


@pytest.mark.parametrize("comma", [False, True], ids=["point plant", "comma plant"])
@pytest.mark.parametrize("text", EITHER)
def test_a_spelling_with_two_meanings_is_asked_about(text, comma):
    """Both values come back, and a sentence that says how to type either."""
    typed = swapped(text) if comma else text
    found = read_number(typed, decimal_comma=comma)
    assert isinstance(found, Ambiguous)
    assert (found.text, found.values) == (typed, EITHER[text])


@pytest.mark.parametrize("text", EITHER)
@pytest.mark.parametrize("comma", [False, True], ids=["point plant", "comma plant"])
def test_what_the_question_says_to_type_is_read_as_the_value_it_stands_for(text, comma):
    """Both spellings in the sentence are readable, so that nobody is asked twice."""
    found = read_number(swapped(text) if comma else text, decimal_comma=comma)
    small, large = found.sentence.removesuffix(".").split(": type ")[1].split(" or ")
    assert read_number(small, decimal_comma=comma).value == found.values[0]
    assert read_number(large, decimal_comma=comma).value == found.values[1]


@pytest.mark.parametrize("comma", [False, True], ids=["point plant", "comma plant"])
@pytest.mark.parametrize("text", REFUSED)
def test_a_text_that_is_no_number_is_refused_with_its_own_sentence(text, comma):
    """Each fault has words of its own, and says what to do."""
    typed = swapped(text) if comma else text
    found = read_number(typed, decimal_comma=comma)
    assert isinstance(found, Unreadable), found
    assert REFUSED[text] in found.sentence
    assert found.sentence.endswith(".")
    assert found.text == typed


def test_the_sentence_of_the_question_is_the_one_promised():
    """In the plant's own spelling."""
    point = read_number("1,234", decimal_comma=False)
    assert point.sentence == '"1,234" can be 1.234 or 1234: type 1.234 or 1234.'
    comma = read_number("1.234", decimal_comma=True)
    assert comma.sentence == '"1.234" can be 1,234 or 1234: type 1,234 or 1234.'


# -- with a unit --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("72.5 °C", "degC", 72.5),
        ("72.5°C", "°C", 72.5),
        ("72.5 degC", "°C", 72.5),
        ("72,5 ℃", "degC", 72.5),
        ("72.5 C", "degC", 72.5),
        ("72.5", "degC", 72.5),
        ("0.35 mm", "mm", 0.35),
        ("0.35mm", "mm", 0.35),
        ("-3 kPa", "kPa", -3.0),
        ("12 %", "%", 12.0),
        ("12%", "%", 12.0),
        ("120 m³/h", "m3/h", 120.0),
        ("120 m3 / h", "m³/h", 120.0),
        ("1 234 kg/h", "kg/h", 1234.0),
        ("5 1/min", "1/min", 5.0),
        ("5 /min", "1/min", 5.0),
        ("721/min", "1/min", 721.0),
        ("5 µS/cm", "μS/cm", 5.0),
        ("12 e", "e", 12.0),
    ],
)
def test_the_points_own_unit_may_stand_behind_the_number(text, unit, value):
    """In any spelling of it; without it too; and 721/min is not 72 of 1/min."""
    assert read_number(text, decimal_comma=False, unit=unit).value == value


@pytest.mark.parametrize(
    ("text", "unit", "named"),
    [
        ("140 °F", "degC", '"°F" is not the unit of this point: type the number in degC.'),
        ("5 cm", "mm", '"cm"'),
        ("5 MPa", "mPa", '"MPa"'),
        ("5 mm 3", "mm", '"mm 3"'),
        ("72 degCC", "degC", '"degCC"'),
    ],
)
def test_another_unit_is_refused_and_named(text, unit, named):
    """Never converted in silence, and upper and lower case matter."""
    found = read_number(text, decimal_comma=False, unit=unit)
    assert isinstance(found, Unreadable)
    assert named in found.sentence


def test_a_number_with_its_unit_may_still_be_ambiguous():
    """The unit settles nothing about the mark."""
    found = read_number("1,234 mm", decimal_comma=False, unit="mm")
    assert isinstance(found, Ambiguous)
    assert found.values == (1.234, 1234.0)


@pytest.mark.parametrize(
    ("one", "other"),
    [("°C", "degC"), ("ºC", "degC"), ("m³", "m3"), ("kg / h", "kg/hr"), ("µm", "μm")],
)
def test_spellings_of_one_unit_are_the_same(one, other):
    """As people and instruments write them."""
    assert plain_unit(one) == plain_unit(other)


@pytest.mark.parametrize(("one", "other"), [("mPa", "MPa"), ("degC", "degF"), ("g", "kg")])
def test_different_units_stay_different(one, other):
    """Upper and lower case are not the same."""
    assert plain_unit(one) != plain_unit(other)


# -- any text, any number -----------------------------------------------------------------

spellings = st.text(alphabet="0123456789.,-+ '’\u202f−eEx°C%٣٫", max_size=14)


@given(text=st.one_of(st.text(max_size=30), spellings), comma=st.booleans())
@example(text="\ud800", comma=False)
@settings(max_examples=2000, deadline=None)
def test_no_text_makes_reading_raise(text, comma):
    """Whatever is typed or pasted, there is an answer, and any number in it is finite."""
    for unit in ("", "degC", "1/min"):
        found = read_number(text, decimal_comma=comma, unit=unit)
        assert found.text == text
        if isinstance(found, Typed):
            assert math.isfinite(found.value)
            assert found.decimals >= 0
        else:
            assert found.sentence.endswith(".")


@given(
    head=st.from_regex(r"[1-9][0-9]{0,2}", fullmatch=True),
    tail=st.from_regex(r"[0-9]{3}", fullmatch=True),
    sign=st.sampled_from(["", "-", "+", "−"]),
    comma=st.booleans(),
)
@settings(max_examples=300, deadline=None)
def test_a_text_with_two_meanings_is_never_read_as_one(head, tail, sign, comma):
    """One foreign mark, up to three digits before it, three behind: always a question."""
    text = f"{sign}{head}{'.' if comma else ','}{tail}"
    assert isinstance(read_number(text, decimal_comma=comma), Ambiguous)


@given(text=spellings)
@settings(max_examples=1500, deadline=None)
def test_both_kinds_of_plant_read_the_same_or_one_of_them_asks(text):
    """Two plants may read one text as different numbers only if it is a question to either."""
    point, comma = (read_number(text, decimal_comma=flag) for flag in (False, True))
    if isinstance(point, Typed) and isinstance(comma, Typed):
        assert point.value == comma.value


@given(
    units=st.integers(-(10**15) + 1, 10**15 - 1),
    decimals=st.integers(0, 8),
    comma=st.booleans(),
    grouped=st.booleans(),
)
@settings(max_examples=1000, deadline=None)
def test_what_is_written_is_read_back_as_the_same_number(units, decimals, comma, grouped):
    """In both kinds of plant, grouped or not, with the decimals it was written with."""
    value = float(f"{units}e-{decimals}")
    text = format_number(value, decimals, decimal_comma=comma, grouped=grouped)
    found = read_number(text, decimal_comma=comma)
    assert (found.value, found.decimals) == (value, decimals)


@given(value=st.floats(-1e9, 1e9), decimals=st.integers(0, 5), comma=st.booleans())
@settings(max_examples=500, deadline=None)
def test_any_number_written_is_within_half_a_unit_of_its_last_decimal(value, decimals, comma):
    """Writing rounds, and reading back does not move it further."""
    text = format_number(value, decimals, decimal_comma=comma)
    back = read_number(text, decimal_comma=comma).value
    assert abs(back - value) <= 0.5000001 * 10**-decimals + abs(value) * 1e-15


@pytest.mark.parametrize(
    ("value", "decimals", "options", "text"),
    [
        (-0.0, 1, {}, "0.0"),
        (-0.04, 1, {}, "0.0"),
        (-0.06, 1, {}, "-0.1"),
        (-0.4, 0, {}, "0"),
        (1234567.891, 2, {}, "1234567.89"),
        (1234567.891, 2, {"decimal_comma": True}, "1234567,89"),
        (1234567.891, 2, {"grouped": True}, "1\u202f234\u202f567.89"),
        (1234567.891, 2, {"grouped": True, "decimal_comma": True}, "1\u202f234\u202f567,89"),
        (-1234.0, 0, {"grouped": True}, "-1\u202f234"),
        (5.0, 3, {"decimal_comma": True}, "5,000"),
        (float("nan"), 1, {}, "–"),
        (float("inf"), 1, {}, "–"),
    ],
)
def test_a_number_is_written_with_fixed_decimals_and_never_as_minus_zero(
    value, decimals, options, text
):
    """No group marks unless asked for, and then a narrow space."""
    assert format_number(value, decimals, **options) == text


def test_negative_decimals_are_refused():
    """A fault of the caller, not of the person typing."""
    with pytest.raises(ValueError, match="-1 decimals"):
        format_number(1.0, -1)
