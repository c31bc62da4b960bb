"""Tests of the forecast of the compliance ratio to the end of the month."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.solvent import compliance_ratio
from logbook.process.solvent_forecast import Stretch, Window, backtest, forecast_ratio

WINDOW = Window(loss_gal=66_000.0, base_gal=88_000.0, factor=0.2, hap_fraction=0.64)
"""Eleven months of 6,000 gal and 40,000 tons."""
LEVEL, SPREAD = 0.15, 3.0
"""Gallons per ton, and the deviation of a ton: 3 sqrt(T) gallons over T tons."""


def drawn(rng, tons: float, level: float = LEVEL) -> Stretch:
    """A stretch as the model has it."""
    return Stretch(level * tons + SPREAD * math.sqrt(tons) * rng.standard_normal(), tons)


def even(loss: float = 1_500.0) -> list[Stretch]:
    """Eight weeks that lost nearly alike."""
    return [Stretch(loss + step, 10_000.0) for step in (-90, 60, 30, -30, 90, -60, 20, -20)]


def test_a_steady_plant_is_forecast_at_its_level():
    """Half a month of the level, and the other half to come at it: the ratio of the whole."""
    told = forecast_ratio(WINDOW, even(), so_far=Stretch(3_000.0, 20_000.0), tons_to_come=20_000.0)
    whole = compliance_ratio(66_000 + 6_000.0, {"soybean": 480_000.0}, 0.64)
    assert told.ratio.value == pytest.approx(whole, rel=1e-9)
    assert told.to_come.value == pytest.approx(3_000.0)
    low, high = told.interval
    assert low < told.ratio.value < high
    assert told.chance_over < 0.001
    assert told.stretches == 8
    assert "does not replace" in told.ratio.note


def test_the_variance_is_that_of_prediction_from_a_sample():
    """s^2 T (1 + T/T0), worked out here by numpy from the stretches."""
    past = even()
    told = forecast_ratio(WINDOW, past, so_far=Stretch(0.0, 0.0), tons_to_come=40_000.0)
    loss = np.array([one.loss_gal for one in past])
    per_ton = np.var(loss, ddof=1) / 10_000.0
    expected = math.sqrt(per_ton * 40_000.0 * (1 + 40_000.0 / 80_000.0))
    assert told.to_come.sigma == pytest.approx(expected, rel=1e-9)


def test_too_short_a_past_gives_no_forecast():
    """It says how many stretches are missing; nothing is guessed."""
    told = forecast_ratio(
        WINDOW, even()[:3], so_far=Stretch(3_000.0, 20_000.0), tons_to_come=20_000.0
    )
    assert told.ratio.value is None
    assert told.interval is None
    assert told.chance_over is None
    assert told.ratio.missing == ("1 more stretches of operation (there are 3)",)


def test_stretches_without_seed_are_no_past():
    """A standstill tells nothing of the loss per ton."""
    still = [Stretch(200.0, 0.0)] * 5
    told = forecast_ratio(WINDOW, still, so_far=Stretch(0.0, 0.0), tons_to_come=1.0)
    assert told.ratio.value is None


def test_a_window_without_seed_gives_no_forecast():
    """There is nothing to divide by."""
    bare = Window(loss_gal=0.0, base_gal=0.0, factor=0.2, hap_fraction=0.64)
    told = forecast_ratio(bare, even(), so_far=Stretch(0.0, 0.0), tons_to_come=10.0)
    assert told.ratio.missing == ("seed processed in the window",)


def test_the_interval_closes_as_the_month_goes_on():
    """With less to come there is less to deviate."""
    widths = []
    for share in (0.1, 0.5, 0.9, 1.0):
        told = forecast_ratio(
            WINDOW,
            even(),
            so_far=Stretch(6_000.0 * share, 40_000.0 * share),
            tons_to_come=40_000.0 * (1 - share),
        )
        widths.append(told.interval[1] - told.interval[0])
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] == 0.0


def test_the_error_of_the_stock_stays_to_the_end():
    """At the end of the month the two inventories are all that is left."""
    told = forecast_ratio(
        WINDOW,
        even(),
        so_far=Stretch(6_000.0, 40_000.0),
        tons_to_come=0.0,
        stock_sigma_gal=150.0,
    )
    expected = 0.64 * 150.0 * math.sqrt(2) / (0.64 * 96_000)
    assert told.ratio.sigma == pytest.approx(expected, rel=1e-9)


def test_uncertain_plans_widen_the_interval_only_where_the_level_differs():
    """Seed at the level of the window leaves the ratio; at another level it moves it."""
    bad = even(3_000.0)
    so_far = Stretch(6_000.0, 20_000.0)
    sure = forecast_ratio(WINDOW, bad, so_far=so_far, tons_to_come=20_000.0)
    unsure = forecast_ratio(WINDOW, bad, so_far=so_far, tons_to_come=20_000.0, tons_sigma=5_000.0)
    assert unsure.ratio.sigma > sure.ratio.sigma


def test_a_plant_over_its_limit_is_told_so():
    """A certain excess has a chance near one; exactly at the limit it is a half."""
    over = Window(loss_gal=99_000.0, base_gal=88_000.0, factor=0.2, hap_fraction=0.64)
    told = forecast_ratio(over, even(), so_far=Stretch(0.0, 0.0), tons_to_come=40_000.0)
    assert told.chance_over > 0.99
    at = Window(loss_gal=90_000.0, base_gal=88_000.0, factor=0.2, hap_fraction=0.64)
    told = forecast_ratio(at, even(), so_far=Stretch(0.0, 0.0), tons_to_come=40_000.0)
    assert told.chance_over == pytest.approx(0.5, abs=1e-6)


def share_inside(rng, draw, trials=1500) -> float:
    """Share of drawn months whose ratio lay in the 90 % interval; `draw` gives 12 stretches."""
    inside = 0
    for _ in range(trials):
        *past, first, second = draw(rng)
        told = forecast_ratio(WINDOW, past, so_far=first, tons_to_come=second.tons, coverage=0.90)
        true = WINDOW.ratio(first.loss_gal + second.loss_gal, first.tons + second.tons)
        inside += told.interval[0] <= true <= told.interval[1]
    return inside / trials


def test_the_interval_holds_at_least_as_often_as_it_says():
    """Independent stretches of unequal length: 90 % or a little more, by the look at likeness."""

    def independent(rng):
        return [drawn(rng, tons) for tons in (8e3, 12e3, 9e3, 15e3, 5e3, 11e3) * 2]

    share = share_inside(np.random.default_rng(20260601), independent)
    assert 0.90 - 3 * math.sqrt(0.09 / 1500) <= share <= 0.97


def test_good_and_bad_weeks_in_a_row_widen_the_interval():
    """Weeks that are half like the one before: still about 90 %, which independence would miss."""

    def in_a_row(rng):
        off, drawn_weeks = rng.standard_normal(), []
        for _ in range(12):
            off = 0.5 * off + math.sqrt(0.75) * rng.standard_normal()
            drawn_weeks.append(Stretch(LEVEL * 1e4 + SPREAD * 100.0 * off, 1e4))
        return drawn_weeks

    assert share_inside(np.random.default_rng(5), in_a_row) >= 0.89


@given(times=st.floats(0.1, 10.0))
def test_the_forecast_does_not_depend_on_the_size_of_the_plant(times):
    """Twice the plant with twice the losses has the same ratio and the same interval."""
    big = Window(
        loss_gal=times * 66_000.0, base_gal=times * 88_000.0, factor=0.2, hap_fraction=0.64
    )
    past = [Stretch(times * one.loss_gal, times * one.tons) for one in even()]
    one = forecast_ratio(WINDOW, even(), so_far=Stretch(3e3, 2e4), tons_to_come=2e4)
    other = forecast_ratio(
        big, past, so_far=Stretch(times * 3e3, times * 2e4), tons_to_come=times * 2e4
    )
    assert other.ratio.value == pytest.approx(one.ratio.value, rel=1e-9)
    assert other.interval == pytest.approx(one.interval, rel=1e-9)


def test_the_backtest_of_a_steady_plant_meets_its_coverage():
    """A drawn plant of 40 months: errors without bias, the interval about as often right."""
    rng = np.random.default_rng(7)
    months = [[drawn(rng, 10_000.0) for _ in range(4)] for _ in range(40)]
    told = backtest(months, WINDOW, seen=0.5, coverage=0.90)
    assert told.months == 39
    assert abs(told.error) < 3 * told.spread / math.sqrt(told.months)
    assert told.inside / told.months >= 0.78
    assert told.width > 0


def test_the_backtest_shows_a_change_of_level():
    """A leak from month 10 on is not in the model: the forecast lags and the test shows it."""
    rng = np.random.default_rng(7)
    months = [
        [drawn(rng, 10_000.0, LEVEL if number < 10 else 3 * LEVEL) for _ in range(4)]
        for number in range(14)
    ]
    told = backtest(months[:11], WINDOW, coverage=0.90)
    steady = backtest(months[:10], WINDOW, coverage=0.90)
    assert told.inside == steady.inside
    assert told.months == steady.months + 1
    assert told.error < steady.error


def test_a_backtest_without_past_is_empty():
    """No month to forecast, no figures."""
    told = backtest([even()], WINDOW)
    assert told.months == 0
    assert told.error is None
    assert told.width is None


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"tons_to_come": -1.0}, "seed to come"),
        ({"tons_sigma": math.nan}, "uncertainty"),
        ({"coverage": 95.0}, "share between 0 and 1"),
    ],
)
def test_what_cannot_be_is_refused(change, said):
    """Amounts below zero and a coverage in per cent."""
    usual = {"so_far": Stretch(0.0, 0.0), "tons_to_come": 1.0}
    with pytest.raises(ValueError, match=said):
        forecast_ratio(WINDOW, even(), **(usual | change))


def test_a_stretch_that_cannot_be_is_refused():
    """Tons below zero; so is a share seen of one or more."""
    with pytest.raises(ValueError, match="cannot be"):
        Stretch(1.0, -1.0)
    with pytest.raises(ValueError, match="share seen"):
        backtest([], WINDOW, seen=1.0)
