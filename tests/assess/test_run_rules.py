"""Run rules: what each one flags, settings, gaps, and what holds for all series."""

from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.charts import (
    ISO_7870_2,
    LIMITS_ONLY,
    NELSON,
    WESTERN_ELECTRIC,
    WESTERN_ELECTRIC_ALL,
    Rule,
    RuleSettings,
    individuals,
    run_rules,
    settings_of,
)
from logbook.plant.model import CHART_RULES

nan = float("nan")

STEPS = st.lists(st.integers(-36, 36), min_size=1, max_size=60)
"""Deviations in tenths of sigma."""


def fired(values, rule, **lengths) -> list[int]:
    """Where a rule fires with sigma 1 about 0."""
    return np.flatnonzero(run_rules(values, 0.0, 1.0, settings=RuleSettings(**lengths)).by(rule))


def of_one_side(z, rules: RuleSettings) -> Rule:
    """What fires at the last reading on the upper side, read off the rules one by one."""
    found = Rule(0)
    if rules.beyond_limits and z[-1] > 3:
        found |= Rule.BEYOND_LIMITS
    if rules.two_of_three and z[-1] > 2 and sum(v > 2 for v in z[-3:]) >= 2:
        found |= Rule.TWO_OF_THREE
    if rules.four_of_five and z[-1] > 1 and sum(v > 1 for v in z[-5:]) >= 4:
        found |= Rule.FOUR_OF_FIVE
    if 0 < rules.one_side <= len(z) and min(z[-rules.one_side :]) > 0:
        found |= Rule.ONE_SIDE
    if 0 < rules.trend <= len(z) and min(steps_of(z[-rules.trend :])) > 0:
        found |= Rule.TREND
    return found


def of_both_sides(z, rules: RuleSettings) -> Rule:
    """What fires at the last reading without a side."""
    found = Rule(0)
    if 0 < rules.alternating <= len(z):
        steps = steps_of(z[-rules.alternating :])
        if max(a * b for a, b in pairwise(steps)) < 0:
            found |= Rule.ALTERNATING
    if 0 < rules.within_one <= len(z) and max(map(abs, z[-rules.within_one :])) <= 1:
        found |= Rule.WITHIN_ONE
    run = z[-rules.none_within_one :]
    if 0 < rules.none_within_one <= len(z) and min(map(abs, run)) > 1 and min(run) < 0 < max(run):
        found |= Rule.NONE_WITHIN_ONE
    return found


def steps_of(z) -> list[float]:
    """From each value to the next."""
    return [b - a for a, b in pairwise(z)]


def one_by_one(z, rules: RuleSettings) -> list[Rule]:
    """The rules as they read, for one reading after another: slow, and without missing ones."""
    out = []
    for end in range(1, len(z) + 1):
        so_far, turned = z[:end], [-v for v in z[:end]]
        sides = of_one_side(so_far, rules) | of_one_side(turned, rules)
        out.append(sides | of_both_sides(so_far, rules))
    return out


def test_two_of_three_wants_the_newest_beyond_and_the_same_side():
    """The third of high, within, high fires; high, low, high does too, high, low, low not at 1."""
    assert fired([2.5, 0.0, 2.5, 0.0], Rule.TWO_OF_THREE).tolist() == [2]
    assert fired([2.5, -2.5, 2.5], Rule.TWO_OF_THREE).tolist() == [2]
    assert fired([2.5, -2.5, 0.0], Rule.TWO_OF_THREE).tolist() == []


def test_a_reading_on_a_line_is_not_beyond_it():
    """Comparisons are strict: 2.0 twice is not two beyond two sigma, 0 is on neither side."""
    assert fired([2.0, 2.0, 2.0], Rule.TWO_OF_THREE).tolist() == []
    assert fired([3.0], Rule.BEYOND_LIMITS).tolist() == []
    assert fired([0.5] * 4 + [0.0] + [0.5] * 7, Rule.ONE_SIDE).tolist() == []


def test_equal_readings_break_a_trend():
    """Six in a row wants five steps up, each of them a step."""
    assert fired([0, 0.1, 0.2, 0.3, 0.4, 0.5], Rule.TREND, trend=6).tolist() == [5]
    assert fired([0, 0.1, 0.2, 0.2, 0.4, 0.5, 0.6], Rule.TREND, trend=6).tolist() == []


def test_a_short_gap_is_bridged_and_a_long_one_is_not():
    """One missing reading leaves a run whole, two break it; more may be allowed."""
    run = [0.5] * 7
    assert fired([*run, nan, 0.5], Rule.ONE_SIDE).tolist() == [8]
    assert fired([*run, nan, nan, 0.5], Rule.ONE_SIDE).tolist() == []
    assert fired([*run, nan, nan, 0.5], Rule.ONE_SIDE, longest_gap=2).tolist() == [9]
    assert fired([2.5, nan, nan, 2.5, 2.5], Rule.TWO_OF_THREE).tolist() == [4]


def test_missing_readings_are_never_flagged():
    """Neither before, between, nor after readings that are."""
    found = run_rules([nan, 4.0, nan, 4.0, 4.0, nan, nan], 0.0, 1.0, settings=NELSON)
    assert found.flags[[0, 2, 5, 6]].tolist() == [0, 0, 0, 0]
    assert np.flatnonzero(found.fired).tolist() == [1, 3, 4]


def test_mixture_wants_both_sides():
    """Eight beyond one sigma on both sides are a mixture; eight on one side are a shift."""
    both = [1.5, -1.5] * 4
    assert fired(both, Rule.NONE_WITHIN_ONE, none_within_one=8).tolist() == [7]
    assert fired([1.5] * 8, Rule.NONE_WITHIN_ONE, none_within_one=8).tolist() == []


def test_centre_and_sigma_may_change_from_reading_to_reading():
    """Means of subgroups of different size have limits of their own."""
    found = run_rules([3.5, 3.5], [0.0, 0.0], [1.0, 2.0], settings=LIMITS_ONLY)
    assert found.fired.tolist() == [True, False]


def test_events_are_stretches_of_one_rule():
    """Two neighbouring flags make one event, with first and last reading."""
    found = run_rules([0.0] + [0.5] * 9, 0.0, 1.0)
    (event,) = found.events()
    assert (event.rule, event.first, event.last) == (Rule.ONE_SIDE, 8, 9)


def test_a_rule_is_said_in_words_with_its_length():
    """What is shown beside a point names the length in force."""
    assert NELSON.words(Rule.ONE_SIDE) == "9 in a row on one side of the centre"
    assert NELSON.words(Rule.BEYOND_LIMITS) == "beyond the control limits"


def test_the_named_sets_are_what_their_sources_list():
    """Western Electric has four tests and two more patterns, Nelson eight, ISO 7870-2 three."""
    four = Rule.BEYOND_LIMITS | Rule.TWO_OF_THREE | Rule.FOUR_OF_FIVE | Rule.ONE_SIDE
    assert WESTERN_ELECTRIC.rules == four
    assert WESTERN_ELECTRIC_ALL.rules == four | Rule.WITHIN_ONE | Rule.NONE_WITHIN_ONE
    assert NELSON.rules == Rule(255)
    assert ISO_7870_2.rules == Rule.BEYOND_LIMITS | Rule.ONE_SIDE | Rule.TREND
    assert (ISO_7870_2.one_side, ISO_7870_2.trend, NELSON.one_side) == (7, 7, 9)


@pytest.mark.parametrize("name", ["one_side", "trend", "alternating", "within_one"])
def test_a_length_that_means_nothing_is_refused(name):
    """A run of one or two is no pattern, nor is a negative one."""
    with pytest.raises(ValueError, match=name):
        RuleSettings(**{name: 2})
    with pytest.raises(ValueError, match="longest_gap"):
        RuleSettings(longest_gap=-1)


@pytest.mark.parametrize("sigma", [0.0, nan, -1.0])
def test_nothing_fires_where_there_is_no_sigma_to_judge_by(sigma):
    """No variation known: the note says that nothing was judged."""
    found = run_rules([1.0, 2.0, 30.0], 1.0, sigma)
    assert not found.fired.any()
    assert found.note.startswith("not judged")
    assert run_rules([nan, nan], 0.0, 1.0).note == "no readings"
    assert run_rules([], 0.0, 1.0).flags.shape == (0,)


@settings(max_examples=150, deadline=None)
@given(STEPS)
def test_rules_are_what_they_read(tenths):
    """The rules on whole arrays flag what the rules read one by one flag."""
    z = [t / 10 for t in tenths]
    for rules in (NELSON, WESTERN_ELECTRIC_ALL, ISO_7870_2):
        found = run_rules(z, 0.0, 1.0, settings=rules).flags
        assert found.tolist() == [int(rule) for rule in one_by_one(z, rules)]


@settings(max_examples=80, deadline=None)
@given(STEPS, st.sets(st.integers(0, 59)))
def test_isolated_missing_readings_change_nothing(tenths, after):
    """A reading missing here and there, never two in a row, leaves all flags as they were."""
    z = [t / 10 for t in tenths]
    sparse, kept = [], []
    for i, value in enumerate(z):
        kept.append(len(sparse))
        sparse += [value, nan] if i in after else [value]
    whole = run_rules(z, 0.0, 1.0, settings=NELSON).flags
    assert run_rules(sparse, 0.0, 1.0, settings=NELSON).flags[kept].tolist() == whole.tolist()


@settings(max_examples=80, deadline=None)
@given(STEPS)
def test_rules_are_symmetric(tenths):
    """Turned upside down the same rules fire at the same readings."""
    z = np.array(tenths) / 10
    up, down = (run_rules(side * z, 0.0, 1.0, settings=NELSON).flags for side in (1, -1))
    assert up.tolist() == down.tolist()


@settings(max_examples=80, deadline=None)
@given(STEPS, st.integers(-1000, 1000), st.sampled_from([0.25, 0.5, 2.0, 8.0, 1024.0]))
def test_rules_do_not_care_for_unit_and_zero(tenths, shift, scale):
    """Another unit (exact in binary) and another zero leave all flags as they are."""
    z = np.array(tenths, dtype=float)
    here = run_rules(z, 0.0, 10.0, settings=NELSON).flags
    there = run_rules(z * scale + shift, shift, 10.0 * scale, settings=NELSON).flags
    assert here.tolist() == there.tolist()


@settings(max_examples=80, deadline=None)
@given(st.floats(-1e6, 1e6), st.integers(1, 80))
def test_no_rule_fires_on_a_constant_series(value, count):
    """A series that never changes, judged by its own centre and sigma, has no pattern."""
    chart = individuals([value] * count)
    assert not run_rules(chart.values, chart.centre, chart.sigma, settings=NELSON).fired.any()


@given(STEPS)
def test_a_rule_switched_off_never_fires(tenths):
    """Each rule alone flags what it flags with all others, and nothing else."""
    z = np.array(tenths) / 10
    every = run_rules(z, 0.0, 1.0, settings=NELSON).flags
    off = {f.name: type(getattr(NELSON, f.name))(0) for f in fields(NELSON)} | {"longest_gap": 1}
    for rule in Rule:
        name = rule.name.lower()
        alone = replace(RuleSettings(**off), **{name: getattr(NELSON, name)})
        assert run_rules(z, 0.0, 1.0, settings=alone).flags.tolist() == (every & rule).tolist()


@pytest.mark.parametrize("name", CHART_RULES)
def test_every_rule_that_a_plant_file_may_name_is_one_that_can_be_in_force(name):
    """By itself it puts exactly itself in force."""
    only = settings_of([name])
    expected = name.upper().replace(" ", "_").replace("LIMITS", "BEYOND_LIMITS")
    assert only.rules == Rule[expected]


def test_a_point_that_names_no_rules_has_the_usual_ones():
    """And a name that is no rule is refused with the names there are."""
    assert settings_of(()) == WESTERN_ELECTRIC
    with pytest.raises(ValueError, match="two of three"):
        settings_of(["trned"])
