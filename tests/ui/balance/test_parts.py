"""Tests of the parts of the Balance screen, each in a real window."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from logbook.report.flow_layout import picture_of
from logbook.shift.what_if import Outcome, Section, TryField, TryLine
from logbook.ui.balance.compare_view import CompareView, group_words
from logbook.ui.balance.figures import AccountModel, rows_of
from logbook.ui.balance.flow_view import FlowView
from logbook.ui.balance.meters import MeterModel
from logbook.ui.balance.pages import AccountsPage, FlowPage, MetersPage, TrendsPage
from logbook.ui.balance.trend_chart import TrendChart
from logbook.ui.balance.what_if_page import WhatIfPage
from logbook.ui.theme import DARK_THEME, LIGHT_THEME


@pytest.fixture
def put(qtbot):
    """Show a widget at the size of a control-room screen."""

    def show(widget):
        qtbot.addWidget(widget)
        widget.resize(1240, 460)
        widget.show()
        qtbot.waitExposed(widget)
        return widget

    return show


def test_arrows_go_along_the_streams_and_enter_opens(put, qtbot, shown):
    """Left and Right in the order of the process, to the ends and not beyond."""
    view = put(FlowView(LIGHT_THEME))
    view.show_picture(picture_of(shown.flows[0]))
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Home)
    assert view.current == "beans"
    QTest.keyClick(view, Qt.Key.Key_Left)
    assert view.current == "beans"
    QTest.keyClick(view, Qt.Key.Key_Right)
    assert view.current == "flakes"
    assert view.accessibleDescription() == "Flakes."
    with qtbot.waitSignal(view.opened) as opened:
        QTest.keyClick(view, Qt.Key.Key_Return)
    assert opened.args == ["flakes"]
    QTest.keyClick(view, Qt.Key.Key_End)
    assert view.current == "rest"


def test_a_click_on_a_band_chooses_its_stream(put, shown):
    """The middle of the band from the preparation to the extractor."""
    view = put(FlowView(LIGHT_THEME))
    view.show_picture(picture_of(shown.flows[0]))
    band = next(b for b in view.layout_shown.bands if b.stream.key == "flakes")
    x, y = band.trace()[8]
    QTest.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(round(x), round(y)))
    assert view.current == "flakes"


def test_a_small_window_scrolls_to_the_chosen_stream(put, shown):
    """Nothing is squeezed; what is chosen comes into view."""
    view = put(FlowView(LIGHT_THEME))
    view.resize(400, 240)
    view.show_picture(picture_of(shown.flows[0]))
    view.choose("rest")
    assert view.horizontalScrollBar().value() > 0


def test_the_suspect_stream_is_hatched_in_both_palettes(put, shown):
    """The colour of action shows where the suspect stream enters, and nowhere without one."""
    view = put(FlowView(LIGHT_THEME))
    for theme in (LIGHT_THEME, DARK_THEME):
        view.set_theme(theme)
        wanted = theme.colour("action_fill").rgb()
        view.show_picture(picture_of(shown.flows[0]))
        assert wanted in colours_of(view)
    view.show_picture(picture_of(shown.flows[1].__class__("m", "M", "t", *plain(shown))))
    assert wanted not in colours_of(view)


def plain(shown):
    """The steps and the one stream that is in no doubt."""
    flow = shown.flows[0]
    return flow.steps, (flow.streams[1],)


def colours_of(view):
    """Every colour in the picture."""
    image = view.viewport().grab().toImage()
    return {image.pixel(x, y) for x in range(image.width()) for y in range(0, image.height(), 2)}


def test_which_picture_is_shown_stays_with_another_period(put, shown):
    """The oil is still shown when the next month comes."""
    page = put(FlowPage(LIGHT_THEME))
    page.show_view(shown)
    oil = next(b for b in page.findChildren(type(page._which.button(0))) if b.text() == "Oil")
    oil.click()
    page.show_view(shown)
    assert page._which.checkedButton().text() == "Oil"
    assert page.verdict.text() == "Crushed 72 300 t."
    assert page.told.text()


def test_the_table_of_accounts_is_a_proper_model(qapp, qtmodeltester, shown):
    """Qt's own checks of a table model hold."""
    model = AccountModel(LIGHT_THEME)
    model.show_rows(rows_of(shown.accounts))
    qtmodeltester.check(model, force_py=True)


def test_a_chosen_figure_tells_how_it_came_about(put, shown):
    """Down to a figure: its inputs and formula; to a missing one: what is missing."""
    page = put(AccountsPage(LIGHT_THEME))
    page.show_view(shown)
    page.table.setFocus()
    QTest.keyClick(page.table, Qt.Key.Key_Down)
    assert page.name.text() == "Beans crushed"
    assert page.value.text() == "72 300 ± 300 t"
    assert page.words.text() == "From bean_total. Formula: counter difference."
    assert not page.caution.isVisible()
    QTest.keyClick(page.table, Qt.Key.Key_Down)
    assert page.name.text() == "Oil account"
    QTest.keyClick(page.table, Qt.Key.Key_Down)
    assert page.value.text() == "not known t"
    assert page.words.text() == "Missing: hull_oil."
    assert page.caution.text() == "No legal figure."


def test_the_table_of_meters_is_a_proper_model(qapp, qtmodeltester, shown):
    """Qt's own checks of a table model hold."""
    model = MeterModel(LIGHT_THEME)
    model.show_lines(shown.meters)
    qtmodeltester.check(model, force_py=True)


def test_the_suspect_meter_is_chosen_first_and_named_by_word_and_shape(put, shown):
    """Colour is not needed to see which meter is meant."""
    page = put(MetersPage(LIGHT_THEME))
    page.show_view(shown)
    assert page.told.text() == "They do not agree."
    assert page.words.text() == "It shows too little."
    row = page.table.currentIndex().row()
    last = page.table.model().columnCount() - 1
    assert page.table.model().index(row, last).data() == "◆ suspect"


def test_the_cursor_goes_from_day_to_day_and_tells_each(put, trend):
    """An unknown day is told as such, a day in doubt too."""
    page = put(TrendsPage(LIGHT_THEME))
    page.show_lines([trend])
    page.chart.setFocus()
    assert page.told.text() == "10 May 2026 · Oil yield 19.0 % (18.5 to 19.5)"
    for key in (Qt.Key.Key_Left,) * 3:
        QTest.keyClick(page.chart, key)
    assert "a meter in doubt" in page.told.text()
    QTest.keyClick(page.chart, Qt.Key.Key_Left)
    QTest.keyClick(page.chart, Qt.Key.Key_Left)
    assert page.told.text() == "5 May 2026 · Oil yield not known"
    QTest.keyClick(page.chart, Qt.Key.Key_Home)
    assert page.told.text().startswith("1 May 2026")


def test_a_click_puts_the_cursor_on_the_nearest_day(put, trend):
    """At the left end of the chart stands the first day."""
    chart = put(TrendChart(LIGHT_THEME))
    chart.show_lines([trend])
    QTest.mouseClick(chart, Qt.MouseButton.LeftButton, pos=QPoint(70, 100))
    assert chart.at == 0


def test_a_chart_without_days_says_so(put, trend):
    """A span without a single day is no fault."""
    page = put(TrendsPage(LIGHT_THEME))
    page.show_lines([])
    page.chart.grab()
    assert page.told.text() == "No day of this span can be told."


def test_a_crew_with_too_little_data_has_no_dot(put, comparison):
    """What cannot be told is said in words."""
    view = put(CompareView(LIGHT_THEME))
    view.show_comparisons([comparison])
    view.grab()
    assert group_words(comparison, comparison.groups[-1]) == "too little to tell"
    assert group_words(comparison, comparison.groups[0]) == "18.90 ± 0.20  of 40"
    assert "No difference can be told." in view.accessibleDescription()


def test_a_changed_field_is_worked_out_and_put_back(put, qtbot):
    """Typing asks for new results after a moment; one button puts the period's figures back."""
    section = Section(
        "extractor", "Extractor", (TryField("ratio", "Ratio", "kg/kg", 1.0004, 3, 0.1, 5.0),), "why"
    )
    page = put(WhatIfPage())
    page.show_sections([section, Section("dryer", "Dryer", (), "This period lacks it.")])
    # Left alone, the field means the period's own value, not the rounded one.
    with qtbot.waitSignal(page.wanted) as asked:
        page.work_out_all()
    assert asked.args == ["extractor", {"ratio": 1.0004}]
    with qtbot.waitSignal(page.wanted) as asked:
        page.boxes["extractor"].spins["ratio"].setValue(1.5)
    assert asked.args == ["extractor", {"ratio": 1.5}]
    page.show_outcome("extractor", Outcome((TryLine("Miscella", "t/h", "2", "3", "+1"),), "so"))
    assert page.boxes["extractor"].results()[1] == ["Miscella", "2", "3", "+1", "t/h"]
    with qtbot.waitSignal(page.wanted) as asked:
        page.boxes["extractor"].reset()
    assert asked.args == ["extractor", {"ratio": 1.0004}]


def test_what_cannot_be_is_shown_and_the_last_results_stay(put):
    """The fault stands below; nothing is made up."""
    field = TryField("ratio", "Ratio", "kg/kg", 1.2, 3, 0.1, 5.0)
    page = put(WhatIfPage())
    page.show_sections([Section("extractor", "Extractor", (field,), "")])
    page.show_outcome("extractor", Outcome((TryLine("Miscella", "t/h", "2", "2", "0"),)))
    page.show_outcome("extractor", Outcome(fault="The extractor cannot run like this."))
    page.show_outcome("gone", Outcome(fault="A section that is no longer there."))
    box = page.boxes["extractor"]
    assert box.results()[1][0] == "Miscella"
    assert box._fault.text() == "The extractor cannot run like this."
