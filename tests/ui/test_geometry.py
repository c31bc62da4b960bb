"""Where things stand on the form, at every width a window can have."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRect
from PySide6.QtGui import QFontMetrics

from logbook.assess.choices import choices_of
from logbook.plant.file import read_plant
from logbook.plant.model import Header, PointKind, PointTable
from logbook.plant.templates import template_names, template_path
from logbook.shift.words import answer_text, number_text
from logbook.ui.round.geometry import GAP, MARGIN, Part, place, row_cell, row_head
from logbook.ui.round.paint import response_field, words_room
from logbook.ui.round.sections import Section, sections_of
from logbook.ui.theme import font

BESIDE = 264 + 12
"""Pixels of the window's width that the list of areas and a scroll bar take."""
WIDTHS = [window - BESIDE for window in (1024, 1100, 1280, 1366, 1440, 1600, 1920, 2560)]
PARTS = ("name", "last", "entry", "change", "mark", "spark", "words")


def nobody(_key) -> bool:
    """No field has a strip under it."""
    return False


def everybody(_key) -> bool:
    """All fields have a strip under them."""
    return True


@pytest.fixture(scope="module", params=template_names())
def plant(request):
    """Each shipped template."""
    return read_plant(template_path(request.param))


def words_in(plant):
    """Tells the room that the words of a field want."""
    return lambda key: words_room(plant.point(key))


def boxes_of(cell) -> dict[str, QRect]:
    """The boxes of a field that have an area."""
    found = {name: getattr(cell, name) for name in PARTS}
    return {name: box for name, box in found.items() if not box.isEmpty()}


def check(placed, width) -> None:
    """Nothing overlaps, nothing lies outside, every field is wide enough to type in."""
    tops = [block.box for block in placed.blocks]
    assert all(a.bottom() < b.top() for a, b in pairwise(tops)), "strips overlap"
    assert tops[-1].bottom() < placed.height
    for block in placed.blocks:
        assert block.box.left() == 0
        assert block.box.width() == width
        for one, other in combinations(block.cells, 2):
            assert not one.box.intersects(other.box), (one.key, other.key)
        for cell in block.cells:
            assert block.box.contains(cell.box), cell.key
            boxes = boxes_of(cell)
            assert {"entry", "mark"} <= boxes.keys(), cell.key
            assert ("spark" in boxes) is not cell.is_wide, cell.key
            for name, box in boxes.items():
                assert cell.box.contains(box), (cell.key, name, width)
            for one, other in combinations(boxes, 2):
                assert not boxes[one].intersects(boxes[other]), (cell.key, one, other, width)


@pytest.mark.parametrize("width", WIDTHS)
def test_no_two_things_overlap_in_any_area_of_the_templates(plant, width):
    """From a window of 1024 pixels to one of 2560, with and without strips under the fields."""
    for area in plant.areas:
        sections = sections_of(plant, area.key)
        for wants in (nobody, everybody):
            check(place(sections, width, wants, wants, words_in(plant)), width)


@given(st.integers(1024, 2560), st.integers(1, 6), st.integers(1, 24), st.integers(1, 60))
def test_no_two_things_overlap_in_any_table(window, columns, rows, letters):
    """Tables of one to six columns, with machine names of any length, at any width."""
    heads = tuple(Header(f"r{k}", "M" * letters) for k in range(rows))
    table = PointTable("t", "T", "a", heads, tuple(Header(f"c{k}", "C") for k in range(columns)))
    grid = tuple(tuple(f"{r}.{c}" for c in range(columns)) for r in range(rows))
    single = Section(None, (("one",), ("two",)))
    width = window - BESIDE
    check(place((single, Section(table, grid), single), width, nobody, everybody), width)


@given(st.integers(1024 - BESIDE, 2560 - BESIDE))
def test_a_row_uses_its_width_and_keeps_room_for_words(width):
    """Words of the judgement have at least 100 pixels and end at the margin."""
    cell = row_cell("k", QRect(0, 0, width, 32))
    assert cell.words.width() >= 100
    assert width - 2 * MARGIN <= cell.words.right() <= width - MARGIN
    assert cell.spark.width() >= 60


def test_the_sparkline_grows_with_the_window():
    """A wider window gives the history more pixels, never fewer."""
    widths = [row_cell("k", QRect(0, 0, w, 32)).spark.width() for w in range(748, 2300)]
    assert widths == sorted(widths)
    assert widths[-1] > 3 * widths[0]


@pytest.mark.parametrize("width", WIDTHS)
def test_the_widest_plausible_number_fits_its_field(plant, width, qapp):
    """What can be typed without a question is painted whole, beside the room for decimals."""
    metrics = QFontMetrics(font("field", medium=True))
    digit = metrics.horizontalAdvance("0")
    for area in plant.areas:
        sections = sections_of(plant, area.key)
        cells = place(sections, width, nobody, nobody).cells
        most = {
            key: max(plant.point(k).decimals for k in keys if plant.point(k).kind.is_numeric)
            for section in sections
            for keys in columns_of(section, plant)
            for key in keys
        }
        for key, cell in cells.items():
            point = plant.point(key)
            if not point.kind.is_numeric or not point.kind.is_typed:
                continue
            limits = point.limits
            edges = [e for e in (limits.plausible_low, limits.plausible_high) if e is not None]
            widest = max(
                (metrics.horizontalAdvance(number_text(point, e)) for e in edges), default=0
            )
            room = cell.entry.width() - 12 - (most[key] - point.decimals) * digit
            assert widest <= room, (key, width, widest, room)


@pytest.mark.parametrize("width", WIDTHS)
def test_every_answer_fits_its_field(plant, width, qapp):
    """No answer of a state or check point is cut, in rows and in tables."""
    metrics = QFontMetrics(font("field", medium=True))
    for area in plant.areas:
        sections = sections_of(plant, area.key)
        for key, cell in place(sections, width, nobody, nobody, words_in(plant)).cells.items():
            point = plant.point(key)
            for choice in choices_of(point):
                text = answer_text(point, None, choice.key)
                assert metrics.horizontalAdvance(text) <= cell.entry.width() - 16, (key, text)


def columns_of(section, plant) -> list[list[str]]:
    """Numeric keys of each column of a section."""
    found = []
    for column in range(section.width):
        keys = [row[column] for row in section.grid if column < len(row)]
        found.append([k for k in keys if k is not None and plant.point(k).kind.is_numeric])
    return [keys for keys in found if keys]


def test_strips_stand_under_the_row_of_their_field(plant):
    """A question and a response line follow the row that they belong to, the question first."""
    area = plant.areas[0].key
    sections = sections_of(plant, area)
    typed = next(p for p in plant.points_of(area) if p.kind is PointKind.NUMBER).key
    placed = place(sections, 1000, typed.__eq__, typed.__eq__)
    question = placed.extras[Part.QUESTION, typed]
    response = placed.extras[Part.RESPONSE, typed]
    assert placed.cells[typed].box.bottom() < question.top() < response.top()
    assert len(placed.extras) == 2
    without = place(sections, 1000, nobody, nobody)
    assert placed.height == without.height + question.height() + response.height()


def test_the_response_line_lies_in_its_strip():
    """At the narrowest window it is still a line to write a sentence in."""
    strip = QRect(0, 300, 1024 - BESIDE, 96)
    assert strip.contains(response_field(strip))
    assert response_field(strip).width() > 500


def test_an_area_without_points_is_an_empty_form():
    """No section: a gap and nothing else."""
    placed = place((), 800, nobody, nobody)
    assert (placed.blocks, placed.cells, placed.height) == ((), {}, GAP)


def test_names_of_machines_have_room_within_reason():
    """Short names leave the room to the fields, long ones are cut."""
    table = PointTable("t", "T", "a", (Header("r", "M" * 60),), (Header("c", "C"),))
    assert row_head(Section(table, (("k",),))) == 220
