"""The handover of a shift, put together from what the book says."""

from datetime import timedelta

import pytest

from logbook.plant.calendar import next_shift, shift_at
from logbook.record import (
    NewEntry,
    NewHandoverNote,
    NewInstruction,
    NewItemEvent,
    NewModeChange,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
    NewStatus,
    corrected,
)
from logbook.shift.handover import compose
from logbook.shift.next_duties import DutyKind


def duties(handover, kind):
    """Sentences of the duties of a kind."""
    return [duty.text for duty in handover.next_duties if duty.kind is kind]


def test_a_quiet_shift_hands_on_its_figures_and_no_worries(crew, desk, clock, at):
    """Every part is there; what wants a look is empty."""
    crew.round(at("03-02 04:00"))
    crew.shift(at("03-02 06:00"))
    found = desk.compose()
    assert found.open_deviations == found.closed_deviations == ()
    assert found.open_answers == found.not_available == found.gaps == ()
    assert found.safety == found.items == found.corrections == found.late == ()
    assert found.throughput.tonnes == pytest.approx(600)
    assert [tank.volume for tank in found.tanks] == [pytest.approx(24.2, abs=0.2)]
    assert found.risks == ()
    assert found.people == ("op1",)


def test_open_deviations_stand_apart_from_those_that_are_over(crew, desk, at):
    """Each with its last value and what was done about it."""
    crew.shift(at("03-02 06:00"), {"08:00": {"gap.m1": 0.42}})
    crew.round(at("03-02 17:00"), {"gap.m2": 0.47}, done={"gap.m2": "roll set"})
    found = desk.compose()
    [closed] = [d for d in found.closed_deviations if not d.follows]
    [opened] = [d for d in found.open_deviations if not d.follows]
    assert closed.found.point.key == "gap.m1"
    assert (opened.found.point.key, opened.found.last_value) == ("gap.m2", 0.47)
    assert opened.responses == ("roll set",)


def test_a_deviation_that_came_in_from_before_is_told_as_old(crew, desk, at):
    """With its true beginning."""
    for when in ("03-02 02:00", "03-02 04:00", "03-02 06:00"):
        crew.round(at(when), {"gap.m1": 0.42})
    [found] = [d for d in desk.compose().open_deviations if not d.follows]
    assert found.found.run.start == at("03-02 02:00")


def test_an_answer_is_open_until_another_one_is_read(crew, desk, at):
    """The bed was flooded twice: the first time is over."""
    crew.round(at("03-02 06:00"), {"bed": "flooded"})
    crew.round(at("03-02 08:00"))
    assert [a.point.key for a in desk.compose().closed_answers] == ["bed"]
    crew.round(at("03-02 10:00"), {"bed": "flooded"})
    found = desk.compose()
    assert [a.reading.taken_at for a in found.open_answers] == [at("03-02 10:00")]
    assert [a.reading.taken_at for a in found.closed_answers] == [at("03-02 06:00")]


def test_how_often_a_point_was_out_in_the_week_before_is_counted(crew, desk, at):
    """A fault that comes back is seen as one that comes back; the present one is not counted."""
    for when, value in (("06:00", 0.41), ("08:00", 0.35), ("12:00", 0.41), ("14:00", 0.35)):
        crew.round(at(f"03-01 {when}"), {"gap.m1": value})
    crew.round(at("03-02 06:00"), {"gap.m1": 0.41})
    assert desk.compose().repeats == {"gap.m1": 2}


def test_what_stands_at_the_end_is_not_available(crew, desk, book, clock, at):
    """What came back in the shift is downtime alone."""
    crew.shift(at("03-02 06:00"))
    clock.set(at("03-02 17:00"))
    rows = [
        NewStatus("equipment", "m1", at("03-02 13:00"), "down", "bearing"),
        NewStatus("equipment", "m2", at("03-02 08:00"), "down", "belt"),
        NewStatus("equipment", "m2", at("03-02 09:00"), "up"),
    ]
    book.write("op1", rows)
    found = desk.compose()
    assert [stop.name for stop in found.not_available] == ["Mill 1"]
    assert [down.stop.name for down in found.lost_time.downs] == ["Mill 2", "Mill 1"]


def test_safety_states_and_items_are_as_at_the_end_of_the_shift(desk, book, clock, at):
    """Looked at a day later nothing that came after is in it."""
    clock.set(at("03-02 10:00"))
    saved = book.write(
        "op1",
        [
            NewSafetyState(at("03-02 09:00"), "bypass", "Level trip of the work tank", "tanks"),
            NewSafetyState(at("03-02 09:30"), "permit", "Hot work at mill 2", "mills", "m2"),
            NewOpenItem(at("03-02 09:40"), "Order a bearing", "mills", owner="op2"),
            NewOpenItem(at("03-02 09:50"), "Sweep the dock"),
        ],
    )
    clock.set(at("03-02 16:00"))
    rows = [
        NewSafetyEvent(saved.ids[1], at("03-02 15:00"), "clear", "work done"),
        NewItemEvent(saved.ids[3], at("03-02 15:30"), "close", "swept"),
    ]
    book.write("op1", rows)
    clock.set(at("03-03 07:00"))
    book.write("op2", [NewSafetyState(at("03-02 20:00"), "override", "Fan", "mills")])
    found = desk.compose()
    assert [state.what for state in found.safety] == ["Level trip of the work tank"]
    assert [state.what for state in found.safety_cleared] == ["Hot work at mill 2"]
    assert [item.text for item in found.items] == ["Order a bearing"]
    assert [item.text for item in found.items_closed] == ["Sweep the dock"]


def test_entries_and_notes_of_the_shift_are_in_it(desk, book, clock, at):
    """Of a note, the latest; a blank one is none."""
    clock.set(at("03-02 10:00"))
    day, key = desk.shift.date, desk.shift.pattern
    rows = [
        NewEntry(at("03-02 09:00"), "Magnet cleaned twice", "process", "mills"),
        NewHandoverNote(day, key, "remarks", "draft"),
        NewHandoverNote(day, key, "no_next", "none"),
    ]
    book.write("op1", rows)
    clock.advance(minutes=1)
    rows = [
        NewHandoverNote(day, key, "remarks", "A good day"),
        NewHandoverNote(day, key, "no_next", " "),
    ]
    book.write("op1", rows)
    found = desk.compose()
    assert [entry.text for entry in found.entries] == ["Magnet cleaned twice"]
    assert {part: note.text for part, note in found.notes.items()} == {"remarks": "A good day"}


def test_whoever_only_came_to_the_door_did_not_work_the_shift(crew, desk, clock, at):
    """Neither a wrong try under a name that nobody has, nor who signed on and went."""
    crew.round(at("03-02 06:00"))
    clock.set(at("03-02 07:00"))
    desk.door.sign_on("nobody", "123123")
    desk.door.sign_on("op2", desk.secrets["op2"])
    assert desk.compose().people == ("op1",)


def test_a_running_shift_is_told_up_to_now(crew, desk, clock, at):
    """What is not due yet is not missing."""
    crew.round(at("03-02 06:00"), {"state.m1": "running", "state.m2": "running"})
    crew.round(at("03-02 08:00"))
    clock.set(at("03-02 08:20"))
    found = desk.compose()
    assert found.until == at("03-02 08:20")
    assert found.gaps == ()
    assert [status.at for status in found.rounds] == [at("03-02 06:00"), at("03-02 08:00")]


def test_a_night_with_eleven_hours_is_handed_over_whole(crew, book, plant, clock, at):
    """The clocks go forward: five rounds and a half, none missing, the next shift at 06:00."""
    shift = shift_at(plant.calendar, at("03-07 18:00"))
    assert shift.length == timedelta(hours=11)
    crew.shift(shift.start)
    clock.set(shift.end)
    found = compose(book, shift, shift.end)
    assert found.next_shift == next_shift(plant.calendar, shift)
    assert len(found.rounds) == 6
    assert found.gaps == ()
    assert found.throughput.hours == pytest.approx(10)


def test_duties_of_the_next_shift_come_from_what_is_open(crew, desk, book, clock, at):
    """Safety first; a deviation that was answered is checked, one that was not is answered."""
    crew.round(at("03-02 16:00"), {"gap.m1": 0.47, "gap.m2": 0.47}, done={"gap.m1": "roll set"})
    clock.set(at("03-02 17:00"))
    rows = [
        NewSafetyState(
            at("03-02 16:30"), "permit", "Hot work", "mills", until_at=at("03-02 22:00")
        ),
        NewSafetyState(at("03-02 16:30"), "isolation", "Pump", until_at=at("03-05 06:00")),
        NewOpenItem(at("03-02 16:40"), "Call the fitter", due_at=at("03-02 20:00"), owner="op2"),
        NewOpenItem(at("03-02 16:41"), "Paint the rail"),
        NewInstruction(at("03-02 16:45"), None, "Wear the new masks"),
        NewHandoverNote(desk.shift.date, desk.shift.pattern, "next_shift", "Watch the bed"),
    ]
    book.write("op1", rows)
    found = desk.compose()
    assert duties(found, DutyKind.SAFETY) == [
        "Clear or extend: Hot work (permit runs out at 22:00)"
    ]
    assert duties(found, DutyKind.ITEM) == ["Call the fitter"]
    assert duties(found, DutyKind.NOTE) == ["Watch the bed"]
    assert duties(found, DutyKind.CHECK) == [
        "See whether it helped: Mills: Flake thickness, Mill 1 (roll set)"
    ]
    [answer] = duties(found, DutyKind.ANSWER)
    assert "Mill 2" in answer
    checked = next(d for d in found.next_duties if d.kind is DutyKind.CHECK)
    assert checked.due_at == at("03-02 18:00")
    kinds = [duty.kind for duty in found.next_duties]
    assert kinds == sorted(kinds, key=list(DutyKind).index)


def test_what_was_left_out_last_is_a_duty_and_so_is_what_is_read_once(crew, desk, at):
    """One that was made good later in the shift is not."""
    crew.round(at("03-02 14:00"), without=["moisture"])
    crew.round(at("03-02 16:00"), {"dip": "!not_safe"})
    found = duties(desk.compose(now=at("03-02 18:00")), DutyKind.READING)
    assert "Left out before: Tanks: Solvent work tank (not safe to take)" in found
    assert "2 readings once a shift" in found
    assert not any("moisture" in text for text in found)


def test_a_change_of_mode_is_told(desk, book, clock, at):
    """With the mode at the end."""
    clock.set(at("03-02 15:00"))
    book.write("op1", [NewModeChange(at("03-02 15:00"), "startup", "steam back")])
    found = desk.compose()
    assert found.mode == "startup"
    assert [stop.name for stop in found.mode_changes] == ["Start-up"]


def test_corrected_and_late_readings_are_told(crew, desk, book, clock, at):
    """Old and new value stand together; seven of the eight readings stand as they were entered."""
    crew.round(at("03-02 06:00"), after_min=95)
    [old] = book.readings(["gap.m2"], at("03-02 06:00"), at("03-02 06:01"))
    book.write("op1", [corrected(old, why="wrong dial", value=0.36)], kind="correction")
    found = desk.compose()
    assert [(c.before.value, c.after.value) for c in found.corrections] == [(0.35, 0.36)]
    assert [late.count for late in found.late] == [7]
