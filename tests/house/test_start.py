"""start.py: the pure parts of the way from a fresh checkout to the open window."""

import ast
import errno
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.fixture
def in_folder(start, tmp_path, monkeypatch):
    """The script as if the checkout were an empty folder with spaces and accents in its name."""
    here = tmp_path / "crush plant é 豆"
    here.mkdir()
    monkeypatch.setattr(start, "HERE", here)
    monkeypatch.setattr(start, "ENVIRONMENT", here / ".venv")
    monkeypatch.setattr(start, "SAMPLE", here / ".sample")
    monkeypatch.setattr(start, "WORK", here / ".start")
    monkeypatch.setattr(start, "LOG", here / ".start" / "start.log")
    return start


@pytest.mark.parametrize(
    ("environ", "platform", "expected"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ""}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({}, "win32", True),
        ({}, "darwin", True),
    ],
)
def test_a_screen_is_a_display_or_a_system_that_always_has_one(start, environ, platform, expected):
    """Windows and macOS have a screen; elsewhere a display variable says so."""
    assert start.has_screen(environ, platform) is expected


def test_the_interpreter_lies_where_the_system_puts_it(start):
    """Scripts/python.exe on Windows, bin/python elsewhere."""
    assert start.python_of(Path("e"), "nt") == Path("e/Scripts/python.exe")
    assert start.python_of(Path("e"), "posix") == Path("e/bin/python")


@pytest.mark.parametrize(
    ("log", "word"),
    [
        ("ERROR: Could not install packages due to an OSError: [Errno 28] No space left", "full"),
        ("NewConnectionError: Temporary failure in name resolution", "network"),
        ("E: Temporary failure resolving 'mirror'", "network"),
        ("ERROR: No matching distribution found for numpy>=99", "fits"),
        ("PermissionError: [Errno 13] Permission denied: '/opt/x'", "may not be written"),
        ("something never seen", ""),
    ],
)
def test_a_failed_step_is_explained_by_its_log(start, log, word):
    """Known failures become words; an unknown one is not guessed at."""
    meaning = start.meaning_of(log)
    assert word in meaning
    assert bool(meaning) is bool(word)


def test_a_missing_package_during_an_outage_is_blamed_on_the_network(start):
    """A pip that reached nothing finds no matching distribution either; the cause comes first."""
    log = "Retrying after connection broken by NewConnectionError\nNo matching distribution found"
    assert "network" in start.meaning_of(log)


def test_missing_libraries_are_read_from_ldd(start):
    """Only what ldd could not find counts."""
    output = (
        "plugins/platforms/libqxcb.so:\n"
        "\tlibxcb-cursor.so.0 => not found\n"
        "\tlibGL.so.1 => not found\n"
        "\tlibm.so.6 => /lib/libm.so.6 (0x00007f)\n"
    )
    assert start.missing_libraries(output) == {"libxcb-cursor.so.0", "libGL.so.1"}
    assert start.missing_libraries("ldd: not a dynamic executable") == set()


@pytest.mark.parametrize(
    ("library", "package"),
    [
        ("libEGL.so.1", "libegl1"),
        ("libGL.so.1", "libgl1"),
        ("libX11.so.6", "libx11-6"),
        ("libX11-xcb.so.1", "libx11-xcb1"),
        ("libdbus-1.so.3", "libdbus-1-3"),
        ("libfontconfig.so.1", "libfontconfig1"),
        ("libglib-2.0.so.0", "libglib2.0-0"),
        ("libxcb-cursor.so.0", "libxcb-cursor0"),
        ("libxcb-icccm.so.4", "libxcb-icccm4"),
        ("libxcb-render-util.so.0", "libxcb-render-util0"),
        ("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
        ("libxkbcommon.so.0", "libxkbcommon0"),
    ],
)
def test_a_library_is_turned_into_the_package_that_holds_it(start, library, package):
    """By Debian's rule for package names of shared libraries, and its one exception here."""
    assert start.package_of(library) == package


def test_commands_are_found_in_either_form_of_help(start):
    """A list in braces and an indented list both count; a word in a sentence does not."""
    assert start.commands_in("usage: logbook [-h] {sample,check} ...") == {"sample", "check"}
    help_text = "Commands:\n  sample      build it\n  picture     draw it\n\nNo handover here.\n"
    assert start.commands_in(help_text) == {"sample", "picture"}


def test_child_programs_get_a_straight_environment(start):
    """What bends Python or pip elsewhere is dropped; without a screen Qt draws into memory."""
    bent = {"PYTHONPATH": "/x", "PIP_USER": "1", "PYTHONSAFEPATH": "1", "HOME": "/h"}
    hidden = start.clean_environ(bent, screen=False)
    assert {"PYTHONPATH", "PIP_USER", "PYTHONSAFEPATH"}.isdisjoint(hidden)
    assert (hidden["HOME"], hidden["QT_QPA_PLATFORM"]) == ("/h", "offscreen")
    assert "QT_QPA_PLATFORM" not in start.clean_environ({}, screen=True)


def test_a_chosen_qt_platform_is_kept_without_a_screen(start):
    """Whoever sets a Qt platform means it."""
    assert start.clean_environ({"QT_QPA_PLATFORM": "vnc"}, screen=False)["QT_QPA_PLATFORM"] == "vnc"


def test_a_folder_is_linked_only_where_python_can_read_the_link(start):
    """Plain names always; others where the system speaks UTF-8."""
    assert start.may_be_linked(Path("/plain/name"), "cp1252")
    assert start.may_be_linked(Path("/caf\u00e9"), "UTF-8")
    assert not start.may_be_linked(Path("/caf\u00e9"), "cp1252")


def test_the_fingerprint_changes_with_content_place_and_words(start, tmp_path):
    """Each of the three makes an installation out of date; a missing file counts as empty."""
    one, two = tmp_path / "one", tmp_path / "two"
    one.write_text("a", "utf-8")
    first = start.fingerprint([one], "3.11")
    assert start.fingerprint([one], "3.11") == first
    assert start.fingerprint([one], "3.12") != first
    one.write_text("b", "utf-8")
    assert start.fingerprint([one], "3.11") != first
    two.write_text("a", "utf-8")
    assert start.fingerprint([two], "3.11") != first
    assert start.fingerprint([tmp_path / "none"], "3.11") != first


def test_the_sample_book_is_known_by_its_first_bytes(start, tmp_path):
    """The largest SQLite file wins, whatever its name; nothing gives None."""
    assert start.find_book(tmp_path / "none") is None
    assert start.find_book(tmp_path) is None
    (tmp_path / "notes.txt").write_text("x" * 99999, "utf-8")
    (tmp_path / "small").write_bytes(start.SQLITE_MAGIC + b"1")
    (tmp_path / "plant.xyz").write_bytes(start.SQLITE_MAGIC + b"1" * 500)
    assert start.find_book(tmp_path) == tmp_path / "plant.xyz"


@pytest.mark.parametrize("text", ["", "not json", "[1]", '"x"'])
def test_a_damaged_stamp_means_nothing_is_known(start, tmp_path, text):
    """A stamp cut off by a crash leads to a new installation, not to a failure."""
    stamp = tmp_path / "installed.json"
    stamp.write_text(text, "utf-8")
    assert start.read_stamp(stamp) == {}
    assert start.read_stamp(tmp_path / "none") == {}


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ([], ("open", True, [])),
        (["--no-window"], ("open", False, [])),
        (["test"], ("test", True, ["-n", "auto"])),
        (["test", "-k", "calendar", "-x"], ("test", True, ["-k", "calendar", "-x"])),
    ],
)
def test_arguments_after_test_go_to_the_test_runner(start, given, expected):
    """Nothing of theirs is interpreted on the way; without any, all processors share the tests."""
    assert start.read_arguments(given) == expected


def test_a_command_is_logged_with_its_output_and_code(in_folder, monkeypatch):
    """The log keeps what ran and what it said; the caller gets both."""
    in_folder.open_log()
    script = "import sys; print('häl'); sys.exit(3)"
    environ = {**in_folder.os.environ, "PYTHONIOENCODING": "utf-8"}
    code, output = in_folder.run_logged([sys.executable, "-c", script], environ)
    assert (code, output) == (3, "häl\n")
    assert "häl" in in_folder.LOG.read_text("utf-8")


def test_a_failed_command_becomes_one_sentence_with_the_log_named(in_folder):
    """The reader learns what was being done, why it failed and where to look."""
    in_folder.open_log()
    script = "import sys; print('[Errno 28] No space left on device'); sys.exit(1)"
    with pytest.raises(in_folder.Trouble, match="while installing: the disk is full") as caught:
        in_folder.must_run([sys.executable, "-c", script], in_folder.os.environ, doing="installing")
    assert str(in_folder.LOG) in str(caught.value)


def test_a_command_in_the_foreground_gives_its_exit_code(in_folder):
    """The code of the program is the code of start.py."""
    in_folder.open_log()
    command = [sys.executable, "-c", "raise SystemExit(5)"]
    assert in_folder.run_shown(command, in_folder.os.environ) == 5


@pytest.mark.skipif(sys.platform == "win32", reason="signals as exit codes are a POSIX matter")
def test_a_command_that_died_of_a_signal_counts_as_a_shell_counts_it(in_folder):
    """Signal 9 gives 137."""
    in_folder.open_log()
    command = [sys.executable, "-c", "import os; os.kill(os.getpid(), 9)"]
    assert in_folder.run_shown(command, in_folder.os.environ) == 137


def test_a_folder_that_cannot_be_written_is_named(in_folder, capsys):
    """A checkout on a read-only medium ends in one sentence and exit code 1."""
    in_folder.WORK.write_text("in the way", "utf-8")
    assert in_folder.main([]) == 1
    said = capsys.readouterr().err
    assert "cannot be written" in said
    assert "Traceback" not in said


@pytest.mark.parametrize(
    ("problem", "word", "code"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "full", 1),
        (PermissionError(errno.EACCES, "Permission denied", "some/file"), "some/file", 1),
        (KeyboardInterrupt(), "Stopped", 130),
        (RuntimeError("a bug"), "itself failed (RuntimeError)", 1),
    ],
)
def test_every_failure_ends_in_a_sentence(in_folder, monkeypatch, capsys, problem, word, code):
    """Disk full, refused, Ctrl-C or a bug: never a traceback on the screen."""

    def fail(*_args, **_more):
        raise problem

    monkeypatch.setattr(in_folder, "ensure_environment", fail)
    assert in_folder.main(["test"]) == code
    said = capsys.readouterr().err
    assert word in said
    assert "Traceback" not in said


def test_a_bug_leaves_its_traceback_in_the_log(in_folder, monkeypatch):
    """The reader gets a sentence, the developer the rest."""
    monkeypatch.setattr(in_folder, "ensure_environment", lambda *_a, **_k: 1 / 0)
    assert in_folder.main(["test"]) == 1
    assert "ZeroDivisionError" in in_folder.LOG.read_text("utf-8")


def test_start_is_readable_to_an_old_python_up_to_its_sentence(repo_root):
    """Its syntax is Python 3.7's, so that an older Python reaches the version check."""
    source = (repo_root / "start.py").read_text("utf-8")
    ast.parse(source, feature_version=(3, 7))
    check = source.index("sys.version_info < (3, 11)")
    assert source.index("import argparse") > check


def test_start_needs_nothing_but_the_standard_library(repo_root):
    """Whatever it imports comes with Python."""
    tree = ast.parse((repo_root / "start.py").read_text("utf-8"))
    names = {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    names |= {n.module for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    assert {name.split(".")[0] for name in names} <= sys.stdlib_module_names


def test_start_tells_how_it_is_used(repo_root):
    """`--help` names both commands and installs nothing."""
    command = [sys.executable, str(repo_root / "start.py"), "--help"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "start.py test" in done.stdout
    assert "--no-window" in done.stdout
