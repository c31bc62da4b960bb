"""The plant templates that travel with the program."""

from __future__ import annotations

from pathlib import Path

from logbook.plant.faults import one_of
from logbook.resources import resource_folder


def template_names() -> tuple[str, ...]:
    """Names of the plant templates, sorted, without the ending .toml."""
    return tuple(sorted(path.stem for path in _folder().glob("*.toml")))


def template_path(name: str) -> Path:
    """The file of a template. Raises KeyError, naming the templates there are."""
    path = _folder() / f"{name}.toml"
    names = template_names()
    if name not in names:
        raise KeyError(f'there is no template "{name}": choose {one_of(name, names)}')
    return path


def _folder() -> Path:
    """The folder of the plant templates."""
    return resource_folder() / "plants"
