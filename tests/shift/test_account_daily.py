"""Head figures of many periods at once, and crews and months compared by them."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from logbook.record import open_book
from logbook.shift.account_compare import (
    LEVEL,
    adjusted,
    compare_crews,
    compare_months,
    likeness,
)
from logbook.shift.account_daily import (
    RULES,
    AccountRun,
    AccountSeries,
    daily_accounts,
    monthly_accounts,
    shift_accounts,
)
from logbook.shift.account_inputs import inputs_of
from logbook.shift.accounts import accounts_of
from logbook.shift.period import days_of, days_period, month_period
from sample_db.story import DEFAULT_END


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading at its end."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as made:
        yield made


@pytest.fixture(scope="module")
def plant(book):
    """The plant at the end of the book."""
    return book.plant_at(DEFAULT_END)


@pytest.fixture(scope="module")
def year(plant):
    """Twelve whole months of the book."""
    return days_period(plant.calendar, date(2025, 6, 1), date(2026, 5, 31))


@pytest.fixture(scope="module")
def daily(book, plant, year):
    """Each day of them."""
    return daily_accounts(book, plant, year.start, year.end, now=DEFAULT_END)


@pytest.fixture(scope="module")
def shifts(book, plant, year):
    """Each shift of them, and its crew."""
    return shift_accounts(book, plant, year.start, year.end, now=DEFAULT_END)


def figures_of(found):
    """What `accounts_of` says of the same figures."""
    yields = found.yields.as_is
    return {
        "beans": found.inputs["beans"],
        "oil_yield": yields.oil.percent,
        "meal_yield": yields.meal.percent,
        "hull_yield": yields.hulls.percent,
        "unaccounted_oil": found.oil.unaccounted_percent,
        "unaccounted_oil_t": found.oil.unaccounted,
        "oil_recovery": found.oil.recovery,
        "solvent_loss": found.solvent.account.loss,
        "solvent_kg_t": found.solvent.account.kg_t,
        "meal_protein": found.inputs["meal_protein"],
    }


@pytest.mark.parametrize("day", [date(2026, 5, 14), date(2025, 8, 24), date(2026, 3, 7)])
def test_a_day_of_many_comes_out_as_that_day_alone(book, plant, daily, day):
    """On a quiet day, in the campaign and when the clocks change.

    How much readings scatter is told from those at hand, so uncertainties differ a little.
    """
    place = next(k for k, period in enumerate(daily.periods) if period.first == day)
    period = daily.periods[place]
    alone = figures_of(
        accounts_of(inputs_of(book, plant, period.start, period.end, now=DEFAULT_END))
    )
    for key, figure in alone.items():
        told = daily[key]
        assert told.unit == figure.unit, key
        if figure.value is None:
            assert np.isnan(told.value[place]), key
            continue
        assert told.value[place] == pytest.approx(figure.value, rel=1e-3, abs=1e-6), key
        assert told.sigma[place] == pytest.approx(figure.sigma, rel=0.35), key


def test_every_figure_is_told_for_nearly_every_day(daily, year):
    """But for the days of the shutdown, and what was not read."""
    assert len(daily.periods) == year.days == 365
    assert set(daily.series) == set(RULES)
    for key in RULES:
        assert daily[key].known > 340, key


def test_days_on_which_the_line_stood_say_nothing_per_tonne(daily):
    """The shutdown's whole days have a crush of nothing and no yield."""
    place = [period.first for period in daily.periods].index(date(2025, 10, 2))
    assert daily["beans"].value[place] == pytest.approx(0.0, abs=1.0)
    for key in ("oil_yield", "steam_kg_t", "solvent_kg_t", "unaccounted_oil"):
        assert np.isnan(daily[key].value[place]), key
        assert np.nanmax(np.abs(daily[key].value)) < 1000.0


def test_the_wrong_scale_shows_in_the_daily_yield(daily):
    """Ten days of November stand out by 1.5 % of the oil yield."""
    days = [period.first for period in daily.periods]
    low = days.index(date(2025, 11, 9))
    inside = daily["unaccounted_oil"].value[low : low + 8]
    around = daily["unaccounted_oil"].value[low + 12 : low + 32]
    assert np.nanmean(inside) == pytest.approx(np.nanmean(around) - 1.5, abs=0.5)


def test_a_month_is_told_with_the_solvent_it_lost(book, plant, year):
    """About half a kilogram to the tonne, by month to a few hundredths."""
    months = monthly_accounts(book, plant, year.start, year.end, now=DEFAULT_END)
    assert [one.name for one in months.periods][:2] == ["June 2025", "July 2025"]
    told = months["solvent_kg_t"]
    assert told.known == 12
    assert np.all((told.value > 0.3) & (told.value < 0.8))
    assert np.median(told.sigma) < 0.03


def test_a_span_within_a_day_is_that_day(book, plant):
    """And one that ends with a day's last instant does not reach into the next."""
    start = datetime(2026, 5, 14, 12, tzinfo=UTC)
    one = daily_accounts(book, plant, start, start + timedelta(hours=1), now=DEFAULT_END)
    assert [period.first for period in one.periods] == [date(2026, 5, 14)]
    may = month_period(plant.calendar, 2026, 5)
    assert len(daily_accounts(book, plant, may.start, may.end, now=DEFAULT_END).periods) == 31


def test_crews_of_the_sample_plant_cannot_be_told_apart(shifts, plant):
    """They run the same plant with the same beans; noise is not ranked."""
    run, crews = shifts
    for key in ("oil_yield", "spent_oil", "meal_moisture", "meal_protein"):
        found = compare_crews(run, crews, plant, key)
        assert [group.key for group in found.groups] == ["A", "B", "C", "D"]
        assert found.differ == ()
        assert "no difference can be told" in found.told
        assert all(group.low < group.mean < group.high for group in found.groups)
        assert "Bonferroni" in found.method


def test_months_stand_in_the_order_of_the_calendar(daily):
    """Twelve of them, whatever their means."""
    found = compare_months(daily, "bean_moisture")
    names = [group.name for group in found.groups]
    assert names[0] == "June 2025"
    assert names[-1] == "May 2026"
    assert all(group.count > 20 for group in found.groups)


# -- how often noise is accused, and whether a difference is found ---------------------------

GROUPS, LENGTH = 4, 240


def run_with(values, plant):
    """A run of shifts whose oil yield is `values`; the crews take turns of two."""
    start = datetime(2026, 1, 1, 12, tzinfo=UTC)
    periods = tuple(
        days_of(plant.calendar, days_period(plant.calendar, date(2026, 1, 1), date(2026, 12, 31)))[
            : len(values)
        ]
    )
    assert periods[0].start == start
    made = AccountSeries("oil_yield", "Oil yield", "%", 2, values, np.zeros(len(values)))
    crews = tuple("ABCD"[k // 2 % GROUPS] for k in range(len(values)))
    return AccountRun(periods, {"oil_yield": made}), crews


def noise(rng, phi):
    """A first-order autoregression of unit variance."""
    drive = rng.normal(0.0, np.sqrt(1.0 - phi * phi), LENGTH)
    line = np.zeros(LENGTH)
    line[0] = rng.normal()
    for k in range(1, LENGTH):
        line[k] = phi * line[k - 1] + drive[k]
    return line


@pytest.mark.parametrize("phi", [0.0, 0.6])
def test_noise_is_told_apart_no_more_often_than_stated(plant, phi):
    """Of crews that are all alike, in at most one comparison of twenty any two are said to differ."""
    rng = np.random.default_rng(20)
    wrong = 0
    for _ in range(150):
        run, crews = run_with(19.0 + 0.3 * noise(rng, phi), plant)
        wrong += bool(compare_crews(run, crews, plant, "oil_yield").differ)
    assert wrong / 150.0 <= LEVEL


def test_a_crew_that_does_differ_is_found(plant):
    """One and a half standard deviations above the others, on top of what all have in common."""
    rng = np.random.default_rng(21)
    season = 2.0 * np.sin(np.arange(LENGTH) / 40.0)
    run, crews = run_with(19.0 + season + 0.3 * noise(rng, 0.0), plant)
    lifted = run["oil_yield"].value + 0.45 * np.array([one == "B" for one in crews])
    run, crews = run_with(lifted, plant)
    found = compare_crews(run, crews, plant, "oil_yield")
    assert {name for pair in found.differ for name in pair} >= {"Otter crew"}
    assert all("Otter crew" in pair for pair in found.differ)
    assert "differ; between the others no difference can be told" in found.told


def test_too_few_values_are_not_judged(plant):
    """A crew with three shifts has a mean and no interval."""
    run, crews = run_with(np.full(6, 19.0) + np.arange(6), plant)
    found = compare_crews(run, crews, plant, "oil_yield")
    assert all(group.low is None for group in found.groups)
    assert found.told == "Oil yield: too few values to compare."


def test_what_everybody_had_in_common_is_taken_off():
    """A slow course and the time of day leave nothing; a missing value stays missing."""
    place = np.arange(200.0)
    values = 0.01 * place + np.where(place % 2 == 0, 0.5, -0.5)
    values[50] = np.nan
    rest = adjusted(values, ["D" if k % 2 == 0 else "N" for k in range(200)])
    assert np.isnan(rest[50])
    assert np.nanstd(rest[30:170]) < 0.05
    assert np.nanmean(rest) == pytest.approx(np.nanmean(values))
    assert np.isnan(adjusted(np.full(3, np.nan), "DND")).all()


def test_likeness_is_the_correlation_of_neighbours():
    """Without the means of the groups; nothing for too few values."""
    rng = np.random.default_rng(3)
    line = noise(rng, 0.7)
    assert likeness(line, ["a"] * LENGTH) == pytest.approx(0.7, abs=0.15)
    assert likeness(rng.normal(size=LENGTH), ["a"] * LENGTH) < 0.15
    assert likeness(line[:4], ["a"] * 4) == 0.0
    assert likeness(np.full(20, 3.0), ["a"] * 20) == 0.0
