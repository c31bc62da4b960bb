"""Reading a plant file: TOML in, a `Plant` out, or every fault at once.

The format is described in `resources/plants/README.md`. The steps: bytes to text to TOML
(`toml_text`), strict models (`schema`, with `salvage` so that one fault hides no other),
numbered machines and tables (`series`), points cell by cell (`expand`), computed points
(`formulas`), and the checks (`point_checks`, `checks`). Each fault keeps its line (`lines`).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern
from logbook.plant.faults import Fault, PlantFileError, Reporter
from logbook.plant.lines import key_lines
from logbook.plant.model import NORMAL_MODE, Area, Mode, Person, Plant, Settings
from logbook.plant.toml_text import decode, parse, read_text

if TYPE_CHECKING:
    from logbook.plant import schema
    from logbook.plant.formulas import Declared
    from logbook.plant.series import Machines, Table

__all__ = ["Fault", "PlantFileError", "plant_from_bytes", "plant_from_text", "read_plant"]

_NO_ROSTER = ("O",)
_NO_ANCHOR = date(2000, 1, 1)


def read_plant(path: Path | str) -> Plant:
    """Read and check a plant file. Raises PlantFileError with every fault found."""
    file = Path(path)
    return plant_from_text(read_text(file), file)


def plant_from_bytes(data: bytes, path: Path | str = "plant.toml") -> Plant:
    """The plant described by the bytes of a file. Raises PlantFileError."""
    file = Path(path)
    return plant_from_text(decode(data, file), file)


def plant_from_text(text: str, path: Path | str = "plant.toml") -> Plant:
    """The plant described by TOML text; `path` only names it in faults. Raises PlantFileError."""
    file = Path(path)
    document = parse(text, file)
    if not document:
        wanted = "a copy of a template of resources/plants, changed to fit"
        raise PlantFileError([Fault(file, None, "", "the file is empty", wanted)])
    return _build(Reporter(file, document, key_lines(text)))


def _build(reporter: Reporter) -> Plant:
    """Validate, write out and check; raise all faults together."""
    from logbook.plant import (
        account_checks,
        checks,
        expand,
        formulas,
        point_checks,
        salvage,
        series,
    )

    file = salvage.validate(reporter)
    if file is None:
        raise PlantFileError(reporter.in_order())
    machines = series.machines(file.equipment, reporter)
    tables = series.tables(file.table, machines, reporter)
    context = expand.Context(machines, tables, reporter)
    sources = expand.sources(file.point, context)
    declared = [(source, expand.points_of(source, context)) for source in sources]
    declared = formulas.resolve_inputs(declared, machines, reporter)
    modes = [NORMAL_MODE, *(mode.key for mode in file.mode)]
    for source in sources:
        point_checks.check_point(source, modes, file.settings.round_hours, reporter)
    checks.check_sections(file, machines, sources, reporter)
    calendar = _calendar(file)
    checks.check_calendar_section(file, calendar, reporter)
    formulas.check_formulas(declared, reporter)
    points = [point for _, group in declared for point in group]
    accounts = account_checks.read_accounts(file.accounts, points, reporter)
    if reporter.faults:
        raise PlantFileError(reporter.in_order())
    return replace(_plant(file, calendar, machines, tables, declared), accounts=accounts)


def _plant(
    file: schema.PlantFile,
    calendar: ShiftCalendar,
    machines: Machines,
    tables: dict[str, Table],
    declared: Declared,
) -> Plant:
    """The checked parts as one plant."""
    return Plant(
        key=file.plant.key,
        name=file.plant.name,
        description=file.plant.description,
        settings=Settings(**file.settings.model_dump()),
        calendar=calendar,
        areas=tuple(Area(area.key, area.name, area.caution) for area in file.area),
        equipment=tuple(machine.equipment for machine in machines.entries),
        tables=tuple(table.as_point_table() for table in tables.values()),
        points=tuple(point for _, points in declared for point in points),
        modes=_modes(file.mode),
        people=tuple(Person(p.key, p.name, p.role, p.crew, p.trainee) for p in file.person),
    )


def _modes(specs: list[schema.ModeSpec]) -> tuple[Mode, ...]:
    """The modes of the file; the normal one first where the file does not name it."""
    own = tuple(Mode(spec.key, spec.name) for spec in specs)
    has_normal = any(mode.key == NORMAL_MODE for mode in own)
    return own if has_normal else (Mode(NORMAL_MODE, "Normal"), *own)


def _calendar(file: schema.PlantFile) -> ShiftCalendar:
    """The calendar as written; a plant without crews has no roster."""
    spec = file.calendar
    exceptions = {(e.date, e.shift): e.crew or None for e in spec.exception}
    return ShiftCalendar(
        time_zone=file.plant.time_zone,
        shifts=tuple(ShiftPattern(s.key, s.name, s.start, s.end) for s in spec.shift),
        crews=tuple(Crew(c.key, c.name, c.offset_days) for c in spec.crew),
        roster=spec.roster or _NO_ROSTER,
        anchor=spec.anchor or _NO_ANCHOR,
        exceptions=MappingProxyType(exceptions),
    )
