"""What the two screens print: the very bytes that were stored."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog

from logbook.ui.handover.screen import HandoverScreen

CONTROL = Qt.KeyboardModifier.ControlModifier


def opened(screen) -> QDialog:
    """The preview that is open on a screen."""
    return next(d for d in screen.findChildren(QDialog) if d.isVisible())


def test_the_preview_of_a_signed_shift_shows_the_stored_bytes(show, handed, keys):
    """Ctrl+P opens what was frozen with the signature, not another print of it."""
    screen = show(HandoverScreen, handed, "operator_a")
    keys.chord(Qt.Key.Key_P, CONTROL)
    stored = handed.document(screen.desk.state.outgoing.document).pdf
    assert opened(screen).data == stored
    opened(screen).close()


def test_an_unsigned_shift_can_be_looked_at_too(handover, keys):
    """It is made now and nothing is stored."""
    keys.chord(Qt.Key.Key_P, CONTROL)
    dialog = opened(handover)
    assert dialog.data.startswith(b"%PDF")
    dialog.close()
    shift = handover.desk.shift
    assert handover.desk.book.documents(shift.date, shift.pattern) == []


def test_the_review_prints_on_one_page(review, keys):
    """Ctrl+P at the grid."""
    keys.chord(Qt.Key.Key_P, CONTROL)
    dialog = opened(review)
    assert len(dialog.stack.pages) == 1
    dialog.close()
