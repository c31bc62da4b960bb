"""The Shift screen by keyboard: the picture, opening a matter, the forms, what is open, search."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox

from logbook.plant.model import Person, Role
from logbook.record import NewInstruction, NewOpenItem, NewReading, NewSafetyState, NewSample
from logbook.shift.picture import MatterKind
from logbook.shift.samples import samples_waiting
from logbook.ui.shift_screen.matter_dialog import MatterDialog
from logbook.ui.theme import DARK_THEME, LIGHT_THEME

CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
THICK = "flake_thickness.fm1.left"


@pytest.fixture(autouse=True)
def people(book):
    """An operator and a supervisor of the crew, entered before any window is made."""
    plant = book.plant_at(book.now())
    crew = plant.calendar.crews[0].key
    found = {
        "operator": Person("rushlight", "Olla Rushlight", Role.OPERATOR, crew),
        "supervisor": Person("sedgely", "Vane Sedgely", Role.SUPERVISOR, crew),
    }
    wider = replace(plant, people=(*plant.people, *found.values()))
    book.revise(plant.people[0].key, wider, effective_from=book.now(), reason="people entered")
    return found


@pytest.fixture
def story(book, people, values):
    """A warning and an action deviation, an item overdue, an instruction and a bypass."""
    at, now = values.round_at, book.now()
    readings = [
        NewReading(THICK, at, value=0.52, typed="0.52", round_at=at),
        NewReading("flake_moisture", at, value=8.8, typed="8.8", round_at=at),
    ]
    matters = [
        NewOpenItem(
            now - timedelta(hours=3),
            "Seal drips",
            area="extraction",
            due_at=now - timedelta(minutes=1),
        ),
        NewInstruction(now - timedelta(days=1), None, "Vent reading in every round"),
        NewSafetyState(now - timedelta(hours=1), "bypass", "Level interlock", area="extraction"),
    ]
    book.write("sedgely", readings)
    book.write("sedgely", matters, kind="event")


@pytest.fixture
def shift(window, people, qtbot, settled):
    """The Shift screen, shown, with the operator as the writer."""
    window.session.take("rushlight")
    QTest.keyClick(window, Qt.Key.Key_2, CTRL)
    made = window.screen_of("shift")
    qtbot.waitUntil(made.isVisible)
    settled()
    made.lanes.setFocus()
    return made


def fill(dialog, keys, text):
    """Type the text of a form, which has the cursor, and write it."""
    keys.type(text)
    keys.chord(Qt.Key.Key_Return, CTRL)


def test_ctrl_2_shows_the_shift_and_ctrl_1_goes_back_to_the_form(window, screen, keys, qtbot):
    """The screens change by keyboard; the half-typed round is untouched and has the cursor."""
    keys.type("61.")
    QTest.keyClick(window, Qt.Key.Key_2, CTRL)
    qtbot.waitUntil(window.screen_of("shift").isVisible)
    assert not screen.isVisible()
    QTest.keyClick(window, Qt.Key.Key_1, CTRL)
    qtbot.waitUntil(screen.isVisible)
    keys.type("5")
    assert screen.form.fields[screen.sheet.current].entry.typed == "61.5"


def test_no_screen_but_the_round_is_made_before_it_is_asked_for(window):
    """The window opens with the Round screen only, so that it opens quickly."""
    assert list(window._screens) == ["round"]


def test_the_picture_has_the_deviations_of_the_shift_in_their_areas(story, shift):
    """Both deviations stand in the lane of flaking, with their words and severity."""
    lanes = {lane.area: lane for lane in shift.desk.picture().lanes}
    words = [m.words for m in lanes["flaking"].matters if m.kind is MatterKind.DEVIATION]
    assert len(words) >= 2
    assert any("action high" in text and "still open" in text for text in words)


def test_arrows_choose_and_enter_opens_a_matter(story, shift, keys, in_dialog):
    """From the picture alone: Down to a lane, Enter, and the dialog tells of that deviation."""
    seen: list[str] = []
    keys.press(Qt.Key.Key_Home)
    while shift.lanes.current.area != "flaking":
        keys.press(Qt.Key.Key_Down)
    chosen = shift.lanes.current

    def act(dialog):
        assert isinstance(dialog, MatterDialog)
        seen.append(dialog.windowTitle())
        keys.press(Qt.Key.Key_Escape)

    in_dialog(act)
    keys.press(Qt.Key.Key_Return)
    assert shift.told.text() == chosen.words
    assert seen[0].startswith("Flaking: ")


def test_a_click_opens_the_matter_under_it(story, shift, in_dialog, qtbot):
    """The mouse finds the same place that is painted."""
    place = next(p for p in shift.lanes._layout.places if p.matter.kind is MatterKind.DEVIATION)
    seen: list[str] = []
    in_dialog(lambda dialog: (seen.append(dialog.windowTitle()), dialog.reject()))
    shift.lanes.choose(place.matter)
    y = place.box.center().y() + 40 - shift.lanes.verticalScrollBar().value()
    spot = QPoint(int(place.box.center().x()), int(y))
    qtbot.mouseClick(shift.lanes.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert len(seen) == 1
    assert shift.lanes.current is place.matter


def test_from_a_deviation_the_keyboard_goes_to_its_field(story, shift, window, keys, in_dialog):
    """The dialog's first button leads to the field on the Round screen."""
    matter = next(
        m
        for m in shift.desk.picture().matters
        if m.kind is MatterKind.DEVIATION and m.source.found.point.key == THICK
    )
    in_dialog(lambda dialog: keys.press(Qt.Key.Key_Return))
    shift.open_source(matter.source)
    assert window.round.isVisible()
    assert window.round.area == "flaking"


def test_a_log_entry_is_written_by_keyboard(shift, book, keys, in_dialog, values, settled):
    """Ctrl+E, kind, text, Ctrl+Enter: it is in the book, the timeline and the picture."""

    def act(dialog):
        dialog.kind.setFocus()
        keys.press(Qt.Key.Key_Down)
        dialog.text.setFocus()
        fill(dialog, keys, "Roof leaks over the stairs")

    in_dialog(act)
    shift.window().activateWindow()
    QTest.keyClick(shift.window(), Qt.Key.Key_E, CTRL)
    settled()
    entry = book.entries(values.round_at, book.now() + timedelta(seconds=1))[-1]
    assert (entry.kind, entry.text, entry.person) == (
        "safety",
        "Roof leaks over the stairs",
        "rushlight",
    )
    assert any("Roof leaks over the stairs" in line for line in shift.timeline.line_texts())
    pins = [m for m in shift.lanes._picture.matters if m.kind is MatterKind.ENTRY]
    assert [pin.letter for pin in pins] == ["S"]


def test_a_form_with_a_time_to_come_stays_open_with_what_was_typed(shift, keys, in_dialog):
    """A time that is none, or lies in the future, is told; the text is still there."""
    faults, texts = [], []

    def act(dialog):
        keys.type("Belt slipped")
        line = dialog.form.itemAt(3, dialog.form.ItemRole.FieldRole).widget()
        for typed in ("25:70", "10:30"):
            line.setFocus()
            line.selectAll()
            keys.type(typed)
            keys.chord(Qt.Key.Key_Return, CTRL)
            faults.append(dialog._fault.text())
            texts.append(dialog.words)
        dialog.reject()

    in_dialog(act)
    QTest.keyClick(shift.window(), Qt.Key.Key_E, CTRL)
    assert all(fault.startswith("Time: ") for fault in faults)
    assert texts == ["Belt slipped", "Belt slipped"]


def test_an_item_is_opened_and_closed_by_keyboard(shift, book, keys, in_dialog, qtbot, settled):
    """Carried while open, with its news; gone from the list when it is closed."""
    in_dialog(lambda dialog: fill(dialog, keys, "Look at the seal again"))
    QTest.keyClick(shift.window(), Qt.Key.Key_I, CTRL)
    settled()
    item = book.open_items(book.now())[-1]
    assert item.text == "Look at the seal again"

    def close(dialog):
        dialog.chosen = "close"
        in_dialog(lambda form: fill(form, keys, "Seal changed"))
        dialog.accept()

    assert shift.open.choose(item)
    shift.window().activateWindow()
    shift.open.setFocus()
    qtbot.waitUntil(shift.open.hasFocus)
    in_dialog(close)
    keys.press(Qt.Key.Key_Return)
    assert book.open_items(book.now()) == []
    closed = book.item(item.id)
    assert (closed.is_open, closed.events[-1].text) == (False, "Seal changed")


def test_what_is_open_stands_in_order_with_its_marks(story, shift):
    """Safety states first; the item past its time and the instruction not read are marked."""
    texts = shift.open.line_texts()
    heads = [t for t in texts if t.startswith(("Safety", "Standing", "Open items", "Samples"))]
    assert [h.split("  ")[0] for h in heads] == [
        "Safety states", "Standing instructions", "Open items", "Samples waiting",
    ]  # fmt: skip
    assert any("overdue" in t and "Seal drips" in t for t in texts)
    assert any("to read" in t and "Vent reading" in t for t in texts)


def test_an_instruction_is_confirmed_as_read_once(story, shift, book, keys, in_dialog):
    """Enter on it, Enter on the button: the book holds who read it and when; the mark goes."""
    one = book.instructions(book.now())[0]
    shift.open.choose(one)
    shift.open.setFocus()
    in_dialog(lambda dialog: keys.press(Qt.Key.Key_Return))
    keys.press(Qt.Key.Key_Return)
    assert list(book.instructions(book.now())[0].acknowledged_by) == ["rushlight"]
    assert not any("to read" in t for t in shift.open.line_texts())


def test_an_operator_is_told_why_no_instruction(shift, keys):
    """The form does not open; the line below says who may."""
    shift.write("instruction")
    assert "ask a supervisor" in shift.message.text


def test_a_supervisor_gives_an_instruction(shift, window, book, keys, in_dialog):
    """The same key for a supervisor opens the form and writes it."""
    window.session.take("sedgely")
    in_dialog(lambda dialog: fill(dialog, keys, "Two people at the roof"))
    shift.write("instruction")
    assert [one.text for one in book.instructions(book.now())] == ["Two people at the roof"]


def test_a_safety_state_needs_who_authorised_it_and_is_cleared(shift, book, keys, in_dialog):
    """Without a name the form stays; with one it is open until cleared, with how."""
    faults: list[str] = []

    def act(dialog):
        fill(dialog, keys, "Interlock LSL-204 bypassed")
        faults.append(dialog._fault.text())
        dialog.form.itemAt(5, dialog.form.ItemRole.FieldRole).widget().setText("Vane Sedgely")
        keys.chord(Qt.Key.Key_Return, CTRL)

    in_dialog(act)
    QTest.keyClick(shift.window(), Qt.Key.Key_H, CTRL)
    assert faults == ["Say who has authorised it."]
    state = book.safety_states(book.now())[0]
    assert (state.kind, state.authorised_by) == ("bypass", "Vane Sedgely")

    def clear(dialog):
        in_dialog(lambda form: fill(form, keys, "Float changed, tested"))
        keys.press(Qt.Key.Key_Return)

    in_dialog(clear)
    shift.open_source(state)
    assert book.safety_states(book.now()) == []


def test_searching_finds_in_the_whole_book_and_esc_goes_back(story, shift, keys, qtbot):
    """Ctrl+F, a word, Enter; then Esc shows the timeline again."""
    keys.chord(Qt.Key.Key_F, CTRL)
    keys.enter("interlock")
    assert any("Level interlock" in text for text in shift.timeline.line_texts())
    assert shift.search._head.text() == "Found 1"
    keys.press(Qt.Key.Key_Escape)
    assert shift.search._head.text() == "Timeline"


def test_a_search_day_that_is_none_is_told(shift, keys):
    """The sentence says how a day is typed; the list stays."""
    keys.chord(Qt.Key.Key_F, CTRL)
    shift.search.since.setFocus()
    keys.enter("yesterday")
    assert shift.message.text == '"yesterday" is no day; type it as 2026-03-01.'


def test_the_shift_before_is_shown_as_it_ended(shift, keys):
    """Alt+Left goes back, Alt+Right comes forward, never past the running shift."""
    running = shift.bar.text
    keys.chord(Qt.Key.Key_Left, ALT)
    assert "ended" in shift.bar.text
    keys.chord(Qt.Key.Key_Right, ALT)
    assert shift.bar.text == running
    keys.chord(Qt.Key.Key_Right, ALT)
    assert shift.message.text == "It is the running shift."


def test_f5_goes_around_the_parts(shift, keys):
    """Picture, timeline, what is open, and back."""
    seen = []
    for _ in range(4):
        seen.append(next(k for k, part in enumerate(shift.parts) if part.hasFocus()))
        keys.press(Qt.Key.Key_F5)
    assert seen == [0, 1, 2, 0]


def test_an_entry_is_corrected_with_why_and_both_texts_stand_together(
    shift, book, keys, in_dialog, values, settled
):
    """The writer opens the entry in the timeline, corrects it; old and new are both told."""
    in_dialog(lambda dialog: fill(dialog, keys, "Seal 3 leaks"))
    QTest.keyClick(shift.window(), Qt.Key.Key_E, CTRL)
    span = values.round_at, book.now() + timedelta(seconds=1)
    entry = book.entries(*span)[-1]

    def correct(form):
        form.text.selectAll()
        keys.type("Seal 4 leaks")
        keys.press(Qt.Key.Key_Tab)
        keys.type("wrong seal named")
        keys.chord(Qt.Key.Key_Return, CTRL)

    def act(dialog):
        in_dialog(correct)
        keys.press(Qt.Key.Key_Return)

    in_dialog(act)
    shift.open_source(entry)
    settled()
    assert [e.text for e in book.entries(*span)] == ["Seal 4 leaks"]
    line = next(t for t in shift.timeline.line_texts() if "Seal 4 leaks" in t)
    assert "was: Seal 3 leaks" in line
    assert "why: wrong seal named" in line


@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
def test_the_screen_is_painted_in_both_palettes(story, shift, window, theme):
    """An action bar is painted in the palette's own colour for action."""
    window.show_theme(theme)
    image = shift.lanes.viewport().grab().toImage()
    wanted = theme.colour("action_fill").rgb()
    found = sum(
        image.pixel(x, y) == wanted
        for x in range(0, image.width(), 2)
        for y in range(0, image.height(), 2)
    )
    assert found > 100


def test_a_machine_down_is_a_block_and_comes_back_from_there(
    shift, window, book, keys, in_dialog, settled
):
    """A block stands in its lane; its dialog writes when it is back and why."""
    machine = next(e for e in book.plant_at(book.now()).equipment if e.area == "flaking")
    window.round.desk.write_status(
        "rushlight", "equipment", machine.key, "down", book.now() - timedelta(minutes=5), "bearing"
    )
    shift.reload()
    settled()
    block = next(m for m in shift.lanes._picture.matters if m.kind is MatterKind.DOWN)
    assert block.is_open
    assert "bearing" in block.words

    def back(form):
        assert isinstance(form.findChild(QComboBox), QComboBox)
        keys.press(Qt.Key.Key_Tab, Qt.Key.Key_Tab)
        keys.enter("bearing changed")

    def act(dialog):
        in_dialog(back)
        keys.press(Qt.Key.Key_Return)

    in_dialog(act)
    shift.open_source(block.source)
    assert book.down_intervals(book.now(), book.now() + timedelta(seconds=1)) == []


def test_results_of_a_sample_are_entered_later_and_it_waits_no_longer(
    shift, book, keys, in_dialog, settled
):
    """An implausible result is asked about once; written, it names its sample and its time."""
    name = next(p.sampling_point for p in book.plant_at(book.now()).points if p.sampling_point)
    taken = book.now() - timedelta(hours=1)
    book.write("rushlight", [NewSample(taken, name, "S-1")], kind="event")
    shift.reload()
    settled()
    waiting = next(w for w in samples_waiting(book, shift.desk.plant, book.now()))
    point = waiting.points[0]
    faults: list[str] = []

    def results(form):
        keys.type("99999")
        keys.chord(Qt.Key.Key_Return, CTRL)
        faults.append(form._fault.text())
        QApplication.focusWidget().selectAll()
        keys.type("12")
        keys.chord(Qt.Key.Key_Return, CTRL)
        if form.isVisible():
            keys.chord(Qt.Key.Key_Return, CTRL)

    def act(dialog):
        in_dialog(results)
        keys.press(Qt.Key.Key_Return)

    in_dialog(act)
    shift.open_source(waiting)
    assert faults[0].startswith(point.name)
    found = book.results_of(waiting.sample.id)
    assert [(r.point, r.value, r.taken_at) for r in found] == [(point.key, 12.0, taken)]
    assert samples_waiting(book, shift.desk.plant, book.now()) == ()
