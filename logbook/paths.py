"""Where the files that travel with the program are: icons, styles, templates."""

from __future__ import annotations

from pathlib import Path

from logbook.resources import resource_folder


def resources_dir() -> Path:
    """The folder of shipped files, in an installed package as in a checkout.

    Raises FileNotFoundError where there is none, which means a broken installation.
    """
    return resource_folder()
