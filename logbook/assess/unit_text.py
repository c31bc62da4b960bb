"""Spellings of a unit that mean the same: "°C" and "degC", "m³" and "m3"."""

from __future__ import annotations

import unicodedata

_SPELLINGS = {
    "degc": "degC",
    "degf": "degF",
    "C": "degC",
    "F": "degF",
    "celsius": "degC",
    "fahrenheit": "degF",
    "percent": "%",
    "pct": "%",
    "tonne": "t",
    "tonnes": "t",
    '"': "in",
    "inch": "in",
    "inches": "in",
    "hr": "h",
}


def plain_unit(unit: str) -> str:
    """One spelling for a unit; upper and lower case keep their meaning (mPa is not MPa).

    >>> plain_unit("°C"), plain_unit("m³/h"), plain_unit("kg / hr")
    ('degC', 'm3/h', 'kg/h')
    """
    # Without this, NFKC would make the masculine ordinal, which looks like a degree, an "o".
    text = unit.replace("º", "°").replace("˚", "°")
    text = "".join(unicodedata.normalize("NFKC", text).split())
    text = text.replace("°", "deg").replace("^", "").replace("**", "").replace("μ", "u")
    text = f"1{text}" if text.startswith("/") else text
    parts = [_SPELLINGS.get(p, _SPELLINGS.get(p.casefold(), p)) for p in text.split("/")]
    return "/".join(parts)
