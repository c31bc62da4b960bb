"""Readings that were not taken, as few lines: whole rounds, most of an area, one point over time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime

from logbook.plant.model import Plant
from logbook.shift.gaps import GapFound
from logbook.shift.round_form import describe_reason
from logbook.shift.round_state import RoundStatus
from logbook.shift.words import point_name

MANY = 4
"""From so many readings of an area on, missing in one round for one reason, they are one line."""

When = Callable[[datetime], str]
Line = tuple[str, str]


def gap_lines(
    plant: Plant, rounds: Iterable[RoundStatus], gaps: Sequence[GapFound], when: When
) -> list[Line]:
    """A line for each round nobody took, each area left out, and each point; by time."""
    untaken = {s.at for s in rounds if s.due and not s.done}
    missing = {gap.round_at for gap in gaps if gap.reason is None}
    whole = sorted(untaken & missing)
    rest = [gap for gap in gaps if gap.reason is not None or gap.round_at not in whole]
    areas = _by_area(rest)
    found = [(at, (when(at), "the whole round: no reason given")) for at in whole]
    names = {area.key: area.name for area in plant.areas}
    for (at, area, reason), group in areas.items():
        told = f"{names.get(area, area)}: {len(group)} readings: {_why(reason)}"
        found.append((at, (when(at), told)))
    single = [gap for gap in rest if gap not in [g for group in areas.values() for g in group]]
    found += _by_point(plant, single, when)
    return [line for _, line in sorted(found, key=lambda one: one[0])]


def _by_area(
    gaps: Iterable[GapFound],
) -> dict[tuple[datetime, str, str | None], list[GapFound]]:
    groups: dict[tuple[datetime, str, str | None], list[GapFound]] = {}
    for gap in gaps:
        groups.setdefault((gap.round_at, gap.point.area, gap.reason), []).append(gap)
    return {key: group for key, group in groups.items() if len(group) >= MANY}


def _by_point(plant: Plant, gaps: Iterable[GapFound], when: When) -> list[tuple[datetime, Line]]:
    groups: dict[tuple[str, str | None], list[GapFound]] = {}
    for gap in gaps:
        groups.setdefault((gap.point.key, gap.reason), []).append(gap)
    found = []
    for group in groups.values():
        first, others = group[0], [when(gap.round_at) for gap in group[1:]]
        also = f" (also {', '.join(others)})" if others else ""
        told = f"{point_name(plant, first.point)}: {_why(first.reason)}{also}"
        found.append((first.round_at, (when(first.round_at), told)))
    return found


def _why(reason: str | None) -> str:
    return describe_reason(reason) if reason else "no reason given"
