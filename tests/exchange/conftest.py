"""A real book of the plant of two mills, and CSV files for it."""

from datetime import date, time
from pathlib import Path

import pytest

from logbook.exchange.known import Known
from logbook.exchange.readings_csv import read_csv, read_text
from logbook.exchange.record_csv import record_file
from logbook.plant.file import read_plant
from logbook.plant.localtime import to_utc
from logbook.record import create_book

ZONE = "America/Chicago"
PAIR = Path(__file__).parents[1] / "data" / "plants" / "pair.toml"
HEAD = "point,taken_at,value,reason,person,response,confirm\n"


@pytest.fixture(scope="session")
def plant():
    """The plant of two mills."""
    return read_plant(PAIR)


@pytest.fixture
def at():
    """What turns a local time such as "03-02 14:00" into an instant."""

    def local(text):
        day, clock = text.split()
        month, number = day.split("-")
        return to_utc(date(2026, int(month), int(number)), time.fromisoformat(clock), ZONE)

    return local


@pytest.fixture
def book(tmp_path, plant, clock, at):
    """A book begun on 1 March; the clock then shows 5 March, 09:00."""
    clock.set(at("03-01 06:00"))
    made = create_book(tmp_path / "pair.logbook", plant, clock=clock, person="head", reason="begun")
    clock.set(at("03-05 09:00"))
    yield made
    made.close()


@pytest.fixture
def read(book):
    """Reads rows below the usual heading against the book; `head` for another heading."""

    def result(*rows, head=HEAD, text=None):
        return read_text(text if text is not None else head + "\n".join(rows), Known(book))

    return result


@pytest.fixture
def faults(read):
    """The faults of rows as (row, column, sentence)."""

    def found(*rows, **more):
        return [(f.row, f.column, f.sentence) for f in read(*rows, **more).faults]

    return found


@pytest.fixture
def file(tmp_path):
    """Writes a file of bytes or text and returns its path."""

    def written(content, name="readings.csv"):
        path = tmp_path / name
        data = content if isinstance(content, bytes) else content.encode()
        path.write_bytes(data)
        return path

    return written


@pytest.fixture
def read_file(book):
    """Reads a file against the book."""
    return lambda path: read_csv(path, Known(book))


@pytest.fixture
def record(book, file):
    """Writes the rows of a file into the book."""

    def done(*rows, skip_bad=False, note="", head=HEAD):
        path = file(head + "\n".join(rows))
        return record_file(book, path, skip_bad=skip_bad, note=note)

    return done
