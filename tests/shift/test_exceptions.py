"""What was not as it should be in a shift: one of each kind, and no noise around it."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.calendar import shift_at
from logbook.record import NewModeChange, NewResponse, NewStatus, corrected
from logbook.shift.exceptions import exceptions_of
from logbook.shift.exceptions_json import as_json
from logbook.shift.exceptions_text import WIDTH, hours_text, text_lines


@pytest.fixture
def look(book, plant, clock, at):
    """Exceptions of the shift that holds a local time, looked at ten minutes after its end."""

    def found(when="03-02 06:00", now=None):
        shift = shift_at(plant.calendar, at(when))
        seen = at(now) if now else max(clock.now, shift.end + timedelta(minutes=10))
        clock.set(seen)
        return exceptions_of(book, shift, seen)

    return found


@pytest.fixture
def lines(look):
    """The same as lines of text, none of them too long."""

    def told(when="03-02 06:00", now=None):
        text = text_lines(look(when, now))
        assert all(len(line) <= WIDTH for line in text)
        assert all(line == line.rstrip() for line in text)
        return text

    return told


QUIET_DAY = """\
Plant of two mills: Day of 2026-03-02, 06:00 to 18:00, Crew C
48 readings; rounds 06:00 8/8, 08:00 7/7, 10:00 8/8, 12:00 7/7, 14:00 8/8, 16:00 7/7

Nothing out of limits, nothing missing, nothing down, nothing late or corrected."""


def test_a_shift_with_nothing_wrong_says_so(crew, lines, look, at):
    """In four lines."""
    crew.shift(at("03-02 06:00"))
    assert "\n".join(lines()) == QUIET_DAY
    assert look().is_quiet


def one_of_each(crew, book, clock, at):
    """A day shift with one exception of each kind."""
    crew.round(at("03-01 14:00"), {"moisture": 12})
    crew.round(at("03-02 04:00"), {"gap.m2": 0.41})
    start = {"state.m1": "running", "state.m2": "running", "magnets": "not_done"}
    crew.round(at("03-02 06:00"), {**start, "gap.m2": 0.41})
    crew.round(
        at("03-02 08:00"),
        {"gap.m1": 0.47, "bed": "flooded", "moisture": 75.0},
        done={"gap.m1": "gap set by 0.1 mm"},
    )
    crew.round(at("03-02 10:00"), {"gap.m1": 0.46, "feed": 200}, without=["dip"])
    crew.round(
        at("03-02 12:00"), {"dip": "!not_safe"}, after_min=95, note="alarm in the boiler house"
    )
    clock.set(at("03-02 13:40"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 13:30"), "down", "bearing change")])
    clock.set(at("03-02 15:10"))
    book.write("op1", [NewModeChange(at("03-02 15:00"), "startup", "steam back")])
    crew.round(at("03-02 16:00"), without=["gap.m1"])
    [old] = book.readings(["gap.m2"], at("03-02 16:00"), at("03-02 16:01"))
    book.write("op2", [corrected(old, why="read the wrong dial", value=0.36)], kind="correction")
    [wrong] = book.readings(["moisture"], at("03-02 16:00"), at("03-02 16:01"))
    book.write("op2", [corrected(wrong, why="other sample")], kind="correction")


ONE_OF_EACH = """\
Plant of two mills: Day of 2026-03-02, 06:00 to 18:00, Crew C
37 readings; rounds 06:00 8/8, 08:00 7/7, 10:00 7/8, 12:00 7/7, 14:00 0/7, 16:00 5/6

ACTION
  08:00  Mills: Flake thickness, Mill 1: 0.47 mm (high, over 0.45), last 0.46, 2 readings over 2 h, back
           inside at 12:00
         with it: Mean thickness 0.410 mm (high, over 0.380)
         done: gap set by 0.1 mm
  08:00  Extraction: Bed at the sight glass: Flooded
         no response written

WARNING
  2026-03-02 04:00  Mills: Flake thickness, Mill 2: 0.41 mm (high, over 0.40), 2 readings over 2 h, back
                      inside at 08:00
  06:00             Mills: Magnets cleaned: Not done

DOUBTFUL, KEPT AS TYPED
  08:00  Extraction: Meal moisture: 75.0 %, above the plausible 60.0
  10:00  Mills: Bean scale: 200 t, the counter stood at 2560 before

DOWN, AND CHANGES OF MODE
  13:30  Mill 1 down: bearing change, still down
  15:00  mode Start-up: steam back

NOT TAKEN
  10:00  Tanks: Solvent work tank: no reason given
  12:00  Tanks: Solvent work tank: not safe to take
  14:00  the whole round: no reason given
  16:00  Extraction: Meal moisture: no reason given

LATE
  12:00  7 readings written at 13:35 by Operator One: alarm in the boiler house

CORRECTED
  16:00  Mills: Flake thickness, Mill 2: 0.35 mm corrected to 0.36 mm by Operator Two: read the wrong dial
  16:00  Extraction: Meal moisture: 12.0 % withdrawn by Operator Two: other sample"""


def test_a_shift_with_one_exception_of_each_kind(crew, book, clock, at, lines):
    """Worst first, each in one line and what belongs to it below."""
    one_of_each(crew, book, clock, at)
    assert "\n".join(lines()) == ONE_OF_EACH


def test_the_same_shift_as_data(crew, book, clock, at, look):
    """It parses, times carry their offset, and numbers are unrounded."""
    one_of_each(crew, book, clock, at)
    data = json.loads(json.dumps(as_json(look())))
    assert data["shift"]["key"] == "D"
    assert data["shift"]["start"] == "2026-03-02T06:00:00-06:00"
    by_point = {d["point"]: d for d in data["deviations"]}
    assert by_point["gap.m1"]["responses"] == ["gap set by 0.1 mm"]
    assert by_point["gap.m1"]["severity"] == "action"
    assert by_point["gap.m1"]["last_value"] == 0.46
    assert by_point["gap.m1"]["closing"] == "back inside"
    assert by_point["gap_mean"]["follows"] == ["gap.m1"]
    assert [a["answer"] for a in data["answers"]] == ["flooded", "not_done"]
    assert [d["value"] for d in data["doubtful"]] == [75.0, 200.0]
    assert [s["scope"] for s in data["down"]] == ["equipment", "mode"]
    assert {g["reason"] for g in data["not_taken"]} == {None, "not_safe"}
    assert data["late"][0]["readings"] == 7
    assert [(c["after"], c["withdrawn"]) for c in data["corrected"]] == [
        (0.36, False),
        (None, True),
    ]
    assert [r["state"] for r in data["rounds"]] == [
        "done", "done", "partly", "done", "missed", "partly",
    ]  # fmt: skip


def test_the_next_shift_is_not_told_what_was_closed_in_this_one(crew, book, clock, at, lines):
    """Only what is still open or still down goes on."""
    one_of_each(crew, book, clock, at)
    crew.shift(at("03-02 18:00"), {"18:00": {"feed": 5000}})
    text = "\n".join(lines("03-02 18:00"))
    assert "2026-03-02 13:30  Mill 1 down: bearing change, still down" in text
    assert "Flake thickness" not in text
    assert "mode" not in text


# -- deviations ------------------------------------------------------------------------------------


def test_a_deviation_that_began_days_ago_shows_its_date(crew, at, lines):
    """Only the time of day would read as this shift's."""
    for hour in range(0, 48, 4):
        crew.round(at("02-28 10:00") + timedelta(hours=24 + hour), {"gap.m1": 0.42})
    text = " ".join(" ".join(lines()).split())
    assert "2026-03-01 10:00 Mills: Flake thickness, Mill 1: 0.42 mm" in text
    assert "still open" in text


def test_a_deviation_not_read_again_says_when_it_was_last_read(crew, at, lines):
    """A supervisor must not take it for a reading of this shift."""
    crew.round(at("03-02 04:00"), {"gap.m1": 0.47})
    text = " ".join(" ".join(lines()).split())
    assert "2026-03-02 04:00 Mills: Flake thickness, Mill 1: 0.47 mm" in text
    assert "1 reading, still open, last read 2026-03-02 04:00" in text


def test_a_computed_point_is_told_under_the_input_that_explains_it(crew, at, look, lines):
    """One bad thickness is one matter, though the mean goes out with it."""
    crew.shift(at("03-02 06:00"), {"10:00": {"gap.m1": 0.47}})
    text = lines()
    assert sum("Mean thickness" in line for line in text) == 1
    assert "WARNING" not in text
    assert [d.follows for d in look().deviations] == [(), ("gap.m1",)]


def test_a_computed_point_stands_alone_where_no_input_is_out(crew, at, lines):
    """Both mills a little thick are within limits each, the mean is not."""
    crew.shift(at("03-02 06:00"), {"10:00": {"gap.m1": 0.39, "gap.m2": 0.39}})
    text = lines()
    assert "WARNING" in text
    assert any("10:00  Mills: Mean thickness: 0.390 mm (high, over 0.380)" in t for t in text)


def test_a_computed_point_that_is_worse_than_its_inputs_stands_alone(
    crew, book, plant, at, look, lines
):
    """Two mills on warning do not explain a mean on action."""
    mean = plant.point("gap_mean")
    strict = replace(mean, limits=replace(mean.limits, action_high=0.41))
    points = tuple(strict if p.key == "gap_mean" else p for p in plant.points)
    changed = replace(plant, points=points)
    book.revise("head", changed, effective_from=at("03-02 05:00"), reason="drainage")
    crew.shift(at("03-02 06:00"), {"10:00": {"gap.m1": 0.42, "gap.m2": 0.42}})
    assert [(d.found.point.key, d.follows) for d in look().deviations] == [
        ("gap_mean", ()),
        ("gap.m1", ()),
        ("gap.m2", ()),
    ]
    assert any(line.startswith("  10:00  Mills: Mean thickness: 0.420 mm") for line in lines())


def test_a_response_to_a_value_since_corrected_is_still_shown(crew, book, at, look):
    """What was done was done, whichever version it was written to."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.50}, done={"gap.m1": "gap set"})
    [old] = book.readings(["gap.m1"], at("03-02 08:00"), at("03-02 08:01"))
    book.write("op1", [corrected(old, why="slip", value=0.48)], kind="correction")
    found = next(d for d in look().deviations if d.found.point.key == "gap.m1")
    assert found.responses == ("gap set",)


def test_a_response_written_in_a_later_round_belongs_to_the_run(crew, book, at, look, clock):
    """All that was done about it, in order of time."""
    crew.round(at("03-02 08:00"), {"gap.m1": 0.50}, done={"gap.m1": "gap set"})
    crew.round(at("03-02 10:00"), {"gap.m1": 0.48}, done={"gap.m1": "fitter called"})
    found = next(d for d in look().deviations if d.found.point.key == "gap.m1")
    assert found.responses == ("gap set", "fitter called")


def test_the_other_ways_a_deviation_ends_are_told(crew, book, at, lines, clock):
    """On the other side, by a stop, by nobody reading it for too long."""
    crew.round(at("03-02 06:00"), {"gap.m1": 0.42, "gap.m2": 0.42})
    crew.round(at("03-02 08:00"), {"gap.m1": 0.28, "gap.m2": 0.35})
    clock.set(at("03-02 09:30"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 09:00"), "down", "belt")])
    crew.round(at("03-02 10:00"), {"gap.m2": 0.42})
    crew.round(at("03-02 16:00"), {"gap.m2": 0.35})
    text = " ".join(" ".join(lines()).split())
    assert "(high, over 0.40), 1 reading, then out on the other side" in text
    assert "(low, under 0.30), 1 reading, then down or not in use" in text
    assert "(high, over 0.40), 1 reading, then not read for too long" in text
    assert "back inside at 08:00" in text


def test_a_plant_with_a_decimal_comma_reads_so(crew, book, plant, at, lines, clock):
    """In every number of the text."""
    comma = replace(plant, settings=replace(plant.settings, decimal_comma=True))
    book.revise("head", comma, effective_from=at("03-02 05:00"), reason="as we write")
    crew.round(at("03-02 08:00"), {"gap.m1": 0.47, "moisture": 75.5})
    text = "\n".join(lines())
    assert "0,47 mm (high, over 0,45)" in text
    assert "75,5 %, above the plausible 60,0" in text


# -- answers ------------------------------------------------------------------------------------------


def test_the_same_answer_in_round_after_round_is_one_line(crew, at, lines):
    """With how often; another answer in between makes two."""
    slow = {clock: {"bed": "slow"} for clock in ("08:00", "10:00", "12:00", "16:00")}
    crew.shift(at("03-02 06:00"), slow)
    told = [line for line in lines() if "sight glass" in line]
    assert told == [
        "  08:00  Extraction: Bed at the sight glass: Slow, 3 readings",
        "  16:00  Extraction: Bed at the sight glass: Slow",
    ]


def test_numbers_and_answers_stand_in_the_order_of_time(crew, at, lines):
    """A supervisor reads the shift from its beginning."""
    crew.shift(
        at("03-02 06:00"),
        {"08:00": {"bed": "slow"}, "10:00": {"gap.m1": 0.41}, "14:00": {"bed": "slow"}},
    )
    told = lines()[lines().index("WARNING") + 1 :]
    assert [line[2:7] for line in told] == ["08:00", "10:00", "14:00"]


def test_what_was_done_about_an_answer_is_shown(crew, book, at, lines, clock):
    """As with a number."""
    crew.round(at("03-02 08:00"), {"bed": "flooded"}, done={"bed": "feed cut"})
    text = lines()
    assert "         done: feed cut" in text
    assert "         no response written" not in text


def test_answers_while_the_area_was_down_are_not_judged(crew, book, at, look, clock):
    """A flooded bed in a standing extractor is no matter."""
    clock.set(at("03-02 07:00"))
    book.write("op1", [NewStatus("area", "extraction", at("03-02 07:00"), "down", "clean-out")])
    crew.round(at("03-02 08:00"), {"bed": "flooded"})
    assert look().answers == ()


# -- not taken ---------------------------------------------------------------------------------------


def test_a_round_still_in_time_misses_nothing(crew, at, lines):
    """At 14:20 the 14:00 round is due, not missing; an hour later it is."""
    for hour in (6, 8, 10, 12):
        crew.round(at(f"03-02 {hour:02d}:00"))
    early = "\n".join(lines(now="03-02 14:20"))
    assert "14:00 0/8" in early
    assert "NOT TAKEN" not in early
    assert "14:00  the whole round: no reason given" in "\n".join(lines(now="03-02 15:30"))


def test_a_mill_that_stood_is_not_missing(crew, at, look):
    """Read as standing at 06:00 and as running at 12:00: nothing was due in between."""
    crew.round(at("03-02 06:00"), {"state.m1": "standby"}, without=["gap.m1"])
    for hour in (8, 10):
        crew.round(at(f"03-02 {hour:02d}:00"), without=["gap.m1"])
    crew.round(at("03-02 12:00"), {"state.m1": "running"})
    crew.round(at("03-02 14:00"), without=["gap.m1"])
    missing = [(g.point.key, g.round_at) for g in look().gaps if g.point.key == "gap.m1"]
    assert missing == [("gap.m1", at("03-02 14:00")), ("gap.m1", at("03-02 16:00"))]
    stops = look().stops
    assert [(s.name, s.start, s.end, s.reason) for s in stops] == [
        ("Mill 1", at("03-02 06:00"), at("03-02 12:00"), "standby")
    ]


def test_what_is_read_once_a_shift_is_missing_once(crew, at, look):
    """In the last round; not where it was read at any time of the shift."""
    for hour in range(6, 18, 2):
        answers = {"state.m1": "running"} if hour == 10 else {}
        crew.round(at(f"03-02 {hour:02d}:00"), answers)
    assert [(g.point.key, g.round_at) for g in look().gaps] == [
        ("state.m2", at("03-02 16:00")),
        ("magnets", at("03-02 16:00")),
    ]


def test_a_reason_for_what_is_read_once_is_told_unless_a_value_came(crew, at, look):
    """Not safe at 06:00; read at 12:00 after all."""
    crew.round(at("03-02 06:00"), {"state.m1": "!not_safe", "state.m2": "!not_safe"})
    crew.round(at("03-02 12:00"), {"state.m2": "running"})
    reasons = [(g.point.key, g.reason) for g in look().gaps if g.reason]
    assert reasons == [("state.m1", "not_safe")]


def test_many_missing_of_one_area_are_one_line(crew, at, lines):
    """Four and more in one round; fewer are named, each with all its rounds."""
    mills = ["gap.m1", "gap.m2", "feed"]
    for hour in range(6, 18, 2):
        when = at(f"03-02 {hour:02d}:00")
        states = {"state.m1": "running", "state.m2": "running", "magnets": "done"}
        crew.round(when, states if hour == 6 else {}, without=mills if hour == 8 else ["dip"])
    told = lines()[lines().index("NOT TAKEN") + 1 :]
    assert told == [
        "  06:00  Tanks: Solvent work tank: no reason given (also 10:00, 12:00, 14:00, 16:00)",
        "  08:00  Mills: Flake thickness, Mill 1: no reason given",
        "  08:00  Mills: Flake thickness, Mill 2: no reason given",
        "  08:00  Mills: Bean scale: no reason given",
    ]


def test_an_area_left_out_is_one_line(crew, at, lines):
    """Bed, pressure, moisture and solvent meter of the extraction."""
    for hour in range(6, 18, 2):
        states = {"state.m1": "running", "state.m2": "running", "magnets": "done"}
        left = ["bed", "pressure", "moisture", "solvent"] if hour == 10 else []
        crew.round(at(f"03-02 {hour:02d}:00"), states if hour == 6 else {}, without=left)
    assert lines()[-1] == "  10:00  Extraction: 4 readings: no reason given"


def test_nothing_is_missing_before_the_book_was_begun(book, plant, clock, at, tmp_path):
    """A book begun at 11:00 asks for nothing of the morning."""
    from logbook.record import create_book

    clock.set(at("03-02 11:00"))
    with create_book(
        tmp_path / "late.logbook", plant, clock=clock, person="head", reason="begun"
    ) as late:
        clock.set(at("03-02 18:10"))
        found = exceptions_of(late, shift_at(plant.calendar, at("03-02 06:00")), clock.now)
    assert {g.round_at for g in found.gaps} == {
        at("03-02 12:00"), at("03-02 14:00"), at("03-02 16:00"),
    }  # fmt: skip


def test_a_point_added_during_the_shift_is_missing_only_from_then_on(
    crew, book, plant, at, look, clock
):
    """And one that was taken out, only before."""
    few = replace(plant, points=tuple(p for p in plant.points if p.key != "dip"))
    clock.set(at("03-02 05:00"))
    book.revise("head", few, effective_from=at("03-02 05:00"), reason="tank out of use")
    book.revise("head", plant, effective_from=at("03-02 13:00"), reason="tank in use")
    for hour in range(6, 18, 2):
        crew.round(at(f"03-02 {hour:02d}:00"), without=["dip"])
    missing = [g.round_at for g in look().gaps if g.point.key == "dip"]
    assert missing == [at("03-02 14:00"), at("03-02 16:00")]


def test_a_shift_of_a_plant_since_changed_is_told_as_it_was(crew, book, plant, at, lines, clock):
    """An area and its points that are gone today still have their names."""
    crew.shift(at("03-02 06:00"), {"08:00": {"dip": "!not_safe"}})
    areas = tuple(a for a in plant.areas if a.key != "tanks")
    points = tuple(p for p in plant.points if p.area != "tanks")
    book.revise(
        "head",
        replace(plant, areas=areas, points=points),
        effective_from=at("03-02 20:00"),
        reason="tanks sold",
    )
    clock.set(at("03-03 09:00"))
    assert "  08:00  Tanks: Solvent work tank: not safe to take" in lines()


# -- late, corrected, doubtful ----------------------------------------------------------------------


def test_readings_entered_days_later_show_the_date(crew, at, lines):
    """And each page with its own writer and note."""
    crew.round(at("03-02 08:00"), person="op2", after_min=60 * 49, note="paper was lost")
    text = "\n".join(lines(now="03-05 08:00"))
    assert "  08:00  7 readings written at 2026-03-04 09:00 by Operator Two: paper was lost" in text


def test_a_rollover_of_a_counter_is_not_doubtful(crew, at, look):
    """From 99 950 to 70 with a range of 100 000."""
    crew.round(at("03-02 06:00"), {"feed": 99_950})
    crew.round(at("03-02 08:00"), {"feed": 70})
    assert look().doubts == ()


def test_a_count_is_compared_with_that_of_the_shift_before(crew, at, look):
    """A meter that was exchanged between the shifts."""
    crew.round(at("03-02 04:00"), {"solvent": 9000})
    crew.round(at("03-02 06:00"), {"solvent": 10})
    assert [d.why for d in look().doubts] == ["the counter stood at 9000 before"]


def test_a_correction_of_a_correction_shows_the_first_and_the_last(crew, book, at, look):
    """What was typed first and what stands."""
    crew.round(at("03-02 08:00"), {"dip": 5.0})
    for value in (4.0, 1.2):
        [old] = book.readings(["dip"], at("03-02 08:00"), at("03-02 08:01"))
        book.write("op1", [corrected(old, why="slip", value=value)], kind="correction")
    [one] = look().corrections
    assert (one.before.value, one.after.value) == (5.0, 1.2)


def test_a_running_shift_is_looked_at_up_to_now(crew, at, look):
    """What is written of later rounds does not exist yet."""
    crew.round(at("03-02 06:00"))
    found = look(now="03-02 07:00")
    assert len(found.rounds) == 1
    assert found.reading_count == 8


def test_responses_can_be_written_to_a_warning_too(crew, book, at, lines, clock):
    """Shown where there is one, not missed where there is none."""
    crew.round(at("03-02 08:00"), {"gap.m2": 0.42})
    [row] = book.readings(["gap.m2"], at("03-02 08:00"), at("03-02 08:01"))
    assert "no response written" not in "\n".join(lines())
    book.write("op1", [NewResponse(row.id, "watched", at("03-02 08:00"))])
    assert "         done: watched" in lines()


@pytest.mark.parametrize(
    ("span", "text"),
    [
        ({"minutes": 40}, "40 min"), ({"hours": 2}, "2 h"), ({"hours": 1.5}, "1.5 h"),
        ({"hours": 2, "seconds": 30}, "2 h"), ({"days": 8}, "8 days"), ({"hours": 48}, "48 h"),
    ],
)  # fmt: skip
def test_spans_are_told_in_the_unit_that_fits(span, text):
    """Minutes, hours, and from three days on days."""
    assert hours_text(timedelta(**span)) == text
