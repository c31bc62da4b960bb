"""The views say what the program says, to any SQLite client."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from dataclasses import replace
from itertools import groupby

import pytest

from logbook.plant.model import NORMAL_MODE, Limits, PointKind, Weight
from logbook.record import (
    NewEntry,
    NewModeChange,
    NewReading,
    NewStatus,
    Page,
    corrected,
    short_seal,
)
from logbook.record.instants import iso

WORDS = {
    (1, -1): "warning low",
    (2, -1): "action low",
    (1, 1): "warning high",
    (2, 1): "action high",
    (0, 0): "within",
    (1, 0): "warning",
    (2, 0): "action",
}


def ask(path, query, *values):
    """Rows as dictionaries, through a plain connection."""
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute(query, values)]


@pytest.fixture
def busy_week(book, plant, clock, hours):
    """A week with everything: revisions, modes, downtime, corrections, gaps, answers."""
    chance = random.Random(7)  # noqa: S311 -- a made-up week, no secrets
    for hour in range(0, 168, 2):
        at = clock.set(hours(hour))
        mode = {10: "startup", 11: "startup", 30: "shutdown"}.get(hour // 2, "normal")
        rows = [
            NewReading("toaster_t", at, value=round(chance.gauss(105, 6), 1), mode=mode),
            NewReading("pump", at, text=chance.choice(["run", "run", "noise", "leak"]), mode=mode),
            NewReading("walk", at, text=chance.choice(["done", "done", "not_done"]), mode=mode),
            NewReading("level", at, value=chance.uniform(0, 50), mode=mode),
        ]
        if chance.random() < 0.1:
            rows[0] = NewReading("toaster_t", at, reason="not_sampled", mode=mode)
        if mode != "normal":
            rows.append(NewModeChange(at, mode))
        book.write("anna", rows)
        if hour in {40, 90}:
            book.write("anna", [NewStatus("equipment", "dt", at, "down", "bearing")])
        if hour in {52, 100}:
            book.write("anna", [NewStatus("equipment", "dt", at, "up")])
        if hour in {120, 126}:
            state = "down" if hour == 120 else "up"
            book.write("anna", [NewStatus("plant", "demo", at, state, "no power")])
        if hour == 80:
            points = tuple(
                replace(p, limits=replace(p.limits, warning_high=107.0), name="Toaster, top")
                if p.key == "toaster_t"
                else p
                for p in plant.points
            )
            book.revise("eva", replace(plant, points=points), effective_from=at, reason="trial")
        found = book.readings(["toaster_t"], at, hours(hour + 1))
        if chance.random() < 0.15:
            row = corrected(found[0], why="misread", value=round(chance.gauss(105, 6), 1))
            book.write("eva", [row], kind="correction")
    return book


def judged_in_python(book, reading):
    """(severity, direction) of a reading by its plant, mode and downtime; None: not judged."""
    plant = book.plant_at(reading.taken_at)
    point = plant.point(reading.point)
    down = {
        (d.scope, d.target)
        for d in book.down_intervals(reading.taken_at, book.now())
        if d.start <= reading.taken_at and (d.end is None or reading.taken_at < d.end)
    }
    targets = {("plant", plant.key), ("area", point.area), ("equipment", point.equipment)}
    if reading.reason or reading.mode in point.silent_modes or down & targets:
        return None
    if reading.value is None:
        if point.kind is PointKind.CHECK:
            return (1, 0) if reading.text == "not_done" else (0, 0)
        weight = point.choice(reading.text).weight
        return list(Weight).index(weight), 0
    limits = point.limits_in(reading.mode)
    return judged_by(limits, reading.value)


def judged_by(limits: Limits, value: float):
    """Plain comparison with each edge; a value on a limit is within it."""
    if limits.action_low is not None and value < limits.action_low:
        return 2, -1
    if limits.action_high is not None and value > limits.action_high:
        return 2, 1
    if limits.warning_low is not None and value < limits.warning_low:
        return 1, -1
    if limits.warning_high is not None and value > limits.warning_high:
        return 1, 1
    return (0, 0) if limits.judges else None


def test_v_reading_agrees_with_python_on_every_row(busy_week, path, hours):
    """Value, point as then defined, limits then in force, judgement, who and when."""
    rows = {row["reading_id"]: row for row in ask(path, "SELECT * FROM v_reading")}
    readings = busy_week.readings(None, hours(0), hours(999))
    assert set(rows) == {r.id for r in readings}
    seen = set()
    for reading in readings:
        row = rows[reading.id]
        point = busy_week.plant_at(reading.taken_at).point(reading.point)
        limits = point.limits_in(reading.mode)
        assert (row["value"], row["text"], row["reason"]) == (
            reading.value,
            reading.text,
            reading.reason,
        )
        assert (row["point"], row["name"], row["area"], row["equipment"], row["unit"]) == (
            point.key,
            point.name,
            point.area,
            point.equipment,
            point.unit,
        )
        assert (row["taken_at"], row["written_at"]) == (
            iso(reading.taken_at),
            iso(reading.written_at),
        )
        assert (row["late"], row["corrected"], row["person"]) == (
            reading.late,
            reading.corrected,
            reading.person,
        )
        assert (row["warning_high"], row["action_low"], row["target"]) == (
            limits.warning_high,
            limits.action_low,
            limits.target,
        )
        judged = judged_in_python(busy_week, reading)
        assert (row["severity"], row["direction"]) == (judged or (None, None)), reading
        assert row["judgement"] == (WORDS[judged] if judged else "not judged")
        seen.add(row["judgement"])
    assert seen == {*WORDS.values(), "not judged"}


def test_v_deviation_agrees_with_python(busy_week, path, hours):
    """Runs on one side, not broken by what is not judged, with their worst value and end."""
    expected = []
    readings = busy_week.readings(None, hours(0), hours(999))
    for key in sorted({r.point for r in readings}):
        judged = [(r, judged_in_python(busy_week, r)) for r in readings if r.point == key]
        judged = [(r, j) for r, j in judged if j is not None]
        place = 0
        for side, group in groupby(judged, key=lambda pair: pair[1][1] if pair[1][0] else 9):
            run = list(group)
            place += len(run)
            if side == 9:
                continue
            values = [r.value for r, _ in run if r.value is not None]
            worst = None if not values else (min(values) if side < 0 else max(values))
            expected.append((
                key, iso(run[0][0].taken_at), iso(run[-1][0].taken_at),
                iso(judged[place][0].taken_at) if place < len(judged) else None,
                len(run), max(j[0] for _, j in run), side, worst,
            ))  # fmt: skip
    rows = ask(path, "SELECT * FROM v_deviation ORDER BY point, started_at")
    found = [
        (r["point"], r["started_at"], r["last_at"], r["ended_at"], r["readings"], r["severity"],
         r["direction"], r["worst_value"]) for r in rows
    ]  # fmt: skip
    assert found == expected
    assert len(found) > 20
    assert {r["judgement"] for r in rows} <= set(WORDS.values())


@pytest.mark.parametrize("point", ["toaster_t", "pump", "level", "walk"])
def test_a_condition_on_the_point_gives_the_same_runs(busy_week, path, point):
    """And is answered from the index, not by going through every reading."""
    every = ask(path, "SELECT * FROM v_deviation ORDER BY point, started_at")
    some = ask(path, "SELECT * FROM v_deviation WHERE point = ? ORDER BY started_at", point)
    assert some == [row for row in every if row["point"] == point]
    plan = ask(path, "EXPLAIN QUERY PLAN SELECT * FROM v_deviation WHERE point = ?", point)
    assert any("SEARCH r USING INDEX reading_series (point=?)" in r["detail"] for r in plan)


def test_v_correction_shows_old_and_new(book, path, hours):
    """Old value, new value, who, when, why, and that one was withdrawn."""
    book.write("anna", [NewReading("level", hours(0), value=1250.0)])
    (first,) = book.readings(None, hours(0), hours(1))
    book.write("eva", [corrected(first, why="comma", value=125.0)])
    (second,) = book.readings(None, hours(0), hours(1))
    book.write("eva", [corrected(second, why="wrong tank")])
    rows = ask(path, "SELECT * FROM v_correction ORDER BY reading_id")
    assert [(r["old_value"], r["new_value"], r["withdrawn"], r["why"]) for r in rows] == [
        (1250.0, 125.0, 0, "comma"),
        (125.0, None, 1, "wrong tank"),
    ]
    assert [(r["old_person"], r["person"]) for r in rows] == [("anna", "eva"), ("eva", "eva")]
    assert rows[0]["old_taken_at"] == iso(hours(0))


def test_v_status_agrees_with_the_program(busy_week, path, hours):
    """Spans of downtime with their length."""
    spans = busy_week.down_intervals(hours(-1), hours(999))
    rows = ask(path, "SELECT * FROM v_status ORDER BY down_at")
    assert [(r["scope"], r["target"], r["down_at"], r["up_at"], r["reason"]) for r in rows] == [
        (d.scope, d.target, iso(d.start), iso(d.end), d.reason) for d in spans
    ]
    assert [r["hours"] for r in rows] == [12.0, 10.0, 6.0]


def test_v_status_takes_a_second_down_for_nothing(book, path, clock, hours):
    """Repeated reports are one span, as in the program; an open span has no end."""
    clock.set(hours(9))
    changes = [(1, "up"), (2, "down"), (3, "down"), (5, "up"), (6, "up"), (7, "down")]
    book.write("anna", [NewStatus("area", "toaster", hours(h), s, "x") for h, s in changes])
    rows = ask(path, "SELECT down_at, up_at FROM v_status ORDER BY down_at")
    assert [(r["down_at"], r["up_at"]) for r in rows] == [
        (iso(hours(2)), iso(hours(5))),
        (iso(hours(7)), None),
    ]


def test_v_entry_shows_what_stands_now(book, path, hours):
    """The last wording, once."""
    (first,) = book.write("anna", [NewEntry(hours(0), "a", area="toaster")]).ids
    book.write("eva", [NewEntry(hours(0), "A", replaces=first, why="typo")])
    (row,) = ask(path, "SELECT * FROM v_entry")
    assert (row["text"], row["corrected"], row["person"]) == ("A", 1, "eva")


def test_v_page_shows_the_seal_as_printed(book, path, hours):
    """Person, seat, and the short form."""
    saved = book.write("anna", [NewReading("level", hours(0), value=1.0)], note="windy")
    row = ask(path, "SELECT * FROM v_page ORDER BY page")[-1]
    assert (row["page"], row["seat"], row["person"], row["note"]) == (
        saved.page,
        "Control room",
        "anna",
        "windy",
    )
    assert (row["short_seal"], row["seal"]) == (short_seal(saved.seal), saved.seal)


def test_a_reading_is_judged_by_the_limits_in_force_when_it_was_taken(
    book, plant, path, clock, hours
):
    """A revision changes nothing before it; a late entry is judged by the limits of its time."""
    clock.set(hours(9))
    lower = tuple(
        replace(p, limits=Limits(action_high=103.0)) if p.key == "toaster_t" else p
        for p in plant.points
    )
    book.write("anna", [NewReading("toaster_t", hours(1), value=104.0)])
    book.revise("eva", replace(plant, points=lower), effective_from=hours(4), reason="trial")
    book.write("anna", [NewReading("toaster_t", hours(h), value=104.0) for h in (3, 4, 5)])
    rows = ask(path, "SELECT judgement FROM v_reading ORDER BY taken_at")
    assert [r["judgement"] for r in rows] == ["within", "within", "action high", "action high"]
    history = [r for r in book.limit_history(["toaster_t"]) if r.mode == NORMAL_MODE]
    assert [r.effective_from for r in history] == [hours(0), hours(4)]


def test_a_mode_has_its_own_limits_and_its_silence(book, path, clock, hours):
    """Start-up limits judge a start-up reading; in shut-down nothing is judged."""
    clock.set(hours(9))
    modes = {1: "startup", 2: "normal", 3: "shutdown"}
    book.write(
        "anna", [NewReading("toaster_t", hours(h), value=70.0, mode=m) for h, m in modes.items()]
    )
    rows = ask(path, "SELECT judgement FROM v_reading ORDER BY taken_at")
    assert [r["judgement"] for r in rows] == ["within", "action low", "not judged"]


def test_a_span_of_many_pages_is_answered_by_its_index(book, path, clock, hours):
    """A point and a span of `taken_epoch` need no pass through the book."""
    book.write_many(
        Page("anna", [NewReading("level", clock.advance(hours=1), value=1.0)]) for _ in range(50)
    )
    query = "SELECT * FROM v_reading WHERE point = 'level' AND taken_epoch >= ? AND taken_epoch < ?"
    span = (int(hours(10).timestamp()), int(hours(20).timestamp()))
    assert len(ask(path, query, *span)) == 10
    plan = " ".join(row["detail"] for row in ask(path, f"EXPLAIN QUERY PLAN {query}", *span))
    assert "SEARCH r USING INDEX reading_series (point=? AND taken_at>? AND taken_at<?)" in plan
