"""The sample book in a folder that a person chose."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from sample_db.build import Progress, SampleBook, build_book
from sample_db.story import DEFAULT_DAYS, DEFAULT_SEED

BOOK_NAME = "sample.logbook"


def build_sample(
    folder: Path,
    *,
    seed: int = DEFAULT_SEED,
    end: datetime | None = None,
    days: int = DEFAULT_DAYS,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> SampleBook:
    """Build the sample book in `folder`, which is made where there is none.

    As `build_book`; raises OSError too, where the folder cannot be made.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / BOOK_NAME
    return build_book(path, seed=seed, end=end, days=days, progress=progress, cancelled=cancelled)
