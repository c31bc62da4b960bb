"""Deviations out of the book: gaps, down times, modes, how they close and how far back they go."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.assess.limits import Closing, Severity
from logbook.plant.model import Frequency, Limits, Often
from logbook.record import NewModeChange, NewStatus, corrected
from logbook.shift.runs import max_gap, point_gap, runs_between


@pytest.fixture
def runs(book, at):
    """Runs of points over the day shift of 2 March, or another span."""

    def found(*keys, start="03-02 06:00", end="03-02 18:00"):
        plant = book.plant_at(at(end))
        points = [plant.point(key) for key in keys or ("gap.m1",)]
        return runs_between(book, plant, points, at(start), at(end))

    return found


@pytest.fixture
def gaps(crew, at):
    """Writes rounds of 2 March with the thickness of mill 1 by clock; None: not read."""

    def write(by_clock, day="03-02"):
        for clock, value in by_clock.items():
            without = ["gap.m1"] if value is None else []
            answers = {} if value is None else {"gap.m1": value}
            crew.round(at(f"{day} {clock}"), answers, without=without)

    return write


def test_a_run_goes_from_the_first_reading_out_to_the_first_back_inside(gaps, runs, at):
    """Worst value, count and severity are those of the whole run."""
    gaps({"06:00": 0.35, "08:00": 0.42, "10:00": 0.47, "12:00": 0.43, "14:00": 0.39})
    [found] = runs()
    run = found.run
    assert (run.start, run.last_out, run.end) == (
        at("03-02 08:00"), at("03-02 12:00"), at("03-02 14:00"),
    )  # fmt: skip
    assert (run.severity, run.worst_value, run.count) == (Severity.ACTION, 0.47, 3)
    assert run.closing is Closing.BACK_INSIDE
    assert found.last_value == 0.43
    assert found.limits.action_high == 0.45


def test_a_run_that_reaches_the_end_is_open(gaps, runs):
    """Nothing has closed it yet."""
    gaps({"14:00": 0.35, "16:00": 0.42})
    [found] = runs()
    assert found.run.is_open
    assert found.run.end is None


def test_one_missed_round_does_not_break_a_run_but_three_do(gaps, runs):
    """Two and a half rounds lie between two readings at most."""
    gaps({"06:00": 0.42, "08:00": None, "10:00": 0.42})
    [found] = runs()
    assert found.run.count == 2
    gaps({"12:00": None, "14:00": None, "16:00": 0.42})
    first, second = runs()
    assert first.run.closing is Closing.GAP
    assert second.run.count == 1


def test_high_and_low_are_two_runs(gaps, runs):
    """The first ends on the other side."""
    gaps({"06:00": 0.42, "08:00": 0.28})
    first, second = runs()
    assert first.run.closing is Closing.OTHER_SIDE
    assert second.run.direction < 0


def test_a_stop_of_the_machine_closes_its_run(gaps, runs, book, at, clock):
    """Also where nothing was read while it was down, and what is read after is a new run."""
    gaps({"06:00": 0.42})
    clock.set(at("03-02 08:30"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 07:00"), "down", "bearing")])
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 08:30"), "up")])
    gaps({"10:00": 0.42})
    first, second = runs()
    assert first.run.closing is Closing.NOT_DUE
    assert second.run.start == at("03-02 10:00")


@pytest.mark.parametrize(("scope", "target"), [("plant", ""), ("area", "mills")])
def test_what_is_read_while_the_area_or_plant_is_down_is_not_judged(
    gaps, runs, book, at, scope, target
):
    """A standing plant is not out of limits."""
    gaps({"08:00": 0.35})
    book.write("op1", [NewStatus(scope, target, at("03-02 07:00"), "down", "no steam")])
    gaps({"10:00": 0.6})
    assert runs() == []


def test_a_mill_read_as_standing_has_no_deviation(crew, runs, at):
    """From the reading of its state until it is read as running."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.42})
    crew.round(at("03-02 08:00"), {"state.m1": "standby", "gap.m1": 0.6})
    crew.round(at("03-02 10:00"), {"gap.m1": 0.6})
    crew.round(at("03-02 12:00"), {"state.m1": "running", "gap.m1": 0.42})
    first, second = runs()
    assert first.run.closing is Closing.NOT_DUE
    assert (second.run.start, second.run.severity) == (at("03-02 12:00"), Severity.WARNING)


def test_a_silent_mode_is_not_judged(crew, book, runs, at, clock):
    """The pressure in shut-down may be what it is."""
    clock.set(at("03-02 12:00"))
    book.write("op1", [NewModeChange(at("03-02 07:00"), "shutdown", "end")])
    crew.round(at("03-02 10:00"), {"pressure": 0})
    assert runs("pressure") == []


def test_a_correction_takes_a_deviation_away(gaps, runs, book, at):
    """It was a slip of the pen."""
    gaps({"08:00": 0.53})
    [old] = book.readings(["gap.m1"], at("03-02 08:00"), at("03-02 08:01"))
    book.write("op1", [corrected(old, why="slip", value=0.35)], kind="correction")
    assert runs() == []


# -- which belong to a shift -----------------------------------------------------------------------


def test_a_run_of_the_shift_before_that_ended_there_does_not_belong_to_this_one(gaps, runs):
    """Back inside in its last round, or in the first of this shift: then it was open no time."""
    gaps({"20:00": 0.42, "22:00": 0.35}, day="03-01")
    assert runs() == []
    gaps({"04:00": 0.42})
    gaps({"06:00": 0.35})
    assert runs() == []


def test_a_run_of_the_shift_before_that_ends_in_this_one_belongs_to_both(gaps, runs, at):
    """With the time at which it began."""
    gaps({"22:00": 0.42}, day="03-01")
    gaps({"00:00": 0.42, "02:00": 0.42, "04:00": 0.42, "06:00": 0.42, "08:00": 0.35})
    [found] = runs()
    assert found.run.start == at("03-01 22:00")
    assert found.run.end == at("03-02 08:00")


def test_a_run_left_open_and_not_read_again_is_still_open(gaps, runs):
    """As long as the next reading would go on with it; then it is no longer told."""
    gaps({"04:00": 0.42})
    [found] = runs()
    assert found.run.is_open
    assert runs(start="03-02 10:00", end="03-02 18:00") == []


def test_a_run_that_began_weeks_ago_is_told_from_its_beginning(crew, runs, at, clock):
    """Farther back than the first look."""
    when = at("03-01 06:00")
    while when < at("03-18 06:00"):
        crew.round(when, {"gap.m1": 0.42, "gap.m2": 0.42})
        when += timedelta(hours=4)
    one, mean = runs("gap.m1", "gap_mean", start="03-18 00:00", end="03-18 06:00")
    assert one.run.start == mean.run.start == at("03-01 06:00")
    assert one.run.count == 102


def test_the_rarest_input_decides_how_long_a_computed_point_may_be_unread(plant):
    """A mean of readings every round may miss one; of daily readings, a day."""
    assert max_gap(Frequency(Often.ROUND), 2) == timedelta(hours=5)
    assert max_gap(Frequency(Often.HOURS, 4), 2) == timedelta(hours=10)
    assert max_gap(Frequency(Often.SHIFT), 2) == timedelta(hours=30)
    assert max_gap(Frequency(Often.DAY), 2) == timedelta(hours=60)
    assert point_gap(plant.point("gap_evenness"), plant) == timedelta(hours=5)


def test_a_rate_that_was_out_before_the_shift_is_open_though_its_counter_was_long_unread(
    book, crew, plant, at
):
    """It needs the count before, which lies farther back than any deviation may last."""
    limits = Limits(warning_high=50.0)
    points = tuple(replace(p, limits=limits) if p.key == "feed_rate" else p for p in plant.points)
    judged = replace(plant, points=points)
    book.revise("head", judged, effective_from=at("03-01 06:00"), reason="rate is judged")
    crew.round(at("03-01 14:00"))
    crew.round(at("03-02 04:00"))
    found = runs_between(book, judged, judged.points, at("03-02 06:00"), at("03-02 07:00"))
    assert [(r.point.key, r.run.start) for r in found] == [("feed_rate", at("03-02 04:00"))]


def test_a_deviation_that_began_long_before_is_told_with_its_true_beginning(book, crew, plant, at):
    """Whether it began yesterday or nine days ago: it is looked for until it is found."""
    for day in range(1, 11):
        for clock in ("06:00", "10:00", "14:00", "18:00", "22:00"):
            crew.round(at(f"03-{day:02} {clock}"), {"gap.m1": 0.41})
        crew.round(at(f"03-{day + 1:02} 02:00"), {"gap.m1": 0.41})
    [found] = runs_between(book, plant, plant.points, at("03-11 01:00"), at("03-11 03:00"))
    assert found.run.start == at("03-01 06:00")
    assert found.run.count == 60
