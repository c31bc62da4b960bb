"""What the command line understands: its commands and their options, and the errors it tells."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import NoReturn

from logbook import __version__

SCREENS = ("round", "shift", "review", "handover", "balance", "trend", "findings")
"""Those of the window, whose own list would load Qt; a test compares the two."""


class CliError(Exception):
    """Something the person at the command line can put right; the message says what."""


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are one line, like all others."""

    def error(self, message: str) -> NoReturn:
        raise CliError(f"{message}; see {self.prog} --help.")


def make_parser() -> argparse.ArgumentParser:
    """The parser of all commands."""
    parser = _Parser(
        prog="logbook",
        description="Shift logbook of an oilseed crushing plant. Without a command it opens the "
        "window, on BOOK where one is named.",
    )
    parser.add_argument("--version", action="version", version=f"logbook {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)

    sample = commands.add_parser("sample", help="build the sample plant's book in a folder")
    sample.add_argument("folder", type=Path)
    sample.add_argument("--days", type=int, default=400, help="days of rounds (default 400)")
    sample.add_argument("--seed", type=int, default=None, help="same seed and end, same book")
    sample.add_argument("--end", help="last instant, ISO 8601 (default: the story's own date)")
    sample.add_argument("--quiet", action="store_true", help="no progress on stderr")

    new = commands.add_parser("new", help="begin a book from a template or a plant file")
    new.add_argument("--template", required=True, help="template name or plant file")
    new.add_argument("--by", required=True, help="name of the engineer who begins the book")
    new.add_argument("file", type=Path)

    check = commands.add_parser("check", help="read a plant file and report every fault")
    check.add_argument("plantfile", type=Path)
    _json_option(check)

    record = commands.add_parser("record", help="write readings from a CSV file into a book")
    record.add_argument("book", type=Path)
    record.add_argument("readings", type=Path)
    record.add_argument("--skip-bad", action="store_true", help="write the good rows all the same")
    record.add_argument("--note", default="", help="why they are entered this way")
    _json_option(record)

    _telling_commands(commands)
    _trend_command(commands)

    _people_commands(commands)

    _paper_commands(commands)

    _picture_command(commands)
    return parser


def _people_commands(commands: argparse._SubParsersAction[_Parser]) -> None:
    recover = commands.add_parser(
        "recover", help="set an engineer's forgotten password by the recovery code"
    )
    recover.add_argument("book", type=Path)
    recover.add_argument("--name", help="the engineer's name or key (default: the only engineer)")

    audit = commands.add_parser("audit", help="draw past handovers by lot, with a sheet to score")
    audit.add_argument("book", type=Path)
    audit.add_argument("--count", type=int, default=5, help="how many shifts (default 5)")
    audit.add_argument("--days", type=int, default=90, help="of so many days back (default 90)")
    audit.add_argument("--seed", type=int, default=1, help="same seed, same draw (default 1)")
    _json_option(audit)


def _telling_commands(commands: argparse._SubParsersAction[_Parser]) -> None:
    exceptions = commands.add_parser("exceptions", help="what was not as it should be in a shift")
    exceptions.add_argument("book", type=Path)
    _shift_option(exceptions)
    _json_option(exceptions)

    balance = commands.add_parser("balance", help="where beans, oil, water and solvent went")
    balance.add_argument("book", type=Path)
    _period_option(balance)
    _json_option(balance)
    _pdf_options(balance, needed=False)

    drift = commands.add_parser("drift", help="what changes slowly, and when it reaches a limit")
    drift.add_argument("book", type=Path)
    _json_option(drift)

    doubtful = commands.add_parser("doubtful", help="numbers of a period worth a question")
    doubtful.add_argument("book", type=Path)
    _period_option(doubtful)
    _json_option(doubtful)


def _trend_command(commands: argparse._SubParsersAction[_Parser]) -> None:
    trend = commands.add_parser("trend", help="draw points over time, or write their readings")
    trend.add_argument("book", type=Path)
    trend.add_argument("point", nargs="+", help="key, tag, or words that fit one point alone")
    trend.add_argument("--from", dest="since", metavar="WHEN", help="day or time (30 days back)")
    trend.add_argument("--to", dest="until", metavar="WHEN", help="day, counted in, or time (now)")
    trend.add_argument("--by-unit", action="store_true", help="one axis for each unit")
    trend.add_argument("--out", type=Path, required=True, help="x.png, x.pdf or x.csv")


def _picture_command(commands: argparse._SubParsersAction[_Parser]) -> None:
    picture = commands.add_parser("picture", help="render a screen to a PNG file")
    picture.add_argument("book", type=Path)
    picture.add_argument(
        "--screen",
        choices=SCREENS,
        default="round",
    )
    picture.add_argument("--area", help="area key (default: the first with something due)")
    picture.add_argument("--out", type=Path, required=True)
    picture.add_argument("--dark", action="store_true")
    picture.add_argument("--size", default="1280x800", help="width x height in pixels")


def _paper_commands(commands: argparse._SubParsersAction[_Parser]) -> None:
    handover = commands.add_parser("handover", help="write a shift's handover as a PDF file")
    handover.add_argument("book", type=Path)
    _shift_option(handover)
    _pdf_options(handover)

    review = commands.add_parser("review", help="write a shift's review on one page as a PDF file")
    review.add_argument("book", type=Path)
    _shift_option(review)
    _pdf_options(review)

    sheet = commands.add_parser("roundsheet", help="write a blank round sheet as a PDF file")
    sheet.add_argument("book", type=Path)
    _pdf_options(sheet)


def _json_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="machine-readable output")


def _shift_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--shift",
        default="previous",
        help="previous, current, or DATE/KEY such as 2026-05-01/N (default previous)",
    )


def _period_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--period",
        default="previous",
        help="2026-05, 2026-05-14, 2026-W23, 2026, year:2026-05, 2026-05-01..2026-05-14, "
        "shift:2026-05-14/N, previous or current with a kind (default previous: last month)",
    )


def _pdf_options(parser: argparse.ArgumentParser, *, needed: bool = True) -> None:
    parser.add_argument("--out", type=Path, required=needed, help="the PDF file to write")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="default a4")
