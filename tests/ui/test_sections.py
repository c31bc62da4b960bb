"""How points are arranged and how the keyboard walks over them."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.model import PointTable
from logbook.ui.round.sections import Section, Walk, sections_of

GRID = Section(
    PointTable("mills", "cracking", "Mills", (), ()),
    (("a1", "a2", None), ("b1", None, "b3"), (None, "c2", "c3")),
)
TOP = Section(None, (("t1",), ("t2",)))
END = Section(None, (("e1",),))
WALK = Walk((TOP, GRID, END))


def everything(_key) -> bool:
    """All fields are open."""
    return True


@st.composite
def walks(draw):
    """Sections of random grids with holes, each key once and at least one, and which are open."""
    sections, number = [], 0
    for _ in range(draw(st.integers(1, 4))):
        is_table = draw(st.booleans())
        rows, columns = draw(st.integers(1, 5)), draw(st.integers(1, 4)) if is_table else 1
        grid = []
        for _ in range(rows):
            row = []
            for _ in range(columns):
                there = not is_table or draw(st.booleans())
                row.append(f"k{number}" if there else None)
                number += 1
            grid.append(tuple(row))
        table = GRID.table if is_table else None
        sections.append(Section(table, tuple(grid)))
    walk = Walk((*sections, END))
    keys = [key for section in walk.sections for key in section.by_rows()]
    return walk, keys, frozenset(draw(st.sets(st.sampled_from(keys), min_size=1)))


def path(step, start, opens) -> list[str]:
    """All keys that one move reaches one after the other."""
    found = []
    key = start
    while (key := step(key, opens)) is not None:
        assert key not in found, "walks in a circle"
        found.append(key)
    return found


# -- the shipped plant --------------------------------------------------------------------


def test_every_point_of_an_area_stands_in_one_cell(template_plant):
    """Nothing is left out and nothing shown twice, in each area."""
    for area in template_plant.areas:
        wanted = sorted(point.key for point in template_plant.points_of(area.key))
        sections = sections_of(template_plant, area.key)
        assert sorted(k for s in sections for k in s.by_rows()) == wanted
        assert sorted(k for s in sections for k in s.by_columns()) == wanted


def test_single_points_stand_in_the_order_of_the_plant_file(template_plant):
    """Points without a table keep the order in which they were written down."""
    order = [point.key for point in template_plant.points]
    for area in template_plant.areas:
        for section in sections_of(template_plant, area.key):
            if section.table is None:
                places = [order.index(key) for key in section.by_rows()]
                assert places == sorted(places)
                assert section.width == 1


def test_a_table_has_its_points_where_the_plant_file_places_them(template_plant):
    """Row and column of each cell are those of the point's place; holes stay holes."""
    tables = [
        s for a in template_plant.areas for s in sections_of(template_plant, a.key) if s.table
    ]
    assert len(tables) == len(template_plant.tables)
    for section in tables:
        for row, cells in zip(section.table.rows, section.grid, strict=True):
            for column, key in zip(section.table.columns, cells, strict=True):
                if key is not None:
                    place = template_plant.point(key).place
                    assert (place.row, place.column) == (row.key, column.key)


# -- moves over a known grid --------------------------------------------------------------


def test_enter_goes_down_each_column_and_then_to_the_next():
    """The way of a person with one gauge, along all machines."""
    assert path(WALK.after, "t1", everything) == [
        *("t2", "a1", "b1", "a2", "c2", "b3", "c3", "e1"),
    ]


def test_tab_goes_in_reading_order():
    """Left to right, then down."""
    assert path(WALK.right, "t1", everything) == ["t2", "a1", "a2", "b1", "b3", "c2", "c3", "e1"]


@pytest.mark.parametrize(
    ("key", "down", "reached"),
    [
        ("a1", True, "b1"),
        ("a2", True, "c2"),  # over the hole
        ("t2", True, "a1"),  # into the table below
        ("c3", True, "e1"),  # out of it
        ("e1", False, "b1"),  # back up: the first column, over its hole
        ("t1", False, None),
        ("e1", True, None),
    ],
)
def test_up_and_down_stay_in_the_column(key, down, reached):
    """Over holes and from section to section, and no further than the edge."""
    assert WALK.vertical(key, everything, down=down) == reached


@pytest.mark.parametrize(
    ("key", "right", "reached"),
    [
        ("a1", True, "a2"),
        ("b1", True, "b3"),
        ("b3", False, "b1"),
        ("a2", True, None),
        ("t1", True, None),
    ],
)
def test_left_and_right_stay_in_the_row(key, right, reached):
    """Over holes, and no further than the edge of the table."""
    assert WALK.sideways(key, everything, right=right) == reached


def test_a_block_names_the_fields_it_falls_on():
    """Holes and what lies outside the table have no field."""
    assert WALK.block("b1", 3, 4) == [
        ["b1", None, "b3", None],
        [None, "c2", "c3", None],
        [None, None, None, None],
    ]


def test_a_key_that_is_not_there_is_no_place():
    """Asking for an unknown key is an error of the program and raises."""
    with pytest.raises(KeyError):
        WALK.find("nowhere")


def test_an_empty_form_has_no_first_field():
    """Nothing open: nothing to go to."""
    assert WALK.first(lambda _key: False) is None
    assert Walk(()).first(everything) is None
    assert Section(GRID.table, ()).width == 0


# -- moves over any grid ------------------------------------------------------------------


@given(walks())
def test_enter_and_tab_visit_every_open_field_once(drawn):
    """From the first field both reach all open ones, each once, and only open ones."""
    walk, keys, chosen = drawn
    for step, order in (
        (walk.after, [k for s in walk.sections for k in s.by_columns()]),
        (walk.right, keys),
    ):
        start = order[0]
        assert path(step, start, chosen.__contains__) == [k for k in order[1:] if k in chosen]


@given(walks())
def test_the_way_back_is_the_way_reversed(drawn):
    """Shift+Enter and Shift+Tab undo Enter and Tab between open fields."""
    walk, keys, chosen = drawn
    opens = chosen.__contains__
    for ahead, back in ((walk.after, walk.before), (walk.right, walk.left)):
        for key in keys:
            target = ahead(key, opens)
            if target is not None and key in chosen:
                assert back(target, opens) == key


@given(walks())
def test_arrows_reach_open_fields_only_and_come_to_an_end(drawn):
    """Each arrow from each field leads to an open one or nowhere, never in a circle."""
    walk, keys, chosen = drawn
    opens = chosen.__contains__

    def down(key, opens):
        return walk.vertical(key, opens, down=True)

    def up(key, opens):
        return walk.vertical(key, opens, down=False)

    for key in keys:
        reached = path(down, key, opens) + path(up, key, opens)
        reached += path(lambda k, o: walk.sideways(k, o, right=True), key, opens)
        reached += path(lambda k, o: walk.sideways(k, o, right=False), key, opens)
        assert set(reached) <= chosen


@given(walks())
def test_down_moves_down_and_right_moves_right(drawn):
    """The place reached lies beyond the place left, in the direction of the arrow."""
    walk, keys, chosen = drawn
    opens = chosen.__contains__
    for key in keys:
        section, row, column = walk.find(key)
        below = walk.vertical(key, opens, down=True)
        if below is not None:
            assert walk.find(below)[:2] > (section, row)
        beside = walk.sideways(key, opens, right=True)
        if beside is not None:
            assert walk.find(beside)[:2] == (section, row)
            assert walk.find(beside)[2] > column


@given(walks())
def test_the_first_field_is_the_one_enter_would_reach_first(drawn):
    """`first` is the head of the column order."""
    walk, _, chosen = drawn
    order = [k for s in walk.sections for k in s.by_columns() if k in chosen]
    assert walk.first(chosen.__contains__) == order[0]
    for one, other in pairwise(order):
        assert walk.after(one, chosen.__contains__) == other


@given(walks(), st.integers(1, 6), st.integers(1, 6))
def test_a_block_has_the_shape_asked_for(drawn, rows, columns):
    """Its corner is the key, its rows and columns as many as were pasted."""
    walk, keys, _ = drawn
    for key in keys:
        block = walk.block(key, rows, columns)
        assert block[0][0] == key
        assert [len(row) for row in block] == [columns] * rows
        inside = [k for row in block for k in row if k is not None]
        assert len(inside) == len(set(inside))
