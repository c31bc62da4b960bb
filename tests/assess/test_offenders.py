from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook.assess.deviations import deviations
from logbook.assess.offenders import (
    LimitFault,
    count_point,
    flag_rates,
    limit_uses,
    longest_standing,
    median_minutes,
    worst_points,
)
from logbook.plant.model import Limits

START = datetime(2026, 3, 1, tzinfo=UTC)
ROUND = 7200


def counted(key, codes):
    """Counts and deviations of a point read every two hours."""
    codes = np.array(codes, dtype=np.int8)
    times = int(START.timestamp()) + ROUND * np.arange(codes.size)
    runs = deviations(times, codes.astype(float), codes, max_gap_s=3 * ROUND)
    return count_point(key, codes, runs), [(key, run) for run in runs]


def test_a_point_is_counted_with_its_turns_and_its_longest_deviation():
    """Two deviations, of one and of three readings; the last one reached the action limit."""
    one, _ = counted("a", [0, 1, 0, 0, -1, -2, -1, 0, -128])
    assert (one.judged, one.outside, one.beyond_action, one.runs, one.turns) == (8, 4, 1, 2, 4)
    assert one.share == 0.5
    assert one.hours_out == pytest.approx(2.0 + 6.0)
    assert one.longest.count == 3
    assert one.chatter == 1


def test_a_point_never_judged_has_no_share():
    """Nothing divided by nothing is nothing."""
    one, runs = counted("a", [-128, -128])
    assert (one.judged, one.share, one.longest, runs) == (0, 0.0, None, [])
    assert counted("b", [])[0].judged == 0


@pytest.mark.parametrize(
    ("codes", "chatter"),
    [([0, 1, 0, 1, 0, 0, 0], 1), ([0, 1, 1, 1, 1, 0, 0], 0), ([0, 1] * 12, 7),
     ([0, 1, 0, 0, 0, 0, 0, 0, 1], 0)],
)  # fmt: skip
def test_chatter_is_three_turns_within_eight_readings(codes, chatter):
    """Fewer turns, or turns farther apart, are none; no turn belongs to two."""
    assert counted("a", codes)[0].chatter == chatter


def test_the_worst_points_come_first():
    """Readings beyond the action limit weigh three times; points always inside are left out."""
    often, seldom, fine = (
        counted("often", [1] * 5)[0],
        counted("seldom", [2, 2, 0, 0, 0])[0],
        counted("fine", [0] * 5)[0],
    )
    assert [one.key for one in worst_points([often, fine, seldom])] == ["seldom", "often"]
    assert len(worst_points([often] * 30)) == 10


def test_the_longest_deviations_come_first():
    """By how long they lasted, whichever point they are of."""
    runs = [*counted("a", [1, 0, 1, 1, 1, 0])[1], *counted("b", [1, 1, 0])[1]]
    assert [(key, run.count) for key, run in longest_standing(runs)] == [
        ("a", 3),
        ("b", 2),
        ("a", 1),
    ]


def test_the_yardsticks_count_what_began_in_the_stretch():
    """One deviation begins each day on one point; one of another stands for three days."""
    daily = ([1] + [0] * 11) * 10
    long = [0] * 12 + [2] * 36 + [0] * 72
    counts, runs = [], []
    for key, codes in (("daily", daily), ("long", long)):
        one, own = counted(key, codes)
        counts.append(one)
        runs += own
    rates = flag_rates(counts, runs, START, START + timedelta(days=10))
    assert rates.runs == 11
    assert rates.per_hour == pytest.approx(11 / 240)
    assert rates.flagged_share == pytest.approx(46 / 240)
    assert rates.action_share == pytest.approx(1 / 11)
    assert rates.top_share == 1.0
    assert rates.stale_most == 1
    assert rates.is_acceptable
    assert rates.is_manageable
    later = flag_rates(counts, runs, START + timedelta(days=5), START + timedelta(days=10))
    assert (later.runs, later.stale_most) == (5, 0)


def test_too_many_flags_are_neither_acceptable_nor_manageable():
    """Fourteen an hour."""
    counts, runs = [], []
    for k in range(56):
        one, own = counted(f"p{k}", [1, 0] * 6)
        counts.append(one)
        runs += own
    rates = flag_rates(counts, runs, START, START + timedelta(hours=12))
    assert rates.per_hour == pytest.approx(14.0)
    assert not rates.is_acceptable
    assert not rates.is_manageable
    assert rates.top_share == pytest.approx(10 / 56)
    assert len(rates.chattering) == 10


def test_a_limit_that_flags_all_the_time_gets_a_proposal():
    """Four readings of ten lie beyond it: about one in a hundred would lie beyond the proposal."""
    values = np.round(np.random.default_rng(1).normal(50.0, 2.0, 2000), 1)
    (use,) = limit_uses("a", values, Limits(warning_high=50.5), 0.1)
    assert use.fault is LimitFault.ALWAYS
    assert use.edge == "warning_high"
    assert use.outside == int((values > 50.5).sum())
    assert (values > use.proposed).mean() == pytest.approx(0.01, abs=0.004)
    assert "if running like this is meant" in use.reason


def test_a_limit_that_never_flags_gets_a_nearer_one():
    """On the low side too, rounded away from the middle to a whole step."""
    values = np.round(np.random.default_rng(1).normal(50.0, 2.0, 2000), 0)
    high, low = limit_uses("a", values, Limits(warning_high=90.0, warning_low=10.0), 1.0)[::-1]
    assert {high.fault, low.fault} == {LimitFault.NEVER}
    assert (values > high.proposed).sum() == (values < low.proposed).sum() == 0
    assert values.max() < high.proposed < 90.0
    assert 10.0 < low.proposed < values.min()
    assert high.proposed == round(high.proposed)


def test_a_limit_that_does_its_work_is_left_alone():
    """Passed now and then; and an action limit may never be passed at all."""
    values = np.round(np.random.default_rng(1).normal(50.0, 2.0, 2000), 1)
    assert limit_uses("a", values, Limits(warning_high=55.0, action_high=95.0), 0.1) == ()


def test_too_few_readings_say_nothing_about_a_limit():
    """Nor do readings that are all equal."""
    limits = Limits(warning_high=1.0)
    assert limit_uses("a", np.arange(59.0), limits, 1.0) == ()
    assert limit_uses("a", np.full(500, 7.0), limits, 1.0) == ()


def test_response_times_are_medians_in_minutes():
    """Areas that answered nothing are left out."""
    spans = {"flaking": [timedelta(minutes=m) for m in (5, 90, 20)], "recovery": []}
    assert median_minutes(spans) == {"flaking": 20.0}
