"""Typing in the form: judged at once, questioned where needed, moved through as in a table."""

from __future__ import annotations

import sqlite3

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QMenu

from logbook.assess.limits import Direction, Severity
from logbook.record.lock import FileLock

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
THICK = "flake_thickness.fm1.left"


def go(screen, key):
    """Show the area of a point and bring its field into use."""
    area = screen.form.fields[key].point.area
    if screen.area != area:
        screen.show_area(area)
    screen.sheet.go_to(key)


def drafts_in(path):
    """The typed texts that the file keeps as drafts, by point."""
    plain = sqlite3.connect(path)
    found = dict(plain.execute("SELECT point, typed FROM draft").fetchall())
    plain.close()
    return found


def test_a_value_is_judged_with_every_key(screen, keys):
    """The judgement follows the text as it grows."""
    go(screen, THICK)
    judged = []
    for letter in "0.46":
        keys.type(letter)
        judged.append(screen.form.fields[THICK].judgement.severity)
    assert judged[-1] is Severity.ACTION
    assert screen.form.fields[THICK].judgement.direction is Direction.HIGH


def test_typing_changes_the_picture_of_its_own_sparkline(screen, keys):
    """The value being typed is drawn on the sparkline beside its field."""
    go(screen, THICK)
    sheet = screen.sheet
    cell = sheet._placed.cells[THICK]
    box = cell.spark.translated(0, -sheet.verticalScrollBar().value())
    pictures = []
    for letter in ("0", ".", "3", "9"):
        keys.type(letter)
        pictures.append(sheet.viewport().grab(box).toImage())
    assert pictures[2] != pictures[3]


def test_an_implausible_value_asks_before_it_is_taken(screen, keys):
    """Enter on it shows the question and stays; a second Enter takes it as typed."""
    go(screen, THICK)
    keys.enter("0.035")
    assert screen.sheet.current == THICK
    assert not screen.form.fields[THICK].entry.is_taken
    assert "Below the plausible" in screen.form.fields[THICK].entry.question.sentence
    keys.press(Qt.Key.Key_Return)
    assert screen.form.fields[THICK].entry.is_taken
    assert screen.form.fields[THICK].entry.value == 0.035


def test_an_implausible_value_can_be_typed_anew(screen, keys):
    """Typing on after the question replaces the text, and the question goes."""
    go(screen, THICK)
    keys.enter("0.035")
    keys.enter("0.35")
    assert screen.form.fields[THICK].entry.value == 0.35
    assert screen.form.unsettled() == []
    assert screen.sheet.current != THICK


def test_one_thousand_or_one_point_two_is_never_guessed(screen, keys):
    """1,234 in a plant with decimal points is not taken, and the message shows both readings."""
    go(screen, THICK)
    keys.enter("1,234")
    entry = screen.form.fields[THICK].entry
    assert not entry.is_taken
    assert "1.234" in entry.question.sentence
    assert "1234" in entry.question.sentence
    keys.press(Qt.Key.Key_Return)
    assert not screen.form.fields[THICK].entry.is_taken


def test_leaving_a_question_with_an_arrow_keeps_it_unsettled(screen, keys):
    """The first arrow shows the question, the second goes on; a save is refused until settled."""
    go(screen, THICK)
    keys.type("abc")
    keys.press(Qt.Key.Key_Down)
    assert screen.sheet.current == THICK
    keys.press(Qt.Key.Key_Down)
    assert screen.sheet.current != THICK
    screen.session.take(screen.desk.people(screen.form.taken_at)[0][0])
    screen.save()
    assert screen.sheet.current == THICK
    assert "cannot be taken" in screen.message.text


def test_enter_goes_down_tab_goes_across_and_both_come_back(screen, keys):
    """Enter and Tab move as in a table, with Shift the other way."""
    go(screen, THICK)
    keys.press(Qt.Key.Key_Return)
    assert screen.sheet.current == "flake_thickness.fm2.left"
    keys.press(Qt.Key.Key_Tab)
    assert screen.sheet.current == "flake_thickness.fm2.centre"
    keys.press(Qt.Key.Key_Backtab)
    assert screen.sheet.current == "flake_thickness.fm2.left"
    keys.press(Qt.Key.Key_Return, mods=SHIFT)
    assert screen.sheet.current == THICK


def test_arrows_move_in_the_table(screen, keys):
    """Down and Up change the row; Right and Left change the column from the edge of the text."""
    go(screen, THICK)
    keys.press(Qt.Key.Key_Down, Qt.Key.Key_Right)
    assert screen.sheet.current == "flake_thickness.fm2.centre"
    keys.press(Qt.Key.Key_Up, Qt.Key.Key_Left)
    assert screen.sheet.current == THICK
    keys.type("0.35")
    keys.press(Qt.Key.Key_Left)
    assert screen.sheet.current == THICK, "Left inside a text moves the cursor only"


def test_an_action_limit_opens_the_response_line(screen, keys):
    """Enter goes into the line, what is written belongs to the reading, Enter goes on."""
    go(screen, THICK)
    keys.enter("0.50")
    assert screen.sheet.current == THICK
    keys.enter("Roll pressure raised, shift lead told")
    assert screen.form.fields[THICK].entry.response == "Roll pressure raised, shift lead told"
    assert screen.sheet.current == "flake_thickness.fm2.left"


def test_a_value_back_inside_closes_the_response_line(screen, keys):
    """The line is there only while an action limit is passed."""
    go(screen, THICK)
    keys.enter("0.50")
    keys.press(Qt.Key.Key_Up)
    keys.enter("0.36")
    assert not screen.form.fields[THICK].wants_response
    assert screen.sheet.current == "flake_thickness.fm2.left"


def test_a_column_pasted_from_a_spreadsheet_fills_the_column(screen, keys):
    """Six lines fill the six mills; one undo takes them all back."""
    go(screen, THICK)
    QGuiApplication.clipboard().setText("0.31\r\n0.32\r\n0.33\r\n0.34\r\n0.35\r\n0.36\r\n")
    keys.chord(Qt.Key.Key_V, CTRL)
    got = [screen.form.fields[f"flake_thickness.fm{n}.left"].entry.value for n in range(1, 7)]
    assert got == [0.31, 0.32, 0.33, 0.34, 0.35, 0.36]
    keys.chord(Qt.Key.Key_Z, CTRL)
    assert screen.form.fields[THICK].entry.value is None
    assert not screen.form.has_entries


def test_a_pasted_block_fills_rows_and_columns_and_says_what_is_left(screen, keys):
    """A block wider than the table fills what fits; the message counts the rest."""
    go(screen, "flake_thickness.fm6.centre")
    QGuiApplication.clipboard().setText("0.31\t0.32\n0.33\t0.34")
    keys.chord(Qt.Key.Key_V, CTRL)
    assert screen.form.fields["flake_thickness.fm6.centre"].entry.value == 0.31
    assert screen.form.fields["flake_thickness.fm6.right"].entry.value == 0.32
    assert "2 values pasted, 2 fell outside" in screen.message.text


def test_undo_and_redo_by_keyboard(screen, keys):
    """Undo takes back a whole typed value, redo brings it again."""
    go(screen, THICK)
    keys.enter("0.35")
    keys.enter("0.36")
    keys.chord(Qt.Key.Key_Z, CTRL)
    assert screen.form.fields["flake_thickness.fm2.left"].entry.typed == ""
    assert screen.form.fields[THICK].entry.value == 0.35
    keys.chord(Qt.Key.Key_Y, CTRL)
    assert screen.form.fields["flake_thickness.fm2.left"].entry.value == 0.36


def test_a_missing_reading_gets_its_reason_by_keyboard(screen, keys, qtbot):
    """F4 opens the reasons, a digit chooses, and the next field comes into use."""
    go(screen, THICK)
    keys.press(Qt.Key.Key_F4)
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    keys.press(Qt.Key.Key_3)
    assert screen.form.fields[THICK].entry.reason == "instrument_fault"
    assert screen.sheet.current == "flake_thickness.fm2.left"


def test_a_slash_in_an_empty_field_opens_the_reasons_too(screen, keys):
    """The slash is quicker on the number pad."""
    go(screen, THICK)
    keys.type("/")
    assert isinstance(QApplication.activePopupWidget(), QMenu)
    keys.press(Qt.Key.Key_1)
    assert screen.form.fields[THICK].entry.reason == "not_sampled"


def test_a_reason_in_words_is_asked_for(screen, keys, in_dialog):
    """The fifth choice takes any words, which must not be blank."""
    go(screen, THICK)
    told = []

    def answer(dialog):
        keys.press(Qt.Key.Key_Return)
        told.append(dialog._fault.text())
        keys.enter("sample door blocked")

    in_dialog(answer)
    keys.press(Qt.Key.Key_F4)
    keys.press(Qt.Key.Key_5)
    assert told == ["Say why."]
    assert screen.form.fields[THICK].entry.reason == "sample door blocked"


def test_a_state_is_chosen_by_letter_and_stops_its_machine(screen, keys):
    """A mill that is down has no readings due; taking the state back makes them due again."""
    go(screen, "flaker_state.fm2")
    keys.enter("d")
    assert screen.form.fields["flaker_state.fm2"].entry.text == "down"
    assert not screen.form.is_open("flake_thickness.fm2.left")
    assert screen.form.is_open("flake_thickness.fm3.left")
    go(screen, "flaker_state.fm2")
    keys.enter("1")
    assert screen.form.is_open("flake_thickness.fm2.left")


def test_escape_brings_back_the_text_as_it_stood(screen, keys):
    """Escape undoes what was typed since the field was entered; again it empties the field."""
    go(screen, THICK)
    keys.enter("0.35")
    keys.press(Qt.Key.Key_Up)
    keys.type("9.99")
    keys.press(Qt.Key.Key_Escape)
    assert screen.form.fields[THICK].entry.typed == "0.35"
    keys.press(Qt.Key.Key_Escape)
    assert screen.form.fields[THICK].entry.typed == ""


def test_a_computed_value_follows_while_typing(screen, keys):
    """The mill's mean appears with its third position."""
    go(screen, THICK)
    for place, text in (("left", "0.30"), ("centre", "0.33"), ("right", "0.36")):
        screen.sheet.go_to(f"flake_thickness.fm1.{place}")
        keys.type(text)
    shown = screen.form.fields["flake_mean.fm1"].entry
    assert shown.value is not None
    assert abs(shown.value - 0.33) < 1e-9


def test_every_field_is_kept_as_a_draft_when_it_is_left(screen, keys, book_path):
    """What was typed stands in the file before the next field is typed."""
    go(screen, THICK)
    keys.enter("0.35")
    assert drafts_in(book_path) == {THICK: "0.35"}


def test_the_field_in_use_is_kept_after_a_pause(screen, keys, book_path, qtbot):
    """A text half typed is in the file without leaving the field."""
    go(screen, THICK)
    keys.type("0.3")
    qtbot.waitUntil(lambda: drafts_in(book_path) == {THICK: "0.3"}, timeout=3000)


def test_page_keys_change_the_area_and_f8_finds_the_next_open_field(screen, keys):
    """Page Down and Page Up go through the areas; F8 jumps to what is still open."""
    first = screen.area
    keys.press(Qt.Key.Key_PageDown)
    assert screen.area == "cracking"
    keys.press(Qt.Key.Key_PageUp)
    assert screen.area == first
    for key in screen.form.open_keys():
        if screen.form.fields[key].point.area in {"receiving", "cracking"}:
            screen.form.give_reason(key, "not_sampled")
    keys.press(Qt.Key.Key_F8)
    assert screen.area not in {"receiving", "cracking"}


@pytest.mark.expects_log("draft not kept: Another program is writing")
def test_nothing_typed_is_lost_when_the_book_is_held_by_another(screen, keys, book_path):
    """A save while another program holds the book says so; the next one works."""
    screen.session.take(screen.desk.people(screen.form.taken_at)[0][0])
    go(screen, THICK)
    keys.enter("0.35")
    with FileLock(book_path.with_name(book_path.name + ".lock"), 1.0):
        screen.save()
    assert screen.message.text.startswith("Not saved.")
    assert screen.form.fields[THICK].entry.value == 0.35
    screen.save()
    assert screen.message.text.startswith("Saved at")
