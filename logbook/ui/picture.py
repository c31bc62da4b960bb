"""Screens as pictures, without a screen: for the command line, the README and a look from afar."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.record import Book

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

SETTLE_MS = 250
"""Sparklines and details come a moment after the screen itself."""


def picture_of_screen(
    book: Book, out: Path, screen: str, *, area: str | None, size: tuple[int, int], dark: bool
) -> None:
    """Render a screen (a key of `logbook.ui.screens.SCREENS`) as it is now to a PNG file.

    `area` is shown on the Round screen, which is at the round now due.

    Needs no display. Raises OSError where the file cannot be written, BookError where the book
    cannot be read.
    """
    # Without a display Qt would abort the process; a display is not needed for a picture.
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from logbook.ui.app import make_application
    from logbook.ui.theme import DARK_THEME, LIGHT_THEME, apply_theme
    from logbook.ui.window import LogbookWindow

    app = make_application()
    theme = DARK_THEME if dark else LIGHT_THEME
    apply_theme(app, theme)
    window = LogbookWindow(book, theme, "dark" if dark else "light")
    window.resize(*size)
    window.show()
    window.round.draw_now()
    if area is not None:
        window.round.show_area(area)
    window.show_screen(screen)
    _settle(window)
    saved = window.grab().save(str(out), "PNG")
    window.close()
    if not saved:
        raise OSError(None, "the picture could not be written", str(out))


def _settle(window: QWidget) -> None:
    """Let what a screen does a moment after it is shown happen, and what it reads arrive."""
    from PySide6.QtCore import QEventLoop, QTimer

    from logbook.ui.loads import Loads

    while True:
        loop = QEventLoop()
        QTimer.singleShot(SETTLE_MS, loop.quit)
        loop.exec()
        if not any(loads.is_busy for loads in window.findChildren(Loads)):
            return
