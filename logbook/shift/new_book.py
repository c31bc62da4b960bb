"""Beginning a book: from a shipped template or a plant file, with its first engineer."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from logbook.plant.model import Person, Plant, Role

SINCE_EVER = datetime(2000, 1, 1, tzinfo=UTC)
"""The first definitions hold for all time before, so that older readings that are imported, and
the round already on when the book is begun, are judged by them."""


class NewBookError(Exception):
    """A book cannot be begun; the message says why and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


def start_book(path: Path, template: str, author: str, *, clock: Callable[[], datetime]) -> Path:
    """Begin a book at `path` and return it with its ending.

    `template` is a shipped template's name or a plant file; `author` becomes an engineer of
    the plant unless the file names them already. Raises NewBookError or BookError; nothing is
    left behind then.
    """
    from logbook.plant.file import PlantFileError, read_plant
    from logbook.record import create_book

    name = author.strip()
    if not name:
        raise NewBookError("Write who begins the book: a name is needed.")
    try:
        plant = read_plant(_source(template))
    except PlantFileError as error:
        first, count = error.faults[0], len(error.faults)
        more = f" (and {count - 1} more; see logbook check)" if count > 1 else ""
        raise NewBookError(f"{first}{more}") from error
    target = path if path.suffix else path.with_suffix(".logbook")
    plant, person = with_engineer(plant, name)
    create_book(
        target, plant, clock=clock, person=person, reason="book begun", effective_from=SINCE_EVER
    ).close()
    return target


def template_choices() -> tuple[tuple[str, str], ...]:
    """Name of each shipped template and its plant's name in words."""
    import tomllib

    from logbook.plant.templates import template_names, template_path

    found = []
    for name in template_names():
        text = template_path(name).read_text(encoding="utf-8")
        words = str(tomllib.loads(text)["plant"]["name"])
        found.append((name, f"{words} ({name})"))
    return tuple(found)


def with_engineer(plant: Plant, name: str) -> tuple[Plant, str]:
    """The plant with `name` among its engineers, and that person's key."""
    known = next((p for p in plant.people if p.name.casefold() == name.casefold()), None)
    if known is not None:
        engineer = replace(known, role=Role.ENGINEER)
        people = tuple(engineer if p is known else p for p in plant.people)
        return replace(plant, people=people), known.key
    taken = {person.key for person in plant.people}
    base = re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_") or "engineer"
    key = next(k for k in (base, *(f"{base}_{n}" for n in range(2, 99))) if k not in taken)
    people = (*plant.people, Person(key, name, Role.ENGINEER))
    return replace(plant, people=people), key


def _source(template: str) -> Path:
    from logbook.plant.templates import template_names, template_path

    if template in template_names():
        return template_path(template)
    path = Path(template)
    if path.is_file():
        return path
    known = ", ".join(template_names())
    raise NewBookError(
        f'There is no template and no plant file "{template}"; the templates are {known}.'
    )
