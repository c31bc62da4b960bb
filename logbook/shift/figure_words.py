"""A figure of the plant's arithmetic as people read it: value, interval and unit, and its making.

The interval is the value plus and minus two standard uncertainties, about 95 % where the error is
normal; it is written with two digits and the value to the same place (JCGM 100:2008, sections
6.2.1 and 7.2.6). What has no known uncertainty is written with four digits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.process.quantity import Quantity

COVERAGE = 2.0
"""Standard uncertainties to either side of a figure as it is shown."""
DIGITS = 4
"""Significant digits of a figure whose uncertainty is not known."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of an account in words."""

    name: str
    value: str
    """The number, or "not known"."""
    spread: str
    """Two standard uncertainties with a plus-minus sign; empty where they are not known."""
    unit: str
    mark: str = ""
    """"missing" where there is no value; else empty."""
    words: str = ""
    """What it was made of and by what formula, what is missing, what to know."""
    is_total: bool = False


def figure_of(quantity: Quantity, *, decimal_comma: bool = False, is_total: bool = False) -> Figure:
    """A quantity in words."""
    words = making_words(quantity)
    value, spread = number_words(quantity.value, quantity.sigma, decimal_comma=decimal_comma)
    mark = "" if quantity.is_known else "missing"
    return Figure(quantity.name, value, spread, quantity.unit, mark, words, is_total)


def number_words(
    value: float | None, sigma: float | None, *, decimal_comma: bool = False
) -> tuple[str, str]:
    """Return the value and its interval, to the place that the uncertainty allows.

    >>> number_words(1234.567, 1.3)
    ('1 234.6', '± 2.6')
    >>> number_words(0.01234, None)
    ('0.01234', '')
    >>> number_words(None, 1.0)
    ('not known', '')
    """
    if value is None or not math.isfinite(value):
        return "not known", ""
    if sigma is None or sigma <= 0.0 or not math.isfinite(sigma):
        return _grouped(value, _places(abs(value), DIGITS), decimal_comma=decimal_comma), ""
    wide = COVERAGE * sigma
    places = _places(wide, 2)
    told = _grouped(value, places, decimal_comma=decimal_comma)
    return told, f"± {_grouped(wide, places, decimal_comma=decimal_comma)}"


def words_alike(*values: float) -> tuple[str, ...]:
    """Numbers written to one and the same place, four digits of the greatest.

    >>> words_alike(0.62, 0.4743, -0.1457)
    ('0.6200', '0.4743', '-0.1457')
    """
    places = _places(max(map(abs, values)), DIGITS)
    return tuple(_grouped(value, places, decimal_comma=False) for value in values)


def making_words(quantity: Quantity) -> str:
    """How a figure came about, one sentence for each thing to know."""
    parts = []
    if quantity.missing:
        parts.append(f"Missing: {', '.join(quantity.missing)}.")
    if quantity.inputs:
        parts.append(f"From {', '.join(quantity.inputs)}.")
    if quantity.note:
        note = quantity.note.rstrip(".")
        parts.append(f"{note[:1].upper()}{note[1:]}.")
    if quantity.source:
        parts.append(f"Formula: {quantity.source.rstrip('.')}.")
    return " ".join(parts)


def _places(size: float, digits: int) -> int:
    """Decimals that show `digits` significant digits of `size`, at most six, none below one."""
    if size <= 0.0:
        return 0
    return min(max(digits - 1 - math.floor(math.log10(size)), 0), 6)


def _grouped(value: float, places: int, *, decimal_comma: bool) -> str:
    """A number with narrow gaps between its thousands, so that neither mark can be mistaken."""
    text = f"{value:,.{places}f}".replace(",", " ")
    if float(text.replace(" ", "")) == 0.0:
        text = text.lstrip("-")
    return text.replace(".", ",") if decimal_comma else text
