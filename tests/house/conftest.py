"""What the tests of the house read: every source file with its syntax tree, and every file kept."""

import ast
import importlib.util
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class Source:
    """One Python file: where it is, below the repository's root, and what is in it."""

    where: str
    text: str
    tree: ast.Module


def _read(root: Path, files) -> list[Source]:
    texts = [(file.relative_to(root).as_posix(), file.read_text("utf-8")) for file in files]
    return [Source(where, text, ast.parse(text)) for where, text in texts]


@pytest.fixture(scope="session")
def start(repo_root):
    """The script start.py, loaded as a module without running it."""
    spec = importlib.util.spec_from_file_location("start_script", repo_root / "start.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def sources(repo_root) -> list[Source]:
    """The program's own Python files: logbook and sample_db."""
    folders = ("logbook", "sample_db")
    found = _read(repo_root, sorted(p for f in folders for p in (repo_root / f).rglob("*.py")))
    assert found, "no source was found: the tests of the house would hold of nothing"
    return found


@pytest.fixture(scope="session")
def test_sources(repo_root) -> list[Source]:
    """The Python files of the tests."""
    return _read(repo_root, sorted((repo_root / "tests").rglob("*.py")))


@pytest.fixture(scope="session")
def kept_files(repo_root) -> list[Path]:
    """Every file that is or would be kept under version control; all of an unpacked archive."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    done = subprocess.run(command, cwd=repo_root, capture_output=True, check=False)
    if done.returncode == 0:
        names = [name for name in done.stdout.decode("utf-8").split("\0") if name]
        found = [repo_root / name for name in names]
    else:
        dotted = {".venv", ".sample", ".start"}
        found = [
            p for p in repo_root.rglob("*") if not dotted & set(p.relative_to(repo_root).parts)
        ]
    return sorted({p for p in found if p.is_file()})
