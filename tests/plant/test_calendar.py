from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from types import MappingProxyType
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.calendar import (
    Crew,
    ShiftCalendar,
    ShiftPattern,
    check_calendar,
    next_shift,
    previous_shift,
    shift_at,
    shift_on,
    shifts_between,
)

TWELVE = (
    ShiftPattern("D", "Day", time(6), time(18)),
    ShiftPattern("N", "Night", time(18), time(6)),
)
EIGHT = (
    ShiftPattern("M", "Morning", time(6), time(14)),
    ShiftPattern("A", "Afternoon", time(14), time(22)),
    ShiftPattern("N", "Night", time(22), time(6)),
)
UNEQUAL = (
    ShiftPattern("E", "Early", time(5, 30), time(12)),
    ShiftPattern("L", "Late", time(12), time(21, 15)),
    ShiftPattern("N", "Night", time(21, 15), time(5, 30)),
)
ZONES = (
    "America/Chicago",
    "America/Sao_Paulo",
    "America/St_Johns",
    "America/Havana",
    "Asia/Beirut",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/Berlin",
    "Pacific/Apia",
    "UTC",
)


def calendar(zone="America/Chicago", shifts=TWELVE, roster="DDNNOOOO", offsets=(0, 2, 4, 6), **kw):
    """A calendar whose crews 1, 2, ... have these places in the roster."""
    crews = tuple(Crew(str(k), f"Crew {k}", place) for k, place in enumerate(offsets, start=1))
    anchor = kw.pop("anchor", date(2026, 1, 1))
    return ShiftCalendar(
        time_zone=zone,
        shifts=shifts,
        crews=crews,
        roster=tuple(roster.replace(" ", "")),
        anchor=anchor,
        **kw,
    )


def utc(*parts):
    """An instant in UTC."""
    return datetime(*parts, tzinfo=UTC)


# -- rosters ------------------------------------------------------------------------------

ROSTERS = {
    "2-2-3, two weeks each": (TWELVE, "DDOODDD OODDOOO NNOONNN OONNOOO", (0, 7, 14, 21), 3),
    "2-2-3, fast": (TWELVE, "DDOONNN OODDOOO NNOODDD OONNOOO", (0, 7, 14, 21), 3),
    "4 on 4 off, blocks": (TWELVE, "DDDDOOOO NNNNOOOO", (0, 4, 8, 12), 4),
    "4 on 4 off, 2D2N": (TWELVE, "DDNNOOOO", (0, 2, 4, 6), 4),
    "1-1-2": (TWELVE, "DNOO", (0, 1, 2, 3), 2),
    "7-day break": (TWELVE, "NNNNOOO DDDONNN OOODDDD OOOOOOO", (0, 7, 14, 21), 4),
    "continental 2-2-3": (EIGHT, "MMAANNN OOMMAAA NNOOMMM AANNOOO", (0, 7, 14, 21), 7),
    "2-2-2": (EIGHT, "MMAANNOO", (0, 2, 4, 6), 6),
    "6 and 2": (EIGHT, "MMMMMMOO AAAAAAOO NNNNNNOO", (0, 6, 12, 18), 6),
    "7-2 / 7-2 / 7-3": (EIGHT, "MMMMMMMOO AAAAAAAOO NNNNNNNOOO", (0, 7, 14, 21), 7),
}


def fixed_roster():
    """2-2-3 with fixed days and nights: two crews on days, two on nights with a cycle of theirs."""
    nights = tuple("NNOONNNOONNOOO")
    crews = (
        Crew("1", "Days 1", 0),
        Crew("2", "Days 2", 7),
        Crew("3", "Nights 1", 0, nights),
        Crew("4", "Nights 2", 7, nights),
    )
    return ShiftCalendar(
        time_zone="UTC",
        shifts=TWELVE,
        crews=crews,
        roster=tuple("DDOODDDOODDOOO"),
        anchor=date(2026, 1, 5),
    )


def every_roster():
    """Calendars by name with the longest run of work days of one crew."""
    table = {k: (calendar("UTC", s, r, o), run) for k, (s, r, o, run) in ROSTERS.items()}
    return {**table, "2-2-3, fixed": (fixed_roster(), 3)}


@pytest.mark.parametrize("name", every_roster())
def test_every_roster_of_the_trade_puts_exactly_one_crew_on_each_shift(name):
    """Over two cycles, each shift of each day has one crew and no crew works twice a day."""
    plan, _ = every_roster()[name]
    assert check_calendar(plan) == []
    for k in range(2 * len(plan.roster)):
        day = plan.anchor + timedelta(days=k)
        on = [shift_on(plan, day, pattern.key).crew for pattern in plan.shifts]
        rostered = [crew.key for crew in plan.crews if plan.day_of(crew, day) != "O"]
        assert sorted(on) == sorted(rostered)
        assert len(set(on)) == len(plan.shifts)


@pytest.mark.parametrize("name", every_roster())
def test_every_roster_of_the_trade_averages_42_hours_a_week_for_each_crew(name):
    """Hours worked over lcm(cycle, 7 days) come to 42 a week, and the longest run is as stated."""
    plan, longest = every_roster()[name]
    days = len(plan.roster) * 7
    for crew in plan.crews:
        hours, run, runs = 0.0, 0, []
        for k in range(days):
            day = plan.anchor + timedelta(days=k)
            mine = [s for p in plan.shifts if (s := shift_on(plan, day, p.key)).crew == crew.key]
            hours += sum(shift.length / timedelta(hours=1) for shift in mine)
            run = run + 1 if mine else 0
            runs.append(run)
        assert hours / (days / 7) == 42.0
        assert max(runs) == longest


def test_the_roster_counts_local_dates_and_not_elapsed_days():
    """1 July is day 181 after 1 January though only 180.96 days have passed at 06:00 local."""
    plan = calendar(roster="DNOO", offsets=(0, 1, 2, 3))
    early = shift_at(plan, datetime(2026, 7, 1, 6, tzinfo=ZoneInfo("America/Chicago")))
    elapsed = early.start - shift_on(plan, date(2026, 1, 1), "D").start
    assert elapsed < timedelta(days=181)
    assert early.crew == "4"  # 181 = 1 (mod 4): who was on place 3 is on place 0


def test_an_exception_replaces_the_crew_of_one_shift_only():
    """A swap by date and shift key names another crew, or nobody; its neighbours keep theirs."""
    swaps = MappingProxyType({(date(2026, 1, 1), "D"): "3", (date(2026, 1, 2), "N"): None})
    plan, plain = calendar(exceptions=swaps), calendar()
    assert shift_on(plan, date(2026, 1, 1), "D").crew == "3"
    assert shift_on(plan, date(2026, 1, 2), "N").crew is None
    for day, key in ((date(2026, 1, 1), "N"), (date(2026, 1, 2), "D")):
        assert shift_on(plan, day, key) == shift_on(plain, day, key)


def test_calendars_that_differ_only_in_exceptions_do_not_share_results():
    """The cache tells apart two calendars with the same hash."""
    swapped = calendar(exceptions={(date(2026, 1, 1), "D"): "4"})
    assert hash(swapped) == hash(calendar())
    noon = utc(2026, 1, 1, 18)
    assert [shift_at(plan, noon).crew for plan in (calendar(), swapped, calendar())] == [
        "1",
        "4",
        "1",
    ]


def test_crews_without_a_roster_are_always_off():
    """The calendar is at fault, but a shift is still found, with nobody on it."""
    assert shift_on(calendar(roster=""), date(2026, 1, 1), "D").crew is None


# -- clock changes ------------------------------------------------------------------------

NIGHTS = [
    ("America/Chicago", date(2026, 3, 7), 11),
    ("America/Chicago", date(2026, 10, 31), 13),
    ("Europe/Berlin", date(2026, 3, 28), 11),
    ("Europe/Berlin", date(2026, 10, 24), 13),
    ("Australia/Sydney", date(2026, 10, 3), 11),
    ("Australia/Sydney", date(2026, 4, 4), 13),
    ("America/Sao_Paulo", date(2018, 11, 3), 11),
    ("America/Sao_Paulo", date(2018, 2, 17), 13),
    ("Australia/Lord_Howe", date(2026, 10, 3), 11.5),
    ("Australia/Lord_Howe", date(2026, 4, 4), 12.5),
    ("Asia/Kolkata", date(2026, 3, 28), 12),
    ("Asia/Kolkata", date(2026, 10, 31), 12),
]


@pytest.mark.parametrize(("zone", "day", "hours"), NIGHTS)
def test_the_night_of_a_clock_change_has_its_true_length(zone, day, hours):
    """12-hour nights have 11 or 13 h in both hemispheres, 11.5 or 12.5 h on Lord Howe."""
    night = shift_on(calendar(zone), day, "N")
    assert night.length == timedelta(hours=hours)
    assert night.start.utcoffset() == night.end.utcoffset() == timedelta(0)


def starting(zone, *clocks):
    """A calendar whose shifts start at these local times."""
    ends = (*clocks[1:], clocks[0])
    shifts = tuple(
        ShiftPattern(str(k), f"Shift {k}", a, b)
        for k, (a, b) in enumerate(zip(clocks, ends, strict=True))
    )
    return calendar(zone, shifts, "O", ())


def test_a_shift_start_in_the_spring_gap_is_shifted_forward_by_the_gap():
    """02:30 does not exist on 8 March 2026 in Chicago: the shift starts at 03:30 CDT."""
    plan = starting("America/Chicago", time(2, 30), time(14, 30))
    assert shift_on(plan, date(2026, 3, 8), "0").start == utc(2026, 3, 8, 8, 30)
    assert shift_on(plan, date(2026, 3, 7), "1").end == utc(2026, 3, 8, 8, 30)


def test_a_shift_start_in_the_autumn_fold_is_the_first_occurrence():
    """01:30 comes twice on 1 November 2026 in Chicago: the shift starts at 01:30 CDT."""
    plan = starting("America/Chicago", time(1, 30), time(13, 30))
    shift = shift_on(plan, date(2026, 11, 1), "0")
    assert shift.start == utc(2026, 11, 1, 6, 30)
    assert shift.length == timedelta(hours=13)
    assert shift_at(plan, utc(2026, 11, 1, 7, 30)) == shift  # 01:30 CST, the second


def test_a_start_shifted_past_one_that_exists_gives_way_to_it():
    """Starts at 02:45 (skipped) and 03:15 both fall on 03:15: the shift between has no length."""
    plan = starting("America/Chicago", time(2), time(2, 45), time(3, 15), time(12))
    shifts = [shift_on(plan, date(2026, 3, 8), str(k)) for k in range(4)]
    assert [s.start for s in shifts[:3]] == [
        utc(2026, 3, 8, 8),
        utc(2026, 3, 8, 8, 15),
        utc(2026, 3, 8, 8, 15),
    ]
    assert shifts[1].length == timedelta(0)
    assert next_shift(plan, shifts[0]) == shifts[2]
    assert previous_shift(plan, shifts[2]) == shifts[0]


def test_a_date_skipped_at_the_date_line_has_no_shift():
    """Samoa had no 30 December 2011: the night of the 29th is followed by the day of the 31st."""
    plan = calendar("Pacific/Apia")
    night = shift_on(plan, date(2011, 12, 29), "N")
    day = next_shift(plan, night)
    assert (day.date, day.pattern) == (date(2011, 12, 31), "D")
    assert (night.length, day.length) == (timedelta(hours=12), timedelta(hours=12))
    assert shift_on(plan, date(2011, 12, 30), "N").length == timedelta(0)
    assert shift_at(plan, utc(2011, 12, 30, 12)) == night  # 31 December, 02:00 local


def test_a_shift_that_starts_at_midnight_holds_when_midnight_is_skipped_or_doubled():
    """Where clocks change at midnight, the date's first shift starts once and none is lost."""
    spring = starting("America/Sao_Paulo", time(0), time(8), time(16))
    first = shift_on(spring, date(2018, 11, 4), "0")
    assert first.start == utc(2018, 11, 4, 3)  # 00:00 does not exist: 01:00 -02
    assert first.length == timedelta(hours=7)
    autumn = starting("America/Sao_Paulo", time(0), time(8), time(16))
    late = shift_on(autumn, date(2018, 2, 17), "2")
    assert late.length == timedelta(hours=9)
    assert next_shift(autumn, late).date == date(2018, 2, 18)


def test_where_clocks_go_back_over_midnight_tomorrows_first_shift_keeps_what_it_began():
    """At 00:01 St John's went back to 23:01: the shift begun at 00:00 runs on, on one date."""
    plan = starting("America/St_Johns", time(0), time(12))
    begun = shift_on(plan, date(2010, 11, 7), "0")
    again = datetime(2010, 11, 6, 23, 30, fold=1, tzinfo=ZoneInfo("America/St_Johns"))
    assert shift_at(plan, again.astimezone(UTC)) == begun
    assert begun.length == timedelta(hours=13)


# -- any calendar, any instant ------------------------------------------------------------

CHANGES = (utc(2011, 12, 30, 10), utc(2018, 11, 4, 3), utc(2026, 3, 8, 8), utc(2026, 11, 1, 7))
instants = st.one_of(
    st.integers(0, 48 * 365 * 86_400).map(lambda s: utc(1990, 1, 1) + timedelta(seconds=s)),
    st.builds(
        lambda base, minutes: base + timedelta(minutes=minutes),
        st.sampled_from(CHANGES),
        st.integers(-3000, 3000),
    ),
)
minutes_of_day = st.integers(0, 24 * 60 - 1)
laid_out = st.lists(minutes_of_day, min_size=1, max_size=5, unique=True).map(sorted)
plans = st.builds(
    lambda zone, minutes: starting(zone, *(time(*divmod(m, 60)) for m in minutes)),
    st.sampled_from(ZONES),
    laid_out,
)


@given(plan=plans, instant=instants)
@settings(max_examples=500, deadline=None)
def test_every_instant_lies_in_the_shift_found_for_it(plan, instant):
    """Its start <= instant < end, for any shifts, in any zone, on any day."""
    shift = shift_at(plan, instant)
    assert shift.start <= instant < shift.end


@given(plan=plans, instant=instants)
@settings(max_examples=300, deadline=None)
def test_next_and_previous_shift_abut_and_are_inverse(plan, instant):
    """The next shift starts where this ends, and the one before it is this one."""
    shift = shift_at(plan, instant)
    after, before = next_shift(plan, shift), previous_shift(plan, shift)
    assert (before.end, after.start) == (shift.start, shift.end)
    assert previous_shift(plan, after) == shift == next_shift(plan, before)
    assert (before.date, after.date) == tuple(sorted((before.date, after.date)))


@given(plan=plans, instant=instants, hours=st.floats(0, 100))
@settings(max_examples=200, deadline=None)
def test_shifts_between_partition_any_interval(plan, instant, hours):
    """They abut, the first holds the start, the last reaches the end, none lies outside."""
    end = instant + timedelta(hours=hours)
    shifts = shifts_between(plan, instant, end)
    if end == instant:
        assert shifts == []
        return
    assert shifts[0].start <= instant < shifts[0].end
    assert shifts[-1].start < end <= shifts[-1].end
    assert all(a.end == b.start for a, b in pairwise(shifts))
    assert len({(s.date, s.pattern) for s in shifts}) == len(shifts)


@given(plan=plans, instant=instants)
@settings(max_examples=200, deadline=None)
def test_a_shift_is_found_again_by_its_date_and_key(plan, instant):
    """(local start date, key) is the identity of a shift."""
    shift = shift_at(plan, instant)
    assert shift_on(plan, shift.date, shift.pattern) == shift


def test_an_interval_that_ends_before_it_starts_holds_no_shift():
    """An empty interval is no error."""
    assert shifts_between(calendar(), utc(2026, 1, 2), utc(2026, 1, 1)) == []


def test_a_naive_instant_is_refused():
    """A time without a zone would be read in the zone of the machine."""
    with pytest.raises(ValueError, match="needs a time zone"):
        shift_at(calendar(), utc(2026, 1, 1).replace(tzinfo=None))


def test_an_unknown_shift_key_is_refused():
    """`shift_on` raises KeyError with the key."""
    with pytest.raises(KeyError, match="X"):
        shift_on(calendar(), date(2026, 1, 1), "X")


def test_shift_at_takes_an_instant_in_any_zone():
    """The same instant in another zone is in the same shift."""
    there = datetime(2026, 6, 1, 12, tzinfo=ZoneInfo("Asia/Kolkata"))
    assert shift_at(calendar(), there) == shift_at(calendar(), there.astimezone(UTC))


def test_the_first_shift_of_the_day_is_the_one_with_the_earliest_start():
    """Whatever their order in the plant file."""
    assert calendar(shifts=tuple(reversed(EIGHT))).first_shift_key == "M"
    assert starting("UTC", time(0), time(8), time(16)).first_shift_key == "0"


# -- faults -------------------------------------------------------------------------------


def test_a_sound_calendar_has_no_faults():
    """Covered once, one crew each; a plant without crews keeps no roster."""
    assert check_calendar(calendar()) == []
    assert check_calendar(calendar(shifts=UNEQUAL, roster="ELNO", offsets=(0, 1, 2, 3))) == []
    assert check_calendar(calendar(roster="", offsets=())) == []
    whole = (ShiftPattern("D", "Day", time(6), time(6)),)
    assert check_calendar(calendar(shifts=whole, roster="DO", offsets=(0, 1))) == []


FAULTS = [
    (calendar("Mars/Olympus"), ['The time zone "Mars/Olympus" is not known']),
    (calendar("../etc/passwd"), ["is not known"]),
    (calendar(shifts=()), ["The calendar has no shifts"]),
    (
        calendar(shifts=(TWELVE[0], ShiftPattern("N", "Night", time(19), time(5)))),
        ["No shift covers 05:00 to 06:00", "No shift covers 18:00 to 19:00"],
    ),
    (
        calendar(shifts=(ShiftPattern("D", "Day", time(6), time(18, 30)), TWELVE[1])),
        ["Shifts D and N both cover 18:00 to 18:30"],
    ),
    (
        calendar(shifts=(ShiftPattern("D", "Day", time(1), time(23)),), roster="D", offsets=(0,)),
        ["No shift covers 23:00 to 01:00"],
    ),
    (
        calendar(shifts=(*TWELVE, TWELVE[0])),
        ['Two shifts have the key "D"', "Shifts D and D both cover"],
    ),
    (
        calendar(shifts=(TWELVE[0], ShiftPattern("O", "Night", time(18), time(6)))),
        ['A shift cannot have the key "O"', 'The roster has "N" on day 3'],
    ),
    (calendar(roster=""), ["There are crews but no roster"]),
    (calendar(roster="DDXNOOOO"), ['The roster has "X" on day 3: use one of D, N, or O']),
    (
        calendar(offsets=(0, 2, 4, 5)),
        ["No crew works the shift Day on 2026-01-03, day 3 of the roster"],
    ),
    (
        calendar(roster="DDNNOOOD"),
        ["Crew 1 and Crew 4 both work the shift Day on 2026-01-02, day 2 of the roster"],
    ),
    (
        calendar(exceptions={(date(2026, 2, 1), "X"): "1", (date(2026, 2, 2), "D"): "9"}),
        ['2026-02-01 names the shift "X"', '2026-02-02 names the crew "9"'],
    ),
]


@pytest.mark.parametrize(("plan", "wanted"), FAULTS)
def test_a_fault_of_the_calendar_is_named_in_a_sentence(plan, wanted):
    """Each fault says what is wrong and where: the part of the day, the first bad day, the key."""
    found = check_calendar(plan)
    assert len(found) >= len(wanted)
    for words in wanted:
        assert any(words in sentence for sentence in found), (words, found)
    assert all(sentence.endswith(".") for sentence in found)


def test_two_crews_with_one_key_are_a_fault():
    """Exceptions and people name crews by key."""
    crews = (Crew("1", "Blue", 0), Crew("1", "Red", 2), Crew("3", "Green", 4), Crew("4", "Up", 6))
    plan = ShiftCalendar(
        time_zone="UTC",
        shifts=TWELVE,
        crews=crews,
        roster=tuple("DDNNOOOO"),
        anchor=date(2026, 1, 1),
    )
    assert check_calendar(plan) == ['Two crews have the key "1": give each its own.']
