"""The journal of a shift: everything that happened in one line, and what is open at its end."""

import time
from datetime import timedelta

import pytest

from logbook.plant.calendar import shift_at
from logbook.record import (
    NewAcknowledgement,
    NewEntry,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewModeChange,
    NewOpenItem,
    NewReading,
    NewResponse,
    NewSafetyEvent,
    NewSafetyState,
    NewSample,
    NewStatus,
    Ref,
    corrected,
)
from logbook.shift.journal import (
    by_urgency,
    is_overdue,
    journal_of,
    not_read_by,
    readers_of,
    timeline,
    to_read,
)
from logbook.shift.moments import MomentKind, chosen, in_order
from logbook.shift.plants import PlantHistory


@pytest.fixture
def put(book, clock):
    """Writes rows at a time; returns their ids."""

    def do(when, *rows, person="op1"):
        clock.set(max(clock.now, when))
        return book.write(person, rows, kind="event").ids

    return do


@pytest.fixture
def told(book, at):
    """The timeline of the day shift."""

    def do(start="03-02 06:00", end="03-02 18:00"):
        return timeline(book, PlantHistory(book), at(start), at(end))

    return do


def lines(moments):
    """Kind, note and text of moments."""
    return [(str(one.kind), one.note, one.text) for one in moments]


def test_a_day_shift_is_told_in_the_order_in_which_it_happened(put, told, at, clock):
    """Whatever was written when, and of every kind."""
    put(
        at("03-02 07:00"),
        NewSafetyState(
            at("03-02 07:00"), "bypass", "Level trip of the tank", "tanks", authorised_by="head"
        ),
    )
    put(at("03-02 09:00"), NewStatus("area", "mills", at("03-02 08:30"), "down", "belt torn"))
    put(at("03-02 09:30"), NewStatus("area", "mills", at("03-02 09:20"), "up"))
    put(at("03-02 09:40"), NewModeChange(at("03-02 06:30"), "startup", "after the stop"))
    (item,) = put(
        at("03-02 10:00"), NewOpenItem(at("03-02 10:00"), "Order a belt", "mills", owner="mills")
    )
    put(at("03-02 11:00"), NewItemEvent(item, at("03-02 11:00"), "update", "ordered"))
    put(
        at("03-02 12:00"),
        NewEntry(at("03-02 11:50"), "Belt 2 squeals", "maintenance", "mills", "m1"),
    )
    put(at("03-02 13:00"), NewItemEvent(item, at("03-02 13:00"), "close", "fitted"))
    put(
        at("03-02 14:00"),
        NewInstruction(at("03-02 14:00"), None, "Log every stop", None),
        person="head",
    )
    assert lines(told()) == [
        ("operating mode", "startup", "Mode Start-up: after the stop"),
        ("safety state", "bypass", "Level trip of the tank, authorised by head"),
        ("down", "", "Mills down: belt torn"),
        ("up again", "", "Mills up again"),
        ("open item", "opened", "Order a belt"),
        ("open item", "update", "Order a belt: ordered"),
        ("log entry", "maintenance", "Belt 2 squeals"),
        ("open item", "closed", "Order a belt: fitted"),
        ("standing instruction", "in force", "Log every stop"),
    ]


def test_a_moment_belongs_to_the_shift_in_which_it_happened_once(put, told, at):
    """What happens as the shift ends belongs to the next one; both together miss nothing."""
    for clock in ("05:59", "06:00", "17:59", "18:00"):
        put(at("03-02 18:30"), NewEntry(at(f"03-02 {clock}"), f"at {clock}"))
    assert [m.text for m in told()] == ["at 06:00", "at 17:59"]
    assert [m.text for m in told("03-02 18:00", "03-03 06:00")] == ["at 18:00"]
    assert [m.text for m in told("03-01 18:00", "03-02 06:00")] == ["at 05:59"]


def test_what_was_written_late_is_marked(put, told, at):
    """More than the plant's grace time after it happened; also once it was corrected."""
    put(at("03-02 09:00"), NewEntry(at("03-02 08:00"), "in time"))
    (late,) = put(at("03-02 09:01"), NewEntry(at("03-02 08:00"), "late"))
    put(at("03-02 12:00"), NewStatus("area", "mills", at("03-02 10:59"), "down", "belt torn"))
    assert [m.is_late for m in told()] == [False, True, True]
    row = NewEntry(at("03-02 08:00"), "later", replaces=late, why="wording")
    put(at("03-02 13:00"), row)
    (moment,) = [m for m in told() if m.text == "later"]
    assert moment.is_late


def test_a_correction_made_late_does_not_make_the_entry_late(put, told, at):
    """It was written in time; the correction has its own mark."""
    (first,) = put(at("03-02 08:05"), NewEntry(at("03-02 08:00"), "Belt 2"))
    put(at("03-02 12:00"), NewEntry(at("03-02 08:00"), "Belt 3", replaces=first, why="misread"))
    (moment,) = told()
    assert (moment.text, moment.is_late, moment.is_corrected) == ("Belt 3", False, True)


def test_a_corrected_entry_shows_what_it_said_before_and_why(put, told, at):
    """Old and new stand together."""
    (first,) = put(at("03-02 09:00"), NewEntry(at("03-02 09:00"), "Belt 2"))
    (second,) = put(
        at("03-02 09:10"), NewEntry(at("03-02 09:00"), "Belt 3", replaces=first, why="misread")
    )
    (moment,) = told()
    assert (moment.text, moment.was, moment.why) == ("Belt 3", "Belt 2", "misread")
    assert moment.is_corrected
    put(at("03-02 09:20"), NewEntry(at("03-02 09:00"), "Belt 4", replaces=second, why="again"))
    (moment,) = told()
    assert (moment.text, moment.was, moment.why) == ("Belt 4", "Belt 3", "again")


def test_a_correction_of_a_reading_shows_the_old_and_the_new_value(book, crew, put, told, at):
    """Who, when and why with them; a value taken back says so."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.53})
    old = book.of_round(at("03-02 08:00"))
    put(
        at("03-02 09:00"),
        corrected(old["gap.m1"], why="misread", value=0.35, typed="0.35"),
        corrected(old["bed"], why="other bed"),
        person="op2",
    )
    found = chosen(told(), kinds=[MomentKind.CORRECTION])
    assert [(m.text, m.was, m.why, m.person) for m in found] == [
        ("Flake thickness, Mill 1 0.35 mm", "0.53", "misread", "op2"),
        ("Bed at the sight glass withdrawn", "Even", "other bed", "op2"),
    ]
    assert {m.at for m in found} == {at("03-02 08:00")}
    assert found[0].written_at == at("03-02 09:00")
    assert (found[0].area, found[0].equipment) == ("mills", "m1")


def test_a_response_says_what_it_is_about(crew, told, at):
    """Point, value and judgement before what was done."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.53}, done={"gap.m1": "gap set"})
    (moment,) = told()
    assert moment.text == "Flake thickness, Mill 1 0.53 mm, action high: gap set"
    assert (moment.kind, moment.area, moment.equipment) == (MomentKind.RESPONSE, "mills", "m1")


def test_a_sample_and_its_result_are_two_moments(put, told, at):
    """Taken now, result later, maybe in another shift."""
    (sample,) = put(at("03-02 17:00"), NewSample(at("03-02 17:00"), "SP-7", "s1", "bin 4"))
    put(
        at("03-02 19:30"),
        NewReading("residue", at("03-02 17:00"), value=450.0, typed="450", sample=sample),
    )
    assert lines(told()) == [("sample", "s1", "SP-7 s1: bin 4")]
    assert lines(told("03-02 18:00", "03-03 06:00")) == [
        ("result", "s1", "SP-7 s1: Residual solvent in meal 450 mg/kg, warning high")
    ]


def test_a_corrected_result_came_when_it_first_did_and_says_what_it_says_now(book, put, told, at):
    """One moment for the result, one for its correction."""
    (sample,) = put(at("03-02 07:00"), NewSample(at("03-02 07:00"), "SP-7", "s1"))
    (result,) = put(
        at("03-02 09:30"),
        NewReading("residue", at("03-02 07:00"), value=450.0, typed="450", sample=sample),
    )
    put(at("03-02 11:00"), corrected(book.reading(result), why="misread", value=350.0))
    found = told()
    assert [(str(m.kind), m.at, m.was) for m in found] == [
        ("sample", at("03-02 07:00"), ""),
        ("correction", at("03-02 07:00"), "450"),
        ("result", at("03-02 09:30"), ""),
    ]
    assert found[2].text == "SP-7 s1: Residual solvent in meal 350 mg/kg"


def test_safety_states_tell_their_beginning_extension_and_end(put, told, at):
    """Each in the shift in which it happened."""
    (state,) = put(
        at("03-02 17:00"),
        NewSafetyState(at("03-02 17:00"), "permit", "Hot work, roof", until_at=at("03-02 20:00")),
    )
    put(
        at("03-02 19:00"),
        NewSafetyEvent(state, at("03-02 19:00"), "extend", "not done yet", at("03-02 22:00")),
    )
    put(at("03-02 21:00"), NewSafetyEvent(state, at("03-02 21:00"), "clear", "done"))
    assert [m.note for m in told()] == ["permit"]
    night = told("03-02 18:00", "03-03 06:00")
    assert lines(night) == [
        ("safety state", "permit extended", "Hot work, roof: not done yet"),
        ("safety state", "permit cleared", "Hot work, roof: done"),
    ]


def test_an_instruction_tells_its_beginning_and_its_end(put, told, at):
    """Ended with a reason, or run out."""
    first, _ = put(
        at("03-02 06:00"),
        NewInstruction(at("03-02 06:00"), None, "Log every stop"),
        NewInstruction(at("03-02 07:00"), at("03-02 15:00"), "Slow feed", "mills"),
        person="head",
    )
    put(at("03-02 12:00"), NewInstructionEnd(first, at("03-02 12:00"), "new belt"), person="head")
    assert lines(told()) == [
        ("standing instruction", "in force", "Log every stop"),
        ("standing instruction", "in force", "Slow feed"),
        ("standing instruction", "ended", "Log every stop: new belt"),
        ("standing instruction", "ran out", "Slow feed"),
    ]


def test_moments_can_be_chosen_by_kind_area_and_person(put, told, at):
    """What concerns the whole plant belongs to every area."""
    put(at("03-02 07:00"), NewEntry(at("03-02 07:00"), "mills", area="mills"))
    put(at("03-02 08:00"), NewEntry(at("03-02 08:00"), "tanks", area="tanks"), person="op2")
    put(at("03-02 09:00"), NewStatus("plant", "", at("03-02 09:00"), "down", "no steam"))
    every = told()
    assert [m.text for m in chosen(every, area="mills")] == [
        "mills",
        "Plant of two mills down: no steam",
    ]
    assert [m.text for m in chosen(every, person="op2")] == ["tanks"]
    assert [m.text for m in chosen(every, kinds={MomentKind.DOWN})] == [
        "Plant of two mills down: no steam"
    ]
    assert chosen(every) == every


def test_moments_of_one_instant_stand_safety_first(put, told, at):
    """Then what stood, then what was written; the order never changes by chance."""
    when = at("03-02 07:00")
    put(
        when,
        NewEntry(when, "noted"),
        NewOpenItem(when, "to do"),
        NewStatus("area", "mills", when, "down", "belt torn"),
        NewSafetyState(when, "isolation", "Belt 2 locked out"),
        NewSample(when, "SP-7", "s1"),
    )
    found = told()
    kinds = ["safety state", "down", "open item", "log entry", "sample"]
    assert [str(m.kind) for m in found] == kinds
    assert in_order(reversed(found)) == found


# ---------------------------------------------------------------- what is open


def test_the_journal_of_a_shift_holds_what_is_open_at_its_end(book, crew, put, at):
    """An ended shift shows what was open then, not what is now."""
    crew.round(at("03-02 16:00"), {"gap.m1": 0.53}, done={"gap.m1": "gap set"})
    when = at("03-02 16:30")
    item, state, _ = put(
        when,
        NewOpenItem(when, "Order a belt"),
        NewSafetyState(when, "bypass", "Level trip"),
        NewSample(at("03-02 13:00"), "SP-7", "s1"),
    )
    put(when, NewInstruction(when, None, "Log every stop"), person="head")
    put(when, NewStatus("area", "tanks", when, "down", "cleaning"))
    put(at("03-02 19:00"), NewItemEvent(item, at("03-02 19:00"), "close", "done"))
    put(at("03-02 19:00"), NewSafetyEvent(state, at("03-02 19:00"), "clear", "back in"))
    now, day = at("03-02 20:00"), shift_at(book.plant_at(at("03-02 20:00")).calendar, when)
    found = journal_of(book, day, now)
    assert [i.text for i in found.items] == ["Order a belt"]
    assert [s.what for s in found.safety] == ["Level trip"]
    assert [i.text for i in found.instructions] == ["Log every stop"]
    assert [(s.sample.label, s.is_overdue) for s in found.samples] == [("s1", True)]
    assert [(d.name, d.runs_on, d.hours) for d in found.downtimes] == [("Tanks", True, 1.5)]
    kinds = ["response", "safety state", "down", "standing instruction", "open item"]
    assert [str(m.kind) for m in found.moments if m.kind is not MomentKind.SAMPLE] == kinds
    assert found.checks == ()
    night = journal_of(book, shift_at(book.plant_at(now).calendar, now), now)
    assert night.items == night.safety == ()
    assert [c.point.key for c in night.checks] == ["gap.m1"]
    assert [(d.name, d.began_before) for d in night.downtimes] == [("Tanks", True)]


def test_open_items_stand_by_how_urgent_they_are(book, put, at):
    """The overdue first, then by their time, last those without one."""
    for text, due in (
        ("none", None),
        ("later", "03-02 20:00"),
        ("over", "03-02 11:00"),
        ("soon", "03-02 13:00"),
    ):
        put(
            at("03-02 10:00"), NewOpenItem(at("03-02 10:00"), text, due_at=at(due) if due else None)
        )
    now = at("03-02 12:00")
    found = by_urgency(book.open_items(now), now)
    assert [item.text for item in found] == ["over", "soon", "later", "none"]
    assert [is_overdue(item, now) for item in found] == [True, False, False, False]


def test_everybody_of_a_crew_has_to_read_an_instruction(book, put, at):
    """Who has and who has not; who belongs to no crew is not asked."""
    put(at("03-02 07:00"), NewInstruction(at("03-02 07:00"), None, "Log every stop"), person="head")
    now = at("03-02 08:00")
    plant = book.plant_at(now)
    assert [p.key for p in readers_of(plant)] == ["op1", "op2"]
    (one,) = book.instructions(now)
    assert [p.key for p in not_read_by(plant, one)] == ["op1", "op2"]
    assert [i.text for i in to_read(book, plant, "op1", now)] == ["Log every stop"]
    put(now, NewAcknowledgement(one.id, now), person="op1")
    (one,) = book.instructions(now)
    assert [p.key for p in not_read_by(plant, one)] == ["op2"]
    assert to_read(book, plant, "op1", now) == ()
    put(now, NewInstruction(now, None, "Slow feed"), person="op2")
    assert [p.key for p in not_read_by(plant, book.instructions(now)[1])] == ["op1"]
    assert [i.text for i in to_read(book, plant, "op2", now)] == ["Log every stop"]
    assert to_read(book, plant, "head", now) == to_read(book, plant, "guest", now) == ()


def test_an_empty_shift_has_an_empty_journal(book, at, clock):
    """Nothing breaks on the first day."""
    clock.set(at("03-02 07:00"))
    shift = shift_at(book.plant_at(clock.now).calendar, clock.now)
    found = journal_of(book, shift, clock.now)
    assert found.moments == found.items == found.safety == found.samples == found.checks == ()
    assert found.downtimes == found.instructions == ()


def test_a_long_shift_is_read_quickly(book, put, crew, told, at, clock):
    """Hundreds of entries, items and responses: each is asked for together, not one by one."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.53})
    reading = book.of_round(at("03-02 08:00"))["gap.m1"].id
    rows = [NewEntry(at("03-02 09:00") + timedelta(seconds=k), f"entry {k}") for k in range(300)]
    rows += [NewOpenItem(at("03-02 10:00") + timedelta(seconds=k), f"item {k}") for k in range(100)]
    rows += [NewResponse(reading, f"response {k}", at("03-02 11:00")) for k in range(100)]
    rows += [NewItemEvent(Ref(300 + k), at("03-02 12:00"), "update", "news") for k in range(100)]
    put(at("03-02 12:00"), *rows)
    begun = time.perf_counter()
    found = told()
    assert len(found) == 600
    assert time.perf_counter() - begun < 2.0
