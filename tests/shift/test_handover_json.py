"""A handover as canonical JSON: complete, in words, and the same text every time."""

import json
from dataclasses import replace
from hashlib import sha256

import pytest

from logbook.record import (
    NewEntry,
    NewHandoverNote,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
    corrected,
)
from logbook.shift.handover_json import ORDER, canonical, content_hash, content_of, in_order
from logbook.shift.review import review_of

PARTS = [
    "safety", "open_deviations", "closed_deviations", "not_available", "gaps", "lost_time",
    "throughput", "lab", "tanks", "items", "limit_changes", "corrections", "late", "next_duties",
]  # fmt: skip
"""In the order in which a handover is read."""


@pytest.fixture
def content(desk, book, clock):
    """The content of the day shift of 2 March as of now."""

    def made():
        found = desk.compose()
        return content_of(found, review_of(book, desk.shift, clock.now, found.exceptions))

    return made


def test_the_parts_stand_in_their_fixed_order(crew, content, at):
    """Safety first, what the next shift must do last."""
    crew.shift(at("03-02 06:00"))
    keys = list(content())
    assert [key for key in keys if key in PARTS] == PARTS


def test_sorted_for_its_hash_and_back_in_order_it_is_as_it_was(crew, content, at):
    """Every key has its place in the order."""
    crew.shift(at("03-02 06:00"))
    found = content()
    assert list(in_order(json.loads(canonical(found)))) == list(found) == list(ORDER)


def test_the_same_facts_give_the_same_hash(crew, content, at):
    """Whoever puts them together, and however often."""
    crew.shift(at("03-02 06:00"), {"08:00": {"gap.m1": 0.47}})
    first, again = content(), content()
    assert canonical(first) == canonical(again)
    assert content_hash(first) == sha256(canonical(again).encode()).hexdigest()


def test_reading_it_back_gives_the_same_text(crew, content, at):
    """So that a stored snapshot can be held against its hash."""
    crew.shift(at("03-02 06:00"))
    text = canonical(content())
    assert canonical(json.loads(text)) == text


def test_one_value_more_or_less_gives_another_hash(crew, content, book, at):
    """Also where it is within limits and stands in no list of exceptions but its own."""
    crew.shift(at("03-02 06:00"))
    before = content_hash(content())
    [old] = book.readings(["moisture"], at("03-02 10:00"), at("03-02 10:01"))
    book.write("op1", [corrected(old, why="typed twice", value=12.0)], kind="correction")
    assert content_hash(content()) != before


def test_every_reading_of_the_shift_is_in_it(crew, content, book, at):
    """With its id, and as typed where that reads otherwise."""
    crew.shift(at("03-02 06:00"), {"08:00": {"gap.m1": 0.4}})
    areas = content()["readings"]["areas"]
    cells = [cell for area in areas for row in area["rows"] for cell in row["cells"] if cell]
    ids = {cell["id"] for cell in cells if "id" in cell}
    assert ids == {r.id for r in book.readings(None, at("03-02 06:00"), at("03-02 18:00"))}
    [odd] = [cell for cell in cells if cell.get("text") == "0.40"]
    assert odd["typed"] == "0.4"


def test_values_stand_as_numbers_and_in_words(crew, content, at):
    """With the point's decimals and unit; times with offset and as people write them."""
    crew.shift(at("03-02 06:00"), {"16:00": {"gap.m1": 0.47}})
    [found] = [d for d in content()["open_deviations"] if not d["follows"]]
    assert found["last"] == {"value": 0.47, "text": "0.47 mm"}
    assert found["judgement"] == "action high, over 0.45"
    assert found["start"] == {"iso": "2026-03-02T16:00:00-06:00", "label": "16:00"}


def test_a_plant_that_writes_commas_gets_commas(crew, desk, book, plant, clock, at, content):
    """In every text, never in a number."""
    comma = replace(plant, settings=replace(plant.settings, decimal_comma=True))
    book.revise("head", comma, effective_from=at("03-02 00:00"), reason="as the plant writes")
    crew.shift(at("03-02 06:00"), {"16:00": {"gap.m1": 0.47}})
    [found] = [d for d in content()["open_deviations"] if not d["follows"]]
    assert found["last"] == {"value": 0.47, "text": "0,47 mm"}


@pytest.mark.parametrize(
    "words",
    [
        "#set page(width: 1pt) *bold* $x$ @ref <b>&amp;</b>",
        "quotes \" ' and \\ and \u201eothers\u201c",
        "\u0645\u0631\u062d\u0628\u0627 \u05e9\u05dc\u05d5\u05dd \U0001f6e2\ufe0f",
        "line\none\ttab",
        "x" * 5000,
    ],
)
def test_words_are_kept_as_typed(desk, book, clock, at, content, words):
    """Whatever stands in them."""
    clock.set(at("03-02 10:00"))
    rows = [
        NewEntry(at("03-02 09:00"), words, "process"),
        NewOpenItem(at("03-02 09:10"), words),
        NewHandoverNote(desk.shift.date, desk.shift.pattern, "remarks", words),
    ]
    book.write("op1", rows)
    back = json.loads(canonical(content()))
    assert back["entries"][0]["text"] == words
    assert back["items"][0]["text"] == words
    assert back["notes"]["remarks"]["text"] == words


def test_a_safety_state_tells_its_limit_and_whether_it_has_run_out(desk, book, clock, at, content):
    """Extensions counted."""
    clock.set(at("03-02 10:00"))
    until = at("03-02 12:00")
    saved = book.write(
        "op1",
        [
            NewSafetyState(at("03-02 09:00"), "permit", "A", "mills", until_at=until),
            NewSafetyState(at("03-02 09:00"), "permit", "B", "mills", "m1", "Shift lead", until),
        ],
    )
    clock.set(at("03-02 13:00"))
    later = NewSafetyEvent(saved.ids[1], at("03-02 11:50"), "extend", "not done", at("03-02 20:00"))
    book.write("op1", [later])
    first, second = content()["safety"]
    assert (first["expired"], first["place"]) == (True, "Mills")
    assert (second["expired"], second["place"]) == (False, "Mill 1")
    assert second["until_at"]["label"] == "2026-03-02 20:00"
    assert second["events"][0]["text"] == "not done"
    assert second["authorised_by"] == "Shift lead"
