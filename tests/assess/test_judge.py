from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.limits import (
    NOT_JUDGED,
    NOT_JUDGED_CODE,
    Bounds,
    Direction,
    Judgement,
    Severity,
    change_since_last,
    classify,
    classify_array,
    classify_choice,
    is_plausible,
    judgement_of,
    plausible_array,
)
from logbook.plant.model import NO_LIMITS, Choice, Limits, Point, PointKind, Weight

BOTH = Limits(warning_low=40.0, warning_high=60.0, action_low=30.0, action_high=70.0)
INF, NAN = math.inf, math.nan
N, L = NOT_JUDGED_CODE, BOTH

CASES = [
    (50.0, L, 0),
    (60.0, L, 0),
    (math.nextafter(60.0, 61), L, 1),
    (70.0, L, 1),
    (math.nextafter(70.0, 71), L, 2),
    (40.0, L, 0),
    (math.nextafter(40.0, 39), L, -1),
    (30.0, L, -1),
    (math.nextafter(30.0, 29), L, -2),
    (INF, L, 2),
    (-INF, L, -2),
    (NAN, L, N),
    (50.0, NO_LIMITS, N),
    (50.0, Limits(target=50.0, plausible_low=0.0, plausible_high=1.0), N),
    # one side only
    (99.0, Limits(warning_high=60.0), 1),
    (-99.0, Limits(warning_high=60.0), 0),
    (-INF, Limits(warning_high=60.0), 0),
    (99.0, Limits(action_high=60.0), 2),
    (10.0, Limits(action_low=20.0), -2),
    (99.0, Limits(action_low=20.0), 0),
    # warning on one side, action on the other
    (65.0, Limits(warning_low=40.0, action_high=60.0), 2),
    (35.0, Limits(warning_low=40.0, action_high=60.0), -1),
    # a limit of 0 and values around it
    (0.0, Limits(warning_high=0.0), 0),
    (-0.0, Limits(warning_low=0.0), 0),
    (5e-324, Limits(warning_high=0.0), 1),
    # warning and action the same: only action shows
    (60.5, Limits(warning_high=60.0, action_high=60.0), 2),
    # out of order, refused by a plant file: the worse counts, of equals the low side
    (65.0, Limits(warning_high=70.0, action_high=60.0), 2),
    (50.0, Limits(warning_low=60.0, warning_high=40.0), -1),
]


@pytest.mark.parametrize(("value", "limits", "code"), CASES)
def test_a_value_is_judged_by_the_limits_it_passes(value, limits, code):
    """Exactly on a limit is within it; scalar and array give the same."""
    assert classify(value, limits).code == code
    assert classify_array(np.array([value]), limits).tolist() == [code]
    assert classify_array(np.array([value]), Bounds.stacked([limits])).tolist() == [code]


def test_a_missing_value_is_not_judged_which_is_not_the_same_as_within():
    """None and NaN give NOT_JUDGED; it has no severity but differs from within limits."""
    assert classify(None, BOTH) is NOT_JUDGED
    assert classify(50.0, BOTH) != NOT_JUDGED
    assert not NOT_JUDGED.is_judged
    assert not NOT_JUDGED.is_out


edges = st.one_of(st.none(), st.sampled_from([0.0, 1.0, 2.0, 3.0]), st.floats(-5, 5))
some_limits = st.builds(
    Limits, warning_low=edges, warning_high=edges, action_low=edges, action_high=edges
)


@given(
    values=st.lists(st.one_of(st.sampled_from([0.0, 1.0, 2.0]), st.floats()), max_size=20),
    limits=some_limits,
)
@settings(max_examples=300, deadline=None)
def test_one_value_and_many_are_judged_alike(values, limits):
    """For any values, NaN and infinite ones too, and any limits, in order or not."""
    array = np.array(values, dtype=float)
    wanted = [classify(value, limits).code for value in values]
    assert classify_array(array, limits).tolist() == wanted
    rows = Bounds.stacked([limits] * len(values))
    assert classify_array(array, rows).tolist() == wanted


@given(pairs=st.lists(st.tuples(st.floats(-6, 6), some_limits), max_size=20))
@settings(max_examples=200, deadline=None)
def test_each_value_is_judged_by_its_own_limits(pairs):
    """With limits that differ from reading to reading."""
    values = np.array([value for value, _ in pairs], dtype=float)
    bounds = Bounds.stacked([limits for _, limits in pairs])
    assert classify_array(values, bounds).tolist() == [classify(*pair).code for pair in pairs]


def test_codes_are_int8_and_keep_the_shape():
    """A whole series of codes costs a byte each; no readings give no codes."""
    assert classify_array(np.array([1.0, NAN]), BOTH).dtype == np.int8
    assert classify_array(np.array([]), BOTH).shape == (0,)
    assert classify_array(np.array([]), NO_LIMITS).shape == (0,)


@pytest.mark.parametrize("code", [-2, -1, 0, 1, 2, NOT_JUDGED_CODE])
def test_a_code_and_its_judgement_are_each_others(code):
    """`judgement_of` undoes `.code`."""
    assert judgement_of(code).code == code


@pytest.mark.parametrize(
    ("judgement", "words"),
    [
        (Judgement(Severity.ACTION, Direction.HIGH), "action high"),
        (Judgement(Severity.WARNING, Direction.LOW), "warning low"),
        (Judgement(Severity.ACTION, Direction.NONE), "action"),
        (Judgement(Severity.NONE, Direction.NONE), "within limits"),
        (NOT_JUDGED, "not judged"),
    ],
)
def test_a_judgement_says_itself_in_words(judgement, words):
    """Severity and direction, since colour is never the only sign."""
    assert str(judgement) == words


# -- answers ------------------------------------------------------------------------------

STATE = Point(
    key="s",
    name="S",
    area="a",
    kind=PointKind.STATE,
    choices=(
        Choice("clear", "Clear"),
        Choice("hazy", "Hazy", Weight.WARNING),
        Choice("dark", "Dark", Weight.ACTION),
    ),
)


@pytest.mark.parametrize(
    ("key", "severity", "code"),
    [
        ("clear", Severity.NONE, 0),
        ("hazy", Severity.WARNING, 1),
        ("dark", Severity.ACTION, 2),
        ("gone", Severity.NONE, NOT_JUDGED_CODE),
        (None, Severity.NONE, NOT_JUDGED_CODE),
    ],
)
def test_an_answer_is_judged_by_its_weight_and_has_no_direction(key, severity, code):
    """An answer the point no longer has is not judged."""
    judgement = classify_choice(STATE, key)
    assert (judgement.severity, judgement.direction) == (severity, Direction.NONE)
    assert judgement.code == code


def test_a_point_whose_answers_all_weigh_nothing_is_not_judged():
    """As a number without limits is not."""
    plain = Point(key="s", name="S", area="a", kind=PointKind.STATE, choices=STATE.choices[:1])
    assert classify_choice(plain, "clear") is NOT_JUDGED


def test_a_check_without_answers_of_its_own_has_done_and_not_done():
    """Not done is a warning."""
    check = Point(key="c", name="C", area="a", kind=PointKind.CHECK)
    assert classify_choice(check, "done").severity is Severity.NONE
    assert classify_choice(check, "not_done").severity is Severity.WARNING


# -- plausible, change --------------------------------------------------------------------

RANGES = [
    Limits(plausible_low=low, plausible_high=high)
    for low, high in itertools.product((None, 0.0), (None, 100.0))
]


@pytest.mark.parametrize(
    ("value", "limits", "wanted"),
    [
        (0.0, RANGES[3], True),
        (100.0, RANGES[3], True),
        (-0.1, RANGES[3], False),
        (100.1, RANGES[3], False),
        (-0.1, RANGES[1], True),
        (100.1, RANGES[2], True),
        (1e9, RANGES[0], True),
        (INF, RANGES[0], False),
        (-INF, RANGES[1], False),
        (NAN, RANGES[3], False),
    ],
)
def test_a_value_is_plausible_within_the_range_and_on_its_edges(value, limits, wanted):
    """What is not finite never is; scalar and array give the same."""
    assert is_plausible(value, limits) is wanted
    assert plausible_array(np.array([value]), limits).tolist() == [wanted]


def test_a_missing_value_is_not_plausible():
    """There is nothing to believe."""
    assert not is_plausible(None, NO_LIMITS)


@pytest.mark.parametrize(
    ("value", "last", "decimals", "wanted"),
    [
        (72.5, 72.1, 1, 0.4),
        (72.1, 72.5, 1, -0.4),
        (0.3, 0.1, 2, 0.2),
        (5.0, 5.0, None, 0.0),
        (5.0, None, 1, None),
        (None, 5.0, 1, None),
        (NAN, 5.0, 1, None),
        (INF, 5.0, None, None),
    ],
)
def test_the_change_since_last_is_rounded_and_missing_where_either_is(
    value, last, decimals, wanted
):
    """0.3 less 0.1 is shown as 0.2, not as 0.19999999999999998."""
    assert change_since_last(value, last, decimals=decimals) == wanted
