"""The compliance ratio against the rule and the agency's own worked example.

Sources: 40 CFR 63.2840(a)(1) and (2), 63.2853, 63.2854, 63.2855, 63.2872 (read in public
transcriptions; the equations of 63.2853 to 63.2855 from memory). Worked example: Environmental
Protection Agency, Compliance Demonstration for the Solvent Extraction for Vegetable Oil Production
NESHAP, EPA-453/B-04-001, September 2001: the equation with its figures was read in the document's
file, its printed result was not. Table 1 of 63.2840 is from memory and checked as a copy only.
"""

from __future__ import annotations

from datetime import date

import pytest

from logbook.process.solvent import (
    OILSEEDS,
    Source,
    allowed_loss,
    baseline_loss,
    compliance_ratio,
    is_within,
)
from logbook.process.solvent_eu import EU_LIMITS
from logbook.process.solvent_months import SolventPeriod, Status
from logbook.process.solvent_units import kg_t_from_gal_ton, l_t_from_gal_ton

TABLE_1 = [
    # type, existing, new, US gal per short ton; from memory (40 CFR 63.2840, table 1)
    ("corn_germ_wet", 0.4, 0.3),
    ("corn_germ_dry", 0.7, 0.7),
    ("cottonseed_large", 0.5, 0.4),
    ("cottonseed_small", 0.7, 0.4),
    ("flax", 0.6, 0.6),
    ("peanut", 1.2, 0.7),
    ("rapeseed", 0.7, 0.3),
    ("safflower", 0.7, 0.7),
    ("soybean", 0.2, 0.2),
    ("soybean_specialty", 1.7, 1.5),
    ("soybean_combination", 0.25, 0.25),
    ("sunflower", 0.4, 0.3),
]


def test_the_agencys_worked_example_comes_out():
    """EPA-453/B-04-001: 0.66 x 26,500 gal / (0.64 x (26,500 t x 0.6 + 24,000 t x 0.7))."""
    seed = {"flax": 26_500.0, "cottonseed_small": 24_000.0}
    ratio = compliance_ratio(26_500.0, seed, 0.66)
    assert ratio == pytest.approx(0.66 * 26_500 / (0.64 * (26_500 * 0.6 + 24_000 * 0.7)), rel=1e-12)
    assert ratio == pytest.approx(0.8357, abs=5e-5)
    assert baseline_loss(seed) == pytest.approx(32_700.0)


def test_the_boundary_itself_is_in_compliance():
    """63.2872: at most 1.00 complies. A million tons of soybeans at 0.2 and 200,000 gallons: 1."""
    ratio = compliance_ratio(200_000.0, {"soybean": 1_000_000.0}, 0.64)
    assert ratio == 1.0
    assert is_within(ratio)
    assert not is_within(compliance_ratio(200_001.0, {"soybean": 1_000_000.0}, 0.64))


@pytest.mark.parametrize(("kind", "existing", "new"), TABLE_1)
def test_the_table_of_factors_is_the_one_remembered(kind, existing, new):
    """40 CFR 63.2840, table 1, from memory: check against the rule before relying on it."""
    assert OILSEEDS[kind].factor(Source.EXISTING) == existing
    assert OILSEEDS[kind].factor(Source.NEW) == new


def test_the_table_of_factors_has_no_further_row():
    """As remembered there are twelve."""
    assert {row[0] for row in TABLE_1} == set(OILSEEDS)


def test_the_malfunction_exemption_ended_on_15_september_2020():
    """63.2872 as amended (85 FR 15608): before that day a malfunction is left out, not after."""
    days = {"status": Status.MALFUNCTION, "seed_tons": {"soybean": 1.0}}
    old = SolventPeriod(first=date(2020, 9, 1), last=date(2020, 9, 14), **days)
    new = SolventPeriod(first=date(2020, 9, 15), last=date(2020, 9, 30), **days)
    assert not old.counts
    assert new.counts


def test_the_factor_of_soybeans_in_metric_units():
    """0.2 gal/ton: 0.83454 L/t by the exact gallon and ton; 0.5503 kg/t at 0.6594 kg/L (computed)."""
    assert l_t_from_gal_ton(0.2) == pytest.approx(0.83454, abs=5e-6)
    assert kg_t_from_gal_ton(0.2, 0.6594) == pytest.approx(0.5503, abs=5e-5)


def test_a_solvent_at_the_baseline_may_lose_the_factor_itself():
    """63.2840(a)(2): at f = 0.64 the allowed loss is the sum of seed x factor."""
    assert allowed_loss({"soybean": 500_000.0}, 0.64) == pytest.approx(100_000.0)


def test_the_european_limits_are_those_remembered():
    """Directive 2010/75/EU, Annex VII, part 2, row 19, kg/t, from memory."""
    assert dict(EU_LIMITS) == {
        "soybean": 0.8,
        "soybean_white_flakes": 1.2,
        "rapeseed": 1.0,
        "sunflower": 1.0,
        "castor": 3.0,
        "animal_fat": 1.5,
        "other": 3.0,
    }
