"""Meal and hulls against published figures of quality.

Grade of dehulled meal: a public quality table (protein 47.5, moisture 12.0, fat 0.5, fibre 3.5 %).
Hulls: soymeal.org, "Composition" (crude protein 10-12 %, fibre 36-40 %, moisture 9-13 %).
"""

import pytest

from logbook.process.meal import DEHULLED, MealAnalysis, hulls_to_add
from logbook.process.quantity import Quantity


def test_the_grade_of_dehulled_meal():
    """The four figures as printed."""
    assert (
        DEHULLED.protein_least,
        DEHULLED.moisture_most,
        DEHULLED.oil_least,
        DEHULLED.fibre_most,
    ) == (47.5, 12.0, 0.5, 3.5)


@pytest.mark.parametrize(("protein", "fibre"), [(10.0, 36.0), (12.0, 40.0)])
def test_fibre_holds_back_the_hulls_of_published_composition(protein, fibre):
    """Meal of 49 % protein and 3.0 % fibre: fibre stops the add-back before protein does."""

    def figures(*values):
        return MealAnalysis(*(Quantity("content", one, "%", 0.0) for one in values))

    found = hulls_to_add(
        figures(49.0, 3.0, 12.0, 0.7),
        figures(protein, fibre, 11.0, 1.0),
        protein_target=DEHULLED.protein_least,
        fibre_most=DEHULLED.fibre_most,
    )
    assert found.limited_by == "fibre"
    assert found.blend.fibre.value == pytest.approx(3.5)
    assert found.blend.protein.value > 48.0
