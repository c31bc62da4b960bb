from __future__ import annotations

import csv

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from logbook.report.trend_pages import PAGES
from logbook.ui.theme import DARK_THEME
from logbook.ui.trend.screen import TrendScreen

ALT, CTRL = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def trend(window, settled, template_plant) -> TrendScreen:
    """The Trend screen with three points of the flaking mills."""
    made = window.show_screen("trend")
    points = [p for p in template_plant.points if "flak" in p.area and p.unit == "mm"][:3]
    made.add_all([point.key for point in points])
    settled()
    made.chart.setFocus()
    return made


@pytest.fixture
def drawn(qtbot, settled):
    """Wait until the page shown is drawn."""

    def wait(trend) -> None:
        with qtbot.waitSignal(trend.closer.drawn, timeout=20000):
            pass
        settled()

    return wait


@pytest.mark.parametrize(("number", "page"), list(enumerate((key for key, _ in PAGES), 2)))
def test_every_page_is_drawn_and_told_by_key(trend, keys, drawn, number, page):
    """Alt and a digit: a picture as large as its room, and words below."""
    keys.chord(Qt.Key(Qt.Key.Key_0 + number), ALT)
    drawn(trend)
    assert trend.page == page
    assert trend.closer.picture.hasFocus()
    assert abs(trend.closer.picture.shown.width() - trend.closer.picture.width()) < 3
    assert trend.closer.told.text()
    assert trend.closer.picture.accessibleDescription() == trend.closer.told.text()


def test_keys_move_the_stretch_on_a_page_as_on_the_chart(trend, keys, drawn):
    """A digit on a page: another length, drawn anew."""
    keys.chord(Qt.Key.Key_3, ALT)
    drawn(trend)
    before = trend.closer.told.text()
    keys.type("1")
    drawn(trend)
    assert trend.chart.span.length == pytest.approx(12 * 3600)
    assert trend.closer.told.text() != before


def test_a_typed_period_is_the_other_one_on_the_page_of_periods(trend, keys, drawn):
    """The stretch shown stays; what is typed is compared with it."""
    trend.show_page("periods")
    drawn(trend)
    span = trend.chart.span
    keys.chord(Qt.Key.Key_G, CTRL)
    keys.enter("2026-03-02")
    drawn(trend)
    assert trend.chart.span == span
    assert trend.other[1] - trend.other[0] == 24 * 3600


def test_one_point_alone_is_told_so_where_two_are_needed(trend, keys, drawn, settled):
    """Words, not an empty page."""
    trend.show_points(trend.keys[:1])
    settled()
    trend.show_page("pair")
    drawn(trend)
    assert "second point" in trend.closer.told.text()
    assert trend.closer.picture.shown.isNull()


def test_a_page_follows_the_palette(trend, drawn):
    """Drawn again in dark."""
    trend.show_page("shape")
    drawn(trend)
    light = trend.closer.picture.shown.toImage().pixelColor(1, 1)
    trend.set_theme(DARK_THEME)
    drawn(trend)
    assert trend.closer.picture.shown.toImage().pixelColor(1, 1) != light


@pytest.mark.parametrize(
    ("name", "head"),
    [("a.png", b"\x89PNG"), ("a.pdf", b"%PDF"), ("a.csv", b"\xef\xbb\xbftaken_at")],
)
def test_what_is_shown_is_saved_as_what_the_name_says(trend, settled, tmp_path, name, head):
    """Picture, page or data."""
    trend.save_to(tmp_path / name)
    settled()
    assert (tmp_path / name).read_bytes().startswith(head)
    assert name in trend.message.text


def test_the_data_are_those_of_the_stretch(trend, settled, tmp_path):
    """A day of three points, and every reading of it."""
    QTest.keyClick(trend.chart, Qt.Key.Key_2)
    trend.save_to(tmp_path / "a.csv")
    settled()
    text = (tmp_path / "a.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(text.splitlines()))
    assert {row["point"] for row in rows} == set(trend.keys)
    inside = [
        track.inside(trend.chart.span.start, trend.chart.span.end) for track in trend.study.tracks
    ]
    assert len(rows) == sum(after - first for first, after in inside)


def test_a_closer_look_is_saved_with_its_words(trend, drawn, settled, tmp_path):
    """The PDF of a page holds what the page says."""
    import pypdfium2

    trend.show_page("shape")
    drawn(trend)
    trend.save_to(tmp_path / "a.pdf")
    settled()
    document = pypdfium2.PdfDocument(tmp_path / "a.pdf")
    text = document[0].get_textpage().get_text_range()
    document.close()
    words = " ".join(text.split())
    assert "readings: mean" in words
    assert trend.study.plant.name in words


def test_a_file_that_cannot_be_written_is_told(trend, settled, tmp_path):
    """One sentence, and nothing half written."""
    trend.save_to(tmp_path / "none" / "a.png")
    settled()
    assert "does not exist" in trend.message.text


def test_ctrl_s_asks_where_to_and_saves(trend, keys, settled, tmp_path, monkeypatch):
    """The kind chosen gives the ending that was not typed."""
    asked = tmp_path / "here"
    answer = (str(asked), "Data (*.csv)")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: answer)
    keys.chord(Qt.Key.Key_S, CTRL)
    settled()
    assert (tmp_path / "here.csv").exists()


def test_the_marks_of_a_long_stretch_stay_while_moving(trend, settled):
    """What happened is asked for anew only beyond what is known."""
    QTest.qWait(200)
    settled()
    around = trend.chart.around
    assert around is not None
    QTest.keyClick(trend.chart, Qt.Key.Key_2)
    QTest.qWait(200)
    settled()
    assert trend.chart.around is around
