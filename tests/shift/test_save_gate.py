"""What stands between a filled form and its save, in which order."""

from logbook.shift.save_gate import Stop, what_stops


def stopped(form, *, has_person=True, needs_note=False, leaves_unanswered=False):
    """What stops a save."""
    return what_stops(
        form, has_person=has_person, needs_note=needs_note, leaves_unanswered=leaves_unanswered
    )


def test_an_unsettled_field_comes_first(form):
    """It is named, whatever else is missing."""
    form.fill({"gap.m1": "0.5", "dip": "x"})
    found = stopped(form, has_person=False, needs_note=True)
    assert (found.stop, found.key) == (Stop.UNSETTLED, "dip")
    assert found.sentence == "1 entry cannot be taken as typed; it is shown."
    form.type("gap.m2", "y")
    found = stopped(form)
    assert found.key == "gap.m2"
    assert found.sentence == "2 entries cannot be taken as typed; the first is shown."


def test_an_unsettled_field_of_a_machine_that_stands_does_not_stop_a_save(form):
    """Nobody could type in it."""
    form.type("gap.m1", "x")
    form.type("state.m1", "standby")
    assert stopped(form) is None


def test_an_empty_form_has_nothing_to_save(form):
    """Nobody is asked who they are for that; a response alone is nothing either."""
    assert stopped(form, has_person=False).stop is Stop.NOTHING
    form.respond("gap.m1", "set")
    assert stopped(form).stop is Stop.NOTHING


def test_a_save_needs_a_person_then_a_note_where_it_is_late(form):
    """Words of blanks are no note."""
    form.type("dip", "1.2")
    assert stopped(form, has_person=False, needs_note=True).stop is Stop.NO_PERSON
    form.note = "  "
    found = stopped(form, needs_note=True)
    assert found.stop is Stop.NO_NOTE
    assert "entered late" in found.sentence
    form.note = "alarm"
    assert stopped(form, needs_note=True) is None


def test_readings_outside_the_rounds_are_asked_why(form):
    """They may be in time."""
    form.type("dip", "1.2")
    form.round_at = None
    assert "outside the rounds" in stopped(form, needs_note=True).sentence


def test_an_action_without_response_is_asked_about_once(form):
    """It may stay open, but not unseen."""
    form.fill({"gap.m1": "0.5", "gap.m2": "0.5"})
    found = stopped(form)
    assert (found.stop, found.key) == (Stop.UNANSWERED, "gap.m1")
    assert found.sentence.startswith("2 action deviations have no response yet")
    form.respond("gap.m1", "gap set")
    assert stopped(form).key == "gap.m2"
    assert stopped(form).sentence.startswith("1 action deviation has no response yet")
    assert stopped(form, leaves_unanswered=True) is None
    form.respond("gap.m2", "gap set")
    assert stopped(form) is None
