"""Making a PDF beside the window and showing it, with a sentence where that fails."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from logbook.record import Book, BookError
from logbook.ui.loads import Loads


def make_pages(
    loads: Loads,
    make: Callable[[Book], bytes],
    show: Callable[[bytes], None],
    failed: Callable[[str], None],
) -> None:
    """Have a PDF made in another thread; then `show` gets its bytes, or `failed` a sentence."""

    def read(beside: Book) -> bytes:
        import pypdfium2  # noqa: F401 -- what shows it is loaded beside the window, too

        return make(beside)

    loads.ask(read, show, failed)


def show_pdf(parent: QWidget, title: str, data: bytes, failed: Callable[[str], None]) -> None:
    """Show the pages of a PDF in a window; `failed` is told what is wrong with them."""
    from logbook.ui.pdf_view import PdfDialog  # not before somebody wants a preview

    try:
        dialog = PdfDialog(data, title, parent)
    except BookError as error:
        failed(error.message)
        return
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.open()
