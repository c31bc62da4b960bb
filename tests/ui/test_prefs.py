"""What this PC remembers: read back as kept, and never a reason not to start."""

from __future__ import annotations

import json
import logging

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.ui.prefs import KEPT_RECENT, THEMES, Prefs, load_prefs, prefs_path, save_prefs

DEFAULTS = Prefs()


@pytest.fixture
def path(tmp_path):
    """A file of choices in a folder that is not there yet."""
    return tmp_path / "config" / "prefs.json"


def test_choices_are_read_back_as_they_were_kept(path):
    """Palette and recent books survive, in a folder made for them."""
    kept = Prefs("dark", ("/books/a.logbook", "/books/Öl.logbook"))
    save_prefs(kept, path)
    assert load_prefs(path) == kept


def test_the_usual_place_belongs_to_this_user():
    """Without a path the choices go to the user's own folder for settings."""
    save_prefs(Prefs("light"))
    assert prefs_path().is_file()
    assert load_prefs() == Prefs("light")


@given(st.sampled_from(THEMES), st.lists(st.text(max_size=20), max_size=KEPT_RECENT).map(tuple))
def test_any_choices_survive_a_round_trip(tmp_path_factory, theme, recent):
    """Names with any characters that a file name may have."""
    path = tmp_path_factory.mktemp("prefs") / "prefs.json"
    kept = Prefs(theme, recent)
    save_prefs(kept, path)
    assert load_prefs(path) == kept


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b"12",
        b'"dark"',
        b"\xff\xfe\x00",
        b'{"recent": 3}',
        b'{"recent": null}',
        b'{"theme": ["dark"], "recent": {}}',
    ],
)
def test_a_damaged_file_gives_the_defaults(path, content, caplog):
    """Whatever stands in it the program starts, and no warning is logged."""
    path.parent.mkdir()
    path.write_bytes(content)
    with caplog.at_level(logging.INFO):
        assert load_prefs(path) == DEFAULTS
    assert all(record.levelno <= logging.INFO for record in caplog.records)


def test_what_is_sound_in_a_damaged_file_is_kept(path):
    """An unknown palette, an entry that is no name, and too many books are left out."""
    path.parent.mkdir()
    names = [f"/b{k}" for k in range(KEPT_RECENT + 3)]
    path.write_text(json.dumps({"theme": "pink", "recent": [1, None, *names], "new": True}))
    assert load_prefs(path) == Prefs("system", tuple(names[:KEPT_RECENT]))


def test_no_file_yet_gives_the_defaults_without_a_word(path, caplog):
    """The first start on a PC."""
    with caplog.at_level(logging.INFO):
        assert load_prefs(path) == DEFAULTS
    assert caplog.records == []


def test_a_folder_in_the_way_is_only_noted(tmp_path, caplog):
    """Choices that cannot be kept or read stop nothing."""
    with caplog.at_level(logging.INFO):
        save_prefs(Prefs("dark"), tmp_path)
        assert load_prefs(tmp_path) == DEFAULTS
    assert len(caplog.records) == 2


def test_the_newest_book_comes_first_and_only_once(tmp_path):
    """Opening a book again moves it to the top; the oldest of too many falls out."""
    prefs = Prefs("dark")
    for name in "abcdefgh":
        prefs = prefs.with_book(tmp_path / name)
    assert prefs.recent == tuple(str(tmp_path / name) for name in "hgfedc")
    again = prefs.with_book(tmp_path / "e")
    assert again.recent == tuple(str(tmp_path / name) for name in "ehgfdc")
    assert again.theme == "dark"


def test_one_file_is_one_book_however_it_is_named(tmp_path, monkeypatch):
    """A relative path and a detour are the same recent book."""
    monkeypatch.chdir(tmp_path)
    from pathlib import Path

    (tmp_path / "sub").mkdir()
    prefs = Prefs().with_book(tmp_path / "a.logbook").with_book(Path("sub/../a.logbook"))
    assert prefs.recent == (str(tmp_path / "a.logbook"),)
