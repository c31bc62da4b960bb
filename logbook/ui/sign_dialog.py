"""Signing: who, the PIN or password, and what is signed, in one dialog that tells a refusal."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QDialog, QWidget

from logbook.ui.session import Session
from logbook.ui.sign_on import SecretDialog

Sign = Callable[[str, str], str]
"""Signs with a person's key and secret. Returns what is wrong, or nothing."""


class SignDialog(SecretDialog):
    """Stays open with the reason where a signature is refused; signs nobody on."""

    def __init__(
        self, session: Session, why: str, sign: Sign, parent: QWidget | None, *, person: str
    ) -> None:
        """A dialog headed by `why`, with `person` chosen first."""
        self._sign = sign
        super().__init__(session, why, parent, person=person or session.person)
        self.setWindowTitle("Sign")

    @property
    def is_first(self) -> bool:
        """Nobody's first PIN or password is set on the way to a signature."""
        return False

    def _show_go(self) -> None:
        self.go.setText("Sign")

    def try_it(self) -> str:
        """Sign."""
        return self._sign(self.person, self.secret.text())


def ask_to_sign(
    session: Session, parent: QWidget | None, why: str, sign: Sign, *, person: str = ""
) -> bool:
    """Run a `SignDialog`; True where it was signed."""
    dialog = SignDialog(session, why, sign, parent, person=person)
    signed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.deleteLater()
    session.note_secrets()
    return signed
