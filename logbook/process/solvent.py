"""The compliance ratio of 40 CFR part 63 subpart GGGG, solvent extraction for vegetable oil.

63.2840(a): compliance ratio = actual HAP loss / allowable HAP loss (equation 1), worked out as
f x loss / (0.64 x sum of oilseed x solvent loss factor) (equation 2) over the previous 12 operating
months, with the loss of 63.2853 in US gallons, the HAP volume fraction f of 63.2854 and the
oilseed of 63.2855 in US short tons as received. At most 1.00 is in compliance: 63.2872.

The factors of table 1 stand here from memory. What this module gives supports the site's own
compliance records and its licensed engineers; it does not replace them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise
from types import MappingProxyType

from logbook.process.quantity import Quantity, absent, derive
from logbook.process.solvent_months import (
    Delivery,
    SolventMonth,
    SolventPeriod,
    Status,
    plain_month,
)

__all__ = [
    "BASELINE_HAP",
    "CAUTION",
    "FROM_MEMORY",
    "LIMIT",
    "OILSEEDS",
    "Compliance",
    "Delivery",
    "Oilseed",
    "SolventMonth",
    "SolventPeriod",
    "Source",
    "Status",
    "Uncertainty",
    "allowed_loss",
    "baseline_loss",
    "compliance",
    "compliance_ratio",
    "compliance_trend",
    "is_within",
    "plain_month",
    "weighted_hap",
]

BASELINE_HAP = 0.64
"""Average volume fraction of HAP in the solvent of the baseline data: 63.2840(a)(2)."""
LIMIT = 1.00
"""Compliance ratio up to which a source is in compliance: 63.2872."""
WINDOW = 12
"""Operating months that the ratio looks back on."""
CAUTION = "Supports and does not replace the site's compliance records and its licensed engineers."
FROM_MEMORY = "solvent loss factors from memory; check against the rule before relying on it"
RULE = "40 CFR 63.2840(a)(2), equation 2"
FLOAT_NOISE = 1e-12
"""Relative slack of the comparison with the limit, for the rounding of sums of floats only."""


class Source(StrEnum):
    """Whether the source is an existing one or a new one in the rule's sense."""

    EXISTING = "existing"
    NEW = "new"


@dataclass(frozen=True, slots=True)
class Oilseed:
    """A row of table 1 of 63.2840: solvent loss factors, US gallons per short ton."""

    name: str
    existing: float
    new: float
    when: str = ""
    """Condition under which this row is the right one."""

    def factor(self, source: Source) -> float:
        """Return the factor for the kind of source, gal/ton."""
        return self.new if source is Source.NEW else self.existing


_LARGE = "120,000 tons or more of cottonseed and other listed oilseed in 12 operating months"
_SMALL = "less than 120,000 tons of cottonseed and other listed oilseed in 12 operating months"
_LOW = "specialty less than 3.3 % of all soybeans; the factor holds for all soybeans"

OILSEEDS: Mapping[str, Oilseed] = MappingProxyType(
    {
        "corn_germ_wet": Oilseed("Corn germ, wet milling", 0.4, 0.3),
        "corn_germ_dry": Oilseed("Corn germ, dry milling", 0.7, 0.7),
        "cottonseed_large": Oilseed("Cottonseed, large", 0.5, 0.4, _LARGE),
        "cottonseed_small": Oilseed("Cottonseed, small", 0.7, 0.4, _SMALL),
        "flax": Oilseed("Flax", 0.6, 0.6),
        "peanut": Oilseed("Peanuts", 1.2, 0.7),
        "rapeseed": Oilseed("Rapeseed, such as canola", 0.7, 0.3),
        "safflower": Oilseed("Safflower", 0.7, 0.7),
        "soybean": Oilseed("Soybean, conventional", 0.2, 0.2),
        "soybean_specialty": Oilseed("Soybean, specialty", 1.7, 1.5),
        "soybean_combination": Oilseed("Soybean, combination plant", 0.25, 0.25, _LOW),
        "sunflower": Oilseed("Sunflower", 0.4, 0.3),
    }
)
"""Table 1 of 63.2840, from memory; check against the rule before relying on it.

The rows for existing flax (0.6) and small cottonseed (0.7) agree with the worked example of the
Environmental Protection Agency, EPA-453/B-04-001.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Standard uncertainties of what the ratio is made of; None: not known."""

    inventory_gal: float | None = None
    """Of one solvent inventory, US gallons. One inventory shared by two periods cancels."""
    delivery_share: float | None = None
    """Of one delivery, relative; deliveries err independently."""
    seed_share: float | None = None
    """Of all oilseed together, relative: one scale errs alike all year."""
    hap: float | None = None
    """Of the weighted HAP volume fraction, absolute."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compliance:
    """The ratio over the previous 12 operating months, and what it was made of."""

    ratio: Quantity
    so_far: Quantity
    """Over the operating months there are, when there are fewer than 12: not the rule's ratio."""
    loss: Quantity
    """Actual solvent loss of the months used, US gallons."""
    allowed: Quantity
    """Solvent loss at which the ratio would be 1.00, US gallons."""
    hap_fraction: Quantity
    seed: Quantity
    """All listed oilseed of the months used, short tons."""
    seed_tons: Mapping[str, float]
    """The same by type."""
    months: tuple[date, ...]
    """Operating months used, oldest first."""
    months_wanting: int
    """Operating months that are still missing to 12."""
    left_out: tuple[tuple[date, str], ...]
    """Months that are no operating months, each with the reason."""
    within: bool | None
    """True: at most 1.00, judged unrounded; None: no ratio."""


def baseline_loss(
    seed_tons: Mapping[str, float],
    *,
    source: Source = Source.EXISTING,
    factors: Mapping[str, float] | None = None,
) -> float:
    """Return the sum of oilseed x solvent loss factor, US gallons: 63.2840(a)(2), equation 2.

    `seed_tons`: short tons as received by type. `factors`, gal per short ton by type, takes the
    place of the table, which is from memory. ValueError names a type without factor or an amount
    below zero.

    >>> baseline_loss({"flax": 26_500, "cottonseed_small": 24_000})
    32700.0
    """
    total = []
    for kind, tons in seed_tons.items():
        if not (math.isfinite(tons) and tons >= 0.0):
            raise ValueError(f"The oilseed {kind!r} is given as {tons:g} tons.")
        total.append(tons * _factor(kind, source, factors))
    return math.fsum(total)


def _factor(kind: str, source: Source, factors: Mapping[str, float] | None) -> float:
    """Return the factor of a type, from the caller's table or from ours, gal/ton."""
    known: Iterable[str] = OILSEEDS if factors is None else factors
    if kind not in known:
        raise ValueError(f"No solvent loss factor for {kind!r}; known are {', '.join(known)}.")
    factor = OILSEEDS[kind].factor(source) if factors is None else factors[kind]
    if not (math.isfinite(factor) and factor > 0.0):
        raise ValueError(f"The solvent loss factor of {kind!r} is {factor:g}; it must be above 0.")
    return factor


def compliance_ratio(
    loss_gal: float,
    seed_tons: Mapping[str, float],
    hap_fraction: float,
    *,
    source: Source = Source.EXISTING,
    factors: Mapping[str, float] | None = None,
) -> float:
    """Return the compliance ratio, unrounded: 40 CFR 63.2840(a)(2), equation 2.

    `loss_gal`: actual solvent loss, US gallons; `seed_tons`: short tons as received by type;
    `hap_fraction`: weighted volume fraction of HAP in the solvent received, 0 to 1; all over the
    previous 12 operating months. ValueError where one cannot be, or no seed was processed. Table 1
    stands here from memory: check it, or give `factors`. The figure supports and does not
    replace the site's compliance records.

    >>> compliance_ratio(200_000, {"soybean": 1_000_000}, 0.64)
    1.0
    """
    base = baseline_loss(seed_tons, source=source, factors=factors)
    if base <= 0.0:
        raise ValueError("No oilseed was processed: there is no allowable loss to compare with.")
    if not math.isfinite(loss_gal):
        raise ValueError("The solvent loss is not a number.")
    _check_fraction(hap_fraction)
    return hap_fraction * loss_gal / (BASELINE_HAP * base)


def allowed_loss(
    seed_tons: Mapping[str, float],
    hap_fraction: float = BASELINE_HAP,
    *,
    source: Source = Source.EXISTING,
    factors: Mapping[str, float] | None = None,
) -> float:
    """Return the solvent loss at which the compliance ratio is 1.00, US gallons.

    Equation 2 of 63.2840(a)(2) solved for the loss; arguments as in `compliance_ratio`. Infinite
    for a solvent without HAP.

    >>> round(allowed_loss({"soybean": 1_000_000}, 0.60), 1)
    213333.3
    """
    base = baseline_loss(seed_tons, source=source, factors=factors)
    _check_fraction(hap_fraction)
    return BASELINE_HAP * base / hap_fraction if hap_fraction else math.inf


def _check_fraction(hap_fraction: float) -> None:
    """Raise ValueError for a HAP volume fraction that cannot be."""
    if not 0.0 <= hap_fraction <= 1.0:
        raise ValueError(
            f"The HAP volume fraction is {hap_fraction:g}; give one between 0 and 1, not per cent."
        )


def is_within(ratio: float) -> bool:
    """True at a ratio of at most 1.00, judged unrounded (no rounding rule was found).

    >>> is_within(1.0), is_within(1.001)
    (True, False)
    """
    return ratio <= LIMIT * (1.0 + FLOAT_NOISE)


def weighted_hap(deliveries: Sequence[Delivery]) -> Quantity:
    """Return the HAP volume fraction weighted by the volumes received: 63.2854.

    The sum of volume x fraction over the sum of volumes (equation from memory), never a mean of
    monthly means. Without a value where nothing was received or a fraction is not told.
    """
    gone = [f"HAP content of the delivery of {d.on}" for d in deliveries if d.hap_fraction is None]
    total = math.fsum(one.gal for one in deliveries)
    if gone:
        return absent("HAP fraction", "", *gone)
    if total <= 0.0:
        return absent("HAP fraction", "", note="no solvent received in these months")
    weighted = math.fsum(one.gal * (one.hap_fraction or 0.0) for one in deliveries)
    names = tuple(f"delivery of {one.on}" for one in deliveries)
    return Quantity("HAP fraction", weighted / total, "", inputs=names, source="40 CFR 63.2854")


def compliance(
    months: Sequence[SolventMonth],
    *,
    source: Source = Source.EXISTING,
    factors: Mapping[str, float] | None = None,
    uncertainty: Uncertainty | None = None,
) -> Compliance:
    """Return the compliance ratio at the end of the last month given, with all it was made of.

    `months` in order, without a gap (a month without operation has its record too); those older
    than the window may be there. With fewer than 12 operating months there is no ratio, and the
    result says how many are missing. Deliveries of months left out count in the HAP fraction of
    the operating month that follows: 63.2854(a).
    """
    _check_order(months)
    reasons = [month.left_out_because() for month in months]
    running = [index for index, reason in enumerate(reasons) if not reason]
    used = running[-WINDOW:]
    before = running[-WINDOW - 1] + 1 if len(running) > WINDOW else 0
    chosen = [months[index] for index in used]
    spread = uncertainty or Uncertainty()
    seed = _summed(chosen)
    loss = _loss(chosen, spread)
    hap = _hap(months[before : used[-1] + 1] if used else (), spread)
    note = CAUTION if factors is not None else f"{CAUTION} {FROM_MEMORY.capitalize()}."
    ratio, allowed = _ratios(loss, hap, _base(seed, spread, source, factors), note)
    wanting = WINDOW - len(used)
    return Compliance(
        ratio=_too_few(ratio, wanting) if wanting else ratio,
        so_far=ratio.named("ratio so far") if wanting else ratio,
        loss=loss,
        allowed=allowed,
        hap_fraction=hap,
        seed=_tons(seed, spread),
        seed_tons=MappingProxyType(seed),
        months=tuple(month.month for month in chosen),
        months_wanting=wanting,
        left_out=tuple(
            (month.month, why) for month, why in zip(months, reasons, strict=True) if why
        ),
        within=None if wanting or ratio.value is None else is_within(ratio.value),
    )


def compliance_trend(
    months: Sequence[SolventMonth],
    *,
    source: Source = Source.EXISTING,
    factors: Mapping[str, float] | None = None,
    uncertainty: Uncertainty | None = None,
) -> tuple[tuple[date, Compliance], ...]:
    """Return the compliance at the end of each operating month, oldest first.

    The ratio is worked out for every operating month over the 12 that it ends: 63.2840(a). Months
    before the twelfth are there without a ratio, as in `compliance`.
    """
    return tuple(
        (
            month.month,
            compliance(months[: at + 1], source=source, factors=factors, uncertainty=uncertainty),
        )
        for at, month in enumerate(months)
        if not month.left_out_because()
    )


def _ratios(loss: Quantity, hap: Quantity, base: Quantity, note: str) -> tuple[Quantity, Quantity]:
    """Return the ratio and the loss at which it would be 1.00."""
    ratio = derive(
        "compliance ratio",
        "",
        lambda f, lost, b: f * lost / (BASELINE_HAP * b),
        {"f": hap, "lost": loss, "b": base},
        source=RULE,
        note=note,
    )
    allowed = derive(
        "allowed solvent loss",
        "US gal",
        lambda f, b: BASELINE_HAP * b / f,
        {"f": hap, "b": base},
        source=RULE,
        note=note,
    )
    return ratio, allowed


def _tons(seed: Mapping[str, float], spread: Uncertainty) -> Quantity:
    """Return all oilseed together, short tons."""
    total = math.fsum(seed.values())
    sigma = None if spread.seed_share is None else spread.seed_share * total
    return Quantity("oilseed", total, "short ton", sigma, source="40 CFR 63.2855")


def _check_order(months: Sequence[SolventMonth]) -> None:
    """Raise ValueError where a month is missing, doubled or out of order."""
    for before, after in pairwise(months):
        step = 12 * (after.month.year - before.month.year) + after.month.month - before.month.month
        if step != 1:
            raise ValueError(
                f"{after} follows on {before}: give every month once, in order, also one "
                "without operation."
            )


def _too_few(ratio: Quantity, wanting: int) -> Quantity:
    """Return the figure that says how many operating months are missing."""
    months = "1 operating month is" if wanting == 1 else f"{wanting} operating months are"
    return absent(
        ratio.name,
        "",
        f"{wanting} of {WINDOW} operating months",
        *ratio.missing,
        note=f"{months} missing to {WINDOW}. {CAUTION}",
    )


def _summed(months: Sequence[SolventMonth]) -> dict[str, float]:
    """Return the oilseed of the months by type, short tons."""
    total: dict[str, list[float]] = {}
    for month in months:
        for kind, tons in month.seed_tons().items():
            total.setdefault(kind, []).append(tons)
    return {kind: math.fsum(tons) for kind, tons in total.items()}


def _base(
    seed: Mapping[str, float],
    spread: Uncertainty,
    source: Source,
    factors: Mapping[str, float] | None,
) -> Quantity:
    """Return the sum of oilseed x factor with its uncertainty, US gallons."""
    if not seed:
        return absent("oilseed", "US gal", "an operating month")
    gallons = baseline_loss(seed, source=source, factors=factors)
    sigma = None if spread.seed_share is None else spread.seed_share * gallons
    return Quantity("oilseed x loss factor", gallons, "US gal", sigma, source="40 CFR 63.2855")


def _hap(span: Sequence[SolventMonth], spread: Uncertainty) -> Quantity:
    """Return the weighted HAP fraction of all deliveries since the month before the window."""
    found = weighted_hap([one for month in span for one in month.deliveries])
    if found.value is None:
        return found
    return Quantity(
        found.name, found.value, "", spread.hap, inputs=found.inputs, source=found.source
    )


def _loss(months: Sequence[SolventMonth], spread: Uncertainty) -> Quantity:
    """Return the rolling sum of the solvent lost, US gallons: 63.2853."""
    gone = tuple(name for month in months for name in month.missing())
    if gone or not months:
        return absent("actual solvent loss", "US gal", *(gone or ("an operating month",)))
    total = math.fsum(month.loss_gal() or 0.0 for month in months)
    names = tuple(str(month) for month in months)
    return Quantity(
        "actual solvent loss",
        total,
        "US gal",
        _loss_sigma(months, spread),
        inputs=names,
        source="40 CFR 63.2853",
    )


def _loss_sigma(months: Sequence[SolventMonth], spread: Uncertainty) -> float | None:
    """Return the standard uncertainty of the loss: inventories and deliveries, US gallons.

    The inventory that ends one period and begins the next is one measurement with both signs, so
    it drops out; only where the stock is broken off do its ends remain.
    """
    if spread.inventory_gal is None or spread.delivery_share is None:
        return None
    signs: dict[tuple[int, float], int] = {}
    received: list[float] = []
    for month in months:
        for period in month.counted:
            ends = (
                (period.first.toordinal(), period.start_gal, 1),
                (period.last.toordinal() + 1, period.end_gal, -1),
            )
            for day, gal, sign in ends:
                key = (day, gal or 0.0)
                signs[key] = signs.get(key, 0) + sign
            received += [d.gal for d in month.deliveries if period.first <= d.on <= period.last]
    dips = sum(sign * sign for sign in signs.values())
    trucks = math.fsum((spread.delivery_share * gal) ** 2 for gal in received)
    return math.sqrt(dips * spread.inventory_gal**2 + trucks)
