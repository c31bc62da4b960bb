"""Finding points by what is typed: name, tag, area, machine, in any order and half written."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from logbook.plant.model import Plant, Point
from logbook.shift.words import place_name


@dataclass(frozen=True, slots=True)
class PointFound:
    """A point with the words it is known by."""

    point: Point
    name: str
    area: str


def find_points(plant: Plant, text: str, *, numeric: bool = True) -> tuple[PointFound, ...]:
    """Points that have every word of `text` in name, tag, area, machine, unit or key, best first.

    A word that a name or tag begins with counts more than one inside it, and the area counts
    least; among equals the order is that of the plant. An empty text finds all. With `numeric`
    only those whose readings are numbers.
    """
    words = _folded(text).split()
    areas = {area.key: area.name for area in plant.areas}
    machines = {one.key: one.name for one in plant.equipment}
    ranked: list[tuple[int, int, PointFound]] = []
    for place, point in enumerate(plant.points):
        if numeric and not point.kind.is_numeric:
            continue
        area = areas.get(point.area, point.area)
        found = PointFound(point, place_name(plant, point), area)
        first = [_folded(found.name), _folded(point.tag)]
        second = [_folded(machines.get(point.equipment or "", "")), _folded(point.name)]
        third = [_folded(area), _folded(point.unit), _folded(point.key)]
        ranks = [_rank(word, (first, second, third)) for word in words]
        if all(ranks):
            ranked.append((-sum(ranks), place, found))
    return tuple(found for _, _, found in sorted(ranked, key=lambda one: one[:2]))


def _rank(word: str, groups: Iterable[list[str]]) -> int:
    """How well a word fits: 0 not at all."""
    for worth, group in zip((8, 4, 1), groups, strict=True):
        if any(_begins(word, text) for text in group):
            return worth
        if any(word in text for text in group):
            return max(1, worth // 2)
    return 0


def _begins(word: str, text: str) -> bool:
    return text.startswith(word) or f" {word}" in text


def _folded(text: str) -> str:
    """Small letters without accents: what is typed in a hurry."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in plain if not unicodedata.combining(sign))
