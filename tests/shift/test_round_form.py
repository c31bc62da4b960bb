"""A round being filled in: typing, questions, reasons, responses and what follows from what."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from logbook.assess.limits import Severity
from logbook.plant.model import Settings
from logbook.record import DraftField
from logbook.shift.answer import EMPTY, Asks
from logbook.shift.round_form import SavedReading, describe_reason

WRITTEN = datetime(2026, 3, 2, 20, 5, tzinfo=UTC)


def saved(**parts):
    """A reading as the book holds it."""
    base = {"id": 1, "value": None, "text": None, "reason": None, "typed": "", "person": "op1"}
    return SavedReading(**{**base, **parts}, written_at=WRITTEN)


def entry(form, key):
    """What stands in a field."""
    return form.fields[key].entry


# -- typing ---------------------------------------------------------------------------------


def test_a_typed_number_is_read_and_judged_at_once(form):
    """A value out of limits carries its judgement; the field counts as done."""
    changed = form.type("gap.m1", "0.42")
    assert "gap.m1" in changed
    assert entry(form, "gap.m1").value == 0.42
    assert str(form.fields["gap.m1"].judgement) == "warning high"
    assert form.fields["gap.m1"].is_done


def test_a_half_typed_number_is_no_value(form):
    """Letters are asked about, and nothing of them is taken."""
    form.type("gap.m1", "0.4x")
    assert entry(form, "gap.m1").question.asks is Asks.UNREADABLE
    assert not entry(form, "gap.m1").question.can_confirm
    assert form.taken() == []
    assert form.unsettled() == ["gap.m1"]


def test_a_decimal_comma_is_read_in_a_plant_with_a_point(form):
    """0,35 can only mean 0.35."""
    form.type("gap.m1", "0,35")
    assert entry(form, "gap.m1").value == 0.35


def test_an_ambiguous_number_is_asked_about_and_cannot_be_confirmed(form):
    """1,234 may be two numbers: only typing it anew settles it."""
    form.type("feed", "1,234")
    question = entry(form, "feed").question
    assert question.asks is Asks.AMBIGUOUS
    assert form.confirm("feed") == frozenset()
    assert entry(form, "feed").question == question


def test_the_plants_decimal_mark_decides_what_is_ambiguous(make_form, plant):
    """In a plant with a decimal comma 1.234 is asked about and 1,234 is not."""
    comma = replace(plant, settings=Settings(decimal_comma=True))
    form = make_form(of=comma)
    form.type("dip", "1,234")
    form.type("feed", "1.234")
    assert entry(form, "dip").value == 1.234
    assert entry(form, "feed").question.asks is Asks.AMBIGUOUS


def test_an_implausible_value_waits_for_a_second_enter(form):
    """It is asked about with the likely slip; confirmed, it is taken and judged."""
    form.type("gap.m1", "3.5")
    question = entry(form, "gap.m1").question
    assert question.asks is Asks.IMPLAUSIBLE
    assert "above the plausible 2.00" in question.sentence.lower()
    assert "0.35" in question.sentence
    assert form.taken() == []
    assert "gap.m1" in form.confirm("gap.m1")
    assert entry(form, "gap.m1").question is None
    assert form.fields["gap.m1"].judgement.severity is Severity.ACTION
    assert [f.point.key for f in form.taken()] == ["gap.m1"]


def test_typing_on_takes_a_confirmation_back(form):
    """What was confirmed was that value, not the next one."""
    form.type("gap.m1", "3.5")
    form.confirm("gap.m1")
    form.type("gap.m1", "3.55")
    assert entry(form, "gap.m1").question.asks is Asks.IMPLAUSIBLE


def test_a_value_on_the_edge_of_the_plausible_range_is_taken(form):
    """The edges belong to the range."""
    form.type("gap.m1", "2.00")
    form.type("gap.m2", "0.05")
    assert [f.point.key for f in form.taken()] == ["gap.m1", "gap.m2"]


def test_a_counter_that_fell_is_asked_about(form):
    """The last count is named; a second Enter keeps the new one."""
    form.type("feed", "900")
    question = entry(form, "feed").question
    assert question.asks is Asks.COUNTER_BACK
    assert "1000" in question.sentence
    form.confirm("feed")
    assert [f.point.key for f in form.taken()] == ["feed"]


@pytest.mark.parametrize("count", ["1000", "1000.0", "1001"])
def test_a_counter_that_stands_or_rises_is_not_asked_about(form, count):
    """A machine may have stood for two hours."""
    form.type("feed", count)
    assert entry(form, "feed").question is None


def test_confirming_where_nothing_is_asked_does_nothing(form):
    """No step to undo comes of it."""
    form.type("gap.m1", "0.35")
    form.settle()
    assert form.confirm("gap.m1") == frozenset()
    form.undo()
    assert not form.can_undo


def test_an_answer_is_found_by_its_beginning(form):
    """Slow by "sl"; flooded by "f", which has an action's weight."""
    form.type("bed", "sl")
    assert entry(form, "bed").text == "slow"
    form.type("bed", "f")
    assert entry(form, "bed").text == "flooded"
    assert form.fields["bed"].wants_response


def test_a_text_that_fits_no_answer_is_asked_about(form):
    """The answers are listed; emptied, the field asks nothing."""
    form.type("state.m1", "xyz")
    assert entry(form, "state.m1").question.asks is Asks.UNREADABLE
    assert "2 Standby" in entry(form, "state.m1").question.sentence
    form.type("state.m1", "")
    assert entry(form, "state.m1") == EMPTY


@pytest.mark.parametrize(("typed", "answer"), [("y", "done"), ("n", "not_done"), ("x", "done")])
def test_a_check_without_answers_of_its_own_is_done_or_not(form, typed, answer):
    """Not done is a warning."""
    form.type("magnets", typed)
    assert entry(form, "magnets").text == answer
    assert form.fields["magnets"].judgement.is_out == (answer == "not_done")


def test_a_text_is_kept_without_the_spaces_around_it(form):
    """Any words are an answer."""
    form.type("remark", "  hatch greased ")
    assert entry(form, "remark").text == "hatch greased"
    assert entry(form, "remark").typed == "  hatch greased "


@pytest.mark.parametrize("blank", ["", " ", "\t", "\u00a0"])
def test_blanks_are_no_entry(form, blank):
    """A field with spaces is empty."""
    form.type("gap.m1", blank)
    form.type("remark", blank)
    assert form.taken() == []
    assert not form.fields["gap.m1"].is_done


@pytest.mark.parametrize("text", ["-", ".", "1e400", "९", "\x00", "0" * 5000, "12 12", "１２"])
def test_no_text_breaks_the_form(form, text):
    """Whatever is typed is an entry or a question."""
    for key, shown in form.fields.items():
        if shown.point.kind.is_typed:
            form.type(key, text)
    assert all(shown.entry.question is None for shown in form.taken())


# -- reasons and responses --------------------------------------------------------------------


def test_a_reason_stands_in_place_of_a_value(form):
    """The field is done, counts as missing and will be written with its reason."""
    form.type("gap.m1", "0.35")
    form.give_reason("gap.m1", "not_safe")
    assert entry(form, "gap.m1").value is None
    assert form.progress("mills").missing == 1
    assert [f.entry.reason for f in form.taken()] == ["not_safe"]


def test_words_of_ones_own_are_a_reason(form):
    """They are kept as written and shown so."""
    form.give_reason("dip", "  tape lost ")
    assert entry(form, "dip").reason == "tape lost"
    assert describe_reason("tape lost") == "tape lost"
    assert describe_reason("not_safe") == "not safe to take"


@pytest.mark.parametrize("blank", ["", "  "])
def test_a_blank_reason_is_refused(form, blank):
    """A missing reading without a reason is just missing."""
    with pytest.raises(ValueError, match="blank"):
        form.give_reason("dip", blank)


def test_a_value_typed_over_a_reason_takes_its_place(form):
    """The reason goes."""
    form.give_reason("dip", "not_safe")
    form.type("dip", "1.2")
    assert entry(form, "dip").reason is None
    assert entry(form, "dip").value == 1.2


def test_a_value_beyond_its_action_limit_wants_a_response(form):
    """Until one is written, the area counts it as unanswered."""
    form.type("gap.m1", "0.5")
    assert form.progress("mills").unanswered == 1
    form.respond("gap.m1", "gap set")
    assert form.progress("mills").unanswered == 0
    assert form.fields["gap.m1"].response == "gap set"


def test_a_response_of_blanks_is_none(form):
    """It still counts as unanswered."""
    form.type("gap.m1", "0.5")
    form.respond("gap.m1", "   ")
    assert form.progress("mills").unanswered == 1


def test_a_response_is_kept_while_the_value_is_typed_anew(form):
    """0.5 becomes 0.55: what was done stays."""
    form.type("gap.m1", "0.5")
    form.respond("gap.m1", "gap set")
    form.type("gap.m1", "0.55")
    assert form.fields["gap.m1"].response == "gap set"


def test_a_response_to_a_value_that_is_within_limits_after_all_is_not_written(form):
    """The words stay in the field, in case the value was right the first time."""
    form.type("gap.m1", "0.5")
    form.respond("gap.m1", "gap set")
    form.type("gap.m1", "0.35")
    assert form.fields["gap.m1"].response == ""
    assert entry(form, "gap.m1").response == "gap set"


def test_a_warning_may_be_answered_but_need_not_be(form):
    """Nobody asks, but what was written is kept."""
    form.type("gap.m1", "0.42")
    assert not form.fields["gap.m1"].wants_response
    form.respond("gap.m1", "watched")
    assert form.fields["gap.m1"].response == "watched"


# -- undo ------------------------------------------------------------------------------------


def test_typing_in_one_field_is_one_step_to_undo(form):
    """Four keys, one step; redo brings the whole text back."""
    for text in ("0", "0.", "0.3", "0.36"):
        form.type("gap.m1", text)
    form.undo()
    assert entry(form, "gap.m1") == EMPTY
    assert not form.can_undo
    form.redo()
    assert entry(form, "gap.m1").typed == "0.36"
    assert not form.can_redo


def test_leaving_a_field_closes_the_step(form):
    """What is typed after coming back is a step of its own."""
    form.type("gap.m1", "0.3")
    form.settle()
    form.type("gap.m1", "0.36")
    form.undo()
    assert entry(form, "gap.m1").typed == "0.3"


def test_typing_in_another_field_closes_the_step_too(form):
    """Each field has its step, also going back and forth."""
    form.type("gap.m1", "0.3")
    form.type("gap.m2", "0.4")
    form.type("gap.m1", "0.31")
    form.undo()
    assert entry(form, "gap.m1").typed == "0.3"
    form.undo()
    assert entry(form, "gap.m2") == EMPTY


def test_a_value_and_its_response_are_two_steps(form):
    """Undo takes the words first."""
    form.type("gap.m1", "0.5")
    form.respond("gap.m1", "g")
    form.respond("gap.m1", "gap")
    form.undo()
    assert entry(form, "gap.m1").response == ""
    assert entry(form, "gap.m1").value == 0.5


def test_a_pasted_block_is_one_step(form):
    """All of it goes and comes back at once."""
    form.type("dip", "1.1")
    form.fill({"gap.m1": "0.35", "gap.m2": "0.36", "dip": "1.2"})
    form.undo()
    assert entry(form, "gap.m1") == EMPTY
    assert entry(form, "dip").typed == "1.1"
    form.redo()
    assert [entry(form, k).typed for k in ("gap.m1", "gap.m2", "dip")] == ["0.35", "0.36", "1.2"]


def test_what_is_typed_back_to_what_stood_leaves_no_step(form):
    """An undo that changes nothing would puzzle."""
    form.type("gap.m1", "0")
    form.type("gap.m1", "")
    assert not form.can_undo
    assert form.undo() == frozenset()


def test_a_new_change_forgets_what_was_undone(form):
    """Redo is for what was just undone."""
    form.type("gap.m1", "0.3")
    form.undo()
    form.type("gap.m2", "0.4")
    assert not form.can_redo
    assert form.redo() == frozenset()


def test_undo_takes_a_confirmation_a_reason_and_a_clearing_back(form):
    """Each is a step of its own."""
    form.type("gap.m1", "3.5")
    form.confirm("gap.m1")
    form.give_reason("gap.m1", "not_safe")
    form.clear("gap.m1")
    form.undo()
    assert entry(form, "gap.m1").reason == "not_safe"
    form.undo()
    assert entry(form, "gap.m1").confirmed
    form.undo()
    assert entry(form, "gap.m1").question.asks is Asks.IMPLAUSIBLE


# -- machines that stand -----------------------------------------------------------------------


def test_a_state_that_stops_a_machine_stops_its_readings(form):
    """They cannot be typed in, are not due and are not counted; the other mill goes on."""
    before = form.progress("mills").due
    changed = form.type("state.m1", "standby")
    assert "gap.m1" in changed
    assert not form.is_open("gap.m1")
    assert form.fields["gap.m1"].not_due == "standby"
    assert form.progress("mills").due == before - 1
    assert form.type("gap.m1", "0.35") == frozenset()
    assert form.is_open("gap.m2")
    assert form.is_open("state.m1")


def test_a_machine_that_runs_again_has_its_readings_back_as_typed(form):
    """What had been typed before it was stopped is not lost, and not written meanwhile."""
    form.type("gap.m1", "0.35")
    form.type("state.m1", "down")
    assert [f.point.key for f in form.taken()] == ["state.m1"]
    form.type("state.m1", "running")
    assert [f.point.key for f in form.taken()] == ["state.m1", "gap.m1"]


def test_undo_of_a_stop_opens_the_readings(form):
    """And tells that they changed."""
    form.type("state.m1", "standby")
    assert "gap.m1" in form.undo()
    assert form.is_open("gap.m1")


def test_another_state_of_the_machine_does_not_start_it(form):
    """The guard is closed, and the mill still stands."""
    form.type("state.m1", "standby")
    form.type("guard.m1", "closed")
    assert form.fields["gap.m1"].stopped == "standby"


def test_a_state_read_in_an_earlier_round_holds_until_it_is_read_anew(make_form):
    """The mill that stood at noon is not asked for, until somebody types that it runs."""
    form = make_form(carried={"state.m1": "standby"})
    assert not form.is_open("gap.m1")
    form.type("state.m1", "run")
    assert form.is_open("gap.m1")
    form.type("state.m1", "")
    assert not form.is_open("gap.m1")


def test_a_draft_of_a_machine_that_runs_again_comes_back_whole(make_form):
    """Its state and its values, though the machine stood when the round was opened."""
    form = make_form(carried={"state.m1": "standby"})
    form.restore([DraftField("gap.m1", "0.35"), DraftField("state.m1", "running")])
    assert [f.point.key for f in form.taken()] == ["state.m1", "gap.m1"]


def test_a_draft_leaves_alone_what_was_saved_or_silenced_meanwhile(make_form):
    """Also a point that the plant no longer has."""
    form = make_form(saved={"dip": saved(value=1.2)}, off={"pressure": "not in shut-down"})
    drafts = [DraftField(key, "9") for key in ("dip", "pressure", "gone")]
    assert form.restore(drafts) == frozenset()
    assert form.taken() == []


def test_a_saved_state_stops_its_machine_and_leaves_what_was_saved(make_form):
    """A saved reading of the machine stays a fact, judged and counted."""
    form = make_form(
        saved={"state.m1": saved(text="standby"), "gap.m2": saved(value=0.35)},
        carried={"state.m2": "standby"},
    )
    assert not form.is_open("gap.m1")
    assert form.fields["gap.m2"].not_due == ""


# -- computed points ---------------------------------------------------------------------------


def test_a_computed_point_follows_when_its_last_input_is_typed(form):
    """Mean and spread appear, also the ratio of both, two steps on; all are told as changed."""
    form.type("gap.m1", "0.30")
    assert entry(form, "gap_mean").value is None
    changed = form.type("gap.m2", "0.50")
    assert {"gap_mean", "gap_spread", "gap_evenness"} <= changed
    assert entry(form, "gap_mean").value == pytest.approx(0.40)
    assert entry(form, "gap_evenness").value == pytest.approx(0.5)
    assert str(form.fields["gap_mean"].judgement) == "warning high"


def test_a_computed_point_goes_with_its_input(form):
    """A cleared, unsettled or stopped input takes it away again."""
    form.fill({"gap.m1": "0.30", "gap.m2": "0.50"})
    form.type("gap.m2", "0.5x")
    assert entry(form, "gap_evenness").value is None
    form.undo()
    assert entry(form, "gap_evenness").value is not None
    form.type("state.m2", "down")
    assert entry(form, "gap_mean").value is None


def test_an_implausible_input_counts_only_when_confirmed(form):
    """A mean of a typing error would be one more error."""
    form.fill({"gap.m1": "0.30", "gap.m2": "5.0"})
    assert entry(form, "gap_mean").value is None
    form.confirm("gap.m2")
    assert entry(form, "gap_mean").value == pytest.approx(2.65)


def test_a_computed_point_cannot_be_typed(form):
    """Nothing changes and nothing is left to undo."""
    assert form.type("gap_mean", "0.35") == frozenset()
    assert not form.can_undo
    assert all(f.point.kind.is_typed for f in form.taken())


def test_a_rate_is_the_increase_over_the_hours_since(form):
    """120 t in two hours."""
    form.type("feed", "1120")
    assert entry(form, "feed_rate").value == pytest.approx(60.0)


def test_a_rate_over_a_rollover_is_worked_out_once_confirmed(make_form):
    """99 940 to 60 with a range of 100 000 is 120 t."""
    form = make_form(last={"feed": 99_940.0})
    form.type("feed", "60")
    assert entry(form, "feed_rate").value is None
    form.confirm("feed")
    assert entry(form, "feed_rate").value == pytest.approx(60.0)


def test_a_quotient_of_counters_is_of_their_increases(form):
    """60 kg over 120 t."""
    form.fill({"feed": "1120", "solvent": "560"})
    assert entry(form, "solvent_use").value == pytest.approx(0.5)


def test_without_a_count_before_there_is_no_rate(make_form):
    """The first round of a book has none."""
    form = make_form()
    form.type("feed", "1120")
    assert entry(form, "feed_rate") == EMPTY


def test_saved_inputs_count_as_well_as_typed_ones(make_form):
    """A round saved in two parts has its mean."""
    form = make_form(saved={"gap.m1": saved(value=0.30)})
    form.type("gap.m2", "0.40")
    assert entry(form, "gap_mean").value == pytest.approx(0.35)


def test_a_computed_point_that_is_silent_is_not_judged(make_form):
    """It may still be seen."""
    form = make_form(off={"gap_mean": "not in shut-down"})
    form.fill({"gap.m1": "0.50", "gap.m2": "0.50"})
    assert not form.fields["gap_mean"].judgement.is_judged


# -- what is open, done and unsettled ------------------------------------------------------------


def test_saved_and_silenced_fields_are_closed(make_form):
    """Typing into them changes nothing."""
    form = make_form(saved={"dip": saved(value=1.2)}, off={"pressure": "not in shut-down"})
    assert form.type("dip", "1.3") == frozenset()
    assert form.type("pressure", "-80") == frozenset()
    assert form.respond("dip", "x") == frozenset()
    assert not form.can_undo


def test_progress_counts_what_is_due_done_wrong_and_open(form):
    """A mill and the mean on warning, a mill on action, a question and a reason."""
    form.type("gap.m1", "0.42")
    form.type("gap.m2", "0.50")
    form.type("feed", "x")
    form.give_reason("magnets", "not_sampled")
    seen = form.progress("mills")
    assert (seen.due, seen.done, seen.missing, seen.unsettled) == (6, 3, 1, 1)
    assert (seen.warnings, seen.actions, seen.unanswered) == (2, 1, 1)
    assert not seen.is_complete


def test_an_area_is_complete_when_every_due_field_has_a_value_or_a_reason(form):
    """Readings on sample are not waited for."""
    form.type("dip", "1.2")
    assert form.progress("tanks").is_complete
    assert form.progress("tanks").due == 1


def test_an_area_that_is_down_says_so(make_form, plant):
    """One reason for all its readings is the area's."""
    form = make_form(off={p.key: "area down" for p in plant.points_of("tanks")})
    assert form.progress("tanks").down == "area down"
    assert form.progress("mills").down == ""


def test_open_and_unsettled_keys_come_in_the_order_of_the_form(form, plant):
    """As the fields are walked through."""
    order = [point.key for point in plant.points]
    form.fill({"dip": "x", "gap.m2": "x"})
    assert form.unsettled() == ["gap.m2", "dip"]
    assert form.open_keys() == sorted(form.open_keys(), key=order.index)
    assert "gap.m2" in form.open_keys()


def test_only_typed_fields_count_as_entries(form, make_form):
    """Computed and saved values are none."""
    assert not form.has_entries
    assert not make_form(saved={"gap.m1": saved(value=1.0), "gap.m2": saved(value=1.0)}).has_entries
    form.type("dip", "1")
    assert form.has_entries
