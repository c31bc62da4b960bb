"""Meal against its grade: protein, fibre, moisture and oil, and hulls to add back.

All contents are % of the meal as is unless a basis is named. Guarantees are what the contract in
force says; the two grades here are examples to start from. What is given away beyond them:
`meal_giveaway`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from logbook.process.quantity import Quantity, absent, derive

COVERAGE = 1.96
"""Standard uncertainties of a 95 % interval of normal errors."""
KG_PER_T = 1000.0


@dataclass(frozen=True, slots=True)
class MealGrade:
    """What a contract guarantees, % as is; None: nothing said."""

    name: str
    protein_least: float | None = None
    fibre_most: float | None = None
    moisture_most: float | None = None
    oil_least: float | None = None


DEHULLED = MealGrade("dehulled, 47.5 % protein", 47.5, 3.5, 12.0, 0.5)
"""As in a public quality table of dehulled meal."""
WITH_HULLS = MealGrade("44 % protein", 44.0, 7.0, 12.0, 0.5)
"""From memory; check the contract in force."""


@dataclass(frozen=True, slots=True)
class MealAnalysis:
    """Analysis of meal or of hulls, % as is."""

    protein: Quantity
    fibre: Quantity
    moisture: Quantity
    oil: Quantity


class Verdict(Enum):
    """Whether a guarantee is kept."""

    MET = "met"
    MISSED = "missed"
    TOO_CLOSE = "too close to tell"
    """Nearer to the limit than the 95 % interval of the analysis."""
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class GradeCheck:
    """One analysis against its guarantee."""

    what: str
    found: Quantity
    limit: float
    is_least: bool
    """True: the limit is the least, False: the most allowed."""
    margin: Quantity
    """Points within the limit; negative: beyond it."""
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class HullAddBack:
    """Hulls to grind into meal, and what the blend then is."""

    kg_per_t: Quantity
    """kg of hulls to a tonne of meal without them."""
    limited_by: str
    """What allows no more: "protein", "fibre", "hulls", "meal" (already at or below the target)."""
    by_protein_kg_per_t: Quantity
    """What the protein alone would allow."""
    blend: MealAnalysis
    """Analysis after adding exactly that much."""


def check_grade(analysis: MealAnalysis, grade: MealGrade) -> tuple[GradeCheck, ...]:
    """Return each guarantee of a grade with how far the analysis is within it.

    An analysis nearer to its limit than its own 95 % interval is too close to tell; one without
    an uncertainty is judged as it stands.
    """
    wanted = (
        ("protein", analysis.protein, grade.protein_least, True),
        ("fibre", analysis.fibre, grade.fibre_most, False),
        ("moisture", analysis.moisture, grade.moisture_most, False),
        ("oil", analysis.oil, grade.oil_least, True),
    )
    return tuple(
        _check(what, found, limit, is_least=is_least)
        for what, found, limit, is_least in wanted
        if limit is not None
    )


def blend_content(meal: float, hulls: float, kg_per_t: float) -> float:
    """Return the content of meal with `kg_per_t` kg of hulls added to a tonne, in their unit.

    >>> round(blend_content(49.0, 11.0, 41.0959), 3)
    47.5
    """
    return (meal * KG_PER_T + hulls * kg_per_t) / (KG_PER_T + kg_per_t)


def hulls_for(meal: float, hulls: float, target: float) -> float:
    """Return the kg of hulls to a tonne of meal that bring a content to a target.

    Negative where it lies beyond the meal's own. ValueError where no amount of hulls reaches it.

    >>> round(hulls_for(49.0, 11.0, 47.5), 4)
    41.0959
    """
    if (target - hulls) * (meal - hulls) <= 0.0:
        msg = f"hulls of {hulls:g} % do not bring meal of {meal:g} % to {target:g} %"
        raise ValueError(msg)
    return KG_PER_T * (meal - target) / (target - hulls)


def hulls_to_add(
    meal: MealAnalysis,
    hulls: MealAnalysis,
    *,
    protein_target: float,
    fibre_most: float | None = None,
    available_kg_per_t: float | None = None,
) -> HullAddBack:
    """Return the hulls to add back to reach a protein (%), as far as fibre and stock allow.

    `available_kg_per_t` is what there is of hulls for a tonne of meal. Which limit holds is
    judged by the values as they stand; the uncertainty is that of the limit that holds.
    """
    by_protein = _hulls_by("protein", meal.protein, hulls.protein, protein_target)
    options = [("protein", by_protein)]
    if fibre_most is not None:
        options.append(("fibre", _hulls_by("fibre", meal.fibre, hulls.fibre, fibre_most)))
    if available_kg_per_t is not None:
        have = Quantity("hulls available", available_kg_per_t, "kg/t", 0.0)
        options.append(("hulls", have))
    limited_by, amount = _least(options)
    return HullAddBack(
        kg_per_t=amount.named("hulls to add"),
        limited_by=limited_by,
        by_protein_kg_per_t=by_protein,
        blend=MealAnalysis(
            protein=_blend("protein", meal.protein, hulls.protein, amount),
            fibre=_blend("fibre", meal.fibre, hulls.fibre, amount),
            moisture=_blend("moisture", meal.moisture, hulls.moisture, amount),
            oil=_blend("oil", meal.oil, hulls.oil, amount),
        ),
    )


def _check(what: str, found: Quantity, limit: float, *, is_least: bool) -> GradeCheck:
    sign = 1.0 if is_least else -1.0

    def within(value: float) -> float:
        return sign * (value - limit)

    margin = derive(f"{what} within its limit", found.unit, within, {"value": found})
    return GradeCheck(what, found, limit, is_least, margin, _verdict(margin))


def _verdict(margin: Quantity) -> Verdict:
    if margin.value is None:
        return Verdict.UNKNOWN
    if margin.sigma is not None and abs(margin.value) < COVERAGE * margin.sigma:
        return Verdict.TOO_CLOSE
    return Verdict.MET if margin.value >= 0.0 else Verdict.MISSED


def _hulls_by(what: str, meal: Quantity, hulls: Quantity, target: float) -> Quantity:
    def amount(meal: float, hulls: float) -> float:
        return hulls_for(meal, hulls, target)

    inputs = {"meal": meal, "hulls": hulls}
    return derive(f"hulls by {what}", "kg/t", amount, inputs, source="blend of two contents")


def _least(options: list[tuple[str, Quantity]]) -> tuple[str, Quantity]:
    """What allows the least; nothing where one is not known, and 0 where one is below it."""
    for what, amount in options:
        if amount.value is None:
            return what, amount
    what, amount = min(options, key=_amount)
    if amount.value is not None and amount.value <= 0.0:
        return ("hulls" if what == "hulls" else "meal"), Quantity("none", 0.0, "kg/t", 0.0)
    return what, amount


def _amount(option: tuple[str, Quantity]) -> float:
    return option[1].value or 0.0


def _blend(what: str, meal: Quantity, hulls: Quantity, amount: Quantity) -> Quantity:
    added = absent("hulls to add", "kg/t", *amount.missing)
    if amount.value is not None:
        added = Quantity("hulls to add", amount.value, "kg/t", 0.0)
    inputs = {"meal": meal, "hulls": hulls, "kg_per_t": added}
    if amount.value == 0.0:
        return meal.named(f"{what} of the blend")
    return derive(f"{what} of the blend", "%", blend_content, inputs)
