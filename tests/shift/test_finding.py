"""Finding what was written, by words, place, person and day."""

from dataclasses import replace

import pytest

from logbook.record import NewEntry, NewOpenItem, NewSafetyState
from logbook.shift.finding import find


@pytest.fixture
def written(book, clock, at):
    """Some matters of two days and two people."""
    clock.set(at("03-03 12:00"))
    book.write(
        "op1",
        [
            NewEntry(
                at("03-02 08:00"), "Belt 2 squeals, bearing hot", "maintenance", "mills", "m1"
            ),
            NewEntry(at("03-03 08:00"), "Bearing changed", "maintenance", "mills", "m1"),
            NewSafetyState(at("03-03 09:00"), "bypass", "Level trip of the tank", "tanks"),
        ],
        kind="event",
    )
    book.write("op2", [NewOpenItem(at("03-03 10:00"), "Order a bearing")], kind="event")
    return book


def texts(hits):
    """What was found."""
    return [hit.found.text for hit in hits]


def test_words_are_found_wherever_they_were_written_the_newest_first(written, plant):
    """Entries, items, safety states; with the names of where and who."""
    hits = find(written, plant, "bearing")
    assert texts(hits) == ["Order a bearing", "Bearing changed", "Belt 2 squeals, bearing hot"]
    assert [(h.where, h.who) for h in hits] == [
        ("", "Operator Two"),
        ("Mill 1", "Operator One"),
        ("Mill 1", "Operator One"),
    ]
    assert [h.where for h in find(written, plant, "trip")] == ["Tanks"]


def test_a_search_is_narrowed_by_place_person_and_time(written, plant, at):
    """Alone or together."""
    assert texts(find(written, plant, "bearing", area="mills")) == [
        "Bearing changed",
        "Belt 2 squeals, bearing hot",
    ]
    assert texts(find(written, plant, "bearing", equipment="m2")) == []
    assert texts(find(written, plant, "bearing", person="op2")) == ["Order a bearing"]
    assert texts(
        find(written, plant, "bearing", start=at("03-02 08:00"), end=at("03-03 08:00"))
    ) == ["Belt 2 squeals, bearing hot"]
    assert texts(find(written, plant, "bearing", limit=1)) == ["Order a bearing"]


@pytest.mark.parametrize("text", ['"', "bearing AND (", "*", "NEAR(", "-", "''; --", "ничего"])
def test_any_text_can_be_searched_for(written, plant, text):
    """No character breaks the search."""
    assert isinstance(find(written, plant, text), tuple)


def test_what_the_plant_no_longer_has_is_told_by_its_key(written, plant):
    """An old entry about a machine since removed is still found."""
    bare = replace(plant, equipment=(), people=())
    (hit,) = find(written, bare, "squeals")
    assert (hit.where, hit.who) == ("m1", "op1")
