"""The Round screen's commands and their keys, for the menu and the keyboard alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QWidget

KEYS = {
    "Save round": "Ctrl+S",
    "Next area": "PgDown",
    "Previous area": "PgUp",
    "Next open field": "F8",
    "Correct a saved reading": "F2",
    "Who writes": "F3",
    "Operating mode": "F6",
    "Down or back in service": "F7",
    "Readings at another time": "Ctrl+T",
    "Earlier round": "Alt+Left",
    "Later round": "Alt+Right",
}


def add_actions(widget: QWidget, slots: Mapping[str, Callable[[], None]]) -> None:
    """Give `widget` an action with its key for each named command."""
    for name, slot in slots.items():
        action = QAction(name, widget)
        action.setShortcut(QKeySequence(KEYS[name]))
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        action.triggered.connect(slot)
        widget.addAction(action)
