"""A CSV file as rows of named cells, and what is wrong with it in words."""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

NO_SUCH_QUOTE = "the row cannot be read ({error}); is a quotation mark missing?"


@dataclass(frozen=True, slots=True)
class CsvFault:
    """What is wrong in a file: row (1 is the heading), column name or empty, and a sentence."""

    row: int
    column: str
    sentence: str

    def __str__(self) -> str:
        """Row, column and sentence."""
        where = f"row {self.row}" + (f", column {self.column}" if self.column else "")
        return f"{where}: {self.sentence}"


@dataclass(frozen=True, slots=True)
class Table:
    """Names of the columns, rows with their number as cells by name, and faults of the form."""

    head: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]
    faults: tuple[CsvFault, ...]


def read_table(text: str, needed: Sequence[str], optional: Sequence[str]) -> Table:
    """The rows of a file whose first one names its columns. Never raises for any text.

    A row that does not fit the heading is a fault and left out; cells are without surrounding
    spaces, and those that a short row lacks are empty.
    """
    faults: list[CsvFault] = []
    rows = list(_rows(text, faults))
    if not rows:
        faults = faults or [CsvFault(1, "", "the file is empty.")]
        return Table((), (), tuple(faults))
    number, cells = rows[0]
    head = tuple(_trimmed([name.strip().casefold() for name in cells]))
    wrong = list(_head_faults(number, head, needed, optional))
    if wrong:
        return Table(head, (), tuple(wrong))
    fitting = []
    for number, cells in rows[1:]:
        given = _trimmed([cell.strip() for cell in cells])
        if len(given) > len(head):
            faults.append(CsvFault(number, "", _too_many(len(given), len(head))))
        else:
            given += [""] * (len(head) - len(given))
            fitting.append((number, dict(zip(head, given, strict=True))))
    return Table(head, tuple(fitting), tuple(faults))


def near(text: str, known: Iterable[str]) -> str:
    """Did you mean "...?", with a space before, or nothing."""
    found = difflib.get_close_matches(text[:60], list(known), n=1, cutoff=0.6)
    return f' Did you mean "{found[0]}"?' if found else ""


def _rows(text: str, faults: list[CsvFault]) -> Iterator[tuple[int, list[str]]]:
    """Rows with their number, blank ones left out; one that cannot be read ends the file."""
    first, _, rest = text.lstrip("\r\n").partition("\n")
    start = 1
    separator = max(",;\t", key=first.count)
    if first.strip().casefold() in {"sep=,", "sep=;", "sep=\\t"}:  # a line for spreadsheets
        separator = {",": ",", ";": ";"}.get(first.strip()[4:], "\t")
        text, start = rest, 2
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    number = start
    try:
        for number, cells in enumerate(reader, start=start):
            if any(cell.strip() for cell in cells):
                yield number, cells
    except csv.Error as error:
        faults.append(CsvFault(number + 1, "", NO_SUCH_QUOTE.format(error=error)))


def _trimmed(cells: list[str]) -> list[str]:
    """Without the empty cells that spreadsheets leave at the end of a row."""
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _too_many(given: int, named: int) -> str:
    return (
        f"{given} cells where the heading has {named}; "
        "a separator inside a value needs quotation marks around the value."
    )


def _head_faults(
    row: int, head: Sequence[str], needed: Sequence[str], optional: Sequence[str]
) -> Iterator[CsvFault]:
    for name in needed:
        if name not in head:
            yield CsvFault(row, name, "this column is missing; the first row must name it.")
    known = (*needed, *optional)
    for place, name in enumerate(head):
        if name not in known:
            shown = name[:60] or "(no name)"
            yield CsvFault(row, shown, f"unknown column.{near(name, known)}")
        elif name in head[:place]:
            yield CsvFault(row, name, "this column is named twice.")
