"""What the Balance screen and the period report show: accounts, meters, pictures, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from logbook.process.quantity import Quantity
from logbook.shift.figure_words import Figure
from logbook.shift.period import Period
from logbook.shift.what_if import Section

Edge = Literal["left", "right", "top", "bottom"]
Mark = Literal["", "suspect", "inferred", "unknown"]


@dataclass(frozen=True, slots=True)
class Account:
    """One account: what went in, what came out, what is left over."""

    key: str
    title: str
    figures: tuple[Figure, ...]
    told: str = ""
    """What it comes to, in one sentence."""
    caution: str = ""
    """What it must not be taken for."""


@dataclass(frozen=True, slots=True)
class MeterLine:
    """A meter beside what all meters together say."""

    key: str
    name: str
    unit: str
    measured: str
    measured_spread: str
    reconciled: str
    reconciled_spread: str
    adjustment: str
    """What reconciling added, with its sign."""
    score: str
    """The adjustment in its own standard uncertainties."""
    mark: str = ""
    """"suspect", "unknown" (cannot be told), "inferred" (worked out from others), or empty."""
    words: str = ""


@dataclass(frozen=True, slots=True)
class FlowStream:
    """What goes from one step to another; None stands for outside."""

    key: str
    name: str
    source: str | None
    target: str | None
    amount: float | None
    """In the picture's unit; None: not known."""
    edge: Edge = "left"
    """The side of the box where a stream from or to outside is."""
    mark: Mark = ""
    label: str = ""
    """The amount in words, with its unit where it is not the picture's."""
    words: str = ""
    """The whole of it in one sentence, for a tip and for those who listen."""


@dataclass(frozen=True, slots=True)
class FlowSteps:
    """One picture: steps as (key, name, column, row), streams, and the unit of the amounts."""

    key: str
    name: str
    unit: str
    steps: tuple[tuple[str, str, int, int], ...]
    streams: tuple[FlowStream, ...]


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """One day (or month) of a trend; `low` and `high` bound about 95 % where it is known."""

    name: str
    """"17 June 2026"."""
    short: str
    """For the axis: "17.6."."""
    value: float | None
    low: float | None = None
    high: float | None = None
    mark: str = ""
    """"suspect" where a meter of it is in doubt."""


@dataclass(frozen=True, slots=True)
class TrendLine:
    """A figure over the days of a span."""

    key: str
    name: str
    unit: str
    decimals: int
    points: tuple[TrendPoint, ...]
    target: float | None = None
    told: str = ""
    """What there is to say of it, in one sentence."""


@dataclass(frozen=True, slots=True)
class Group:
    """A crew or a month, with the interval that holds its mean."""

    name: str
    value: float | None
    low: float | None
    high: float | None
    count: int
    """How many days or shifts it is made of."""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Crews or months side by side: in the order of the calendar, never ranked."""

    key: str
    title: str
    unit: str
    decimals: int
    groups: tuple[Group, ...]
    told: str
    """What can and what cannot be told apart, in one sentence."""


@dataclass(frozen=True, slots=True)
class BalanceView:
    """A period as it is shown."""

    period: Period
    verdict: tuple[str, ...]
    """What the accounts and the meters come to: the first thing to read."""
    accounts: tuple[Account, ...]
    meters: tuple[MeterLine, ...]
    meters_told: str
    """The global test of the meters, in one sentence."""
    flows: tuple[FlowSteps, ...] = ()
    """One picture for the mass and one for each component."""
    cautions: tuple[str, ...] = ()
    lacks: Mapping[str, str] = field(default_factory=dict)
    """What could not be told, and why."""


@dataclass(frozen=True, slots=True)
class BalanceSeen:
    """A period as it was read, and what of the book it was read from; plain data throughout."""

    period: Period
    """As it was asked for; `view.period` is cut where it still runs."""
    view: BalanceView
    figures: dict[str, Quantity]
    """Figures of the period by role."""
    sections: tuple[Section, ...]
    """What can be tried out on them."""
    plant: str
    """Name of the plant."""
    time_zone: str
    seal: str
    """Seal of the book's last page when it was read."""
    span: str
    """From when to when, in the plant's local time."""


@dataclass(frozen=True, slots=True)
class Days:
    """Figures by day, and crews and months side by side."""

    trends: tuple[TrendLine, ...]
    comparisons: tuple[Comparison, ...]
