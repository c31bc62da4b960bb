"""A block copied from a spreadsheet, matched to the fields it falls on."""

from __future__ import annotations

from collections.abc import Sequence

from logbook.shift.round_form import RoundForm

Keys = Sequence[Sequence[str | None]]


def block_of(text: str) -> list[list[str]]:
    """Rows and cells of a copied block; a last empty line is no row."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = lines.removesuffix("\n")
    return [[cell.strip() for cell in line.split("\t")] for line in lines.split("\n")]


def matched(form: RoundForm, keys: Keys, block: Sequence[Sequence[str]]) -> dict[str, str]:
    """Texts by field, for the cells that fall on open fields; empty cells leave a field alone."""
    return {
        key: cell
        for row, cells in zip(keys, block, strict=False)
        for key, cell in zip(row, cells, strict=False)
        if key is not None and cell and form.is_open(key)
    }


def told_of_paste(form: RoundForm, texts: dict[str, str], block: Sequence[Sequence[str]]) -> str:
    """What became of a pasted block, in a sentence."""
    offered = sum(bool(cell) for cells in block for cell in cells)
    asks = sum(form.fields[key].entry.question is not None for key in texts)
    left = offered - len(texts)
    parts = [f"{len(texts)} value{'' if len(texts) == 1 else 's'} pasted"]
    parts += [f"{left} fell outside the open fields"] if left else []
    parts += [f"{asks} cannot be taken as {'it is' if asks == 1 else 'they are'}"] if asks else []
    back = " Ctrl+Z takes them back." if texts else ""
    return f"{', '.join(parts)}.{back}"
