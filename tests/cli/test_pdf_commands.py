"""Handover, review and round sheet written by the command line."""

import errno
import os
from pathlib import Path

import pypdfium2
import pytest

from logbook.record import open_book
from logbook.report.make import handover_of


def texts(path):
    """The text of each page of a PDF file."""
    with pypdfium2.PdfDocument(path) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


@pytest.fixture
def at_noon(monkeypatch, clock, at):
    """The command line's own clock shows noon of 5 March 2024, local."""
    clock.set(at("03-05 12:00"))
    monkeypatch.setattr("logbook.clock.utc_now", clock)
    return clock


@pytest.mark.parametrize("command", ["handover", "review"])
def test_a_shift_is_written_as_a_pdf_file(run, book, tmp_path, at_noon, command):
    """Named by date and key; the file's name is printed."""
    out = tmp_path / "out.pdf"
    assert run(command, book, "--shift", "2024-03-04/D", "--out", out) == (0, [str(out)], [])
    pages = texts(out)
    assert command.capitalize() in pages[0]
    assert "2024-03-04 Day" in pages[0]
    assert "0.47" in " ".join(pages)


def test_the_previous_shift_is_the_default(run, book, tmp_path, at_noon):
    """What a crew wants that has just come."""
    out = tmp_path / "out.pdf"
    assert run("handover", book, "--out", out)[0] == 0
    assert "2024-03-04 Night" in texts(out)[0]


def test_letter_paper_is_asked_for(run, book, tmp_path, at_noon):
    """8.5 x 11 inches instead of A4."""
    out = tmp_path / "out.pdf"
    run("handover", book, "--out", out, "--paper", "letter")
    with pypdfium2.PdfDocument(out) as document:
        assert document[0].get_size() == pytest.approx((612, 792), abs=0.5)


def test_the_command_and_the_window_make_the_same_pages(run, book, plant, tmp_path, at_noon):
    """Both call the one maker: the bytes are the same."""
    from logbook.cli import find_shift

    out = tmp_path / "out.pdf"
    run("handover", book, "--shift", "2024-03-04/D", "--out", out)
    with open_book(book, clock=at_noon, writable=False) as opened:
        shift = find_shift(plant, "2024-03-04/D", at_noon())
        assert handover_of(opened, shift) == out.read_bytes()


def test_a_round_sheet_is_written(run, book, plant, tmp_path, at_noon):
    """With the points and limits of the plant."""
    out = tmp_path / "sheet.pdf"
    assert run("roundsheet", book, "--out", out) == (0, [str(out)], [])
    whole = " ".join(" ".join(texts(out)).split())
    assert "Round sheet" in whole
    for point in plant.points:
        if point.kind.is_typed and point.place is None:
            assert point.name in whole


@pytest.mark.parametrize("command", ["handover", "review", "roundsheet"])
def test_a_folder_that_is_not_there_is_told_before_anything_is_made(fails, book, tmp_path, command):
    """One line that names it."""
    out = tmp_path / "none" / "out.pdf"
    assert f"The folder {out.parent} does not exist" in fails(command, book, "--out", out)


@pytest.mark.parametrize("command", ["handover", "review", "roundsheet"])
def test_the_file_must_be_named(fails, book, command):
    """No name is guessed."""
    assert "--out" in fails(command, book)


def test_a_paper_that_is_not_known_is_refused(fails, book, tmp_path):
    """With the two that are."""
    said = fails("handover", book, "--out", tmp_path / "x.pdf", "--paper", "a3")
    assert "a4" in said
    assert "letter" in said


def test_a_shift_before_the_book_is_refused(fails, book, tmp_path, at_noon):
    """There is nothing to print of it."""
    out = tmp_path / "x.pdf"
    said = fails("handover", book, "--shift", "2024-02-01/D", "--out", out)
    assert "the book was begun after the shift" in said
    assert not out.exists()


def test_a_full_disk_leaves_the_old_file(fails, book, tmp_path, at_noon, monkeypatch):
    """The one line says so; what was there stays."""
    out = tmp_path / "out.pdf"
    out.write_bytes(b"old")

    def full(_number):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    said = fails("handover", book, "--shift", "2024-03-04/D", "--out", out)
    assert "The disk is full" in said
    assert out.read_bytes() == b"old"
    assert not [path for path in Path(tmp_path).iterdir() if path.suffix == ".part"]
