"""A supervisor at the Review screen, with keys."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QModelIndex, Qt

from logbook.shift.review_cells import CellState, Mark
from logbook.shift.signing import SigningRefused
from logbook.ui.review.grid_model import CELL_ROLE, GridModel
from logbook.ui.review.screen import ReviewScreen
from logbook.ui.theme import DARK_THEME

OUT = "bean_feed_rate"
LEAD_A, LEAD_B = "seven otters crossing the ford", "two lanterns above the weir"
CONTROL = Qt.KeyboardModifier.ControlModifier


def go_to(screen: ReviewScreen, point: str, column: int) -> None:
    """Put the cursor on a cell."""
    row = screen.grid.grid.place_of(point)
    screen.grid.setCurrentIndex(screen.grid.grid.index(row, column))
    screen.show_reading()


def test_the_model_keeps_to_the_rules_of_qt(review, qtmodeltester):
    """Qt's own check of a table model finds nothing wrong."""
    qtmodeltester.check(review.grid.grid)


def test_nothing_lies_below_a_cell(review):
    """A table has no children."""
    model = review.grid.grid
    inside = model.index(1, 0)
    assert (model.rowCount(inside), model.columnCount(inside)) == (0, 0)
    assert model.rowCount(QModelIndex()) == len(model.rows)


def test_new_rows_are_told_to_the_view(review, qtbot):
    """Showing other rows resets the model."""
    model = GridModel()
    with qtbot.waitSignal(model.modelReset):
        model.show_rows(review.desk.columns(), review.desk.rows())
    assert model.rowCount() == len(review.desk.rows())


def test_the_previous_shift_opens_exceptions_first(review):
    """The night stands there, and the action deviation is under the cursor's heading."""
    assert review.desk.shift.pattern == "N"
    rows = review.grid.grid.rows
    assert (rows[0].name, rows[1].point) == ("Action limit passed", OUT)
    assert review.grid.current_point == OUT


def test_a_deviation_is_reviewed_with_its_history(review, keys):
    """Its value, limits, what was done, and both versions with who, when and why."""
    review.grid.setFocus()
    keys.press(Qt.Key.Key_F8)
    go_to(review, OUT, len(review.desk.columns()) - 1)
    cell = review.grid.currentIndex().data(CELL_ROLE)
    assert cell.found.state is CellState.ACTION
    assert Mark.CORRECTED in cell.found.marks
    told = review.pane.text
    for words in (
        "69.0 t/h",
        "action high, over 68.0",
        "action 52.0 to 68.0",
        "Feed gate eased by hand",
        "feeler read again",
        "first written by",
        "Operator B",
    ):
        assert words in told


def test_a_question_becomes_an_open_item_of_the_crew(review, night, keys):
    """Enter on the cell, the question, Enter: an item with the reading, and its mark in the grid."""
    column = len(review.desk.columns()) - 1
    go_to(review, OUT, column)
    review.grid.setFocus()
    keys.press(Qt.Key.Key_Return)
    keys.enter("Why was the gate not closed?")
    items = night.open_items(night.now())
    assert len(items) == 1
    assert "Why was the gate not closed?" in items[0].text
    assert items[0].reading == review.desk.row_of(OUT).cells[column].reading.id
    assert review.grid.currentIndex().data(CELL_ROLE).is_asked
    assert "Why was the gate not closed?" in review.pane.text


def test_an_empty_question_is_not_sent(review, night, keys):
    """It says that words are missing."""
    review.begin_question()
    keys.press(Qt.Key.Key_Return)
    assert review.message.text == "Type the question first."
    assert night.open_items(night.now()) == []


def test_the_review_is_signed_by_keyboard(review, night, keys, sign):
    """F6 and the password; who and when stand in the head, and nothing is left to sign."""
    told = sign(LEAD_A)
    keys.press(Qt.Key.Key_F6)
    assert told == [""]
    shift = review.desk.shift
    assert [(s.role, s.person) for s in night.signatures(shift.date, shift.pattern)] == [
        ("review", "lead_a")
    ]
    assert "reviewed by Shift lead A" in review.bar.told.text()
    assert not review.bar.sign.isEnabled()
    assert review.desk.pdf(night).startswith(b"%PDF")


def test_a_wrong_password_signs_no_review(review, night, keys, sign):
    """The dialog says so and the shift is not signed."""
    told = sign("not the words it wants")
    keys.press(Qt.Key.Key_F6)
    assert "not right" in told[0]
    assert night.signatures(review.desk.shift.date, review.desk.shift.pattern) == []


def test_an_operator_may_not_sign_a_review(show, night, keys):
    """The role is told, and who may."""
    screen = show(ReviewScreen, night, "operator_b")
    keys.press(Qt.Key.Key_F6)
    assert screen.message.text == "An operator may not review a shift; ask a supervisor to do it."


def test_a_running_shift_is_not_signed_as_reviewed(review, keys):
    """It can be looked at; signing waits for its end."""
    keys.chord(Qt.Key.Key_Right, CONTROL)
    assert review.desk.is_running
    keys.press(Qt.Key.Key_F6)
    assert review.message.text == (
        "The shift runs until 18:00; it can be reviewed when it is over."
    )


def test_of_two_windows_that_sign_the_same_review_one_wins(
    review, show, second, to_front, keys, sign
):
    """The other is told that it was reviewed already."""
    other = show(ReviewScreen, second, "lead_b")
    to_front(review)
    sign(LEAD_A)
    keys.press(Qt.Key.Key_F6)
    with pytest.raises(SigningRefused, match="Shift lead A has reviewed this shift already"):
        other.desk.begin(other.session.door, "lead_b", LEAD_B)
    shift = other.desk.shift
    assert len(second.signatures(shift.date, shift.pattern)) == 1


def test_arrows_go_from_shift_to_shift(review, keys):
    """Control with left and right; before the book there is nothing."""
    night = review.desk.shift
    keys.chord(Qt.Key.Key_Left, CONTROL)
    assert review.desk.shift.end == night.start
    keys.chord(Qt.Key.Key_Right, CONTROL)
    assert review.desk.shift == night
    for _ in range(6):
        keys.chord(Qt.Key.Key_Left, CONTROL)
    assert review.message.text == "The book has no earlier shift."


def test_with_a_crew_chosen_only_its_shifts_come(review, keys):
    """Stepping leaves out the shifts of others."""
    crew = review.desk.shift.crew
    review.bar.crew.setCurrentIndex(review.bar.crew.findData(crew))
    keys.chord(Qt.Key.Key_Left, CONTROL)
    assert review.desk.shift.crew == crew


@pytest.mark.parametrize("finding", ["flagged", "missing", "corrected", "doubtful", "late"])
def test_filters_leave_what_was_asked_for(review, finding):
    """By what was found: exactly the rows that the review itself marks."""
    review.bar.finding.setCurrentIndex(review.bar.finding.findData(finding))
    review.bar.narrowed.emit()
    shown = {row.point for row in review.grid.grid.rows if not row.is_head}
    marked = {row.point.key for row in review.desk.grid.rows if finding in row.findings}
    assert shown == marked
    assert (OUT in shown) == (finding in {"flagged", "corrected"})


def test_filters_by_area_and_words_work_together(review, keys):
    """Ctrl+F takes words; only names that hold them are left, of the area chosen."""
    review.bar.area.setCurrentIndex(review.bar.area.findData("receiving"))
    review.bar.narrowed.emit()
    keys.chord(Qt.Key.Key_F, CONTROL)
    keys.type("feed")
    points = [row.point for row in review.grid.grid.rows if not row.is_head]
    assert points == [OUT]


def test_a_filter_that_nothing_passes_says_so(review, keys):
    """An empty grid is explained."""
    keys.chord(Qt.Key.Key_F, CONTROL)
    keys.type("no such point")
    assert review.grid.grid.rowCount() == 0
    assert review.message.text == "Nothing passes this filter."
    assert review.pane.text.startswith("No reading chosen")


def test_the_process_order_groups_by_area(review):
    """Headings are the areas, in the order of the plant."""
    review.bar.order.setCurrentIndex(1)
    review.bar.narrowed.emit()
    heads = [row.name for row in review.grid.grid.rows if row.is_head]
    assert heads == [area.name for area in review.desk.plant.areas][: len(heads)]


def test_the_next_exception_wraps_round(review, keys):
    """F8 goes through all of them and begins again."""
    review.grid.setFocus()
    first = (review.grid.currentIndex().row(), review.grid.currentIndex().column())
    seen = [first]
    for _ in range(len(review.grid.grid.rows) * 10):
        keys.press(Qt.Key.Key_F8)
        place = (review.grid.currentIndex().row(), review.grid.currentIndex().column())
        if place == first:
            break
        seen.append(place)
    assert len(seen) == len(set(seen)) == len(review.grid._exceptions())


def test_the_screen_paints_in_both_palettes(review):
    """Grid, pane and legend draw without a fault."""
    review.set_theme(DARK_THEME)
    assert not review.grab().isNull()
