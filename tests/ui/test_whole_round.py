"""A whole round by keyboard alone, read back with plain sqlite3."""

from __future__ import annotations

import sqlite3

from PySide6.QtCore import Qt

from logbook.assess.typed import format_number
from logbook.plant.model import PointKind

CTRL = Qt.KeyboardModifier.ControlModifier


def text_for(point, values) -> str:
    """What a person would type for a point."""
    if point.kind in {PointKind.STATE, PointKind.CHECK}:
        return "1"
    if point.kind is PointKind.TEXT:
        return "nothing to note"
    return format_number(values.plausible(point, 25), point.decimals, decimal_comma=False)


def test_a_whole_round_is_entered_by_keyboard_alone_and_read_back(
    screen, keys, book_path, template_plant, values
):
    """Every due field is typed with Enter between and saved with Ctrl+S; the file holds it all."""
    keys.press(Qt.Key.Key_F3)
    keys.pick(screen.bar.person, Qt.Key.Key_Down, Qt.Key.Key_Return)
    assert screen.person
    due = screen.form.open_keys()
    typed: dict[str, str] = {}
    for _ in due:
        key = screen.sheet.current
        text = text_for(template_plant.point(key), values)
        typed[key] = text
        keys.enter(text)
        assert screen.sheet.current != key or not screen.form.open_keys(), f"stuck at {key}"
    assert typed.keys() == set(due)
    assert len(due) > 100
    keys.chord(Qt.Key.Key_S, CTRL)
    assert screen.message.text.startswith("Saved at")

    plain = sqlite3.connect(book_path)
    rows = plain.execute(
        "SELECT p.key, r.typed, r.value, r.text FROM reading r JOIN point p ON p.id = r.point "
        "JOIN page g ON g.id = r.page WHERE g.id = (SELECT max(id) FROM page)"
    ).fetchall()
    plain.close()
    assert {key: text for key, text, _, _ in rows} == typed
    for key, text, value, answer in rows:
        point = template_plant.point(key)
        if point.kind.is_numeric:
            assert value == float(text)
        else:
            assert answer in {values.answer_of(point), "nothing to note"}
