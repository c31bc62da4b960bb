"""Place the story of `sample_db.story` in time, for a given end of the book."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from logbook.plant.calendar import Shift, ShiftCalendar, previous_shift, shift_at, shifts_between
from sample_db import story as s
from sample_db.story import Fouling, MachineStop, MillDrift, MillStop, PlantStop, Slow, Span, Story


class _Placer:
    """Turns (days before the end, local time) into instants on whole half hours."""

    def __init__(self, end: datetime, zone: ZoneInfo) -> None:
        self._date, self._zone = end.astimezone(zone).date(), zone

    def at(self, when: tuple[int, str], hours: float = 0.0) -> datetime:
        """The instant `hours` after a local time, the given days before the end."""
        day = self._date - timedelta(days=when[0])
        local = datetime.combine(day, time.fromisoformat(when[1]), self._zone)
        return local.astimezone(UTC) + timedelta(hours=hours)

    def span(self, days: int, clock: str, hours: float) -> tuple[datetime, datetime]:
        """Start and end of something that began at a local time and took `hours`."""
        return self.at((days, clock)), self.at((days, clock), hours)


def clock_changes(start: datetime, end: datetime, zone: ZoneInfo) -> tuple[datetime, ...]:
    """Instants (to the half hour) at which the zone's offset changes between start and end."""
    found, step = [], timedelta(minutes=30)
    instant = start.replace(minute=0, second=0, microsecond=0)
    while instant < end:
        day_on = instant + timedelta(days=1)
        if instant.astimezone(zone).utcoffset() != day_on.astimezone(zone).utcoffset():
            while (
                instant.astimezone(zone).utcoffset()
                == (instant + step).astimezone(zone).utcoffset()
            ):
                instant += step
            found.append(instant + step)
        instant = day_on
    return tuple(at for at in found if start <= at < end)


def _plant_stops(place: _Placer, changes: tuple[datetime, ...]) -> tuple[PlantStop, ...]:
    back = 0
    # A shutdown over a clock change would hide the long or the short night: two weeks earlier then.
    while any(
        place.at(s.SHUTDOWN_FROM) - timedelta(days=back + 1)
        <= change
        <= place.at(s.SHUTDOWN_UNTIL) - timedelta(days=back - 2)
        for change in changes
    ):
        back += 14
    first, last = s.SHUTDOWN_FROM, s.SHUTDOWN_UNTIL
    shutdown = PlantStop(
        place.at((first[0] + back, first[1])),
        place.at((last[0] + back, last[1])),
        s.SHUTDOWN_RESTART_HOURS,
        "extraction",
        None,
        "planned shutdown",
        "Planned shutdown: extractor emptied and purged, vessels opened under permit.",
        planned=True,
    )
    trips = (
        PlantStop(*place.span(days, clock, hours), 2.0, area, machine, reason, told)
        for days, clock, hours, area, machine, reason, told in s.TRIPS
    )
    return tuple(sorted((shutdown, *trips), key=lambda stop: stop.start))


def _mill_stops(place: _Placer) -> tuple[MillStop, ...]:
    plain = [
        MillStop(*place.span(days, "07:30", s.REGRIND_HOURS), mill, "regrind", regrind=True)
        for mill, days in s.REGRINDS
    ]
    told = MillStop(
        *place.span(*s.DRIFT_REGRIND, s.REGRIND_HOURS), s.DRIFT_MILL, "regrind", regrind=True
    )
    return tuple(sorted((*plain, told), key=lambda stop: stop.start))


def _mill_drifts(place: _Placer, end: datetime) -> tuple[MillDrift, ...]:
    grind_end = place.at(s.DRIFT_REGRIND, s.REGRIND_HOURS)
    return (
        MillDrift(
            place.at(s.DRIFT_FROM), grind_end, s.DRIFT_MILL, s.DRIFT_POSITION, s.DRIFT_PER_DAY
        ),
        MillDrift(place.at(s.LIVE_FROM), end, s.LIVE_MILL, s.LIVE_POSITION, s.LIVE_PER_DAY),
    )


def night_shifts(calendar: ShiftCalendar, start: datetime, end: datetime) -> list[Shift]:
    """The shifts that hold local midnight."""
    return [
        shift
        for shift in shifts_between(calendar, start, end)
        if shift.start.astimezone(ZoneInfo(calendar.time_zone)).date()
        != (shift.end - timedelta(seconds=1)).astimezone(ZoneInfo(calendar.time_zone)).date()
    ]


def _copied(
    calendar: ShiftCalendar, place: _Placer, stops: tuple[PlantStop, ...]
) -> tuple[Span, ...]:
    crew = calendar.crews[s.COPIER_CREW % len(calendar.crews)].key
    window = (place.at((s.COPY_WINDOW[0], "12:00")), place.at((s.COPY_WINDOW[1], "12:00")))
    nights = [
        Span(shift.start, shift.end)
        for shift in night_shifts(calendar, *window)
        if shift.crew == crew
        and shift.length == timedelta(hours=12)
        and not any(
            stop.start < shift.end and stop.end + timedelta(hours=8) > shift.start for stop in stops
        )
    ]
    step = max(len(nights) // s.COPY_NIGHTS, 1)
    return tuple(nights[::step][: s.COPY_NIGHTS])


def place_story(end: datetime, days: int, calendar: ShiftCalendar) -> Story:
    """The whole story for a book of `days` that ends at `end` (aware). Raises ValueError if naive."""
    if end.tzinfo is None:
        raise ValueError("the end of the book must be an aware datetime")
    end = end.astimezone(UTC).replace(second=0, microsecond=0)
    zone = ZoneInfo(calendar.time_zone)
    start = shift_at(calendar, end - timedelta(days=days)).start
    place, changes = _Placer(end, zone), clock_changes(start, end, zone)
    last = previous_shift(calendar, shift_at(calendar, end))
    fan = last.start + timedelta(hours=s.LAST_FAN_FROM)
    stops = _plant_stops(place, changes)
    scale = place.at(s.SCALE_FROM)
    campaign = place.at(s.CAMPAIGN_FROM)
    return Story(
        start=start,
        end=end,
        time_zone=calendar.time_zone,
        plant_stops=stops,
        machine_stops=tuple(
            MachineStop(*place.span(d, clock, h), area, machine, reason, told)
            for d, clock, h, area, machine, reason, told in s.MACHINE_STOPS
        ),
        mill_stops=_mill_stops(place),
        mill_drifts=_mill_drifts(place, end),
        fouling=(
            Fouling(
                place.at(s.FOULED_FROM), place.at(s.FOULED_CLEANED), s.FOULED, s.FOULED_PER_DAY
            ),
        ),
        slow_periods=tuple(
            Slow(*place.span(d, c, h), f, why) for d, c, h, f, why in s.SLOW_PERIODS
        ),
        steam_valve=Span(place.at(s.VALVE_FROM), place.at(s.VALVE_UNTIL)),
        scale_low=Span(scale, scale + timedelta(days=s.SCALE_DAYS)),
        fan_trips=(Span(fan, fan + timedelta(hours=s.LAST_FAN_HOURS)),),
        campaign=Span(campaign, campaign + timedelta(days=s.CAMPAIGN_DAYS)),
        clock_changes=changes,
        limits_revised=place.at(s.LIMITS_REVISED),
        leaves=place.at(s.LEAVES),
        joins=place.at(s.JOINS),
        last_shift=Span(last.start, last.end),
        copied=tuple(n for n in _copied(calendar, place, stops) if n.start >= start),
    )
