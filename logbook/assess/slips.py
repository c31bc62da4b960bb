"""What a doubtful value may have been meant to be: slips of the pen worth asking about.

A slip is suggested only where the suggested value falls inside the warning limits, or near
the last value; nothing is ever corrected by itself. Which slips people make, and that
a suggestion must be rare to be read, is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from logbook.assess.judge import classify, is_plausible
from logbook.assess.unit_text import plain_unit
from logbook.plant.model import Limits


class SlipKind(StrEnum):
    """What may have happened."""

    DECIMAL = "decimal mark slipped"
    SWAP = "digits swapped"
    SIGN = "sign wrong"
    UNIT = "other unit"


@dataclass(frozen=True, slots=True)
class Slip:
    """A value that may have been meant, and a sentence that asks."""

    kind: SlipKind
    suggested: float
    sentence: str


def slips(
    value: float,
    last: float | None,
    limits: Limits,
    unit: str,
    *,
    decimal_comma: bool = False,
) -> tuple[Slip, ...]:
    """Slips that explain `value`, the likeliest first; none for a value that looks right.

    A value looks right where it is plausible and within its warning limits. All numbers are in
    the point's unit. Likeliest is what comes nearest to the last value; without one the
    order is decimal mark, swapped digits, sign, unit.
    """
    if not math.isfinite(value) or _looks_right(value, limits):
        return ()
    found: dict[float, Slip] = {}
    for kind, meant, words in _candidates(value, unit):
        if meant != value and meant not in found and _fits(meant, last, limits):
            shown = _shown(meant, decimal_comma=decimal_comma)
            found[meant] = Slip(kind, meant, f"Was {shown} meant ({words})?")
    order = sorted(found.values(), key=lambda slip: abs(slip.suggested - (last or 0.0)))
    return tuple(order if last is not None else found.values())


def _candidates(value: float, unit: str) -> Iterator[tuple[SlipKind, float, str]]:
    exact = Decimal(repr(value))
    for shift in (-1, 1, -2, 2):
        places = "one place" if abs(shift) == 1 else "two places"
        yield SlipKind.DECIMAL, float(exact.scaleb(shift)), f"decimal mark slipped by {places}"
    for meant in _swapped(exact):
        yield SlipKind.SWAP, meant, "two digits swapped"
    if value:
        yield SlipKind.SIGN, -value, "the sign"
    here = unit.replace("deg", "°")
    for other, convert in OTHER_UNITS.get(plain_unit(unit), ()):
        # Four figures: a converted value is no more exact than the reading it comes from.
        yield SlipKind.UNIT, float(f"{convert(value):.4g}"), f"read in {other} instead of {here}"


def _swapped(exact: Decimal) -> Iterator[float]:
    """The value with two neighbouring digits exchanged, the decimal mark left where it is."""
    text = f"{exact:f}"
    digits = [k for k, char in enumerate(text) if char.isdecimal()]
    for a, b in pairwise(digits):
        if text[a] != text[b]:
            turned = list(text)
            turned[a], turned[b] = turned[b], turned[a]
            yield float("".join(turned))


def _looks_right(value: float, limits: Limits) -> bool:
    return is_plausible(value, limits) and not classify(value, limits).is_out


def _fits(meant: float, last: float | None, limits: Limits) -> bool:
    if not is_plausible(meant, limits):
        return False
    return _is_near(meant, last, limits) or _is_inside(meant, limits)


def _is_inside(meant: float, limits: Limits) -> bool:
    """Inside the warning limits, which the plausible range closes where one side is open."""
    low = limits.warning_low if limits.warning_low is not None else limits.action_low
    high = limits.warning_high if limits.warning_high is not None else limits.action_high
    if low is None and high is None:
        return False
    low = limits.plausible_low if low is None else low
    high = limits.plausible_high if high is None else high
    return low is not None and high is not None and low <= meant <= high


def _is_near(meant: float, last: float | None, limits: Limits) -> bool:
    """Within a quarter of the warning band of the last value, or 10 % of it without a band."""
    if last is None or not math.isfinite(last):
        return False
    band = abs(last) * 0.1
    if limits.warning_low is not None and limits.warning_high is not None:
        band = (limits.warning_high - limits.warning_low) / 4
    return abs(meant - last) <= band


def _shown(value: float, *, decimal_comma: bool) -> str:
    text = f"{Decimal(repr(value)).normalize():f}"
    return text.replace(".", ",") if decimal_comma else text


Conversion = Callable[[float], float]

INCH_MM = 25.4
FOOT_M = 0.3048
PSI_KPA = 6.894757
"""Pound-force per square inch; with the inch exact by definition, the pound 0.45359237 kg
and standard gravity 9.80665 m/s2."""
INHG_KPA = 3.386389
"""Inch of mercury, conventional."""
LB_KG = 0.45359237

OTHER_UNITS: dict[str, tuple[tuple[str, Conversion], ...]] = {
    "degC": (("°F", lambda v: (v - 32) / 1.8), ("K", lambda v: v - 273.15)),
    "degF": (("°C", lambda v: v * 1.8 + 32), ("K", lambda v: (v - 273.15) * 1.8 + 32)),
    "kPa": (
        ("bar", lambda v: v * 100),
        ("mbar", lambda v: v / 10),
        ("psi", lambda v: v * PSI_KPA),
        ("inHg", lambda v: v * INHG_KPA),
    ),
    "bar": (
        ("kPa", lambda v: v / 100),
        ("psi", lambda v: v * PSI_KPA / 100),
        ("mbar", lambda v: v / 1000),
    ),
    "mbar": (("kPa", lambda v: v * 10), ("inHg", lambda v: v * INHG_KPA * 10)),
    "psi": (("bar", lambda v: v * 100 / PSI_KPA), ("kPa", lambda v: v / PSI_KPA)),
    "mm": (("in", lambda v: v * INCH_MM), ("cm", lambda v: v * 10), ("m", lambda v: v * 1000)),
    "m": (("ft", lambda v: v * FOOT_M), ("cm", lambda v: v / 100), ("mm", lambda v: v / 1000)),
    "in": (("mm", lambda v: v / INCH_MM),),
    "ft": (("m", lambda v: v / FOOT_M),),
    "kg": (("lb", lambda v: v * LB_KG), ("t", lambda v: v * 1000)),
    "t": (("kg", lambda v: v / 1000),),
    "t/h": (("kg/h", lambda v: v / 1000), ("t/d", lambda v: v / 24)),
    "kg/h": (("t/h", lambda v: v * 1000),),
    "t/d": (("t/h", lambda v: v * 24),),
    "%": (("ppm", lambda v: v / 10_000),),
    "ppm": (("%", lambda v: v * 10_000),),
}
"""By the point's unit: another unit people read it in, and from that to the point's unit."""
