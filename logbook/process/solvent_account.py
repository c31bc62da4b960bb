"""The solvent account of a period: what was lost, and where, as far as it was measured.

Loss = stock at the begin - stock at the end + deliveries, in tonnes. What left with meal, oil, vent gas
and waste water is worked out from what was measured there; the rest is unaccounted. Loss and
unaccounted carry the uncertainty of the stocks: over a shift or a day that is often all of it, which the
account then says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from logbook.process.quantity import Quantity, absent, derive
from logbook.process.solvent_units import GALLON_L, SHORT_TON_T

BALANCE = "stock at the begin - stock at the end + deliveries"
DOMINATED_SHARE = 0.25
"""From this share of the loss on, its standard uncertainty is said to dominate the figure."""

NO_LOSS = 1e-3
"""Share of its own uncertainty below which a loss is none: no number of days would tell it."""


def unmeasured(name: str, unit: str = "t") -> Quantity:
    """Return a figure that nobody measured, under the name that reports then show."""
    return absent(name, unit, name)


@dataclass(frozen=True, slots=True, kw_only=True)
class SolventInputs:
    """What the account is made of, each with unit and standard uncertainty.

    Stocks: one figure for each tank, and for what the process holds, in t; the same names at begin
    and end. A figure that is absent stays absent in what follows from it, and is named there.
    """

    stock_start: Sequence[Quantity]
    stock_end: Sequence[Quantity]
    received: Quantity
    """All deliveries, t."""
    seed: Quantity
    """Seed processed, t."""
    density: Quantity
    """Density of the solvent, kg/L."""
    days: float
    """Length of the period, days."""
    meal: Quantity = field(default_factory=lambda: unmeasured("meal"))
    """Meal made, t."""
    meal_ppm: Quantity = field(default_factory=lambda: unmeasured("solvent in meal", "ppm"))
    """Residual solvent, mg/kg of meal."""
    oil: Quantity = field(default_factory=lambda: unmeasured("oil"))
    """Oil made, t."""
    oil_ppm: Quantity = field(default_factory=lambda: unmeasured("solvent in oil", "ppm"))
    """Residual solvent, mg/kg of oil."""
    vent_gas: Quantity = field(default_factory=lambda: unmeasured("vent gas", "m³"))
    """Vent gas, m3 at the conditions of its concentration."""
    vent_g_m3: Quantity = field(default_factory=lambda: unmeasured("solvent in vent gas", "g/m³"))
    waste_water: Quantity = field(default_factory=lambda: unmeasured("waste water", "m³"))
    waste_mg_l: Quantity = field(
        default_factory=lambda: unmeasured("solvent in waste water", "mg/L")
    )

    def __post_init__(self) -> None:
        """Refuse stocks that do not pair, and a period without length."""
        names = [[one.name for one in stocks] for stocks in (self.stock_start, self.stock_end)]
        if names[0] != names[1]:
            raise ValueError(
                f"The stocks at the begin ({', '.join(names[0])}) and at the end "
                f"({', '.join(names[1])}) are not those of the same tanks."
            )
        if not self.days > 0.0:
            raise ValueError(f"The period is {self.days:g} days long.")


@dataclass(frozen=True, slots=True, kw_only=True)
class SolventAccount:
    """The account: amounts in t, and the loss per seed in the units of the trade."""

    loss: Quantity
    kg_t: Quantity
    l_t: Quantity
    gal_ton: Quantity
    """US gallons per short ton."""
    meal: Quantity
    oil: Quantity
    vent: Quantity
    waste: Quantity
    accounted: Quantity
    """Sum of the ways out that were measured."""
    unaccounted: Quantity
    """Loss less accounted; its note names the ways out that nobody measured."""
    unmeasured: tuple[str, ...]
    """Ways out without a figure."""
    dominated: bool | None
    """True: the uncertainty of the loss exceeds the stated share of it. None: not known."""
    clear_days: float | None
    """Days at the same loss after which it would not; None: not known, or no loss."""


def residual_t(name: str, carrier: Quantity, ppm: Quantity) -> Quantity:
    """Return the solvent carried by so many t with so many mg/kg of it (or m3 with mg/L), in t."""
    return derive(
        name, "t", lambda mass, share: mass * share / 1e6, {"mass": carrier, "share": ppm}
    )


def ways_out(inputs: SolventInputs) -> tuple[Quantity, Quantity, Quantity, Quantity]:
    """Return the solvent in meal, oil, vent gas and waste water, t each."""
    return (
        residual_t("in meal", inputs.meal, inputs.meal_ppm),
        residual_t("in oil", inputs.oil, inputs.oil_ppm),
        residual_t("in vent gas", inputs.vent_gas, inputs.vent_g_m3),
        residual_t("in waste water", inputs.waste_water, inputs.waste_mg_l),
    )


def loss_of(inputs: SolventInputs) -> Quantity:
    """Return the solvent lost, t: stocks and deliveries, taken as erring independently.

    >>> stock = Quantity("tank 1", 40.0, "t", 0.3)
    >>> inputs = SolventInputs(
    ...     stock_start=[stock],
    ...     stock_end=[Quantity("tank 1", 36.0, "t", 0.4)],
    ...     received=Quantity("received", 20.0, "t", 0.0),
    ...     seed=Quantity("beans", 45_000.0, "t", 90.0),
    ...     density=Quantity("density", 0.66, "kg/L", 0.0),
    ...     days=30.0,
    ... )
    >>> loss_of(inputs).value, loss_of(inputs).sigma
    (24.0, 0.5)
    """
    parts = {f"start{n}": one for n, one in enumerate(inputs.stock_start)}
    parts |= {f"end{n}": one for n, one in enumerate(inputs.stock_end)}
    parts["received"] = inputs.received

    def balance(**masses: float) -> float:
        return math.fsum(-m if name.startswith("end") else m for name, m in masses.items())

    return derive("solvent loss", "t", balance, parts, source=BALANCE)


def account(inputs: SolventInputs, *, dominated_share: float = DOMINATED_SHARE) -> SolventAccount:
    """Return the solvent account of a period.

    `dominated_share`: share of the loss above which its standard uncertainty makes the figure say
    that it is dominated by the stock readings. The ways out without a figure are left in the
    unaccounted part, and named in its note.
    """
    loss = loss_of(inputs)
    meal, oil, vent, waste = parts = ways_out(inputs)
    known = [part for part in parts if part.is_known]
    accounted = _sum_of(known)
    dominated, clear = _judged(loss, inputs.days, dominated_share)
    if dominated:
        loss = replace(loss, note=_dominated_note(loss, clear))
    return SolventAccount(
        loss=loss,
        **_specific(loss, inputs),
        meal=meal,
        oil=oil,
        vent=vent,
        waste=waste,
        accounted=accounted,
        unaccounted=_unaccounted(loss, known, [p.name for p in parts if not p.is_known]),
        unmeasured=tuple(part.name for part in parts if not part.is_known),
        dominated=dominated,
        clear_days=clear,
    )


def _specific(loss: Quantity, inputs: SolventInputs) -> dict[str, Quantity]:
    """Return the loss per seed: kg/t, L/t and US gallons per short ton."""
    mass = {"loss": loss, "seed": inputs.seed}
    volume = mass | {"density": inputs.density}
    note = loss.note
    return {
        "kg_t": derive(
            "solvent loss", "kg/t", lambda loss, seed: 1000.0 * loss / seed, mass, note=note
        ),
        "l_t": derive("solvent loss", "L/t", _l_t, volume, note=note),
        "gal_ton": derive(
            "solvent loss",
            "US gal/short ton",
            lambda loss, seed, density: _l_t(loss, seed, density) * SHORT_TON_T / GALLON_L,
            volume,
            note=note,
        ),
    }


def _l_t(loss: float, seed: float, density: float) -> float:
    """Return litres per tonne from t lost, t of seed and kg/L."""
    return 1000.0 * loss / seed / density


def _sum_of(parts: Sequence[Quantity]) -> Quantity:
    """Return the sum of the ways out that were measured; without a value where none was."""
    if not parts:
        return absent("accounted", "t", "solvent in meal, oil, vent gas and waste water")
    named = {f"part{n}": part for n, part in enumerate(parts)}
    return derive("accounted", "t", lambda **masses: math.fsum(masses.values()), named)


def _unaccounted(loss: Quantity, known: Sequence[Quantity], unknown: Sequence[str]) -> Quantity:
    """Return the loss less what was accounted for, with what it still holds in its note."""
    note = f"holds what was not measured: {', '.join(unknown)}" if unknown else ""
    if loss.note:
        note = f"{note}; {loss.note}" if note else loss.note
    parts = {"loss": loss} | {f"part{n}": part for n, part in enumerate(known)}
    return derive(
        "unaccounted",
        "t",
        lambda loss, **masses: loss - math.fsum(masses.values()),
        parts,
        source="loss - what was measured of the ways out",
        note=note,
    )


def _judged(loss: Quantity, days: float, share: float) -> tuple[bool | None, float | None]:
    """Tell whether the uncertainty dominates the loss, and the days after which it would not.

    The stocks err as much over a long period as over a short one while the loss grows with time, so
    the share falls as one over the days.
    """
    if loss.value is None or loss.sigma is None:
        return None, None
    if loss.value <= NO_LOSS * loss.sigma:
        return loss.sigma > 0.0, None
    of_loss = loss.sigma / loss.value
    return of_loss > share, days / share * of_loss


def _dominated_note(loss: Quantity, clear_days: float | None) -> str:
    """Say that the figure is mostly the error of the stock readings."""
    note = f"dominated by the stock readings: standard uncertainty {loss.sigma:.2g} t"
    if loss.value is not None:
        note += f" of a loss of {loss.value:.2g} t"
    if clear_days is not None:
        note += f"; about {math.ceil(clear_days)} days of such loss are needed to tell it"
    return note
