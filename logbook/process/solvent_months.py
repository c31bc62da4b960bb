"""Months of the solvent account as 40 CFR part 63 subpart GGGG keeps them.

A month is made of periods of one operating status each. Solvent loss (63.2853) and oilseed
(63.2855) count in normal operating periods only; an operating month (63.2872) is one that
processes listed oilseed and has at least one such period. The subpart's sections were read in part
only; what stands here from memory is marked so. Check it against the rule before relying on it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise
from types import MappingProxyType

MALFUNCTION_COUNTS_FROM = date(2020, 9, 15)
"""From this day on a malfunction period is no longer left out: 63.2872 as amended, 85 FR 15608."""
NO_SEED: Mapping[str, float] = MappingProxyType({})


class Status(StrEnum):
    """Operating status of the source: the list of 63.2862(c)(1)(ii)."""

    NORMAL = "normal"
    NONOPERATING = "nonoperating"
    INITIAL_STARTUP = "initial startup"
    MALFUNCTION = "malfunction"
    EXEMPT = "exempt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """Solvent received, or recovered from oil of another site: 63.2854(b)(1)."""

    on: date
    gal: float
    """US gallons."""
    hap_fraction: float | None = None
    """Volume fraction of all hazardous air pollutants above 1 % by volume, 0 to 1; None: not told."""

    def __post_init__(self) -> None:
        """Refuse what cannot be a delivery."""
        _check_amount(self.gal, f"The delivery of {self.on}")
        if self.hap_fraction is not None and not 0.0 <= self.hap_fraction <= 1.0:
            raise ValueError(
                f"The delivery of {self.on} has a HAP volume fraction of {self.hap_fraction:g}; "
                "give a fraction between 0 and 1, not per cent."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SolventPeriod:
    """Days of one status, with the solvent in stock at both ends and the seed processed."""

    status: Status
    first: date
    last: date
    """Last day, included."""
    start_gal: float | None = None
    """Solvent inventory at the beginning of the first day, US gallons; None: not taken."""
    end_gal: float | None = None
    """The same at the end of the last day."""
    adjustment_gal: float = 0.0
    """Added to the loss with its sign: below zero for solvent that was destroyed or sent off."""
    adjustment_reason: str = ""
    seed_tons: Mapping[str, float] = field(default_factory=lambda: NO_SEED)
    """Listed oilseed processed, US short tons as received, by type of the table of factors."""

    def __post_init__(self) -> None:
        """Refuse days in the wrong order, amounts below zero, an adjustment without reason."""
        if self.last < self.first:
            raise ValueError(f"The period from {self.first} ends before it begins ({self.last}).")
        for amount in (self.start_gal, self.end_gal, *self.seed_tons.values()):
            if amount is not None:
                _check_amount(amount, f"The period from {self.first}")
        if not math.isfinite(self.adjustment_gal):
            raise ValueError(f"The adjustment in the period from {self.first} is not a number.")
        if self.adjustment_gal and not self.adjustment_reason.strip():
            raise ValueError(
                f"The adjustment in the period from {self.first} needs its reason: "
                "63.2862(c)(1)(v) wants it documented."
            )
        object.__setattr__(self, "seed_tons", MappingProxyType(dict(self.seed_tons)))

    @property
    def counts(self) -> bool:
        """True where its loss and seed enter the account.

        Normal operation does. So does a malfunction from 15 September 2020 on, as the exemption
        ended then (that it counts like normal operation is how this program reads it). ValueError
        for a malfunction that lies on both sides of that day: it is to be given as two.
        """
        if self.status is not Status.MALFUNCTION:
            return self.status is Status.NORMAL
        if self.first < MALFUNCTION_COUNTS_FROM <= self.last:
            raise ValueError(
                f"The malfunction from {self.first} to {self.last} lies on both sides of "
                f"{MALFUNCTION_COUNTS_FROM}, when the exemption ended: split it at that day."
            )
        return self.first >= MALFUNCTION_COUNTS_FROM

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of the inventories that were not taken."""
        after = self.last + timedelta(days=1)
        ends = ((self.start_gal, self.first), (self.end_gal, after))
        return tuple(f"solvent inventory at {day}" for gal, day in ends if gal is None)


@dataclass(frozen=True, slots=True, kw_only=True)
class SolventMonth:
    """One calendar or accounting month: its periods in order, and the deliveries in it."""

    month: date
    """Any day of the month it stands for; kept as the first."""
    periods: tuple[SolventPeriod, ...]
    deliveries: tuple[Delivery, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a month without periods, with gaps or overlaps, or with a delivery outside."""
        object.__setattr__(self, "month", self.month.replace(day=1))
        if not self.periods:
            raise ValueError(f"{self} has no period: give its operating status.")
        for before, after in pairwise(self.periods):
            if after.first != before.last + timedelta(days=1):
                raise ValueError(
                    f"In {self} the period from {after.first} does not follow on the one "
                    f"that ends on {before.last}."
                )
        for one in self.deliveries:
            if not self.periods[0].first <= one.on <= self.periods[-1].last:
                raise ValueError(f"The delivery of {one.on} lies outside the days of {self}.")

    def __str__(self) -> str:
        """Return the month as 2026-05."""
        return f"{self.month:%Y-%m}"

    @property
    def counted(self) -> tuple[SolventPeriod, ...]:
        """The periods whose loss and seed count."""
        return tuple(period for period in self.periods if period.counts)

    def received_gal(self, period: SolventPeriod) -> float:
        """Solvent received on the days of a period, US gallons."""
        return math.fsum(
            one.gal for one in self.deliveries if period.first <= one.on <= period.last
        )

    def left_out_because(self) -> str:
        """Say why it is no operating month (63.2872); empty where it is one."""
        if not any(sum(period.seed_tons.values()) > 0.0 for period in self.periods):
            return "no listed oilseed processed"
        if not self.counted:
            status = ", ".join(dict.fromkeys(period.status.value for period in self.periods))
            return f"no normal operating period ({status})"
        if not any(sum(period.seed_tons.values()) > 0.0 for period in self.counted):
            return "no listed oilseed processed in a normal operating period"
        return ""

    def missing(self) -> tuple[str, ...]:
        """Names of the inventories of counted periods that were not taken."""
        return tuple(name for period in self.counted for name in period.missing)

    def loss_gal(self) -> float | None:
        """Solvent lost in its normal operating periods, US gallons; None: inventory missing.

        63.2853: begin less end plus received plus or minus adjustments, summed over the periods
        (the equation is from memory).
        """
        parts = []
        for period in self.counted:
            if period.start_gal is None or period.end_gal is None:
                return None
            change = period.start_gal - period.end_gal
            parts.append(change + self.received_gal(period) + period.adjustment_gal)
        return math.fsum(parts)

    def seed_tons(self) -> dict[str, float]:
        """Listed oilseed of its normal operating periods, short tons as received, by type."""
        total: dict[str, float] = {}
        for period in self.counted:
            for kind, tons in period.seed_tons.items():
                total[kind] = total.get(kind, 0.0) + tons
        return total


def plain_month(
    month: date,
    *,
    start_gal: float | None,
    end_gal: float | None,
    deliveries: tuple[Delivery, ...] = (),
    seed_tons: Mapping[str, float],
    adjustment_gal: float = 0.0,
    adjustment_reason: str = "",
) -> SolventMonth:
    """Return a calendar month of normal operation throughout; gallons and short tons.

    >>> from datetime import date
    >>> may = plain_month(
    ...     date(2026, 5, 1), start_gal=30_000, end_gal=24_000, seed_tons={"soybean": 40_000}
    ... )
    >>> may.loss_gal()
    6000.0
    """
    first = month.replace(day=1)
    following = (first + timedelta(days=32)).replace(day=1)
    period = SolventPeriod(
        status=Status.NORMAL,
        first=first,
        last=following - timedelta(days=1),
        start_gal=start_gal,
        end_gal=end_gal,
        adjustment_gal=adjustment_gal,
        adjustment_reason=adjustment_reason,
        seed_tons=seed_tons,
    )
    return SolventMonth(month=first, periods=(period,), deliveries=deliveries)


def _check_amount(amount: float, where: str) -> None:
    """Raise ValueError for an amount that is not a number or below zero."""
    if not (math.isfinite(amount) and amount >= 0.0):
        raise ValueError(f"{where} holds the amount {amount:g}; it must be a number from 0 up.")
