"""Crush conversion and the worth of a bushel against published figures.

The reference crush: farmdoc, "The long-run evolution of oilseed crushing", quoting the exchange
(read in a reprint). The values: USDA crush report, table of soybean crush, weeks named below (read
in a news reprint of 5 October 2012); its legs are printed cut or rounded to the cent.
"""

import pytest

from logbook.process.crush import (
    BUSHEL_KG,
    STANDARD,
    bushel_value,
    bushels,
    percent_of_bushel,
)


def test_a_bushel_of_beans():
    """60 lb of 0.45359237 kg exactly: 27.2155422 kg, 36.743710 to the tonne."""
    assert pytest.approx(27.2155422, abs=1e-10) == BUSHEL_KG
    assert bushels(1.0) == pytest.approx(36.743710, abs=5e-7)


def test_the_reference_crush_makes_up_the_bushel():
    """11 lb oil, 44 lb meal, 4 lb hulls, 1 lb waste: 60 lb; 18.333, 73.333, 6.667, 1.667 %."""
    pounds = [STANDARD.oil_lb, STANDARD.meal_lb, STANDARD.hulls_lb, STANDARD.waste_lb]
    assert pounds == [11.0, 44.0, 4.0, 1.0]
    shares = [percent_of_bushel(one) for one in pounds]
    assert shares == pytest.approx([18.333, 73.333, 6.667, 1.667], abs=5e-4)


@pytest.mark.parametrize(
    ("oil_lb", "oil_cents", "meal_lb", "meal_price", "beans", "oil", "meal", "total", "margin"),
    [
        pytest.param(
            11.60, 49.79, 48.05, 485.30, 15.59, 5.78, 11.66, 17.43, 1.84, id="4 October 2012"
        ),
        pytest.param(
            11.60, 50.86, 48.05, 490.10, 15.83, 5.90, 11.77, 17.67, 1.84, id="27 September 2012"
        ),
        pytest.param(
            11.13, 41.17, 43.87, 293.70, 10.48, 4.58, 6.44, 11.02, 0.54, id="6 October 2011"
        ),
    ],
)
def test_the_value_of_a_bushel(
    oil_lb, oil_cents, meal_lb, meal_price, beans, oil, meal, total, margin
):
    """Each leg to the cent, as far as the table cuts or rounds."""
    found = bushel_value(
        oil_lb=oil_lb,
        meal_lb=meal_lb,
        oil_price_per_lb=oil_cents / 100.0,
        meal_price_per_short_ton=meal_price,
    )
    assert found.oil == pytest.approx(oil, abs=0.006)
    assert found.meal == pytest.approx(meal, abs=0.006)
    assert found.total == pytest.approx(total, abs=0.006)
    assert found.margin(beans) == pytest.approx(margin, abs=0.006)
