"""Samples that wait for their results, and when they are overdue."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.record import NewReading, NewSample, corrected
from logbook.shift.samples import points_of, samples_waiting


@pytest.fixture
def take(book, clock):
    """Takes a sample at a time of its own and writes it at once; returns its id."""

    def do(when, where="SP-7", label="s1"):
        clock.set(max(clock.now, when))
        return book.write("op1", [NewSample(when, where, label)], kind="lab").ids[0]

    return do


@pytest.fixture
def result(book, clock):
    """Enters a result, or the reason why there is none."""

    def do(sample, taken_at, value, when):
        clock.set(max(clock.now, when))
        told = (
            {"reason": value} if isinstance(value, str) else {"value": value, "typed": f"{value}"}
        )
        row = NewReading("residue", taken_at, sample=sample, **told)
        return book.write("op1", [row], kind="lab")

    return do


def test_a_sample_waits_until_a_result_is_there(book, plant, take, result, at):
    """It is overdue four hours after it was taken, not before."""
    taken = at("03-02 08:00")
    sample = take(taken)
    (waiting,) = samples_waiting(book, plant, at("03-02 12:00"))
    assert (waiting.sample.id, waiting.is_overdue) == (sample, False)
    assert [p.key for p in waiting.points] == ["residue"]
    assert waiting.due_at == at("03-02 12:00")
    assert samples_waiting(book, plant, at("03-02 12:01"))[0].is_overdue
    result(sample, taken, 320.0, at("03-02 13:00"))
    assert samples_waiting(book, plant, at("03-02 13:00")) == ()


def test_a_reason_why_there_is_no_result_ends_the_waiting(book, plant, take, result, at):
    """The sample was spilt: nobody waits any more."""
    sample = take(at("03-02 08:00"))
    result(sample, at("03-02 08:00"), "spilt", at("03-02 09:00"))
    assert samples_waiting(book, plant, at("03-02 13:00")) == ()


def test_a_result_that_was_taken_back_makes_the_sample_wait_again(book, plant, take, result, at):
    """What stands counts."""
    sample = take(at("03-02 08:00"))
    saved = result(sample, at("03-02 08:00"), 320.0, at("03-02 09:00"))
    old = book.reading(saved.ids[0])
    book.write("op1", [corrected(old, why="of another sample")], kind="correction")
    assert [w.sample.id for w in samples_waiting(book, plant, at("03-02 10:00"))] == [sample]


def test_the_result_of_one_sample_is_not_that_of_another(book, plant, take, result, at):
    """Two samples of one place; the overdue one comes first, then the older one."""
    take(at("03-02 06:30"), label="a")
    second = take(at("03-02 08:00"), label="b")
    take(at("03-02 11:00"), label="c")
    take(at("03-02 11:30"), label="d", where="Somewhere else")
    result(second, at("03-02 08:00"), 310.0, at("03-02 11:40"))
    found = samples_waiting(book, plant, at("03-02 11:50"))
    assert [(w.sample.label, w.is_overdue) for w in found] == [
        ("a", True),
        ("c", False),
        ("d", False),
    ]
    assert found[2].points == ()


def test_a_sample_of_tomorrow_or_of_last_week_does_not_wait(book, plant, take, at):
    """Seven days of true time: the clocks went forward meanwhile."""
    take(at("03-02 08:00"))
    assert samples_waiting(book, plant, at("03-02 07:59")) == ()
    assert len(samples_waiting(book, plant, at("03-09 08:59"))) == 1
    assert samples_waiting(book, plant, at("03-09 09:01")) == ()


def test_what_a_place_is_looked_at_for_are_the_laboratorys_points(plant):
    """Readings that crews take at the same place need no sample."""
    other = replace(plant.point("moisture"), sampling_point="SP-7")
    twice = replace(plant, points=(*plant.points, other))
    assert [p.key for p in points_of(twice, "SP-7")] == ["residue"]
    only = replace(plant, points=tuple(p for p in twice.points if p.key != "residue"))
    assert [p.key for p in points_of(only, "SP-7")] == ["moisture"]
    assert points_of(plant, "nowhere") == ()


def test_what_the_crew_looks_at_itself_is_overdue_sooner(book, plant, take, at):
    """Two hours, where the laboratory has four."""
    points = [
        replace(p, sampling_point="" if p.key == "residue" else p.sampling_point)
        for p in plant.points
    ]
    points.append(replace(plant.point("dip"), key="look", sampling_point="SP-7"))
    own = replace(plant, points=tuple(points))
    book.revise("head", own, effective_from=at("03-02 06:00"), reason="looked at here")
    take(at("03-02 08:00"))
    (waiting,) = samples_waiting(book, own, at("03-02 10:30"))
    assert waiting.due_at - waiting.sample.taken_at == timedelta(hours=2)
    assert waiting.is_overdue
