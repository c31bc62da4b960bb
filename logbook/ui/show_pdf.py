"""Making a PDF and showing it, with a sentence where that fails."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from logbook.record import BookError


def show_pdf(parent: QWidget, title: str, make: Callable[[], bytes]) -> str:
    """Show the pages that `make` gives in a window. Returns what is wrong, or nothing."""
    from logbook.ui.pdf_view import PdfDialog  # not before somebody wants a preview

    QApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
    try:
        dialog = PdfDialog(make(), title, parent)
    except BookError as error:
        return error.message
    finally:
        QApplication.restoreOverrideCursor()
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.open()
    return ""
