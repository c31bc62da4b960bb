"""Tests of naming the readings that cannot be right: rates by simulation, and hard cases."""

import numpy as np
import pytest

from logbook.process.gross_errors import error_sizes, node_z, serial_elimination
from logbook.process.least_squares import solve
from logbook.process.reconcile import reconcile_flows

CHAIN = np.array(
    [
        [1.0, -1, -1, 0, 0, 0, 0, 0],
        [0, 1, 0, -1, -1, 0, 0, 0],
        [0, 0, 1, 0, 1, -1, 0, 0],
        [0, 0, 0, 1, 0, 0, -1, 0],
        [0, 0, 0, 0, 0, 1, 1, -1],
    ]
)
TRUTH = np.array([100.0, 60, 40, 25, 35, 75, 25, 100])
SIGMA = 0.02 * TRUTH
DRAWS = 1500


def readings(seed, draws=DRAWS):
    """Draws of readings without any gross error."""
    return TRUTH + SIGMA * np.random.default_rng(seed).standard_normal((draws, len(TRUTH)))


def test_the_global_test_fails_by_chance_as_often_as_its_level():
    """1500 draws at 5 %: within three standard deviations of 75."""
    failed = sum(solve(CHAIN, y, SIGMA).p_value < 0.05 for y in readings(1))
    assert abs(failed - 75) < 3.0 * np.sqrt(75 * 0.95)


def test_good_readings_are_accused_no_more_often_than_stated():
    """With the global test and without: at most 5 %, three standard deviations allowed."""
    found = [solve(CHAIN, y, SIGMA) for y in readings(2)]
    both = sum(bool(serial_elimination(one, SIGMA)) for one in found)
    alone = sum(bool(serial_elimination(one, SIGMA, global_test=False)) for one in found)
    room = 3.0 * np.sqrt(75 * 0.95)
    assert both <= alone < 75 + room
    assert alone > 20


def test_uncorrected_tests_would_accuse_too_often():
    """What the correction is for: without it two to four times the level."""
    found = [solve(CHAIN, y, SIGMA) for y in readings(3)]
    loose = sum(
        bool(serial_elimination(one, SIGMA, correction="none", global_test=False)) for one in found
    )
    assert loose > 150


@pytest.mark.parametrize("stream", [0, 1, 2, 5])
def test_a_reading_eight_sigma_off_is_named_as_the_worst(stream):
    """At least four times of five; the size of the error within 3 sigma of what it is told to be."""
    named = near = 0
    for y in readings(10 + stream, 200):
        y[stream] += 8.0 * SIGMA[stream]
        found = reconcile_flows(CHAIN, y, SIGMA)
        if found.suspects and stream in found.suspect_sets[0]:
            named += 1
            step = found.suspicions[0]
            if step.variables[0] == stream:
                near += abs(step.error - 8.0 * SIGMA[stream]) < 3.0 * step.error_sigma
    assert named >= 160
    assert near >= 0.95 * named


def test_power_grows_with_the_size_of_the_error():
    """Two, four, six sigma on stream 5: named more often each time, and seldom at two."""
    rates = []
    for size in (2.0, 4.0, 6.0):
        hits = 0
        for y in readings(20, 300):
            y[5] += size * SIGMA[5]
            hits += 5 in reconcile_flows(CHAIN, y, SIGMA).suspects
        rates.append(hits / 300)
    assert rates[0] < 0.3 < rates[1] < rates[2]
    assert rates[2] > 0.8


def test_meters_that_look_the_same_to_all_balances_are_named_together():
    """Two meters of one pipe: one of them is wrong, and no balance says which."""
    series = reconcile_flows([[1.0, -1.0]], [10.0, 12.0], [0.1, 0.1])
    assert series.suspect_sets == ((0, 1),)
    assert series.suspects == (0, 1)
    assert series.indistinguishable == ((0, 1),)


def test_meters_of_one_pipe_are_told_apart_where_other_balances_see_them():
    """Streams 3 and 6 are one pipe too, but each end has a node with other meters."""
    y = TRUTH.copy()
    y[3] += 12.0 * SIGMA[3]
    found = reconcile_flows(CHAIN, y, SIGMA)
    assert found.suspect_sets[0] == (3,)
    assert found.indistinguishable == ()


def test_two_wrong_meters_are_both_named_and_their_sizes_told_together():
    """Readings without other errors: sizes come out exactly."""
    y = TRUTH.copy()
    y[0] += 10.0
    y[5] -= 9.0
    found = reconcile_flows(CHAIN, y, SIGMA)
    assert sorted(found.suspects) == [0, 5]
    solution = solve(CHAIN, y, SIGMA)
    sizes, spread = error_sizes(solution, SIGMA, [0, 5])
    assert sizes == pytest.approx([10.0, -9.0])
    assert (spread > 0.0).all()
    assert found.without_suspects().value == pytest.approx(TRUTH)
    assert found.suspicions[-1].chi2_after == pytest.approx(0.0, abs=1e-9)


def test_setting_aside_stops_when_the_global_test_passes():
    """One wrong meter, one step; the chi-square after it is that of reconciling without it."""
    y = readings(7, 1)[0]
    y[0] += 15.0
    found = reconcile_flows(CHAIN, y, SIGMA)
    assert len(found.suspicions) == 1
    y[0] = np.nan
    again = reconcile_flows(CHAIN, y, SIGMA)
    assert found.suspicions[0].chi2_after == pytest.approx(again.chi2)
    assert found.suspicions[0].p_after == pytest.approx(again.p_value)
    assert found.without_suspects().value == pytest.approx(again.value)


def test_only_those_who_may_be_wrong_are_accused():
    """A scale just sealed is left out; the next best is named, or nobody."""
    y = TRUTH.copy()
    y[0] += 15.0
    solution = solve(CHAIN, y, SIGMA)
    assert serial_elimination(solution, SIGMA)[0].variables == (0,)
    others = serial_elimination(solution, SIGMA, may_be_wrong=range(1, 8), most=1)
    assert len(others) <= 1
    assert all(0 not in one.variables for one in others)
    assert serial_elimination(solution, SIGMA, may_be_wrong=()) == ()
    assert serial_elimination(solution, SIGMA, most=0) == ()


def test_a_near_alternative_is_mentioned():
    """Where another reading explains it nearly as well, the step says so."""
    incidence = np.array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0]])
    found = reconcile_flows(incidence, [12.0, 10.6, 10.0], [0.5, 0.5, 0.5])
    assert found.suspects == (0,)
    assert found.suspicions[0].alternatives == (2,)


def test_a_leaking_node_stands_out_in_the_nodal_test():
    """Node 4 loses 12: its z is far out, those of the others stay within; unmeasured ones silent."""
    y = TRUTH.copy()
    y[7] -= 12.0
    z = node_z(CHAIN, y, SIGMA)
    assert int(np.abs(z).argmax()) == 4
    assert z[4] == pytest.approx(12.0 / np.sqrt((SIGMA[[5, 6, 7]] ** 2).sum()))
    assert np.abs(z[:4]).max() < 1e-9
    y[5] = np.nan
    assert np.isnan(node_z(CHAIN, y, SIGMA)[[2, 4]]).all()
    assert reconcile_flows(CHAIN, TRUTH, SIGMA).node_limit > 2.5
