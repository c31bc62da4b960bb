"""Meters accused again and again over many periods: the one that stands wrong, not chance.

One accusation in a month of days is what the stated rate allows; nine of thirty are not.

>>> round(chance_of(9, 30, 0.05), 6)
1.1e-05
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from logbook.process.reconcile_plant import Accusation, PlantReconciliation
from logbook.process.roles import ROLES


@dataclass(frozen=True, slots=True)
class StandingAccusation:
    """A role accused in more of the periods than chance allows."""

    role: str
    count: int
    """Periods in which it was accused."""
    periods: int
    """Periods that could be reconciled and checked."""
    first: int
    """Place of the first period in which it was."""
    last: int
    relative: float | None
    """Mean error over truth, weighted by certainty: -0.015 reads 1.5 % low."""
    relative_sigma: float | None
    """Its uncertainty if the errors of the periods were independent, which calibration is not."""
    chance: float
    """Probability of so many accusations, at most, if nothing is wrong."""
    text: str


def chance_of(count: int, periods: int, level: float) -> float:
    """Probability of `count` or more of `periods` events that each come at `level`."""
    return sum(
        math.comb(periods, k) * level**k * (1.0 - level) ** (periods - k)
        for k in range(count, periods + 1)
    )


def standing_accusations(
    found: Sequence[PlantReconciliation], *, level: float = 0.01
) -> tuple[StandingAccusation, ...]:
    """Roles accused in more of these periods than comes about by chance at `level`, worst first.

    Each reconciliation accuses good readings at most at its own `level`; taken as the chance of
    this one role, that is on the safe side. Sets that look the same count for each of them.
    """
    checked = [one for one in found if one.detail is not None and one.dof]
    accused: dict[str, list[tuple[int, Accusation]]] = {}
    for place, one in enumerate(found):
        for step in one.accusations:
            for role in step.roles:
                accused.setdefault(role, []).append((place, step))
    rate = max((one.level for one in checked), default=level)
    told = [_standing(role, steps, len(checked), rate) for role, steps in accused.items()]
    return tuple(sorted((one for one in told if one.chance < level), key=_by_chance))


def _by_chance(one: StandingAccusation) -> tuple[float, int]:
    return one.chance, -one.count


def _standing(
    role: str, steps: list[tuple[int, Accusation]], periods: int, rate: float
) -> StandingAccusation:
    places = [place for place, _step in steps]
    chance = chance_of(len(steps), periods, rate)
    relative, sigma = _mean_error(role, [step for _place, step in steps])
    size = "" if relative is None else f", on average {100.0 * relative:+.1f} %"
    text = f"{ROLES[role].meaning}: contradicted in {len(steps)} of {periods} periods{size}"
    return StandingAccusation(
        role, len(steps), periods, min(places), max(places), relative, sigma, chance, text
    )


def _mean_error(role: str, steps: list[Accusation]) -> tuple[float | None, float | None]:
    """Weighted mean of the relative errors of the accusations that name this role first."""
    weight = total = 0.0
    for step in steps:
        error, sigma = step.error.value, step.error.sigma
        if step.roles[0] != role or not step.relative or not error or not sigma:
            continue
        spread = abs(step.relative * sigma / error)
        weight += 1.0 / spread**2
        total += step.relative / spread**2
    return (total / weight, math.sqrt(1.0 / weight)) if weight else (None, None)
