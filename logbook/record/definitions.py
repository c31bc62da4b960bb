"""A plant as revised definitions: rows of `definition` and `limit_set`, and back again.

Each thing of a plant (an area, a point, a person, the calendar...) is a definition with a kind
and a key; its body is the whole record as JSON. The order in which a plant lists its areas,
points and so on is a definition of its own (kind `order`), so that a new area at the head does
not revise all the others. Limits stand apart from their point, one row per point and mode.

What holds at an instant is, for each kind and key, the row with the latest `effective_from` at
or before it; of two with the same, the one written later.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from logbook.plant.accounts import NO_ACCOUNTS, PlantAccounts
from logbook.plant.calendar import ShiftCalendar
from logbook.plant.model import (
    NO_LIMITS,
    NORMAL_MODE,
    Area,
    Equipment,
    Limits,
    Mode,
    Person,
    Plant,
    Point,
    PointTable,
    Settings,
)
from logbook.record.codec import decode, encode
from logbook.record.errors import WriteRefused
from logbook.record.instants import from_seconds, seconds
from logbook.record.rows import NewDefinition, NewLimits, NewPoint, NewRow

LISTS: Mapping[str, tuple[str, Any]] = MappingProxyType(
    {
        "mode": ("modes", Mode),
        "area": ("areas", Area),
        "equipment": ("equipment", Equipment),
        "table": ("tables", PointTable),
        "point": ("points", Point),
        "person": ("people", Person),
    }
)
"""Kind of a definition to the field of `Plant` that lists such records, and their class."""

LIMIT_FIELDS = frozenset({"limits", "limits_by_mode"})
"""Fields of a point that stand in `limit_set` and not in its definition."""

EDGES = (
    "target",
    "warning_low",
    "warning_high",
    "action_low",
    "action_high",
    "plausible_low",
    "plausible_high",
)
"""Columns of `limit_set` and fields of `Limits`."""


@dataclass(frozen=True, slots=True)
class Title:
    """Key, name and description of a plant: its definition of kind `plant`."""

    key: str
    name: str
    description: str


@dataclass(frozen=True, slots=True)
class Order:
    """The keys of one kind in the order in which the plant lists them."""

    keys: tuple[str, ...]


CLASSES: Mapping[str, Any] = MappingProxyType(
    {
        "plant": Title,
        "settings": Settings,
        "calendar": ShiftCalendar,
        "order": Order,
        "accounts": PlantAccounts,
        **{kind: record for kind, (_, record) in LISTS.items()},
    }
)
"""Kind of a definition to the class of its body."""

Definitions = dict[tuple[str, str], Any]
"""(kind, key) to record."""
LimitTable = dict[tuple[str, str], Limits]
"""(point key, mode) to limits."""


@dataclass(frozen=True, slots=True)
class Described:
    """A plant taken apart into what the book keeps."""

    definitions: Definitions
    limits: LimitTable


def described(plant: Plant) -> Described:
    """Take a plant apart. Raises WriteRefused where a key occurs twice in a list."""
    parts: Definitions = {
        ("plant", "plant"): Title(plant.key, plant.name, plant.description),
        ("settings", "settings"): plant.settings,
        ("calendar", "calendar"): plant.calendar,
    }
    for kind, (field, _) in LISTS.items():
        records = getattr(plant, field)
        keys = tuple(record.key for record in records)
        _require_distinct(kind, keys)
        parts["order", kind] = Order(keys)
        parts.update({(kind, record.key): record for record in records})
    for point in plant.points:
        parts["point", point.key] = _without_limits(point)
    if plant.accounts != NO_ACCOUNTS:
        parts["accounts", "accounts"] = plant.accounts
    return Described(parts, dict(_limits_of(plant.points)))


def _require_distinct(kind: str, keys: tuple[str, ...]) -> None:
    seen: set[str] = set()
    for key in keys:
        if key in seen:
            msg = f"The {kind} {key} occurs twice in the plant; give each its own key."
            raise WriteRefused(msg)
        seen.add(key)


def _without_limits(point: Point) -> Point:
    return replace(point, limits=NO_LIMITS, limits_by_mode=MappingProxyType({}))


def _limits_of(points: Iterable[Point]) -> Iterator[tuple[tuple[str, str], Limits]]:
    for point in points:
        if NORMAL_MODE in point.limits_by_mode:
            msg = (
                f"The point {point.key} has limits for the mode {NORMAL_MODE} twice; "
                "its plain limits are those of the normal mode."
            )
            raise WriteRefused(msg)
        if point.limits != NO_LIMITS:
            yield (point.key, NORMAL_MODE), point.limits
        for mode, limits in point.limits_by_mode.items():
            yield (point.key, mode), limits


def assembled(parts: Described) -> Plant:
    """Put a plant together again; the exact reverse of `described`."""
    title: Title = parts.definitions["plant", "plant"]
    lists = {field: _listed(parts, kind) for kind, (field, _) in LISTS.items()}
    of_point: dict[str, dict[str, Limits]] = {}
    for (key, mode), limits in parts.limits.items():
        of_point.setdefault(key, {})[mode] = limits
    points = lists["points"]
    lists["points"] = tuple(_with_limits(point, of_point.get(point.key, {})) for point in points)
    return Plant(
        key=title.key,
        name=title.name,
        description=title.description,
        settings=parts.definitions["settings", "settings"],
        calendar=parts.definitions["calendar", "calendar"],
        accounts=parts.definitions.get(("accounts", "accounts"), NO_ACCOUNTS),
        **lists,
    )


def _listed(parts: Described, kind: str) -> tuple[Any, ...]:
    """Records of a kind in their order; those that no order names yet come last."""
    there = {key: record for (k, key), record in parts.definitions.items() if k == kind}
    order = parts.definitions.get(("order", kind), Order(()))
    named = [key for key in order.keys if key in there]
    return tuple(there[key] for key in dict.fromkeys([*named, *there]))


def _with_limits(point: Point, by_mode: dict[str, Limits]) -> Point:
    normal = by_mode.pop(NORMAL_MODE, NO_LIMITS)
    return replace(point, limits=normal, limits_by_mode=MappingProxyType(by_mode))


# ---------------------------------------------------------------- rows of the book

_DEFINITIONS_AT = """
SELECT kind, key, body FROM (
  SELECT d.kind, d.key, d.body, d.id, row_number() OVER (
    PARTITION BY d.kind, d.key
    ORDER BY d.effective_from DESC, g.written_at DESC, d.id DESC) AS place
  FROM definition d JOIN page g ON g.id = d.page WHERE d.effective_from <= ?)
WHERE place = 1 AND body IS NOT NULL ORDER BY id"""

_LIMITS_AT = f"""
SELECT key, mode, {", ".join(EDGES)} FROM (
  SELECT p.key, l.*, row_number() OVER (
    PARTITION BY l.point, l.mode
    ORDER BY l.effective_from DESC, g.written_at DESC, l.id DESC) AS place
  FROM limit_set l JOIN point p ON p.id = l.point JOIN page g ON g.id = l.page
  WHERE l.effective_from <= ?)
WHERE place = 1 AND NOT withdrawn ORDER BY id"""


def in_force(connection: sqlite3.Connection, at: int) -> Described:
    """What holds at `at` (seconds UTC); before the first definitions, the first ones."""
    first = connection.execute(
        "SELECT min(effective_from) FROM definition WHERE kind = 'plant'"
    ).fetchone()[0]
    at = at if first is None else max(at, first)
    rows = connection.execute(_DEFINITIONS_AT, (at,))
    parts = {(kind, key): _decoded(kind, body) for kind, key, body in rows}
    limits = {
        (point, mode): Limits(**dict(zip(EDGES, edges, strict=True)))
        for point, mode, *edges in connection.execute(_LIMITS_AT, (at,))
    }
    return Described(parts, limits)


@lru_cache(maxsize=4096)
def _decoded(kind: str, body: str) -> object:
    """The frozen record of a body; the same few hundred are asked for again and again."""
    return decode(CLASSES[kind], body)


def point_numbers(connection: sqlite3.Connection) -> dict[str, int]:
    """Point key to the compact number used in `reading.point`."""
    return dict(connection.execute("SELECT key, id FROM point"))


def revision(
    connection: sqlite3.Connection, new: Plant, effective_from: datetime, reason: str
) -> list[NewRow]:
    """The rows that make `new` hold from `effective_from` on; only what differs.

    Raises WriteRefused where something that differs already has a later revision.
    """
    after = described(new)
    at = seconds(effective_from)
    before = in_force(connection, at)
    numbers = point_numbers(connection)
    rows: list[NewRow] = [NewPoint(p.key) for p in new.points if p.key not in numbers]
    for kind, key in _differing(before.definitions, after.definitions):
        _require_latest(connection, kind, key, at)
        record = after.definitions.get((kind, key))
        body = None if record is None else _body(kind, record)
        rows.append(NewDefinition(kind, key, effective_from, reason, body))
    for point, mode in _differing(before.limits, after.limits):
        _require_latest_limits(connection, point, mode, at)
        limits = after.limits.get((point, mode))
        rows.append(NewLimits(point, mode, effective_from, reason, limits))
    return rows


def require_in_force(connection: sqlite3.Connection, new: Plant, effective_from: datetime) -> None:
    """Refuse a revision that would not hold, once its rows are written.

    That happens where another seat, with a clock that is ahead, revised the same thing with the
    same effective time.
    """
    if assembled(in_force(connection, seconds(effective_from))) != new:
        msg = (
            f"Another seat has made a change from {effective_from:%Y-%m-%d %H:%M} on with a clock "
            "that is ahead of this one; let this change begin a minute later."
        )
        raise WriteRefused(msg)


def _differing(
    before: Mapping[tuple[str, str], object], after: Mapping[tuple[str, str], object]
) -> list[tuple[str, str]]:
    """Keys that were added, changed or dropped, in the order of the new plant, dropped last."""
    return [key for key in dict.fromkeys([*after, *before]) if before.get(key) != after.get(key)]


def _body(kind: str, record: object) -> str:
    return encode(record, LIMIT_FIELDS if kind == "point" else frozenset())


def _require_latest(connection: sqlite3.Connection, kind: str, key: str, at: int) -> None:
    if kind == "order":
        return  # an order only says what it knows of; the later one stays right
    query = "SELECT max(effective_from) FROM definition WHERE kind = ? AND key = ?"
    _require_none_after(connection.execute(query, (kind, key)).fetchone()[0], at, f"{kind} {key}")


def _require_latest_limits(connection: sqlite3.Connection, point: str, mode: str, at: int) -> None:
    query = (
        "SELECT max(effective_from) FROM limit_set "
        "WHERE point = (SELECT id FROM point WHERE key = ?) AND mode = ?"
    )
    latest = connection.execute(query, (point, mode)).fetchone()[0]
    _require_none_after(latest, at, f"limits of {point} ({mode})")


def _require_none_after(latest: int | None, at: int, what: str) -> None:
    if latest is not None and latest > at:
        msg = (
            f"The {what} already has a change from {from_seconds(latest):%Y-%m-%d %H:%M} UTC on, "
            "after the one you ask for; let the new change begin then or later."
        )
        raise WriteRefused(msg)
