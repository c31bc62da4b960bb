from __future__ import annotations

from PySide6.QtCore import Qt

KEYS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


def numeric(plant):
    """A point with numbers that is read each round."""
    return next(p for p in plant.points if p.kind.is_numeric and p.kind.is_typed and p.unit == "mm")


def test_from_a_field_of_the_round_to_its_trend(window, screen, keys, settled, template_plant):
    """Ctrl+Shift+T: the point is drawn, the cursor in the round that was shown."""
    point = numeric(template_plant)
    screen.show_field(point.key, screen.form.taken_at)
    keys.chord(Qt.Key.Key_T, KEYS)
    settled()
    trend = window.screen_of("trend")
    assert window._stack.currentWidget() is trend
    assert trend.keys == (point.key,)
    assert trend.chart.cursor_at == screen.form.taken_at.timestamp()


def test_a_field_answered_in_words_has_no_trend(window, screen, keys, template_plant):
    """It is said so, and the round stays."""
    state = next(p for p in template_plant.points if p.choices and p.kind.is_typed)
    screen.show_field(state.key, screen.form.taken_at)
    window.show_trend_in_use()
    assert window._stack.currentWidget() is screen
    assert "answered in words" in screen.message.text


def test_from_a_cell_of_the_review_to_its_trend(window, keys, settled, clock, template_plant):
    """The point under the cursor of the grid, at its round."""
    review = window.show_screen("review")
    settled()
    review.earlier()
    settled()
    point = numeric(template_plant)
    row = next(n for n in range(600) if (r := review.grid.grid.row(n)) and r.point == point.key)
    review.grid.setCurrentIndex(review.grid.model().index(row, 2))
    review.grid.setFocus()
    keys.chord(Qt.Key.Key_T, KEYS)
    settled()
    trend = window.screen_of("trend")
    assert trend.keys == (point.key,)
    assert trend.chart.cursor_at == review.desk.grid.rounds[2].at.timestamp()


def test_from_a_screen_without_points_the_trend_is_shown_as_it_was(window, keys, settled):
    """Nothing is chosen for anybody."""
    window.show_screen("shift")
    settled()
    window.show_trend_in_use()
    settled()
    assert window._stack.currentWidget() is window.screen_of("trend")
    assert window.screen_of("trend").keys == ()
