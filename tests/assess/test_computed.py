from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.computed import (
    counter_increase,
    counter_increases,
    counter_rates,
    evaluate,
    evaluate_array,
    per_tonne,
    round_array_for_judging,
    round_for_judging,
)
from logbook.assess.limits import Severity, classify
from logbook.plant.model import Computation, Limits

C = Computation
NAN, INF = math.nan, math.inf

CASES = [
    (C.MEAN, [1.0, 2.0, 6.0], 3.0),
    (C.MEAN, [4.0], 4.0),
    (C.SPREAD, [0.5, 0.25, 0.75], 0.5),
    (C.SPREAD, [2.0], 0.0),
    (C.DIFFERENCE, [5.0, 7.5], -2.5),
    (C.LARGEST_DIFFERENCE, [1.0, 4.0, 2.0], 3.0),
    (C.LARGEST_DIFFERENCE, [4.0, 1.0], 3.0),
    (C.RATIO, [3.0, 4.0], 0.75),
    (C.RATIO, [3.0, 0.0], None),
    (C.RATE, [120.0, 2.0], 60.0),
    (C.RATE, [120.0, 0.0], None),
    (C.PER_TONNE, [90.0, 120.0], 0.75),
    (C.MEAN, [1.0, None], None),
    (C.SPREAD, [None, None], None),
    (C.RATIO, [NAN, 1.0], None),
    (C.MEAN, [INF, 1.0], None),
    (C.DIFFERENCE, [1.0], None),
    (C.MEAN, [], None),
]


@pytest.mark.parametrize(("computation", "numbers", "wanted"), CASES)
def test_a_computation_gives_its_value_or_none(computation, numbers, wanted):
    """None where an input is missing or not finite, the divisor 0, or inputs too few."""
    assert evaluate(computation, numbers) == wanted


@given(
    computation=st.sampled_from(list(C)),
    rows=st.lists(
        st.lists(st.one_of(st.floats(-1e6, 1e6), st.just(NAN)), min_size=3, max_size=3), max_size=8
    ),
)
@settings(max_examples=300, deadline=None)
def test_many_rounds_are_computed_as_each_alone(computation, rows):
    """The same bits, and NaN exactly where the single one is None."""
    columns = [np.array([row[k] for row in rows], dtype=float) for k in range(3)]
    found = evaluate_array(computation, columns)
    wanted = [evaluate(computation, row) for row in rows]
    np.testing.assert_array_equal(found, [NAN if w is None else w for w in wanted])


def test_too_few_columns_are_refused():
    """A difference needs two inputs."""
    with pytest.raises(ValueError, match="at least 2 inputs, not 1"):
        evaluate_array(C.DIFFERENCE, [np.array([1.0])])


@pytest.mark.parametrize(
    ("before", "now", "rollover", "wanted"),
    [
        (100.0, 150.0, None, 50.0),
        (100.0, 100.0, None, 0.0),
        (100.0, 90.0, None, None),
        (999_990.0, 15.0, 1_000_000.0, 25.0),
        (100.0, 150.0, 1_000_000.0, 50.0),
        (500_000.0, 499_990.0, 1_000_000.0, None),  # a slip, not a turn
        (800_000.0, 300_000.0, 1_000_000.0, 500_000.0),
        (800_000.0, 300_001.0, 1_000_000.0, None),
        (1_200_000.0, 100.0, 1_000_000.0, None),  # never stood there
        (999_990.0, -5.0, 1_000_000.0, None),
        (NAN, 5.0, None, None),
        (5.0, NAN, 1000.0, None),
    ],
)
def test_a_counter_increase_allows_for_a_rollover_but_not_for_a_reset(
    before, now, rollover, wanted
):
    """A fall by less than half the range is a reset or a slip: the increase is not known."""
    assert counter_increase(before, now, rollover) == wanted


def test_increases_bridge_missing_readings():
    """Each is the increase since the last reading there was; the first has none."""
    values = np.array([NAN, 10.0, NAN, 40.0, 5.0, 995.0, 3.0])
    np.testing.assert_array_equal(
        counter_increases(values, 1000.0), [NAN, NAN, NAN, 30.0, NAN, 990.0, 8.0]
    )
    assert counter_increases(np.array([]), None).shape == (0,)


def test_a_rate_is_the_increase_per_hour_since_the_last_reading():
    """Over a missing reading it is the mean rate; no time, no rate."""
    times = np.array([0, 7200, 14_400, 14_400, 18_000])
    values = np.array([100.0, NAN, 180.0, 190.0, 195.0])
    np.testing.assert_array_equal(counter_rates(times, values, None), [NAN, NAN, 20.0, NAN, 5.0])


def test_per_tonne_takes_both_increases_since_the_last_row_with_both():
    """A row that lacks one counter lends nothing; no crush, no figure."""
    solvent = np.array([0.0, 5.0, 12.0, 13.0])
    beans = np.array([0.0, NAN, 100.0, 100.0])
    np.testing.assert_array_equal(per_tonne(solvent, beans), [NAN, NAN, 0.12, NAN])


def test_a_computed_value_exactly_on_its_limit_is_within_it():
    """0.1 + 0.2 is a little above 0.3 in binary; rounded to two more decimals it is 0.3."""
    limits = Limits(warning_high=0.3)
    mean = evaluate(C.MEAN, [0.1 + 0.2, 0.1 + 0.2])
    assert classify(mean, limits).severity is Severity.WARNING
    assert classify(round_for_judging(mean, 1), limits).severity is Severity.NONE


@given(
    value=st.one_of(st.floats(), st.decimals(-1000, 1000, places=4).map(float)),
    decimals=st.integers(0, 4),
)
@settings(max_examples=300, deadline=None)
def test_one_value_and_many_are_rounded_alike_and_stay_near(value, decimals):
    """To the point's decimals and two more; what is not finite stays as it is."""
    one = round_for_judging(value, decimals)
    np.testing.assert_array_equal(round_array_for_judging(np.array([value]), decimals), [one])
    if math.isfinite(value):
        assert abs(one - value) <= 0.5000001 * 10 ** -(decimals + 2) + abs(value) * 1e-15


@given(units=st.integers(-(10**9), 10**9), decimals=st.integers(0, 5))
@settings(max_examples=200, deadline=None)
def test_a_value_with_the_points_decimals_is_not_changed_by_rounding(units, decimals):
    """So a typed limit and a computed value that mean the same number are equal."""
    value = float(f"{units}e-{decimals}")
    assert round_for_judging(value, decimals) == value
