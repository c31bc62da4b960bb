"""How the crews keep their book: mostly quiet, by the crew on shift, and open at its end."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from logbook.assess.limits import classify, classify_choice
from logbook.plant.calendar import shift_at, shifts_between
from logbook.plant.model import Plant, Point, PointKind
from logbook.plant.rounds import round_at, rounds_of
from logbook.record import Book, Reading
from sample_db.story import Span, Story

DAY = timedelta(days=1)


def points_at(book: Book, instant: datetime) -> dict[str, Point]:
    """The points then, by key."""
    return {p.key: p for p in book.plant_at(instant).points}


def code_of(points: dict[str, Point], reading: Reading) -> int | None:
    """Severity of a reading, 0 to 2; None where it is not judged."""
    point = points[reading.point]
    if reading.text is not None:
        judgement = classify_choice(point, reading.text)
        return int(judgement.severity) if judgement.is_judged else None
    judgement = classify(reading.value, point.limits_in(reading.mode))
    return int(judgement.severity) if judgement.is_judged else None


def test_ordinary_nights_are_mostly_quiet(book: Book, plant: Plant, story: Story) -> None:
    """1.5 to 6 % of what is judged lies outside the warning limits, one in a thousand beyond action."""
    codes: list[int] = []
    nights = [
        shift
        for shift in shifts_between(plant.calendar, story.start, story.end)
        if shift.pattern == "N"
    ]
    for shift in nights[5:-2:13]:
        points = points_at(book, shift.start)
        for reading in book.readings(None, shift.start, shift.end):
            code = code_of(points, reading) if reading.mode == "normal" else None
            if code is not None:
                codes.append(code)
    found = np.array(codes)
    assert len(found) > 15_000
    assert 0.015 < (found > 0).mean() < 0.06
    assert (found == 2).mean() < 0.002


def test_rounds_are_written_by_the_crew_on_shift(book: Book, plant: Plant, story: Story) -> None:
    """Every round page is by a member of the crew whose shift the round belongs to."""
    crews = {p.key: p.crew for p in plant.people}
    for shift in shifts_between(plant.calendar, story.start + 30 * DAY, story.start + 60 * DAY):
        for rnd in rounds_of(shift, plant.settings.round_hours):
            writers = {r.person for r in book.of_round(rnd.at).values() if not r.corrected}
            assert {crews[w] for w in writers} <= {shift.crew}
            assert len(writers) <= 1


def test_a_round_is_one_page(book: Book, story: Story) -> None:
    """All readings of a round, corrections apart, were saved together."""
    start = story.start + 100 * DAY
    pages: dict[object, set[int]] = {}
    for reading in book.readings(None, start, start + 10 * DAY):
        if reading.round_at is not None and not reading.corrected:
            pages.setdefault(reading.round_at, set()).add(reading.page)
    assert len(pages) > 100
    assert all(len(found) == 1 for found in pages.values())


def test_rounds_are_entered_later_at_night(book: Book, plant: Plant, story: Story) -> None:
    """The middle delay of a round is a few minutes by day and longer by night, under half an hour."""
    zone = ZoneInfo(plant.time_zone)
    waits: dict[bool, list[float]] = {True: [], False: []}
    for reading in book.readings(["bean_feed_rate"], story.start, story.end):
        if reading.round_at is not None and not reading.corrected:
            night = not 6 <= reading.round_at.astimezone(zone).hour < 18
            waits[night].append((reading.written_at - reading.round_at).total_seconds() / 60.0)
    day, night = float(np.median(waits[False])), float(np.median(waits[True]))
    assert 4.0 < day < night < 31.0


def test_values_are_typed_with_the_decimals_of_their_point(
    book: Book, plant: Plant, story: Story
) -> None:
    """What was typed reads back as the value, with as many decimals as the point has."""
    decimals = {p.key: p.decimals for p in plant.points if p.kind is not PointKind.LAB}
    start = story.start + 200 * DAY
    for reading in book.readings(list(decimals), start, start + 3 * DAY):
        if reading.value is None or reading.corrected:
            continue
        assert float(reading.typed) == reading.value
        assert len(reading.typed.partition(".")[2]) == decimals[reading.point], reading


def test_most_action_deviations_are_answered(book: Book, story: Story) -> None:
    """Of the readings beyond an action limit in the last two months, most runs have a response, not all."""
    start, end = story.end - 60 * DAY, story.end
    points = points_at(book, end)
    beyond = [r for r in book.readings(None, start, end) if code_of(points, r) == 2]
    runs, last = [], {}
    for reading in beyond:
        before = last.get(reading.point)
        last[reading.point] = reading.taken_at
        if before is None or reading.taken_at - before > timedelta(hours=13):
            runs.append(reading.id)
    answered = sum(bool(found) for found in book.responses(runs).values())
    assert 0.6 * len(runs) < answered < len(runs)
    assert all(r.text for found in book.responses(runs).values() for r in found)


# ------------------------------------------------------------------ (m) the end


def test_the_round_now_due_is_not_written_yet(book: Book, plant: Plant, story: Story) -> None:
    """The book ends in the middle of a shift, minutes after a round fell due."""
    now = round_at(plant.calendar, plant.settings, story.end)
    shift = shift_at(plant.calendar, story.end)
    assert shift.start < now.at < shift.end
    assert story.end - now.at < timedelta(minutes=10)
    assert not book.of_round(now.at)
    assert len(book.of_round(now.at - timedelta(hours=2))) > 80
    assert book.last_page().written_at <= story.end


def last_night(book: Book, story: Story) -> tuple[Span, list[Reading]]:
    """The last whole shift and its round readings as they stand."""
    assert story.last_shift is not None
    shift = story.last_shift
    found = book.readings(None, shift.start, shift.end)
    return shift, [r for r in found if r.round_at is not None]


def test_the_last_whole_shift_has_exceptions_of_every_kind(book: Book, story: Story) -> None:
    """A handful of action and warning readings, one missing, one late round, one correction."""
    shift, found = last_night(book, story)
    points = points_at(book, shift.start)
    codes = [code_of(points, r) for r in found]
    assert 2 <= codes.count(2) <= 6
    assert 8 <= codes.count(1) <= 60
    missing = [r for r in found if r.reason]
    assert [(r.point, r.reason) for r in missing] == [("separator_interface", "instrument_fault")]
    assert len({r.round_at for r in found if r.late and not r.corrected}) == 1
    corrected = [r for r in found if r.corrected]
    assert [r.point for r in corrected] == ["full_miscella_oil"]
    assert corrected[0].why


def test_an_action_deviation_of_the_last_shift_is_still_unanswered(
    book: Book, story: Story
) -> None:
    """Something is left for the supervisor to ask about, and something was answered."""
    shift, found = last_night(book, story)
    points = points_at(book, shift.start)
    beyond = [r.id for r in found if code_of(points, r) == 2]
    answered = book.responses(beyond)
    assert 0 < len(answered) < len(beyond)
