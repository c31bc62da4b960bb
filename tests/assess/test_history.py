from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.limits import Bounds, LimitHistory, LimitSet, modes_at
from logbook.plant.model import NO_LIMITS, Limits

T0 = datetime(2026, 1, 1, tzinfo=UTC)
DAY = timedelta(days=1)
A, B, C = Limits(warning_high=1.0), Limits(warning_high=2.0, action_low=-1.0), Limits(target=3.0)


def epochs(*instants):
    """Instants as the arrays hold them."""
    return np.array([int(instant.timestamp()) for instant in instants], dtype=np.int64)


def test_limits_hold_from_their_start_on_and_none_before_the_first():
    """The instant itself counts; the second before does not."""
    history = LimitHistory([LimitSet("normal", T0, A), LimitSet("normal", T0 + DAY, B)])
    second = timedelta(seconds=1)
    assert history.at(T0 - second) == NO_LIMITS
    assert history.at(T0) == A
    assert history.at(T0 + DAY - second) == A
    assert history.at(T0 + DAY) == B
    assert history.at(T0 + 999 * DAY) == B


def test_a_mode_without_limits_of_its_own_at_that_time_has_those_of_the_normal_mode():
    """Before its first set, after it was withdrawn, and for a mode never mentioned."""
    history = LimitHistory(
        [
            LimitSet("normal", T0, A),
            LimitSet("startup", T0 + DAY, B),
            LimitSet("startup", T0 + 2 * DAY, None),
        ]
    )
    assert [history.at(T0 + k * DAY, "startup") for k in range(3)] == [A, B, A]
    assert history.at(T0 + DAY, "elsewhere") == A
    assert history.at(T0 + DAY) == A


def test_limits_that_were_withdrawn_in_the_normal_mode_are_gone():
    """Nothing is judged from then on."""
    history = LimitHistory([LimitSet("normal", T0, A), LimitSet("normal", T0 + DAY, None)])
    assert history.at(T0 + DAY) == NO_LIMITS
    assert np.isnan(history.in_force(epochs(T0 + DAY)).warning_high).all()


def test_of_two_sets_with_the_same_start_the_last_given_holds():
    """A limit set put right on the same day."""
    history = LimitHistory([LimitSet("normal", T0, A), LimitSet("normal", T0, B)])
    assert history.at(T0) == B
    assert history.in_force(epochs(T0)).warning_high.tolist() == [2.0]


def test_a_point_that_never_had_limits_has_none():
    """An empty history answers for any time and mode."""
    history = LimitHistory([])
    assert history.at(T0, "startup") == NO_LIMITS
    assert np.isnan(history.in_force(epochs(T0, T0 + DAY), ["normal", "x"]).action_low).all()


sets = st.lists(
    st.builds(
        LimitSet,
        st.sampled_from(["normal", "startup", "shutdown"]),
        st.integers(0, 20).map(lambda k: T0 + k * DAY),
        st.sampled_from([A, B, C, NO_LIMITS, None]),
    ),
    max_size=12,
)
moments = st.lists(
    st.tuples(
        st.integers(-2 * 86_400, 22 * 86_400).map(lambda s: T0 + timedelta(seconds=s)),
        st.sampled_from(["normal", "startup", "shutdown", "unheard of"]),
    ),
    max_size=20,
)


@given(sets=sets, moments=moments)
@settings(max_examples=300, deadline=None)
def test_limits_for_many_times_are_those_for_each(sets, moments):
    """The vectorised answer equals the single one, field by field, mixed modes too."""
    history = LimitHistory(sets)
    found = history.in_force(epochs(*(at for at, _ in moments)), [mode for _, mode in moments])
    wanted = Bounds.stacked([history.at(at, mode) for at, mode in moments])
    for name in ("warning_low", "warning_high", "action_low", "target", "plausible_high"):
        np.testing.assert_array_equal(getattr(found, name), getattr(wanted, name))


@given(sets=sets, moments=moments, mode=st.sampled_from(["normal", "startup"]))
@settings(max_examples=100, deadline=None)
def test_one_mode_for_all_times_may_be_given_by_name(sets, moments, mode):
    """The same as the name repeated."""
    history, times = LimitHistory(sets), epochs(*(at for at, _ in moments))
    one, many = history.in_force(times, mode), history.in_force(times, [mode] * len(moments))
    np.testing.assert_array_equal(one.warning_high, many.warning_high)


def test_the_mode_at_a_time_is_the_last_change_at_or_before_it():
    """Normal before the first change."""
    changes = [(T0, "startup"), (T0 + DAY, "normal")]
    times = epochs(T0 - DAY, T0, T0 + DAY / 2, T0 + DAY)
    assert modes_at(times, changes).tolist() == ["normal", "startup", "startup", "normal"]
    assert modes_at(times, []).tolist() == ["normal"] * 4


def test_modes_from_changes_and_limits_in_force_fit_together():
    """What `modes_at` gives, `in_force` takes."""
    history = LimitHistory([LimitSet("normal", T0, A), LimitSet("startup", T0, B)])
    times = epochs(T0, T0 + DAY)
    modes = modes_at(times, [(T0 + DAY, "startup")])
    assert history.in_force(times, modes).warning_high.tolist() == [1.0, 2.0]
    assert history.modes == {"normal", "startup"}


def test_a_set_starting_within_a_second_holds_from_the_next_whole_second():
    """Readings are kept in whole seconds; one and many agree."""
    start = T0 + timedelta(milliseconds=400)
    history = LimitHistory([LimitSet("normal", start, A)])
    assert history.at(T0) == NO_LIMITS
    assert history.at(T0 + timedelta(seconds=1)) == A
    assert history.in_force(epochs(T0, T0 + timedelta(seconds=1))).warning_high.tolist() == [
        pytest.approx(np.nan, nan_ok=True),
        1.0,
    ]
