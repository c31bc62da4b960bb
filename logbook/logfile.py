"""The log file: where details go that no user wants to read, and that whoever helps will ask for."""

from __future__ import annotations

import logging
from pathlib import Path

LOG_BYTES = 1_000_000
"""A longer log file is put aside when the program starts; one older file is kept."""

log = logging.getLogger(__name__)


def log_path() -> Path:
    """Where the log file stands."""
    from platformdirs import user_log_path

    return user_log_path("crush-plant-shift-logbook", appauthor=False) / "logbook.log"


def start_logging() -> None:
    """Write details to the log file; where it cannot be written, go on without."""
    handler = _handler()
    if handler is not None:
        root = logging.getLogger()
        root.setLevel(logging.INFO)
        root.addHandler(handler)


def keep_trace(error: Exception) -> str:
    """Write an unexpected error with its trace to the log file; returns what to tell the user."""
    handler = _handler()
    if handler is None:
        return "something went wrong that should not have, and the log file cannot be written."
    log.addHandler(handler)
    log.error("unexpected error", exc_info=error)
    log.removeHandler(handler)
    handler.close()
    return f"something went wrong that should not have; details are in {log_path()}."


def _handler() -> logging.Handler | None:
    path = log_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists() and path.stat().st_size > LOG_BYTES:
            path.replace(path.with_suffix(".old.log"))
        handler = logging.FileHandler(path, encoding="utf-8", delay=True)
    except OSError:
        return None
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    return handler
