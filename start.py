"""From a fresh checkout to the open window: `python3 start.py`; to the tests: `... start.py test`.

Uses nothing but Python's standard library. It makes `.venv`, installs the program with the
tested versions, adds the system libraries Qt needs where it may, builds the sample book in
`.sample` and opens it. Without a screen it prints and draws instead. Details go to a log file.
"""

import sys

# Down to here, and in its syntax as a whole, this file is readable to Python 3.6.
if sys.version_info < (3, 11):  # noqa: UP036 - the one file that an older Python may be given
    sys.exit("This program needs Python 3.11 or newer; this is {}.{}.".format(*sys.version_info))

import argparse
import contextlib
import errno
import hashlib
import json
import locale
import os
import re
import shutil
import subprocess
import time
import traceback
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent
ENVIRONMENT = HERE / ".venv"
SAMPLE = HERE / ".sample"
WORK = HERE / ".start"
LOG = WORK / "start.log"
CONSTRAINTS = HERE / ".ci" / "constraints.txt"

SQLITE_MAGIC = b"SQLite format 3\x00"
BEAT = 20.0  # seconds

ODD_PACKAGES = {"libglib-2.0.so.0": "libglib2.0-0", "libgthread-2.0.so.0": "libglib2.0-0"}
"""Libraries whose Debian package is not named as the rule in `package_of` says."""

QT_LIBRARIES = ("Core", "Gui", "Widgets", "Svg", "PrintSupport", "Test", "XcbQpa")
QT_PLUGINS = ("platforms/libqxcb.so", "platforms/libqoffscreen.so", "imageformats/libqsvg.so")
"""What is asked for missing libraries: the parts of Qt this program loads on Linux."""

FAILURES = (
    ("No space left on device|Errno 28", "the disk is full; make room and start again"),
    (
        "name resolution|resolving|getaddrinfo|ConnectionError|Max retries|Timeout|ProxyError|SSL",
        "the network did not answer; check the connection or the proxy and start again",
    ),
    (
        "No matching distribution found|ResolutionImpossible",
        "a package that fits this Python and system was not found",
    ),
    ("Permission denied|Errno 13|Access is denied", "a file or folder may not be written"),
)
"""What the log of a failed step says, as a pattern, and what it means for the reader."""


class Trouble(Exception):  # noqa: N818 - a word for the reader, not an error class of a library
    """Something the person at the keyboard can understand and mend, in one sentence."""


def say(text: str) -> None:
    """Print one progress line at once."""
    print(text, flush=True)


def has_screen(environ: Mapping[str, str], platform: str) -> bool:
    """Tell whether a window can be opened: always on Windows and macOS, else by display."""
    if platform in {"win32", "darwin"}:
        return True
    return bool(environ.get("DISPLAY") or environ.get("WAYLAND_DISPLAY"))


def python_of(environment: Path, os_name: str = os.name) -> Path:
    """Return where the interpreter of an environment lies on this kind of system."""
    if os_name == "nt":
        return environment / "Scripts" / "python.exe"
    return environment / "bin" / "python"


def meaning_of(log_text: str) -> str:
    """Return what the end of a failed step's log means, in words; empty when unknown."""
    found = (words for pattern, words in FAILURES if re.search(pattern, log_text))
    return next(found, "")


def missing_libraries(ldd_output: str) -> set[str]:
    """Return the names of the shared libraries that `ldd` did not find."""
    return set(re.findall(r"^\s*(\S+) => not found", ldd_output, flags=re.MULTILINE))


def package_of(library: str) -> str:
    """Return the Debian package that holds a shared library, by Debian's rule for their names.

    `libxcb-cursor.so.0` is in `libxcb-cursor0`; a name that ends in a digit gets a hyphen.
    """
    name, _, version = library.lower().partition(".so.")
    hyphen = "-" if name[-1:].isdigit() else ""
    return ODD_PACKAGES.get(library, f"{name}{hyphen}{version}")


def commands_in(help_text: str) -> set[str]:
    """Return the subcommand names that a command line's help lists."""
    listed = {n for group in re.findall(r"\{([\w,-]+)\}", help_text) for n in group.split(",")}
    return listed | set(re.findall(r"^ {2,6}([a-z][\w-]*)(?:\s{2,}|$)", help_text, re.MULTILINE))


def clean_environ(environ: Mapping[str, str], *, screen: bool) -> dict[str, str]:
    """Return the variables for child programs: nothing that bends Python or pip to another place.

    Without a screen Qt draws into memory.
    """
    bent = {"PYTHONPATH", "PYTHONHOME", "PYTHONSAFEPATH", "VIRTUAL_ENV"}
    bent |= {"PIP_USER", "PIP_TARGET", "PIP_PREFIX", "PIP_REQUIRE_VIRTUALENV"}
    kept = {k: v for k, v in environ.items() if k not in bent}
    fixed = {"PYTHONNOUSERSITE": "1", "PIP_NO_INPUT": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    if not screen:
        kept.setdefault("QT_QPA_PLATFORM", "offscreen")
    return kept | fixed


def may_be_linked(folder: Path, encoding: str) -> bool:
    """Tell whether Python can read a link to `folder` at its start.

    Such a link is written in UTF-8, and Python before 3.13 reads it in the system's encoding.
    """
    return str(folder).isascii() or encoding.lower().replace("-", "") == "utf8"


def fingerprint(files: Iterable[Path], *words: str) -> str:
    """Return one hash over the contents of files and some words; a missing file counts as empty."""
    digest = hashlib.sha256()
    for file in sorted(files):
        digest.update(str(file).encode("utf-8", "surrogatepass"))
        digest.update(file.read_bytes() if file.is_file() else b"")
    digest.update("\0".join(words).encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


def find_book(folder: Path) -> Path | None:
    """Return the largest SQLite file in `folder`, which is the sample book; None if there is none."""

    def is_book(path: Path) -> bool:
        if not path.is_file():
            return False
        with path.open("rb") as stream:
            return stream.read(len(SQLITE_MAGIC)) == SQLITE_MAGIC

    books = [path for path in folder.glob("*") if is_book(path)] if folder.is_dir() else []
    return max(books, key=lambda path: path.stat().st_size, default=None)


# ------------------------------------------------------------------ running other programs


def log_line(text: str) -> None:
    """Add to the log; opened anew each time, so that nothing is lost in a crash."""
    with LOG.open("a", encoding="utf-8", errors="replace") as log:
        log.write(text)


def run_logged(
    command: Sequence[str | Path], environ: Mapping[str, str], *, doing: str = ""
) -> tuple[int, str]:
    """Run a command, its output into the log; return its exit code and that output.

    With `doing`, say every 20 seconds what it is at.
    """
    lines: list[str] = []
    spoke = time.monotonic()
    log_line(f"$ {' '.join(str(part) for part in command)}\n")
    with subprocess.Popen(
        [str(part) for part in command],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        cwd=HERE,
        env=dict(environ),
        text=True,
        encoding="utf-8",
        errors="replace",
    ) as process:
        assert process.stdout is not None
        for line in process.stdout:
            log_line(line)
            lines.append(line)
            if doing and time.monotonic() - spoke > BEAT and "Successfully" not in line:
                spoke = time.monotonic()
                say(f"      still {doing}: {line.strip()[:70]}")
    return process.returncode, "".join(lines)


def must_run(command: Sequence[str | Path], environ: Mapping[str, str], *, doing: str) -> str:
    """Run a command as `run_logged` does and return its output; Trouble when it fails."""
    code, output = run_logged(command, environ, doing=doing)
    if code == 0:
        return output
    meaning = meaning_of(output) or "the reason stands at the end of the log"
    msg = f"Failed while {doing}: {meaning}. Details: {LOG}"
    raise Trouble(msg)


def run_shown(command: Sequence[str | Path], environ: Mapping[str, str]) -> int:
    """Run a command in the foreground and return its exit code, a shell's way for signals.

    Ctrl-C reaches the command itself, which ends in its own order; here it is only waited for.
    """
    log_line(f"$ {' '.join(str(part) for part in command)}\n")
    with subprocess.Popen([str(p) for p in command], cwd=HERE, env=dict(environ)) as process:
        while process.returncode is None:
            try:
                process.wait()
            except KeyboardInterrupt:
                continue
    code = process.returncode
    return code if code >= 0 else 128 - code


# ------------------------------------------------------------------ the environment


def answers(command: Sequence[str | Path], environ: Mapping[str, str]) -> bool:
    """Tell whether a command can be started and ends well."""
    try:
        return run_logged(command, environ)[0] == 0
    except OSError:
        return False


def can_install_packages() -> bool:
    """Tell whether this is root on a system with apt-get."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return is_root and shutil.which("apt-get") is not None


def apt_install(packages: Sequence[str], environ: Mapping[str, str]) -> bool:
    """Install Debian packages, with a fresh list of them when the old one does not know them."""
    quiet = {**environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "-y", "--no-install-recommends", *packages]
    if answers(install, quiet):
        return True
    return answers(["apt-get", "update"], quiet) and answers(install, quiet)


def make_environment(environ: Mapping[str, str]) -> None:
    """Make `.venv`, trying what a system may have for it; Trouble when there is nothing."""
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    python = python_of(ENVIRONMENT)
    ways: list[Callable[[], bool]] = [
        lambda: answers([sys.executable, "-m", "venv", ENVIRONMENT], environ),
        lambda: (
            can_install_packages()
            and apt_install([f"python{version}-venv"], environ)
            and answers([sys.executable, "-m", "venv", ENVIRONMENT], environ)
        ),
        lambda: answers([sys.executable, "-m", "virtualenv", ENVIRONMENT], environ),
        # A Python may have pip and no venv of its own: then its pip installs into ours.
        lambda: (
            answers([sys.executable, "-m", "venv", "--without-pip", ENVIRONMENT], environ)
            and bool(pip_command(python, environ))
        ),
    ]
    for way in ways:
        shutil.rmtree(ENVIRONMENT, ignore_errors=True)
        if way() and pip_command(python, environ):
            return
    shutil.rmtree(ENVIRONMENT, ignore_errors=True)
    meaning = meaning_of(LOG.read_text("utf-8", "replace")[-4000:])
    wanted = f"install Python's venv module (on Debian: apt install python{version}-venv)"
    msg = f"Python could not make an environment in {ENVIRONMENT}: {meaning or wanted}."
    raise Trouble(msg)


def pip_command(python: Path, environ: Mapping[str, str]) -> list[str]:
    """Return how to call pip for that interpreter: its own, else ours; empty when neither can."""
    own = [str(python), "-m", "pip"]
    ours = [sys.executable, "-m", "pip", "--python", str(python)]
    return next((c for c in (own, ours) if answers([*c, "--version"], environ)), [])


def read_stamp(stamp: Path) -> dict[str, object]:
    """Return what was installed last; empty when that is unknown."""
    try:
        found = json.loads(stamp.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def ensure_environment(environ: Mapping[str, str], *, tests: bool) -> Path:
    """Make or renew `.venv` with the program installed; return its interpreter.

    Nothing is done, and no network used, when the last installation is still the right one.
    """
    python = python_of(ENVIRONMENT)
    stamp = ENVIRONMENT / "installed.json"
    # The folder counts too: a link made before the checkout was moved leads nowhere.
    state = fingerprint([HERE / "pyproject.toml", CONSTRAINTS, Path(__file__)], sys.version)
    last = read_stamp(stamp)
    works = bool(last) and answers([python, "-c", "import PySide6, sqlite_utils"], environ)
    if works and last.get("state") == state and (last.get("tests") or not tests):
        return python
    tests = tests or bool(last.get("tests"))
    stamp.unlink(missing_ok=True)
    if not answers([python, "-c", "pass"], environ) or not pip_command(python, environ):
        say("      making the environment in .venv ...")
        make_environment(environ)
    say("      installing (about 300 MB the first time; some minutes) ...")
    # Started from this folder, Python takes the checkout's own code either way.
    link = ["-e"] if may_be_linked(HERE, locale.getencoding()) else []
    what = [*link, ".[test]" if tests else "."]
    pip = pip_command(python, environ)
    must_run([*pip, "install", "-c", CONSTRAINTS, *what], environ, doing="installing")
    stamp.write_text(json.dumps({"state": state, "tests": tests}), "utf-8")
    return python


def qt_folder() -> Path | None:
    """Return where Qt's own files lie in the environment, on Linux."""
    return next(ENVIRONMENT.glob("lib*/python*/site-packages/PySide6/Qt"), None)


def system_gaps(environ: Mapping[str, str]) -> set[str]:
    """Return the shared libraries that Qt asks for and this Linux does not have."""
    folder = qt_folder()
    if folder is None or shutil.which("ldd") is None:
        return set()
    files = [folder / "lib" / f"libQt6{name}.so.6" for name in QT_LIBRARIES]
    files += [folder / "plugins" / name for name in QT_PLUGINS]
    return missing_libraries(run_logged(["ldd", *filter(Path.exists, files)], environ)[1])


def missing_packages(environ: Mapping[str, str]) -> list[str]:
    """Return the Debian packages that Qt lacks on this Linux, in order."""
    has_fonts = any(Path("/usr/share/fonts").rglob("*.[to]tf"))
    fonts = [] if has_fonts else ["fonts-dejavu-core"]
    return sorted({package_of(name) for name in system_gaps(environ)}) + fonts


def add_system_libraries(python: Path, environ: Mapping[str, str]) -> None:
    """Add what Qt needs from the system where that is allowed; else name it.

    Trouble when Qt cannot even be loaded without it.
    """
    packages = missing_packages(environ) if sys.platform == "linux" else []
    if packages and can_install_packages():
        say(f"      adding system libraries: {' '.join(packages)} ...")
        apt_install(packages, environ)
        packages = missing_packages(environ)
    if not packages:
        return
    names = f"apt install {' '.join(packages)} (the names on Debian)"
    if not answers([python, "-c", "import PySide6.QtWidgets"], environ):
        msg = f"Qt needs system libraries; have them installed and start again: {names}"
        raise Trouble(msg)
    say(f"      The window may also need: {names}")


# ------------------------------------------------------------------ the program


def ensure_sample(logbook: Sequence[str], environ: Mapping[str, str]) -> Path:
    """Build the sample book unless it is there; return it. A broken-off build leaves none."""
    book = find_book(SAMPLE)
    if book is None:
        say("      building the sample book in .sample ...")
        half = WORK / "sample"
        shutil.rmtree(half, ignore_errors=True)
        half.mkdir(parents=True)
        must_run([*logbook, "sample", half], environ, doing="building the sample book")
        shutil.rmtree(SAMPLE, ignore_errors=True)
        half.replace(SAMPLE)
        book = find_book(SAMPLE)
    if book is None:
        msg = f"The sample book was not made. Details: {LOG}"
        raise Trouble(msg)
    return book


def show_without_screen(logbook: Sequence[str], book: Path, environ: Mapping[str, str]) -> int:
    """Print the last shift's exceptions, write its handover, draw the screens; say where."""
    say("No screen to open a window on; this is the previous shift:\n")
    code = run_shown([*logbook, "exceptions", book, "--shift", "previous"], environ)
    out = SAMPLE / "out"
    out.mkdir(exist_ok=True)
    jobs: list[tuple[str, list[str | Path]]] = []
    jobs.append(("handover.pdf", ["handover", book, "--shift", "previous", "--out"]))
    jobs.append(("balance.pdf", ["balance", book, "--period", "previous", "--out"]))
    picture: list[str | Path] = ["picture", book, "--screen"]
    jobs += [(f"{key}.png", [*picture, key, "--out"]) for key in ("shift", "review", "balance")]
    for name, more in (("round-light", ["--area", "flaking"]), ("round-dark", ["--dark"])):
        jobs.append((f"{name}.png", [*picture, "round", *more, "--out"]))
    say("")
    for name, job in jobs:
        made, output = run_logged([*logbook, *job, out / name], environ)
        last = (output.strip().splitlines() or ["no word why"])[-1]
        say(f"  {out / name}" if made == 0 else f"  {name} was not made: {last}")
        code = code or made
    return code


def open_program(environ: Mapping[str, str], *, screen: bool) -> int:
    """Install, build the sample book and open it; return the program's exit code."""
    say("[1/3] The program")
    python = ensure_environment(environ, tests=False)
    add_system_libraries(python, environ)
    logbook = [str(python), "-m", "logbook"]
    say("[2/3] The sample book")
    book = ensure_sample(logbook, environ)
    say(f"[3/3] Opening {book}")
    if not screen:
        return show_without_screen(logbook, book, environ)
    return run_shown([*logbook, book], environ)


def run_tests(environ: Mapping[str, str], arguments: Sequence[str]) -> int:
    """Install with what the tests need, run the whole suite and return its exit code."""
    say("[1/2] The program and its test tools")
    python = ensure_environment(environ, tests=True)
    add_system_libraries(python, environ)
    say("[2/2] The tests")
    return run_shown([python, "-m", "pytest", *arguments], environ)


def open_log() -> None:
    """Begin a new log; Trouble when the folder cannot be written."""
    try:
        WORK.mkdir(exist_ok=True)
        LOG.write_text(f"{time.strftime('%Y-%m-%d %H:%M:%S')} {sys.version}\n", "utf-8")
    except OSError as problem:
        if problem.errno == errno.ENOSPC:
            raise
        msg = f"The folder {HERE} cannot be written: copy it to one of your own and start there."
        raise Trouble(msg) from problem


def read_arguments(arguments: Sequence[str]) -> tuple[str, bool, list[str]]:
    """Return what to do ("open" or "test"), whether a window is wanted, and pytest's arguments."""
    if arguments and arguments[0] == "test":
        return "test", True, list(arguments[1:]) or ["-n", "auto"]  # all tests: all processors
    parser = argparse.ArgumentParser(
        prog="start.py",
        description="Install the program here, build a sample book and open it. "
        "'start.py test' runs the tests instead; what follows goes to pytest.",
    )
    parser.add_argument("what", nargs="?", choices=["test"], help="run the whole test suite")
    parser.add_argument(
        "--no-window", action="store_true", help="print and draw instead of opening the window"
    )
    chosen = parser.parse_args(list(arguments))
    return chosen.what or "open", not chosen.no_window, []


def explain(problem: OSError) -> str:
    """Return one sentence for an error of the operating system."""
    if problem.errno == errno.ENOSPC:
        return f"The disk that holds {HERE} is full; make room and start again."
    where = f" ({problem.filename})" if problem.filename else ""
    return f"The system refused: {problem.strerror or problem}{where}. Details: {LOG}"


def note_traceback() -> None:
    """Keep what went wrong for a developer, if the log can still be written."""
    with contextlib.suppress(OSError):
        log_line(traceback.format_exc())


def main(arguments: Sequence[str]) -> int:
    """Do what was asked; every failure ends in one sentence, never in a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    what, wants_window, rest = read_arguments(arguments)
    screen = wants_window and has_screen(os.environ, sys.platform)
    environ = clean_environ(os.environ, screen=screen)
    try:
        open_log()
        if what == "test":
            return run_tests(environ, rest)
        return open_program(environ, screen=screen)
    except KeyboardInterrupt:
        print("\nStopped. Start again to go on.", file=sys.stderr)
        return 130
    except Trouble as trouble:
        print(trouble, file=sys.stderr)
    except OSError as problem:
        note_traceback()
        print(explain(problem), file=sys.stderr)
    except Exception as bug:  # noqa: BLE001 - the border: a sentence for the reader, the rest to the log
        note_traceback()
        print(f"start.py itself failed ({type(bug).__name__}). Details: {LOG}", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
