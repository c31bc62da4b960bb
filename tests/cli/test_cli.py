"""The command line from end to end: what it prints, how it fails, and with which exit code."""

import json
import os
import re
import sqlite3
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook import __version__
from logbook.cli import COMMANDS, CliError, find_shift, main, make_parser
from logbook.logfile import log_path
from logbook.plant.templates import template_names
from logbook.record import NewReading, open_book

HEAD = "point,taken_at,value,reason,person\n"


@pytest.fixture
def csv(tmp_path):
    """Writes a file of readings."""

    def written(*rows, head=HEAD):
        path = tmp_path / "readings.csv"
        path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
        return path

    return written


# -- as a whole ---------------------------------------------------------------------------------


def test_the_version_is_told(run):
    """On stdout."""
    assert run("--version") == (0, [f"logbook {__version__}"], [])


@pytest.mark.parametrize("words", [["--help"], *([name, "--help"] for name in COMMANDS)])
def test_every_command_has_its_help(run, words):
    """With every option explained."""
    code, out, err = run(*words)
    assert (code, err) == (0, [])
    assert out[0].startswith("usage: logbook")


def test_every_command_is_in_the_help_and_does_something():
    """The parser and the table of commands agree."""
    shown = make_parser().format_help()
    assert all(re.search(rf"^ +{name}\s+\S", shown, re.MULTILINE) for name in COMMANDS)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--nonsense"], "COMMAND"),
        (["check"], "plantfile"),
        (["check", "a", "b"], "unrecognized arguments: b"),
        (["new", "a"], "--template, --by"),
        (["record", "a"], "readings"),
        (["sample", "a", "--days", "many"], "many"),
        (["picture", "a"], "--out"),
        (["picture", "a", "--out", "b", "--screen", "c"], "invalid choice"),
    ],
)
def test_wrong_arguments_are_one_line(fails, words, told):
    """With where to look."""
    message = fails(*words)
    assert told in message
    assert "--help" in message


def test_an_unknown_command_names_those_there_are(fails):
    """A misspelt one is no book either."""
    message = fails("recrod", "a.logbook", "b.csv")
    assert 'unknown command "recrod"' in message
    assert all(name in message for name in COMMANDS)
    assert 'neither a command nor a book "recrod"' in fails("recrod")


# -- check --------------------------------------------------------------------------------------


def test_a_good_plant_file_is_counted(run, pair_file):
    """As data, there is no fault."""
    code, out, err = run("check", pair_file)
    assert (code, err) == (0, [])
    assert out == ["Plant of two mills: 3 areas, 20 points, 4 people; no fault found."]
    assert run("check", pair_file, "--json") == (0, ["[]"], [])


def test_fifty_faults_are_fifty_lines(run, faulty):
    """On stdout, each with its line in the file; the count is the error."""
    path = faulty(50)
    code, out, err = run("check", path)
    assert code == 2
    assert len(out) == 50
    assert all(line.startswith(f"{path}, line ") and "furlong" in line for line in out)
    assert err == [f"logbook: {path}: 50 faults."]


def test_faults_as_data(run, faulty):
    """Path, line, place, what is wrong and what was wanted."""
    path = faulty(2)
    code, out, err = run("check", path, "--json")
    assert code == 2
    found = json.loads("\n".join(out))
    assert [fault["path"] for fault in found] == [str(path)] * 2
    assert found[1]["line"] - found[0]["line"] == 6
    assert set(found[0]) == {"path", "line", "where", "what", "wanted"}
    assert err == [f"logbook: {path}: 2 faults."]


def test_one_fault_is_one(run, faulty):
    """Not "1 faults"."""
    assert run("check", faulty(1))[2][0].endswith(": 1 fault.")


def test_a_plant_file_that_cannot_be_read_is_told(fails, run, tmp_path):
    """Missing, a folder, no text, no TOML."""
    assert "none.toml" in fails("check", tmp_path / "none.toml")
    assert str(tmp_path) in fails("check", tmp_path)
    for content in (b"\xff\xfe", b"[plant\n", b""):
        bad = tmp_path / "bad.toml"
        bad.write_bytes(content)
        code, out, err = run("check", bad)
        assert (code, len(err)) == (2, 1)
        assert out


# -- new ----------------------------------------------------------------------------------------


def test_a_book_is_begun(run, tmp_path, pair_file):
    """Its path is printed, and it can be asked at once."""
    code, out, err = run("new", "--template", pair_file, "--by", "Ada", tmp_path / "a")
    assert (code, err) == (0, [])
    assert out == [str(tmp_path / "a.logbook")]
    assert run("exceptions", out[0], "--shift", "current")[0] == 0


@pytest.mark.parametrize("name", template_names())
def test_a_book_is_begun_from_each_template(run, tmp_path, name):
    """By name."""
    assert run("new", "--template", name, "--by", "Ada", tmp_path / "a")[0] == 0


def test_a_book_that_cannot_be_begun_is_told(fails, tmp_path, pair_file, faulty):
    """A name that is taken, an unknown template, a bad file, nobody's name, no folder."""
    taken = tmp_path / "taken.logbook"
    taken.write_text("mine", encoding="utf-8")
    new = ("new", "--template")
    assert "already a file" in fails(*new, pair_file, "--by", "Ada", taken)
    assert taken.read_text(encoding="utf-8") == "mine"
    assert "no template and no plant file" in fails(*new, "x", "--by", "A", tmp_path / "a")
    assert "and 2 more" in fails(*new, faulty(3), "--by", "Ada", tmp_path / "a")
    assert "a name is needed" in fails(*new, pair_file, "--by", " ", tmp_path / "a")
    assert "does not exist" in fails(*new, pair_file, "--by", "A", tmp_path / "no" / "a")
    assert not (tmp_path / "a.logbook").exists()


# -- record -------------------------------------------------------------------------------------


def test_readings_are_recorded(run, book, csv):
    """What is out of limits is told, and the count; the exit code is 0."""
    path = csv("gap.m2,2024-03-04 08:00,0.50,,op1", "dip,2024-03-04 08:00,1.2,,Operator Two")
    code, out, err = run("record", book, path, "--note", "from paper")
    assert (code, err) == (0, [])
    assert out == [
        "row 2: 2024-03-04 08:00 Mills: Flake thickness, Mill 2: 0.50 mm, action high, over 0.45",
        "2 readings written on 2 pages, 0 faults.",
    ]
    with open_book(book, clock=lambda: datetime.now(UTC), writable=False) as opened:
        assert opened.last_page().note == "from paper"


def test_fifty_faults_of_a_file_are_told_and_nothing_is_written(run, book, csv):
    """The exit code is 2; with --skip-bad the rest is written and it is 1."""
    rows = [f"gop{n},2024-03-04 08:00,1,,op1" for n in range(50)]
    path = csv(*rows, "dip,2024-03-04 08:00,1.2,,op1")
    code, out, err = run("record", book, path)
    assert code == 2
    assert len([line for line in out if line.startswith("row ")]) == 50
    assert out[-1] == "0 readings written on 0 pages, 50 faults."
    assert err == [f"logbook: nothing written: 50 faults in {path}."]
    code, out, err = run("record", book, path, "--skip-bad")
    assert (code, err) == (1, [])
    assert out[-1] == "1 reading written on 1 page, 50 faults."


def test_what_was_recorded_as_data(run, book, csv):
    """Written rows and faults."""
    path = csv("dip,2024-03-04 08:00,1.2,,op1", "dip,2024-03-04 10:00,deep,,op1")
    code, out, _ = run("record", book, path, "--json", "--skip-bad")
    data = json.loads("\n".join(out))
    assert code == 1
    assert [row["value"] for row in data["written"]] == [1.2]
    assert [(f["row"], f["column"]) for f in data["faults"]] == [(3, "value")]


def test_a_file_of_readings_that_cannot_be_read_is_told(fails, book, tmp_path):
    """Missing, a folder."""
    assert "none.csv: " in fails("record", book, tmp_path / "none.csv")
    assert str(tmp_path) in fails("record", book, tmp_path)


# -- exceptions ----------------------------------------------------------------------------------


def test_exceptions_of_a_shift_are_printed(run, book):
    """The heading, what was out, what is missing."""
    code, out, err = run("exceptions", book, "--shift", "2024-03-04/D")
    assert (code, err) == (0, [])
    assert out[0].startswith("Plant of two mills: Day of 2024-03-04, 06:00 to 18:00")
    assert any("0.47 mm (high, over 0.45), 1 reading, back inside at 12:00" in t for t in out)
    assert all(len(line) <= 110 for line in out)


def test_exceptions_as_data(run, book):
    """They parse."""
    code, out, _ = run("exceptions", book, "--shift", "2024-03-04/d", "--json")
    assert code == 0
    assert json.loads("\n".join(out))["deviations"][0]["point"] == "gap.m1"


def test_a_shift_before_the_book_was_begun_is_told(fails, book):
    """An empty list would read as a quiet shift."""
    assert "begun after" in fails("exceptions", book, "--shift", "2024-02-01/D")


def test_the_previous_and_the_running_shift(run, book):
    """Long after the story of this book: every round is missing."""
    for wanted in ("previous", "current"):
        code, out, _ = run("exceptions", book, "--shift", wanted)
        assert code == 0
        assert "0 readings" in out[1]


@pytest.mark.parametrize(
    "wanted",
    ["2024-03-04", "2024-03-04/X", "2024-03-04/", "04.03.2024/D", "next", "", "/", "9999-12-31/N"],
)
def test_a_shift_that_does_not_exist_is_told(fails, book, wanted):
    """With what can be written."""
    message = fails("exceptions", book, "--shift", wanted)
    assert "names no shift" in message
    assert "D, N" in message


def test_a_shift_to_come_is_told(fails, book):
    """It has no exceptions yet."""
    assert "has not begun" in fails("exceptions", book, "--shift", "2999-01-01/D")


def test_shifts_are_found_by_their_names(plant, at):
    """Previous, current, and by date and key in any case."""
    now = at("03-04 20:00")
    assert find_shift(plant, "current", now).pattern == "N"
    assert find_shift(plant, "previous", now).pattern == "D"
    night = find_shift(plant, "2024-03-03/n", now)
    assert (night.start, night.end) == (at("03-03 18:00"), at("03-04 06:00"))
    running = find_shift(plant, "2024-03-04/N", now)
    assert running == find_shift(plant, "current", now)
    with pytest.raises(CliError, match="has not begun"):
        find_shift(plant, "2024-03-05/D", now)


def test_the_night_the_clocks_change_is_found_whole(plant, at):
    """13 hours in autumn, 11 in spring."""
    long = find_shift(plant, "2024-11-02/N", at("11-04 06:00"))
    short = find_shift(plant, "2024-03-09/N", at("03-11 06:00"))
    assert long.length == timedelta(hours=13)
    assert short.length == timedelta(hours=11)


# -- books that cannot be used ---------------------------------------------------------------------


@pytest.fixture(params=["record", "exceptions"])
def words_of(request, csv):
    """The words of each command that opens a book."""
    path = csv("dip,2024-03-04 08:00,1.2,,op1")
    more = [path] if request.param == "record" else []
    return lambda book: (request.param, book, *more)


def test_a_book_that_is_not_there(fails, words_of, tmp_path):
    """It is not made by the way."""
    assert "none.logbook" in fails(*words_of(tmp_path / "none.logbook"))
    assert not (tmp_path / "none.logbook").exists()


@pytest.mark.parametrize(
    "content", [b"", b"just a text\n" * 200, b"SQLite format 3\0" + b"\0" * 999]
)
def test_a_file_that_is_no_book(fails, words_of, tmp_path, content):
    """It is left as it was."""
    path = tmp_path / "other.logbook"
    path.write_bytes(content)
    assert "other.logbook" in fails(*words_of(path))
    assert path.read_bytes() == content


def test_a_folder_is_no_book(fails, words_of, tmp_path):
    """It is told like another wrong file."""
    folder = tmp_path / "folder.logbook"
    folder.mkdir()
    assert "folder.logbook" in fails(*words_of(folder))


def test_a_database_of_another_program_is_no_book(fails, words_of, tmp_path):
    """Tables alone do not make one."""
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE t (a)")
    assert "not a logbook" in fails(*words_of(path))


def test_a_book_of_a_newer_version(fails, words_of, book):
    """It is not touched."""
    with closing(sqlite3.connect(book)) as connection:
        connection.execute("PRAGMA user_version = 999")
    assert "newer" in fails(*words_of(book))


@pytest.mark.slow
def test_a_book_that_another_program_is_writing_into(fails, run, book, csv):
    """Recording gives up after ten seconds; exceptions are read all the same."""
    from logbook.record.lock import FileLock

    path = csv("dip,2024-03-04 08:00,1.2,,op1")
    with FileLock(Path(f"{book}.lock"), 1.0):
        assert "Another program is writing" in fails("record", book, path)
        assert run("exceptions", book, "--shift", "2024-03-04/D")[0] == 0
    assert run("record", book, path)[0] == 0


# -- the program itself ------------------------------------------------------------------------------


def test_the_program_runs_as_a_process_of_its_own(program, book):
    """Results on stdout, exit code 0."""
    out, err = program("exceptions", book, "--shift", "2024-03-04/D").communicate(timeout=60)
    assert err == b""
    assert out.decode().startswith("Plant of two mills: Day of 2024-03-04")


def test_its_errors_go_to_stderr_with_their_exit_code(program, tmp_path):
    """Nothing on stdout."""
    child = program("exceptions", tmp_path / "none.logbook")
    out, err = child.communicate(timeout=60)
    assert (child.returncode, out) == (2, b"")
    assert err.decode().count("\n") == 1


def test_a_reader_who_has_had_enough_is_no_error(program, faulty):
    """As with `| head -1`: no complaint, whatever is left to print."""
    child = program("check", faulty(3000))
    child.stdout.readline()
    child.stdout.close()
    err = child.stderr.read()
    child.stderr.close()
    assert child.wait(timeout=60) == 0
    assert err == b""


def test_a_reader_who_left_before_the_first_line_is_no_error(program, book):
    """A few lines wait in a buffer until the end; also they fail without a complaint."""
    child = program("exceptions", book, "--shift", "2024-03-04/D")
    child.stdout.close()
    err = child.stderr.read()
    child.stderr.close()
    assert child.wait(timeout=60) == 0
    assert err == b""


def test_a_console_without_the_signs_still_shows_the_rest(program, tmp_path, pair_file):
    """A replacement stands for what it cannot show; as data, nothing is lost."""
    path = tmp_path / "signs.toml"
    text = pair_file.read_text(encoding="utf-8").replace("Plant of two mills", "Mühle № 2")
    path.write_text(text, encoding="utf-8")
    out, err = program("check", path, encoding="ascii").communicate(timeout=60)
    assert err == b""
    assert out.startswith(b"M?hle ? 2: 3 areas")
    path.write_text(text.replace('unit = "t"', 'unit = "µx"'), "utf-8")
    out, _ = program("check", path, "--json", encoding="ascii").communicate(timeout=60)
    assert "µx" in json.dumps(json.loads(out), ensure_ascii=False)


# A process of its own that gives up root's rights, since the rights of root know no bounds.
WITHOUT_RIGHTS = """
import os, sys
import logbook.record, logbook.exchange.record_csv, logbook.shift.exceptions_text
from logbook.cli import main
for words in (["exceptions", sys.argv[1], "--shift", "2024-03-04/D"], ["record", *sys.argv[1:3]]):
    if os.geteuid() == 0:
        main(words[:2] + ["--shift", "x"] if words[0] == "exceptions" else words[:1])
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
    print(main(words))
"""


@pytest.mark.skipif(os.name != "posix", reason="rights are set the POSIX way")
def test_a_book_that_may_only_be_read(book, csv, repo_root):
    """Exceptions are told, recording says that it may not write."""
    import shutil
    import subprocess
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shown = folder / "pair.logbook"
        shutil.copy(book, shown)
        readings = folder / "readings.csv"
        shutil.copy(csv("dip,2024-03-04 08:00,1.2,,op1"), readings)
        shown.chmod(0o444)
        readings.chmod(0o444)
        folder.chmod(0o755)
        child = subprocess.run(
            [sys.executable, "-c", WITHOUT_RIGHTS, shown, readings],
            cwd=repo_root,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
    assert child.returncode == 0, child.stderr
    assert "Day of 2024-03-04" in child.stdout
    assert child.stdout.splitlines()[-1] == "2"
    assert "may only be read" in child.stderr.splitlines()[-1]


# -- commands of which only the arguments are tried here ---------------------------------------------


@pytest.mark.parametrize("days", ["0", "-3"])
def test_a_sample_needs_a_day_at_least(fails, tmp_path, days):
    """Nothing is built."""
    assert "at least 1" in fails("sample", tmp_path, f"--days={days}")


def test_the_end_of_a_sample_is_an_instant(fails, tmp_path):
    """Written as ISO 8601."""
    assert "is not an instant" in fails("sample", tmp_path, "--end", "tomorrow")


@pytest.mark.parametrize(
    "size", ["big", "0x0", "1280", "1280x", "-1x5", "99x99", "99999x1", "1x2x3"]
)
def test_a_picture_needs_a_size_in_pixels(fails, book, tmp_path, size):
    """Between 100 and 9999 each way."""
    assert "is no size" in fails("picture", book, "--out", tmp_path / "a.png", f"--size={size}")


def test_a_picture_needs_a_folder_and_an_area_that_exist(fails, book, tmp_path):
    """Told before anything is drawn."""
    assert "does not exist" in fails("picture", book, "--out", tmp_path / "no" / "a.png")
    message = fails("picture", book, "--out", tmp_path / "a.png", "--area", "roof")
    assert 'no area "roof"' in message
    assert "mills, extraction, tanks" in message


def test_a_reading_written_meanwhile_is_seen(run, book, at):
    """Each command opens the book anew."""
    _, before, _ = run("exceptions", book, "--shift", "2024-03-04/D")
    with open_book(book, clock=lambda: datetime.now(UTC)) as opened:
        opened.write("op2", [NewReading("dip", at("03-04 09:00"), value=1.2)])
    _, after, _ = run("exceptions", book, "--shift", "2024-03-04/D")
    assert before[1].startswith("12 readings")
    assert after[1].startswith("13 readings")


@pytest.mark.expects_log("unexpected error")
def test_an_unexpected_error_is_one_line_with_the_trace_in_the_log_file(monkeypatch, capsys):
    """A bug shows a sentence and exit code 2; the trace is kept for whoever helps."""

    def broken(options):
        raise ZeroDivisionError("a bug")

    monkeypatch.setitem(COMMANDS, "check", broken)
    assert main(["check", "plant.toml"]) == 2
    told = capsys.readouterr().err
    assert told.startswith("logbook: something went wrong")
    assert told.count("\n") == 1
    assert "ZeroDivisionError: a bug" in log_path().read_text(encoding="utf-8")
