"""A slow change is said beside the sparkline, a moment after the form is up."""

from datetime import timedelta

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from logbook.assess.judge import Direction
from logbook.record import NewReading, Page, create_book
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, apply_theme
from logbook.ui.window import LogbookWindow

DRIFTING, STEADY = "dt_vapour_temp", "flake_inlet_temp"
DAYS = 30


@pytest.fixture
def window(qtbot, qapp, template_plant, tmp_path, clock, values):
    """A book in which one temperature climbs for its last ten days, open at the next round."""
    limits = template_plant.point(DRIFTING).limits
    middle, top = limits.target, limits.warning_high
    steady = template_plant.point(STEADY).limits.target
    chance = np.random.default_rng(7)
    start = values.round_at - timedelta(days=DAYS)
    moment = [start]
    path = tmp_path / "drift.logbook"
    person = template_plant.people[0].key
    with create_book(
        path, template_plant, clock=lambda: moment[0], person=person, reason="begun"
    ) as book:

        def pages():
            for step in range(DAYS * 12):
                at = start + timedelta(hours=2 * step)
                climbed = max(0.0, step / 12.0 - (DAYS - 10)) / 10.0 * 0.8 * (top - middle)
                noise = 0.02 * (top - middle)
                rows = [
                    NewReading(key, at, value=round(value, 2), typed="x", round_at=at)
                    for key, value in (
                        (DRIFTING, middle + climbed + chance.normal(0.0, noise)),
                        (STEADY, steady + chance.normal(0.0, 0.3)),
                    )
                ]
                moment[0] = at + timedelta(minutes=20)
                yield Page(person, rows)

        book.write_many(pages())
    clock.set(values.round_at + timedelta(minutes=5))
    from logbook.record import open_book

    apply_theme(qapp, LIGHT_THEME)
    made = LogbookWindow(open_book(path, clock=clock, busy_seconds=0.3), LIGHT_THEME)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitUntil(lambda: made.round.is_drawn)
    made.round.drifts.look_now()
    qtbot.waitUntil(lambda: bool(made.round.drifts.found), timeout=20_000)
    return made


def test_the_point_that_climbs_is_said_and_the_steady_one_is_not(window):
    """In one short phrase, upwards, with what limit comes next."""
    found = window.round.drifts.found
    assert set(found) == {DRIFTING}
    assert found[DRIFTING].drift.direction is Direction.HIGH
    assert found[DRIFTING].phrase.startswith("rising")


def test_the_panel_says_since_when(window):
    """With the field in use, the line below tells the phrase and the day it began."""
    window.round.show_field(DRIFTING, window.round.form.taken_at)
    QApplication.processEvents()
    told = window.round.panel._means.text()
    assert told.startswith("Rising")


def test_the_mark_is_drawn_in_both_palettes(window):
    """The strip of the point looks other than without the drift."""
    round_screen = window.round
    round_screen.show_field(DRIFTING, round_screen.form.taken_at)
    for theme in (LIGHT_THEME, DARK_THEME):
        round_screen.set_theme(theme)
        with_drift = round_screen.sheet.viewport().grab().toImage()
        round_screen.sheet.show_drifts({})
        without = round_screen.sheet.viewport().grab().toImage()
        round_screen.sheet.show_drifts(round_screen.drifts.found)
        assert with_drift != without


def test_a_window_closed_while_looking_leaves_nothing_running(window):
    """The watch stops with the window."""
    window.round.drifts.look_now()
    window.close()
    assert not window.round.drifts._loads.is_busy
