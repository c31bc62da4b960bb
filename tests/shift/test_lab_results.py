"""Results that came in a shift, samples that wait, and limits that changed in it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.assess.limits import Severity
from logbook.plant.model import Limits
from logbook.record import NewReading, NewSample
from logbook.shift.lab_results import OVERDUE_AFTER, lab_work
from logbook.shift.limit_changes import limit_changes


@pytest.fixture
def take(book, clock, at):
    """Writes a sample, and its result where one is given."""

    def write(taken, label, value=None, found=None):
        clock.set(max(clock.now, at(taken)))
        saved = book.write("op1", [NewSample(at(taken), "SP-7", label)], kind="sample")
        if value is not None:
            clock.set(max(clock.now, at(found)))
            row = NewReading(
                "residue", at(taken), value=value, typed=str(value), sample=saved.ids[0]
            )
            book.write("op2", [row], kind="lab")

    return write


@pytest.fixture
def work(book, plant, at):
    """The laboratory's work of the day shift of 2 March."""
    return lambda: lab_work(book, plant, at("03-02 06:00"), at("03-02 18:00"))


def test_a_result_belongs_to_the_shift_in_which_it_came(take, work):
    """A sample of the night whose result came by day is told by day, with its sample."""
    take("03-02 05:00", "N-1", 300, "03-02 07:00")
    take("03-02 16:30", "D-1", 310, "03-02 18:20")
    found = work()
    assert [(r.sample.label, r.reading.value) for r in found.results] == [("N-1", 300.0)]
    assert [w.sample.label for w in found.waiting] == ["D-1"]


def test_results_out_of_limits_come_first(take, work):
    """Judged by the limits at the time of the sample."""
    take("03-02 07:00", "D-1", 300, "03-02 08:00")
    take("03-02 09:00", "D-2", 450, "03-02 10:00")
    found = work().results
    assert [r.sample.label for r in found] == ["D-2", "D-1"]
    assert found[0].judgement.severity is Severity.WARNING


def test_a_sample_waits_until_its_result_comes_and_is_overdue_after_a_while(take, work, at):
    """The oldest first, each with its age at the end of the shift."""
    take("03-02 10:00", "D-1")
    take("03-02 15:00", "D-2")
    waiting = work().waiting
    assert [(w.sample.label, w.is_overdue) for w in waiting] == [("D-1", True), ("D-2", False)]
    assert waiting[0].since == timedelta(hours=8) > OVERDUE_AFTER


def test_a_reason_is_a_result_too(book, take, work, clock, at):
    """A sample that was lost is not waited for any more, and is no result either."""
    take("03-02 10:00", "D-1")
    [waiting] = work().waiting
    clock.set(at("03-02 11:00"))
    row = NewReading("residue", at("03-02 10:00"), reason="bottle broke", sample=waiting.sample.id)
    book.write("op2", [row], kind="lab")
    found = work()
    assert found.waiting == ()
    assert found.results == ()


@pytest.fixture
def tighten(book, plant, clock, at):
    """Gives mill 1 another upper warning limit at some local time, effective then or later."""

    def change(when, high, effective=None):
        clock.set(max(clock.now, at(when)))
        points = [
            replace(p, limits=replace(p.limits, warning_high=high)) if p.key == "gap.m1" else p
            for p in plant.points
        ]
        book.revise(
            "head",
            replace(plant, points=tuple(points)),
            effective_from=at(effective or when),
            reason="rolls were ground",
        )

    return change


@pytest.fixture
def changes(book, plant, at):
    """Limits changed in the day shift of 2 March."""
    return lambda: limit_changes(book, plant, at("03-02 06:00"), at("03-02 18:00"))


def test_a_change_tells_old_and_new_limits_who_and_why(tighten, changes, at):
    """And from when on it holds."""
    tighten("03-02 09:00", 0.38)
    [change] = changes()
    assert (change.before.warning_high, change.after.warning_high) == (0.40, 0.38)
    assert (change.person, change.reason) == ("head", "rolls were ground")
    assert (change.point.key, change.effective_from) == ("gap.m1", at("03-02 09:00"))


def test_a_change_written_before_that_takes_effect_in_the_shift_is_told(tighten, changes):
    """So is one written in it that takes effect later; one long past is not."""
    tighten("03-01 09:00", 0.39)
    assert changes() == ()
    tighten("03-01 10:00", 0.38, "03-02 10:00")
    assert [c.after.warning_high for c in changes()] == [0.38]
    tighten("03-02 17:00", 0.37, "03-03 06:00")
    assert [(c.before.warning_high, c.after.warning_high) for c in changes()] == [
        (0.39, 0.38),
        (0.38, 0.37),
    ]


def test_two_changes_of_one_shift_are_told_one_after_the_other(tighten, changes):
    """Each against the one before it."""
    tighten("03-02 09:00", 0.38)
    tighten("03-02 12:00", 0.42)
    edges = [(c.before.warning_high, c.after.warning_high) for c in changes()]
    assert edges == [(0.40, 0.38), (0.38, 0.42)]


def test_the_limits_of_a_new_point_are_no_change(book, plant, clock, at, changes):
    """They are not a change of anything."""
    clock.set(at("03-02 09:00"))
    fresh = replace(
        plant.point("moisture"), key="fresh", name="Fresh", limits=Limits(warning_high=3.0)
    )
    revised = replace(plant, points=(*plant.points, fresh))
    book.revise("head", revised, effective_from=at("03-02 09:00"), reason="new gauge")
    assert changes() == ()


def test_a_book_begun_in_the_shift_has_no_changed_limits(book, plant, at):
    """All its limits took effect then."""
    assert limit_changes(book, plant, at("03-01 06:00"), at("03-01 18:00")) == ()
