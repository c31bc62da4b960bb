"""Shifts over every clock change of 2000 to 2037, against the IANA time zone database.

The zone files of the `tzdata` package are read here without `zoneinfo`, by a small reader
written after RFC 8536, "The Time Zone Information Format (TZif)", section 3 (layout of the
version 2+ data block and footer), with the footer's rule after POSIX, Base Definitions,
chapter 8.3, variable TZ. Local times are turned into instants here by looking through the
offsets in force, not by any library.
"""

from __future__ import annotations

import re
import struct
import zoneinfo
from bisect import bisect_right
from calendar import monthrange
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from importlib import resources

import pytest

from logbook.plant.calendar import ShiftCalendar, ShiftPattern, shift_at, shift_on
from logbook.plant.rounds import rounds_of

FIRST, LAST = 2000, 2037
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
DAY_S = 86_400


# -- the reader ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Zone:
    """Offset changes: from `at[k]` (epoch s) on, local time is UTC + `offset[k]` s."""

    at: tuple[int, ...]
    offset: tuple[int, ...]


HEADER = struct.Struct(">4sc15x6l")


def read_tzif(data: bytes) -> Zone:
    """Read the version 2+ block and the footer, extended to the year 2039."""
    sizes = _header(data, 0)
    second = HEADER.size + _block_size(sizes, 4)
    assert data[4:5] >= b"2"
    isutcnt, isstdcnt, leapcnt, timecnt, typecnt, charcnt = _header(data, second)
    body = second + HEADER.size
    times = struct.unpack_from(f">{timecnt}q", data, body)
    kinds = data[body + 8 * timecnt : body + 9 * timecnt]
    types_at = body + 9 * timecnt
    offsets = [struct.unpack_from(">l", data, types_at + 6 * k)[0] for k in range(typecnt)]
    footer = types_at + 6 * typecnt + charcnt + 12 * leapcnt + isstdcnt + isutcnt
    rule = data[footer:].strip(b"\n").decode("ascii")
    changes = [
        (-(2**62), offsets[0]),
        *((t, offsets[k]) for t, k in zip(times, kinds, strict=True)),
    ]
    changes += _by_rule(rule, after=changes[-1][0])
    real = [changes[0]]
    for at, offset in changes[1:]:
        if offset != real[-1][1]:
            real.append((at, offset))
    return Zone(tuple(at for at, _ in real), tuple(offset for _, offset in real))


def _header(data: bytes, at: int) -> tuple[int, ...]:
    magic, _version, *counts = HEADER.unpack_from(data, at)
    assert magic == b"TZif"
    return tuple(counts)


def _block_size(sizes: tuple[int, ...], width: int) -> int:
    isutcnt, isstdcnt, leapcnt, timecnt, typecnt, charcnt = sizes
    times = (width + 1) * timecnt
    return times + 6 * typecnt + charcnt + (width + 4) * leapcnt + isstdcnt + isutcnt


NAME = r"(?:<[^>]+>|[A-Za-z]+)"
HMS = r"[+-]?\d+(?::\d+){0,2}"
RULE = re.compile(
    rf"{NAME}(?P<std>{HMS})(?:{NAME}(?P<dst>{HMS})?,(?P<start>[^,]+),(?P<end>[^,]+))?"
)


def _by_rule(rule: str, *, after: int) -> list[tuple[int, int]]:
    """Changes that follow from a TZ string in years up to 2039, later than `after`."""
    found = RULE.fullmatch(rule)
    assert found, rule
    std = -_seconds(found["std"])
    if found["start"] is None:
        return [] if after > -(2**62) else [(after + 1, std)]
    dst = -_seconds(found["dst"]) if found["dst"] else std + 3600
    changes = []
    for year in range(1970, LAST + 3):
        changes.append((_rule_day(found["start"], year) - std, dst))
        changes.append((_rule_day(found["end"], year) - dst, std))
    return sorted(change for change in changes if change[0] > after)


def _seconds(text: str) -> int:
    parts = [abs(int(part)) for part in text.split(":")] + [0, 0]
    size = parts[0] * 3600 + parts[1] * 60 + parts[2]
    return -size if text.startswith("-") else size


def _rule_day(text: str, year: int) -> int:
    """Local epoch second of a rule such as M3.2.0/2, J60 or 59."""
    day_text, _, clock = text.partition("/")
    if day_text.startswith("M"):
        month, week, weekday = (int(part) for part in day_text[1:].split("."))
        first = date(year, month, 1)
        # POSIX counts Sunday as 0, `weekday()` Monday as 0.
        day = 1 + (weekday - (first.weekday() + 1)) % 7 + 7 * (week - 1)
        while day > monthrange(year, month)[1]:
            day -= 7
        ordinal = date(year, month, day).toordinal()
    elif day_text.startswith("J"):
        number = int(day_text[1:])
        leap = monthrange(year, 2)[1] == 29 and number >= 60
        ordinal = date(year, 1, 1).toordinal() + number - 1 + leap
    else:
        ordinal = date(year, 1, 1).toordinal() + int(day_text)
    return (ordinal - EPOCH.toordinal()) * DAY_S + (_seconds(clock) if clock else 7200)


def instant_of(zone: Zone, wall: int) -> int:
    """First instant whose local time is `wall` (s); where there is none, shifted by the gap."""
    ends = (*zone.at[1:], 2**62)
    for start, end, offset in zip(zone.at, ends, zone.offset, strict=True):
        if start <= wall - offset < end:
            return wall - offset
    # In the gap: the offset before the change is the one of the last period that ended.
    before = max(k for k, end in enumerate(ends) if wall - zone.offset[k] >= end)
    return wall - zone.offset[before]


# -- the comparison -----------------------------------------------------------------------


def every_zone() -> dict[str, Zone]:
    """Zones of the tzdata package with distinct offsets in the years looked at."""
    folder = resources.files("tzdata")
    names = (folder / "zones").read_text("utf-8").split()
    distinct: dict[object, tuple[str, Zone]] = {}
    for name in names:
        zone = read_tzif((folder / "zoneinfo" / name).read_bytes())
        low = bisect_right(zone.at, int(datetime(FIRST - 1, 12, 1, tzinfo=UTC).timestamp())) - 1
        cut = Zone((-(2**62), *zone.at[low + 1 :]), zone.offset[low:])
        distinct.setdefault(cut, (name, cut))
    return dict(distinct.values())


@pytest.fixture(scope="module")
def zones():
    """The zone files as read here, while `zoneinfo` is made to read the same package."""
    before = zoneinfo.TZPATH
    zoneinfo.reset_tzpath(to=())
    zoneinfo.ZoneInfo.clear_cache()
    yield every_zone()
    zoneinfo.reset_tzpath(to=before)
    zoneinfo.ZoneInfo.clear_cache()


LAYOUTS = {
    "12 h": (time(6), time(18)),
    "8 h": (time(6), time(14), time(22)),
    "in the change": (time(2, 30), time(10, 15), time(23, 30)),
    "at midnight": (time(0), time(8), time(16)),
}


def calendar(name, clocks):
    """A calendar in a zone with shifts that start at these local times."""
    ends = (*clocks[1:], clocks[0])
    shifts = tuple(
        ShiftPattern(str(k), str(k), *both) for k, both in enumerate(zip(clocks, ends, strict=True))
    )
    return ShiftCalendar(
        time_zone=name, shifts=shifts, crews=(), roster=(), anchor=date(FIRST, 1, 1)
    )


def expected(zone, clocks, days):
    """(date, key, start, end) of shifts with a length; a start never passes a later one."""
    starts = []
    for day in days:
        midnight = (day.toordinal() - EPOCH.toordinal()) * DAY_S
        for key, clock in enumerate(clocks):
            wall = midnight + clock.hour * 3600 + clock.minute * 60
            starts.append([day, str(key), instant_of(zone, wall)])
    for k in range(len(starts) - 2, -1, -1):
        starts[k][2] = min(starts[k][2], starts[k + 1][2])
    ends = [start for _, _, start in starts[1:]]
    return [(*shift, end) for shift, end in zip(starts[:-1], ends, strict=True)]


def changes_of(zone):
    """Changes from 2000 to 2037: the local date on which each falls, and the offset's step (s)."""
    for k in range(1, len(zone.at)):
        local = EPOCH + timedelta(seconds=zone.at[k] + zone.offset[k - 1])
        if FIRST <= local.year <= LAST:
            yield local.date(), zone.offset[k] - zone.offset[k - 1]


def test_the_reader_finds_the_clock_changes_everybody_knows(zones):
    """Chicago 2026: 8 March 08:00 UTC and 1 November 07:00 UTC, of one hour each."""
    zone = zones["America/Chicago"]
    year = [k for k, at in enumerate(zone.at) if datetime(2026, 1, 1, tzinfo=UTC).timestamp() <= at]
    first, second = (EPOCH + timedelta(seconds=zone.at[k]) for k in year[:2])
    assert (first, second) == (
        datetime(2026, 3, 8, 8, tzinfo=UTC),
        datetime(2026, 11, 1, 7, tzinfo=UTC),
    )
    assert [zone.offset[k] for k in year[:2]] == [-5 * 3600, -6 * 3600]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_shift_bounds_and_rounds_agree_on_every_clock_change_of_every_zone(zones, layout):
    """Start, end, true length and number of two-hourly rounds on the days around each change."""
    clocks = LAYOUTS[layout]
    compared = 0
    for name, zone in zones.items():
        plan = calendar(name, clocks)
        for day, _ in changes_of(zone):
            days = [day + timedelta(days=k) for k in range(-2, 4)]
            for on, key, start, end in expected(zone, clocks, days)[: 4 * len(clocks)]:
                shift = shift_on(plan, on, key)
                found = (shift.start - EPOCH, shift.end - EPOCH)
                wanted = (timedelta(seconds=start), timedelta(seconds=end))
                assert found == wanted, (name, on, key)
                assert len(rounds_of(shift, 2)) == -(-(end - start) // 7200), (name, on, key)
                if end > start:
                    assert shift_at(plan, shift.start) == shift
                    assert shift_at(plan, shift.end - timedelta(seconds=1)) == shift
                compared += 1
    assert compared > 20_000


def test_the_two_shifts_of_a_day_that_changes_have_24_hours_less_the_step(zones):
    """Over a change by n seconds, the 12-hour shifts begun the evening before lose n seconds."""
    lengths = set()
    for name, zone in zones.items():
        plan = calendar(name, LAYOUTS["12 h"])
        for day, step in changes_of(zone):
            around = [shift_on(plan, day + timedelta(days=k), key) for k in (-1, 0) for key in "01"]
            whole = sum((shift.length for shift in around), timedelta())
            if abs(step) < 4 * 3600:
                assert whole == timedelta(days=2, seconds=-step), (name, day)
                lengths.update(shift.length / timedelta(hours=1) for shift in around)
    assert {11, 11.5, 12, 12.5, 13} <= lengths
