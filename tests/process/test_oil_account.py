"""Tests of the oil account."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.oil_account import oil_account, oil_worth
from logbook.process.quantity import Quantity, absent

SIGMAS = {
    "beans": 3.0,
    "bean_oil": 0.1,
    "oil": 0.6,
    "meal": 5.5,
    "meal_oil": 0.05,
    "hulls": 1.0,
    "hull_oil": 0.1,
}
USUAL = {
    "beans": 1500.0,
    "bean_oil": 20.0,
    "oil": 291.0,
    "meal": 1100.0,
    "meal_oil": 0.6,
    "hulls": 75.0,
    "hull_oil": 1.0,
}


def account(*, without=(), purity=None, **changes):
    """The account of a day."""
    given_values = {**USUAL, **changes}
    inputs = {
        key: Quantity(key, value, "%" if key.endswith("_oil") else "t", SIGMAS[key])
        for key, value in given_values.items()
    }
    inputs.update({key: absent(key, "t") for key in without})
    return oil_account(**inputs, oil_purity=purity)


@given(
    st.floats(1.0, 5000.0),
    st.floats(10.0, 25.0),
    st.floats(0.0, 1000.0),
    st.floats(0.0, 4000.0),
    st.floats(0.0, 5.0),
    st.floats(0.0, 400.0),
)
def test_the_account_closes(beans, content, oil, meal, residual, hulls):
    """Oil in = oil out + in meal + in hulls + unaccounted, whatever the figures."""
    found = account(
        beans=beans, bean_oil=content, oil=oil, meal=meal, meal_oil=residual, hulls=hulls
    )
    parts = [found.out, found.in_meal, found.in_hulls, found.unaccounted]
    assert math.fsum(one.value for one in parts) == pytest.approx(found.in_beans.value)
    lost = found.unaccounted_percent.value
    kept = 100.0 - found.extraction_efficiency.value
    assert found.recovery.value + kept + lost == pytest.approx(100.0)


def test_a_day_s_account():
    """300 t in, 291 out, 6.6 in meal, 0.75 in hulls: 1.65 t unaccounted, within its error."""
    found = account()
    assert found.in_beans.value == pytest.approx(300.0)
    assert found.in_meal.value == pytest.approx(6.6)
    assert found.unaccounted.value == pytest.approx(1.65)
    assert found.unaccounted_percent.value == pytest.approx(0.55)
    assert found.extraction_efficiency.value == pytest.approx(97.55)
    assert found.recovery.value == pytest.approx(97.0)
    assert not found.is_unaccounted_certain
    assert account(oil=285.0).is_unaccounted_certain
    assert account(oil=299.0).is_unaccounted_certain


def test_the_uncertainties_are_those_of_a_simulation():
    """Inputs drawn around their values 200,000 times spread as the account says (seed 4)."""
    found = account()
    rng = np.random.default_rng(4)
    drawn = {key: rng.normal(USUAL[key], SIGMAS[key], 200_000) for key in USUAL}
    came = drawn["beans"] * drawn["bean_oil"] / 100
    kept = (drawn["meal"] * drawn["meal_oil"] + drawn["hulls"] * drawn["hull_oil"]) / 100
    rest = came - drawn["oil"] - kept
    assert found.unaccounted.sigma == pytest.approx(rest.std(), rel=0.01)
    assert found.unaccounted_percent.sigma == pytest.approx((100 * rest / came).std(), rel=0.01)
    assert found.extraction_efficiency.sigma == pytest.approx((100 * kept / came).std(), rel=0.01)
    assert found.recovery.sigma == pytest.approx((100 * drawn["oil"] / came).std(), rel=0.01)


def test_what_is_weighed_as_oil_and_is_none_is_taken_off():
    """0.2 % water and solvent in the oil is 0.58 t more unaccounted."""
    pure = account(purity=Quantity("oil purity", 99.8, "%", 0.02))
    assert pure.unaccounted.value == pytest.approx(1.65 + 0.582)
    assert pure.unaccounted.sigma > account().unaccounted.sigma


def test_what_is_missing_is_named_and_the_rest_stands():
    """Without the analysis of meal there is no rest, but the recovery stands."""
    found = account(without=("meal_oil",))
    assert found.unaccounted.missing == ("meal_oil",)
    assert found.extraction_efficiency.missing == ("meal_oil",)
    assert found.recovery.is_known
    assert not found.is_unaccounted_certain


def test_a_plant_without_hulls_needs_no_analysis_of_them():
    """Exactly nothing of them holds no oil."""
    found = oil_account(
        beans=Quantity("beans", 100.0, "t", 0.0),
        bean_oil=Quantity("bean oil", 20.0, "%", 0.0),
        oil=Quantity("oil", 19.0, "t", 0.0),
        meal=Quantity("meal", 80.0, "t", 0.0),
        meal_oil=Quantity("meal oil", 1.0, "%", 0.0),
        hulls=Quantity("hulls", 0.0, "t", 0.0),
        hull_oil=absent("hull oil", "%"),
    )
    assert found.unaccounted.value == pytest.approx(0.2)


def test_the_worth_of_oil_that_was_not_sold():
    """A month's 50 t at 1000 a tonne is 1667 a day; a tenth of a point in 33,000 t is 1100."""
    found = account(
        beans=45_000.0, oil=8_742.0, meal=33_000.0, meal_oil=0.6, hulls=1_000.0, hull_oil=1.0
    )
    assert found.unaccounted.value == pytest.approx(50.0)
    worth = oil_worth(
        found, price_per_t=1000.0, days=30.0, meal=Quantity("meal", 33_000.0, "t", 0.0)
    )
    assert worth.unaccounted_per_day.value == pytest.approx(1666.667, rel=1e-5)
    assert worth.in_meal_per_day.value == pytest.approx(6600.0)
    assert worth.in_hulls_per_day.value == pytest.approx(333.333, rel=1e-5)
    assert worth.tenth_in_meal_per_day.value == pytest.approx(1100.0)
    assert oil_worth(found, price_per_t=1.0, days=1.0).tenth_in_meal_per_day.missing == ("meal",)
    with pytest.raises(ValueError, match="0 days"):
        oil_worth(found, price_per_t=1000.0, days=0.0)
