"""Text that a spreadsheet takes as text, whatever somebody has typed into the book."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

RISKY = ("=", "+", "-", "@", "\t", "\r", "\n")
"""A cell that begins with one of these would be worked out as a formula (OWASP, CSV Injection)."""


def safe_cell(text: str) -> str:
    """`text` as a cell that is never a formula: an apostrophe stands before what could be one.

    >>> safe_cell("=1+1"), safe_cell("Mill 3, left")
    ("'=1+1", 'Mill 3, left')
    """
    return f"'{text}" if text.lstrip(" ").startswith(RISKY) or text.startswith(RISKY) else text


def csv_text(head: Sequence[str], rows: Iterable[Sequence[str | float | int | None]]) -> str:
    """A CSV file: comma, quotation marks where needed, CR LF at the ends of lines (RFC 4180).

    Texts are made safe; numbers are written with a point and as they are, the nothing of None
    as an empty cell.
    """
    target = io.StringIO()
    writer = csv.writer(target)
    writer.writerow(head)
    for row in rows:
        writer.writerow([safe_cell(cell) if isinstance(cell, str) else cell for cell in row])
    return target.getvalue()
