"""The menu of reasons for a missing reading, made for the keyboard: a digit chooses."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QMenu, QWidget

from logbook.shift.round_form import MISSING_REASONS

OTHER = ""
"""Stands for a reason in words."""


def open_reason_menu(parent: QWidget, field: QWidget | None) -> QMenu:
    """Open the menu below `field` and return it.

    Each action's data is a reason key, OTHER for words, or None to leave the field empty.
    """
    menu = QMenu(parent)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    for number, (reason, words) in enumerate(MISSING_REASONS.items(), start=1):
        menu.addAction(f"&{number}  {words}").setData(reason)
    menu.addSeparator()
    menu.addAction("&5  another reason…").setData(OTHER)
    menu.addAction("&0  leave the field empty").setData(None)
    below = field.mapToGlobal(QPoint(0, field.height())) if field else QPoint()
    menu.popup(below)
    menu.setActiveAction(menu.actions()[0])
    return menu
