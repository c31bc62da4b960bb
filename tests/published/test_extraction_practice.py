"""Facts of the trade that the arithmetic of solvent, steam and drying must agree with.

Marked where they stand: "common practice, no source" unless a source is named. AOCS Lipid Library,
"Meal Desolventizing, Toasting, Drying and Cooling", section 1 (read): spent flakes hold 55 to 70 %
dry solids, 25 to 35 % solvent, 5 to 10 % moisture at 55 to 60 degC.
"""

from __future__ import annotations

import pytest

from logbook.process import hexane
from logbook.process.azeotrope import water_per_hexane
from logbook.process.desolventizing import flakes_mass, moisture_leaving, steam_needed
from logbook.process.dryer import drying_heat
from logbook.process.evaporation import boiling_temperature, implied_oil
from logbook.process.moisture import mass_at, water_removed


def leaving(solvent: float, moisture: float, vapour_c: float, jackets: float) -> float:
    """Moisture leaving a toaster fed flakes of 60 t dry meal, all heat but `jackets` (MJ) by steam."""
    flakes = flakes_mass(60.0, solvent, moisture)
    hexane_t, water_t = flakes * solvent / 100.0, flakes * moisture / 100.0
    steam = steam_needed(
        hexane_t,
        60.0,
        water_t,
        flakes_c=58.0,
        meal_c=105.0,
        vapour_c=vapour_c,
        steam_kpa=700.0,
        jacket_mj=jackets,
    )
    return moisture_leaving(60.0, water_t, steam, hexane_t * water_per_hexane(vapour_c))


def test_about_thirty_per_cent_solvent_leaves_about_eighteen_per_cent_moisture() -> None:
    """30 % solvent and 8.5 % water in spent flakes, a quarter of the heat by jackets: 17 to 21 %.

    Common practice, no source: about 30 % solvent in spent flakes, about 18 % moisture leaving the
    toaster.
    """
    total = 29.0 * hexane.heat_to_vapour(58.0, 70.0) + 60.0 * 1.5 * 47.0
    assert 17.0 < leaving(30.0, 8.5, 70.0, 0.3 * total) < 21.0


@pytest.mark.parametrize(("solvent", "moisture"), [(25.0, 5.0), (25.0, 10.0), (35.0, 5.0)])
def test_published_range_of_spent_flakes_gives_workable_meal(solvent, moisture) -> None:
    """Within the published range of spent flakes the meal leaves at 10 to 25 % moisture."""
    total = flakes_mass(60.0, solvent, moisture) * solvent / 100.0 * 375.0 + 60.0 * 1.5 * 47.0
    assert 10.0 < leaving(solvent, moisture, 70.0, 0.25 * total) < 25.0


def test_drying_from_eighteen_to_twelve_and_a_half_per_cent() -> None:
    """1000 kg/h from 18 to 12.5 %: 937.1429 kg/h of product and 62.8571 of water (worked example).

    The moistures are common practice, no source: meal leaves the toaster with about 18 % and is
    dried to about 12.5 %.
    """
    assert mass_at(1000.0, 18.0, 12.5) == pytest.approx(937.1429, abs=1e-4)
    assert water_removed(1000.0, 18.0, 12.5) == pytest.approx(62.8571, abs=1e-4)


def test_hot_meal_brings_part_of_the_heat_for_drying() -> None:
    """Meal at 103 degC dried to 12.5 % at 65 degC needs less than the latent heat of its water."""
    heat = drying_heat(1000.0, 18.0, 12.5, meal_in_c=103.0, meal_out_c=65.0, exhaust_c=60.0)
    per_water = heat / water_removed(1000.0, 18.0, 12.5)
    assert 1000.0 < per_water < 2357.0


def test_full_miscella_boils_hardly_above_hexane() -> None:
    """At 25 % oil (common practice, no source) the boiling point rises by 1 to 2 K.

    One to one and a half kelvin is what Raoult's law says of 3.2 % of big molecules in moles.
    """
    rise = boiling_temperature(101.325, 0.25) - boiling_temperature(101.325)
    assert 0.8 < rise < 1.6


def test_evaporators_concentrate_as_plants_see_it() -> None:
    """53 degC at 40 kPa: about 72 %; 100 degC at 40 kPa: about 95.5 % (common practice, no source).

    Raoult's law is the upper bound, the correction for size by volumes the lower.
    """
    for t_c, seen in ((53.0, 0.72), (100.0, 0.955)):
        assert implied_oil(t_c, 40.0, size_exponent=1.0) < seen < implied_oil(t_c, 40.0)
        assert implied_oil(t_c, 40.0, size_exponent=0.75) == pytest.approx(seen, abs=0.04)
