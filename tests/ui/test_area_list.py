"""The list of areas: its model, what it says, and what it paints."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QSignalSpy

from logbook.shift.round_form import AreaProgress
from logbook.ui.round.area_list import AreaLine, AreaList, AreaModel, progress_words
from logbook.ui.theme import DARK_THEME, LIGHT_THEME

FRESH = AreaProgress(
    due=12, done=0, missing=0, warnings=0, actions=0, unsettled=0, unanswered=0, down=""
)
LINES = (
    AreaLine("receiving", "Receiving", FRESH),
    AreaLine("cracking", "Cracking", replace(FRESH, done=12)),
    AreaLine("flaking", "Flaking", replace(FRESH, done=5, warnings=2, actions=1)),
)


@pytest.fixture
def model(qapp) -> AreaModel:
    """A model of three areas."""
    made = AreaModel()
    made.show_lines(LINES)
    return made


@pytest.fixture
def listed(qtbot) -> AreaList:
    """The list widget with three areas, shown."""
    made = AreaList(LIGHT_THEME)
    qtbot.addWidget(made)
    made.areas.show_lines(LINES)
    made.resize(264, 200)
    made.show()
    return made


def with_progress(row, **changes) -> tuple[AreaLine, ...]:
    """The three areas with another progress in one of them."""
    lines = list(LINES)
    lines[row] = replace(lines[row], progress=replace(lines[row].progress, **changes))
    return tuple(lines)


def test_the_model_keeps_qt_s_contract(model, qtmodeltester):
    """Qt's own checks of a model pass, empty and filled, over a change and a reset."""
    qtmodeltester.check(model)
    model.show_lines(with_progress(1, done=3))
    model.show_lines(LINES[:2])
    model.show_lines(())
    qtmodeltester.check(AreaModel())


def test_an_area_has_no_rows_below_it(model):
    """A valid parent has no rows; the root has one for each area."""
    assert model.rowCount(QModelIndex()) == 3
    assert model.rowCount(model.index(0, 0)) == 0


def test_only_changed_rows_are_repainted(model):
    """One area moves on: dataChanged names its row alone, and nothing is reset."""
    changed, reset = QSignalSpy(model.dataChanged), QSignalSpy(model.modelReset)
    model.show_lines(with_progress(2, done=6))
    assert [(args[0].row(), args[1].row()) for args in spied(changed)] == [(2, 2)]
    assert reset.count() == 0
    assert model.data(model.index(2, 0), Qt.ItemDataRole.ToolTipRole).startswith("Flaking: 6 of 12")


def test_the_same_again_repaints_nothing(model):
    """Equal lines, even newly made, send no signal."""
    changed = QSignalSpy(model.dataChanged)
    model.show_lines(with_progress(0, done=0))
    assert changed.count() == 0


def test_other_areas_reset_the_model(model):
    """A revised plant with other areas is a new list."""
    changed, reset = QSignalSpy(model.dataChanged), QSignalSpy(model.modelReset)
    model.show_lines(LINES[::-1])
    assert (changed.count(), reset.count()) == (0, 1)
    assert [model.key_at(row) for row in range(3)] == ["flaking", "cracking", "receiving"]


def spied(spy) -> list:
    """The arguments of each signal a spy has seen."""
    return [spy.at(k) for k in range(spy.count())]


def test_rows_and_keys_find_one_another(model):
    """Unknown keys and rows outside the list are told apart from real ones."""
    assert [model.row_of(line.key) for line in LINES] == [0, 1, 2]
    assert model.row_of("nowhere") == -1
    assert (model.key_at(-1), model.key_at(3)) == ("", "")
    assert model.data(QModelIndex()) is None
    assert model.data(model.index(0, 0), Qt.ItemDataRole.FontRole) is None


@pytest.mark.parametrize(
    ("progress", "words"),
    [
        (FRESH, "0 of 12 done"),
        (replace(FRESH, done=5, actions=1, warnings=2), "5 of 12 done, 1 action, 2 warnings"),
        (
            replace(FRESH, done=12, missing=3, unsettled=1, unanswered=1),
            "12 of 12 done, 3 not taken, 1 unsettled, 1 without response",
        ),
        (replace(FRESH, due=0, down="area down"), "area down"),
    ],
)
def test_an_area_s_state_is_told_in_words(progress, words):
    """What the marks show is said to a screen reader and in the tool tip; zeros are left out."""
    assert progress_words(progress) == words


def test_the_selection_stays_when_progress_changes(listed):
    """The person's area stays selected while counts change under it."""
    listed.choose("cracking")
    listed.areas.show_lines(with_progress(0, done=7))
    assert listed.areas.key_at(listed.currentIndex().row()) == "cracking"
    listed.choose("nowhere")
    assert listed.areas.key_at(listed.currentIndex().row()) == "cracking"


def row_picture(listed, row, changed=LINES):
    """One row's pixels with these lines."""
    listed.areas.show_lines(changed)
    return listed.viewport().grab(listed.visualRect(listed.areas.index(row, 0))).toImage()


@pytest.mark.parametrize(
    "changes", [{"done": 6}, {"actions": 1}, {"warnings": 3}, {"down": "area down"}, {"done": 12}]
)
def test_each_state_has_a_picture_of_its_own(listed, changes):
    """Progress, warnings, actions and a stop can be seen, and not only read."""
    plain = row_picture(listed, 0)
    assert row_picture(listed, 0, with_progress(0, **changes)) != plain
    assert row_picture(listed, 0) == plain


def test_a_warning_count_is_no_action_count(listed):
    """One of each looks different in grey."""
    grey = QImage.Format.Format_Grayscale8
    pictures = [
        row_picture(listed, 0, with_progress(0, **{kind: 1})).convertToFormat(grey)
        for kind in ("warnings", "actions")
    ]
    assert pictures[0] != pictures[1]


def test_the_list_follows_the_palette(listed):
    """A dark list has dark rows."""
    light = row_picture(listed, 0)
    listed.set_theme(DARK_THEME)
    assert row_picture(listed, 0) != light


def test_an_empty_area_paints(listed):
    """An area without anything due shows a dash and no bar of progress."""
    empty = with_progress(0, due=0)
    full = with_progress(0, due=0, done=0, down="not in shut-down")
    assert row_picture(listed, 0, empty) != row_picture(listed, 0, full)
