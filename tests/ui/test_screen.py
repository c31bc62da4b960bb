"""The Round screen around the form: rounds, lateness, modes, stops, drafts, saving."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from datetime import timedelta

from PySide6.QtCore import Qt

from logbook.record import open_book
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, apply_theme
from logbook.ui.window import LogbookWindow

CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
THICK = "flake_thickness.fm1.left"

TYPIST = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from PySide6.QtTest import QTest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from logbook.record import open_book
from logbook.ui.theme import LIGHT_THEME, apply_theme
from logbook.ui.window import LogbookWindow

app = QApplication([])
apply_theme(app, LIGHT_THEME)
now = datetime.fromisoformat(sys.argv[2])
window = LogbookWindow(open_book(Path(sys.argv[1]), clock=lambda: now), LIGHT_THEME)
window.show()
window.activateWindow()
QTest.qWaitForWindowActive(window)
window.round.show_area("flaking")
window.round.sheet.go_to("flake_thickness.fm1.left")
for text in ("0.31", "0.52"):
    QTest.keyClicks(QApplication.focusWidget(), text)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
QTest.keyClicks(QApplication.focusWidget(), "Pressure raised")
QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_F4)
QTest.keyClick(QApplication.activePopupWidget(), Qt.Key.Key_4)
print("typed", flush=True)
app.exec()
"""


def writer(screen):
    """Choose somebody who writes."""
    screen.session.take(screen.desk.people(screen.form.taken_at)[0][0])
    return screen.person


def put(screen, key, text):
    """Type into a field without the keyboard."""
    screen.show_area(screen.form.fields[key].point.area)
    screen.sheet.go_to(key)
    screen._on_typed(key, text)
    screen._on_settled(key)


def test_a_killed_program_finds_the_half_typed_round_again(book_path, values, qtbot, clock):
    """The process is killed mid-round; a new window shows values, response and reason again."""
    now = clock.set(values.round_at + timedelta(minutes=5))
    child = subprocess.Popen(
        [sys.executable, "-c", TYPIST, str(book_path), now.isoformat()],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )
    assert child.stdout is not None
    assert child.stdout.readline().strip() == "typed"
    child.send_signal(signal.SIGKILL)
    child.wait()
    child.stdout.close()
    with open_book(book_path, clock=clock) as book:
        window = LogbookWindow(book, LIGHT_THEME)
        qtbot.addWidget(window)
        fields = window.round.form.fields
        assert fields[THICK].entry.value == 0.31
        assert fields["flake_thickness.fm2.left"].entry.value == 0.52
        assert fields["flake_thickness.fm2.left"].entry.response == "Pressure raised"
        assert fields["flake_thickness.fm3.left"].entry.reason == "not_safe"
        assert "brought back" in window.round.message.text


def test_closing_and_opening_keeps_the_draft_and_a_save_drops_it(screen, window, book_path):
    """A save writes the page and leaves no draft behind."""
    put(screen, THICK, "0.35")
    writer(screen)
    screen.save()
    plain = sqlite3.connect(book_path)
    assert plain.execute("SELECT count(*) FROM draft").fetchone() == (0,)
    assert plain.execute("SELECT count(*) FROM draft_head").fetchone() == (0,)
    plain.close()


def test_the_draft_follows_undo_and_redo_around_a_machine_that_stands(screen, book_path):
    """A pasted row that stops its own machine: the file holds what the form holds, each step."""
    state, load = "flaker_state.fm1", "flaker_current.fm1"
    screen.show_area("flaking")
    screen.sheet.go_to(state)
    steps = [lambda: screen._on_pasted([[state, load]], "standby\t66")]
    steps += [screen.undo, screen.redo, screen.undo]
    held = []
    for step in steps:
        step()
        fields = {key: screen.form.fields[key].entry.typed for key in (state, load)}
        assert drafts_in(book_path) == {key: text for key, text in fields.items() if text}
        held.append(fields[load])
    assert held == ["66", "", "66", ""]


def drafts_in(path) -> dict[str, str]:
    """The typed texts that the file keeps as drafts, by point."""
    plain = sqlite3.connect(path)
    found = dict(plain.execute("SELECT point, typed FROM draft").fetchall())
    plain.close()
    return found


def test_a_save_says_what_was_written_and_shows_it_as_saved(screen):
    """The message counts readings and names the seal; the field can no longer be typed in."""
    put(screen, THICK, "0.43")
    writer(screen)
    screen.save()
    assert "1 reading, 1 warning" in screen.message.text
    assert "Seal" in screen.message.text
    assert not screen.form.is_open(THICK)
    assert screen.form.fields[THICK].saved is not None


def test_an_unanswered_action_deviation_is_asked_for_once(screen):
    """The first save goes to the response line, the second leaves it open."""
    put(screen, THICK, "0.50")
    writer(screen)
    screen.save()
    assert "no response yet" in screen.message.text
    assert screen.sheet.current == THICK
    screen.save()
    assert screen.message.text.startswith("Saved at")


def test_a_late_round_needs_its_reason(screen, clock, keys):
    """Beyond the grace time the screen says so, and a save asks why."""
    writer(screen)
    clock.advance(hours=1, minutes=30)
    screen._on_clock()
    assert screen.late.isVisible()
    put(screen, THICK, "0.35")
    screen.save()
    assert "Say why" in screen.message.text
    screen.late.reason.setFocus()
    keys.type("samples taken, PC was updating")
    screen.save()
    assert screen.message.text.startswith("Saved at")
    assert screen.form.fields[THICK].saved.late


def test_an_earlier_round_is_chosen_by_keyboard(screen, keys, values):
    """Alt+Left opens the round before, with what the book holds of it."""
    screen.sheet.setFocus()
    keys.chord(Qt.Key.Key_Left, ALT)
    assert screen.form.round_at == values.round_at - timedelta(hours=2)
    assert screen.form.fields[THICK].saved is not None
    keys.chord(Qt.Key.Key_Right, ALT)
    assert screen.form.round_at == values.round_at


def test_readings_at_another_time_ask_for_time_and_reason(screen, keys, in_dialog, values):
    """Ctrl+T takes a time in the past with a reason, refuses the future, and opens its form."""
    told = []

    def answer(dialog):
        keys.type("23:59")
        keys.press(Qt.Key.Key_Return)
        told.append(dialog._fault.text())
        keys.target().clear()
        keys.type("09:20")
        keys.press(Qt.Key.Key_Return)
        told.append(dialog._fault.text())
        keys.press(Qt.Key.Key_Tab)
        keys.enter("check after roll change")

    in_dialog(answer)
    screen.sheet.setFocus()
    keys.chord(Qt.Key.Key_T, CTRL)
    assert "lies in the future" in told[0]
    assert "Say why" in told[1]
    assert screen.form.round_at is None
    assert screen.form.taken_at == values.round_at - timedelta(minutes=40)
    assert screen.form.note == "check after roll change"
    assert screen.form.open_keys() == []


def test_an_area_goes_down_and_comes_back(screen, keys, in_dialog):
    """F7 writes it in the book; its readings are not due until it is back."""
    writer(screen)
    screen.show_area("flaking")
    for reason, open_after in (("belt torn", False), ("belt changed", True)):

        def answer(dialog, reason=reason):
            keys.press(Qt.Key.Key_Tab, Qt.Key.Key_Tab)
            keys.enter(reason)

        in_dialog(answer)
        screen.sheet.setFocus()
        screen.stop_or_start()
        assert reason in screen.message.text
        assert screen.form.is_open(THICK) is open_after


def test_a_mode_change_is_written_and_its_limits_hold(screen, in_dialog, keys):
    """The mode is changed from the form with a reason; the form shows the mode's limits."""
    writer(screen)
    point = next(
        p for p in screen.desk.plant.points if "startup" in p.limits_by_mode and p.kind.is_typed
    )
    assert screen.form.fields[point.key].limits == point.limits
    in_dialog(lambda dialog: keys.enter("restart after trip"))
    screen._on_mode("startup")
    assert screen.form.mode == "startup"
    assert screen.form.fields[point.key].limits == point.limits_by_mode["startup"]


def test_nobody_chosen_is_asked_for(screen):
    """A save without a writer opens the list of people and says so."""
    put(screen, THICK, "0.35")
    screen.save()
    assert "Choose who writes" in screen.message.text
    assert screen.bar.person.view().isVisible()
    screen.bar.person.hidePopup()


def test_the_last_value_can_be_hidden_until_the_field_is_typed(qtbot, book, template_plant, clock):
    """With the plant's setting the last value is painted only after something is typed."""
    from dataclasses import replace

    settings = replace(template_plant.settings, hide_last_value=True)
    plant = replace(template_plant, settings=settings)
    book.revise(plant.people[0].key, plant, effective_from=clock.now, reason="less copying")
    clock.advance(hours=2)
    window = LogbookWindow(book, LIGHT_THEME)
    qtbot.addWidget(window)
    window.show()
    window.round.show_area("extraction")
    sheet = window.round.sheet
    key = "bed_depth"
    window.round.sheet.go_to("flake_inlet_temp")
    box = sheet._placed.cells[key].last
    window.resize(1280, 1000)
    box = sheet._placed.cells[key].last.translated(0, -sheet.verticalScrollBar().value())
    hidden = sheet.viewport().grab(box).toImage()
    window.round._on_typed(key, "2.30")
    shown = sheet.viewport().grab(box).toImage()
    assert hidden != shown


def test_both_palettes_paint_the_screen(window, qapp):
    """Changing the palette repaints all parts; back again gives the same picture."""
    screen = window.round
    light = screen.grab().toImage()
    window.show_theme(DARK_THEME)
    dark = screen.grab().toImage()
    window.show_theme(LIGHT_THEME)
    again = screen.grab().toImage()
    apply_theme(qapp, LIGHT_THEME)
    assert overall(dark) < 90
    assert overall(light) > 180
    assert overall(light) == overall(again)


def overall(image) -> int:
    """Lightness of a picture as a whole, 0 to 255."""
    dot = image.scaled(
        1, 1, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
    )
    return dot.pixelColor(0, 0).lightness()
