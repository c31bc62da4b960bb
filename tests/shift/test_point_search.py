from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.plant.file import read_plant
from logbook.plant.model import Plant
from logbook.plant.templates import template_path
from logbook.shift.point_search import find_points


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The shipped metric template."""
    return read_plant(template_path("soybean-metric"))


def test_nothing_typed_finds_every_point_with_numbers(plant):
    """In the order of the plant."""
    found = [one.point for one in find_points(plant, "")]
    assert found == [point for point in plant.points if point.kind.is_numeric]


def test_words_are_found_in_any_order_and_half_written(plant):
    """Both "thick mill 3" and "3 mill flak" name the same three points."""
    one, other = find_points(plant, "thick mill 3"), find_points(plant, "3 mill flak")
    assert {p.point.key for p in one[:3]} == {p.point.key for p in other[:3]}
    assert all("Mill 3" in found.name for found in one[:3])


def test_a_point_is_found_by_its_tag_first(plant):
    """Whoever types a tag gets that point at the top."""
    tagged = replace(plant.points[60], tag="TI-207")
    assert tagged.kind.is_numeric
    there = replace(plant, points=(*plant.points[:60], tagged, *plant.points[61:]))
    assert find_points(there, "ti-2")[0].point is tagged


def test_an_area_finds_all_its_points(plant):
    """Also where the names do not say the area."""
    area = plant.areas[4]
    wanted = {point.key for point in plant.points_of(area.key) if point.kind.is_numeric}
    assert wanted <= {one.point.key for one in find_points(plant, area.name)}


def test_a_word_that_fits_nothing_finds_nothing(plant):
    """One wrong word is enough."""
    assert find_points(plant, "mill zzzz") == ()


def test_accents_do_not_matter(plant):
    """Typed with or without them, and in capitals."""
    assert find_points(plant, "MÍLL") == find_points(plant, "mill")


def test_points_with_answers_are_found_when_asked_for(plant):
    """States and checks are left out only where numbers are wanted."""
    assert len(find_points(plant, "", numeric=False)) == len(plant.points)
