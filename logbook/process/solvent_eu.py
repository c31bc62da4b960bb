"""Solvent emission limits of the European Union for oil mills, kg of solvent per tonne of seed.

Directive 2010/75/EU, Annex VII, part 2, row 19 (total emission limits of vegetable oil extraction,
solvent consumption above 10 t/year), and the yearly averages for hexane in the conclusions on
best available techniques for food, drink and milk, Implementing Decision (EU) 2019/2031. All
figures are from memory: check them against the texts, and the site's permit, before relying on them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from logbook.process.quantity import Quantity, derive

FROM_MEMORY = "limit from memory; check against the directive and the permit before relying on it"
CAUTION = "Supports and does not replace the site's compliance records and its licensed engineers."
DIRECTIVE = "Directive 2010/75/EU, Annex VII, part 2, row 19"
DECISION = "Implementing Decision (EU) 2019/2031, hexane losses of oilseed processing"

EU_LIMITS: Mapping[str, float] = MappingProxyType(
    {
        "soybean": 0.8,
        "soybean_white_flakes": 1.2,
        "rapeseed": 1.0,
        "sunflower": 1.0,
        "castor": 3.0,
        "animal_fat": 1.5,
        "other": 3.0,
    }
)
"""Total emission limit, kg/t, from memory."""

BAT_RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"soybean": (0.3, 0.55), "rapeseed": (0.2, 0.7), "sunflower": (0.2, 0.7)}
)
"""Yearly average of the hexane lost with best available techniques, kg/t; faint memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EuComparison:
    """A specific loss beside the European figures."""

    specific: Quantity
    """Solvent lost, kg/t."""
    limit: Quantity
    """Total emission limit, kg/t."""
    bat_range: tuple[float, float] | None
    """Yearly average with best available techniques, kg/t; None: none known for this seed."""
    within: bool | None
    """True: at most the limit; None: the loss is not known."""


def consumption_kg(start_kg: float, bought_kg: float, end_kg: float, reused_kg: float) -> float:
    """Return the solvent consumed, kg: input less what was recovered for reuse.

    Directive 2010/75/EU, Annex VII, part 7: C = I1 - O8, with I1 = opening stock + bought -
    closing stock (formula read in a national regulation after it; the closing stock from memory).

    >>> consumption_kg(50_000.0, 20_000.0, 45_000.0, 0.0)
    25000.0
    """
    return start_kg + bought_kg - end_kg - reused_kg


def compare(loss_t: Quantity, seed_t: Quantity, *, kind: str = "soybean") -> EuComparison:
    """Put a loss beside the European limit. `loss_t` and `seed_t` in t over the same time.

    ValueError names the kinds of seed known.

    >>> loss = Quantity("loss", 27.5, "t", 1.0)
    >>> told = compare(loss, Quantity("beans", 50_000.0, "t", 100.0))
    >>> told.specific.value, told.within
    (0.55, True)
    """
    if kind not in EU_LIMITS:
        raise ValueError(f"No European limit known for {kind!r}; known are {', '.join(EU_LIMITS)}.")
    specific = derive(
        "solvent loss",
        "kg/t",
        lambda loss, seed: 1000.0 * loss / seed,
        {"loss": loss_t, "seed": seed_t},
        note=CAUTION,
    )
    limit = EU_LIMITS[kind]
    return EuComparison(
        specific=specific,
        limit=Quantity("limit", limit, "kg/t", 0.0, source=DIRECTIVE, note=FROM_MEMORY),
        bat_range=BAT_RANGES.get(kind),
        within=None if specific.value is None else specific.value <= limit,
    )
