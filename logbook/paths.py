"""Where the files that travel with the program are: icons, styles, templates."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_INSTALLED = _PACKAGE / "_resources"
_IN_CHECKOUT = _PACKAGE.parent / "resources"


def resources_dir() -> Path:
    """The folder of resources, in an installed package as in a checkout.

    Raises FileNotFoundError where neither is there, which means a broken installation.
    """
    for folder in (_INSTALLED, _IN_CHECKOUT):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(
        f"The program's resources are missing: neither {_INSTALLED} nor {_IN_CHECKOUT} exists. "
        "Install the program again."
    )
