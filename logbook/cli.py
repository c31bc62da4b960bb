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
from typing import TYPE_CHECKING

from logbook.cli_parser import CliError, make_parser
from logbook.clock import open_by_its_clock, utc_now

if TYPE_CHECKING:
    from logbook.plant.model import Person, Plant
    from logbook.plant.roster import Shift
    from logbook.shift.period import Period

FAILED = 2


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


def _balance(options: argparse.Namespace) -> int:
    from logbook.shift.balance import balance_json, see_balance
    from logbook.shift.balance_text import text_lines

    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        period = _period(options.period, book.plant_at(now), now)
        if options.out is not None:
            from logbook.report.files import check_place, write_pdf
            from logbook.report.make_period import period_report

            check_place(options.out)
            write_pdf(options.out, period_report(book, period, paper=options.paper))
            print(options.out)
        elif options.json:
            _print_json(balance_json(book, period, now))
        else:
            print("\n".join(text_lines(see_balance(book, period, now))))
    return 0


def _period(wanted: str, plant: Plant, now: datetime) -> Period:
    """The period that a text names, begun before `now`. Raises CliError."""
    from logbook.shift.period_text import PeriodError, parse_begun

    try:
        return parse_begun(wanted, plant.calendar, now)
    except PeriodError as error:
        raise CliError(f"{error}.") from None


def _drift(options: argparse.Namespace) -> int:
    from logbook.shift.drift import drifts_at
    from logbook.shift.drift_words import as_json, text_lines

    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        found = drifts_at(book, book.plant_at(now), now)
    if options.json:
        _print_json(as_json(found))
    else:
        print("\n".join(text_lines(found)))
    return 0


def _doubtful(options: argparse.Namespace) -> int:
    from logbook.shift.doubtful import doubtful_of
    from logbook.shift.doubtful_words import as_json, text_lines

    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        plant = book.plant_at(now)
        period = _period(options.period, plant, now)
        # Nobody has signed on here: by shift and point, without names.
        found = doubtful_of(book, plant, period.start, min(period.end, now))
    if options.json:
        _print_json(as_json(found))
    else:
        print("\n".join(text_lines(found)))
    return 0


def _trend(options: argparse.Namespace) -> int:
    from logbook.exchange.trend_csv import trend_csv
    from logbook.report.files import check_place, write_pdf
    from logbook.report.trend_files import trend_file
    from logbook.shift.trend_ask import AskError, asked_span, named_points
    from logbook.shift.trend_study import read_around, read_study

    check_place(options.out)
    with open_by_its_clock(options.book, writable=False) as book:
        now = book.now()
        plant = book.plant_at(now)
        try:
            keys = named_points(plant, options.point)
            start, end = asked_span(options.since, options.until, plant.time_zone, now)
        except AskError as error:
            raise CliError(f"{error}.") from None
        study = read_study(book, plant, keys, now)
        span = start.timestamp(), end.timestamp()
        if options.out.suffix.lower() == ".csv":
            write_pdf(options.out, trend_csv(study, *span).encode("utf-8-sig"))
        else:
            around = read_around(book, plant, start, end)
            data = trend_file(options.out, study, span, now, around=around, by_unit=options.by_unit)
            write_pdf(options.out, data)
    print(options.out)
    return 0


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
    "balance": _balance,
    "drift": _drift,
    "doubtful": _doubtful,
    "trend": _trend,
    "audit": _audit,
    "recover": _recover,
    "handover": _handover,
    "review": _review,
    "roundsheet": _roundsheet,
    "picture": _picture,
}

if __name__ == "__main__":
    sys.exit(main())
