"""Density of soybean oil against published tables.

The line under test is in `logbook.process.oil_density`. The tables:
E. H. Pryde, "Physical Properties of Soybean Oil", chapter 3, Table 1 "Density of Soybean oil at
Several Temperatures", quoting Magne and Skau (1945) and Johnstone et al. (1940), read in a scan;
H. Noureddini, B. C. Teoh and L. Davis Clements, "Densities of Vegetable Oils and Fatty Acids",
Journal of the American Oil Chemists' Society 69 (1992) 1184-1188, read in a public transcription.
"""

import numpy as np
import pytest

from logbook.process.oil_density import (
    SIGMA,
    oil_density,
    oil_density_of,
    relative_density_15,
)
from logbook.process.quantity import Quantity

PRYDE = [
    (-10.0, 941.0),
    (0.0, 934.7),
    (10.0, 927.6),
    (25.0, 917.5),
    (25.0, 917.1),
    (37.8, 908.7),
    (40.0, 907.5),
    (50.0, 900.4),
]
NOUREDDINI = [
    (23.9, 919.3),
    (37.8, 908.2),
    (48.9, 902.3),
    (60.0, 893.9),
    (82.2, 879.5),
    (100.0, 867.4),
    (110.0, 861.5),
]
"""°C and kg/m³."""


def test_relative_density_by_lund():
    """0.8475 + 0.00030 × 192 + 0.00014 × 130 = 0.9233."""
    assert relative_density_15(192.0, 130.0) == pytest.approx(0.9233, abs=5e-5)


@pytest.mark.parametrize(("t_c", "printed"), [*PRYDE, *NOUREDDINI])
def test_density_by_published_table(t_c, printed):
    """Within 2.7 kg/m³ of every printed value from −10 to 110 °C."""
    assert oil_density(t_c) == pytest.approx(printed, abs=2.7)


def test_the_stated_uncertainty_covers_the_tables():
    """The root mean square of the differences is not above it."""
    t_c, printed = np.array([*PRYDE, *NOUREDDINI]).T
    assert np.sqrt(np.mean((oil_density(t_c) - printed) ** 2)) <= SIGMA


def test_the_trade_s_conversion_of_crude_oil():
    """7.7 lb to the US gallon (from memory): 922.7 kg/m³, the density at about 15 °C."""
    assert oil_density(15.0) == pytest.approx(7.7 * 0.45359237 / 3.785411784e-3, abs=1.0)


def test_beyond_the_range_nothing_is_told():
    """120 °C raises, is NaN in a series, and leaves a figure without a value."""
    with pytest.raises(ValueError, match="120 °C"):
        oil_density(120.0)
    np.testing.assert_array_equal(np.isnan(oil_density(np.array([20.0, 120.0]))), [False, True])
    told = oil_density_of(Quantity("oil temperature", 120.0, "°C", 1.0))
    assert told.value is None
    assert "120 °C" in told.note


def test_the_uncertainty_of_density():
    """1.5 kg/m³ of the line and 0.64 for a degree."""
    told = oil_density_of(Quantity("oil temperature", 40.0, "°C", 1.0))
    assert told.sigma == pytest.approx(np.hypot(SIGMA, 0.64), rel=1e-6)
