"""Signing: who, the PIN or password, and what is signed, in one dialog that tells a refusal."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QProgressBar, QVBoxLayout, QWidget

from logbook.record import Book, BookError
from logbook.shift.signing import ToSign, finish
from logbook.ui.loads import Loads
from logbook.ui.session import Session
from logbook.ui.sign_on import SecretDialog

Begin = Callable[[str, str], ToSign]
"""Proves a person by key and secret. Raises BookError with why it cannot be signed."""
Print = Callable[[Book, ToSign], bytes]
"""Makes the printed form in another thread, with a book of its own. Raises BookError."""


class SignDialog(SecretDialog):
    """Stays open with the reason where a signature is refused; signs nobody on.

    The printed form is made beside the window. Until it is there nothing is written, so Cancel
    leaves everything as it was; then document and signature are written in one save.
    """

    def __init__(
        self,
        session: Session,
        why: str,
        begin: Begin,
        make: Print,
        book: Book,
        parent: QWidget | None,
        *,
        person: str = "",
        making: str = "Making the handover…",
    ) -> None:
        """A dialog headed by `why`, with `person` chosen first; `making` is said meanwhile."""
        self._begin, self._make, self._book = begin, make, book
        self._proven: ToSign | None = None
        super().__init__(session, why, parent, person=person or session.person)
        self._loads = Loads(book, self)
        self.wait = WaitLine(making)
        layout = self.layout()
        assert isinstance(layout, QVBoxLayout)
        layout.insertWidget(layout.count() - 1, self.wait)
        self.wait.hide()
        self.setWindowTitle("Sign")

    @property
    def is_busy(self) -> bool:
        """True while the printed form is made."""
        return self._loads.is_busy

    @property
    def is_first(self) -> bool:
        """Nobody's first PIN or password is set on the way to a signature."""
        return False

    def _show_go(self) -> None:
        self.go.setText("Sign")

    def _on_go(self) -> None:
        if self.is_busy:
            return
        try:
            proven = self._begin(self.person, self.secret.text())
        except BookError as error:
            self._refuse(error.message)
            return
        make, self._proven = self._make, proven

        def printing(beside: Book) -> bytes:
            return make(beside, proven)

        self._fault.hide()
        self._show_busy(True)
        self._loads.ask(printing, self._on_made, self._refuse)

    def _on_made(self, pdf: bytes) -> None:
        assert self._proven is not None
        try:
            finish(self._book, self._proven, pdf)
        except BookError as error:
            self._refuse(error.message)
            return
        self.accept()

    def _refuse(self, fault: str) -> None:
        self._show_busy(False)
        self._fault.setText(fault)
        self._fault.show()
        self.secret.selectAll()
        self.secret.setFocus()

    def _show_busy(self, is_busy: bool) -> None:
        self.wait.setVisible(is_busy)
        for widget in (self.people, self.secret, self.go):
            widget.setEnabled(not is_busy)

    def done(self, result: int) -> None:
        """Cancel leaves everything as it was: what is still made is thrown away."""
        self._loads.drop()
        super().done(result)

    def stop(self) -> None:
        """Give up, and wait until nothing is made any more: before the book closes."""
        self._loads.stop()
        self.reject()


class WaitLine(QWidget):
    """A bar that moves, and what one waits for."""

    def __init__(self, text: str) -> None:
        """A line that says `text`."""
        super().__init__()
        self.text = QLabel(text)
        bar = QProgressBar()
        bar.setRange(0, 0)
        bar.setTextVisible(False)
        bar.setFixedWidth(120)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(10)
        layout.addWidget(bar)
        layout.addWidget(self.text, 1)


def ask_to_sign(dialog: SignDialog) -> bool:
    """Run a `SignDialog`; True where it was signed."""
    signed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.session.note_secrets()
    dialog.deleteLater()
    return signed


def stop_dialogs(screen: QWidget) -> None:
    """Before the book closes: give up what is being signed or printed over a screen."""
    for dialog in screen.findChildren(QDialog):
        if isinstance(dialog, SignDialog):
            dialog.stop()
        else:
            dialog.reject()
