"""The one-page review, the blank round sheet, and writing a PDF to a file."""

import errno
import os
from datetime import timedelta
from pathlib import Path

import pypdfium2
import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.localtime import to_local, zone_name
from logbook.plant.model import NORMAL_MODE
from logbook.report.errors import ReportError
from logbook.report.files import write_pdf
from logbook.report.make import review_pdf_of, round_sheet_of
from logbook.report.typeset import typeset
from logbook.shift.words import number_text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_review_is_one_page(book, night, hot, paper, read_pdf):
    """With where it was found, the gravest first, and that nobody has signed it."""
    (page,) = read_pdf(review_pdf_of(book, night, paper=paper))
    flat = " ".join(page.split())
    assert page.count("NOT REVIEWED") == 2
    assert hot[0].name in flat
    assert flat.index(hot[0].name) < flat.index(hot[1].name)
    for word in ("flagged", "missing", "late", "corrected", "doubtful", "page 1 of 1"):
        assert word in flat


def test_a_review_with_hundreds_of_findings_is_still_one_page(book, night, plant, clock, read_pdf):
    """What finds no room is counted, so that nobody takes the page for the whole."""
    next_shift = shift_at(plant.calendar, night.end)
    clock.set(next_shift.end + timedelta(hours=1))
    (page,) = read_pdf(review_pdf_of(book, next_shift))
    assert "more: see the Review screen" in page
    assert "780" in page


def test_the_round_sheet_has_every_point_with_its_limits(book, plant, read_pdf):
    """And the rounds of the shift as columns, to be written in by hand."""
    shift = shift_at(plant.calendar, book.now())
    text = " ".join("\n".join(read_pdf(round_sheet_of(book, shift))).split())
    joined = text.replace(" ", "")
    for point in plant.points:
        limits = point.limits_in(NORMAL_MODE)
        for edge in (limits.action_low, limits.warning_high):
            if edge is not None and point.kind.is_numeric:
                assert number_text(point, edge) in text
        if point.place is None:
            assert point.name.replace(" ", "") in joined
    for clock in ("06:00", "08:00", "16:00"):
        assert clock in text


def test_the_round_sheet_leaves_room_only_where_a_reading_is_due(book, plant):
    """A dash where the point is not asked for in a round."""
    from logbook.report.sheet import sheet_data

    shift = shift_at(plant.calendar, book.now())
    data = sheet_data(plant, shift, printed_at=book.now(), seal="", mode=NORMAL_MODE)
    rows = [row for area in data["areas"] for row in area["rows"]]
    assert len(rows) == len(plant.points)
    assert all(row["due"] == [True] * 6 for row in rows)


def test_an_unknown_paper_is_a_bug_of_the_caller(book):
    """Not a matter for whoever prints."""
    with pytest.raises(ValueError, match="a4, letter"):
        typeset("review", {}, paper="a9", made_at=book.now())


def test_a_template_that_fails_is_told_in_one_sentence(book):
    """With what the typesetter said."""
    with pytest.raises(ReportError, match="could not be typeset") as caught:
        typeset("review", {}, paper="a4", made_at=book.now())
    assert "\n" not in caught.value.message


def test_writing_replaces_a_file_as_a_whole(tmp_path):
    """The new bytes, readable like any other file, and nothing beside them."""
    path = tmp_path / "out.pdf"
    path.write_bytes(b"old")
    write_pdf(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]
    if os.name == "posix":
        mask = os.umask(0)
        os.umask(mask)
        assert path.stat().st_mode & 0o777 == 0o666 & ~mask


@pytest.mark.skipif(os.name != "posix", reason="limits the size of files as only POSIX can")
def test_a_disk_that_is_full_leaves_the_old_file_and_says_so(tmp_path):
    """Nothing half written stays behind; measured against a limit on the size of files."""
    import resource
    import signal

    path = tmp_path / "out.pdf"
    path.write_bytes(b"old")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    try:
        with pytest.raises(ReportError, match=r"The disk is full: .* free space") as caught:
            write_pdf(path, b"x" * 5000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)
    assert caught.value.message.count("\n") == 0
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there_is_named(tmp_path):
    """So is a folder in the place of the file."""
    with pytest.raises(ReportError, match="does not exist"):
        write_pdf(tmp_path / "none" / "out.pdf", b"x")
    with pytest.raises(ReportError, match="is a folder"):
        write_pdf(tmp_path, b"x")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_told(tmp_path):
    """Refused by the system, said in words."""
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(ReportError, match="cannot be written"):
            write_pdf(tmp_path / "out.pdf", b"x")
    finally:
        tmp_path.chmod(0o700)


def test_other_failures_are_told_with_the_systems_words():
    """A device that fails is not called full."""
    from logbook.report.files import _told

    assert "Input/output" in _told(Path("x"), OSError(errno.EIO, "Input/output error")).message
    assert "full" in _told(Path("x"), OSError(errno.ENOSPC, "No space left")).message


def test_severity_survives_a_grey_printer(book, night):
    """The marks differ in darkness: an action mark is dark, a warning mark light with a dark edge."""
    with pypdfium2.PdfDocument(review_pdf_of(book, night)) as document:
        image = document[0].render(scale=4, grayscale=True).to_pil()
    dark, light = _grey((180, 35, 26)), _grey((247, 190, 59))
    assert light - dark > 90
    histogram = image.convert("L").histogram()
    assert sum(histogram[dark - 6 : dark + 7]) > 50
    assert sum(histogram[light - 6 : light + 7]) > 50


def _grey(colour):
    red, green, blue = colour
    return round(0.299 * red + 0.587 * green + 0.114 * blue)


def test_the_review_names_the_zone_as_the_handover_does(book, night, plant, read_pdf):
    """When it was printed, in the plant's own zone; not as an offset."""
    (page,) = read_pdf(review_pdf_of(book, night))
    zone = zone_name(to_local(book.now(), plant.time_zone))
    assert f"{to_local(book.now(), plant.time_zone):%Y-%m-%d %H:%M} {zone}" in page
    assert "+00:00" not in page
