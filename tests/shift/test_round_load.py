"""The form of a round as the book fills it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.model import Limits
from logbook.record import NewModeChange, NewReading, NewStatus, corrected
from logbook.shift.round_load import load_form
from logbook.shift.standing import standing_spans


@pytest.fixture
def load(book):
    """Loads a form of the book."""

    def loaded(when, *, is_round=True):
        return load_form(book, book.plant_at(when), when, is_round=is_round)

    return loaded


def test_a_round_of_a_new_book_asks_for_what_is_read_each_round(load, at):
    """Nothing was read before, so nothing is known but what is due; no rate can be worked out."""
    form = load(at("03-02 08:00"))
    due = [key for key, shown in form.fields.items() if shown.due]
    assert due == ["gap.m1", "gap.m2", "feed", "solvent", "bed", "moisture", "dip"]
    assert all(shown.last is None for shown in form.fields.values())
    assert form.fields["state.m1"].told == "once a shift"
    assert form.fields["residue"].told == "on sample"


@pytest.mark.parametrize(
    ("hour", "wanted"),
    [("06:00", True), ("08:00", False), ("10:00", True), ("14:00", True), ("16:00", False)],
)
def test_a_point_read_every_four_hours_is_due_from_the_start_of_the_shift(load, at, hour, wanted):
    """Every second round."""
    assert load(at(f"03-02 {hour}")).fields["pressure"].due is wanted


def test_what_is_read_once_a_shift_is_due_in_its_last_round_unless_read(load, at, crew):
    """Mill 1 was read at 06:00, mill 2 was not; both can be read at any time."""
    crew.round(at("03-02 06:00"), {"state.m1": "running"})
    morning, last = load(at("03-02 08:00")), load(at("03-02 16:00"))
    assert not morning.fields["state.m2"].due
    assert morning.is_open("state.m2")
    assert not last.fields["state.m1"].due
    assert last.fields["state.m1"].told == "once a shift, read 06:00"
    assert last.fields["state.m2"].due


def test_what_was_read_in_the_shift_before_is_due_again(load, at, crew):
    """Once a shift is once in each."""
    crew.round(at("03-02 06:00"), {"state.m1": "running"})
    assert load(at("03-03 04:00")).fields["state.m1"].due


def test_a_daily_point_is_due_in_the_day_shift_only(load, at, crew):
    """In its last round, where it has not been read."""
    assert load(at("03-02 16:00")).fields["magnets"].due
    assert not load(at("03-03 04:00")).fields["magnets"].due
    crew.round(at("03-02 12:00"), {"magnets": "done"})
    assert not load(at("03-02 16:00")).fields["magnets"].due


def test_the_last_reading_is_the_last_with_a_value(load, at, crew):
    """A reason in between does not hide it."""
    crew.round(at("03-02 06:00"), {"dip": 1.4})
    crew.round(at("03-02 08:00"), {"dip": "!not_safe"})
    last = load(at("03-02 10:00")).fields["dip"].last
    assert (last.value, last.taken_at) == (1.4, at("03-02 06:00"))


def test_what_the_book_holds_is_shown_as_saved_and_closed(load, at, crew):
    """With its judgement, its writer and what was typed."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.43}, person="op2")
    form = load(at("03-02 08:00"))
    shown = form.fields["gap.m1"]
    assert (shown.saved.value, shown.saved.person, shown.entry.typed) == (0.43, "op2", "0.43")
    assert str(shown.judgement) == "warning high"
    assert not form.is_open("gap.m1")
    assert form.progress("tanks").is_complete
    assert form.fields["gap_mean"].entry.value == pytest.approx(0.39)


def test_a_corrected_reading_is_shown_as_it_now_stands(load, at, crew, book):
    """And marked as corrected."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.53})
    old = book.readings(["gap.m1"], at("03-02 08:00"), at("03-02 08:01"))[0]
    book.write("op1", [corrected(old, why="slip", value=0.35)], kind="correction")
    shown = load(at("03-02 08:00")).fields["gap.m1"]
    assert shown.saved.corrected
    assert shown.saved.value == 0.35
    assert not shown.judgement.is_out


def test_an_answer_not_done_is_judged_when_it_comes_from_the_book(load, at, crew):
    """The check names no answers of its own."""
    crew.round(at("03-02 06:00"), {"magnets": "not_done"})
    assert str(load(at("03-02 06:00")).fields["magnets"].judgement) == "warning"


def test_a_machine_that_is_down_is_not_asked_for(load, at, book, clock):
    """Neither are its state and its guard; after it is up, it is."""
    clock.set(at("03-02 09:00"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 07:00"), "down", "bearing")])
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 09:00"), "up")])
    form = load(at("03-02 08:00"))
    assert form.fields["gap.m1"].off_duty == "machine down"
    assert not form.is_open("state.m1")
    assert form.is_open("gap.m2")
    assert load(at("03-02 10:00")).fields["gap.m1"].due


def test_a_reading_taken_though_the_machine_was_down_is_shown_unjudged(load, at, book, crew):
    """It is a fact, but nobody expects it to be within limits."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.6})
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 07:00"), "down", "bearing")])
    shown = load(at("03-02 08:00")).fields["gap.m1"]
    assert shown.saved is not None
    assert not shown.judgement.is_judged


def test_limits_are_those_of_the_mode(load, at, book, clock):
    """In start-up the pressure may be lower; in shut-down it is not read."""
    clock.set(at("03-02 12:00"))
    book.write("op1", [NewModeChange(at("03-02 05:00"), "startup", "begin")])
    assert load(at("03-02 06:00")).fields["pressure"].limits == Limits(warning_low=-300)
    book.write("op1", [NewModeChange(at("03-02 09:00"), "shutdown", "end")])
    form = load(at("03-02 10:00"))
    assert form.mode == "shutdown"
    assert form.fields["pressure"].off_duty == "not in shut-down"


def test_a_round_is_judged_by_the_definitions_of_its_own_time(load, at, book, clock, plant):
    """A later revision changes neither its limits nor its points."""
    clock.set(at("03-02 12:00"))
    point = plant.point("gap.m1")
    wider = replace(point, limits=replace(point.limits, warning_high=0.44))
    points = tuple(wider if p.key == "gap.m1" else p for p in plant.points if p.key != "dip")
    book.revise(
        "head",
        replace(plant, points=points),
        effective_from=at("03-02 11:00"),
        reason="new rolls",
    )
    before, after = load(at("03-02 10:00")), load(at("03-02 12:00"))
    assert before.fields["gap.m1"].limits.warning_high == 0.40
    assert after.fields["gap.m1"].limits.warning_high == 0.44
    assert "dip" in before.fields
    assert "dip" not in after.fields


def test_readings_outside_the_rounds_ask_for_nothing(load, at):
    """Every field is open and none is due."""
    form = load(at("03-02 09:17"), is_round=False)
    assert form.round_at is None
    assert form.open_keys() == []
    assert form.is_open("gap.m1")


# -- machines that stand -----------------------------------------------------------------------


def test_a_mill_read_as_standing_is_not_asked_for_in_the_rounds_after(load, at, crew):
    """Its fields say why; the state can be read anew and opens them."""
    crew.round(at("03-02 06:00"), {"state.m1": "standby"}, without=["gap.m1"])
    form = load(at("03-02 10:00"))
    assert form.fields["gap.m1"].not_due == "standby"
    assert "gap.m1" not in form.open_keys()
    form.type("state.m1", "running")
    assert "gap.m1" in form.open_keys()


def test_a_mill_read_as_running_again_is_asked_for(load, at, crew):
    """Also when the last word on it is a reason."""
    crew.round(at("03-02 06:00"), {"state.m1": "standby"}, without=["gap.m1"])
    crew.round(at("03-02 08:00"), {"state.m1": "running"})
    crew.round(at("03-02 10:00"), {"state.m1": "!not_sampled"})
    assert load(at("03-02 12:00")).fields["gap.m1"].not_due == ""


def test_a_mill_written_as_up_is_asked_for(load, at, crew, book, clock):
    """The word that it is up is newer than its state."""
    crew.round(at("03-02 06:00"), {"state.m1": "down"}, without=["gap.m1"])
    clock.set(at("03-02 09:00"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 06:10"), "down", "belt")])
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 09:00"), "up")])
    assert load(at("03-02 10:00")).fields["gap.m1"].not_due == ""


def test_a_round_does_not_ask_of_a_mill_that_stands(dues_of, at, crew):
    """Nor before, nor after."""
    crew.round(at("03-02 08:00"), {"state.m1": "standby"}, without=["gap.m1"])
    crew.round(at("03-02 12:00"), {"state.m1": "running"})
    asked = ["gap.m1" in dues_of(at(f"03-02 {h}:00")) for h in ("06", "08", "10", "12")]
    assert asked == [True, False, False, True]


def test_a_mill_written_as_up_is_due_again(dues_of, at, crew, book, clock):
    """From then on, also while the shift is looked through as a whole; not before."""
    crew.round(at("03-02 06:00"), {"state.m1": "down"}, without=["gap.m1"])
    clock.set(at("03-02 09:00"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 09:00"), "up")])
    crew.round(at("03-02 12:00"), {"state.m1": "standby"}, without=["gap.m1"])
    spans = standing_spans(book, book.plant_at(clock.now), at("03-02 00:00"), at("03-02 18:00"))
    assert [(s.start, s.end, s.reason) for s in spans["m1"]] == [
        (at("03-02 06:00"), at("03-02 09:00"), "down"),
        (at("03-02 12:00"), None, "standby"),
    ]
    asked = ["gap.m1" in dues_of(at(f"03-02 {h}:00")) for h in ("08", "10", "14")]
    assert asked == [False, True, False]


# -- counters ------------------------------------------------------------------------------------


def test_a_quotient_of_counters_goes_back_to_where_both_were_read(load, at, crew):
    """The solvent meter was forgotten at 08:00: both increases are since 06:00."""
    crew.round(at("03-02 06:00"), {"feed": 1000, "solvent": 500})
    crew.round(at("03-02 08:00"), {"feed": 1120}, without=["solvent"])
    form = load(at("03-02 10:00"))
    form.fill({"feed": "1240", "solvent": "620"})
    assert form.fields["solvent_use"].entry.value == pytest.approx(120 / 240)
    assert form.fields["feed_rate"].entry.value == pytest.approx(60)


def test_counters_never_read_together_give_no_quotient(load, at, crew):
    """One at 06:00, the other at 08:00."""
    crew.round(at("03-02 06:00"), {"feed": 1000}, without=["solvent"])
    crew.round(at("03-02 08:00"), {"solvent": 500}, without=["feed"])
    form = load(at("03-02 10:00"))
    form.fill({"feed": "1240", "solvent": "620"})
    assert form.fields["solvent_use"].entry.value is None


def test_a_reading_a_second_off_belongs_to_another_time(load, at, book, clock):
    """It is the last reading, not a saved one."""
    clock.set(at("03-02 08:00"))
    book.write("op1", [NewReading("dip", at("03-02 08:00") - timedelta(seconds=1), value=1.0)])
    shown = load(at("03-02 08:00")).fields["dip"]
    assert shown.saved is None
    assert shown.last.value == 1.0
