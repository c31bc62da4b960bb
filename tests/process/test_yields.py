"""Tests of yields, of the standard crush, and of what an analysis allows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.crush import (
    bushels,
    lb_per_bushel,
    mass_of_bushels,
    percent_of_bushel,
    standard_products,
)
from logbook.process.quantity import Quantity, absent
from logbook.process.yields import (
    AS_IS,
    DRY_MATTER,
    Basis,
    BeanAnalysis,
    Leavings,
    Weighed,
    against_analysis,
    against_standard,
    allowed,
    yields,
)


def figure(name, value, unit="%", sigma=0.0):
    """A figure, exact unless told otherwise."""
    return Quantity(name, value, unit, sigma)


def stream(name, mass, moisture=None, sigma=0.0):
    """A mass, with its moisture where one is given."""
    wet = None if moisture is None else figure(f"{name} moisture", moisture)
    return Weighed(figure(name, mass, "t", sigma), wet)


def day(basis=AS_IS, hulls=True):
    """The yields of a day of 1500 t."""
    return yields(
        stream("beans", 1500.0, 11.0),
        oil=stream("oil", 285.0, 0.1),
        meal=stream("meal", 1095.0, 12.0),
        hulls=stream("hulls", 75.0, 10.0) if hulls else None,
        basis=basis,
    )


def leavings(**changes):
    """What products usually carry away."""
    usual = {
        "meal_moisture": 12.0,
        "meal_oil": 0.6,
        "hulls": 5.0,
        "hull_moisture": 10.0,
        "hull_oil": 1.0,
        "hull_protein": 11.0,
        "waste": 0.5,
    }
    return Leavings(**{key: figure(key, value) for key, value in {**usual, **changes}.items()})


def beans(moisture=11.0, oil=19.5, protein=35.5):
    """An analysis of beans."""
    return BeanAnalysis(
        figure("bean moisture", moisture),
        figure("bean oil", oil),
        figure("bean protein", protein),
    )


def test_yields_as_is_and_shrink_make_up_the_beans():
    """19 % oil, 73 % meal, 5 % hulls, 3 % shrink; also by tonne and by bushel."""
    found = day()
    shares = [one.percent.value for one in (found.oil, found.meal, found.hulls, found.shrink)]
    assert shares == pytest.approx([19.0, 73.0, 5.0, 3.0])
    assert found.oil.kg_per_t.value == pytest.approx(190.0)
    assert found.oil.lb_per_bushel.value == pytest.approx(11.4)
    assert found.basis.words == "as is"


def test_in_dry_matter_only_dry_matter_is_compared():
    """1335 t of dry beans against 284.7, 963.6 and 67.5 t of dry products."""
    found = day(DRY_MATTER)
    dry = 1500.0 * 0.89
    expected = [100 * 285.0 * 0.999 / dry, 100 * 1095.0 * 0.88 / dry, 100 * 75.0 * 0.9 / dry]
    shares = [one.percent.value for one in (found.oil, found.meal, found.hulls)]
    assert shares == pytest.approx(expected)
    assert found.shrink.percent.value == pytest.approx(100.0 - sum(expected))
    assert found.basis.words == "in dry matter"


def test_at_stated_moistures_masses_are_brought_there_first():
    """Beans at 13 %, meal and hulls at 12 %: oil as it is."""
    found = day(Basis(13.0, 12.0))
    mass = 1500.0 * 0.89 / 0.87
    assert found.meal.percent.value == pytest.approx(100 * 1095.0 / mass)
    assert found.oil.percent.value == pytest.approx(100 * 285.0 / mass)
    assert found.basis.words == "beans at 13 % moisture, products at 12 % moisture"


def test_without_hulls_their_yield_is_nothing():
    """Not missing: a plant that takes none out."""
    assert day(hulls=False).hulls.percent.value == 0.0


def test_a_missing_moisture_is_named_and_leaves_the_yields_as_is():
    """Only the basis that needs it goes without."""
    parts = {"oil": stream("oil", 285.0, 0.1), "meal": stream("meal", 1095.0)}
    assert yields(stream("beans", 1500.0), **parts).meal.percent.value == 73.0
    dry = yields(stream("beans", 1500.0, 11.0), **parts, basis=DRY_MATTER)
    assert dry.meal.percent.missing == ("meal moisture",)
    assert dry.oil.percent.is_known
    assert dry.shrink.percent.missing == ("meal moisture",)


def test_the_shrink_feels_the_beans_once():
    """The scale of the beans errs in all yields the same way; 1 % of it is 0.97 points."""
    found = yields(
        stream("beans", 1500.0, sigma=15.0),
        oil=stream("oil", 285.0),
        meal=stream("meal", 1170.0),
    )
    assert found.shrink.percent.value == pytest.approx(3.0)
    assert found.shrink.percent.sigma == pytest.approx(0.97, abs=1e-3)


@given(
    st.floats(5.0, 15.0),
    st.floats(15.0, 24.0),
    st.floats(30.0, 40.0),
    st.floats(0.0, 8.0),
    st.floats(0.1, 3.0),
)
def test_what_the_analysis_allows_closes(moisture, oil, protein, hulls, residual):
    """Oil, protein and dry matter without oil of the products are those of the beans."""
    left = leavings(hulls=hulls, meal_oil=residual)
    found = allowed(beans(moisture, oil, protein), left)
    meal = found.meal.value
    assert found.oil.value + (meal * residual + hulls * 1.0) / 100 == pytest.approx(oil)
    solids = meal * (88.0 - residual) / 100 + hulls * 0.89 + 0.5 * (100 - moisture) / 100
    assert solids == pytest.approx(100 - moisture - oil)
    held = (meal * found.meal_protein.value + hulls * 11.0) / 100
    assert held == pytest.approx(protein)
    assert found.oil.value + meal + hulls + found.shrink.value == pytest.approx(100.0)


def test_yields_are_held_against_the_analysis_as_is_only():
    """A day's oil against what its beans allow; another basis is refused in words."""
    most = allowed(beans(), leavings())
    found = against_analysis(day(), most)
    assert found.oil.percent.value == pytest.approx(19.0 - most.oil.value)
    assert found.hulls.lb_per_bushel.value == pytest.approx(0.0)
    with pytest.raises(ValueError, match="in dry matter"):
        against_analysis(day(DRY_MATTER), most)


def test_without_protein_the_rest_of_what_is_allowed_stands():
    """Only the meal's protein goes without."""
    analysis = BeanAnalysis(figure("m", 11.0), figure("o", 19.5), absent("bean protein", "%"))
    found = allowed(analysis, leavings())
    assert found.meal_protein.missing == ("bean protein",)
    assert found.oil.is_known


def test_analyses_that_cannot_be_together_are_told():
    """Hulls that hold more than the beans leave no meal."""
    found = allowed(beans(), leavings(hulls=90.0))
    assert found.meal.value is None
    assert "check the analyses" in found.meal.note


def test_yields_against_the_standard_crush():
    """11 lb, 44 lb and 4 lb to the bushel; the day gave 11.4, 43.8 and 3.0."""
    found = against_standard(day())
    gaps = [one.lb_per_bushel.value for one in (found.oil, found.meal, found.hulls)]
    assert gaps == pytest.approx([0.4, -0.2, -1.0])


@given(st.floats(0.0, 1e6))
def test_bushels_and_pounds_come_back(amount):
    """Tonnes to bushels and back, percent to pounds and back."""
    assert mass_of_bushels(bushels(amount)) == pytest.approx(amount)
    assert percent_of_bushel(lb_per_bushel(amount)) == pytest.approx(amount)


def test_the_standard_products_make_up_the_beans():
    """Oil, meal, hulls and waste of 600 t are 600 t, and as sure as its scale."""
    found = standard_products(figure("beans", 600.0, "t", 3.0))
    parts = [found.oil, found.meal, found.hulls, found.waste]
    assert [one.value for one in parts] == pytest.approx([110.0, 440.0, 40.0, 10.0])
    assert found.oil.sigma == pytest.approx(0.55)
