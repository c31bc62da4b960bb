"""A shift as lanes: what stands in which lane, from when to when, in which words."""

from __future__ import annotations

from datetime import timedelta

import pytest

from logbook.assess.limits import Direction, Judgement, Severity
from logbook.plant.calendar import shift_at
from logbook.record import NewEntry, NewModeChange, NewStatus
from logbook.shift.picture import LABEL_LETTERS, PLANT_LANE, MatterKind, picture_of


@pytest.fixture
def draw(book, plant, clock, at):
    """The picture of the shift that holds a local time, at a local time or after its end."""

    def drawn(when="03-02 06:00", now=None):
        shift = shift_at(plant.calendar, at(when))
        seen = at(now) if now else max(clock.now, shift.end + timedelta(minutes=10))
        clock.set(seen)
        return picture_of(book, shift, seen)

    return drawn


def of_kind(picture, kind):
    """All matters of a kind."""
    return [matter for matter in picture.matters if matter.kind is kind]


def test_a_quiet_shift_has_a_lane_per_area_and_nothing_in_them(crew, draw, at):
    """Lanes in process order; no lane for the whole plant where nothing concerns it."""
    crew.shift(at("03-02 06:00"))
    picture = draw()
    assert [lane.name for lane in picture.lanes] == ["Mills", "Extraction", "Tanks"]
    assert picture.matters == ()
    assert [status.state for status in picture.rounds] == ["done"] * 6


def test_a_deviation_is_a_bar_from_the_first_reading_outside_to_the_first_inside(crew, draw, at):
    """With its severity, its last value in the label, and the response in the words."""
    crew.shift(at("03-02 06:00"), {"10:00": {"gap.m2": 0.47}, "12:00": {"gap.m2": 0.48}})
    bar = next(m for m in of_kind(draw(), MatterKind.DEVIATION) if "0.48" in m.label)
    assert (bar.area, bar.start, bar.end) == ("mills", at("03-02 10:00"), at("03-02 14:00"))
    assert bar.judgement == Judgement(Severity.ACTION, Direction.HIGH)
    assert not bar.is_open
    assert "action high, over 0.45, since 10:00" in bar.words
    assert "back inside at 14:00" in bar.words
    assert "No response written." in bar.words


def test_what_was_done_stands_in_the_words(crew, draw, at):
    """The response is told instead of its lack."""
    crew.round(at("03-02 06:00"), {"gap.m2": 0.47}, done={"gap.m2": "gap set"})
    bar = next(m for m in of_kind(draw(), MatterKind.DEVIATION) if "gap set" in m.words)
    assert "No response" not in bar.words


def test_an_open_deviation_reaches_to_now_and_not_further(crew, draw, at):
    """In the running shift its end is the present; it is marked as open."""
    crew.round(at("03-02 06:00"), {"gap.m2": 0.42})
    picture = draw(now="03-02 07:30")
    bar = next(m for m in of_kind(picture, MatterKind.DEVIATION) if "0.42" in m.label)
    assert bar.is_open
    assert bar.end == at("03-02 07:30") == picture.reaches


def test_a_deviation_of_the_shift_before_keeps_its_own_beginning(crew, draw, at):
    """What began in the night is shown from when it began; the screen cuts it."""
    crew.shift(at("03-01 18:00"), {"04:00": {"gap.m2": 0.42}})
    crew.round(at("03-02 06:00"), {"gap.m2": 0.42})
    bar = next(m for m in of_kind(draw(), MatterKind.DEVIATION) if "0.42" in m.label)
    assert bar.start == at("03-02 04:00")


def test_an_area_down_and_a_machine_down_are_blocks_in_their_lanes(crew, book, draw, at):
    """The one that came back ends; the other lasts. A plant down has the plant's lane."""
    crew.shift(at("03-02 06:00"))
    book.write(
        "op1",
        [
            NewStatus("area", "extraction", at("03-02 07:00"), "down", "leak"),
            NewStatus("area", "extraction", at("03-02 08:00"), "up", "tight"),
            NewStatus("equipment", "m1", at("03-02 09:00"), "down", "belt"),
            NewStatus("plant", "", at("03-02 16:05"), "down", "no steam"),
        ],
        kind="event",
    )
    picture = draw()
    blocks = {m.area: m for m in of_kind(picture, MatterKind.DOWN)}
    assert picture.lanes[0].area == PLANT_LANE
    assert (blocks["extraction"].end, blocks["extraction"].is_open) == (at("03-02 08:00"), False)
    assert blocks["mills"].is_open
    assert blocks["mills"].words == "Mill 1 down from 09:00, still down: belt."
    assert "no steam" in blocks[PLANT_LANE].label


def test_entries_are_pins_in_the_lane_of_their_area_or_machine(crew, book, draw, at):
    """The letter is that of the kind; a text of many lines is one line in the label."""
    crew.shift(at("03-02 06:00"))
    long = "Belt\nslipped " + "x" * 500
    book.write(
        "op1",
        [
            NewEntry(at("03-02 07:00"), long, "maintenance", equipment="m1"),
            NewEntry(at("03-02 08:00"), "Visitors", "safety"),
        ],
        kind="event",
    )
    pins = of_kind(draw(), MatterKind.ENTRY)
    assert [(pin.area, pin.letter) for pin in pins] == [(PLANT_LANE, "S"), ("mills", "M")]
    assert pins[1].label.startswith("Belt slipped xxx")
    assert len(pins[1].label) == LABEL_LETTERS
    assert pins[1].words.endswith("x" * 500)


def test_readings_missing_in_a_round_are_one_mark_with_the_reasons(crew, draw, at):
    """Two points of the mills without a value: one mark, with why or that nobody said why."""
    crew.round(at("03-02 06:00"))
    crew.round(at("03-02 08:00"), {"gap.m1": "!not_safe"}, without=["gap.m2"])
    crew.round(at("03-02 10:00"))
    marks = [m for m in of_kind(draw(now="03-02 11:30"), MatterKind.GAP) if m.area == "mills"]
    at_eight = [m for m in marks if m.start == at("03-02 08:00")]
    assert [m.label for m in at_eight] == ["2 missing"]
    assert "not safe" in at_eight[0].words
    assert "nobody said why" in at_eight[0].words


def test_a_round_nobody_took_is_not_told_again_in_every_lane(crew, draw, at):
    """The rounds say it once."""
    crew.shift(at("03-02 06:00"), skip=["10:00"])
    picture = draw()
    assert [s.state for s in picture.rounds if s.at == at("03-02 10:00")] == ["missed"]
    assert not [m for m in of_kind(picture, MatterKind.GAP) if m.start == at("03-02 10:00")]


def test_a_state_that_is_not_normal_is_a_mark_with_its_answer(crew, draw, at):
    """A flooded bed: an action mark in the lane of extraction."""
    crew.shift(at("03-02 06:00"), {"10:00": {"bed": "flooded"}})
    mark = of_kind(draw(), MatterKind.ANSWER)[0]
    assert (mark.area, mark.start) == ("extraction", at("03-02 10:00"))
    assert mark.judgement == Judgement(Severity.ACTION, Direction.NONE)
    assert "Flooded" in mark.label


def test_a_change_of_the_mode_stands_in_the_lane_of_the_plant(crew, book, draw, at):
    """With its name and its reason."""
    crew.shift(at("03-02 06:00"))
    row = NewModeChange(at("03-02 09:00"), "startup", "after the stop")
    book.write("op1", [row], kind="event")
    mark = of_kind(draw(), MatterKind.MODE)[0]
    assert (mark.area, mark.words) == (PLANT_LANE, "Mode Start-up from 09:00: after the stop.")
