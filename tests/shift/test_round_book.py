"""The desk: a round opened, kept as a draft, saved; the rounds' state; times in words."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from logbook.plant.model import Settings
from logbook.record import BookError, NewReading, open_book
from logbook.shift.round_book import RoundDesk
from logbook.shift.round_state import RoundState


@pytest.fixture
def desk(book, clock, at):
    """A desk at 14:05 on Monday, with the 14:00 round open."""
    clock.set(at("03-02 14:05"))
    made = RoundDesk(book)
    made.open(made.round_due(), is_round=True, note="")
    return made


def states(desk):
    """Local time of day and state of each round on the strip."""
    return {desk.label(s.at)[0]: s.state.value for s in desk.statuses()}


# -- opening, draft and save -----------------------------------------------------------------------


def test_the_round_due_is_the_last_one_due(desk, at, clock):
    """Until the next one."""
    assert desk.round_due() == at("03-02 14:00")
    clock.set(at("03-02 15:59"))
    assert desk.round_due() == at("03-02 14:00")
    clock.set(at("03-02 16:00"))
    assert desk.round_due() == at("03-02 16:00")


def test_a_draft_comes_back_in_another_desk(desk, book, at):
    """After a crash: what was typed, for whom, and the note."""
    desk.form.type("gap.m1", "3.5")
    desk.form.confirm("gap.m1")
    desk.form.respond("gap.m1", "gap set")
    desk.form.give_reason("dip", "not_safe")
    desk.form.note = "half done"
    desk.keep_draft(["gap.m1", "dip"], "op1")
    other = RoundDesk(book)
    restored = other.open(at("03-02 14:00"), is_round=True, note="")
    assert (restored.count, restored.person) == (2, "op1")
    assert other.form.fields["gap.m1"].entry == desk.form.fields["gap.m1"].entry
    assert other.form.fields["dip"].entry.reason == "not_safe"
    assert other.form.note == "half done"


def test_an_emptied_field_leaves_the_draft(desk, book, at):
    """What was taken back does not come back."""
    desk.form.type("dip", "1.2")
    desk.keep_draft(["dip"], "op1")
    desk.form.undo()
    desk.keep_draft(["dip"], "op1")
    assert RoundDesk(book).open(at("03-02 14:00"), is_round=True, note="").count == 0


def test_a_field_of_a_machine_that_stands_stays_in_the_draft(desk, book, at):
    """Typed, then the mill was stopped: when it runs after all, the value is there."""
    desk.form.type("gap.m1", "0.35")
    desk.form.type("state.m1", "standby")
    desk.keep_draft(["gap.m1", "state.m1"], "op1")
    other = RoundDesk(book)
    other.open(at("03-02 14:00"), is_round=True, note="")
    other.form.type("state.m1", "running")
    assert [f.point.key for f in other.form.taken()] == ["state.m1", "gap.m1"]


def test_nothing_typed_keeps_no_draft(desk, book):
    """Opening a round and choosing a person leaves no trace."""
    desk.keep_draft([], "op1")
    assert book.drafts() == []


def test_a_save_writes_one_page_and_drops_the_draft(desk, book, at):
    """With every field, the response to its own reading, and nothing of what is unsettled."""
    desk.form.type("gap.m1", "0.5")
    desk.form.respond("gap.m1", " gap set ")
    desk.form.give_reason("dip", "not_safe")
    desk.form.type("moisture", "x")
    desk.keep_draft(["gap.m1", "dip", "moisture"], "op1")
    before = book.last_page().id
    told = desk.save("op1")
    page = book.last_page()
    assert page.id == before + 1
    assert (page.person, page.kind, page.row_count) == ("op1", "round", 3)
    rows = {r.point: r for r in book.readings(None, at("03-02 14:00"), at("03-02 14:01"))}
    assert set(rows) == {"gap.m1", "dip"}
    assert rows["gap.m1"].round_at == at("03-02 14:00")
    assert rows["gap.m1"].typed == "0.5"
    assert rows["dip"].reason == "not_safe"
    responses = book.responses([rows["gap.m1"].id])[rows["gap.m1"].id]
    assert [r.text for r in responses] == ["gap set"]
    assert book.drafts() == []
    assert told.startswith(
        "Saved at 14:05: 1 reading, 1 without value and with its reason, "
        "1 action deviation, 1 response. Seal "
    )
    assert told.endswith("fields are still open.")


def test_after_a_save_the_rest_of_the_round_can_be_filled_in(desk):
    """The saved field is closed, the others are open; the second save is a page of its own."""
    desk.form.type("gap.m1", "0.35")
    desk.save("op1")
    assert not desk.form.is_open("gap.m1")
    desk.form.type("gap.m2", "0.36")
    desk.save("op1")
    assert desk.form.fields["gap_mean"].entry.value == pytest.approx(0.355)


def test_what_is_told_counts_only_what_is_written(desk):
    """A response to a value typed anew within limits is neither written nor told."""
    desk.form.type("gap.m1", "0.5")
    desk.form.respond("gap.m1", "gap set")
    desk.form.type("gap.m1", "0.35")
    assert "response" not in desk.save("op1")


def test_a_save_of_nothing_is_refused_and_loses_nothing(desk, book):
    """The draft is still there."""
    desk.form.type("gap.m1", "x")
    desk.keep_draft(["gap.m1"], "op1")
    with pytest.raises(BookError, match="nothing to save"):
        desk.save("op1")
    assert len(book.drafts()) == 1
    assert desk.form.fields["gap.m1"].entry.typed == "x"


def test_a_save_refused_by_the_book_leaves_the_form_as_it_was(desk, book, at):
    """Another seat was quicker with the same reading."""
    desk.form.type("dip", "1.2")
    book.write("op2", [NewReading("dip", at("03-02 14:00"), value=1.3)])
    with pytest.raises(BookError, match="already has a reading"):
        desk.save("op1")
    assert desk.form.fields["dip"].entry.value == 1.2


def test_a_book_opened_to_read_keeps_no_draft(desk, book, clock, at):
    """Nothing fails either."""
    with open_book(book.path, clock=clock, writable=False) as shown:
        reader = RoundDesk(shown)
        reader.open(at("03-02 14:00"), is_round=True, note="")
        reader.form.type("dip", "1.2")
        reader.keep_draft(["dip"], "op1")
    assert book.drafts() == []


# -- the rounds' state ---------------------------------------------------------------------------


def test_the_strip_shows_this_shift_and_the_one_before(desk, crew, at):
    """Done, partly, missed and due; nothing before the book was begun."""
    crew.round(at("03-02 06:00"))
    crew.round(at("03-02 08:00"), without=["dip"])
    assert states(desk) == {
        "18:00": "missed", "20:00": "missed", "22:00": "missed", "00:00": "missed",
        "02:00": "missed", "04:00": "missed", "06:00": "done", "08:00": "partly",
        "10:00": "missed", "12:00": "missed", "14:00": "due",
    }  # fmt: skip


def test_a_round_counts_from_the_moment_it_is_due(desk, clock, at):
    """At 15:59:59 the next round is not on the strip, at 16:00 it is."""
    clock.set(at("03-02 16:00") - timedelta(seconds=1))
    assert "16:00" not in states(desk)
    clock.set(at("03-02 16:00"))
    assert states(desk)["16:00"] == "due"
    assert states(desk)["14:00"] == "missed"


def test_the_running_round_is_late_after_the_grace_time(desk, clock, at):
    """An hour in this plant, to the second."""
    clock.set(at("03-02 15:00"))
    assert states(desk)["14:00"] == "due"
    clock.advance(seconds=1)
    assert states(desk)["14:00"] == "late"


def test_a_reason_counts_as_done(desk, crew, at):
    """Every field has a value or a reason."""
    crew.round(at("03-02 08:00"), {"dip": "!not_safe"})
    assert states(desk)["08:00"] == "done"


def test_a_round_in_which_nothing_was_due_has_no_state(desk, at):
    """The whole plant was down."""
    desk.write_status("op1", "plant", "", "down", at("03-02 13:00"), "no power")
    desk.write_status("op1", "plant", "", "up", at("03-02 14:03"), "")
    statuses = {s.at: s for s in desk.statuses()}
    assert statuses[at("03-02 12:00")].state is RoundState.MISSED
    assert statuses[at("03-02 14:00")].state is RoundState.NONE
    assert statuses[at("03-02 14:00")].due == 0


def test_what_is_read_once_a_shift_counts_in_the_last_round(desk, crew, at, clock, book):
    """Read at 06:00, it is not due at 16:00; read at 17:00, after the round, it is done."""
    crew.round(at("03-02 06:00"), {"state.m1": "running"})
    crew.round(at("03-02 16:00"))
    last = next(s for s in desk.statuses() if s.at == at("03-02 16:00"))
    assert (last.due - last.done, last.state) == (2, RoundState.PARTLY)
    clock.set(at("03-02 17:00"))
    rows = [
        NewReading("state.m2", at("03-02 17:00"), text="running"),
        NewReading("magnets", at("03-02 17:00"), text="done"),
    ]
    book.write("op1", rows)
    last = next(s for s in desk.statuses() if s.at == at("03-02 16:00"))
    assert last.state is RoundState.DONE


def test_rounds_are_counted_with_the_points_of_their_time(desk, book, plant, at, crew, clock):
    """A point that was added at noon is not missing in the morning."""
    few = replace(plant, points=tuple(p for p in plant.points if p.key != "dip"))
    book.revise("head", few, effective_from=at("03-02 05:00"), reason="tank out of use")
    book.revise("head", plant, effective_from=at("03-02 11:00"), reason="tank in use")
    crew.round(at("03-02 10:00"), without=["dip"])
    crew.round(at("03-02 12:00"), without=["dip"])
    clock.set(at("03-02 14:05"))
    assert states(desk)["10:00"] == "done"
    assert states(desk)["12:00"] == "partly"


def test_an_old_round_on_screen_does_not_change_what_is_due_now(desk, book, plant, at, clock):
    """After a revision of the rounds, the strip is the new one's whatever round is open."""
    hourly = replace(plant, settings=replace(plant.settings, round_hours=4))
    book.revise("head", hourly, effective_from=at("03-02 18:00"), reason="fewer rounds")
    clock.set(at("03-02 23:00"))
    desk.open(at("03-02 14:00"), is_round=True, note="")
    assert desk.round_due() == at("03-02 22:00")


# -- times in words ------------------------------------------------------------------------------


def test_a_round_in_time_needs_no_note(desk, clock, at):
    """An hour after it is due it still is in time."""
    clock.set(at("03-02 15:00"))
    assert not desk.needs_note()
    assert desk.late_words() == ""


def test_a_late_round_says_by_how_much(desk, clock, at):
    """And from the next day on, of which day it is."""
    clock.set(at("03-02 15:20"))
    assert desk.needs_note()
    assert desk.late_words() == (
        "The round of 14:00 is entered 1 h 20 min later and will be marked late."
    )
    clock.set(at("03-05 15:20"))
    assert "14:00 on 2026-03-02 is entered 3 days later" in desk.late_words()


def test_late_words_agree_with_what_the_book_marks(desk, clock, at, book):
    """To the second of the grace time."""
    clock.set(at("03-02 15:00"))
    desk.form.type("dip", "1.2")
    desk.save("op1")
    clock.advance(seconds=1)
    desk.form.type("moisture", "12")
    assert "marked late" in desk.late_words()
    desk.save("op1")
    rows = {r.point: r.late for r in book.readings(None, at("03-02 14:00"), at("03-02 14:01"))}
    assert rows == {"dip": False, "moisture": True}


def test_readings_outside_the_rounds_say_so(desk, clock, at):
    """In time they are only asked for a note; later they are late; empty they are nothing."""
    desk.open(at("03-02 13:50"), is_round=False, note="")
    assert desk.late_words() == ""
    desk.form.type("dip", "1.2")
    assert desk.needs_note()
    assert desk.late_words() == "Readings taken at 13:50 are outside the rounds."
    clock.set(at("03-02 16:00"))
    assert "entered 2 h 10 min later and will be marked late" in desk.late_words()


@pytest.mark.parametrize(
    ("typed", "clock_"), [("9:17", "09:17"), ("0917", "09:17"), ("6", "06:00")]
)
def test_a_time_typed_for_earlier_readings_is_local(desk, at, typed, clock_):
    """On the day named."""
    assert desk.read_time(date(2026, 3, 2), typed) == at(f"03-02 {clock_}")


@pytest.mark.parametrize(
    ("day", "typed", "told"),
    [
        ((2026, 3, 2), "14:06", "future"),
        ((2026, 3, 3), "06:00", "future"),
        ((2026, 3, 2), "25:00", "not a time"),
        ((2026, 3, 2), "", "not a time"),
    ],
)
def test_a_time_that_cannot_be_meant_is_told(desk, day, typed, told):
    """In a sentence, never an instant."""
    found = desk.read_time(date(*day), typed)
    assert isinstance(found, str)
    assert told in found


@pytest.mark.parametrize(
    ("opened", "typed", "meant"),
    [
        ("03-02 14:00", "13:50", "03-02 13:50"),
        ("03-02 14:00", "23:30", "03-01 23:30"),
        ("03-02 00:00", "23:30", "03-01 23:30"),
        ("03-01 22:00", "00:10", "03-02 00:10"),
    ],
)
def test_a_time_of_day_alone_is_the_one_nearest_to_the_round(desk, at, opened, typed, meant):
    """Over midnight too, and never one to come."""
    desk.open(at(opened), is_round=True, note="")
    assert desk.read_recent(typed) == at(meant)


def test_a_time_of_day_that_cannot_be_read_is_told(desk):
    """As with a date."""
    assert "not a time of day" in desk.read_recent("soon")
    assert desk.since_label() == "14:00"
    assert desk.today() == date(2026, 3, 2)


def test_a_time_of_day_that_comes_twice_is_asked_about(desk, clock, at):
    """Another day's, which comes once, is not taken instead."""
    clock.set(at("11-01 05:00"))
    desk.open(at("11-01 03:00"), is_round=True, note="")
    assert "comes twice" in desk.read_recent("01:30")


def test_the_hour_that_comes_twice_is_asked_about(desk, clock, at):
    """On 1 November 01:30 comes twice; with the zone's name it is one instant."""
    clock.set(at("11-02 06:00"))
    day = date(2026, 11, 1)
    asked = desk.read_time(day, "01:30")
    assert "01:30 CDT or 01:30 CST" in asked
    first, second = desk.read_time(day, "01:30 CDT"), desk.read_time(day, "01:30 CST")
    assert second - first == timedelta(hours=1)


def test_the_hour_that_is_skipped_does_not_exist(desk, clock, at):
    """On 8 March the clocks go from 02:00 to 03:00."""
    clock.set(at("03-09 06:00"))
    assert "does not exist" in desk.read_time(date(2026, 3, 8), "02:30")


def test_the_long_night_has_a_round_more(desk, clock, at):
    """From 18:00 CDT on 31 October to 06:00 CST are 13 hours and seven rounds."""
    clock.set(at("11-01 05:30"))
    shown = [desk.label(s.at)[0] for s in desk.statuses()][-7:]
    assert shown == ["18:00", "20:00", "22:00", "00:00", "01:00 CST", "03:00", "05:00"]


def test_the_short_night_has_its_rounds_two_hours_apart(desk, clock, at):
    """From 18:00 CST on 7 March to 06:00 CDT are 11 hours and six rounds."""
    clock.set(at("03-08 05:30"))
    shown = [desk.label(s.at)[0] for s in desk.statuses()][-6:]
    assert shown == ["18:00", "20:00", "22:00", "00:00", "03:00", "05:00"]


def test_the_title_names_plant_round_shift_and_crew(desk):
    """Of the round that is open."""
    assert desk.title() == "Plant of two mills – round 14:00, 2026-03-02, Day, Crew C"


# -- people, stops and modes ---------------------------------------------------------------------


def test_readers_are_not_asked_who_writes(desk, at):
    """Everybody else is, in the order of the plant where nobody of theirs is on shift."""
    keys = [key for key, _ in desk.people(at("03-02 14:00"))]
    assert keys == ["head", "op1", "op2"]


def test_the_people_of_the_shift_lead_the_list(desk, plant, at):
    """Whoever's crew it is."""
    for day in range(2, 12):
        when = at(f"03-{day:02d} 14:00")
        keys = [key for key, _ in desk.people(when)]
        crew = plant.calendar.crew_on(date(2026, 3, day), "D")
        own = [p.key for p in plant.people if p.crew == crew]
        assert keys[: len(own)] == own


def test_a_machine_goes_down_and_comes_back(desk, book, clock, at):
    """From the moment that is named; the list says what is down."""
    desk.write_status("op1", "equipment", "m1", "down", at("03-02 13:30"), "bearing")
    assert ("equipment", "m1", "Mill 1", True) in desk.targets("mills")
    assert ("equipment", "m2", "Mill 2", False) in desk.targets("mills")
    clock.advance(hours=1)
    desk.write_status("op1", "equipment", "m1", "up", clock.now, "")
    assert all(not is_down for *_, is_down in desk.targets("mills"))
    [span] = book.down_intervals(at("03-02 12:00"), at("03-02 18:00"))
    assert (span.start, span.end) == (at("03-02 13:30"), at("03-02 15:05"))


def test_going_down_needs_a_reason(desk, clock):
    """The book refuses it without."""
    with pytest.raises(BookError, match="needs some words"):
        desk.write_status("op1", "area", "mills", "down", clock.now, " ")


def test_a_change_of_mode_holds_from_now_on(desk, book, at, clock):
    """The open round keeps its mode; the next has the new one."""
    desk.write_mode("op1", "startup", clock.now, "begin")
    clock.set(at("03-02 16:05"))
    desk.open(at("03-02 16:00"), is_round=True, note="")
    assert desk.form.mode == "startup"
    desk.open(at("03-02 14:00"), is_round=True, note="")
    assert desk.form.mode == "normal"


def test_trends_go_up_to_the_round(desk, crew, at):
    """A week of each number of the area, asked for once."""
    crew.round(at("03-02 12:00"), {"gap.m1": 0.42})
    desk.open(at("03-02 14:00"), is_round=True, note="")
    trend = desk.trends("mills")["gap.m1"]
    assert trend.value.tolist() == [0.42]
    assert trend.code.tolist() == [1]
    assert desk.trends("mills") is desk.trends("mills")
    assert "state.m1" not in desk.trends("mills")


def test_the_first_open_area_is_the_first_with_something_due(desk, crew, at):
    """With everything done, the first of all."""
    crew.round(at("03-02 14:00"), without=["dip"])
    desk.open(at("03-02 14:00"), is_round=True, note="")
    assert desk.first_open_area() == "tanks"
    desk.form.type("dip", "1")
    assert desk.first_open_area() == "mills"


def test_a_plant_without_grace_marks_every_later_minute(desk, book, plant, at, clock):
    """Settings in force at the round decide."""
    strict = replace(plant, settings=Settings(round_hours=2, grace_minutes=0))
    book.revise("head", strict, effective_from=at("03-02 10:00"), reason="strict")
    desk.open(at("03-02 14:00"), is_round=True, note="")
    assert desk.needs_note()
