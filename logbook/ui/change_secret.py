"""Changing one's own PIN or password: the old one, and the new one twice."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from logbook.plant.model import Person
from logbook.record import BookError
from logbook.shift.secret_rules import kind_for
from logbook.ui.round.dialogs import AskDialog
from logbook.ui.session import Session
from logbook.ui.sign_on import RULES, secret_line


def change_own(session: Session, person: Person, parent: QWidget | None) -> bool:
    """Ask for the old and the new one, and change it; True where that was done."""
    kind = kind_for(person.role)
    word = "PIN" if kind == "pin" else "password"
    dialog = AskDialog(f"Change your own {word}", RULES[kind], parent)
    old, new, again = secret_line("Old"), secret_line("New"), secret_line("The same again")
    for name, line in (("Old", old), ("New", new), ("Again", again)):
        dialog.form.addRow(name, line)
    old.setFocus(Qt.FocusReason.OtherFocusReason)

    def check() -> str:
        if new.text() != again.text():
            return "The two are not the same; type the second again."
        try:
            answer = session.door.change(person.key, old.text(), new.text())
        except BookError as error:
            return error.message
        return answer.message if answer.person is None else ""

    changed = dialog.ask(check, "Change it")
    dialog.deleteLater()
    return changed
