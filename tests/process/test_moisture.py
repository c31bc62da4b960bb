"""Tests of moisture and the basis of an analysis."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.moisture import (
    basis_words,
    content_at_basis,
    dry_to_wet_basis,
    mass_at,
    mass_at_basis,
    shrink,
    shrink_per_point,
    to_basis,
    water_removed,
    wet_to_dry_basis,
)
from logbook.process.quantity import Quantity, absent

MOISTURE = st.floats(0.0, 95.0)
CONTENT = st.floats(0.0, 100.0)


@given(CONTENT, MOISTURE, MOISTURE)
def test_a_content_comes_back_from_another_basis_unchanged(value, there, back):
    """To another moisture and back."""
    assert to_basis(to_basis(value, there, back), back, there) == pytest.approx(value)


@given(CONTENT, MOISTURE, MOISTURE, MOISTURE)
def test_by_way_of_a_third_basis_the_content_is_the_same(value, one, two, three):
    """The way does not matter, only the two ends."""
    assert to_basis(to_basis(value, one, two), two, three) == pytest.approx(
        to_basis(value, one, three)
    )


@given(st.floats(0.1, 1e6), CONTENT, MOISTURE, MOISTURE)
def test_the_oil_in_a_mass_stays_while_water_goes(mass, content, there, then):
    """Content times mass is the same at every moisture."""
    assert mass_at(mass, there, then) * to_basis(content, there, then) == pytest.approx(
        mass * content
    )


@given(st.floats(0.0, 90.0))
def test_wet_basis_comes_back_from_dry_basis(moisture):
    """And the two agree about the water in 100 kg."""
    assert dry_to_wet_basis(wet_to_dry_basis(moisture)) == pytest.approx(moisture)


@given(st.floats(0.1, 1e6), MOISTURE, MOISTURE)
def test_what_is_dried_off_and_what_is_left_are_what_came(mass, there, then):
    """Water is only carried away."""
    assert water_removed(mass, there, then) + mass_at(mass, there, then) == pytest.approx(mass)


def test_shrink_is_points_times_shrink_per_point():
    """The trade's short form of the same balance."""
    assert shrink(19.0, 13.0) == pytest.approx(6.0 * shrink_per_point(13.0))


@pytest.mark.parametrize("moisture", [100.0, -0.1, float("nan"), float("inf")])
def test_a_moisture_that_cannot_be_is_refused_with_its_value(moisture):
    """A single number raises."""
    with pytest.raises(ValueError, match="cannot be"):
        to_basis(44.0, moisture)
    with pytest.raises(ValueError, match="cannot be"):
        dry_to_wet_basis(-1.0)


def test_a_series_keeps_its_length_with_nan_where_a_moisture_cannot_be():
    """One slip in a year of analyses must not lose the year."""
    moisture = np.array([12.0, 120.0, np.nan, -1.0, 0.0])
    found = to_basis(np.full(5, 44.0), moisture)
    np.testing.assert_allclose(found, [50.0, np.nan, np.nan, np.nan, 44.0])
    np.testing.assert_allclose(dry_to_wet_basis(np.array([100.0, -5.0])), [50.0, np.nan])
    np.testing.assert_allclose(to_basis(44.0, 12.0, np.array([0.0, 12.0])), [50.0, 44.0])


def test_the_uncertainty_of_moisture_is_felt_in_the_content():
    """44 % at 12.0 ± 0.5 % moisture: the slope is 44/(88/100)²/100 = 0.568 per point."""
    protein = Quantity("meal protein", 44.0, "%", 0.3)
    found = content_at_basis(protein, Quantity("meal moisture", 12.0, "%", 0.5))
    assert found.value == pytest.approx(50.0)
    assert found.sigma == pytest.approx(np.hypot(0.3 / 0.88, 0.5 * 44.0 / 0.88**2 / 100), rel=1e-4)
    assert found.name == "meal protein in dry matter"
    assert content_at_basis(protein, absent("meal moisture", "%")).missing == ("meal moisture",)


def test_a_mass_at_another_moisture_carries_its_name_and_uncertainty():
    """937.1 t of the 1000 t, to within its share of the uncertainty."""
    meal = Quantity("meal", 1000.0, "t", 5.0)
    found = mass_at_basis(meal, Quantity("moisture", 18.0, "%", 0.0), 12.5)
    assert found.name == "meal at 12.5 % moisture"
    assert found.sigma == pytest.approx(5.0 * 0.9371429)


def test_a_basis_is_said_in_words():
    """As it stands in a table's head."""
    assert [basis_words(one) for one in (None, 0.0, 13.0)] == [
        "as is",
        "in dry matter",
        "at 13 % moisture",
    ]
