"""A plant in the book: exact round trip, revisions, and what held when."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern
from logbook.plant.model import (
    Area,
    Choice,
    Computation,
    Equipment,
    Formula,
    Frequency,
    GridPlace,
    Header,
    Limits,
    Mode,
    Often,
    Person,
    Plant,
    Point,
    PointKind,
    PointTable,
    Role,
    Settings,
    TankTable,
    Weight,
)
from logbook.record import BookError, LimitRow, WriteRefused
from logbook.record.codec import decode, encode
from logbook.record.definitions import CLASSES, LIMIT_FIELDS, Described, assembled, described

WORDS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
KEYS = st.text("abcdefghij_0123456789", min_size=1, max_size=6)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
LIMITS = st.builds(Limits, **dict.fromkeys(Limits.__slots__, st.none() | NUMBERS))
FREQUENCIES = st.builds(Frequency, st.sampled_from(Often), st.integers(0, 24))
CHOICES = st.builds(Choice, KEYS, WORDS, st.sampled_from(Weight), st.booleans())


def few(strategy, size: int = 3):
    return st.lists(strategy, max_size=size).map(tuple)


def keyed(strategy, size: int = 4):
    return st.lists(strategy, max_size=size, unique_by=lambda record: record.key).map(tuple)


POINTS = st.builds(
    Point,
    key=KEYS,
    name=WORDS,
    area=KEYS,
    kind=st.sampled_from(PointKind),
    equipment=st.none() | KEYS,
    place=st.none() | st.builds(GridPlace, KEYS, KEYS, KEYS),
    unit=WORDS,
    decimals=st.integers(0, 6),
    frequency=FREQUENCIES,
    tag=WORDS,
    limits=LIMITS,
    limits_by_mode=st.dictionaries(KEYS, LIMITS, max_size=2),
    choices=few(CHOICES),
    formula=st.none() | st.builds(Formula, st.sampled_from(Computation), few(KEYS)),
    rollover=st.none() | NUMBERS,
    tank=st.none() | st.builds(TankTable, few(NUMBERS), few(NUMBERS), st.booleans()),
    caution=WORDS,
    silent_modes=few(KEYS),
)
DATES = st.dates(date(2000, 1, 1), date(2100, 1, 1))
CALENDARS = st.builds(
    ShiftCalendar,
    time_zone=st.sampled_from(["UTC", "Etc/GMT+5"]),
    shifts=few(st.builds(ShiftPattern, KEYS, WORDS, st.times(), st.times())),
    crews=few(st.builds(Crew, KEYS, WORDS, st.integers(-40, 40))),
    roster=few(KEYS, 8),
    anchor=DATES,
    exceptions=st.dictionaries(st.tuples(DATES, KEYS), st.none() | KEYS, max_size=3),
)
HEADERS = few(st.builds(Header, KEYS, WORDS, st.none() | KEYS))
PLANTS = st.builds(
    Plant,
    key=KEYS,
    name=WORDS,
    description=WORDS,
    settings=st.builds(
        Settings,
        round_hours=st.floats(0.25, 12),
        grace_minutes=st.integers(0, 600),
        hide_last_value=st.booleans(),
        decimal_comma=st.booleans(),
        barometer_kpa=st.floats(60, 110),
    ),
    calendar=CALENDARS,
    areas=keyed(st.builds(Area, KEYS, WORDS, WORDS)),
    equipment=keyed(st.builds(Equipment, KEYS, WORDS, KEYS, WORDS)),
    tables=keyed(st.builds(PointTable, KEYS, WORDS, KEYS, HEADERS, HEADERS)),
    points=keyed(POINTS),
    modes=keyed(st.builds(Mode, KEYS, WORDS)),
    people=keyed(st.builds(Person, KEYS, WORDS, st.sampled_from(Role), st.none() | KEYS)),
)


@settings(max_examples=150)
@given(PLANTS)
def test_any_plant_survives_json_exactly(plant):
    """Taken apart, written as JSON, read and put together, a plant equals itself."""
    parts = described(plant)
    through = {}
    for (kind, key), record in parts.definitions.items():
        left_out = LIMIT_FIELDS if kind == "point" else frozenset()
        through[kind, key] = decode(CLASSES[kind], encode(record, left_out))
    assert assembled(Described(through, parts.limits)) == plant


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(plants=st.lists(PLANTS, min_size=2, max_size=4))
def test_any_sequence_of_plants_is_read_back_at_each_time(new_book, tmp_path, clock, plants):
    """After several revisions each plant is what held in its own hours, exactly."""
    path = tmp_path / f"{len(list(tmp_path.iterdir()))}.book"
    start = clock.now
    with new_book(path, plants[0]) as book:
        for number, plant in enumerate(plants[1:], start=1):
            book.revise("eva", plant, effective_from=start + timedelta(hours=number), reason="x")
        for number, plant in enumerate(plants):
            assert book.plant_at(start + timedelta(hours=number)) == plant
            assert book.plant_at(start + timedelta(hours=number, minutes=59)) == plant


def test_the_first_plant_is_also_what_held_before(book, plant, hours):
    """Before the first definition the first one answers, so old readings have a calendar."""
    assert book.plant_at(hours(-1000)) == plant


def test_a_revision_writes_only_what_differs(book, plant, hours):
    """One changed limit of one point is one row."""
    points = tuple(
        replace(p, limits=replace(p.limits, warning_high=108.0)) if p.key == "toaster_t" else p
        for p in plant.points
    )
    saved = book.revise(
        "eva", replace(plant, points=points), effective_from=hours(2), reason="trial showed it"
    )
    assert dict(saved.counts) == {"limit_set": 1}
    assert book.plant_at(hours(1)) == plant
    assert book.plant_at(hours(2)).point("toaster_t").limits.warning_high == 108.0
    assert [r.reason for r in book.revisions() if r.page == saved.page] == ["trial showed it"]


def test_a_revision_that_changes_nothing_writes_nothing(book, plant, hours, clock):
    """The same plant again is no page."""
    assert book.revise("eva", plant, effective_from=hours(1), reason="again") is None
    assert len(book.pages(clock.now - timedelta(days=1), clock.now + timedelta(days=1))) == 1


def test_an_added_and_a_dropped_point_write_their_rows_and_the_order(book, plant, hours):
    """A new point gets a number; a dropped one is withdrawn and stays readable before."""
    new = Point(key="new", name="New", area="toaster", limits=Limits(target=1.0))
    points = (new, *(p for p in plant.points if p.key != "level"))
    changed = replace(plant, points=points)
    saved = book.revise("eva", changed, effective_from=hours(3), reason="rebuilt")
    assert dict(saved.counts) == {"point": 1, "definition": 3, "limit_set": 1}
    assert book.plant_at(hours(3)) == changed
    assert book.plant_at(hours(2)) == plant


def test_only_the_order_changed_is_one_row(book, plant, hours):
    """Points moved about are the same points."""
    changed = replace(plant, points=tuple(reversed(plant.points)))
    saved = book.revise("eva", changed, effective_from=hours(1), reason="walking order")
    assert dict(saved.counts) == {"definition": 1}
    assert book.plant_at(hours(1)) == changed


def test_readings_of_a_withdrawn_point_can_still_be_asked_for(book, plant, hours):
    """What was read stays readable by its key after the point is gone."""
    from logbook.record import NewReading

    book.write("anna", [NewReading("level", hours(0), value=5.0)])
    gone = replace(plant, points=tuple(p for p in plant.points if p.key != "level"))
    book.revise("eva", gone, effective_from=hours(0), reason="removed")
    assert list(book.series(["level"], hours(0), hours(1))["level"].value) == [5.0]


def test_limits_of_a_mode_can_be_taken_back(book, plant, hours):
    """From then on the mode has those of the normal mode, and the history says so."""
    points = tuple(replace(p, limits_by_mode={}) for p in plant.points)
    changed = replace(plant, points=points)
    book.revise("eva", changed, effective_from=hours(5), reason="one set is enough")
    assert book.plant_at(hours(5)) == changed
    assert book.limit_history(["toaster_t"]) == [
        LimitRow("toaster_t", "normal", hours(0), plant.point("toaster_t").limits),
        LimitRow("toaster_t", "startup", hours(0), Limits(warning_low=60.0, warning_high=110.0)),
        LimitRow("toaster_t", "startup", hours(5), None),
    ]


def test_of_two_revisions_with_one_instant_the_later_written_holds(book, plant, hours):
    """A slip can be put right with the same effective time."""
    for value in (107.0, 108.0):
        points = tuple(
            replace(p, limits=Limits(warning_high=value)) if p.key == "toaster_t" else p
            for p in plant.points
        )
        book.revise("eva", replace(plant, points=points), effective_from=hours(2), reason="x")
    rows = [r for r in book.limit_history(["toaster_t"]) if r.mode == "normal"]
    assert [r.limits.warning_high for r in rows] == [110.0, 108.0]
    assert book.plant_at(hours(2)).point("toaster_t").limits.warning_high == 108.0


def test_a_reader_that_knows_limits_sees_those_revised_since(book, plant, hours):
    """Also those of a point that it has never heard of, and never an empty list for a slip."""
    reader = book.reader()
    before = reader.limit_history(["toaster_t"])
    assert reader.limit_history(["toaster_t"]) == before
    with pytest.raises(BookError):
        reader.limit_history(["new_point"])
    toaster = plant.point("toaster_t")
    hot = replace(toaster, limits=replace(toaster.limits, action_high=999.0))
    added = replace(toaster, key="new_point")
    points = tuple(hot if one is toaster else one for one in plant.points)
    book.revise(
        "anna", replace(plant, points=(*points, added)), effective_from=hours(1), reason="x"
    )
    after = reader.limit_history(["toaster_t", "new_point"])
    assert [row for row in after if row.point == "toaster_t"] != before
    assert {row.point for row in after} == {"toaster_t", "new_point"}
    reader.close()


def test_a_planned_change_is_not_overtaken_by_an_earlier_one(book, plant, hours):
    """A change before one already planned of the same thing is refused, naming both."""
    later = replace(plant, settings=Settings(grace_minutes=30))
    book.revise("eva", later, effective_from=hours(48), reason="from Wednesday")
    sooner = replace(plant, settings=Settings(grace_minutes=90))
    with pytest.raises(
        WriteRefused, match="settings settings already has a change from 2026-03-04"
    ):
        book.revise("eva", sooner, effective_from=hours(24), reason="no, now")
    other = replace(plant, areas=(*plant.areas, Area("boiler", "Boiler")))
    assert book.revise("eva", other, effective_from=hours(24), reason="new area") is not None
    assert book.plant_at(hours(50)) == replace(other, settings=later.settings)


@pytest.mark.parametrize("reason", ["", "  \n"])
def test_a_revision_needs_a_reason(book, plant, hours, reason):
    """Limits do not change without a word why."""
    with pytest.raises(WriteRefused, match="needs some words"):
        book.revise("eva", replace(plant, name="Other"), effective_from=hours(1), reason=reason)
    assert book.plant_at(hours(2)) == plant


def test_a_key_that_occurs_twice_is_refused(new_book, plant, path):
    """Two points of one key could not be told apart; no file is left behind."""
    with pytest.raises(WriteRefused, match="point level occurs twice"):
        new_book(what=replace(plant, points=(*plant.points, plant.point("level"))))
    assert [f.name for f in path.parent.iterdir()] == ["plant.book.lock"]


def test_normal_limits_given_twice_are_refused(new_book, plant):
    """The plain limits are those of the normal mode."""
    twice = replace(plant.points[0], limits_by_mode={"normal": Limits(target=1.0)})
    with pytest.raises(WriteRefused, match="twice"):
        new_book(what=replace(plant, points=(twice,)))


def test_a_number_that_json_has_not_is_refused(new_book, plant):
    """Infinity has no place in a definition."""
    odd = replace(plant.points[0], rollover=float("inf"))
    with pytest.raises(WriteRefused, match="number of level is not finite"):
        new_book(what=replace(plant, points=(odd,)))


def test_a_body_written_before_a_field_existed_takes_its_default():
    """Books stay readable when the model grows."""
    assert decode(Area, '{"key": "a", "name": "A"}') == Area("a", "A", "")
    assert decode(Area, '{"key": "a", "name": "A", "later": 1}') == Area("a", "A", "")


def test_effective_from_can_lie_before_the_book(new_book, plant):
    """For an import of old readings, the first definition may hold earlier."""
    long_ago = datetime(2020, 1, 1, tzinfo=UTC)
    book = new_book(effective_from=long_ago)
    assert book.limit_history(["meal_moisture"])[0].effective_from == long_ago


def test_an_unknown_point_is_named(book, hours):
    """Asking for a point that never was says which."""
    with pytest.raises(BookError, match="no point boiler_p"):
        book.series(["boiler_p"], hours(0), hours(1))


def test_times_of_day_survive_to_the_microsecond():
    """A shift pattern is kept as it is."""
    pattern = ShiftPattern("D", "Day", time(5, 59, 59, 999999), time(18))
    assert decode(ShiftPattern, encode(pattern)) == pattern


def test_of_two_seats_with_one_effective_time_the_later_written_holds(
    book, plant, reopen, hours, clock
):
    """The ids of seats do not tell which change was later; the time of writing does."""
    cabin = reopen(seat_name="Cabin")
    for seat, grace in ((cabin, 30), (book, 90)):
        clock.advance(minutes=1)
        changed = replace(plant, settings=Settings(grace_minutes=grace))
        seat.revise("eva", changed, effective_from=hours(5), reason="trial")
        assert book.plant_at(hours(5)) == changed


def test_a_revision_that_would_not_hold_is_refused(book, plant, reopen, hours, clock):
    """A seat whose clock is behind cannot change what a seat ahead has set for the same instant."""
    cabin = reopen(seat_name="Cabin")
    clock.advance(minutes=10)
    ahead = replace(plant, settings=Settings(grace_minutes=30))
    cabin.revise("eva", ahead, effective_from=hours(5), reason="trial")
    clock.advance(minutes=-10)
    with pytest.raises(WriteRefused, match="begin a minute later"):
        book.revise("eva", plant, effective_from=hours(5), reason="back")
    assert book.plant_at(hours(5)) == ahead
    later = hours(5) + timedelta(minutes=1)
    book.revise("eva", plant, effective_from=later, reason="back")
    assert book.plant_at(later) == plant
