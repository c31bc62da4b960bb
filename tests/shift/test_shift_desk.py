"""The desk of the Shift screen: which shift, typed times, what is open, the timeline, results."""

from __future__ import annotations

import pytest

from logbook.record import (
    NewAcknowledgement,
    NewEntry,
    NewInstruction,
    NewItemEvent,
    NewOpenItem,
    NewSafetyState,
    NewSample,
    Ref,
)
from logbook.shift.matter_words import words_of
from logbook.shift.open_lines import open_sections
from logbook.shift.sample_results import SampleResults
from logbook.shift.samples import samples_waiting
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.timeline import found_section, resolved, timeline_section


@pytest.fixture
def look(book, clock, at):
    """A desk at a local time."""

    def desk(now="03-02 10:05"):
        clock.set(at(now))
        return ShiftDesk(book)

    return desk


def lines(desk, heading, person="op1"):
    """The lines under a heading of what is open."""
    return next(s.lines for s in open_sections(desk, person) if s.heading == heading)


# -- which shift --------------------------------------------------------------------------


def test_it_begins_at_the_running_shift_and_says_how_far_it_is(look):
    """Name, crew, date and hours to go; later shifts there are none."""
    desk = look()
    assert desk.shift_words() == ("Day, Crew C, 2026-03-02", "06:00 to 18:00, 7 h 55 min to go")
    assert not desk.step(1)
    assert desk.is_running


def test_the_shift_before_ended_and_the_book_has_a_beginning(look):
    """One can go back to the shift in which the book was begun, and somewhat before."""
    desk = look()
    assert desk.step(-1)
    assert desk.shift_words() == ("Night, Crew A, 2026-03-01", "18:00 to 06:00, ended")
    steps = 0
    while desk.step(-1):
        steps += 1
    assert 1 <= steps <= 4


# -- typed times --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("now", "typed", "meant"),
    [
        ("03-02 10:05", "09:30", "03-02 09:30"),
        ("03-02 10:05", "10:05", "03-02 10:05"),
        ("03-03 00:20", "23:30", "03-02 23:30"),
        ("03-02 10:05", "", "03-02 10:05"),
        ("03-02 10:05", "2026-03-01 22:00", "03-01 22:00"),
    ],
)
def test_a_past_time_is_the_nearest_one(look, at, now, typed, meant):
    """Just after midnight 23:30 is the evening before; a named day is that day."""
    assert look(now).read_past(typed) == at(meant)


def test_half_an_hour_ahead_is_the_future_and_not_yesterday(look):
    """10:30 typed at 10:05 is a slip, not an entry of the day before."""
    assert look().read_past("10:30") == "10:30 lies in the future."


def test_a_coming_time_is_the_next_one(look, at):
    """Tonight, or tomorrow morning; one that has passed on its day is told."""
    desk = look()
    assert desk.read_coming("14:00") == at("03-02 14:00")
    assert desk.read_coming("07:00") == at("03-03 07:00")
    assert desk.read_coming("2026-03-05 07:00") == at("03-05 07:00")
    told = desk.read_coming("2026-03-01 07:00")
    assert told == "2026-03-01 07:00 has passed already; type a time to come."


@pytest.mark.parametrize("typed", ["later", "25:00", "tomorrow 14:00", "2026-13-01 14:00"])
def test_what_is_no_time_is_told(look, typed):
    """A sentence, for past and coming times alike."""
    desk = look()
    for read in (desk.read_past, desk.read_coming):
        assert isinstance(read(typed), str)


def test_a_time_that_the_clocks_skip_is_told(look):
    """02:30 on 8 March does not exist in the plant's zone."""
    assert isinstance(look("03-08 04:00").read_past("2026-03-08 02:30"), str)


# -- what is open -------------------------------------------------------------------------


def test_an_item_is_marked_when_it_is_overdue_and_goes_when_it_is_closed(book, look, at):
    """With area, owner, when it is due, and how many updates."""
    desk = look()
    saved = book.write(
        "op1",
        [
            NewOpenItem(
                at("03-02 07:00"), "Seal drips", "mills", owner="tanks", due_at=at("03-02 09:00")
            ),
            NewItemEvent(Ref(0), at("03-02 08:00"), "update", "ordered"),
        ],
        kind="event",
    )
    line = lines(desk, "Open items")[0]
    assert line.mark == "overdue"
    assert line.detail == "Mills · for Tanks · due 09:00 · 1 update · Operator One"
    facts = dict(words_of(desk, line.source).facts)
    assert facts["News"] == "ordered (08:00, Operator One)"
    row = NewItemEvent(saved.ids[0], at("03-02 10:00"), "close", "changed")
    book.write("op2", [row], kind="event")
    assert lines(desk, "Open items") == ()


def test_an_earlier_shift_shows_what_was_open_when_it_ended(book, look, at):
    """Closed since, the item was still open then."""
    desk = look()
    saved = book.write("op1", [NewOpenItem(at("03-01 20:00"), "Seal drips")], kind="event")
    row = NewItemEvent(saved.ids[0], at("03-02 07:00"), "close", "changed")
    book.write("op1", [row], kind="event")
    assert lines(desk, "Open items") == ()
    desk.step(-1)
    (line,) = lines(desk, "Open items")
    assert line.title == "Seal drips"
    assert not resolved(desk, line.source).is_open, "opened, it is shown as it is now"


def test_an_instruction_is_to_be_read_until_this_person_has(book, look, at):
    """The mark is each person's own."""
    desk = look()
    saved = book.write(
        "head", [NewInstruction(at("03-01 06:00"), None, "Two at the roof")], kind="event"
    )
    row = NewAcknowledgement(saved.ids[0], at("03-02 09:00"))
    book.write("op1", [row], kind="event")
    assert [line.mark for line in lines(desk, "Standing instructions", "op1")] == [""]
    assert [line.mark for line in lines(desk, "Standing instructions", "op2")] == ["to read"]


def test_a_safety_state_past_its_time_is_marked(book, look, at):
    """Over time, with who authorised it."""
    desk = look()
    row = NewSafetyState(
        at("03-02 07:00"), "bypass", "LSL-204", "tanks", None, "Head", at("03-02 09:00")
    )
    book.write("op1", [row], kind="event")
    line = lines(desk, "Safety states")[0]
    assert (line.title, line.mark) == ("Bypassed interlock: LSL-204", "over time")
    assert "authorised by Head" in line.detail


# -- timeline and search ------------------------------------------------------------------


def test_the_timeline_marks_what_was_written_late_and_opens_as_what_it_is(book, look, at):
    """An entry of three hours ago is late; opened, it is the entry itself."""
    desk = look()
    row = NewEntry(at("03-02 07:00"), "Belt slipped", "process", equipment="m1")
    book.write("op1", [row], kind="event")
    line = timeline_section(desk).lines[0]
    assert (line.when, line.title, line.mark) == ("07:00", "Belt slipped", "late")
    assert line.detail == "Process · Mill 1 · Operator One"
    assert words_of(desk, resolved(desk, line.source)).title == "Process entry"


def test_a_search_is_held_to_area_person_and_days(book, look, at):
    """The second day is inside; a day that is none raises with a sentence."""
    desk = look("03-03 10:00")
    rows = [
        NewEntry(at("03-01 12:00"), "Belt slipped", "process", area="mills"),
        NewEntry(at("03-02 23:50"), "Belt torn", "process", area="tanks"),
    ]
    book.write("op1", rows, kind="event")

    def titles(*asked):
        return [line.title for line in found_section(desk, *asked).lines]

    assert titles("belt", "", "", "", "") == ["Belt torn", "Belt slipped"]
    assert titles("belt", "mills", "", "", "") == ["Belt slipped"]
    assert titles("belt", "", "op2", "", "") == []
    assert titles("belt", "", "", "2026-03-02", "2026-03-02") == ["Belt torn"]
    with pytest.raises(ValueError, match="type it as 2026-03-01"):
        titles("belt", "", "", "2 March", "")


# -- results of a sample ------------------------------------------------------------------


@pytest.fixture
def results(book, look, at):
    """Results of a sample of meal that was taken at 08:00."""
    desk = look()
    book.write("op1", [NewSample(at("03-02 08:00"), "SP-7", "S-1")], kind="event")
    waiting = samples_waiting(book, desk.plant, desk.now())[0]
    return SampleResults(book, waiting, decimal_comma=False)


def test_results_are_readings_of_when_the_sample_was_taken(results, book, at):
    """They name the sample, and it waits no longer."""
    assert results.fault({"residue": "520"}) == ""
    rows = results.rows()
    assert [(r.point, r.value, r.taken_at) for r in rows] == [("residue", 520, at("03-02 08:00"))]
    book.write("op2", rows, kind="lab")
    assert [r.value for r in book.results_of(results.sample.id)] == [520]


def test_no_result_or_an_unreadable_one_is_told(results):
    """Nothing is written then."""
    assert results.fault({"residue": " "}) == "Type at least one result."
    assert results.fault({"residue": "many"}).startswith("Residual solvent in meal: ")
    assert results.rows() == []
