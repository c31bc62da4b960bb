"""The two screens in the program's window: their keys are theirs alone there."""

from __future__ import annotations

from PySide6.QtCore import Qt

CONTROL = Qt.KeyboardModifier.ControlModifier


def test_the_handover_has_its_keys_in_the_window(window, qtbot, keys):
    """Ctrl+4 shows it; F6 is about signing, Ctrl+S about notes, not about the round."""
    window.session.take("operator_a")
    keys.chord(Qt.Key.Key_4, CONTROL)
    screen = window.screen_of("handover")
    assert screen.isVisible()
    screen.steps.prepare_body.remarks.setFocus()
    keys.type("Quiet.")
    keys.chord(Qt.Key.Key_S, CONTROL)
    assert screen.message.text == "The notes are kept."
    keys.press(Qt.Key.Key_F6)
    assert "bypassed" in screen.message.text
    assert "Handover" in window.windowTitle()


def test_the_review_has_its_keys_in_the_window(window, qtbot, keys):
    """Ctrl+3 shows it with the grid in focus; F8 and Ctrl+F are the grid's."""
    keys.chord(Qt.Key.Key_3, CONTROL)
    screen = window.screen_of("review")
    assert screen.isVisible()
    assert screen.grid.hasFocus()
    keys.press(Qt.Key.Key_F8)
    keys.chord(Qt.Key.Key_F, CONTROL)
    assert screen.bar.words.hasFocus()
    keys.chord(Qt.Key.Key_1, CONTROL)
    assert window.round.isVisible()
