"""The handover checklist, a test for each item that is ours: H1 to H20.

The items are drawn from published guidance on shift handover: UK HSE, Human factors: Shift
handover; HSE case study, Enhancing safe communications at shift handover; US DOE-STD-1038-93,
Operations Turnover, section 4.1.2. Of the list, H18 (revision on the round sheet) belongs to what
is printed, H21 (auditing past handovers) and H22 (asking back at vague entries) are not here.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.calendar import next_shift, shift_at
from logbook.plant.roster import Crew
from logbook.record import (
    NewAcknowledgement,
    NewEntry,
    NewHandoverNote,
    NewInstruction,
    NewItemEvent,
    NewModeChange,
    NewOpenItem,
    NewSafetyState,
    NewStatus,
    corrected,
)
from logbook.shift.away import away_before
from logbook.shift.handover import compose
from logbook.shift.handover_json import content_of
from logbook.shift.next_duties import DutyKind
from logbook.shift.review import chosen_rows, review_of
from logbook.shift.review_cells import CellState, Finding
from logbook.shift.risks import RiskKind
from logbook.shift.signed_json import unsigned_document
from logbook.shift.signed_state import HandoverStatus
from logbook.shift.signing import SigningRefused, answer_subject, prepare


@pytest.fixture
def day(crew, desk, at):
    """A day shift that ends with a thick mill; nothing else to tell, and that is said."""
    crew.shift(at("03-02 06:00"), {"16:00": {"gap.m1": 0.47}})
    desk.say_nothing()
    return desk


def content(desk):
    """The content of its handover now."""
    found = desk.compose()
    return content_of(found, review_of(desk.book, desk.shift, desk.clock.now, found.exceptions))


def test_h1_prepared_then_exchanged_then_accepted_and_only_then_is_the_other_side_in_charge(day):
    """Three recorded stages."""
    assert (day.state().status, day.state().in_charge) == (HandoverStatus.NOT_SIGNED, "outgoing")
    day.hand_over()
    day.read_all()
    assert day.state().checks
    assert (day.state().status, day.state().in_charge) == (HandoverStatus.NOT_ACCEPTED, "outgoing")
    day.take_over()
    assert (day.state().status, day.state().in_charge) == (HandoverStatus.ACCEPTED, "incoming")


def test_h2_two_signatures_by_two_people_each_with_name_role_time_and_meaning(day):
    """The same person cannot be both."""
    day.hand_over("op1")
    day.read_all("op1")
    with pytest.raises(SigningRefused, match="somebody else"):
        day.take_over("op1")
    day.read_all("op2")
    day.take_over("op2")
    outgoing, incoming = day.printed[-1]["signatures"]
    assert outgoing["person"] != incoming["person"]
    for signature in (outgoing, incoming):
        assert signature["person"]["name"]
        assert signature["person_role"] == "operator"
        assert signature["at"]["iso"]
        assert signature["meaning"]
    assert outgoing["meaning"] != incoming["meaning"]


def test_h3_the_incoming_accepts_or_asks_item_by_item_and_a_question_stays_and_prints(day):
    """Nothing is taken over unread."""
    day.hand_over()
    with pytest.raises(SigningRefused, match="Read first"):
        day.take_over()
    [subject] = day.subjects()
    answer_subject(day.book, day.shift, "op2", subject.key, "asked", "since when?")
    day.take_over()
    [check] = day.printed[-1]["checks"]
    assert (check["answer"], check["text"]) == ("asked", "since when?")
    assert check["title"] == "Mills: Flake thickness, Mill 1"
    assert [question.text for question in day.state().questions] == ["since when?"]


def test_h4_the_content_is_structured_and_in_a_fixed_order(day):
    """Every part is there, also where it is empty."""
    keys = list(content(day))
    parts = ["mode", "safety", "open_deviations", "not_available", "rounds", "lost_time"]
    parts += ["throughput", "lab", "tanks", "items", "limit_changes", "next_duties"]
    assert [key for key in keys if key in parts] == parts


def test_h5_what_the_next_shift_must_do_is_required_and_nothing_is_an_explicit_choice(
    crew, desk, book, at
):
    """An empty field does not pass."""
    crew.shift(at("03-02 06:00"))
    day, key = desk.shift.date, desk.shift.pattern
    book.write("op1", [NewHandoverNote(day, key, "no_safety", "none")])
    with pytest.raises(SigningRefused, match="say that there is nothing"):
        desk.hand_over()
    book.write("op1", [NewHandoverNote(day, key, "next_shift", "Watch the bed")])
    desk.hand_over()
    assert desk.printed[0]["content"]["notes"]["next_shift"]["text"] == "Watch the bed"


def test_h6_the_safety_part_is_always_there_and_none_is_said_in_so_many_words(crew, desk, book, at):
    """By whom and when."""
    crew.shift(at("03-02 06:00"))
    day, key = desk.shift.date, desk.shift.pattern
    book.write("op1", [NewHandoverNote(day, key, "no_next", "none")])
    with pytest.raises(SigningRefused, match="bypassed, permitted or isolated"):
        desk.hand_over()
    desk.say_nothing()
    desk.hand_over()
    found = desk.printed[0]["content"]
    assert found["safety"] == []
    assert found["notes"]["no_safety"]["person"]["name"] == "Operator One"


def test_h7_it_is_put_together_from_the_shifts_own_events_with_their_own_times(day, book, at):
    """Nobody types it from memory at the end."""
    book.write("op1", [NewEntry(at("03-02 09:20"), "Magnet cleaned twice", "process")])
    found = content(day)
    [entry] = found["entries"]
    assert (entry["text"], entry["at"]["label"]) == ("Magnet cleaned twice", "09:20")
    assert found["open_deviations"][0]["start"]["label"] == "16:00"


def test_h8_open_items_are_carried_until_closed_with_age_and_origin(day, book, plant, clock, at):
    """Shift after shift; a fault that comes back shows how often."""
    row = NewOpenItem(at("03-02 10:00"), "Order a bearing", "mills", "m1", owner="op2")
    saved = book.write("op1", [row])
    later = shift_at(plant.calendar, at("03-05 06:00"))
    clock.set(later.end)
    found = compose(book, later, clock.now)
    [item] = content_of(found, review_of(book, later, clock.now))["items"]
    assert item["age_hours"] == pytest.approx(80)
    assert item["at"]["label"] == "2026-03-02 10:00"
    assert (item["owner"]["name"], item["place"]) == ("Operator Two", "Mill 1")
    book.write("op2", [NewItemEvent(saved.ids[0], clock.now, "close", "bearing is here")])
    assert compose(book, next_shift(plant.calendar, later), clock.now).items == ()


def test_h8_the_same_fault_again_shows_as_a_count(crew, desk, at):
    """Of the week before."""
    crew.round(at("03-01 08:00"), {"gap.m1": 0.41})
    crew.round(at("03-01 10:00"))
    crew.round(at("03-02 08:00"), {"gap.m1": 0.41})
    assert desk.compose().repeats == {"gap.m1": 1}


@pytest.mark.parametrize("kind", ["bypass", "override"])
def test_h9_a_bypass_makes_it_a_higher_risk(day, book, at, kind):
    """A safety system is not in force."""
    book.write("op1", [NewSafetyState(at("03-02 16:10"), kind, "Level trip")])
    assert RiskKind.BYPASS in {risk.kind for risk in day.compose().risks}


@pytest.mark.parametrize("kind", ["permit", "isolation"])
def test_h9_work_over_the_change_of_shift_makes_it_a_higher_risk(day, book, at, kind):
    """Most handover accidents involved maintenance."""
    book.write("op1", [NewSafetyState(at("03-02 16:10"), kind, "Hot work")])
    assert RiskKind.MAINTENANCE in {risk.kind for risk in day.compose().risks}


def test_h9_so_does_a_machine_that_stands_an_abnormal_mode_and_an_action_deviation(day, book, at):
    """Each with a sentence."""
    assert [risk.kind for risk in day.compose().risks] == [RiskKind.DEVIATION]
    rows = [
        NewStatus("equipment", "m2", at("03-02 16:05"), "down", "bearing"),
        NewModeChange(at("03-02 16:06"), "startup", "steam back"),
    ]
    book.write("op1", rows)
    risks = {risk.kind: risk.text for risk in day.compose().risks}
    assert risks[RiskKind.MAINTENANCE] == "Mill 2 stands over the change of shift: bearing"
    assert risks[RiskKind.MODE] == "The plant is in Start-up"


def test_h9_a_crew_that_comes_back_after_long_makes_it_a_higher_risk(day, book, plant, at):
    """Five days off and more; an everyday break does not."""
    away = day.compose().away
    assert away.length < timedelta(days=5)
    rare = ("N", "O", "O", "O", "O", "O", "O", "O")
    own = Crew("A", "Crew A", 0, rare)
    calendar = replace(plant.calendar, crews=(own,), anchor=day.shift.date)
    book.revise(
        "head",
        replace(plant, calendar=calendar),
        effective_from=at("03-02 05:00"),
        reason="roster of the holidays",
    )
    kinds = {risk.kind for risk in day.compose().risks}
    assert RiskKind.ABSENCE in kinds


def test_h10_the_shifts_since_a_crew_was_last_here_are_listed(plant, at):
    """All that it missed, oldest first, up to the one that hands over to it."""
    shift = shift_at(plant.calendar, at("03-05 06:00"))
    away = away_before(plant.calendar, shift)
    assert away.last.crew == shift.crew
    assert all(one.crew != shift.crew for one in away.missed)
    assert away.missed[0].start == away.last.end
    assert away.missed[-1].end == shift.start


def test_h11_a_handover_that_nobody_accepted_is_loud_and_prints_as_such(day, clock):
    """Overdue half an hour after the shift."""
    day.hand_over()
    assert day.printed[-1]["status"] == "NOT ACCEPTED"
    clock.set(day.shift.end + timedelta(hours=1))
    assert day.state().is_overdue
    prepared = prepare(day.book, day.shift, clock.now)
    unsigned = unsigned_document(prepared.content, prepared.content_hash, prepared.seal)
    assert unsigned["status"] == "NOT SIGNED"


def test_h12_the_shift_goes_on_to_day_staff_by_its_review(day, book, clock):
    """The supervisor sees every point in every round."""
    clock.set(day.shift.end)
    grid = review_of(book, day.shift, clock.now)
    assert len(grid.rows) == len(grid.plant.points)
    assert grid.count(Finding.FLAGGED) == 2


def test_h13_who_did_the_work_is_told_where_another_tells_it(day, book, at):
    """The one who signs need not be the one who wrote."""
    book.write("op2", [NewEntry(at("03-02 12:00"), "Filled the work tank by 4 m3", "process")])
    day.hand_over("op1")
    found = day.printed[0]
    assert found["content"]["entries"][0]["person"]["name"] == "Operator Two"
    assert found["signatures"][0]["person"]["name"] == "Operator One"


def test_h14_an_instruction_tells_who_of_the_next_crew_has_not_read_it(day, book, plant, at):
    """Until each has."""
    following = next_shift(plant.calendar, day.shift)
    people = [
        replace(person, crew=following.crew) if person.key in {"op1", "op2"} else person
        for person in plant.people
    ]
    book.revise(
        "head",
        replace(plant, people=tuple(people)),
        effective_from=at("03-02 05:00"),
        reason="crews changed",
    )
    row = NewInstruction(at("03-02 11:00"), None, "Wear the new masks")
    saved = book.write("head", [row])
    [found] = day.compose().instructions
    assert found.unread == ("op1", "op2")
    book.write("op1", [NewAcknowledgement(saved.ids[0], at("03-02 11:30"))])
    found = day.compose()
    assert found.instructions[0].unread == ("op2",)
    [duty] = [one for one in found.next_duties if one.kind is DutyKind.INSTRUCTION]
    assert duty.text.endswith("(Operator Two)")


def test_h15_the_supervisor_sees_flags_skips_late_and_corrected_entries_first(crew, desk, book, at):
    """Each kind can be looked for."""
    crew.shift(at("03-02 06:00"), {"08:00": {"bed": "flooded"}}, skip=("10:00",))
    [old] = book.readings(["moisture"], at("03-02 08:00"), at("03-02 08:01"))
    book.write("op1", [corrected(old, why="wrong dial", value=11.0)], kind="correction")
    desk.clock.set(at("03-02 19:00"))
    grid = review_of(book, desk.shift, desk.clock.now)
    assert chosen_rows(grid)[0].point.key == "bed"
    assert {finding: grid.count(finding) > 0 for finding in (Finding.FLAGGED, Finding.MISSING)} == {
        Finding.FLAGGED: True,
        Finding.MISSING: True,
    }
    assert grid.count(Finding.CORRECTED) == 1


def test_h16_limits_stand_beside_readings_and_a_standing_machine_has_a_reason(
    crew, desk, book, clock, at
):
    """Instead of a blank."""
    clock.set(at("03-02 06:00"))
    book.write("op1", [NewStatus("equipment", "m1", at("03-02 06:00"), "down", "bearing")])
    crew.round(at("03-02 06:00"), without=["gap.m1"])
    desk.clock.set(at("03-02 19:00"))
    [mills] = [a for a in content(desk)["readings"]["areas"] if a["key"] == "mills"]
    [row] = [row for row in mills["rows"] if row["key"] == "gap.m2"]
    assert row["limits"].startswith("target 0.35 · warning 0.30 to 0.40")
    grid = review_of(book, desk.shift, desk.clock.now)
    [stood] = [row for row in grid.rows if row.point.key == "gap.m1"]
    assert (stood.cells[0].state, stood.cells[0].why) == (CellState.NOT_DUE, ("machine down",))


def test_h16_an_action_deviation_without_a_response_is_a_duty_of_the_next_shift(day):
    """Somebody must say what is done about it."""
    kinds = {duty.kind for duty in day.compose().next_duties}
    assert DutyKind.ANSWER in kinds


def test_h17_a_changed_limit_is_told_with_who_and_why_and_old_readings_keep_theirs(
    day, book, plant, at
):
    """With what a deviation means and the first response beside it."""
    points = [
        replace(p, limits=replace(p.limits, action_high=0.9, warning_high=0.8))
        if p.key == "gap.m1"
        else p
        for p in plant.points
    ]
    revised = replace(plant, points=tuple(points))
    book.revise("head", revised, effective_from=at("03-02 17:00"), reason="rolls were ground")
    found = content(day)
    [change] = found["limit_changes"]
    assert (change["person"]["name"], change["reason"]) == ("Technical head", "rolls were ground")
    assert "action 0.25 to 0.45" in change["before"]
    [deviation] = [d for d in found["open_deviations"] if not d["follows"]]
    assert deviation["judgement"] == "action high, over 0.45"
    assert deviation["means"] == "Oil left in the meal"
    assert deviation["first_response"] == "Set the roll gap"


def test_h19_what_is_printed_has_exceptions_first_all_readings_after_and_what_changed_since(
    day, book, clock, at
):
    """Both signatures, and whether it was accepted."""
    day.hand_over()
    clock.advance(minutes=2)
    [old] = book.readings(["dip"], at("03-02 16:00"), at("03-02 16:01"))
    book.write("head", [corrected(old, why="read again", value=1.3)], kind="correction")
    day.read_all()
    day.take_over()
    document = day.printed[-1]
    keys = list(document["content"])
    assert keys.index("safety") < keys.index("open_deviations") < keys.index("readings")
    assert [change["why"] for change in document["changed"]] == ["read again"]
    assert len(document["signatures"]) == 2
    assert document["seal"]


def test_h20_when_it_began_ended_and_how_late_it_was_can_be_seen(day, clock):
    """So that management sees whether there is time enough."""
    clock.set(day.shift.end + timedelta(minutes=10))
    day.hand_over()
    day.read_all()
    day.take_over()
    state = day.state()
    assert state.begun_at == day.shift.end + timedelta(minutes=10)
    assert state.duration == timedelta(minutes=5)
    assert state.lateness == timedelta(minutes=15)
