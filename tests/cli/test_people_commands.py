"""`logbook recover` and `logbook audit` at the command line."""

import io
import json

import pytest

from logbook.cli import main
from logbook.record import open_book
from logbook.shift.access import Door
from logbook.shift.new_book import start_book

PASSWORD = "seven damp owls counting"  # noqa: S105 -- of an invented person
NEW = "nine blue kettles whistling"


@pytest.fixture
def with_code(tmp_path, clock):
    """A new book whose only engineer has a password and a recovery code."""
    path = start_book(tmp_path / "new", "soybean-metric", "Edda Ambertwist", clock=clock)
    with open_book(path, clock=clock) as book:
        door = Door(book)
        person = door.first_engineer("Edda Ambertwist", PASSWORD)
        return path, door.make_recovery_code(person.key), person.key


def typed(monkeypatch, *lines):
    """What stands on the input, as from a file: at a terminal nothing of it would be shown."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def test_recover_sets_a_new_password_and_shows_the_next_code(with_code, monkeypatch, capsys, clock):
    """The old password is worth nothing, and neither is the code."""
    path, code, key = with_code
    typed(monkeypatch, code.lower(), NEW, NEW)
    assert main(["recover", str(path), "--name", "edda ambertwist"]) == 0
    shown = capsys.readouterr().out.splitlines()[-1]
    assert len(shown) == 24
    assert shown != code
    with open_book(path, clock=clock) as book:
        door = Door(book)
        assert door.sign_on(key, NEW).is_right
        assert not door.sign_on(key, PASSWORD).is_right


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (("0000", NEW, NEW), "The name or the recovery code is not right"),
        (("{code}", NEW, "another one that differs"), "are not the same"),
        (("{code}", "short", "short"), "at least 15 characters"),
        ((), "The name or the recovery code is not right"),
    ],
)
def test_a_wrong_code_or_a_bad_password_changes_nothing(
    with_code, monkeypatch, capsys, clock, lines, told
):
    """One line on stderr, and the password of before still lets in."""
    path, code, key = with_code
    typed(monkeypatch, *(line.format(code=code) for line in lines))
    assert main(["recover", str(path), "--name", "Edda Ambertwist"]) == 2
    assert told in capsys.readouterr().err
    with open_book(path, clock=clock) as book:
        assert Door(book).sign_on(key, PASSWORD).is_right


def test_recover_wants_to_know_which_engineer(with_code, monkeypatch, capsys):
    """The template has one of its own beside the first."""
    path, code, _ = with_code
    typed(monkeypatch, code, NEW, NEW)
    assert main(["recover", str(path), "--name", "nobody"]) == 2
    assert "name one engineer with --name; the book has:" in capsys.readouterr().err


def test_audit_draws_shifts_and_leaves_boxes_for_what_is_observed(book, capsys):
    """As text and as JSON, the same draw."""
    assert main(["audit", str(book), "--count", "2", "--days", "4000"]) == 0
    text = capsys.readouterr().out
    assert text.count("to observe: Face to face") == 2
    assert main(["audit", str(book), "--count", "2", "--days", "4000", "--json"]) == 0
    sheets = json.loads(capsys.readouterr().out)
    assert len(sheets) == 2
    assert all(f" of {sheet['date']}" in text for sheet in sheets)


def test_audit_of_no_shift_says_so(book, capsys):
    """A count below one is refused as well."""
    assert main(["audit", str(book), "--count", "0"]) == 2
    assert "at least 1" in capsys.readouterr().err
