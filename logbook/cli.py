"""The command line: `logbook` opens the window, the other commands do their work without it.

Results go to stdout; an error is one line on stderr and exit code 2.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import re
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from logbook import __version__
from logbook.clock import open_by_its_clock, utc_now

if TYPE_CHECKING:
    from logbook.plant.model import Person, Plant
    from logbook.plant.roster import Shift

FAILED = 2


class CliError(Exception):
    """Something the person at the command line can put right; the message says what."""


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are one line, like all others."""

    def error(self, message: str) -> NoReturn:
        raise CliError(f"{message}; see {self.prog} --help.")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    parser = make_parser()
    if not words or (words[0] not in COMMANDS and not words[0].startswith("-")):
        return _window(words)
    return _told(lambda: _run(parser, words))


def _run(parser: argparse.ArgumentParser, words: Sequence[str]) -> int:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a console without the sign for a degree
    options = parser.parse_args(words)
    try:
        return COMMANDS[options.command](options)
    finally:
        sys.stdout.flush()  # before an error is told, and where a broken pipe can still be met


def _told(work: Callable[[], int]) -> int:
    """Run `work`; turn what can go wrong outside the program into one line."""
    from logbook.record import BookError

    try:
        return work()
    except CliError as error:
        message = str(error)
    except BookError as error:
        message = error.message
    except BrokenPipeError:
        # Who reads has had enough. What is left goes nowhere, or it would fail again at the exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        message = "Stopped."
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        message = f"{where}{error.strerror or error}"
    except Exception as error:  # noqa: BLE001 - the border to the user: the trace goes to the log file
        from logbook.logfile import keep_trace

        message = keep_trace(error)
    print(f"logbook: {message}", file=sys.stderr)
    return FAILED


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

    exceptions = commands.add_parser("exceptions", help="what was not as it should be in a shift")
    exceptions.add_argument("book", type=Path)
    _shift_option(exceptions)
    _json_option(exceptions)

    _people_commands(commands)
    _paper_commands(commands)

    picture = commands.add_parser("picture", help="render a screen to a PNG file")
    picture.add_argument("book", type=Path)
    picture.add_argument(
        "--screen", choices=("round", "shift", "review", "handover"), default="round"
    )
    picture.add_argument("--area", help="area key (default: the first with something due)")
    picture.add_argument("--out", type=Path, required=True)
    picture.add_argument("--dark", action="store_true")
    picture.add_argument("--size", default="1280x800", help="width x height in pixels")
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


def _pdf_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, required=True, help="the PDF file to write")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="default a4")


def _print_json(data: object) -> None:
    is_unicode = (sys.stdout.encoding or "").casefold().startswith("utf")
    print(json.dumps(data, indent=2, ensure_ascii=not is_unicode))


# -- commands -----------------------------------------------------------------------------


def _window(words: Sequence[str]) -> int:
    if len(words) > 1:
        known = ", ".join(COMMANDS)
        print(f'logbook: unknown command "{words[0]}"; known are: {known}.', file=sys.stderr)
        return FAILED
    if words and not Path(words[0]).exists():
        print(
            f'logbook: there is neither a command nor a book "{words[0]}"; see logbook --help.',
            file=sys.stderr,
        )
        return FAILED
    from logbook.ui.app import run

    return run(Path(words[0]) if words else None)


def _sample(options: argparse.Namespace) -> int:
    if options.days < 1:
        raise CliError("--days must be at least 1.")
    end = _instant(options.end) if options.end else None
    from sample_db import DEFAULT_SEED, build_sample

    seed = DEFAULT_SEED if options.seed is None else options.seed
    shows = sys.stderr.isatty() and not options.quiet
    progress = _progress_line if shows else None
    built = build_sample(options.folder, seed=seed, end=end, days=options.days, progress=progress)
    if shows:
        print(file=sys.stderr)
    print(built.path)
    return 0


def _progress_line(fraction: float, text: str) -> None:
    filled = round(fraction * 30)
    bar = "#" * filled + "." * (30 - filled)
    print(f"\r[{bar}] {fraction:4.0%} {text:<36.36}", end="", file=sys.stderr, flush=True)


def _instant(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise CliError(
            f'"{text}" is not an instant; write it as 2026-11-25T06:00:00+00:00.'
        ) from None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _new(options: argparse.Namespace) -> int:
    from logbook.shift.new_book import NewBookError, start_book

    try:
        path = start_book(options.file, options.template, options.by, clock=utc_now)
    except NewBookError as error:
        raise CliError(error.message) from None
    print(path)
    return 0


def _check(options: argparse.Namespace) -> int:
    from logbook.plant.file import PlantFileError, read_plant

    try:
        plant = read_plant(options.plantfile)
    except PlantFileError as error:
        if options.json:
            _print_json([_fault_json(fault) for fault in error.faults])
        else:
            print("\n".join(str(fault) for fault in error.faults))
        count = len(error.faults)
        raise CliError(f"{options.plantfile}: {count} fault{'s' if count > 1 else ''}.") from None
    if options.json:
        _print_json([])
    else:
        print(
            f"{plant.name}: {len(plant.areas)} areas, {len(plant.points)} points, "
            f"{len(plant.people)} people; no fault found."
        )
    return 0


def _fault_json(fault: object) -> dict[str, object]:
    names = ("path", "line", "where", "what", "wanted")
    return {name: _plain(getattr(fault, name)) for name in names}


def _plain(value: object) -> object:
    return str(value) if isinstance(value, Path) else value


def _record(options: argparse.Namespace) -> int:
    from logbook.exchange.record_csv import counted, record_file

    with open_by_its_clock(options.book) as book:
        result = record_file(book, options.readings, skip_bad=options.skip_bad, note=options.note)
    if options.json:
        _print_json(result.as_json())
    else:
        print("\n".join(result.lines()))
    if result.faults and not result.written:
        raise CliError(
            f"nothing written: {counted(len(result.faults), 'fault')} in {options.readings}."
        )
    return 1 if result.faults else 0


def _exceptions(options: argparse.Namespace) -> int:
    from logbook.shift.exceptions import exceptions_of
    from logbook.shift.exceptions_json import as_json
    from logbook.shift.exceptions_text import text_lines

    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        shift = find_shift(book.plant_at(now), options.shift, now)
        found = exceptions_of(book, shift, now)
        if shift.end <= book.created_at and not found.reading_count:
            raise CliError(f"the book was begun after the shift {shift.date}/{shift.pattern}.")
    if options.json:
        _print_json(as_json(found))
    else:
        print("\n".join(text_lines(found)))
    return 0


def _audit(options: argparse.Namespace) -> int:
    from datetime import timedelta

    from logbook.shift.audit import audit_sample
    from logbook.shift.audit_text import audit_json, audit_lines

    if options.count < 1 or options.days < 1:
        raise CliError("--count and --days must be at least 1.")
    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        start = now - timedelta(days=options.days)
        sheets = audit_sample(book, start, now, options.count, options.seed)
        plant = book.plant_at(now)
    if not sheets:
        raise CliError("no shift of the book has ended in that time.")
    if options.json:
        _print_json(audit_json(sheets))
    else:
        print("\n".join(audit_lines(sheets, plant)))
    return 0


def _recover(options: argparse.Namespace) -> int:
    from logbook.shift.access import Door

    with open_by_its_clock(options.book) as book:
        door = Door(book)
        person = _engineer(book.plant_at(book.now()), options.name)
        code = _ask_hidden("Recovery code: ")
        new = _ask_hidden("New password: ")
        if new != _ask_hidden("The same again: "):
            raise CliError("the two passwords are not the same; nothing was changed.")
        done = door.recover(person.key, code, new)
    if done.answer.person is None:
        raise CliError(done.answer.message.replace("PIN or password", "recovery code"))
    print(f"The new password of {person.name} is set; the log says that the code was used.")
    print("The code is worth nothing now. Write down the new one, it is shown this once:")
    print(done.code)
    return 0


def _engineer(plant: Plant, wanted: str | None) -> Person:
    """The engineer of a name or key; the only one where none is named. Raises CliError."""
    from logbook.plant.model import Role

    engineers = [person for person in plant.people if person.role is Role.ENGINEER]
    words = (wanted or "").strip().casefold()
    found = [p for p in engineers if not words or words in {p.key.casefold(), p.name.casefold()}]
    if len(found) != 1:
        names = ", ".join(person.name for person in engineers) or "none"
        raise CliError(f"name one engineer with --name; the book has: {names}.")
    return found[0]


def _ask_hidden(prompt: str) -> str:
    """What is typed unseen at a terminal; a line of the input where there is none."""
    if sys.stdin is not None and sys.stdin.isatty():
        from getpass import getpass

        return getpass(prompt)
    return sys.stdin.readline().rstrip("\r\n") if sys.stdin is not None else ""


def _handover(options: argparse.Namespace) -> int:
    from logbook.report.make import handover_of

    return _pdf_of_shift(options, handover_of)


def _review(options: argparse.Namespace) -> int:
    from logbook.report.make import review_pdf_of

    return _pdf_of_shift(options, review_pdf_of)


def _pdf_of_shift(options: argparse.Namespace, make: Callable[..., bytes]) -> int:
    from logbook.report.files import check_place, write_pdf

    check_place(options.out)
    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        shift = find_shift(book.plant_at(now), options.shift, now)
        if shift.end <= book.created_at and not book.readings(None, shift.start, shift.end):
            raise CliError(f"the book was begun after the shift {shift.date}/{shift.pattern}.")
        write_pdf(options.out, make(book, shift, paper=options.paper))
    print(options.out)
    return 0


def _roundsheet(options: argparse.Namespace) -> int:
    from logbook.plant.calendar import shift_at
    from logbook.report.files import check_place, write_pdf
    from logbook.report.make import round_sheet_of

    check_place(options.out)
    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        shift = shift_at(book.plant_at(now).calendar, now)
        write_pdf(options.out, round_sheet_of(book, shift, paper=options.paper))
    print(options.out)
    return 0


def find_shift(plant: Plant, wanted: str, now: datetime) -> Shift:
    """The shift named by "previous", "current" or DATE/KEY. Raises CliError."""
    from logbook.plant.calendar import previous_shift, shift_at, shift_on

    running = shift_at(plant.calendar, now)
    if wanted == "current":
        return running
    if wanted == "previous":
        return previous_shift(plant.calendar, running)
    day, _, key = wanted.partition("/")
    keys = [pattern.key for pattern in plant.calendar.shifts]
    named = {known.casefold(): known for known in keys}
    try:
        found = shift_on(plant.calendar, date.fromisoformat(day), named[key.casefold()])
    except (ValueError, KeyError, OverflowError):
        raise CliError(
            f'"{wanted}" names no shift; write previous, current, or a date and one of '
            f"{', '.join(keys)}, such as {running.date.isoformat()}/{keys[0]}."
        ) from None
    if found.start > now:
        raise CliError(f"the shift {wanted} has not begun yet.")
    return found


def _picture(options: argparse.Namespace) -> int:

    size = _size(options.size)
    if not options.out.parent.is_dir():
        raise CliError(f"the folder {options.out.parent} does not exist.")
    with open_by_its_clock(options.book, writable=False) as book:
        areas = [area.key for area in book.plant_at(book.now()).areas]
        if options.area is not None and options.area not in areas:
            raise CliError(f'there is no area "{options.area}"; there are {", ".join(areas)}.')
        from logbook.ui.picture import picture_of_screen

        picture_of_screen(
            book, options.out, options.screen, area=options.area, size=size, dark=options.dark
        )
    print(options.out)
    return 0


def _size(text: str) -> tuple[int, int]:
    """Width and height in pixels. Raises CliError."""
    found = re.fullmatch(r"([1-9]\d{2,3})x([1-9]\d{2,3})", text)
    if found is None:
        raise CliError(f'"{text}" is no size; write it as 1280x800.')
    return int(found[1]), int(found[2])


COMMANDS: dict[str, Callable[[argparse.Namespace], int]] = {
    "sample": _sample,
    "new": _new,
    "check": _check,
    "record": _record,
    "exceptions": _exceptions,
    "audit": _audit,
    "recover": _recover,
    "handover": _handover,
    "review": _review,
    "roundsheet": _roundsheet,
    "picture": _picture,
}

if __name__ == "__main__":
    sys.exit(main())
