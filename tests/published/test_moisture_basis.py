"""Moisture bases and shrink against worked examples that others have printed.

The examples were read in public extracts; titles of books that were not seen whole are not named.
Figures marked "worked out" follow from the definition, moisture on dry basis = w / (100 - w).
"""

import pytest

from logbook.process.moisture import (
    dry_to_wet_basis,
    mass_at,
    shrink,
    shrink_per_point,
    water_removed,
    wet_to_dry_basis,
)


@pytest.mark.parametrize(
    ("wet", "dry", "within"),
    [
        pytest.param(85.0, 567.0, 0.5, id="printed 567 %, exact 566.67"),
        pytest.param(75.0, 300.0, 1e-9, id="10 kg hold 7.5 kg water: printed 300 %"),
        pytest.param(10.0, 11.1111, 1e-4, id="worked out"),
        pytest.param(11.5, 12.9944, 1e-4, id="worked out"),
        pytest.param(12.5, 14.2857, 1e-4, id="worked out"),
        pytest.param(13.0, 14.9425, 1e-4, id="worked out"),
        pytest.param(18.0, 21.9512, 1e-4, id="worked out"),
    ],
)
def test_dry_basis_from_wet_basis(wet, dry, within):
    """A food engineering text's worked examples (lecture notes on drying, Example 4)."""
    assert wet_to_dry_basis(wet) == pytest.approx(dry, abs=within)


def test_wet_basis_from_dry_basis():
    """The same notes, Example 5: 0.90 dry basis is 0.4736 wet basis (printed cut, not rounded)."""
    assert dry_to_wet_basis(90.0) == pytest.approx(47.36, abs=0.01)


def test_drying_toasted_meal():
    """Common practice, no source: meal leaves the toaster at about 18 % and is dried to 12.5 %."""
    assert mass_at(1000.0, 18.0, 12.5) == pytest.approx(937.1429, abs=1e-4)
    assert water_removed(1000.0, 18.0, 12.5) == pytest.approx(62.8571, abs=1e-4)


def test_shrink_of_corn_from_25_5_to_15_5_percent():
    """A public agronomy page: 1.1834 per point, 11.83 %, with 0.5 % handling 876.7 lb, 15.6 bu."""
    assert shrink_per_point(15.5) == pytest.approx(1.1834, abs=5e-5)
    assert shrink(25.5, 15.5) == pytest.approx(11.83, abs=0.005)
    assert mass_at(1000.0, 25.5, 15.5) == pytest.approx(881.657, abs=5e-4)
    with_handling = 1000.0 * (1.0 - shrink(25.5, 15.5, handling=0.5) / 100.0)
    assert with_handling == pytest.approx(876.7, abs=0.05)
    assert with_handling / 56.0 == pytest.approx(15.655, abs=5e-4)


def test_bushels_of_corn_from_19_to_15_percent():
    """A public shrink calculator's example: 12,000 bu become 11,435 bu (factor 81/85)."""
    assert mass_at(12_000.0, 19.0, 15.0) == pytest.approx(11_435.0, abs=0.5)


def test_the_flat_factor_of_crop_insurance_is_another_thing():
    """A public crop insurance note takes 1.2 % a point (0.9400); dry matter gives 0.941176."""
    assert mass_at(1000.0, 20.0, 15.0) == pytest.approx(941.176, abs=5e-4)
    assert mass_at(1000.0, 20.0, 15.0) != pytest.approx(940.0, abs=1.0)
