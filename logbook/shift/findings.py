"""What the readings of some weeks give to look at: drifts, questions, offenders, limits.

Plain tables of words for the Findings screen. Persons are named to supervisors only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from logbook.assess.offenders import LimitFault, LimitUse, PointCount
from logbook.plant.localtime import to_local
from logbook.plant.model import Plant, Role
from logbook.record import Reader
from logbook.shift import doubtful_words, drift_words
from logbook.shift.doubtful import DoubtfulFound, doubtful_of
from logbook.shift.drift import DriftsFound, drifts_at
from logbook.shift.offenders import Offenders, offenders_of
from logbook.shift.period import day_text
from logbook.shift.words import number_text, person_name, point_name


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
            *offender_pages(offenders_of(book, plant, start, now)),
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


def offender_pages(found: Offenders) -> tuple[FindingPage, ...]:
    """Points that stand out, deviations that lasted, limits of no use, and how areas answered."""
    return (_worst_page(found), _longest_page(found), _limit_page(found), _answer_page(found))


def _worst_page(found: Offenders) -> FindingPage:
    plant, rates = found.plant, found.rates
    rows = tuple(
        FindingRow(
            (
                _point(plant, one.key),
                f"{one.outside} of {one.judged}, {100 * one.share:.1f} %",
                f"{one.beyond_action} beyond action",
                f"{one.runs} deviations",
                f"{one.hours_out:.0f} h outside",
            ),
            _worst_words(plant, one),
            one.key,
            found.end,
        )
        for one in found.worst
    )
    pace = "very likely acceptable" if rates.is_acceptable else "more than can be heeded well"
    if not rates.is_acceptable and rates.is_manageable:
        pace = "no more than can be managed"
    told = (
        f"{rates.runs} deviations began, {rates.per_hour:.2f} an hour ({pace}); the ten points with "
        f"the most have {100 * rates.top_share:.0f} % of them; {100 * rates.action_share:.0f} % went "
        f"beyond an action limit; at most {rates.stale_most} stood for over a day at once."
    )
    columns = ("Point", "Readings outside", "Gravest", "How often", "How long")
    return FindingPage("worst", "Standing out", columns, rows, told, YARDSTICKS)


def _worst_words(plant: Plant, one: PointCount) -> str:
    words = f"{_point(plant, one.key)}: went in or out {one.turns} times"
    if one.chatter:
        words += f", in {one.chatter} stretches of eight readings three times or more"
    if one.longest is not None:
        words += f"; the longest deviation lasted {duration_text(one.longest.duration)}"
    return f"{words}."


def _longest_page(found: Offenders) -> FindingPage:
    plant = found.plant
    rows = tuple(
        FindingRow(
            (
                _point(plant, key),
                f"{run.severity.name.lower()} {run.direction.name.lower()}",
                drift_words.moment_text(plant, run.start),
                drift_words.moment_text(plant, run.end) if run.end else "still open",
                duration_text(run.duration),
            ),
            f"{_point(plant, key)}: {_readings(run.count)} outside, the worst {run.worst_value:g}.",
            key,
            run.worst_at,
        )
        for key, run in found.longest
    )
    columns = ("Point", "Deviation", "From", "To", "Lasted")
    told = f"The {len(rows)} deviations that lasted longest." if rows else "No deviation."
    return FindingPage("longest", "Longest", columns, rows, told)


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


def _limit_page(found: Offenders) -> FindingPage:
    plant = found.plant
    rows = tuple(_limit_row(plant, one, found.end) for one in found.limits)
    often = len(found.limits_with(LimitFault.ALWAYS))
    told = f"{often} limits flag all the time, {len(found.limits) - often} never flag."
    columns = ("Point", "Limit", "What is wrong", "Readings outside", "Proposal")
    return FindingPage("limits", "Limits", columns, rows, told, PROPOSALS)


def _limit_row(plant: Plant, one: LimitUse, at: datetime) -> FindingRow:
    by_key = {point.key: point for point in plant.points}
    point, comma = by_key[one.key], plant.settings.decimal_comma
    limit = number_text(point, one.limit, decimal_comma=comma)
    proposed = ""
    if one.proposed is not None:
        proposed = f"{number_text(point, one.proposed, decimal_comma=comma)} {point.unit}".rstrip()
    return FindingRow(
        (
            _point(plant, one.key),
            f"{one.edge.replace('_', ' ')} {limit} {point.unit}".rstrip(),
            one.fault.value,
            f"{one.outside} of {one.readings}",
            proposed or "none from the readings",
        ),
        f"{_point(plant, one.key)}: {one.reason}",
        one.key,
        at,
    )


def _answer_page(found: Offenders) -> FindingPage:
    names = {area.key: area.name for area in found.plant.areas}
    rows = tuple(
        FindingRow(
            (
                names.get(one.area, one.area),
                str(one.deviations),
                f"{one.answered}, {100 * one.answered / one.deviations:.0f} %",
                "" if one.median_minutes is None else f"{one.median_minutes:.0f} min",
            ),
            f"{names.get(one.area, one.area)}: {one.deviations - one.answered} of "
            f"{one.deviations} deviations beyond an action limit were not answered.",
        )
        for one in found.responses
    )
    total, answered = (sum(getattr(r, n) for r in found.responses) for n in _COUNTS)
    told = f"{answered} of {total} deviations beyond an action limit were answered."
    columns = ("Area", "Beyond action", "Answered", "Median time to the answer")
    return FindingPage("answers", "Answers", columns, rows, told)


_COUNTS = ("deviations", "answered")
YARDSTICKS = (
    "The yardsticks are those of alarm management, carried over to rounds; a reading typed by hand "
    "is no alarm."
)
PROPOSALS = (
    "A proposal from the readings is no more than that: a limit that protects people or the plant "
    "stays where its reason put it. Limits are changed by an engineer, with a reason."
)


def duration_text(length: timedelta) -> str:
    """A length of time in the unit that suits it: "90 min", "14 h", "3.5 days"."""
    hours = length / timedelta(hours=1)
    if hours < 2.0:
        return f"{length / timedelta(minutes=1):.0f} min"
    return f"{hours:.0f} h" if hours < 48.0 else f"{hours / 24.0:.1f} days"


def _point(plant: Plant, key: str) -> str:
    return next((point_name(plant, point) for point in plant.points if point.key == key), key)


def _name(plant: Plant, person: str | None) -> str:
    return "" if person is None else person_name(plant, person)
