"""A PDF in a window: shown, printed, saved, always the same bytes."""

import os
import sys

import pypdfium2
import pytest
from PySide6.QtCore import Qt
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QDialog

from logbook.plant.calendar import previous_shift, shift_at
from logbook.report.errors import ReportError
from logbook.report.make import handover_of
from logbook.ui.pdf_view import PdfDialog, PdfPages, Printing, new_printer

PATIENCE_MS = 30_000


@pytest.fixture
def pdf(book, template_plant):
    """The handover of the shift before."""
    now = book.now()
    shift = previous_shift(template_plant.calendar, shift_at(template_plant.calendar, now))
    return handover_of(book, shift)


@pytest.fixture
def dialog(qtbot, pdf):
    """The dialog on it, shown."""
    made = PdfDialog(pdf, "Handover 2026-03-02, night", None)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    return made


def test_it_shows_the_pages_of_the_very_bytes(dialog, pdf):
    """As many pages, and each drawn with what stands on it."""
    assert dialog.data is pdf
    with pypdfium2.PdfDocument(pdf) as document:
        assert len(dialog.stack.pages) == len(document)
        assert dialog.stack.pages.text(0) == document[0].get_textpage().get_text_bounded()
    drawn = dialog.stack.pages.image(0, 60)
    colours = {drawn.pixel(x, y) for x in range(0, drawn.width(), 7) for y in range(0, 300, 7)}
    assert len(colours) > 3


def test_the_page_in_view_is_named(dialog):
    """Which of how many, as one scrolls."""
    count = len(dialog.stack.pages)
    assert dialog._page.text() == f"page 1 of {count}"
    bar = dialog._area.verticalScrollBar()
    bar.setValue(bar.maximum())
    assert dialog._page.text() == f"page {count} of {count}"


def test_only_pages_in_view_are_drawn(dialog, qtbot):
    """A long document costs no memory for what is not seen."""
    dialog.stack.repaint()
    assert set(dialog.stack._drawn) <= {0, 1}
    dialog._area.verticalScrollBar().setValue(dialog._area.verticalScrollBar().maximum())
    dialog.stack.repaint()
    assert len(dialog.stack.pages) - 1 in dialog.stack._drawn
    assert 0 not in dialog.stack._drawn


def test_the_pages_grow_and_shrink_by_keys(dialog, qtbot):
    """Ctrl and plus or minus; the page keeps its shape."""
    before = dialog.stack.boxes()[0]
    dialog.zoom_by(1)
    larger = dialog.stack.boxes()[0]
    assert larger.width() > before.width()
    assert larger.width() / larger.height() == pytest.approx(
        before.width() / before.height(), abs=0.01
    )
    for _ in range(20):
        dialog.zoom_by(-1)
    assert dialog.stack.zoom == 0.5


def test_saving_writes_the_same_bytes(dialog, pdf, tmp_path, qtbot):
    """Ctrl+S asks for a file; the title becomes its name."""
    asked = []
    path = tmp_path / "kept.pdf"
    dialog.ask_file = lambda parent, name: asked.append(name) or str(path)
    qtbot.mouseClick(dialog.save_button, Qt.MouseButton.LeftButton)
    assert asked == ["Handover 2026-03-02 night.pdf"]
    assert path.read_bytes() == pdf
    assert str(path) in dialog.told.text()


def test_saving_where_it_cannot_be_is_told_in_the_dialog(dialog, tmp_path):
    """No traceback, nothing closed."""
    dialog.ask_file = lambda parent, name: str(tmp_path / "none" / "x.pdf")
    dialog.save()
    assert "does not exist" in dialog.told.text()
    assert dialog.isVisible()


def test_not_saving_changes_nothing(dialog):
    """An empty name means that the dialog was left."""
    dialog.ask_file = lambda parent, name: ""
    dialog.save()
    assert not dialog.told.isVisible()


def test_printing_hands_every_page_to_the_printer(dialog, tmp_path, qtbot):
    """Printed into a file here: as many pages, of the same size."""
    out = tmp_path / "printed.pdf"

    def chosen(printer, parent):
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(str(out))
        return True

    dialog.ask_printer = chosen
    qtbot.mouseClick(dialog.print_button, Qt.MouseButton.LeftButton)
    assert not dialog.print_button.isEnabled()  # one job at a time, and it can be stopped
    assert dialog.stop_button.isVisible()
    qtbot.waitUntil(dialog.print_button.isEnabled, timeout=PATIENCE_MS)
    assert not dialog.stop_button.isVisible()
    count = len(dialog.stack.pages)
    assert dialog.told.text() == f"{count} pages handed to the printer."
    with pypdfium2.PdfDocument(out) as document:
        assert len(document) == count
        assert document[0].get_size() == pytest.approx(dialog.stack.pages.sizes[0], abs=2)


def print_all(qtbot, pages, printer) -> list:
    """Print to the end; tells how many pages went out, and what went wrong."""
    printing = Printing(pages, printer)
    with qtbot.waitSignal(printing.ended, timeout=PATIENCE_MS) as ended:
        printing.start()
    return ended.args


def test_a_range_of_pages_can_be_printed(pdf, tmp_path, qtbot):
    """From the second to the second."""
    pages = PdfPages(pdf)
    printer = new_printer(pages, "x")
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "one.pdf"))
    printer.setFromTo(2, 2)
    assert print_all(qtbot, pages, printer) == [1, ""]
    with pypdfium2.PdfDocument(tmp_path / "one.pdf") as document:
        assert len(document) == 1


def test_what_is_printed_is_what_was_shown(pdf, tmp_path, qtbot):
    """Page for page the same ink between the same edges: nothing is cut off."""
    pages = PdfPages(pdf)
    printer = new_printer(pages, "x")
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "all.pdf"))
    print_all(qtbot, pages, printer)
    with pypdfium2.PdfDocument(tmp_path / "all.pdf") as printed, pypdfium2.PdfDocument(pdf) as own:
        for k in range(len(own)):
            one, other = ink_of(own[k]), ink_of(printed[k])
            assert edges_of(other) == pytest.approx(edges_of(one), abs=2)
            assert other.sum() == pytest.approx(one.sum(), rel=0.25)


def ink_of(page):
    """Darkness of each dot of a page, 0 for white paper; 72 dots per inch."""
    grey = page.render(scale=1, grayscale=True).to_numpy().astype(float)
    return 255 - grey.reshape(grey.shape[:2])


def edges_of(ink):
    """Top, bottom, left and right of what is printed."""
    rows, columns = (ink > 60).any(axis=1).nonzero()[0], (ink > 60).any(axis=0).nonzero()[0]
    return [int(rows[0]), int(rows[-1]), int(columns[0]), int(columns[-1])]


@pytest.mark.qt_log_ignore("QPainter::begin")
def test_a_printer_that_fails_is_told(dialog, tmp_path, qtbot):
    """The pages stay in view, and what to do is said."""

    def broken(printer, parent):
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(str(tmp_path / "none" / "printed.pdf"))
        return True

    dialog.ask_printer = broken
    dialog.print_out()
    qtbot.waitUntil(dialog.print_button.isEnabled, timeout=PATIENCE_MS)
    assert "did not take the pages" in dialog.told.text()
    assert dialog.print_button.isEnabled()


@pytest.mark.qt_log_ignore("QPainter::begin")
def test_a_printer_that_is_not_there_is_told(dialog, qtbot):
    """No printer is installed by that name: nothing is drawn, and what to do is said."""

    def gone(printer, parent):
        printer.setOutputFormat(QPrinter.OutputFormat.NativeFormat)
        printer.setPrinterName("no such printer")
        return True

    dialog.ask_printer = gone
    dialog.print_out()
    qtbot.waitUntil(dialog.print_button.isEnabled, timeout=PATIENCE_MS)
    assert "did not take the pages" in dialog.told.text()
    assert "or save the PDF" in dialog.told.text()


def test_printing_can_be_stopped_between_pages(dialog, tmp_path, qtbot):
    """The window has time for the button after each page; closing the dialog stops it too."""

    def chosen(printer, parent):
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(str(tmp_path / "part.pdf"))
        return True

    dialog.ask_printer = chosen
    for stop in (dialog.stop_button.click, dialog.reject):
        dialog.print_out()
        with qtbot.waitSignal(dialog._printing.progressed, timeout=PATIENCE_MS):
            pass
        with qtbot.waitSignal(dialog._printing.ended, timeout=PATIENCE_MS):
            stop()
        assert dialog.told.text() == "Printing was given up."
        assert dialog.print_button.isEnabled()


@pytest.mark.skipif(sys.platform == "win32", reason="no file size limit there")
def test_saving_on_a_full_disk_is_told_and_leaves_the_old_file(dialog, tmp_path):
    """The system refuses in the middle of it: what was there before is whole, nothing is beside."""
    import resource

    path = tmp_path / "kept.pdf"
    path.write_bytes(b"the one before")
    dialog.ask_file = lambda parent, name: str(path)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    try:
        dialog.save()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert "The disk is full" in dialog.told.text()
    assert path.read_bytes() == b"the one before"
    assert [one.name for one in tmp_path.iterdir() if one.suffix in {".pdf", ".part"}] == [
        path.name
    ]
    dialog.save()
    assert path.read_bytes() == dialog.data


@pytest.mark.skipif(getattr(os, "geteuid", int)() == 0, reason="root may write anywhere")
def test_saving_where_nobody_may_write_is_told(dialog, tmp_path):
    """A folder that takes no files."""
    tmp_path.chmod(0o500)
    dialog.ask_file = lambda parent, name: str(tmp_path / "x.pdf")
    dialog.save()
    tmp_path.chmod(0o700)
    assert "cannot be written there" in dialog.told.text()


def test_leaving_the_printer_dialog_prints_nothing(dialog):
    """Nothing is said either."""
    dialog.ask_printer = lambda printer, parent: False
    dialog.print_out()
    assert not dialog.told.isVisible()


def test_bytes_that_are_no_pdf_are_refused():
    """In one sentence."""
    with pytest.raises(ReportError, match="cannot be shown"):
        PdfPages(b"not a PDF at all")


def test_escape_closes_it(dialog, qtbot):
    """As any dialog."""
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert dialog.result() == QDialog.DialogCode.Rejected
