"""A period's balance as lines of text, for the command line."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from logbook.shift.balance_view import Account, BalanceSeen, MeterLine
from logbook.shift.figure_words import Figure

WIDTH = 110
MARKS = {"suspect": "SUSPECT", "unknown": "cannot be checked", "inferred": "worked out", "": ""}


def text_lines(seen: BalanceSeen) -> list[str]:
    """The whole as lines of at most 110 characters: what it comes to, accounts, meters, gaps."""
    view = seen.view
    lines = _wrapped(f"{seen.plant}: balance of {view.period.name}, {seen.span}")
    for sentence in view.verdict:
        lines += _wrapped(sentence, "  ")
    for account in view.accounts:
        lines += ["", *_account(account)]
    if view.meters:
        lines += ["", "METERS, MEASURED AND RECONCILED", *_wrapped(view.meters_told, "  ")]
        lines += _meters(view.meters)
    if view.lacks:
        lines += ["", "NOT KNOWN", *_lacks(view.lacks.items())]
    lines.append("")
    for caution in view.cautions:
        lines += _wrapped(caution)
    return lines


def _account(account: Account) -> Iterator[str]:
    yield account.title.upper()
    if account.told:
        yield from _wrapped(account.told, "  ")
    width = max(len(figure.name) for figure in account.figures)
    width = min(width, 58)
    for figure in account.figures:
        yield from _figure(figure, width)
    if account.caution:
        yield from _wrapped(account.caution, "  ")


def _figure(figure: Figure, width: int) -> Iterator[str]:
    """One figure on one line, the number where all numbers stand; "*" on what stands out."""
    mark = "*" if figure.is_total else " "
    name = figure.name if len(figure.name) <= width else f"{figure.name[: width - 1]}…"
    told = f"{figure.value:>12} {figure.spread:<12} {figure.unit}".rstrip()
    yield f"{mark} {name:{width}} {told}"
    if figure.mark == "missing" and figure.words:
        yield from _indented(figure.words.split(" From ")[0].split(" Formula: ")[0])


def _meters(meters: Iterable[MeterLine]) -> Iterator[str]:
    yield f"  {'':40} {'measured':>20} {'reconciled':>20} {'off by σ':>8}"
    for one in meters:
        measured = f"{one.measured} {one.measured_spread}".strip()
        told = f"{one.reconciled} {one.reconciled_spread}".strip()
        row = f"  {one.name:40.40} {measured:>20} {told:>20} {one.score:>8} {one.unit}"
        yield f"{row}  {MARKS[one.mark]}".rstrip()


def _lacks(lacks: Iterable[tuple[str, str]]) -> Iterator[str]:
    for what, why in lacks:
        yield from _wrapped(f"  {what}: {why}", "    ")


def _indented(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="      ", subsequent_indent="      ")


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent if text[:1] != " " else "",
        subsequent_indent=indent or "  ",
        break_on_hyphens=False,
    )
