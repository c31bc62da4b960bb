"""Judgements, limits and names in words."""

import pytest

from logbook.assess.limits import NOT_JUDGED, Direction, Judgement, Severity, classify
from logbook.plant.model import Limits
from logbook.shift.words import (
    answer_text,
    judgement_text,
    judgement_word,
    limits_text,
    meaning_text,
    person_name,
    place_name,
    point_name,
    range_text,
)


def test_a_judgement_is_severity_and_side():
    """Nothing for what was not judged; an answer has no side."""
    assert judgement_word(NOT_JUDGED) == ""
    assert judgement_word(Judgement(Severity.NONE, Direction.NONE)) == "within"
    assert judgement_word(Judgement(Severity.ACTION, Direction.LOW)) == "action low"
    assert judgement_word(Judgement(Severity.WARNING, Direction.NONE)) == "warning"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.41, "warning high, over 0.40"),
        (0.46, "action high, over 0.45"),
        (0.29, "warning low, under 0.30"),
        (0.10, "action low, under 0.25"),
        (0.35, "within"),
    ],
)
def test_a_judgement_names_the_limit_passed(plant, value, words):
    """With the point's decimals."""
    point = plant.point("gap.m1")
    assert judgement_text(point, point.limits, classify(value, point.limits)) == words


def test_answers_are_shown_by_name_and_numbers_with_their_decimals(plant):
    """An answer the point no longer has keeps its key; a check has names of its own."""
    assert answer_text(plant.point("gap.m1"), 0.3, None) == "0.30"
    assert answer_text(plant.point("gap.m1"), 0.3, None, decimal_comma=True) == "0,30"
    assert answer_text(plant.point("bed"), None, "flooded") == "Flooded"
    assert answer_text(plant.point("bed"), None, "gone") == "gone"
    assert answer_text(plant.point("magnets"), None, "not_done") == "Not done"
    assert answer_text(plant.point("remark"), None, "two words") == "two words"
    assert answer_text(plant.point("gap.m1"), None, None) == ""


def test_ranges_with_one_side_or_none(plant):
    """At least, at most, none."""
    point = plant.point("gap.m1")
    assert range_text(point, 0.3, 0.4) == "0.30 to 0.40"
    assert range_text(point, 0.3, None) == "at least 0.30"
    assert range_text(point, None, 0.4) == "at most 0.40"
    assert range_text(point, None, None) == "none"


def test_limits_on_one_line(plant):
    """Only those there are; the answers of a choice."""
    point = plant.point("gap.m1")
    assert limits_text(point, point.limits) == (
        "target 0.35 · warning 0.30 to 0.40 · action 0.25 to 0.45 · plausible 0.05 to 2.00"
    )
    assert limits_text(point, Limits()) == ""
    assert limits_text(plant.point("bed"), Limits()) == "Even · Slow · Flooded"
    assert limits_text(plant.point("magnets"), Limits()) == "Done · Not done"


def test_what_a_deviation_means_is_that_of_its_side(plant):
    """An answer without side has either."""
    point = plant.point("gap.m1")
    assert meaning_text(point, Judgement(Severity.ACTION, Direction.LOW)).startswith("Fines")
    assert meaning_text(point, Judgement(Severity.ACTION, Direction.HIGH)).startswith("Oil")
    assert meaning_text(plant.point("bed"), Judgement(Severity.ACTION, Direction.NONE)) == ""


def test_names_stand_alone(plant):
    """Area and point; a person by key where the plant has nobody of it."""
    assert point_name(plant, plant.point("dip")) == "Tanks: Solvent work tank"
    assert place_name(plant, plant.point("gap.m2")) == "Flake thickness, Mill 2"
    assert person_name(plant, "op1") == "Operator One"
    assert person_name(plant, "gone") == "gone"
