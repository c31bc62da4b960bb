"""Who may import whom, and that the rules bite."""

import os
import shutil
import subprocess
import sys

import pytest

PACKAGES = ("plant", "assess", "process", "record", "shift", "report", "exchange", "ui")
HEAVY = (
    "PySide6",
    "pandas",
    "matplotlib",
    "scipy",
    "pint",
    "pydantic",
    "typst",
    "CoolProp",
    "argon2",
)

LINT = "from importlinter.cli import lint_imports_command; lint_imports_command()"


def lint(root) -> subprocess.CompletedProcess:
    """Run the import contracts over the tree at `root`, in a process of its own."""
    command = [sys.executable, "-c", LINT, "--no-cache"]
    environ = {**os.environ, "PYTHONPATH": str(root), "COLUMNS": "200"}
    return subprocess.run(
        command, cwd=root, env=environ, capture_output=True, text=True, check=False
    )


@pytest.fixture
def small_tree(tmp_path, repo_root):
    """A tree with every package, each keeping the rules, under the real contracts."""
    shutil.copy(repo_root / "pyproject.toml", tmp_path)
    good = {
        "plant": "import logbook.resources\n",
        "assess": "import logbook.plant\n",
        "process": "import logbook.plant\n",
        "record": "import sqlite3\nimport sqlite_utils\nimport logbook.plant\n",
        "shift": "import logbook.assess, logbook.process, logbook.record, logbook.plant\n",
        "report": "import logbook.shift, logbook.record\n",
        "exchange": "import logbook.shift, logbook.plant\n",
        "ui": "import PySide6.QtCore, shiboken6\nimport logbook.report, logbook.shift, sample_db\n",
    }
    for name in PACKAGES:
        folder = tmp_path / "logbook" / name
        folder.mkdir(parents=True)
        (folder / "__init__.py").write_text(good[name], "utf-8")
        (folder / "part.py").write_text("", "utf-8")
    (tmp_path / "logbook" / "__init__.py").write_text("", "utf-8")
    (tmp_path / "logbook" / "resources.py").write_text("", "utf-8")
    (tmp_path / "logbook" / "clock.py").write_text("import logbook.record\n", "utf-8")
    (tmp_path / "logbook" / "__main__.py").write_text("import logbook.cli\n", "utf-8")
    (tmp_path / "logbook" / "cli.py").write_text(
        "import logbook.clock, logbook.ui, sample_db\n", "utf-8"
    )
    (tmp_path / "sample_db").mkdir()
    (tmp_path / "sample_db" / "__init__.py").write_text("import logbook.shift\n", "utf-8")
    return tmp_path


def test_every_package_imports_only_what_it_may(repo_root):
    """The contracts of pyproject.toml hold for the tree as it is."""
    done = lint(repo_root)
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_tree_that_keeps_the_rules_passes(small_tree):
    """Each import the plan allows is allowed."""
    done = lint(small_tree)
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_tree_without_process_passes_too(small_tree):
    """A package that has no content yet may be absent."""
    shutil.rmtree(small_tree / "logbook" / "process")
    (small_tree / "logbook" / "shift" / "__init__.py").write_text("", "utf-8")
    done = lint(small_tree)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("where", "line"),
    [
        ("logbook/plant", "import logbook.assess"),
        ("logbook/assess", "import logbook.record"),
        ("logbook/assess", "import logbook.resources"),
        ("logbook/process", "import logbook.assess"),
        ("logbook/record", "import logbook.assess"),
        ("logbook/record", "import logbook.shift"),
        ("logbook/shift", "import logbook.report"),
        ("logbook/report", "import logbook.exchange"),
        ("logbook/exchange", "import logbook.ui"),
        ("logbook/exchange", "import logbook.cli"),
        ("logbook/shift", "import sample_db"),
        ("logbook/shift", "import logbook.clock"),
        ("logbook/report", "import logbook.clock"),
        ("logbook/plant", "import PySide6"),
        ("logbook/shift", "from PySide6 import QtCore"),
        ("sample_db", "import PySide6"),
        ("logbook/assess", "import sqlite3"),
        ("logbook/exchange", "import sqlite_utils"),
        ("logbook/ui", "import sqlite3"),
        ("sample_db", "import sqlite3"),
        ("sample_db", "import logbook.report"),
        ("sample_db", "import logbook.ui"),
        ("logbook/misc", ""),
    ],
)
def test_an_import_that_breaks_the_plan_is_found(small_tree, where, line):
    """One forbidden line, or one package without a place, and the contracts fail."""
    folder = small_tree / where
    folder.mkdir(exist_ok=True)
    (folder / "__init__.py").touch()
    (folder / "odd.py").write_text(line + "\n", "utf-8")
    done = lint(small_tree)
    assert done.returncode == 1, f"{where}: {line!r} passed\n{done.stdout}"
    assert "BROKEN" in done.stdout or "exhaustive" in done.stdout


def loaded_by(statement, repo_root) -> set[str]:
    """The top-level modules in a fresh interpreter after a statement."""
    script = f"{statement}\nimport sys\nprint(*{{name.split('.')[0] for name in sys.modules}})"
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=repo_root, capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


@pytest.mark.parametrize("name", ["plant", "assess", "record", "shift", "cli"])
def test_a_package_loads_no_heavy_library_when_imported(repo_root, name):
    """The window is up quickly, and the command line answers at once."""
    heavy = loaded_by(f"import logbook.{name}", repo_root) & set(HEAVY)
    assert not heavy, f"import logbook.{name} loads {sorted(heavy)}"
