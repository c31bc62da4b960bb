"""Screens as pictures, without a screen: for the command line, the README and a look from afar."""

from __future__ import annotations

import os
from pathlib import Path

from logbook.record import Book


def picture_of_round(
    book: Book, out: Path, *, area: str | None, size: tuple[int, int], dark: bool
) -> None:
    """Render the Round screen at the round now due to a PNG file.

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
    app.processEvents()
    saved = window.grab().save(str(out), "PNG")
    window.close()
    if not saved:
        raise OSError(None, "the picture could not be written", str(out))
