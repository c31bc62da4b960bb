"""Reading what people type: numbers with decimal point or comma, never guessing wrong.

The plant's decimal mark decides. In a plant that writes 12.5, "1,234" may be meant as 1.234
or as 1234, so it is asked about; "12,5" can only be meant as 12.5 and is read so. The whole
rule, with "the other mark" for the one of "." and "," that is not the plant's:

* One mark, the plant's: the decimal mark. "1.234" is 1.234.
* One mark, the other: ambiguous with one to three digits before it (not a lone 0) and exactly
  three behind; else the decimal mark. "0,123" is 0.123, "1234,567" is 1234.567.
* Both marks: the last is the decimal mark, the one before it separates groups of three.
* One mark several times: it separates groups of three. "1,234,567" is 1234567.
* Spaces and apostrophes separate groups of three, and then nothing else may.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import NoReturn

from logbook.assess.choices import (
    CHECK_CHOICES,
    Matched,
    Several,
    Unmatched,
    read_check,
    read_state,
)
from logbook.assess.unit_text import plain_unit

MOST_DIGITS = 15
"""Significant digits that a double keeps apart."""
LONGEST = 60
"""Characters; nothing longer is a reading."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A number as read; `text` is what was typed, `decimals` the digits behind its mark."""

    value: float
    decimals: int
    text: str


@dataclass(frozen=True, slots=True)
class Ambiguous:
    """A text that can be read as two numbers: with a decimal mark, or with a group mark."""

    text: str
    values: tuple[float, float]
    sentence: str


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A text that is no number, and a sentence that says why and what to do."""

    text: str
    sentence: str


def read_number(
    text: str, *, decimal_comma: bool, unit: str = ""
) -> Typed | Ambiguous | Unreadable:
    """Read a typed number; `unit` is the point's, which may stand behind it. Never raises.

    >>> read_number("72,5 °C", decimal_comma=False, unit="degC").value
    72.5
    >>> read_number("1,234", decimal_comma=False).sentence
    '"1,234" can be 1.234 or 1234: type 1.234 or 1234.'
    """
    mark = "," if decimal_comma else "."
    try:
        number = _without_unit(_plain(text, mark), unit)
        negative, body = _split_sign(number)
        return _read_body(body, text, mark, negative=negative)
    except _NotANumberError as refused:
        return Unreadable(text, str(refused))


def format_number(
    value: float, decimals: int, *, decimal_comma: bool = False, grouped: bool = False
) -> str:
    """Write a number with fixed decimals, so that `read_number` reads the same again.

    Never "-0.0". Groups, where asked for, are set apart by a narrow no-break space, never by
    a point or comma. What is not finite is a dash. Raises ValueError for negative `decimals`.

    >>> format_number(-0.04, 1), format_number(1234.5, 2, decimal_comma=True)
    ('0.0', '1234,50')
    """
    if decimals < 0:
        msg = f"a number cannot be written with {decimals} decimals"
        raise ValueError(msg)
    if not math.isfinite(value):
        return "–"
    text = f"{value:,.{decimals}f}" if grouped else f"{value:.{decimals}f}"
    if not any(char in "123456789" for char in text):
        text = text.lstrip("-")
    text = text.replace(",", _GROUP_SPACE)
    return text.replace(".", ",") if decimal_comma else text


# -- inside -------------------------------------------------------------------------------

_GROUP_SPACE = "\u202f"
_SIGNS = {"−": "-", "–": "-", "＋": "+", "－": "-", "﹢": "+", "﹣": "-"}
_MARKS = {"．": ".", "，": ",", "’": "'", "ʼ": "'", "＇": "'", "٬": "'"}
_UNSEEN = "\u200b\u200e\u200f\u2060\ufeff\u202a\u202b\u202c"
"""Marks of width zero that come along when text is pasted."""
_NUMBER = re.compile(r"([+-]?\s*)([0-9.,' ]*)")
_EXPONENT = re.compile(r"[+-]?[0-9.,' ]*[0-9.,]\s*(?:[eE]\s*[+-]?\s*[0-9]+|[x×*·]\s*10.*)")
_NOT_NUMBERS = {"nan", "inf", "infinity", "∞", "+inf", "-inf", "+∞", "-∞"}


class _NotANumberError(ValueError):
    """The text is no number; its words are the sentence shown."""


def _refuse(sentence: str) -> NoReturn:
    raise _NotANumberError(sentence)


def _plain(text: str, mark: str) -> str:
    """The text in ASCII digits, signs and marks, surrounding spaces gone."""
    if len(text) > LONGEST:
        _refuse(f"{len(text)} characters are too many for a number: type the number alone.")
    plain = "".join(_plain_char(char, mark) for char in text).strip()
    if not plain:
        _refuse("Nothing is typed: type a number.")
    return plain


def _plain_char(char: str, mark: str) -> str:
    if char.isdecimal():
        return str(unicodedata.decimal(char))
    if char == "٫":  # the Arabic decimal separator is nothing else
        return mark
    if char in _UNSEEN:
        return ""
    if char.isspace():
        return " "
    return _SIGNS.get(char) or _MARKS.get(char, char)


def _without_unit(plain: str, unit: str) -> str:
    """The number part; a unit behind it must be the point's."""
    if not _has_only_number_chars(plain):
        _refuse_known(plain)
    for tail in _tails(plain):
        if unit and plain_unit(tail) == plain_unit(unit):
            return plain[: -len(tail)].strip()
    found = _NUMBER.match(plain)
    assert found is not None
    rest = plain[found.end() :]
    if rest:
        _refuse_rest(plain, found[2], rest, unit)
    return plain


def _has_only_number_chars(plain: str) -> bool:
    return all(char in "0123456789.,' +-" for char in plain)


def _tails(plain: str) -> list[str]:
    """Ends of the text that may be a unit, longest first: they start behind a digit or space.

    One that starts with a digit ("1/min") needs a space before: "721/min" is not 72 per minute.
    """
    starts = [k for k in range(1, len(plain)) if plain[k - 1] in "0123456789.,' "]
    tails = [plain[k:] for k in starts if plain[k] != " "]
    apart = [t for t in tails if not t[0].isdecimal() or f" {t}" in plain]
    return [t for t in apart if not t.isdecimal()]


def _refuse_known(plain: str) -> None:
    """Refuse notations that are numbers elsewhere, each with its own sentence."""
    folded = plain.casefold()
    if folded in _NOT_NUMBERS:
        _refuse(f'"{plain}" is not a reading: give a reason why there is none instead.')
    if _EXPONENT.fullmatch(plain):
        _refuse(f'"{plain}" has an exponent: write the number out.')
    if re.fullmatch(r"[+-]?0[xob][0-9a-f_]+", folded):
        _refuse(f'"{plain}" is a number for computers: write it in plain decimal digits.')
    if "_" in plain:
        _refuse(f'"{plain}" has an underscore: leave it out.')
    if plain[0] in "<>≤≥~≈":
        _refuse(f'"{plain}" is not one number: type the number, and the "{plain[0]}" in a note.')


def _refuse_rest(plain: str, number: str, rest: str, unit: str) -> NoReturn:
    rest = rest.strip()
    if rest[:1] in {"+", "-"}:
        _refuse_signs(plain)
    if not any(char.isdigit() for char in number):
        _refuse(f'"{plain}" is not a number: type digits.')
    if ":" in rest:
        _refuse(f'"{plain}" looks like a time: type a number.')
    if not unit:
        _refuse(f'"{rest}" does not belong in a number, and this point has no unit: type digits.')
    _refuse(f'"{rest}" is not the unit of this point: type the number in {unit}.')


def _split_sign(number: str) -> tuple[bool, str]:
    """(is negative, the rest): one sign at most, and in front."""
    body = number.lstrip("+-").strip() if number[:1] in {"+", "-"} else number
    signs = number[: len(number) - len(body)].strip() if body else number
    if len(signs) > 1 or "+" in body or "-" in body:
        _refuse_signs(number)
    return signs == "-", body


def _refuse_signs(plain: str) -> NoReturn:
    if plain[-1] in "+-" and sum(plain.count(sign) for sign in "+-") == 1:
        _refuse(f'"{plain}" has its sign at the end: type it in front.')
    if plain[0] not in "+-":
        _refuse(f'"{plain}" is more than one number: type one.')
    _refuse(f'"{plain}" has more than one sign: type one, in front.')


def _read_body(body: str, text: str, mark: str, *, negative: bool) -> Typed | Ambiguous:
    digits = re.sub(r"[^0-9]", "", body)
    if not digits:
        _refuse(f'"{text.strip()}" has no digits: type a number.')
    if len(digits.lstrip("0")) > MOST_DIGITS:
        _refuse(f"More than {MOST_DIGITS} digits cannot be kept: type fewer.")
    whole, fraction = _split_marks(body, mark)
    sign = "-" if negative else ""
    if fraction is not None and _could_be_group(body, mark):
        return _ambiguous(text, sign, whole, fraction, mark)
    value = float(f"{sign}{whole or '0'}.{fraction or '0'}")
    return Typed(value + 0.0, len(fraction or ""), text)


def _could_be_group(body: str, mark: str) -> bool:
    """True for one to three digits, the other mark once, and three digits; not a lone 0."""
    other = "." if mark == "," else ","
    before, found, behind = body.partition(other)
    if not found or not before.isdecimal() or not behind.isdecimal():
        return False
    return 1 <= len(before) <= 3 and len(behind) == 3 and before != "0"


def _ambiguous(text: str, sign: str, whole: str, fraction: str, mark: str) -> Ambiguous:
    small, large = f"{sign}{whole}{mark}{fraction}", f"{sign}{whole}{fraction}"
    values = (float(f"{sign}{whole}.{fraction}"), float(large))
    either = f"{small} or {large}"
    return Ambiguous(text, values, f'"{text.strip()}" can be {either}: type {either}.')


def _split_marks(body: str, mark: str) -> tuple[str, str | None]:
    """(digits before, digits behind the decimal mark or None); groups are checked here."""
    last = max(body.rfind("."), body.rfind(","))
    decimal = body[last] if last >= 0 else mark
    if body.count(decimal) > 1 or (last < 0):
        # Several equal marks, or none: all of them can only separate groups.
        other = "." if decimal == "," else ","
        if last >= 0 and other in body:
            _refuse(f'"{body}" has its marks mixed: type it with one decimal mark.')
        return _ungrouped(body, body), None
    whole, fraction = body[:last], body[last + 1 :]
    if fraction and not fraction.isdecimal():
        _refuse(f'"{body}" has a gap behind the decimal mark: type the digits together.')
    return _ungrouped(whole, body), fraction


def _ungrouped(whole: str, body: str) -> str:
    """Digits of a whole number; group marks must be of one kind and stand every three digits."""
    marks = {char for char in whole if not char.isdecimal()}
    if not marks:
        return whole
    if len(marks) > 1:
        _refuse(f'"{body}" has different group marks: type the number without them.')
    groups = whole.split(marks.pop())
    first, rest = groups[0], groups[1:]
    if not 1 <= len(first) <= 3 or first.startswith("0") or any(len(g) != 3 for g in rest):
        _refuse(f'The groups of "{body}" are not of three digits: type the number without them.')
    return "".join(groups)


__all__ = [
    "CHECK_CHOICES",
    "Ambiguous",
    "Matched",
    "Several",
    "Typed",
    "Unmatched",
    "Unreadable",
    "format_number",
    "read_check",
    "read_number",
    "read_state",
]
