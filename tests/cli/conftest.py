"""Books of the plant of two mills in the spring of 2024, and the command line in this process."""

import os
import subprocess
import sys
from datetime import date, time, timedelta
from pathlib import Path

import pytest

from logbook.cli import main
from logbook.plant.file import read_plant
from logbook.plant.localtime import to_utc
from logbook.record import NewReading, create_book

PAIR = Path(__file__).parents[1] / "data" / "plants" / "pair.toml"


def local(text):
    """The instant of "03-02 14:00" in the plant's local time of 2024."""
    day, clock = text.split()
    month, number = day.split("-")
    return to_utc(date(2024, int(month), int(number)), time.fromisoformat(clock), "America/Chicago")


@pytest.fixture
def at():
    """What turns a local time of 2024 into an instant."""
    return local


@pytest.fixture(scope="session")
def plant():
    """The plant of two mills."""
    return read_plant(PAIR)


@pytest.fixture
def pair_file():
    """Its plant file."""
    return PAIR


@pytest.fixture
def book(tmp_path, plant, clock):
    """Path of a closed book begun on 1 March 2024 with a day shift on 4 March."""
    clock.set(local("03-01 06:00"))
    path = tmp_path / "pair.logbook"
    with create_book(path, plant, clock=clock, person="head", reason="begun") as made:
        for hour in range(6, 18, 2):
            when = local(f"03-04 {hour:02d}:00")
            clock.set(when + timedelta(minutes=10))
            value = 0.47 if hour == 10 else 0.35
            rows = [
                NewReading("gap.m1", when, value=value, round_at=when),
                NewReading("bed", when, text="even", round_at=when),
            ]
            made.write("op1", rows)
    return path


@pytest.fixture
def run(capsys):
    """Runs the command line here: exit code, lines on stdout, lines on stderr."""

    def ran(*words):
        try:
            code = main([str(word) for word in words])
        except SystemExit as left:
            code = left.code
        out, err = capsys.readouterr()
        return code, out.splitlines(), err.splitlines()

    return ran


@pytest.fixture
def fails(run):
    """Runs a command that must fail: exit code 2 and one line on stderr, which is returned."""

    def failed(*words):
        code, _, err = run(*words)
        assert code == 2
        assert len(err) == 1, err
        assert err[0].startswith("logbook: ")
        return err[0]

    return failed


@pytest.fixture
def program(repo_root):
    """Starts the program as a process of its own."""

    def started(*words, encoding="utf-8", **more):
        environment = {**os.environ, "PYTHONPATH": str(repo_root), "PYTHONIOENCODING": encoding}
        return subprocess.Popen(
            [sys.executable, "-m", "logbook", *map(str, words)],
            cwd=repo_root,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            **more,
        )

    return started


@pytest.fixture
def faulty(tmp_path):
    """A plant file with as many faults as asked for."""

    def written(count):
        lines = []
        for n in range(count):
            lines += ["[[point]]", f'key = "extra{n}"', 'name = "Extra"', 'area = "mills"']
            lines += ['unit = "furlong"', ""]
        path = tmp_path / "faulty.toml"
        path.write_text(PAIR.read_text(encoding="utf-8") + "\n".join(lines), encoding="utf-8")
        return path

    return written
