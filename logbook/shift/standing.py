"""Machines that stand because their state was read so: standby, down.

A state that means "not running" holds from its reading on, until the state is read as another
one or somebody writes that the machine is up. So a mill that was read as standing in one round
is not asked for in the rounds after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from logbook.plant.model import Choice, Plant, Point, PointKind
from logbook.record import Down, Reader, Reading, Status


def machine_states(plant: Plant) -> list[Point]:
    """State points of machines that have an answer for "not running"."""
    return [
        point
        for point in plant.points
        if point.kind is PointKind.STATE
        and point.equipment is not None
        and any(choice.means_down for choice in point.choices)
    ]


def standing_spans(
    book: Reader, plant: Plant, start: datetime, end: datetime
) -> dict[str, list[Down]]:
    """By equipment key, when machines stood in [start, end); the answer's name is the reason."""
    states = machine_states(plant)
    if not states:
        return {}
    keys = [point.key for point in states]
    readings = [*book.last_before(keys, start).values(), *book.readings(keys, start, end)]
    if not readings:
        return {}
    since = min(reading.taken_at for reading in readings)
    ups = _ups(book.statuses(since, end))
    found: dict[str, list[Down]] = {}
    for point in states:
        own = [reading for reading in readings if reading.point == point.key]
        machine = point.equipment or ""
        spans = _spans(point, own, ups.get(machine, ()))
        found.setdefault(machine, []).extend(s for s in spans if s.end is None or s.end > start)
    return found


def carried_states(
    book: Reader, plant: Plant, last: Mapping[str, Reading], at: datetime
) -> dict[str, str]:
    """Answers that still stop their machine at `at`, by state point; `last` before `at`."""
    found = {}
    for point in machine_states(plant):
        reading = last.get(point.key)
        choice = _choice(point, reading) if reading else None
        if reading is None or choice is None or not choice.means_down:
            continue
        ups = _ups(book.statuses(reading.taken_at, at))
        if not any(up >= reading.taken_at for up in ups.get(point.equipment or "", ())):
            found[point.key] = choice.key
    return found


def _ups(statuses: Iterable[Status]) -> dict[str, list[datetime]]:
    found: dict[str, list[datetime]] = {}
    for status in statuses:
        if status.scope == "equipment" and status.state == "up":
            found.setdefault(status.target, []).append(status.at)
    return found


def _choice(point: Point, reading: Reading) -> Choice | None:
    return point.choice(reading.text) if reading.text is not None else None


def _spans(point: Point, readings: Iterable[Reading], ups: Sequence[datetime]) -> list[Down]:
    # At the same instant the reading stands: it was looked at.
    events: list[tuple[datetime, int, Choice | None]] = [(up, 0, None) for up in ups]
    events += [(r.taken_at, 1, _choice(point, r)) for r in readings if r.text is not None]
    found: list[Down] = []
    for at, _, choice in sorted(events, key=lambda event: event[:2]):
        words = choice.name.lower() if choice and choice.means_down else ""
        running = found[-1] if found and found[-1].end is None else None
        if running and running.reason != words:
            found[-1] = Down(running.scope, running.target, running.start, at, running.reason)
            running = None
        if words and not running:
            found.append(Down("equipment", point.equipment or "", at, None, words))
    return found
