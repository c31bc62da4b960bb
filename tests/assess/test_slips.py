from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.limits import SlipKind, classify, is_plausible, slips
from logbook.assess.slips import OTHER_UNITS
from logbook.assess.unit_text import plain_unit
from logbook.plant.model import NO_LIMITS, Limits

TEMP = Limits(
    warning_low=55.0,
    warning_high=65.0,
    action_low=50.0,
    action_high=70.0,
    plausible_low=0.0,
    plausible_high=120.0,
)
GAP = Limits(warning_low=0.3, warning_high=0.4, plausible_low=0.1, plausible_high=1.0)
VACUUM = Limits(warning_low=-5.0, warning_high=-1.0, plausible_low=-20.0, plausible_high=0.0)
ONE_SIDED = Limits(warning_high=90.0, plausible_low=20.0, plausible_high=150.0)

CASES = [
    # value, last, limits, unit, kind, suggested
    (605.0, 60.2, TEMP, "degC", SlipKind.DECIMAL, 60.5),
    (6.05, 60.2, TEMP, "degC", SlipKind.DECIMAL, 60.5),
    (6050.0, None, TEMP, "degC", SlipKind.DECIMAL, 60.5),
    (35.0, 0.34, GAP, "mm", SlipKind.DECIMAL, 0.35),
    (140.0, 60.2, TEMP, "°C", SlipKind.UNIT, 60.0),
    (333.0, 60.2, TEMP, "degC", SlipKind.UNIT, 59.85),
    (3.0, -3.1, VACUUM, "kPa", SlipKind.SIGN, -3.0),
    (26.0, 62.3, TEMP, "degC", SlipKind.SWAP, 62.0),
    (85.0, 57.9, TEMP, "degC", SlipKind.SWAP, 58.0),
    (725.0, 71.0, ONE_SIDED, "", SlipKind.DECIMAL, 72.5),
    (0.5, 50.2, Limits(plausible_low=5.0, plausible_high=99.0), "t", SlipKind.DECIMAL, 50.0),
]


@pytest.mark.parametrize(("value", "last", "limits", "unit", "kind", "suggested"), CASES)
def test_a_slip_that_explains_the_value_is_suggested_first(
    value, last, limits, unit, kind, suggested
):
    """Decimal mark, unit, sign, swapped digits; the sentence names the value meant."""
    first = slips(value, last, limits, unit)[0]
    assert (first.kind, first.suggested) == (kind, suggested)
    assert f"Was {first.suggested:g} meant (" in first.sentence


def test_a_value_that_looks_right_has_no_slips():
    """Plausible and within its warning limits: nothing is asked."""
    assert slips(60.5, 60.2, TEMP, "degC") == ()
    assert slips(60.5, None, TEMP, "degC") == ()


def test_a_value_that_no_slip_explains_has_none():
    """A real upset is not argued away."""
    assert slips(88.0, 60.2, TEMP, "degC") == ()
    assert slips(1234.0, None, NO_LIMITS, "degC") == ()


def test_a_limit_on_one_side_is_closed_by_the_plausible_range():
    """Below 90 is everything negative too; only what is plausible is suggested."""
    found = slips(-45.0, None, ONE_SIDED, "")
    assert [slip.suggested for slip in found] == [45.0]
    assert slips(-45.0, None, Limits(warning_high=90.0), "") == ()


def test_the_suggestion_nearest_to_the_last_value_comes_first():
    """Several slips may explain a value."""
    wide = Limits(warning_low=0.0, warning_high=100.0, plausible_low=0.0, plausible_high=100.0)
    near = [slip.suggested for slip in slips(512.0, 6.0, wide, "")]
    far = [slip.suggested for slip in slips(512.0, 50.0, wide, "")]
    assert near == [5.12, 51.2]
    assert far == [51.2, 5.12]


def test_a_suggestion_is_written_with_the_plants_decimal_mark_and_without_noise():
    """0.35, not 0.35000000000000003, and with a comma where the plant writes one."""
    (slip, *_) = slips(3.5, 0.34, GAP, "mm", decimal_comma=True)
    assert slip.sentence == "Was 0,35 meant (decimal mark slipped by one place)?"
    (sharp, *_) = slips(
        7.0, None, Limits(warning_low=0.6, warning_high=0.8, plausible_high=1.0), ""
    )
    assert sharp.suggested == 0.7


@given(
    value=st.floats(),
    last=st.one_of(st.none(), st.floats()),
    unit=st.sampled_from(["", "degC", "kPa", "?", "mm"]),
    limits=st.sampled_from([TEMP, GAP, VACUUM, ONE_SIDED, NO_LIMITS]),
)
@settings(max_examples=400, deadline=None)
def test_any_suggestion_is_plausible_and_other_than_the_value(value, last, unit, limits):
    """For whatever was typed, infinite and NaN too, without raising."""
    for slip in slips(value, last, limits, unit):
        assert slip.suggested != value
        assert is_plausible(slip.suggested, limits)
        near = last is not None and math.isfinite(last)
        assert near or not classify(slip.suggested, limits).is_out


PAIRS = [(here, plain_unit(there)) for here, others in OTHER_UNITS.items() for there, _ in others]


@pytest.mark.parametrize(("here", "there"), [p for p in PAIRS if p[1] in OTHER_UNITS])
def test_conversions_there_and_back_agree(here, there):
    """Where both units know one another, going there and back gives the number."""
    back = {plain_unit(name): convert for name, convert in OTHER_UNITS[there]}
    if here in back:
        forth = {plain_unit(name): convert for name, convert in OTHER_UNITS[here]}
        assert back[here](forth[there](12.5)) == pytest.approx(12.5, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "other", "value", "wanted"),
    [
        ("degC", "°F", 212.0, 100.0),
        ("degC", "K", 373.15, 100.0),
        ("degF", "°C", 100.0, 212.0),
        ("degF", "K", 373.15, 212.0),
        ("kPa", "psi", 14.69595, 101.325),
        ("kPa", "inHg", 29.9213, 101.325),
        ("mbar", "inHg", 29.9213, 1013.25),
        ("bar", "psi", 14.50377, 1.0),
        ("psi", "bar", 1.0, 14.50377),
        ("mm", "in", 1.0, 25.4),
        ("m", "ft", 1.0, 0.3048),
        ("kg", "lb", 1.0, 0.45359237),
        ("%", "ppm", 5000.0, 0.5),
        ("t/h", "t/d", 2400.0, 100.0),
    ],
)
def test_conversions_give_known_values(unit, other, value, wanted):
    """Boiling water, one standard atmosphere, the inch, foot and pound."""
    assert dict(OTHER_UNITS[unit])[other](value) == pytest.approx(wanted, rel=1e-5)
