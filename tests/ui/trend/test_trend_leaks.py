from __future__ import annotations

import gc
import weakref

from PySide6.QtCore import QEvent, Qt

from logbook.record import open_book
from logbook.ui.theme import LIGHT_THEME
from logbook.ui.window import LogbookWindow


def test_a_trend_that_was_used_dies_with_its_window(
    book_path, clock, values, qtbot, qapp, settled, template_plant
):
    """Chart, picker and pages are gone once the window is closed."""
    clock.set(values.round_at)
    points = [p.key for p in template_plant.points if p.unit == "mm"][:2]
    gone = []
    for _ in range(3):
        book = open_book(book_path, clock=clock)
        window = LogbookWindow(book, LIGHT_THEME)
        window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        window.show()
        qtbot.waitUntil(lambda w=window: w.round.is_drawn)
        trend = window.show_screen("trend")
        trend.add_all(points)
        settled()
        trend.show_page("shape")
        with qtbot.waitSignal(trend.closer.drawn, timeout=20000):
            pass
        settled()
        parts = (trend, trend.chart, trend.bar.picker, trend.closer)
        gone += [weakref.ref(part) for part in parts]
        window.close()
        del window, trend, parts, book
    for _ in range(3):
        qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        qapp.processEvents()
        gc.collect()
    assert [reference() for reference in gone if reference() is not None] == []
