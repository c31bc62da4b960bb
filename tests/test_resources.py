"""logbook.resources: where the files that ship with the program lie."""

import pytest

from logbook import resources


def test_in_a_checkout_the_shipped_files_are_beside_the_package(repo_root):
    """Without an installed copy the folder `resources` of the checkout is used."""
    assert resources.resource_folder() == repo_root / "resources"
    assert resources.resource("plants") == repo_root / "resources" / "plants"


def test_an_installed_copy_comes_first(tmp_path, monkeypatch):
    """Inside an installed package its own folder wins over a stray one beside it."""
    inner = tmp_path / "logbook" / "_resources"
    inner.mkdir(parents=True)
    (tmp_path / "resources").mkdir()
    monkeypatch.setattr(resources, "__file__", str(tmp_path / "logbook" / "resources.py"))
    assert resources.resource_folder() == inner.resolve()


def test_a_missing_file_is_named(monkeypatch):
    """The sentence names the file and what to do."""
    with pytest.raises(FileNotFoundError, match=r"'plants/none\.toml' is missing: install"):
        resources.resource("plants/none.toml")


def test_a_broken_installation_says_so(tmp_path, monkeypatch):
    """With neither folder the program cannot work and says what to do."""
    monkeypatch.setattr(resources, "__file__", str(tmp_path / "logbook" / "resources.py"))
    with pytest.raises(FileNotFoundError, match="install it again"):
        resources.resource_folder()
