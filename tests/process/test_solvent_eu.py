"""Tests of the European limits and of the units of specific loss."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.units import convert
from logbook.process.quantity import Quantity, absent
from logbook.process.solvent_eu import EU_LIMITS, FROM_MEMORY, compare, consumption_kg
from logbook.process.solvent_units import (
    gal_ton_from_kg_t,
    gal_ton_from_l_t,
    gallons,
    kg_t_from_gal_ton,
    l_t_from_gal_ton,
    litres,
    short_tons,
    tonnes,
)

AMOUNT = st.floats(1e-6, 1e9)
BEANS = Quantity("beans", 50_000.0, "t", 100.0)


@given(x=AMOUNT, density=st.floats(0.5, 0.9))
def test_each_conversion_undoes_its_other_way(x, density):
    """Gallons, tons and both specific losses, there and back."""
    assert gallons(litres(x)) == pytest.approx(x, rel=1e-12)
    assert short_tons(tonnes(x)) == pytest.approx(x, rel=1e-12)
    assert gal_ton_from_l_t(l_t_from_gal_ton(x)) == pytest.approx(x, rel=1e-12)
    back = gal_ton_from_kg_t(kg_t_from_gal_ton(x, density), density)
    assert back == pytest.approx(x, rel=1e-12)


@given(x=AMOUNT)
def test_the_units_are_those_of_the_plant_file(x):
    """The same gallon and ton as the conversion at the edge of the program."""
    assert litres(x) == pytest.approx(convert(x, "US gal", "L"), rel=1e-12)
    assert tonnes(x) == pytest.approx(convert(x, "short ton", "t"), rel=1e-12)


def test_a_density_in_kg_m3_is_refused():
    """660 is a density in kg/m3."""
    with pytest.raises(ValueError, match="density in kg/L"):
        kg_t_from_gal_ton(0.2, 660.0)


def test_a_loss_beside_the_limit():
    """Below is within, above is not, and the limit says that it is from memory."""
    low = compare(Quantity("loss", 40.0, "t", 1.0), BEANS)
    assert low.specific.value == pytest.approx(0.8)
    assert low.within is True
    assert low.bat_range == (0.3, 0.55)
    assert low.limit.note == FROM_MEMORY
    assert compare(Quantity("loss", 40.1, "t", 1.0), BEANS).within is False


def test_a_loss_that_is_not_known_is_not_judged():
    """What is missing is named; nothing is within or beyond."""
    told = compare(absent("loss", "t", "tank 1 at the end"), BEANS)
    assert told.within is None
    assert told.specific.missing == ("tank 1 at the end",)


def test_a_seed_without_limit_is_refused_by_name():
    """The kinds known are listed."""
    with pytest.raises(ValueError, match="known are soybean, "):
        compare(Quantity("loss", 1.0, "t"), BEANS, kind="hemp")
    assert all(limit > 0 for limit in EU_LIMITS.values())


def test_reused_solvent_is_no_consumption():
    """C = I1 - O8."""
    assert consumption_kg(10.0, 5.0, 8.0, 2.0) == 5.0
