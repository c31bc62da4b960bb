"""What the built archives carry."""

import subprocess
import sys
import tarfile
import zipfile

import pytest
from hatchling.builders.sdist import SdistBuilder
from hatchling.builders.wheel import WheelBuilder


@pytest.fixture(scope="module")
def wheel(repo_root, tmp_path_factory):
    """The built wheel."""
    folder = tmp_path_factory.mktemp("wheel")
    (built,) = WheelBuilder(str(repo_root)).build(directory=str(folder), versions=["standard"])
    return folder / built


@pytest.fixture(scope="module")
def names(wheel) -> set[str]:
    """The names of the files in the wheel."""
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def kept_below(kept_files, root, *folders) -> set[str]:
    """Kept files below some folders of the root, as posix names."""
    found = {file.relative_to(root).as_posix() for file in kept_files}
    return {name for name in found if name.split("/")[0] in folders}


def test_the_wheel_carries_all_source_and_all_resources(names, kept_files, repo_root):
    """Every kept file of logbook and sample_db, and resources inside the package."""
    source = kept_below(kept_files, repo_root, "logbook", "sample_db")
    shipped = kept_below(kept_files, repo_root, "resources")
    assert source <= names
    assert {name.replace("resources/", "logbook/_resources/", 1) for name in shipped} <= names
    assert source
    assert shipped


def test_the_wheel_carries_nothing_else(names):
    """No tests, no script, no cache; only the two packages and the archive's own record."""
    tops = {name.split("/")[0].split("-")[0] for name in names}
    assert tops == {"logbook", "sample_db", "crush_plant_shift_logbook"}
    assert not [name for name in names if "__pycache__" in name or name.endswith(".pyc")]


def test_the_wheel_installs_the_command(wheel):
    """`logbook` is a console script; the licence and the Python version are stated."""
    with zipfile.ZipFile(wheel) as archive:
        info = {n.rsplit("/", 1)[-1]: n for n in archive.namelist() if ".dist-info/" in n}
        entry = archive.read(info["entry_points.txt"]).decode()
        about = archive.read(info["METADATA"]).decode()
    assert "logbook = logbook.cli:main" in entry
    assert "Requires-Python: >=3.11" in about
    assert "License-Expression: MIT" in about
    assert "LICENSE" in info


def test_the_package_finds_its_own_files_away_from_the_checkout(wheel, tmp_path):
    """Unpacked elsewhere, the program reads the resources inside the package."""
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "site")
    script = "from logbook.resources import resource_folder; print(resource_folder())"
    away = tmp_path / "away"
    away.mkdir()
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            f"import sys; sys.path.insert(0, {str(tmp_path / 'site')!r}); {script}",
        ],
        cwd=away,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == str((tmp_path / "site" / "logbook" / "_resources").resolve())


def test_the_source_archive_is_enough_to_test_and_build(repo_root, tmp_path, kept_files):
    """Tests, start.py, pins and documents are in it; environments, books and caches are not."""
    (built,) = SdistBuilder(str(repo_root)).build(directory=str(tmp_path), versions=["standard"])
    with tarfile.open(tmp_path / built) as archive:
        inside = {name.split("/", 1)[1] for name in archive.getnames() if "/" in name}
    kept = kept_below(kept_files, repo_root, "logbook", "sample_db", "resources", "tests")
    assert kept <= inside
    wanted = {"pyproject.toml", "start.py", ".ci/constraints.txt", "README.md", "LICENSE"}
    assert wanted <= inside
    assert not [n for n in inside if n.startswith((".venv", ".sample", ".start")) or "cache" in n]
