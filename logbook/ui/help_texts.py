"""The texts of the Help menu."""

from __future__ import annotations

from html import escape

from logbook.record import Book, short_seal, sqlite_version
from logbook.shift.plant_revision import revision_words

KEYS = (
    ("Enter, Shift+Enter", "next field down the column, and back"),
    ("Tab, Shift+Tab", "next field across, and back"),
    ("arrow keys", "move as in a table"),
    ("Esc", "the text as it stood; again: empty"),
    ("F4 or /", "no reading, with a reason"),
    ("Ctrl+V", "a column or block copied from a spreadsheet fills the fields"),
    ("Ctrl+Z, Ctrl+Y", "undo, redo"),
    ("F2 or a double click", "correct a saved reading"),
    ("F8", "next field still open"),
    ("Page Down, Page Up", "next area, area before"),
    ("Alt+Left, Alt+Right", "earlier round, later round"),
    ("Ctrl+T", "readings taken at another time"),
    ("F3, F6, F7", "sign on or change person; operating mode; down or back in service"),
    ("Ctrl+S", "save the round"),
    ("Ctrl+1, Ctrl+2, Ctrl+3", "Round, Shift, Review"),
    ("Ctrl+4, Ctrl+5", "Handover, Balance"),
    ("Ctrl+6, Ctrl+7", "Trend, Findings"),
    ("Ctrl+Shift+P", "people of the plant, PINs and passwords"),
    ("Ctrl+Shift+T", "trend of the point in use, from Round and Review"),
    ("Ctrl+E, Ctrl+I", "new log entry; new open item"),
    ("Ctrl+H, Ctrl+L", "safety state; sample taken"),
    ("Ctrl+Shift+I", "standing instruction"),
    ("Ctrl+Shift+R", "relief during the shift"),
    ("Ctrl+Shift+L", "what happened since you were last here"),
    ("Ctrl+Shift+P", "people: first PINs, forgotten ones, new people"),
    ("on Shift: F5, Ctrl+F", "next part; search the book"),
    ("on Shift: arrows, Enter", "choose a matter; open it"),
    ("on Shift: Alt+Left, Alt+Right", "shift before, shift after"),
    ("on Balance: Ctrl+Left, Ctrl+Right", "period before, period after"),
    ("on Trend: Ctrl+F, then Enter", "find a point by words; take it or drop it"),
    ("on Trend: Ctrl+Enter", "take all points that fit what is typed"),
    ("on Trend: Up, Down, Delete", "choose a point; drop it"),
    ("on Trend: Alt+1 to Alt+7", "the moving picture, and closer looks"),
    ("on Trend: Ctrl+G, Ctrl+U, Ctrl+S", "any period; one axis for each unit; save"),
    ("on Trend: Left, Right, +, -, 1 to 9, 0", "move; zoom; choose how long; everything"),
    ("on Trend: Shift+Left, Shift+Right", "reading before, reading after"),
    ("on Trend: N, P", "next and previous reading out of limits"),
    ("F9", "light or dark"),
)

CAUTIONS = (
    (
        "This logbook is no alarm, no safety system and no permit system. It never acts on the plant. "
        "A round sees a value every few hours: what needs an answer sooner needs an instrument alarm."
    ),
    (
        "Hexane vapour is heavier than air, collects low and travels far to an ignition source. It "
        "burns from about 1.1 to 7.5 % by volume (NIOSH Pocket Guide, n-hexane). No ignition source, "
        "bonding and grounding at transfers, gas test and permit before anything is opened or entered."
    ),
    (
        "Steam, hot condensate, hot meal and turning rolls injure. Lock out before reaching in. "
        "Meal and hull dust can explode."
    ),
    "Devices used in classified areas must be certified for them.",
    (
        "Meanings and first responses shown with a reading are reminders. Site procedures, local codes "
        "and licensed practice come first."
    ),
)


def keys_text() -> str:
    """The keyboard, as a table."""
    rows = "".join(
        f"<tr><td style='padding-right:18px'><b>{escape(k)}</b></td><td>{escape(w)}</td></tr>"
        for k, w in KEYS
    )
    return f"<table cellspacing='0' cellpadding='3'>{rows}</table>"


def cautions_text() -> str:
    """The usual cautions."""
    return "".join(f"<p>{escape(text)}</p>" for text in CAUTIONS)


def about_text(version: str, book: Book) -> str:
    """Program and book: versions, file, seal."""
    facts = (
        ("Program", version),
        ("Book", str(book.path)),
        ("Round sheet", revision_words(book, book.plant_at(book.now()), book.now())),
        ("SQLite", sqlite_version()),
        ("Last page", _last_page(book)),
    )
    rows = "".join(
        f"<tr><td style='padding-right:18px'>{escape(k)}</td><td>{escape(v)}</td></tr>"
        for k, v in facts
    )
    return f"<b>Crush Plant Shift Logbook</b><table cellspacing='0' cellpadding='3'>{rows}</table>"


def _last_page(book: Book) -> str:
    page = book.last_page()
    return f"{page.written_at:%Y-%m-%d %H:%M} UTC by {page.person}, seal {short_seal(page.seal)}"
