"""Finding by word, area, machine, person and date."""

from __future__ import annotations

import sqlite3
import unicodedata
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.record import (
    NewEntry,
    NewReading,
    NewResponse,
    NewStatus,
    Ref,
    create_book,
    verify,
)


@pytest.fixture
def log(book, clock, hours):
    """Writes entries at given hours; gives back their ids."""
    clock.set(hours(100))

    def write(*rows, person="anna"):
        made = [NewEntry(hours(h), text, area=area) for h, text, area in rows]
        return book.write(person, made, kind="event").ids

    return write


def found(book, text, **more):
    """Texts found, the newest first."""
    return [hit.text for hit in book.search(text, **more) if hit.kind != "page note"]


@pytest.mark.parametrize(
    ("asked", "texts"),
    [
        ("pump", ["Pumps changed over", "Feed PUMP trips"]),
        ("trips pump", ["Feed PUMP trips"]),
        ("pump steam", []),
        ("muhle", ["Mühle läuft heiß"]),
        ("MÜHLE", ["Mühle läuft heiß"]),
        ("heiß", ["Mühle läuft heiß"]),
        ("P-101", ["Seal of P-101 leaks"]),
        ("101", ["Seal of P-101 leaks"]),
        ("ump", []),
        ("насос", ["насос стоит"]),
        ("  ", ["☂ roof leaks", "насос стоит", "Seal of P-101 leaks", "Mühle läuft heiß",
                "Pumps changed over", "Feed PUMP trips"]),
        ("☂", ["☂ roof leaks"]),
        ("☂ roof", ["☂ roof leaks"]),
        ("☂ pump", []),
        ("leaks -", ["Seal of P-101 leaks"]),
    ],
)  # fmt: skip
def test_words_are_found_by_their_beginning_in_any_case_and_order(book, log, asked, texts):
    """With or without accents, in any script; a sign is looked for as it stands."""
    log(
        (1, "Feed PUMP trips", None),
        (2, "Pumps changed over", None),
        (3, "Mühle läuft heiß", None),
        (4, "Seal of P-101 leaks", None),
        (5, "насос стоит", None),
        (6, "☂ roof leaks", None),
    )
    assert found(book, asked) == texts


@pytest.mark.parametrize(
    "asked",
    ['"', 'pump"', "pump*", "(pump", "pump)", "pump AND", "NOT pump", "text:pump", "^pump", "{", "-",
     "NEAR(pump", "pu\0mp", "';--", "%", "_", "pump OR"],
)  # fmt: skip
def test_nothing_in_a_question_is_a_command(book, log, asked):
    """Quotes, stars and words of the search language mean themselves."""
    log((1, "the feed pump trips", None))
    assert found(book, asked) in ([], ["the feed pump trips"])
    assert found(book, "pump OR nothing") == []


def test_a_finding_tells_what_where_when_and_who(book, crew_rows, clock):
    """Every kind of text is found, each with the row that it stands in."""
    more = [
        NewReading("toaster_t", clock.now, value=120.0),
        NewResponse(Ref(len(crew_rows)), "steam reduced", clock.now),
        NewStatus("equipment", "dt", clock.now, "down", "bearing gone"),
        NewStatus("area", "toaster", clock.now, "down", "no steam at all"),
        NewEntry(clock.now, "smells burnt", area="toaster"),
    ]
    saved = book.write("anna", [*crew_rows, *more], note="windy")
    hits = {hit.text: hit for hit in book.search("", start=clock.now)}
    ids = dict(zip(("item", "event", "instruction", "end"), saved.ids[2:6], strict=True))
    told = {text: (h.kind, h.area, h.equipment) for text, h in hits.items()}
    assert told == {
        "first description": ("page note", None, None),
        "windy": ("page note", None, None),
        "order a bearing": ("open item", None, "dt"),
        "ordered": ("item event", None, "dt"),
        "keep the toaster below 110 °C": ("instruction", "toaster", None),
        "trial over": ("instruction end", "toaster", None),
        "level switch bridged · eva": ("safety state", None, "dt"),
        "part missing": ("safety event", None, "dt"),
        "quiet": ("note", None, None),
        "who bridged it?": ("question", None, None),
        "steam reduced": ("response", "toaster", "dt"),
        "bearing gone": ("downtime", None, "dt"),
        "no steam at all": ("downtime", "toaster", None),
        "smells burnt": ("entry", "toaster", None),
    }
    assert hits["order a bearing"].id == ids["item"]
    assert hits["trial over"].id == ids["end"]
    assert {h.person for h in hits.values()} == {"anna", "eva"}
    assert hits["windy"].page == saved.page
    assert hits["quiet"].at == clock.now


def test_area_machine_person_and_date_narrow_together(book, log, hours):
    """All that is given must hold; the start is inside, the end is not."""
    log((1, "pump noisy", "toaster"), (2, "pump hot", "extraction"), (3, "pump quiet", "toaster"))
    log((4, "pump dead", "toaster"), person="eva")
    toaster = {"area": "toaster"}
    assert found(book, "pump", **toaster) == ["pump dead", "pump quiet", "pump noisy"]
    assert found(book, "pump", **toaster, person="anna") == ["pump quiet", "pump noisy"]
    assert found(book, "pump", **toaster, start=hours(3)) == ["pump dead", "pump quiet"]
    assert found(book, "pump", **toaster, end=hours(3)) == ["pump noisy"]
    assert found(book, "pump", start=hours(2), end=hours(3)) == ["pump hot"]
    assert found(book, "pump", equipment="dt") == []
    assert found(book, "pump", limit=2) == ["pump dead", "pump quiet"]
    assert found(book, "pump", limit=0) == []


def test_what_was_corrected_is_found_in_its_newest_wording_only(book, log, hours):
    """An entry that was withdrawn is not found at all."""
    first, second = log((1, "pump noisy", None), (2, "fan noisy", None))
    book.write("eva", [NewEntry(hours(1), "mill noisy", replaces=first, why="wrong machine")])
    assert found(book, "pump") == []
    assert found(book, "noisy") == ["fan noisy", "mill noisy"]
    book.write("eva", [NewEntry(hours(2), None, replaces=second, why="was another day")])
    assert found(book, "noisy") == ["mill noisy"]
    assert verify(book.path).is_sound


def test_a_response_is_found_where_its_point_is_now(book, plant, log, hours):
    """A point that moved to another area takes its responses along."""
    rows = [NewReading("toaster_t", hours(1), value=120.0), NewResponse(Ref(0), "closed", hours(1))]
    book.write("anna", rows)
    assert found(book, "closed", area="toaster") == ["closed"]
    moved = tuple(
        replace(p, area="extraction", equipment=None) if p.key == "toaster_t" else p
        for p in plant.points
    )
    book.revise("eva", replace(plant, points=moved), effective_from=hours(50), reason="rebuilt")
    assert found(book, "closed", area="toaster") == []
    assert found(book, "closed", area="extraction") == ["closed"]
    assert verify(book.path).is_sound


def test_a_text_of_five_thousand_characters_is_found(book, log):
    """Also one without a space, by its beginning."""
    log((1, "x" * 5000, None), (2, "word " * 1000 + "last", None))
    assert found(book, "x" * 20) == ["x" * 5000]
    assert found(book, "last") == ["word " * 1000 + "last"]


def test_what_a_refused_save_said_is_not_found(book, log, hours):
    """The index is part of the transaction."""
    rows = [NewEntry(hours(1), "ghost"), NewReading("level", hours(999), value=1.0)]
    with pytest.raises(Exception, match="future"):
        book.write("anna", rows)
    assert found(book, "ghost") == []
    log((1, "real", None))
    assert verify(book.path).is_sound


@pytest.mark.parametrize(
    "change",
    [
        "DELETE FROM words WHERE text = 'pump noisy'",
        "UPDATE words SET text = 'pump quiet' WHERE text = 'pump noisy'",
        "INSERT INTO words (kind, row, at, page, text) VALUES ('entry', 9, 0, 1, 'pump stolen')",
        "INSERT INTO words SELECT * FROM words WHERE text = 'pump noisy'",
    ],
)
def test_an_index_that_was_tampered_with_is_told_and_made_anew(book, log, bare, change):
    """Searches could hide or invent texts; `verify` says so, and the texts are all still there."""
    log((1, "pump noisy", None), (2, "fan noisy", None))
    assert verify(book.path).is_sound
    bare.execute(change)
    (fault,) = verify(book.path).faults
    assert "search index differs" in str(fault)
    book.renew_search()
    assert verify(book.path).is_sound
    assert found(book, "noisy") == ["fan noisy", "pump noisy"]


def test_any_sqlite_client_can_search(book, log, path):
    """The index is an ordinary FTS5 table beside the tables it is made from."""
    log((1, "pump noisy", None))
    with closing(sqlite3.connect(path)) as connection:
        query = "SELECT text FROM words WHERE words MATCH 'noisy' ORDER BY rank"
        assert connection.execute(query).fetchall() == [("pump noisy",)]


def plain(text):
    """Text as the index compares it, for the alphabet of the test below."""
    flat = unicodedata.normalize("NFD", text.lower())
    return "".join(c for c in flat if not unicodedata.combining(c))


WORDS = st.text("aäbBé1", min_size=1, max_size=4)
TEXTS = st.lists(WORDS, min_size=1, max_size=4).map(" ".join)


@pytest.fixture(scope="module")
def module_book(tmp_path_factory):
    """One book for all examples of a property."""
    from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern
    from logbook.plant.model import Area, Plant

    start = datetime(2026, 3, 2, 6, tzinfo=UTC)
    midnight = start.time().replace(hour=0)
    calendar = ShiftCalendar(
        time_zone="UTC",
        shifts=(ShiftPattern("D", "Day", midnight, midnight),),
        crews=(Crew("a", "Crew A", 0),),
        roster=("D",),
        anchor=start.date(),
    )
    plant = Plant(key="demo", name="Demo", calendar=calendar, areas=(Area("a", "A"),), points=())
    path = tmp_path_factory.mktemp("search") / "plant.book"
    with create_book(path, plant, clock=lambda: start, person="eva", reason=".") as book:
        yield book


@given(texts=st.lists(TEXTS, min_size=1, max_size=4), asked=st.lists(WORDS, min_size=1, max_size=2))
def test_the_index_finds_what_a_walk_through_all_texts_finds(module_book, texts, asked):
    """A text is found exactly when each word asked for begins one of its words."""
    book = module_book
    at = book.now()
    ids = book.write("anna", [NewEntry(at, text) for text in texts]).ids
    hits = {h.id for h in book.search(" ".join(asked), limit=1_000_000) if h.id in set(ids)}
    expected = {
        number
        for number, text in zip(ids, texts, strict=True)
        if all(any(w.startswith(plain(a)) for w in plain(text).split()) for a in asked)
    }
    assert hits == expected


@given(text=st.text(max_size=40))
def test_any_text_can_be_asked_for_and_finds_itself(module_book, text):
    """Whatever was written, its own words find it; and no question is an error."""
    book = module_book
    book.search(text)
    words = [w for w in text.split() if all(c.isascii() and c.isalnum() for c in w)]
    if not words:
        return
    (number,) = book.write("anna", [NewEntry(book.now() - timedelta(1), " ".join(words))]).ids
    hits = book.search(" ".join(words), person="anna", limit=1_000_000)
    assert number in {h.id for h in hits if h.kind == "entry"}
