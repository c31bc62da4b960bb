"""The SQLite library in use."""

from __future__ import annotations

import sqlite3


def sqlite_version() -> str:
    """Version of the SQLite library, as shown in About and in reports of trouble."""
    return sqlite3.sqlite_version
