"""Tests of humid air: states from any second figure, ranges; figures are in tests/published."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.process.air import make_air, saturated_ratio


@settings(max_examples=40)
@given(t_c=st.floats(2.0, 60.0), humidity=st.floats(0.2, 0.98), kpa=st.floats(85.0, 104.0))
def test_any_second_figure_gives_the_same_air(t_c, humidity, kpa):
    """Relative humidity, humidity ratio, wet bulb or dew point: one state."""
    air = make_air(t_c, relative_humidity=humidity, p_kpa=kpa)
    assert air.relative_humidity == pytest.approx(humidity, rel=1e-4)
    assert air.dew_point <= air.wet_bulb + 1e-6 <= t_c + 2e-6
    again = make_air(t_c, dew_point_c=air.dew_point, p_kpa=kpa)
    assert again.humidity_ratio == pytest.approx(air.humidity_ratio, rel=2e-3)
    if abs(air.wet_bulb) > 1.0:
        again = make_air(t_c, wet_bulb_c=air.wet_bulb, p_kpa=kpa)
        assert again.humidity_ratio == pytest.approx(air.humidity_ratio, rel=5e-3)


def test_heating_keeps_the_water():
    """The heater adds no water: same humidity ratio, lower relative humidity, more enthalpy."""
    cold = make_air(10.0, relative_humidity=0.8)
    hot = cold.heated_to(120.0)
    assert hot.humidity_ratio == cold.humidity_ratio
    assert hot.relative_humidity < 0.01
    assert hot.enthalpy - cold.enthalpy == pytest.approx(1.02 * 110.0, rel=0.01)


@pytest.mark.parametrize("given_figures", [{}, {"relative_humidity": 0.5, "wet_bulb_c": 10.0}])
def test_exactly_one_second_figure_is_wanted(given_figures):
    """None or two of them leave the state open or overdetermined."""
    with pytest.raises(ValueError, match="exactly one"):
        make_air(20.0, **given_figures)


@pytest.mark.parametrize(
    ("t_c", "figures", "words"),
    [
        (20.0, {"relative_humidity": 60.0}, "60 % as 0.60"),
        (20.0, {"humidity_ratio": -0.1}, "0 to 10 kg/kg"),
        (20.0, {"wet_bulb_c": 25.0}, "a wet bulb of 25.0 °C"),
        (20.0, {"dew_point_c": 25.0}, "a dew point of 25.0 °C"),
        (300.0, {"humidity_ratio": 0.01}, "-60 to 200 °C"),
        (20.0, {"humidity_ratio": 0.01, "p_kpa": 1013.25}, "40 to 200 kPa"),
        (110.0, {"relative_humidity": 0.9}, "a relative humidity of 0.9"),
    ],
)
def test_air_that_cannot_be_is_refused_in_words(t_c, figures, words):
    """The sentence names the figure that is wrong, in the unit it was given in."""
    with pytest.raises(ValueError, match=words):
        make_air(t_c, **figures)


def test_warm_air_holds_more_water_and_more_still_at_height():
    """Saturation rises with temperature and with falling pressure."""
    assert saturated_ratio(30.0) > saturated_ratio(20.0)
    assert saturated_ratio(30.0, p_kpa=90.0) > saturated_ratio(30.0)
