"""Beginning a book from a template or a plant file."""

import os
from dataclasses import replace
from pathlib import Path

import pytest

from logbook.plant.model import Role
from logbook.plant.templates import template_names
from logbook.record import BookError, open_book
from logbook.shift.new_book import NewBookError, start_book, template_choices, with_engineer

PAIR = Path(__file__).parents[1] / "data" / "plants" / "pair.toml"


@pytest.mark.parametrize("name", template_names())
def test_a_book_begins_from_each_shipped_template(tmp_path, clock, name):
    """With the person who begins it as its engineer, and a page that says so."""
    path = start_book(tmp_path / "plant", name, " Ada Miller ", clock=clock)
    assert path == tmp_path / "plant.logbook"
    with open_book(path, clock=clock, writable=False) as book:
        plant = book.plant_at(clock.now)
        person = next(p for p in plant.people if p.key == "ada_miller")
        assert (person.name, person.role) == ("Ada Miller", Role.ENGINEER)
        assert book.last_page().person == "ada_miller"
        assert len(plant.points) > 100


def test_a_book_begins_from_a_plant_file(tmp_path, clock, plant):
    """With everything the file describes."""
    path = start_book(tmp_path / "two.mills", str(PAIR), "Technical Head", clock=clock)
    assert path.name == "two.mills"
    with open_book(path, clock=clock, writable=False) as book:
        assert book.plant_at(clock.now) == plant
        assert book.last_page().person == "head"


def test_each_template_has_a_name_in_words():
    """For whoever chooses one."""
    choices = template_choices()
    assert [name for name, _ in choices] == list(template_names())
    assert all(words and words != name for name, words in choices)


def test_somebody_of_the_plant_becomes_its_engineer_where_they_stand(plant):
    """Without being listed twice, and without a new order of people."""
    changed, key = with_engineer(plant, "operator ONE")
    assert key == "op1"
    assert [p.key for p in changed.people] == [p.key for p in plant.people]
    assert next(p for p in changed.people if p.key == "op1").role is Role.ENGINEER


@pytest.mark.parametrize(
    ("name", "key"),
    [("Op1", "op1_2"), ("Jo-Ann O'Hara", "jo_ann_o_hara"), ("Łukasz", "ukasz"), ("王", "engineer")],
)
def test_a_new_person_gets_a_key_of_their_own(plant, name, key):
    """From the name, and never one that is taken."""
    changed, made = with_engineer(plant, name)
    assert made == key
    assert changed.people[:-1] == plant.people
    assert changed.people[-1].name == name


def test_two_people_of_one_key_are_told_apart(plant):
    """A second "op1" becomes op1_2, a third op1_3."""
    twice = replace(plant, people=(*plant.people, replace(plant.people[1], key="op1_2", name="X")))
    assert with_engineer(twice, "op1")[1] == "op1_3"


@pytest.mark.parametrize("name", ["", "  ", "\t"])
def test_a_book_needs_somebody_who_begins_it(tmp_path, clock, name):
    """Nothing is made without."""
    with pytest.raises(NewBookError, match="a name is needed"):
        start_book(tmp_path / "a", str(PAIR), name, clock=clock)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_template_names_those_there_are(tmp_path, clock):
    """And nothing is left behind."""
    with pytest.raises(NewBookError, match="no template and no plant file") as raised:
        start_book(tmp_path / "a", "soja", "Ada", clock=clock)
    assert all(name in raised.value.message for name in template_names())
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("damage", ['zone = "', 'round_hours = "often"'])
def test_a_bad_plant_file_leaves_nothing(tmp_path, clock, damage):
    """Its first fault is told in one line, and how many more there are."""
    bad = tmp_path / "bad.toml"
    text = PAIR.read_text(encoding="utf-8").replace("round_hours = 2", damage)
    bad.write_text(text.replace('frequency = "day"', 'frequency = "dayly"'), encoding="utf-8")
    with pytest.raises(NewBookError) as raised:
        start_book(tmp_path / "a", str(bad), "Ada", clock=clock)
    assert str(bad) in raised.value.message
    assert "\n" not in raised.value.message
    assert [p.name for p in tmp_path.iterdir()] == ["bad.toml"]


def test_a_plant_file_that_is_no_text_leaves_nothing(tmp_path, clock):
    """It is a fault like any other."""
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(NewBookError):
        start_book(tmp_path / "a", str(bad), "Ada", clock=clock)
    assert [p.name for p in tmp_path.iterdir()] == ["bad.toml"]


def test_a_name_that_is_taken_is_refused_and_left_as_it_was(tmp_path, clock):
    """A book, or any other file."""
    path = start_book(tmp_path / "a", str(PAIR), "Ada", clock=clock)
    before = path.read_bytes()
    with pytest.raises(BookError, match="already a file"):
        start_book(tmp_path / "a", str(PAIR), "Ben", clock=clock)
    assert path.read_bytes() == before
    other = tmp_path / "notes.txt"
    other.write_text("mine", encoding="utf-8")
    with pytest.raises(BookError, match="already a file"):
        start_book(other, str(PAIR), "Ben", clock=clock)
    assert other.read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_not_there_is_told(tmp_path, clock):
    """It is not made by the way."""
    with pytest.raises(BookError, match="does not exist"):
        start_book(tmp_path / "nowhere" / "a", str(PAIR), "Ada", clock=clock)
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.skipif(os.geteuid() == 0 if hasattr(os, "geteuid") else True, reason="root may write")
def test_a_folder_that_may_not_be_written_is_told(tmp_path, clock):
    """In one sentence."""
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o555)
    with pytest.raises(BookError, match="cannot be written"):
        start_book(closed / "a", str(PAIR), "Ada", clock=clock)
