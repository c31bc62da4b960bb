from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.localtime import (
    Ambiguous,
    DoesNotExist,
    Instant,
    NotATime,
    is_skipped,
    local_label,
    parse_local,
    to_local,
    to_utc,
)

CHICAGO = "America/Chicago"
ZONES = (CHICAGO, "Europe/Dublin", "Australia/Lord_Howe", "America/Sao_Paulo", "Asia/Kolkata")


def utc(*parts):
    """An instant in UTC."""
    return datetime(*parts, tzinfo=UTC)


@pytest.mark.parametrize(
    ("instant", "zone", "label"),
    [
        (utc(2026, 11, 1, 5, 59), CHICAGO, "00:59"),
        (utc(2026, 11, 1, 6), CHICAGO, "01:00 CDT"),
        (utc(2026, 11, 1, 7), CHICAGO, "01:00 CST"),
        (utc(2026, 11, 1, 8), CHICAGO, "02:00"),
        (utc(2026, 3, 8, 7, 59), CHICAGO, "01:59"),
        (utc(2026, 3, 8, 8), CHICAGO, "03:00"),
        (utc(2026, 4, 4, 14, 45), "Australia/Lord_Howe", "01:45 UTC+11:00"),
        (utc(2026, 4, 4, 15, 15), "Australia/Lord_Howe", "01:45 UTC+10:30"),
        (utc(2018, 2, 18, 1, 30), "America/Sao_Paulo", "23:30 UTC-02:00"),
        (utc(2014, 10, 25, 21, 30), "Europe/Moscow", "01:30 UTC+04:00"),
        (utc(2026, 7, 1, 0, 0, 5), "UTC", "00:00:05"),
    ],
)
def test_a_label_names_the_zone_only_where_the_time_comes_twice(instant, zone, label):
    """Letters where the zone has any that differ, else the offset."""
    assert local_label(instant, zone) == label


@pytest.mark.parametrize("text", ["6:05", "06:05", "0605", "605", "6.05", " 06:05 ", "０６：０５"])
def test_a_time_of_day_is_read_in_the_ways_people_type_it(text):
    """With colon, point or nothing between; full-width too."""
    assert parse_local(date(2026, 6, 1), text, CHICAGO) == Instant(utc(2026, 6, 1, 11, 5))


def test_an_hour_alone_is_the_full_hour():
    """Of "6" becomes 06:00."""
    assert parse_local(date(2026, 6, 1), "6", CHICAGO) == Instant(utc(2026, 6, 1, 11))


@pytest.mark.parametrize(
    "text", ["", "x", "24:00", "6:60", "6:5", "1:2:3", "-1", "25", "06:00 CST"]
)
def test_what_is_no_time_of_day_is_refused_with_a_sentence(text):
    """Hours past 23, minutes past 59, letters, and a zone name that does not hold in June."""
    found = parse_local(date(2026, 6, 1), text, CHICAGO)
    assert isinstance(found, NotATime)
    assert found.sentence.endswith(".")


def test_a_time_that_comes_twice_is_asked_about():
    """Both instants are given, an hour apart, with a sentence that says what to type."""
    found = parse_local(date(2026, 11, 1), "01:30", CHICAGO)
    sentence = "01:30 comes twice on 2026-11-01: type 01:30 CDT or 01:30 CST."
    assert found == Ambiguous(utc(2026, 11, 1, 6, 30), utc(2026, 11, 1, 7, 30), sentence)


@pytest.mark.parametrize(("text", "hour"), [("01:30 CDT", 6), ("01:30 cst", 7), ("1:30 CST", 7)])
def test_the_zone_name_says_which_of_two_is_meant(text, hour):
    """As the label writes it, in any case."""
    assert parse_local(date(2026, 11, 1), text, CHICAGO) == Instant(utc(2026, 11, 1, hour, 30))


def test_a_zone_name_that_is_neither_of_the_two_is_refused():
    """The sentence names both that are."""
    found = parse_local(date(2026, 11, 1), "01:30 EST", CHICAGO)
    assert isinstance(found, NotATime)
    assert "01:30 CDT or 01:30 CST" in found.sentence


@pytest.mark.parametrize(
    ("zone", "day", "text", "resumes", "again"),
    [
        (CHICAGO, date(2026, 3, 8), "02:30", utc(2026, 3, 8, 8), "03:00"),
        (CHICAGO, date(2026, 3, 8), "02:00", utc(2026, 3, 8, 8), "03:00"),
        (CHICAGO, date(2026, 3, 8), "02:59", utc(2026, 3, 8, 8), "03:00"),
        ("Australia/Lord_Howe", date(2026, 10, 4), "02:15", utc(2026, 10, 3, 15, 30), "02:30"),
        ("America/Sao_Paulo", date(2018, 11, 4), "00:30", utc(2018, 11, 4, 3), "01:00"),
        ("Pacific/Apia", date(2011, 12, 30), "12:00", utc(2011, 12, 30, 10), "00:00"),
    ],
)
def test_a_time_that_does_not_exist_names_the_first_that_does(zone, day, text, resumes, again):
    """The instant of the change, and its local time in the sentence."""
    found = parse_local(day, text, zone)
    assert isinstance(found, DoesNotExist)
    assert found.next == resumes
    assert found.sentence.endswith(f"the clocks go forward to {again}.")


def test_the_edges_of_gap_and_fold_are_single():
    """01:59 and 03:00 exist in spring; 00:59 and 02:00 come once in autumn."""
    spring, autumn = date(2026, 3, 8), date(2026, 11, 1)
    assert parse_local(spring, "01:59", CHICAGO) == Instant(utc(2026, 3, 8, 7, 59))
    assert parse_local(spring, "03:00", CHICAGO) == Instant(utc(2026, 3, 8, 8))
    assert parse_local(autumn, "00:59", CHICAGO) == Instant(utc(2026, 11, 1, 5, 59))
    assert parse_local(autumn, "02:00", CHICAGO) == Instant(utc(2026, 11, 1, 8))


@given(
    zone=st.sampled_from(ZONES),
    minutes=st.integers(0, 366 * 24 * 60),
    year=st.integers(1990, 2036),
)
@settings(max_examples=400, deadline=None)
def test_a_label_read_back_on_its_date_gives_the_instant(zone, minutes, year):
    """What is shown can be typed, in the doubled hour too."""
    instant = utc(year, 1, 1) + timedelta(minutes=minutes)
    day = to_local(instant, zone).date()
    assert parse_local(day, local_label(instant, zone), zone) == Instant(instant)


@given(text=st.text(max_size=12), day=st.dates(date(1990, 1, 1), date(2036, 1, 1)))
@settings(max_examples=200, deadline=None)
def test_no_text_makes_reading_a_time_raise(text, day):
    """Whatever is typed, there is an answer."""
    kinds = (Instant, Ambiguous, DoesNotExist, NotATime)
    assert isinstance(parse_local(day, text, CHICAGO), kinds)


def test_a_skipped_time_is_taken_as_shifted_forward_and_a_doubled_one_as_the_first():
    """The rule of PEP 495 for fold=0, which shift bounds follow."""
    assert to_utc(date(2026, 3, 8), time(2, 30), CHICAGO) == utc(2026, 3, 8, 8, 30)
    assert to_utc(date(2026, 11, 1), time(1, 30), CHICAGO) == utc(2026, 11, 1, 6, 30)
    assert to_utc(date(2026, 11, 1), time(1, 30, fold=1), CHICAGO) == utc(2026, 11, 1, 6, 30)
    assert is_skipped(date(2026, 3, 8), time(2, 30), CHICAGO)
    assert not is_skipped(date(2026, 11, 1), time(1, 30), CHICAGO)


def test_a_naive_instant_has_no_local_time():
    """It is refused instead of read in the zone of the machine."""
    with pytest.raises(ValueError, match="needs a time zone"):
        to_local(utc(2026, 1, 1).replace(tzinfo=None), CHICAGO)
