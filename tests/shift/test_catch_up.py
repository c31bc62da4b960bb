"""What a person missed while away: what is listed, what is confirmed, when there is nothing."""

from dataclasses import replace

import pytest

from logbook.record import (
    NewAccess,
    NewInstruction,
    NewItemEvent,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
    verify,
)
from logbook.shift.catch_up import catch_up, confirm


@pytest.fixture
def back(desk, book, plant, clock, at):
    """Operator Two was here on 1 March and is back on the 5th at seven; much has happened."""
    clock.set(at("03-01 06:05"))
    book.write("op2", [NewAccess("op2", clock.now, "signed_on")], kind="access")
    clock.set(at("03-02 10:00"))
    rows = [
        NewSafetyState(clock.now, "bypass", "Level trip", "tanks"),
        NewSafetyState(clock.now, "permit", "Hot work"),
        NewOpenItem(clock.now, "Order a bearing", "mills", "m1"),
        NewInstruction(clock.now, None, "Wear the new masks"),
    ]
    saved = book.write("head", rows)
    clock.set(at("03-03 10:00"))
    book.write("head", [NewSafetyEvent(saved.ids[1], clock.now, "clear", "done, checked")])
    points = [
        replace(p, limits=replace(p.limits, warning_high=0.42)) if p.key == "gap.m1" else p
        for p in plant.points
    ]
    revised = replace(plant, points=tuple(points))
    book.revise("head", revised, effective_from=clock.now, reason="rolls were ground")
    clock.set(at("03-05 07:00"))
    return saved


def test_all_that_happened_since_the_last_shift_is_listed_safety_first(back, book, plant, clock):
    """Safety states also where they were cleared meanwhile, and how each shift was handed over."""
    found = catch_up(book, book.plant_at(clock.now), "op2", clock.now)
    assert len(found.shifts) == 7
    kinds = [line.kind for line in found.lines]
    assert kinds[:5] == ["safety state", "safety state", "instruction", "limits", "open item"]
    assert kinds[5:] == ["handover"], "shifts that nobody signed are one line"
    texts = {line.title: line.text for line in found.lines}
    assert texts["Bypass: Level trip"].endswith("open")
    assert "cleared 03-03 10:00" in texts["Permit: Hot work"]
    assert texts["Limits changed: Mills: Flake thickness, Mill 1"].endswith("rolls were ground")
    assert texts["Nobody signed 6 shifts"].startswith("Night of 2026-03-01, Day of 2026-03-02")


def test_each_line_that_is_confirmed_is_kept_for_the_person(back, book, plant, clock, desk):
    """In the book, under seal; another person has still to read it."""
    found = catch_up(book, plant, "op2", clock.now)
    for line in found.unread[:3]:
        confirm(book, found, line)
    again = catch_up(book, plant, "op2", clock.now)
    assert len(again.unread) == len(found.unread) - 3
    checks = book.handover_checks(found.shift.date, found.shift.pattern)
    assert {(check.person, check.answer) for check in checks} == {("op2", "read")}
    assert verify(book.path).is_sound


def test_news_of_a_matter_that_was_read_is_to_be_read_again(back, book, plant, clock):
    """What was confirmed is the matter as it stood then."""
    found = catch_up(book, plant, "op2", clock.now)
    item = next(line for line in found.unread if line.kind == "open item")
    confirm(book, found, item)
    book.write("head", [NewItemEvent(back.ids[2], clock.now, "update", "comes on Friday")])
    unread = catch_up(book, plant, "op2", clock.now).unread
    assert [line.title for line in unread if line.kind == "open item"] == ["Order a bearing"]


def test_signing_on_again_does_not_make_it_forgotten(back, book, plant, clock):
    """Only confirming does; the shift in which one is back counts as no presence."""
    book.write("op2", [NewAccess("op2", clock.now, "signed_on")], kind="access")
    clock.advance(minutes=5)
    assert catch_up(book, plant, "op2", clock.now).unread


def test_who_was_here_the_shift_before_or_never_has_missed_nothing(back, book, plant, clock, at):
    """That is what the handover is for."""
    book.write("op1", [NewAccess("op1", at("03-04 20:00"), "signed_on")], kind="access")
    assert catch_up(book, plant, "op1", clock.now).lines == ()
    assert catch_up(book, plant, "head", clock.now).lines == ()
