from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern, shift_at
from logbook.plant.changeover import CalendarHistory, CalendarRevision

CHICAGO = ZoneInfo("America/Chicago")


def calendar(roster, *clocks, **options):
    """A calendar with shifts named by the letters of `roster` that start at these hours."""
    keys = [key for key in dict.fromkeys(roster) if key != "O"]
    ends = (*clocks[1:], clocks[0])
    shifts = tuple(
        ShiftPattern(key, key, time(a), time(b))
        for key, a, b in zip(keys, clocks, ends, strict=True)
    )
    step = len(roster) // 4
    return ShiftCalendar(
        time_zone="America/Chicago",
        shifts=shifts,
        crews=tuple(Crew(str(k), f"Crew {k}", k * step) for k in range(4)),
        roster=tuple(roster),
        anchor=date(2026, 1, 1),
        **options,
    )


EIGHT = calendar("MMAANNOO", 6, 14, 22)
TWELVE = calendar("DDNNOOOO", 6, 18)


def local(*parts):
    """An instant by Chicago's clocks."""
    return datetime(*parts, tzinfo=CHICAGO).astimezone(UTC)


def changed(at, old=EIGHT, new=TWELVE):
    """A history with one change."""
    start = datetime(2025, 1, 1, tzinfo=UTC)
    return CalendarHistory([CalendarRevision(at, new), CalendarRevision(start, old)])


def test_a_new_roster_takes_over_at_its_first_shift_after_it_is_effective():
    """From midnight: the 8-hour night runs to 06:00, then the first 12-hour day."""
    history = changed(local(2026, 3, 1))
    found = history.shifts_between(local(2026, 2, 28, 14), local(2026, 3, 2, 6))
    assert [(s.pattern, s.length / timedelta(hours=1)) for s in found] == [
        ("A", 8),
        ("N", 8),
        ("D", 12),
        ("N", 12),
    ]
    assert history.calendar_at(local(2026, 3, 1, 5, 59)) == EIGHT
    assert history.calendar_at(local(2026, 3, 1, 6)) == TWELVE


def test_a_shift_under_way_is_cut_where_the_new_roster_starts():
    """Effective at 18:00: the afternoon begun at 14:00 ends there after 4 hours."""
    history = changed(local(2026, 3, 1, 18))
    cut, first = history.shifts_between(local(2026, 3, 1, 15), local(2026, 3, 1, 19))
    assert (cut.pattern, cut.length) == ("A", timedelta(hours=4))
    assert (first.pattern, first.start) == ("N", local(2026, 3, 1, 18))


def test_a_swap_revised_during_the_shift_leaves_it_whole_with_the_new_crew():
    """Same shifts, one exception more: the night is not split in two."""
    swap = calendar("DDNNOOOO", 6, 18, exceptions={(date(2026, 3, 1), "N"): "3"})
    history = changed(local(2026, 3, 1, 20), TWELVE, swap)
    plain = shift_at(TWELVE, local(2026, 3, 1, 21))
    night = history.shift_at(local(2026, 3, 1, 21))
    assert plain.crew != "3"
    assert (night.start, night.end, night.crew) == (plain.start, plain.end, "3")


def test_a_shift_that_is_over_keeps_its_crew_when_the_roster_is_revised():
    """A roster revised in April says nothing about who worked in March."""
    other = calendar("OODDNNOO", 6, 18)
    history = changed(local(2026, 4, 1, 6), TWELVE, other)
    for instant in (local(2026, 3, 2, 12), local(2026, 3, 31, 20)):
        assert shift_at(other, instant).crew != shift_at(TWELVE, instant).crew
        assert history.shift_at(instant) == shift_at(TWELVE, instant)


def test_a_revision_overtaken_before_its_first_shift_is_never_in_force():
    """Two changes within one night: only the later takes over."""
    history = CalendarHistory(
        [
            CalendarRevision(local(2025, 1, 1), EIGHT),
            CalendarRevision(local(2026, 3, 1, 0), calendar("DNOO", 7, 19)),
            CalendarRevision(local(2026, 3, 1, 1), TWELVE),
        ]
    )
    found = history.shifts_between(local(2026, 2, 28, 22), local(2026, 3, 1, 18))
    assert [s.pattern for s in found] == ["N", "D"]
    assert found[1].start == local(2026, 3, 1, 6)


def test_one_revision_holds_for_all_time():
    """Before it is effective too, since a book may take in older readings."""
    history = CalendarHistory([CalendarRevision(local(2026, 3, 1), EIGHT)])
    for instant in (local(2020, 5, 5), local(2026, 3, 1), local(2030, 5, 5)):
        assert history.shift_at(instant) == shift_at(EIGHT, instant)


def test_no_revision_at_all_is_refused():
    """There would be no shift to give."""
    with pytest.raises(ValueError, match="needs a shift calendar"):
        CalendarHistory([])


CALENDARS = (EIGHT, TWELVE, calendar("DNOO", 7, 19), calendar("ELNO", 0, 5, 17))
minutes = st.integers(0, 40 * 24 * 60).map(lambda m: local(2026, 2, 20) + timedelta(minutes=m))


@given(
    changes=st.lists(st.tuples(minutes, st.sampled_from(CALENDARS)), min_size=1, max_size=6),
    instant=minutes,
)
@settings(max_examples=300, deadline=None)
def test_any_revisions_leave_no_gap_and_no_overlap(changes, instant):
    """Every instant lies in its shift, and shifts abut, over a clock change and all changes."""
    history = CalendarHistory([CalendarRevision(*change) for change in changes])
    shift = history.shift_at(instant)
    assert shift.start <= instant < shift.end
    found = history.shifts_between(instant, instant + timedelta(days=15))
    assert all(a.end == b.start for a, b in pairwise(found))
    assert len({(s.start, s.end) for s in found}) == len(found)
