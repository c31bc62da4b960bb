"""The handover checklist, a test or more for each item: H1 to H22.

The items are drawn from published guidance on shift handover: UK HSE, Human factors: Shift
handover; HSE case study, Enhancing safe communications at shift handover; US DOE-STD-1038-93,
Operations Turnover, section 4.1.2. The list has H1 to H22; each has a test or more here.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.calendar import next_shift, previous_shift, shift_at
from logbook.plant.model import Person
from logbook.plant.roster import Crew
from logbook.record import (
    NewAccess,
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
from logbook.report.sheet import sheet_data
from logbook.shift.audit import audit_sample
from logbook.shift.away import away_before
from logbook.shift.catch_up import catch_up, confirm
from logbook.shift.handover import compose
from logbook.shift.handover_json import content_of
from logbook.shift.next_duties import DutyKind
from logbook.shift.plant_revision import plant_revision, revision_words
from logbook.shift.relief import offer, take
from logbook.shift.reliefs import open_reliefs
from logbook.shift.review import chosen_rows, review_of
from logbook.shift.review_cells import CellState, Finding
from logbook.shift.risks import RiskKind
from logbook.shift.risks_people import meeting_risks, overlap_risk
from logbook.shift.signed_json import unsigned_document
from logbook.shift.signed_state import HandoverStatus
from logbook.shift.signing import SigningRefused, answer_subject, prepare
from logbook.shift.vague import asks_back


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


# -- people -------------------------------------------------------------------------------


def crew_of(book, plant, at, following, **changes):
    """Put Operator Two into the crew that takes over, changed as given."""
    people = tuple(
        replace(p, crew=following.crew, **changes) if p.key == "op2" else p for p in plant.people
    )
    revised = replace(plant, people=people)
    book.revise("head", revised, effective_from=at("03-02 05:00"), reason="crews changed")


def test_h9_a_trainee_in_the_next_crew_makes_it_a_higher_risk_and_is_confirmed(
    day, book, plant, at
):
    """An extra subject that the incoming must answer."""
    crew_of(book, plant, at, next_shift(plant.calendar, day.shift), trainee=True)
    risks = {risk.kind: risk.text for risk in day.compose().risks}
    assert risks[RiskKind.TRAINEE] == "New to the post in the next crew: Operator Two"
    day.hand_over()
    titles = [subject.title for subject in day.subjects()]
    assert titles[-1] == "Needs more care: New to the post in the next crew: Operator Two"
    answer_subject(day.book, day.shift, "op2", day.subjects()[0].key, "accepted")
    with pytest.raises(SigningRefused, match="Read first, and accept it or ask: Needs more care"):
        day.take_over()


def test_h9_a_person_who_comes_back_after_long_makes_it_a_higher_risk(day, book, plant, clock, at):
    """Though the crew itself was here."""
    crew_of(book, plant, at, next_shift(plant.calendar, day.shift))
    row = NewAccess("op2", at("03-01 06:30") - timedelta(days=9), "signed_on")
    book.write("op2", [row], kind="access")
    risks = {risk.kind: risk.text for risk in day.compose().risks}
    assert risks[RiskKind.ABSENCE] == "Operator Two of the next crew was last here 10 days ago"


def test_h9_two_who_did_not_meet_are_marked(day, book, plant, clock):
    """The outgoing had signed off before the incoming came; who meet are not marked."""
    day.hand_over()
    assert overlap_risk(book, plant, day.state()) is None, "nobody has come yet"
    day.door.sign_off("op1", "went home")
    clock.advance(minutes=25)
    day.read_all()
    day.take_over()
    risk = overlap_risk(book, plant, day.state())
    assert risk.kind is RiskKind.OVERLAP
    assert risk.text == (
        "No overlap: Operator One had left at 17:50, whoever takes over came at 18:15"
    )


def test_h9_a_late_or_missing_person_is_marked_beside_what_was_signed(day, book, plant, clock):
    """From half an hour after the end on, and for good."""
    day.hand_over()
    clock.set(day.shift.end + timedelta(minutes=40))
    [missing] = meeting_risks(book, plant, day.state())
    assert missing.text == "Nobody here 40 min after the end of the shift"
    day.read_all()
    day.take_over()
    [late] = meeting_risks(book, plant, day.state())
    assert (late.kind, late.text) == (
        RiskKind.LATE,
        "Taken over late, 45 min after the end of the shift",
    )


def test_h9_two_who_met_are_not_marked(day, book, plant):
    """The outgoing is still signed on while the incoming reads."""
    day.hand_over()
    day.read_all()
    day.take_over()
    assert overlap_risk(book, plant, day.state()) is None


def test_h10_what_was_missed_is_confirmed_line_by_line_by_whoever_was_away(day, book, plant, clock):
    """Recorded with the person and the time."""
    book.write("op2", [NewAccess("op2", day.shift.start, "signed_on")], kind="access")
    book.write("head", [NewSafetyState(clock.now, "bypass", "Level trip")])
    clock.advance(days=3)
    found = catch_up(book, plant, "op2", clock.now)
    assert found.unread[0].title == "Bypass: Level trip"
    day.shift = previous_shift(plant.calendar, shift_at(plant.calendar, clock.now))
    day.say_nothing()
    day.hand_over()
    day.read_all()
    with pytest.raises(SigningRefused, match="Read first what happened since you were last here"):
        day.take_over()
    for line in found.unread:
        confirm(book, found, line)
    assert catch_up(book, plant, "op2", clock.now).unread == ()
    checks = book.handover_checks(found.shift.date, found.shift.pattern)
    assert {(check.person, check.answer) for check in checks} == {("op2", "read")}
    day.take_over()
    assert day.state().status is HandoverStatus.ACCEPTED


def test_h11_relief_during_a_shift_is_a_record_of_its_own(day, book, plant, clock):
    """Offered and taken over by two people; the first stays in charge until then."""
    offer(book, day.door, "op1", day.secrets["op1"], "tanks", "going home sick")
    [open_one] = open_reliefs(book, plant, clock.now)
    clock.advance(minutes=3)
    take(book, day.door, open_one, "op2", day.secrets["op2"], {})
    assert open_reliefs(book, plant, clock.now) == ()
    kinds = [entry.kind for entry in day.compose().entries]
    assert kinds == ["relief", "relief taken"]


def test_h12_a_relief_is_for_an_area_or_for_the_whole_shift(day, book, plant, clock):
    """Positions that a plant has are its areas."""
    offer(book, day.door, "op1", day.secrets["op1"], "mills", "meal break")
    offer(book, day.door, "op2", day.secrets["op2"], "tanks", "meal break")
    assert [one.area for one in open_reliefs(book, plant, clock.now)] == ["mills", "tanks"]


def test_h18_the_round_sheet_bears_its_revision_and_who_approved_it(day, book, plant, clock, at):
    """A new limit makes a new revision, a new person none; on paper and in the About box."""
    assert revision_words(book, plant, clock.now) == "revision 1 of 2026-03-01, Technical head"
    points = tuple(
        replace(p, limits=replace(p.limits, warning_high=0.42)) if p.key == "gap.m1" else p
        for p in plant.points
    )
    more = (*plant.people, Person("op9", "Operator Nine"))
    for revised, when in ((points, "03-02 15:00"), (points, "03-02 16:00")):
        changed = replace(plant, points=revised, people=more)
        book.revise("head", changed, effective_from=at(when), reason="rolls were ground")
    words = revision_words(book, plant, clock.now)
    assert words == "revision 2 of 2026-03-02, Technical head"
    data = sheet_data(
        plant, day.shift, printed_at=clock.now, seal="", mode="normal", revision=words
    )
    assert data["head"]["span"].endswith(", revision 2 of 2026-03-02, Technical head")
    assert plant_revision(book, clock.now).reason == "rolls were ground"
    assert plant_revision(book, at("03-02 14:00")).number == 1


def test_h21_past_handovers_are_drawn_by_lot_with_a_sheet_to_score(day, book, clock):
    """The same seed draws the same ones; what the record shows is scored, the rest observed."""
    day.hand_over()
    day.read_all()
    day.take_over()
    clock.advance(days=5)
    start = book.created_at
    drawn = audit_sample(book, start, clock.now, 4, 7)
    assert [sheet.shift for sheet in drawn] == [
        sheet.shift for sheet in audit_sample(book, start, clock.now, 4, 7)
    ]
    everything = audit_sample(book, start, clock.now, 99, 7)
    [signed] = [sheet for sheet in everything if sheet.shift == day.shift]
    scores = {score.what: (score.is_met, score.shown) for score in signed.scores}
    assert scores["Outgoing signed"] == (True, "op1")
    assert scores["Taken over in time"] == (True, "-5 min after the end")
    assert scores["Each matter read one by one"] == (True, "1 of 1, 0 asked about")
    assert scores["Each open action deviation has a response"] == (False, "0 of 1")
    assert sum(sheet.met for sheet in everything) == signed.met, "nobody signed the others"


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("Brought some in", "Say which machine or valve and how much, or from what to what"),
        ("Opened the valve V-12", "Say how much, or from what to what"),
        ("Opened V-12 from 20 to 40 %", ""),
        ("Filled by 4 m3", "Say which machine or valve"),
        ("Mill 1 stopped at 14:20 for a bearing", ""),
        ("Quiet shift, nothing to tell", ""),
    ],
)
def test_h22_an_entry_that_tells_of_a_change_is_asked_what_and_how_much(plant, text, asked):
    """Which machine, and an amount or from what to what."""
    found = asks_back(text, "process", None, plant)
    assert found == (f"{asked}; or write it once more as it is." if asked else "")


def test_h22_a_machine_that_is_chosen_beside_the_text_is_named_and_a_delivery_is_not_asked(plant):
    """The prompt is for what the next shift could not know."""
    assert "which machine" not in asks_back("Started again", "process", "m1", plant)
    assert asks_back("Took in beans", "delivery", None, plant) == ""
