"""Where the files that ship with the program lie: icons, style, templates, plant files."""

from __future__ import annotations

from pathlib import Path


def resource_folder() -> Path:
    """Return the folder of shipped files: inside an installed package, else the checkout's.

    Raises FileNotFoundError when neither is there, which means a broken installation.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "_resources", package.parent / "resources"):
        if folder.is_dir():
            return folder
    msg = f"The program's own files are missing beside {package}: install it again."
    raise FileNotFoundError(msg)


def resource(relative: str) -> Path:
    """Return the path of one shipped file or folder, such as `plants/soya.toml`.

    Raises FileNotFoundError naming it when it does not exist.
    """
    path = resource_folder() / relative
    if not path.exists():
        msg = f"The program's own file {relative!r} is missing: install the program again."
        raise FileNotFoundError(msg)
    return path
