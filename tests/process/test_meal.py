"""Tests of meal against its grade, of hulls to add back, and of what is given away."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logbook.process.meal import (
    DEHULLED,
    MealAnalysis,
    MealGrade,
    Verdict,
    blend_content,
    check_grade,
    hulls_for,
    hulls_to_add,
)
from logbook.process.meal_giveaway import drying_giveaway, protein_giveaway
from logbook.process.moisture import mass_at, to_basis
from logbook.process.quantity import Quantity, absent


def analysis(protein=49.0, fibre=3.0, moisture=11.5, oil=0.7, sigma=0.1):
    """An analysis of dehulled meal."""
    return MealAnalysis(
        *(
            Quantity(name, value, "%", sigma)
            for name, value in (
                ("protein", protein),
                ("fibre", fibre),
                ("moisture", moisture),
                ("oil", oil),
            )
        )
    )


HULLS = analysis(protein=11.0, fibre=37.0, moisture=11.0, oil=1.0)


def test_each_guarantee_has_its_verdict():
    """Protein well above, fibre too near, moisture beyond, oil not analysed."""
    found = MealAnalysis(
        Quantity("protein", 48.5, "%", 0.2),
        Quantity("fibre", 3.4, "%", 0.2),
        Quantity("moisture", 12.8, "%", 0.1),
        absent("oil", "%"),
    )
    checks = {one.what: one for one in check_grade(found, DEHULLED)}
    assert {what: one.verdict for what, one in checks.items()} == {
        "protein": Verdict.MET,
        "fibre": Verdict.TOO_CLOSE,
        "moisture": Verdict.MISSED,
        "oil": Verdict.UNKNOWN,
    }
    assert checks["protein"].margin.value == pytest.approx(1.0)
    assert checks["moisture"].margin.value == pytest.approx(-0.8)
    assert checks["oil"].margin.missing == ("oil",)


def test_what_a_contract_does_not_name_is_not_checked():
    """And an analysis on its limit keeps it, where its error is not known."""
    grade = MealGrade("protein only", protein_least=48.0)
    found = analysis(protein=48.0, sigma=None)
    (only,) = check_grade(found, grade)
    assert only.verdict is Verdict.MET


@given(st.floats(44.0, 52.0), st.floats(8.0, 14.0), st.floats(0.0, 1.0), st.floats(30.0, 40.0))
def test_hulls_added_back_bring_the_protein_to_its_target(meal, hulls, share, fibre):
    """The blend has exactly the protein aimed at."""
    target = meal - share * 3.0
    found = hulls_to_add(
        analysis(protein=meal), analysis(protein=hulls, fibre=fibre), protein_target=target
    )
    assert found.blend.protein.value == pytest.approx(target)
    assert found.kg_per_t.value >= 0.0


@given(st.floats(44.0, 52.0), st.floats(2.5, 3.4), st.floats(3.5, 7.0), st.floats(0.0, 300.0))
def test_the_blend_keeps_every_limit(protein, fibre, fibre_most, available):
    """Protein not below target, fibre not above its limit, not more hulls than there are."""
    assume(protein > 47.6)
    found = hulls_to_add(
        analysis(protein=protein, fibre=fibre),
        HULLS,
        protein_target=47.5,
        fibre_most=fibre_most,
        available_kg_per_t=available,
    )
    assert found.blend.protein.value >= 47.5 - 1e-9
    assert found.blend.fibre.value <= fibre_most + 1e-9
    assert found.kg_per_t.value <= available + 1e-9


def test_the_limit_that_holds_is_named():
    """49 to 47.5 % would take 41.1 kg; fibre of 3.5 % allows 14.9; there are 10."""
    free = hulls_to_add(analysis(), HULLS, protein_target=47.5)
    assert (free.limited_by, round(free.kg_per_t.value, 1)) == ("protein", 41.1)
    fibre = hulls_to_add(analysis(), HULLS, protein_target=47.5, fibre_most=3.5)
    assert (fibre.limited_by, round(fibre.kg_per_t.value, 1)) == ("fibre", 14.9)
    assert fibre.by_protein_kg_per_t.value == pytest.approx(41.0959, abs=1e-4)
    assert fibre.blend.protein.value == pytest.approx(48.442, abs=1e-3)
    stock = hulls_to_add(
        analysis(), HULLS, protein_target=47.5, fibre_most=3.5, available_kg_per_t=10.0
    )
    assert (stock.limited_by, stock.kg_per_t.value) == ("hulls", 10.0)


def test_meal_already_below_its_target_takes_no_hulls():
    """Nor meal whose fibre is at its limit."""
    low = hulls_to_add(analysis(protein=47.0), HULLS, protein_target=47.5)
    assert (low.limited_by, low.kg_per_t.value) == ("meal", 0.0)
    assert low.blend.protein.value == 47.0
    coarse = hulls_to_add(analysis(fibre=3.6), HULLS, protein_target=47.5, fibre_most=3.5)
    assert coarse.kg_per_t.value == 0.0


def test_without_an_analysis_no_hulls_are_advised():
    """What is missing is named, in the amount and in the blend."""
    meal = MealAnalysis(
        Quantity("protein", 49.0, "%", 0.1),
        absent("meal fibre", "%"),
        Quantity("moisture", 11.5, "%", 0.1),
        Quantity("oil", 0.7, "%", 0.1),
    )
    found = hulls_to_add(meal, HULLS, protein_target=47.5, fibre_most=3.5)
    assert found.kg_per_t.missing == ("meal fibre",)
    assert "meal fibre" in found.blend.protein.missing
    assert hulls_to_add(meal, HULLS, protein_target=47.5).kg_per_t.is_known


def test_a_target_that_hulls_cannot_reach_is_told():
    """Below the protein of the hulls themselves."""
    with pytest.raises(ValueError, match="do not bring"):
        hulls_for(49.0, 11.0, 10.0)
    found = hulls_to_add(analysis(), HULLS, protein_target=10.0)
    assert found.kg_per_t.value is None
    assert "do not bring" in found.by_protein_kg_per_t.note
    assert blend_content(49.0, 11.0, 0.0) == 49.0


def test_protein_above_the_guarantee_has_two_worths():
    """1 point in 1000 t at 6 a point: 6000; 28.2 t more meal in place of hulls at 380 − 150."""
    found = protein_giveaway(
        Quantity("meal", 1000.0, "t", 0.0),
        Quantity("protein", 48.5, "%", 0.1),
        47.5,
        hull_protein=Quantity("hull protein", 12.0, "%", 0.5),
        point_price=6.0,
        meal_price=380.0,
        hull_price=150.0,
        money="USD",
    )
    assert found.points.value == pytest.approx(1.0)
    assert found.protein.value == pytest.approx(10.0)
    assert found.worth_by_premium.value == pytest.approx(6000.0)
    assert found.worth_by_premium.sigma == pytest.approx(600.0)
    assert found.hulls.value == pytest.approx(1000.0 / 35.5)
    assert found.worth_by_hulls.value == pytest.approx(230_000.0 / 35.5)
    assert found.worth_by_hulls.unit == "USD"


def test_a_worth_without_a_price_names_the_price():
    """The tonnes stand."""
    found = protein_giveaway(
        Quantity("meal", 1000.0, "t", 0.0), Quantity("protein", 48.5, "%", 0.1), 47.5
    )
    assert found.points.is_known
    assert found.worth_by_premium.missing == ("price of a point",)
    assert found.hulls.missing == ("hull protein",)
    assert set(found.worth_by_hulls.missing) == {"hull protein", "meal price", "hull price"}


@given(st.floats(8.0, 12.4), st.floats(1.0, 5000.0))
def test_the_water_not_sold_is_what_the_meal_would_weigh_more(moisture, mass):
    """At the moisture allowed the same dry matter weighs that much more."""
    found = drying_giveaway(
        Quantity("meal", mass, "t", 0.0), Quantity("moisture", moisture, "%", 0.1), 12.5
    )
    assert mass + found.water.value == pytest.approx(mass_at(mass, moisture, 12.5))
    assert found.limited_by == "moisture"
    assert found.heat.value == pytest.approx(found.water.value * 2.406)


@given(st.floats(8.0, 12.4), st.floats(46.0, 52.0))
def test_water_is_left_in_only_as_far_as_the_protein_keeps_its_guarantee(moisture, protein):
    """More water thins the protein: at the moisture allowed it is not below, unless it was."""
    found = drying_giveaway(
        Quantity("meal", 1000.0, "t", 0.0),
        Quantity("moisture", moisture, "%", 0.1),
        12.5,
        protein=Quantity("protein", protein, "%", 0.1),
        protein_least=47.5,
    )
    assert found.protein_then.value >= min(47.5, protein) - 1e-9
    assert found.water.value >= 0.0
    assert moisture <= found.moisture_allowed.value <= 12.5
    thinned = to_basis(protein, moisture, 12.5) < 47.5
    assert found.limited_by == ("protein" if thinned else "moisture")


def test_a_day_of_meal_dried_too_far():
    """1100 t at 11.5 % for 12.5 % allowed: 12.57 t, 4777 at 380 a tonne, 30.2 GJ."""
    found = drying_giveaway(
        Quantity("meal", 1100.0, "t", 5.5),
        Quantity("moisture", 11.5, "%", 0.1),
        12.5,
        meal_price=380.0,
    )
    assert found.points.value == pytest.approx(1.0)
    assert found.water.value == pytest.approx(12.571, abs=1e-3)
    assert found.worth.value == pytest.approx(4777.1, abs=0.1)
    assert found.heat.value == pytest.approx(30.25, abs=0.01)
    assert found.water.sigma == pytest.approx(1100.0 * 0.1 / 87.5, rel=0.01)
    assert found.protein_then.missing == ("meal protein",)


def test_meal_wetter_than_allowed_gives_nothing_away():
    """The figure is negative and the limit named, whatever the protein."""
    found = drying_giveaway(
        Quantity("meal", 1000.0, "t", 0.0),
        Quantity("moisture", 12.8, "%", 0.1),
        12.5,
        protein=Quantity("protein", 47.0, "%", 0.1),
        protein_least=47.5,
    )
    assert found.water.value < 0.0
    assert found.limited_by == "moisture"


def test_without_moisture_nothing_is_told_of_drying():
    """It is named; so is a protein that is asked for and was not analysed left out."""
    meal = Quantity("meal", 1000.0, "t", 0.0)
    found = drying_giveaway(meal, absent("meal moisture", "%"), 12.5)
    assert found.water.missing == ("meal moisture",)
    held = drying_giveaway(
        meal,
        Quantity("moisture", 11.5, "%", 0.1),
        12.5,
        protein=absent("meal protein", "%"),
        protein_least=47.5,
    )
    assert held.water.is_known
    assert held.protein_then.missing == ("meal protein",)
