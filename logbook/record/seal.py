r"""The seal of a page, in a form that anybody can work out again without this program.

**The canonical form.** One JSON array of arrays, encoded in UTF-8, with nothing between its
tokens but the commas: the head of the page, then its rows.

* Head: ``["page", id, seat, person, written_at, kind, note, row_count, previous_seal]``.
* Row: ``[table, first column, second column, ...]``, all columns in the order in which
  ``PRAGMA table_info`` gives them, less the empty (NULL) ones at the end. (So a later version
  may add a column without breaking the seals before it.)
* Order of the rows: by name of the table (plain byte order), then by ``id``.
* NULL is ``null``. An INTEGER is its decimal digits. A REAL is the shortest decimal that reads
  back as the same number, as Python's ``repr`` writes it: ``101.0``, ``0.1``, ``1e-07``, ``1e+16``
  (an exponent from 1e16 upwards and below 1e-4). Negative zero does not occur.
* A TEXT is a JSON string in which only ``"``, ``\`` and the control characters below U+0020 are
  escaped (``\b \f \n \r \t``, the others as ``\u00xx`` in lower case).
* A BLOB is the JSON string ``"sha256:"`` and the SHA-256 of its bytes in 64 lower-case hexadecimal
  digits. (Only the column ``document.pdf`` holds one; no other text can stand in its place, since
  the tables are STRICT.)

**The seal** is the SHA-256 of that text, as 64 lower-case hexadecimal digits. `previous_seal` is
the seal of the same seat's page before it; for the first page of a seat it is the SHA-256 of
``[["book", its columns...], ["seat", its columns...]]`` in the same form, so that the head of the
book and the name of the seat are under seal as well.

What a chain cannot see by itself is that its newest pages were cut off, or the whole file put
back to an older state. For that a seal must be known from elsewhere: its short form stands on
every printed handover, and `verify` takes it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from hashlib import sha256

Cell = int | float | str | bytes | None


def _blob(cell: object) -> str:
    """What stands for a BLOB. Raises TypeError for a cell of a kind that we never write."""
    if isinstance(cell, bytes):
        return f"sha256:{sha256(cell).hexdigest()}"
    msg = f"a {type(cell).__name__} cannot be sealed"
    raise TypeError(msg)


_encode = json.JSONEncoder(
    ensure_ascii=False, separators=(",", ":"), allow_nan=True, default=_blob
).encode
# Infinity would be written as a bare word; the writer refuses it before it comes here.


def canonical(rows: Sequence[Sequence[Cell]]) -> bytes:
    """The canonical form of `rows`, each beginning with the name of its table."""
    return _encode(rows).encode("utf-8")


def trimmed(row: Sequence[Cell]) -> Sequence[Cell]:
    """`row` without the empty columns at its end."""
    size = len(row)
    while size and row[size - 1] is None:
        size -= 1
    return row[:size]


def seal_of(form: bytes) -> str:
    """SHA-256 of a canonical form, in hexadecimal."""
    return sha256(form).hexdigest()


def first_link(book: Sequence[Cell], seat: Sequence[Cell]) -> str:
    """What the first page of a seat follows: the seal of the book's head and of the seat."""
    return seal_of(canonical([["book", *trimmed(book)], ["seat", *trimmed(seat)]]))


def short_seal(seal: str) -> str:
    """The first 12 digits in groups of four, as printed: 'a1b2 c3d4 e5f6'."""
    return f"{seal[:4]} {seal[4:8]} {seal[8:12]}"
