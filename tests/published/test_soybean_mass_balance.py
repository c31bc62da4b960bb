"""A published balance of soybean oil and meal.

R. L. Earle, Unit Operations in Food Processing, chapter 2 "Material and energy balances",
Example 2.9 (read in a public copy of its text): 1000 kg of beans (18 % oil, 35 % protein, 27.1 %
carbohydrate, 9.4 % fibre and ash, 10.5 % water) are pressed to 6 % oil, extracted with hexane to
0.5 % oil, and dried to 8 % moisture.
"""

import pytest

from logbook.process.moisture import mass_at, water_removed
from logbook.process.oil_account import oil_account
from logbook.process.quantity import Quantity
from logbook.process.yields import BeanAnalysis, Leavings, allowed

NON_OIL = 820.0
"""kg in 1000 kg of beans, water included, as printed."""


def exact(name, value, unit="%"):
    """A figure without error."""
    return Quantity(name, value, unit, 0.0)


def residual(percent):
    """Oil left in the cake at a content, kg: the rest is what is no oil."""
    return NON_OIL * percent / (100.0 - percent)


def test_oil_pressed_and_extracted():
    """Printed: 52.3 left and 127.7 pressed out, 4.1 left and 48.2 extracted, kg."""
    after_press, after_hexane = residual(6.0), residual(0.5)
    assert after_press == pytest.approx(52.3, abs=0.05)
    assert after_hexane == pytest.approx(4.1, abs=0.05)
    found = oil_account(
        beans=exact("beans", 1000.0, "t"),
        bean_oil=exact("bean oil", 18.0),
        oil=exact("oil", 127.7 + 48.2, "t"),
        meal=exact("meal", NON_OIL + after_hexane, "t"),
        meal_oil=exact("meal oil", 0.5),
        hulls=exact("hulls", 0.0, "t"),
        hull_oil=exact("hull oil", 0.0),
    )
    assert found.unaccounted.value == pytest.approx(0.0, abs=0.05)
    assert found.extraction_efficiency.value == pytest.approx(100 * (1 - 4.1 / 180), abs=0.05)


def test_water_dried_off():
    """Printed: dry matter 719.1 kg, water left 62.5 and removed 42.5 kg."""
    wet = NON_OIL + residual(0.5)
    moisture = 100.0 * 105.0 / wet
    assert mass_at(wet, moisture) == pytest.approx(719.1, abs=0.05)
    assert mass_at(wet, moisture, 8.0) - 719.12 == pytest.approx(62.5, abs=0.05)
    assert water_removed(wet, moisture, 8.0) == pytest.approx(42.5, abs=0.05)


def test_the_meal_that_the_analysis_allows():
    """781.65 kg of meal with 44.78 % protein from the printed data, worked out."""
    meal_oil = 100.0 * residual(0.5) / 781.6528
    found = allowed(
        BeanAnalysis(exact("moisture", 10.5), exact("oil", 18.0), exact("protein", 35.0)),
        Leavings(
            meal_moisture=exact("meal moisture", 8.0),
            meal_oil=exact("meal oil", meal_oil),
            hulls=exact("hulls", 0.0),
            hull_moisture=exact("hull moisture", 0.0),
            hull_oil=exact("hull oil", 0.0),
            hull_protein=exact("hull protein", 0.0),
        ),
    )
    assert meal_oil == pytest.approx(0.53, abs=0.005)
    assert found.meal.value == pytest.approx(78.16528, abs=1e-4)
    assert found.meal_protein.value == pytest.approx(44.78, abs=0.005)
    assert found.oil.value == pytest.approx(12.77 + 4.82, abs=0.005)


def test_a_good_conversion_stands_beside_common_practice():
    """Common practice, no source: beans hold about 20 % oil, about 19 % comes out."""
    found = allowed(
        BeanAnalysis(exact("moisture", 11.5), exact("oil", 20.0), exact("protein", 35.0)),
        Leavings(
            meal_moisture=exact("meal moisture", 12.0),
            meal_oil=exact("meal oil", 0.6),
            hulls=exact("hulls", 5.0),
            hull_moisture=exact("hull moisture", 10.0),
            hull_oil=exact("hull oil", 1.0),
            hull_protein=exact("hull protein", 11.0),
        ),
    )
    assert found.oil.value == pytest.approx(19.5, abs=0.1)
    assert found.meal_protein.value == pytest.approx(47.0, abs=1.5)
