"""The review of a shift: every cell in its state, with its marks, and what a reviewer does."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.model import Point, PointKind
from logbook.record import (
    NewReading,
    NewResponse,
    NewStatus,
    Reading,
    WriteRefused,
    corrected,
)
from logbook.shift.copied import copied_in
from logbook.shift.plants import PlantHistory
from logbook.shift.review import ReviewFilter, chosen_rows, review_of
from logbook.shift.review_cells import LEGEND, CellState, Finding, Mark
from logbook.shift.review_detail import ask_crew, detail_of
from logbook.shift.review_sign import shifts_to_review, sign_review, why_not_review
from logbook.shift.roles import NotAllowed
from logbook.shift.signing import SigningRefused


@pytest.fixture
def grid(book, plant, clock, at):
    """The grid of the shift that holds a local time, looked at after its end or at `now`."""

    def made(when="03-02 06:00", now=None):
        shift = shift_at(plant.calendar, at(when))
        seen = at(now) if now else max(clock.now, shift.end + timedelta(minutes=10))
        clock.set(seen)
        return review_of(book, shift, seen)

    return made


def cells(grid, key):
    """Cells of a point by local time of their round."""
    row = next(row for row in grid.rows if row.point.key == key)
    times = [f"{rnd.at - timedelta(hours=6):%H:%M}" for rnd in grid.rounds]
    return dict(zip(times, row.cells, strict=True))


def test_every_point_has_a_cell_in_every_round(crew, grid, plant, at):
    """In form order."""
    crew.shift(at("03-02 06:00"))
    found = grid()
    assert [row.point.key for row in found.rows] == [point.key for point in plant.points]
    assert all(len(row.cells) == len(found.rounds) == 6 for row in found.rows)


def test_each_state_has_its_cell(crew, grid, at):
    """Within, warning, action, missing, missing with a reason, not due."""
    crew.round(at("03-02 06:00"), {"state.m1": "running", "state.m2": "running"})
    crew.round(at("03-02 08:00"), {"gap.m1": 0.42})
    crew.round(at("03-02 10:00"), {"gap.m1": 0.20, "bed": "flooded"})
    crew.round(at("03-02 12:00"), {"gap.m1": "!not_safe"})
    crew.round(at("03-02 14:00"), without=["gap.m1"])
    crew.round(at("03-02 16:00"))
    found = grid()
    states = [cell.state for cell in cells(found, "gap.m1").values()]
    assert states == [
        CellState.OK,
        CellState.WARNING,
        CellState.ACTION,
        CellState.EXPLAINED,
        CellState.MISSING,
        CellState.OK,
    ]
    assert cells(found, "pressure")["08:00"].state is CellState.NOT_DUE
    assert cells(found, "bed")["10:00"].state is CellState.ACTION
    assert cells(found, "gap.m1")["12:00"].why == ("not safe to take",)


def test_signs_tell_it_without_colour_and_all_are_in_the_legend(crew, grid, at):
    """Letters for high and low, doubled for action; each letter explained."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.42, "gap.m2": 0.20, "bed": "slow"}, after_min=90)
    found = grid()
    assert cells(found, "gap.m1")["06:00"].signs == "H t"
    assert cells(found, "gap.m2")["06:00"].signs == "LL t"
    assert cells(found, "bed")["06:00"].signs == "W t"
    assert cells(found, "gap.m1")["08:00"].signs == "?"
    explained = " ".join(sign for sign, _ in LEGEND).split()
    used = {sign for row in found.rows for cell in row.cells for sign in cell.signs.split()}
    assert used <= set(explained)


def test_late_corrected_and_doubtful_are_marks_beside_the_state(crew, grid, book, at):
    """A corrected late reading is both, and still judged."""
    crew.round(at("03-02 06:00"), {"moisture": 75.0}, after_min=95)
    [old] = book.readings(["gap.m1"], at("03-02 06:00"), at("03-02 06:01"))
    book.write("op1", [corrected(old, why="wrong dial", value=0.42)], kind="correction")
    found = grid()
    cell = cells(found, "gap.m1")["06:00"]
    assert cell.marks == {Mark.LATE, Mark.CORRECTED}
    assert (cell.state, cell.text) == (CellState.WARNING, "0.42")
    doubtful = cells(found, "moisture")["06:00"]
    assert doubtful.marks == {Mark.LATE, Mark.DOUBTFUL}
    assert doubtful.why == ("above the plausible 60.0",)


def test_a_withdrawn_reading_is_missing_and_says_why(crew, grid, book, at):
    """Nothing vanishes without a trace."""
    crew.shift(at("03-02 06:00"))
    [old] = book.readings(["moisture"], at("03-02 10:00"), at("03-02 10:01"))
    book.write("op1", [corrected(old, why="other sample")], kind="correction")
    cell = cells(grid(), "moisture")["10:00"]
    assert cell.state is CellState.MISSING
    assert cell.marks == {Mark.CORRECTED}
    assert cell.why == ("withdrawn: other sample",)


def test_what_stood_is_not_due_and_not_judged(crew, grid, book, clock, at):
    """With the reason in words."""
    crew.round(at("03-02 06:00"))
    clock.set(at("03-02 07:00"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 07:00"), "down", "bearing")])
    crew.round(at("03-02 08:00"), without=["gap.m1"])
    crew.round(at("03-02 10:00"), {"gap.m1": 0.9})
    found = cells(grid(), "gap.m1")
    assert (found["08:00"].state, found["08:00"].why) == (CellState.NOT_DUE, ("machine down",))
    assert found["10:00"].state is CellState.OK
    assert not found["10:00"].judgement.is_judged


def test_a_round_that_is_still_in_time_is_awaited(crew, grid, at):
    """Not missing yet; a round to come has no column."""
    crew.round(at("03-02 06:00"))
    found = grid(now="03-02 08:30")
    assert cells(found, "gap.m1")["08:00"].state is CellState.AWAITED
    assert cells(found, "pressure")["08:00"].state is CellState.NOT_DUE
    assert len(found.rounds) == 2


def test_computed_points_are_judged_in_their_rounds(crew, grid, at):
    """The rate needs the reading before the shift."""
    crew.round(at("03-02 04:00"))
    crew.round(at("03-02 06:00"), {"gap.m1": 0.42, "gap.m2": 0.40})
    found = grid()
    assert cells(found, "gap_mean")["06:00"].state is CellState.WARNING
    assert cells(found, "feed_rate")["06:00"].text == "60.0"
    assert cells(found, "gap_mean")["08:00"].state is CellState.NOT_DUE


def test_a_reading_outside_the_rounds_stands_with_the_round_before_it(crew, grid, book, clock, at):
    """The worst decides the state, the last is shown, and both are counted."""
    crew.round(at("03-02 06:00"))
    clock.set(at("03-02 07:05"))
    rows = [NewReading("gap.m1", at("03-02 06:30"), value=0.47, typed="0.47")]
    rows.append(NewReading("gap.m1", at("03-02 07:00"), value=0.36, typed="0.36"))
    book.write("op1", rows)
    cell = cells(grid(), "gap.m1")["06:00"]
    assert (cell.state, cell.text, cell.count) == (CellState.ACTION, "0.36", 3)


# -- copied rounds ------------------------------------------------------------------------


def reading(key, value):
    """A reading of a point with a value; the rest is of no account here."""
    fields = dict.fromkeys(Reading._fields)
    return Reading(**{**fields, "point": key, "value": value})


def plant_of(plant, count):
    """A plant of so many numbers."""
    points = tuple(Point(key=f"p{n}", name=f"P{n}", area="mills") for n in range(count))
    return replace(plant, points=points)


def round_of(values):
    """Readings of a round, by point."""
    return {f"p{n}": reading(f"p{n}", value) for n, value in enumerate(values)}


def test_a_round_that_repeats_half_of_the_one_before_is_worth_a_look(plant, at):
    """The repeated values are marked, with how many they are; nine in twenty are not."""
    before = round_of([20.0 + n for n in range(20)])
    half = round_of([20.0 + n + (0.1 if n < 10 else 0) for n in range(20)])
    less = round_of([20.0 + n + (0.1 if n < 11 else 0) for n in range(20)])
    when = at("03-02 08:00")
    many = plant_of(plant, 20)
    found = copied_in(many, [(when, half)], before)
    assert set(found) == {(f"p{n}", when) for n in range(10, 20)}
    assert set(found.values()) == {0.5}
    assert copied_in(many, [(when, less)], before) == {}


def test_few_readings_or_small_numbers_tell_nothing(plant, at):
    """A state of 3 drops a minute repeats honestly."""
    when = at("03-02 08:00")
    few = round_of([20.0] * 9)
    assert copied_in(plant_of(plant, 9), [(when, few)], few) == {}
    small = round_of([0.3] * 20)
    assert copied_in(plant_of(plant, 20), [(when, small)], small) == {}


def test_a_missed_round_between_does_not_hide_a_copy(plant, at):
    """It is held against the last round that was read."""
    same = round_of([20.0 + n for n in range(20)])
    rounds = [(at("03-02 08:00"), {}), (at("03-02 10:00"), same)]
    assert len(copied_in(plant_of(plant, 20), rounds, same)) == 20


# -- rows and filters ---------------------------------------------------------------------


@pytest.fixture
def mixed(crew, grid, book, at):
    """A shift with something of each kind."""
    crew.round(at("03-02 06:00"), {"gap.m2": 0.41}, after_min=70)
    for when in ("08:00", "10:00", "12:00", "14:00"):
        crew.round(at(f"03-02 {when}"))
    crew.round(at("03-02 16:00"), {"bed": "flooded", "moisture": 75.0}, without=["dip"])
    return grid()


def test_the_worst_rows_come_first(mixed):
    """Action, then missing, then doubtful, then warnings, then late; the rest in form order."""
    keys = [row.point.key for row in chosen_rows(mixed)]
    assert keys[0] == "bed"
    assert keys.index("dip") < keys.index("moisture") < keys.index("gap.m2")
    assert keys.index("gap.m2") < keys.index("gap.m1") < keys.index("residue")
    in_order = [row.point.key for row in chosen_rows(mixed, exceptions_first=False)]
    assert in_order == [row.point.key for row in mixed.rows]


def test_rows_are_chosen_by_area_kind_finding_and_words(mixed):
    """All that is asked for must hold."""

    def keys(**wanted):
        return {row.point.key for row in chosen_rows(mixed, ReviewFilter(**wanted))}

    assert keys(areas=frozenset({"tanks"})) == {"remark", "dip", "residue"}
    assert keys(kinds=frozenset({PointKind.LEVEL})) == {"dip"}
    assert keys(findings=frozenset({Finding.DOUBTFUL})) == {"moisture"}
    assert keys(findings=frozenset({Finding.FLAGGED}), areas=frozenset({"mills"})) == {"gap.m2"}
    assert keys(words="thickness mill 2") == {"gap.m2"}
    assert keys(words="flake THICK") == {"gap.m1", "gap.m2"}
    assert "residue" not in keys(only_exceptions=True)


def test_findings_are_counted(mixed):
    """As the filter shows them."""
    assert mixed.count(Finding.DOUBTFUL) == 1
    assert mixed.count(Finding.FLAGGED) == 2
    assert mixed.count(Finding.LATE) == 8


# -- one reading, and a question about it -------------------------------------------------


def test_a_reading_in_full_shows_every_version_and_what_was_written(crew, book, at):
    """Old value, new value, who and why; the response that was given to the old one."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.47}, done={"gap.m1": "roll set"})
    [old] = book.readings(["gap.m1"], at("03-02 06:00"), at("03-02 06:01"))
    book.write("op2", [corrected(old, why="wrong dial", value=0.42)], kind="correction")
    found = detail_of(book, PlantHistory(book), old.id)
    assert [v.reading.value for v in found.versions] == [0.47, 0.42]
    assert [v.judgement.severity.name for v in found.versions] == ["ACTION", "WARNING"]
    assert (found.now.reading.person, found.now.reading.why) == ("op2", "wrong dial")
    assert [r.text for r in found.responses] == ["roll set"]
    assert found.limits.warning_high == 0.40


def test_a_question_to_the_crew_becomes_an_open_item(crew, grid, book, at):
    """It names the reading, and is carried until somebody closes it."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.47})
    found = grid()
    cell = cells(found, "gap.m1")["06:00"]
    point = book.plant_at(found.made_at).point("gap.m1")
    ask_crew(book, found, "head", point, cell, "Which side  was it?")
    [item] = book.open_items(book.now())
    assert item.text == "Which side was it? (Mills: Flake thickness, Mill 1, 0.47 mm)"
    assert (item.area, item.equipment, item.reading) == ("mills", "m1", cell.reading.id)
    with pytest.raises(WriteRefused):
        ask_crew(book, found, "head", point, None, "  ")
    with pytest.raises(NotAllowed):
        ask_crew(book, found, "guest", point, None, "Why?")


def test_a_question_about_a_missing_reading_says_so(crew, grid, book, at):
    """There is no reading to name."""
    crew.round(at("03-02 06:00"), without=["dip"])
    found = grid()
    ask_crew(book, found, "head", found.plant.point("dip"), cells(found, "dip")["06:00"], "Why?")
    [item] = book.open_items(book.now())
    assert item.text == "Why? (Tanks: Solvent work tank, not taken)"
    assert item.reading is None


# -- signing ------------------------------------------------------------------------------


def sign(desk, grid, person="head", secret=None, printer=None, remark=""):
    """Sign the review."""
    secret = desk.secrets[person] if secret is None else secret
    printer = printer or desk.print
    return sign_review(desk.book, desk.door, grid, person, secret, printer, remark=remark)


def test_a_supervisor_signs_a_review_with_a_remark(desk, crew, grid, at):
    """It is frozen with its counts, and the list of shifts shows it."""
    crew.shift(at("03-02 06:00"), {"08:00": {"gap.m1": 0.47}})
    found = grid()
    sign(desk, found, remark="Well done")
    state = desk.state()
    assert state.review.person == "head"
    [printed] = desk.printed
    assert printed["content"]["remark"] == "Well done"
    assert printed["content"]["counts"]["flagged"] == found.count(Finding.FLAGGED)
    assert printed["content_hash"] == state.review.content_hash
    with pytest.raises(SigningRefused, match="Technical head has reviewed"):
        sign(desk, grid())


def test_an_operator_does_not_review(desk, crew, grid, at):
    """Nor does anybody while the shift runs, nor who handed it over."""
    crew.shift(at("03-02 06:00"))
    plant, shift = grid().plant, desk.shift
    now = desk.clock.now
    assert "operator may not" in why_not_review(desk.book, plant, shift, "op1", now)
    early = at("03-02 12:00")
    assert "runs until 18:00" in why_not_review(desk.book, plant, shift, "head", early)
    desk.say_nothing()
    desk.hand_over("head")
    assert "handed this shift over" in why_not_review(desk.book, plant, shift, "head", now)


def test_a_review_of_what_has_changed_or_with_a_wrong_secret_is_refused(desk, crew, grid, at):
    """Nothing is signed; looking again helps."""
    crew.shift(at("03-02 06:00"))
    found = grid()
    desk.clock.advance(minutes=1)
    [old] = desk.book.readings(["gap.m1"], at("03-02 16:00"), at("03-02 16:01"))
    desk.book.write("op1", [corrected(old, why="wrong dial", value=0.36)], kind="correction")
    with pytest.raises(SigningRefused, match="look at it again"):
        sign(desk, found)
    with pytest.raises(SigningRefused, match="not right"):
        sign(desk, grid(), secret=desk.secrets["op1"])
    assert desk.state().review is None
    sign(desk, grid())


def test_shifts_wait_for_their_review_and_become_overdue(desk, crew, grid, plant, clock, at):
    """The latest first; those of one crew where it is asked for."""
    crew.shift(at("03-02 06:00"))
    sign(desk, grid())
    clock.set(at("03-03 19:00"))
    shifts = shifts_to_review(desk.book, plant, at("03-02 05:00"), clock.now)
    told = [(s.shift.pattern, s.review is not None, s.is_overdue) for s in shifts]
    assert told == [
        ("D", False, False),
        ("N", False, False),
        ("D", True, False),
        ("N", False, True),
    ]
    crew_of_day = shifts[2].shift.crew
    mine = shifts_to_review(desk.book, plant, at("03-02 05:00"), clock.now, crew=crew_of_day)
    assert {one.shift.crew for one in mine} == {crew_of_day}


def test_a_response_alone_is_no_mark(crew, grid, book, at):
    """It belongs to the reading and stands in its detail."""
    saved = crew.round(at("03-02 06:00"))
    row = NewResponse(saved.ids[0], "looked at it", at("03-02 06:10"))
    book.write("op1", [row], kind="response")
    assert cells(grid(), "gap.m1")["06:00"].marks == frozenset()
