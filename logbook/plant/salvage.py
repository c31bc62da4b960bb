"""Validate a parsed plant file so that one wrong value does not hide the faults of the others.

A value found wrong is told once, then left out (or, where it is required, replaced by a
stand-in) and the file is validated again, until what is left can be checked further. The
stand-ins never reach a `Plant`: a file with a fault is refused.
"""

from __future__ import annotations

import copy
from datetime import date, time
from itertools import count
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from logbook.plant import schema
from logbook.plant.faults import KeyPath, Reporter, nearest, one_of

_MOST_PASSES = 12

_MODELS: dict[tuple[str, ...], tuple[type[BaseModel], ...]] = {
    (): (schema.PlantFile,),
    ("plant",): (schema.PlantSpec,),
    ("settings",): (schema.SettingsSpec,),
    ("mode",): (schema.ModeSpec,),
    ("person",): (schema.PersonSpec,),
    ("area",): (schema.AreaSpec,),
    ("accounts",): (schema.AccountsSpec,),
    ("calendar",): (schema.CalendarSpec,),
    ("calendar", "shift"): (schema.ShiftSpec,),
    ("calendar", "crew"): (schema.CrewSpec,),
    ("calendar", "exception"): (schema.ExceptionSpec,),
    ("equipment",): (schema.EquipmentSpec,),
    ("table",): (schema.TableSpec,),
    ("table", "columns"): (schema.HeaderSpec,),
    ("table", "rows"): (schema.RowSeriesSpec, schema.HeaderSpec),
    ("point",): (schema.PointSpec,),
    ("point", "choices"): (schema.ChoiceSpec,),
    ("point", "tank"): (schema.TankSpec,),
    ("point", "limits"): (schema.LimitFields,),
    ("point", "at"): (schema.AtSpec,),
    ("point", "at", "limits"): (schema.LimitFields,),
}

_STAND_INS: dict[str, object] = {
    "plant": {"key": "unnamed", "name": "unnamed", "time_zone": "UTC"},
    "calendar": {},
    "name": "unnamed",
    "time_zone": "UTC",
    "area": "unnamed",
    "shift": "unnamed",
    "crew": "",
    "start": time(6),
    "end": time(18),
    "date": date(2000, 1, 1),
    "offset_days": 0,
    "dip": [0, 1],
    "volume": [0, 1],
    "columns": [],
}

_WANTED: dict[str, str] = {
    "plant": "a table [plant] with key, name and time_zone",
    "calendar": "a table [calendar] with anchor, roster, shifts and crews",
    "key": 'a line such as key = "fm3"',
    "name": 'a line such as name = "Flaking mill 3"',
    "time_zone": 'an IANA name such as "America/Chicago"',
    "columns": 'columns = [{ key = "left", name = "Left" }, ...]',
    "area": "the key of an area of this file",
}


def validate(reporter: Reporter) -> schema.PlantFile | None:
    """The file as models, with stand-ins for what is wrong; None where nothing can be read.

    Every fault goes to the reporter; `reporter.dropped` then tells what has a stand-in.
    """
    document = copy.deepcopy(dict(reporter.document))
    stand_in = (f"unnamed-{number}" for number in count(1))
    for _ in range(_MOST_PASSES):
        try:
            return schema.PlantFile.model_validate(document)
        except ValidationError as error:
            details = error.errors(include_url=False)
            paths = [_path_of(detail) for detail in details]
            misspelt = _misspelt(details, paths)
            for detail, path in zip(details, paths, strict=True):
                if detail["type"] != "missing" or path not in misspelt:
                    _tell(reporter, detail, path)
            for detail, path in zip(details, paths, strict=True):
                is_missing = detail["type"] == "missing"
                _mend(document, path, next(stand_in) if is_missing else None)
                reporter.dropped.add(path)
    return None


def _path_of(detail: ErrorDetails) -> KeyPath:
    """The key path of an error, without pydantic's names for alternatives."""
    return tuple(step for step in detail["loc"] if not str(step).startswith("<"))


def _misspelt(details: list[ErrorDetails], paths: list[KeyPath]) -> set[KeyPath]:
    """The keys that unknown keys beside them stand for: not missing, but misspelt."""
    unknown = [p for d, p in zip(details, paths, strict=True) if d["type"] == "extra_forbidden"]
    meant = [(path[:-1], nearest(str(path[-1]), known_keys(path[:-1]))) for path in unknown]
    return {(*parent, key) for parent, key in meant if key}


def _tell(reporter: Reporter, detail: ErrorDetails, path: KeyPath) -> None:
    """Record one validation error in a plant engineer's words."""
    context: dict[str, Any] = detail.get("ctx", {})
    name = str(path[-1]) if path else ""
    match detail["type"]:
        case "plant_file":
            reporter.add(path, context["what"], context["wanted"])
        case "missing":
            wanted = _WANTED.get(name, f'a line "{name} = ..."')
            reporter.add(path, f'"{name}" is missing', wanted)
        case "extra_forbidden":
            reporter.add(path, f'"{name}" is not a key of this table', _instead_of(path, detail))
        case "list_type":
            reporter.add(path, "this is not a list", f"[[{name}]], or a list of tables")
        case _:
            reporter.add(path, "this is not a table", f"[{name}], or {{ key = value }}")


def _instead_of(path: KeyPath, detail: ErrorDetails) -> str:
    """What to write in place of an unknown key."""
    if len(path) == 5 and path[2] == "at" and isinstance(detail["input"], dict):
        return f'at."{path[3]}.{path[4]}" with quotation marks for one cell'
    return one_of(str(path[-1]), known_keys(path[:-1]), nothing="a table without keys")


def known_keys(path: KeyPath) -> list[str]:
    """The keys that the table at a key path may have."""
    steps: list[str] = []
    is_free = False
    for step in path:
        if isinstance(step, str) and not is_free:
            steps.append(step)
        is_free = step in ("at", "limits") and not is_free
    models = _MODELS.get(tuple(steps), ())
    return [name for model in models for name in model.model_fields]


def _mend(document: dict[str, Any], path: KeyPath, unnamed: str | None) -> None:
    """Put a stand-in where a value is missing, else leave the wrong value out."""
    parent: Any = document
    for step in path[:-1]:
        parent = parent[step]
    last = path[-1]
    if unnamed is not None:
        parent[last] = copy.deepcopy(_STAND_INS.get(str(last), unnamed))
    elif isinstance(parent, list):
        parent[int(last)] = {}
    else:
        parent.pop(last, None)
