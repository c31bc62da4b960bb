"""The records-integrity table, a test or more for each row: what a record must be to be relied on.

The rows are those of ALCOA and what was added to it, as listed in published guidance on data
integrity (MHRA GXP Data Integrity, March 2018; WHO TRS 1033 Annex 4, 2021). None of it binds an
oilseed plant; it is the yardstick, and no compliance is claimed.
"""

import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.record import (
    NewEntry,
    NewReading,
    NewSafetyState,
    WriteRefused,
    corrected,
    open_book,
    verify,
)
from logbook.shift.handover_json import canonical, content_hash, content_of
from logbook.shift.plants import PlantHistory
from logbook.shift.review import review_of
from logbook.shift.review_cells import CellState
from logbook.shift.review_detail import detail_of
from logbook.shift.signing import signed_content


@pytest.fixture
def day(crew, desk, at):
    """A day shift with something out, something missing, something late; all is said."""
    crew.shift(at("03-02 06:00"), {"08:00": {"gap.m1": 0.47}, "12:00": {"dip": "!not_safe"}})
    desk.book.write("op2", [NewSafetyState(at("03-02 09:00"), "bypass", "Level trip", "tanks")])
    desk.say_nothing()
    return desk


@pytest.fixture
def content(day, book):
    """The content of that shift's handover, as it is now."""

    def made():
        found = day.compose()
        return content_of(found, review_of(book, day.shift, day.clock.now, found.exceptions))

    return made


def correct(book, at, key, when, value, why="wrong dial", person="op1"):
    """Correct a reading; the old row."""
    [old] = book.readings([key], at(when), at(when) + timedelta(seconds=1))
    book.write(person, [corrected(old, why=why, value=value)], kind="correction")
    return old


def words_of(value):
    """All texts in plain data."""
    if isinstance(value, dict):
        return [text for one in value.values() for text in words_of(one)]
    if isinstance(value, list):
        return [text for one in value for text in words_of(one)]
    return [value] if isinstance(value, str) else []


# -- attributable -------------------------------------------------------------------------


def test_attributable_each_matter_of_a_handover_names_who_wrote_it(day, book, at, content):
    """Safety state, entry, correction and late reading: the name stands beside it."""
    book.write("op2", [NewEntry(at("03-02 10:00"), "Belt trimmed", "process")])
    correct(book, at, "gap.m2", "03-02 10:00", 0.36, person="op2")
    found = content()
    assert found["safety"][0]["person"]["name"] == "Operator Two"
    assert found["entries"][0]["person"]["name"] == "Operator Two"
    assert found["corrections"][0]["person"]["name"] == "Operator Two"
    assert found["corrections"][0]["before"]["person"]["name"] == "Operator One"
    assert [person["name"] for person in found["people"]] == ["Operator One", "Operator Two"]


def test_attributable_a_signature_is_one_persons_with_their_own_secret(day):
    """With name, role, time and meaning."""
    day.hand_over()
    [signature] = day.printed[0]["signatures"]
    assert signature["person"]["name"] == "Operator One"
    assert signature["person_role"] == "operator"
    assert signature["at"]["label"] == "17:50"
    assert signature["meaning"]


# -- legible ------------------------------------------------------------------------------


def test_legible_every_value_has_its_unit_and_every_time_its_zone(content):
    """Nobody has to know a key to read it, and no time is ambiguous."""
    found = content()
    [deviation] = [d for d in found["closed_deviations"] if not d["follows"]]
    assert deviation["worst"]["text"] == "0.47 mm"
    assert deviation["point"]["name"] == "Mills: Flake thickness, Mill 1"
    assert deviation["start"]["iso"].endswith("-06:00")
    assert found["gaps"]["lines"][0]["text"] == "Tanks: Solvent work tank: not safe to take"


def test_legible_what_a_correction_replaces_stays_readable(day, book, at):
    """Nothing is written over."""
    old = correct(book, at, "gap.m2", "03-02 10:00", 0.36)
    found = detail_of(book, PlantHistory(book), old.id)
    assert [one.reading.typed or one.reading.value for one in found.versions] == ["0.35", 0.36]


# -- contemporaneous ----------------------------------------------------------------------


def test_contemporaneous_every_reading_shows_when_it_was_taken_and_when_written(day, book, at):
    """The second time is the clock's, and nobody can choose it."""
    [reading] = book.readings(["gap.m1"], at("03-02 08:00"), at("03-02 08:01"))
    assert reading.taken_at == at("03-02 08:00")
    assert reading.written_at == at("03-02 08:10")
    assert "written_at" not in NewReading.__slots__


def test_contemporaneous_what_was_written_late_is_marked_in_handover_and_review(
    crew, desk, book, at
):
    """With how late, and by whom."""
    crew.round(at("03-02 06:00"), after_min=95, note="alarm in the boiler house")
    found = desk.compose()
    [late] = found.late
    assert late.written_at - late.taken_at == timedelta(minutes=95)
    assert (late.person, late.note) == ("op1", "alarm in the boiler house")
    grid = review_of(book, desk.shift, desk.clock.now, found.exceptions)
    assert all("t" in row.cells[0].signs for row in grid.rows if row.cells[0].reading)


# -- original -----------------------------------------------------------------------------


def test_original_the_value_is_kept_as_it_was_typed(day, book, clock, at, content):
    """12,50 stays 12,50, whatever number was read out of it."""
    clock.set(at("03-02 15:30"))
    row = NewReading("moisture", at("03-02 15:00"), value=12.5, typed="12,50")
    book.write("op1", [row])
    cells = [
        cell
        for area in content()["readings"]["areas"]
        for row in area["rows"]
        for cell in row["cells"]
        if cell
    ]
    [kept] = [cell for cell in cells if cell.get("typed") == "12,50"]
    assert kept["text"] == "12.5"


def test_original_a_correction_names_what_it_replaces_and_why(day, book, at, content):
    """Old value, new value, who, when and why stand together."""
    correct(book, at, "gap.m2", "03-02 10:00", 0.36)
    [found] = content()["corrections"]
    assert (found["before"]["text"], found["after"]["text"]) == ("0.35 mm", "0.36 mm")
    assert (found["why"], found["person"]["name"]) == ("wrong dial", "Operator One")
    with pytest.raises(WriteRefused, match="needs a reason"):
        correct(book, at, "gap.m2", "03-02 12:00", 0.36, why="  ")


# -- accurate -----------------------------------------------------------------------------


def test_accurate_a_reading_is_judged_by_the_limits_in_force_when_it_was_taken(
    day, book, plant, clock, at
):
    """A later change of limits does not rewrite the shift."""
    before = day.compose().closed_deviations
    points = [
        replace(p, limits=replace(p.limits, warning_high=0.6, action_high=0.7))
        if p.key == "gap.m1"
        else p
        for p in plant.points
    ]
    clock.set(at("03-02 19:00"))
    revised = replace(plant, points=tuple(points))
    book.revise("head", revised, effective_from=at("03-02 19:00"), reason="new rolls")
    after = day.compose().closed_deviations
    assert [d.found.run for d in after] == [d.found.run for d in before]


def test_accurate_an_implausible_value_is_kept_and_marked(crew, desk, at):
    """Neither refused nor put right."""
    crew.round(at("03-02 06:00"), {"moisture": 75.0})
    [doubt] = desk.compose().doubts
    assert (doubt.reading.value, doubt.why) == (75.0, "above the plausible 60.0")


# -- complete -----------------------------------------------------------------------------


def test_complete_every_due_reading_has_a_value_a_reason_or_is_called_missing(crew, desk, book, at):
    """No cell of the shift is blank without a word."""
    crew.shift(at("03-02 06:00"), {"12:00": {"dip": "!not_safe"}}, skip=("10:00",))
    desk.clock.set(at("03-02 19:00"))
    grid = review_of(book, desk.shift, desk.clock.now)
    for row in grid.rows:
        for cell in row.cells:
            silent = cell.state in {CellState.MISSING, CellState.EXPLAINED, CellState.NOT_DUE}
            assert cell.why if silent else cell.text
    missing = sum(cell.state is CellState.MISSING for row in grid.rows for cell in row.cells)
    assert missing == len([gap for gap in desk.compose().gaps if gap.reason is None]) == 8


def test_complete_what_was_withdrawn_is_still_told(day, book, at, content):
    """It leaves the figures, not the record."""
    [old] = book.readings(["moisture"], at("03-02 10:00"), at("03-02 10:01"))
    book.write("op1", [corrected(old, why="other sample")], kind="correction")
    [found] = content()["corrections"]
    assert (found["withdrawn"], found["before"]["text"]) == (True, "12.0 %")


# -- consistent ---------------------------------------------------------------------------


def test_consistent_the_same_book_gives_the_same_handover(day, book, content):
    """Text for text, also after closing and opening it."""
    first = canonical(content())
    with open_book(book.path, clock=day.clock, writable=False) as again:
        day.book = again
        found = day.compose()
        second = content_of(found, review_of(again, day.shift, day.clock.now, found.exceptions))
    assert canonical(second) == first


def test_consistent_every_row_is_sealed_in_the_order_in_which_it_was_written(day, book):
    """Handover, checks and signatures as well."""
    day.hand_over()
    day.read_all()
    day.take_over()
    found = verify(book.path)
    assert found.is_sound


# -- enduring -----------------------------------------------------------------------------


@pytest.mark.parametrize("table", ["signature", "document", "handover_check", "handover_note"])
@pytest.mark.parametrize("words", ["DELETE FROM {}", "UPDATE {} SET page = page"])
def test_enduring_what_was_signed_cannot_be_changed_or_removed(day, book, table, words):
    """The file itself refuses it, whatever program asks."""
    day.hand_over()
    day.read_all()
    with (
        closing(sqlite3.connect(book.path)) as bare,
        pytest.raises(sqlite3.IntegrityError),
    ):
        bare.execute(words.format(table))


def test_enduring_a_later_change_leaves_what_was_signed_and_shows_as_changed(day, book, at):
    """Never silently."""
    day.hand_over()
    before = signed_content(book, day.state().outgoing)
    day.clock.advance(minutes=1)
    correct(book, at, "gap.m1", "03-02 08:00", 0.36, person="head")
    state = day.state()
    assert signed_content(book, state.outgoing) == before
    assert content_hash(before) == state.outgoing.content_hash
    assert [change.how for change in state.changes] == ["corrected"]


def test_enduring_a_byte_changed_in_the_file_is_found(day, book, tmp_path):
    """A signature moved onto other content does not verify."""
    day.hand_over()
    book.close()
    copy = tmp_path / "copy.logbook"
    shutil.copy(book.path, copy)
    with closing(sqlite3.connect(copy)) as bare:
        for (name,) in bare.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'signature'"
        ).fetchall():
            bare.execute(f"DROP TRIGGER {name}")
        bare.execute("UPDATE signature SET content_hash = 'f' || substr(content_hash, 2)")
        bare.commit()
    assert not verify(copy).is_sound


# -- available ----------------------------------------------------------------------------


def test_available_the_signed_handover_can_be_read_years_later_without_us(day, book, clock):
    """Plain JSON and the printed form, out of the file by any SQLite program."""
    day.hand_over()
    clock.advance(days=3650)
    query = "SELECT snapshot, pdf FROM document"
    with closing(sqlite3.connect(book.path)) as bare:
        snapshot, pdf = bare.execute(query).fetchone()
    stored = json.loads(snapshot)
    assert "Level trip" in words_of(stored["content"]["safety"])
    assert pdf


def test_available_a_shift_long_past_is_composed_as_it_was(day, book, clock, content):
    """But for the time at which it is looked at."""
    first = content()
    clock.advance(days=400)
    later = content()
    same = {key: value for key, value in later.items() if key != "composed_at"}
    was = {key: value for key, value in first.items() if key != "composed_at"}
    for key in ("open_deviations", "closed_deviations", "safety", "corrections", "tanks", "lab"):
        assert same[key] == was[key]
