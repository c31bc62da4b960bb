"""Checks of a plant file across its sections: keys, references, calendar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from logbook.plant import schema
from logbook.plant.calendar import ShiftCalendar
from logbook.plant.expand import Source
from logbook.plant.faults import KeyPath, Reporter, keys_of, one_of
from logbook.plant.series import Machines, refuse_twice, refuse_unknown

_OFF = "O"


def check_sections(
    file: schema.PlantFile, machines: Machines, sources: list[Source], reporter: Reporter
) -> None:
    """Keys stand for one thing each, and what is referred to exists."""
    for name in ("mode", "person", "area", "point"):
        entries: Sequence[schema.ModeSpec] = getattr(file, name)
        keys = [(entry.key, _at(name, i, "key")) for i, entry in enumerate(entries)]
        refuse_twice(reporter, keys, name)
    for name in ("area", "point"):
        if not getattr(file, name):
            wanted = f"at least one [[{name}]]"
            reporter.add((name,), f"the plant has no {name}", wanted)
    _check_areas(file, reporter)
    _check_equipment(file, machines, sources, reporter)
    crews = [crew.key for crew in file.calendar.crew]
    for index, person in enumerate(file.person):
        if person.crew is not None and person.crew not in crews:
            wanted = one_of(person.crew, crews, nothing="a [[calendar.crew]]")
            leans_on = _keys_in_calendar("crew", file.calendar)
            what = f'there is no crew "{person.crew}"'
            reporter.add(("person", index, "crew"), what, wanted, leans_on=leans_on)
    _check_cells(sources, reporter)


def _at(section: str, index: int, key: str) -> KeyPath:
    """Key path of a key in a list of tables."""
    return (section, index, key)


def _check_areas(file: schema.PlantFile, reporter: Reporter) -> None:
    """Every area referred to exists."""
    known = [area.key for area in file.area]
    for name in ("equipment", "table", "point"):
        entries: Sequence[schema.TableSpec] = getattr(file, name)
        for index, entry in enumerate(entries):
            if entry.area is not None and entry.area not in known:
                wanted = one_of(entry.area, known, nothing="the key of an [[area]]")
                what = f'there is no area "{entry.area}"'
                leans_on = keys_of(("area",), len(file.area))
                reporter.add(_at(name, index, "area"), what, wanted, leans_on=leans_on)


def _check_equipment(
    file: schema.PlantFile, machines: Machines, sources: list[Source], reporter: Reporter
) -> None:
    """Every machine a point or a column refers to exists."""
    for source in sources:
        at = (*source.path, "equipment")
        refuse_unknown(source.spec.equipment, machines, at, reporter)
    for index, table in enumerate(file.table):
        for place, column in enumerate(table.columns):
            at = ("table", index, "columns", place, "equipment")
            refuse_unknown(column.equipment, machines, at, reporter)


def _check_cells(sources: list[Source], reporter: Reporter) -> None:
    """No two points stand in one cell of a table."""
    taken: dict[tuple[str, str, str], Source] = {}
    for source in sources:
        for cell in source.cells:
            if source.table is None or cell.row is None or cell.column is None:
                continue
            place = (source.table.key, cell.row.header.key, cell.column.key)
            other = taken.setdefault(place, source)
            if other is not source:
                _tell_taken(source, other, cell.column.key, reporter)
                break


def _tell_taken(source: Source, other: Source, column: str, reporter: Reporter) -> None:
    """Report a column that another point stands in already."""
    name = next((n for n in ("column", "columns") if n in source.spec.model_fields_set), "table")
    what = f'"{other.spec.key}" stands in column "{column}" already'
    fields = ("table", "column", "columns", "rows", "key")
    leans_on = [(*each.path, field) for each in (source, other) for field in fields]
    reporter.add((*source.path, name), what, "another column, or other rows", leans_on=leans_on)


def check_calendar_section(
    file: schema.PlantFile, calendar: ShiftCalendar, reporter: Reporter
) -> None:
    """The shift calendar is whole: its parts by key here, its coverage by `check_calendar`."""
    from logbook.plant.calendar_check import check_calendar

    before = len(reporter.faults)
    _check_time_zone(file.plant.time_zone, reporter)
    named = {
        "shift": [shift.key for shift in file.calendar.shift],
        "crew": [crew.key for crew in file.calendar.crew],
    }
    for name, keys in named.items():
        places = [(key, _in_calendar(name, index, "key")) for index, key in enumerate(keys)]
        refuse_twice(reporter, places, name)
    _check_roster(file.calendar, reporter)
    _check_exceptions(file.calendar, reporter)
    if len(reporter.faults) == before:
        for sentence in check_calendar(calendar):
            what, _, wanted = sentence.rstrip(".").rpartition(": ")
            reporter.add(("calendar",), what or wanted, wanted, leans_on=(("plant", "time_zone"),))


def _in_calendar(*steps: str | int) -> KeyPath:
    """Key path inside [calendar]."""
    return ("calendar", *steps)


def _keys_in_calendar(name: str, calendar: schema.CalendarSpec) -> list[KeyPath]:
    """Key paths that say which shifts or crews there are."""
    return keys_of(_in_calendar(name), len(getattr(calendar, name)))


def _check_time_zone(name: str, reporter: Reporter) -> None:
    """The time zone is one of the IANA list."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        wanted = one_of(name, ["America/Chicago", *sorted(available_timezones())])
        reporter.add(("plant", "time_zone"), f'"{name}" is not a known time zone', wanted)


def _check_roster(calendar: schema.CalendarSpec, reporter: Reporter) -> None:
    """A roster goes with crews and names shifts that exist."""
    known = [shift.key for shift in calendar.shift]
    for index, shift in enumerate(calendar.shift):
        if shift.key == _OFF:
            at = _in_calendar("shift", index, "key")
            reporter.add_and_drop(
                at, f'"{_OFF}" means off in the roster', "another key for this shift"
            )
    for name in ("roster", "anchor") if calendar.crew else ():
        if getattr(calendar, name) is None:
            wanted = {"roster": '"DDNNOOOO"', "anchor": "2024-01-01"}[name]
            at = _in_calendar(name)
            reporter.add(at, f"crews need {name}", f"a line such as {name} = {wanted}")
    for key in dict.fromkeys(calendar.roster or ()):
        if key not in (*known, _OFF):
            what = f'the roster names a shift "{key}" that does not exist'
            leans_on = _keys_in_calendar("shift", calendar)
            reporter.add(
                ("calendar", "roster"), what, one_of(key, [*known, _OFF]), leans_on=leans_on
            )


def _check_exceptions(calendar: schema.CalendarSpec, reporter: Reporter) -> None:
    """Exceptions name a shift and a crew that exist, and each shift of a day once."""
    known = {
        "shift": [shift.key for shift in calendar.shift],
        "crew": [crew.key for crew in calendar.crew],
    }
    seen: set[tuple[object, str]] = set()
    for index, entry in enumerate(calendar.exception):
        path: KeyPath = ("calendar", "exception", index)
        for name, key in _named(entry):
            if key not in known[name]:
                wanted = one_of(key, known[name], nothing=f"a [[calendar.{name}]]")
                leans_on = _keys_in_calendar(name, calendar)
                reporter.add(
                    (*path, name), f'there is no {name} "{key}"', wanted, leans_on=leans_on
                )
        if (entry.date, entry.shift) in seen:
            leans_on = [(*path, "date"), (*path, "shift")]
            reporter.add(
                path, "this shift has an exception already", "one of the two", leans_on=leans_on
            )
        seen.add((entry.date, entry.shift))


def _named(entry: schema.ExceptionSpec) -> Iterator[tuple[str, str]]:
    """What an exception refers to; no crew means nobody."""
    yield "shift", entry.shift
    if entry.crew:
        yield "crew", entry.crew
