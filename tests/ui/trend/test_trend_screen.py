from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from logbook.record import NewEntry, NewReading, NewStatus, corrected
from logbook.ui.theme import DARK_THEME
from logbook.ui.trend.screen import MOST, TrendScreen

HOUR = 3600.0
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
POINT = "flake_thickness_mill_3_left"


@pytest.fixture
def trend(window, settled) -> TrendScreen:
    """The Trend screen, shown, without points."""
    made = window.show_screen("trend")
    settled()
    return made


@pytest.fixture
def flakes(template_plant) -> list:
    """Three points of the flaking mills, of one unit."""
    found = [p for p in template_plant.points if "flak" in p.area and p.unit == "mm"]
    return found[:3]


@pytest.fixture
def with_points(trend, flakes, settled) -> TrendScreen:
    """The screen with two of them and a temperature, the keyboard on the chart."""
    other = next(p for p in trend.session.plant.points if p.unit == "°C" and p.kind.is_numeric)
    trend.add_all([flakes[0].key, flakes[1].key, other.key])
    settled()
    trend.chart.setFocus()
    return trend


def press(trend, key, mods=Qt.KeyboardModifier.NoModifier) -> None:
    """Press a key over the chart."""
    QTest.keyClick(trend.chart, key, mods)


def test_the_screen_asks_for_a_point_and_finds_it_by_typing(trend, keys, settled, flakes):
    """Words typed, Enter: the point is drawn; the line keeps the keyboard for the next one."""
    assert trend.bar.picker.hasFocus()
    keys.type("thick mill 1 left")
    assert trend.bar.picker.list.isVisible()
    keys.press(Qt.Key.Key_Return)
    settled()
    assert [track.key for track in trend.study.tracks] == [flakes[0].key]
    assert trend.study.tracks[0].times.size == 24
    assert trend.bar.picker.hasFocus()
    keys.press(Qt.Key.Key_Escape)
    assert trend.chart.hasFocus()


def test_enter_on_a_taken_point_drops_it_again(trend, keys, settled):
    """The same words and Enter take it away."""
    keys.enter("thick mill 1 left")
    settled()
    keys.press(Qt.Key.Key_Return)
    settled()
    assert trend.keys == ()


def test_ctrl_enter_takes_all_that_fit_as_far_as_there_is_room(trend, keys, settled):
    """More than fit are refused in words, not cut in silence."""
    keys.type("temperature")
    keys.chord(Qt.Key.Key_Return, CTRL)
    settled()
    assert len(trend.keys) == MOST
    trend.add_all([POINT])
    assert "drop one" in trend.message.text


def test_what_fits_nothing_is_said(trend, keys):
    """A word that no point has is not an empty list."""
    keys.type("zzzz")
    assert "no point fits" in trend.bar.picker.list.item(0).text()
    keys.press(Qt.Key.Key_Return)
    assert trend.keys == ()


def test_arrows_move_digits_choose_lengths_and_home_and_end_go_to_the_ends(with_points):
    """All of the stretch by keyboard."""
    chart = with_points.chart
    press(with_points, Qt.Key.Key_1)
    assert chart.span.length == pytest.approx(12 * HOUR)
    end = chart.span.end
    press(with_points, Qt.Key.Key_Left)
    assert chart.span.end == pytest.approx(end - 1.2 * HOUR)
    press(with_points, Qt.Key.Key_Home)
    assert chart.span.start <= with_points.study.start
    press(with_points, Qt.Key.Key_PageDown)
    assert chart.span.start > with_points.study.start
    press(with_points, Qt.Key.Key_End)
    assert chart.span.end >= with_points.study.end
    length = chart.span.length
    QTest.keyClicks(chart, "+")
    assert chart.span.length == pytest.approx(0.8 * length)
    QTest.keyClicks(chart, "-")
    assert chart.span.length == pytest.approx(length)
    press(with_points, Qt.Key.Key_0)
    assert chart.span.length > 40 * HOUR


def test_up_and_down_choose_a_point_and_delete_drops_it(with_points, settled):
    """The chosen one is named below with its limits."""
    chart = with_points.chart
    chart.choose(with_points.keys[0])
    press(with_points, Qt.Key.Key_Down)
    assert chart.chosen == with_points.keys[1]
    track = with_points.study.track(chart.chosen)
    assert track.name in with_points.limits.text()
    press(with_points, Qt.Key.Key_Delete)
    settled()
    assert len(with_points.keys) == 2


def test_shift_and_arrows_go_from_reading_to_reading(with_points):
    """The cursor stands on readings of the chosen point, one after the other."""
    chart = with_points.chart
    times = with_points.study.track(chart.chosen).times
    press(with_points, Qt.Key.Key_Left, SHIFT)
    assert chart.cursor_at == times[-1]
    press(with_points, Qt.Key.Key_Left, SHIFT)
    assert chart.cursor_at == times[-2]
    press(with_points, Qt.Key.Key_Right, SHIFT)
    assert chart.cursor_at == times[-1]
    assert with_points.chart.read_outs()[0].value in chart.told()


def test_n_and_p_go_to_readings_out_of_limits(with_points, book, clock, settled, template_plant):
    """What was out is found without looking for it."""
    point = template_plant.point(with_points.keys[0])
    out = point.limits.action_high + 0.2
    person = template_plant.people[0].key
    book.write(person, [NewReading(point.key, clock(), value=out, typed=f"{out}")], kind="round")
    with_points.refresh()
    settled()
    chart = with_points.chart
    chart.choose(point.key)
    chart.put_cursor(with_points.study.start)
    press(with_points, Qt.Key.Key_N)
    assert chart.cursor_at == int(clock().timestamp())
    assert "action high" in chart.told()
    press(with_points, Qt.Key.Key_P)
    assert chart.cursor_at == int(clock().timestamp())


def test_entries_corrections_and_stops_are_told_at_the_cursor(
    with_points, book, clock, settled, template_plant
):
    """Old and new value, the words of the log, and why the plant was down."""
    point, person = template_plant.point(with_points.keys[0]), template_plant.people[0].key
    at = clock() - timedelta(minutes=5)
    old = book.readings([point.key], at - timedelta(hours=3), at)[-1]
    book.write(person, [corrected(old, why="misread", value=0.31)], kind="correction")
    words = [NewEntry(old.taken_at, "Rolls changed.", area=point.area)]
    book.write(person, words, kind="entry")
    book.write(person, [NewStatus("plant", "", old.taken_at, "down", "belt torn")], kind="event")
    with_points.refresh()
    settled()
    QTest.qWait(200)  # what happened is looked up once the picture stands still
    settled()
    chart = with_points.chart
    chart.put_cursor(old.taken_at.timestamp())
    told = chart.told()
    assert f"corrected from {old.value:.2f} to 0.31" in told
    assert "Rolls changed." in told
    assert "belt torn" in told
    assert "more)" in with_points.happened.text()


def test_points_of_one_unit_share_an_axis_when_wanted(with_points, keys):
    """Ctrl+U: two panels instead of three."""
    assert len(with_points.chart.scene.panels) == 3
    keys.chord(Qt.Key.Key_U, CTRL)
    assert [len(panel.tracks) for panel in with_points.chart.scene.panels] == [2, 1]


def test_a_period_is_shown_as_typed_and_a_wrong_one_is_told(with_points, keys):
    """Ctrl+G, a day, Enter."""
    keys.chord(Qt.Key.Key_G, CTRL)
    keys.enter("2026-03-02")
    chart = with_points.chart
    assert chart.span.length == pytest.approx(24 * HOUR)
    assert chart.hasFocus()
    keys.chord(Qt.Key.Key_G, CTRL)
    keys.enter("soon")
    assert "names no period" in with_points.message.text


def test_dragging_moves_the_picture_and_the_wheel_zooms_at_the_pointer(with_points):
    """What is under the pointer stays under it."""
    chart = with_points.chart
    press(with_points, Qt.Key.Key_2)
    press(with_points, Qt.Key.Key_Left)
    room = chart.scene.panels[0].room
    middle = QPoint(int((room.left + room.right) / 2), int(room.top + 10))
    at = chart.scene.at(middle.x())
    QTest.mousePress(chart, Qt.MouseButton.LeftButton, pos=middle)
    QTest.mouseMove(chart, middle + QPoint(60, 0))
    QTest.mouseRelease(chart, Qt.MouseButton.LeftButton, pos=middle + QPoint(60, 0))
    assert chart.scene.x(at) == pytest.approx(middle.x() + 60, abs=2)
    length = chart.span.length
    place = QPointF(middle)
    under = chart.scene.at(place.x())
    turn = QWheelEvent(
        place, chart.mapToGlobal(place), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(chart, turn)
    assert chart.span.length == pytest.approx(0.8 * length)
    assert chart.scene.at(place.x()) == pytest.approx(under, abs=chart.span.length / 300)


def test_a_click_puts_the_cursor_and_chooses_the_panel(with_points):
    """The mouse does what the keys do."""
    chart = with_points.chart
    room = chart.scene.panels[2].room
    place = QPoint(int(room.left + 200), int(room.top + 20))
    QTest.mouseClick(chart, Qt.MouseButton.LeftButton, pos=place)
    assert chart.chosen == with_points.keys[2]
    assert chart.scene.x(chart.cursor_at) == pytest.approx(place.x(), abs=1)


def test_enter_opens_the_reading_on_the_round_screen(with_points, window, settled):
    """From a value to the field it was written in."""
    chart = with_points.chart
    chart.choose(with_points.keys[0])
    press(with_points, Qt.Key.Key_Left, SHIFT)
    press(with_points, Qt.Key.Key_Return)
    settled()
    assert window._stack.currentWidget() is window.round


def test_another_screen_opens_the_trend_of_a_point(window, trend, flakes, settled, clock):
    """The point is chosen and the cursor stands at the instant."""
    at = clock() - timedelta(hours=20)
    trend.trend_wanted.emit(flakes[2].key, at)
    settled()
    assert trend.keys == (flakes[2].key,)
    assert trend.chart.chosen == flakes[2].key
    assert trend.chart.cursor_at == at.timestamp()
    assert trend.chart.span.start <= at.timestamp() <= trend.chart.span.end


def test_what_is_written_meanwhile_is_read_on_coming_back(
    with_points, window, book, clock, settled
):
    """A reading written on another screen is on the picture."""
    key = with_points.keys[0]
    before = with_points.study.track(key).times.size
    window.show_screen("shift")
    settled()
    person = with_points.session.plant.people[0].key
    book.write(person, [NewReading(key, clock(), value=0.35)], kind="round")
    window.show_screen("trend")
    settled()
    assert with_points.study.track(key).times.size == before + 1


def test_both_palettes_are_painted(with_points, settled):
    """The chart is drawn in light and in dark, and the two differ."""
    light = with_points.chart.grab().toImage()
    with_points.set_theme(DARK_THEME)
    dark = with_points.chart.grab().toImage()
    assert light.pixelColor(2, 2) != dark.pixelColor(2, 2)
    assert light.size() == dark.size()


def test_a_point_never_read_is_shown_with_its_limits(trend, settled, template_plant):
    """An empty panel, and words instead of a value."""
    point = next(p for p in template_plant.points if p.kind.value == "lab")
    trend.show_points((point.key,))
    settled()
    assert trend.study.tracks[0].times.size == 0
    trend.chart.grab()
    assert "no reading" in trend.chart.told()
    for key in (Qt.Key.Key_N, Qt.Key.Key_0, Qt.Key.Key_Return, Qt.Key.Key_Home):
        press(trend, key)
    trend.chart.grab()


def test_a_single_reading_is_a_dot(trend, settled, book, clock, template_plant):
    """A history of one reading is drawn, read and moved over like any other."""
    point = next(p for p in template_plant.points if p.kind.value == "lab")
    person = template_plant.people[0].key
    book.write(person, [NewReading(point.key, clock(), value=1.0)], kind="lab")
    trend.show_points((point.key,))
    settled()
    trend.chart.grab()
    assert trend.chart.read_outs()[0].place == 0
    QTest.keyClicks(trend.chart, "+++")
    press(trend, Qt.Key.Key_0)
    trend.chart.grab()


def test_a_point_that_the_plant_no_longer_has_is_left_out(with_points, settled):
    """What is chosen are points of the plant as it now is."""
    with_points.show_points((*with_points.keys, "gone"))
    settled()
    assert "gone" not in with_points.keys
    assert len(with_points.study.tracks) == 3


def test_the_marks_are_explained(with_points):
    """Below, until something else is to be said."""
    assert "warning" in with_points.message.text
    assert "corrected" in with_points.message.text
