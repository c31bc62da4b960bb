"""The sample plant: its description, its simulator, and the book built from them.

Nothing here is real. `build_book` writes a year and more of rounds of an invented plant;
`sample_plant` is its description; `simulate` gives the true values behind the readings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sample_db.story import DEFAULT_SEED

if TYPE_CHECKING:
    from sample_db.build import BuildCancelledError, SampleBook, build_book, sample_plant
    from sample_db.folder import build_sample
    from sample_db.streams import Streams, simulate

__all__ = [
    "DEFAULT_SEED",
    "BuildCancelledError",
    "SampleBook",
    "Streams",
    "build_book",
    "build_sample",
    "sample_plant",
    "simulate",
]

_HOMES = {
    "build_sample": "sample_db.folder",
    "Streams": "sample_db.streams",
    "simulate": "sample_db.streams",
}


def __getattr__(name: str) -> object:
    """Import on first use: the window need not wait for numpy."""
    if name not in __all__:
        raise AttributeError(f"module 'sample_db' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES.get(name, "sample_db.build")), name)
