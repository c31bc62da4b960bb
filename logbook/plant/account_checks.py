"""Checks of the section [accounts] of a plant file, and its numbers in the book's units."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING

from logbook.plant.account_roles import ROLE_FITS
from logbook.plant.accounts import FIGURES, WORDS, Figure, PlantAccounts
from logbook.plant.faults import KeyPath, Reporter, one_of
from logbook.plant.model import Point, PointKind
from logbook.plant.unit_table import find_unit, suggest_unit
from logbook.plant.units import convert, is_convertible

if TYPE_CHECKING:
    from logbook.plant.schema import AccountsSpec

_WITH_UNIT = re.compile(r"([-+]?\d+(?:\.\d+)?)\s*(.*)")
_MOST_PERCENT = 50.0


def read_accounts(spec: AccountsSpec, points: Sequence[Point], reporter: Reporter) -> PlantAccounts:
    """The section as the book keeps it; what is wrong goes to the reporter."""
    by_key = {point.key: point for point in points}
    return PlantAccounts(
        points=MappingProxyType(_roles(spec, by_key, reporter)),
        uncertainty=MappingProxyType(_uncertainty(spec, by_key, reporter)),
        figures=MappingProxyType(_figures(spec, reporter)),
        words=MappingProxyType(_words(spec, reporter)),
    )


def _roles(
    spec: AccountsSpec, by_key: Mapping[str, Point], reporter: Reporter
) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for role, keys in spec.points.items():
        at: KeyPath = ("accounts", "points", role)
        if role not in ROLE_FITS:
            what = f'"{role}" is no role in the accounts'
            reporter.add(at, what, one_of(role, sorted(ROLE_FITS)))
            continue
        found[role] = tuple(k for key in keys for k in _fitting(role, key, by_key, at, reporter))
        if len(set(found[role])) < len(found[role]):
            reporter.add(at, "a point stands here twice", "each point once")
    return found


def _fitting(
    role: str, key: str, by_key: Mapping[str, Point], at: KeyPath, reporter: Reporter
) -> list[str]:
    """The points that a key or the stem of keys (`oil_dip` for `oil_dip.ot1`...) stands for."""
    named = [key] if key in by_key else [k for k in by_key if k.split(".", 1)[0] == key]
    if not named:
        stems = [*by_key, *dict.fromkeys(k.split(".", 1)[0] for k in by_key)]
        wanted = one_of(key, stems, nothing="the key of a [[point]]")
        reporter.add(at, f'there is no point "{key}"', wanted, leans_on=(("point",),))
        return []
    kinds, quantities = ROLE_FITS[role]
    for one in named:
        point = by_key[one]
        unit = find_unit(point.unit)
        leans_on = (("point",),)
        if point.kind not in kinds:
            wanted = "a point of kind " + " or ".join(sorted(kinds))
            what = f'"{one}" is of kind {point.kind.value}'
            reporter.add(at, what, wanted, leans_on=leans_on)
        elif unit is not None and unit.quantity not in quantities:
            wanted = "a point with a unit of " + " or ".join(quantities)
            reporter.add(at, f'"{one}" is in {point.unit or "no unit"}', wanted, leans_on=leans_on)
        elif point.kind is PointKind.LEVEL and point.tank is None:
            reporter.add(at, f'"{one}" has no tank table', "a level with a tank table")
    return named


def _uncertainty(
    spec: AccountsSpec, by_key: Mapping[str, Point], reporter: Reporter
) -> dict[str, float]:
    found: dict[str, float] = {}
    for key, percent in spec.uncertainty.items():
        at: KeyPath = ("accounts", "uncertainty", key)
        named = [key] if key in by_key else [k for k in by_key if k.split(".", 1)[0] == key]
        if not named:
            wanted = one_of(key, list(by_key), nothing="the key of a [[point]]")
            reporter.add(at, f'there is no point "{key}"', wanted, leans_on=(("point",),))
        elif not all(by_key[one].kind.is_numeric for one in named):
            reporter.add(at, f'"{key}" is not a number', "a point that is measured")
        elif not 0.0 <= percent <= _MOST_PERCENT:
            wanted = f"0 to {_MOST_PERCENT:g}, the standard uncertainty in % of the reading"
            reporter.add(at, f"{percent:g} is not possible here", wanted)
        else:
            found.update(dict.fromkeys(named, percent))
    return found


def _figures(spec: AccountsSpec, reporter: Reporter) -> dict[str, float]:
    found: dict[str, float] = {}
    for name, stated in spec.figures.items():
        at: KeyPath = ("accounts", "figures", name)
        figure = FIGURES.get(name)
        if figure is None:
            reporter.add(at, f'"{name}" is no figure of the accounts', one_of(name, list(FIGURES)))
            continue
        value, wanted = figure_value(figure, stated)
        if value is None:
            reporter.add(at, f"{_shown(stated)} is not possible here", wanted)
        elif not figure.least <= value <= figure.most:
            wanted = f"{figure.least:g} to {figure.most:g} {figure.unit}".rstrip()
            reporter.add(at, f"{_shown(stated)} is not possible here", wanted)
        else:
            found[name] = value
    return found


def figure_value(figure: Figure, stated: float | str) -> tuple[float | None, str]:
    """A figure in its own unit, or None and what would be right.

    A number is in the figure's unit; text states its own: "1650 short ton/d", "998 per short ton".

    >>> figure_value(FIGURES["plan"], "1500 t/d")[0]
    1500.0
    """
    if not isinstance(stated, str):
        return (float(stated) if math.isfinite(stated) else None), "an ordinary number"
    example = f'a number, or one with its unit such as "{max(figure.least, 1.0):g} {figure.unit}"'
    found = _WITH_UNIT.fullmatch(stated.strip())
    if found is None:
        return None, example
    value, unit = float(found[1]), found[2].strip()
    if not unit:
        return value, ""
    own = figure.unit.removeprefix("per ")
    if figure.is_price:
        if not unit.startswith("per "):
            return None, example
        unit = unit.removeprefix("per ")
    if find_unit(unit) is None:
        return None, f"{suggest_unit(unit)} for the unit" if own else example
    if not is_convertible(unit, own):
        return None, f"a unit that can be converted to {own}"
    if figure.is_price:
        return value * convert(1.0, own, unit), ""
    return convert(value, unit, own), ""


def _shown(stated: float | str) -> str:
    return f'"{stated}"' if isinstance(stated, str) else f"{stated:g}"


def _words(spec: AccountsSpec, reporter: Reporter) -> dict[str, str]:
    found: dict[str, str] = {}
    for name, word in spec.words.items():
        at: KeyPath = ("accounts", "words", name)
        known = WORDS.get(name)
        if known is None:
            reporter.add(at, f'"{name}" is no choice of the accounts', one_of(name, list(WORDS)))
        elif known and word not in known:
            reporter.add(at, f'"{word}" is not known here', one_of(word, known))
        else:
            found[name] = word
    return found
