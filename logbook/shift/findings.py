"""What the readings of some weeks give to look at: drifts, questions, offenders, limits.

Plain tables of words for the Findings screen. Persons are named to supervisors only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from logbook.plant.localtime import to_local
from logbook.plant.model import Plant, Role
from logbook.record import Reader
from logbook.shift import doubtful_words, drift_words
from logbook.shift.doubtful import DoubtfulFound, doubtful_of
from logbook.shift.drift import DriftsFound, drifts_at
from logbook.shift.period import day_text
from logbook.shift.words import person_name, point_name


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One thing to look at."""

    cells: tuple[str, ...]
    words: str
    """The whole of it, for the line below the table."""
    point: str = ""
    """Key of the point to look at, where it is about one."""
    at: datetime | None = None
    """When to look at it."""


@dataclass(frozen=True, slots=True)
class FindingPage:
    """One table of findings."""

    key: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[FindingRow, ...]
    told: str
    """What was looked at, and what came of it, in a sentence."""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class FindingsSeen:
    """All tables of a span, and what of the book they were read from."""

    pages: tuple[FindingPage, ...]
    span: str
    seal: str


def findings_of(book: Reader, now: datetime, days: int, role: Role | None) -> FindingsSeen:
    """Look through the last `days` days up to `now` for somebody of a role. Raises BookError."""
    plant = book.plant_at(now)
    start = now - timedelta(days=days)
    first, last = (to_local(at, plant.time_zone).date() for at in (start, now))
    return FindingsSeen(
        (
            drift_page(drifts_at(book, plant, now)),
            question_page(doubtful_of(book, plant, start, now, reader=role)),
        ),
        f"{day_text(first)} to {day_text(last)}",
        book.last_page().seal,
    )


def drift_page(found: DriftsFound) -> FindingPage:
    """What drifts now, the most urgent first."""
    said = found.shown(len(found.found))
    rest = tuple(one for one in found.found if one.forecast is None)
    rows = tuple(
        FindingRow(
            (
                point_name(found.plant, one.point),
                one.phrase,
                f"{drift_words.rate_text(one)} a day",
                day_text(to_local(one.since, found.plant.time_zone).date()) if one.since else "",
            ),
            f"{point_name(found.plant, one.point)}: {drift_words.detail(found, one)}.",
            one.point.key,
            found.at,
        )
        for one in (*said, *rest)
    )
    count = f"{len(rows)} of {found.looked_at} points drift" if rows else "Nothing drifts"
    told = f"{count}; {len(said)} would reach a limit." if rows else f"{count}."
    columns = ("Point", "Course", "Slope", "Since about")
    return FindingPage("drifts", "Drifts", columns, rows, told, drift_words.CAUTION if said else "")


def question_page(found: DoubtfulFound) -> FindingPage:
    """Numbers worth a question, with the person's name for a supervisor."""
    columns = ("What", "About", "When", "Shift", *(("Written by",) if found.has_names else ()))
    told = (
        f"{len(found.questions)} questions about {found.rounds} rounds and "
        f"{found.readings} readings."
    )
    if not found.has_names:
        told += " Names are shown to a supervisor who is signed on."
    rows = tuple(_questions(found))
    return FindingPage("questions", "Questions", columns, rows, told, doubtful_words.CAUTION)


def _questions(found: DoubtfulFound) -> Iterator[FindingRow]:
    plant = found.plant
    for one in found.questions:
        name = (_name(plant, one.person),) if found.has_names else ()
        yield FindingRow(
            (
                one.doubt.value,
                doubtful_words.subject(plant, one),
                doubtful_words.when(plant, one),
                found.shift_of(one),
                *name,
            ),
            f"{one.evidence}. {one.question} {one.innocent}",
            one.points[0] if one.points else "",
            datetime.fromtimestamp(one.at, UTC),
        )


def _name(plant: Plant, person: str | None) -> str:
    return "" if person is None else person_name(plant, person)
