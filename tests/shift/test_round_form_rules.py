"""Rules that hold for the form whatever is done in whatever order."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from logbook.assess.limits import Severity
from logbook.shift.answer import EMPTY
from logbook.shift.round_book import _draft_of
from logbook.shift.round_form import MISSING_REASONS

NUMBERS = ["", " ", "0.35", "0.42", "0.5", "3.5", "x", "1,234", "1000", "900", "-80", "1e3"]
ANSWERS = ["running", "standby", "down", "s", "open", "slow", "flooded", "done", "n"]
TEXTS = st.sampled_from([*NUMBERS, *ANSWERS])
WORDS = st.sampled_from(["", " ", "gap set", "cleaned"])


def typed_keys(plant):
    """Keys of the points that people type."""
    return [point.key for point in plant.points if point.kind.is_typed]


def standing(form):
    """What stands in every field: the entry and why it is stopped."""
    return {key: (shown.entry, shown.stopped) for key, shown in form.fields.items()}


@pytest.fixture(scope="session")
def any_actions(plant):
    """Any sequence of things a person can do in the form."""
    keys = st.sampled_from(typed_keys(plant))
    return st.lists(
        st.one_of(
            st.tuples(st.just("type"), keys, TEXTS),
            st.tuples(st.just("confirm"), keys, st.none()),
            st.tuples(st.just("reason"), keys, st.sampled_from([*MISSING_REASONS, "no ladder"])),
            st.tuples(st.just("clear"), keys, st.none()),
            st.tuples(st.just("respond"), keys, WORDS),
            st.tuples(st.just("fill"), st.dictionaries(keys, TEXTS, max_size=4), st.none()),
            st.tuples(st.sampled_from(["undo", "redo", "settle"]), st.none(), st.none()),
        ),
        max_size=25,
    )


def act(form, action):
    """Do one thing; returns the keys that it says have changed."""
    name, key, words = action
    if name == "type":
        return form.type(key, words)
    if name == "reason":
        return form.give_reason(key, words)
    if name == "respond":
        return form.respond(key, words)
    if name == "confirm":
        return form.confirm(key)
    if name == "clear":
        return form.clear(key)
    if name == "fill":
        return form.fill(key)
    return getattr(form, name)() or frozenset()


@settings(max_examples=150)
@given(data=st.data())
def test_a_draft_brings_back_what_stood_in_every_field(opened, any_actions, data):
    """Any sequence of actions, kept as a draft after each one, restores the same entries."""
    form, kept = opened(), {}
    for action in data.draw(any_actions):
        for key in act(form, action):
            if form.holds(key):
                kept[key] = _draft_of(form, key)
    fresh = opened()
    fresh.restore(kept.values())
    assert standing(fresh) == standing(form)
    assert [f.point.key for f in fresh.taken()] == [f.point.key for f in form.taken()]


@settings(max_examples=150)
@given(data=st.data())
def test_what_changes_is_told(opened, any_actions, data):
    """No field changes that is not among the keys returned: the screen repaints only those."""
    form = opened()
    for action in data.draw(any_actions):
        before = standing(form)
        told = act(form, action)
        after = standing(form)
        assert {key for key in after if after[key] != before[key]} <= told


@settings(max_examples=100)
@given(data=st.data())
def test_undo_and_redo_walk_the_same_steps(opened, any_actions, data):
    """All undone is the empty form; all redone is what stood before."""
    form = opened()
    empty = standing(form)
    for action in data.draw(any_actions):
        act(form, action)
    end = standing(form)
    while form.can_redo:
        form.redo()
    end = standing(form)
    while form.can_undo:
        form.undo()
    assert standing(form) == empty
    while form.can_redo:
        form.redo()
    assert standing(form) == end


@pytest.fixture(scope="session")
def opened(make_form):
    """A form with counts before and a mill that stands from an earlier round."""
    return lambda: make_form(
        last={"feed": 1000.0, "solvent": 500.0}, carried={"state.m2": "standby"}
    )


class FormMachine(RuleBasedStateMachine):
    """A person at the form: every rule is something they can do."""

    make_form = None
    keys = ()

    def __init__(self):
        super().__init__()
        self.form = type(self).make_form(last={"feed": 1000.0, "solvent": 500.0})
        self.empty = standing(self.form)

    def key(self, number):
        """The key with a number."""
        return type(self).keys[number % len(type(self).keys)]

    @rule(number=st.integers(0, 99), text=TEXTS)
    def type_text(self, number, text):
        """Type into a field."""
        self.form.type(self.key(number), text)

    @rule(number=st.integers(0, 99))
    def confirm(self, number):
        """Enter again."""
        self.form.confirm(self.key(number))

    @rule(number=st.integers(0, 99), reason=st.sampled_from(list(MISSING_REASONS)))
    def reason(self, number, reason):
        """Say why there is no reading."""
        self.form.give_reason(self.key(number), reason)

    @rule(number=st.integers(0, 99), words=WORDS)
    def respond(self, number, words):
        """Write what was done."""
        self.form.respond(self.key(number), words)

    @rule(number=st.integers(0, 99))
    def clear(self, number):
        """Empty a field."""
        self.form.clear(self.key(number))

    @rule(numbers=st.lists(st.integers(0, 99), min_size=1, max_size=4), text=TEXTS)
    def paste(self, numbers, text):
        """Paste a block."""
        self.form.fill({self.key(number): text for number in numbers})

    @rule()
    def undo(self):
        """Ctrl+Z."""
        self.form.undo()

    @rule()
    def redo(self):
        """Ctrl+Y."""
        self.form.redo()

    @rule()
    def leave(self):
        """Go to another field."""
        self.form.settle()

    @invariant()
    def nothing_unsettled_is_taken(self):
        """A save writes no field that still asks something, and only open ones."""
        for shown in self.form.taken():
            assert shown.entry.question is None
            assert self.form.is_open(shown.point.key)
            assert shown.is_done
            one = (shown.entry.value, shown.entry.text, shown.entry.reason)
            assert sum(part is not None for part in one) == 1

    @invariant()
    def what_is_unsettled_can_be_settled(self):
        """A save is never held up by a field that cannot be typed in."""
        for key in self.form.unsettled():
            assert self.form.is_open(key)
            assert self.form.fields[key].entry.question is not None

    @invariant()
    def computed_points_follow(self):
        """They are what their inputs give, whatever way the form came there."""
        value = {k: (f.entry.value if f.entry.is_taken else None) for k, f in self.fields()}
        pair = [value["gap.m1"], value["gap.m2"]]
        mean, spread = value["gap_mean"], value["gap_spread"]
        if None in pair:
            assert mean is None
            assert spread is None
        else:
            assert mean == pytest.approx(sum(pair) / 2)
            assert spread == pytest.approx(abs(pair[0] - pair[1]))

    @invariant()
    def progress_adds_up(self):
        """Areas never have more done than due, and actions want their answers."""
        for area in ("mills", "extraction", "tanks"):
            seen = self.form.progress(area)
            assert 0 <= seen.done <= seen.due
            assert seen.unanswered <= seen.actions
            assert seen.is_complete == (seen.done == seen.due and not seen.unsettled)
        wanting = [f for f in self.form.taken() if f.wants_response]
        assert all(f.judgement.severity is Severity.ACTION for f in wanting)

    def fields(self):
        """Fields, those of machines that stand left empty."""
        return [
            (key, type(f)(point=f.point) if f.not_due else f) for key, f in self.form.fields.items()
        ]

    def teardown(self):
        """Everything undone is the form as it was opened."""
        while self.form.can_undo:
            self.form.undo()
        assert standing(self.form) == self.empty
        assert all(f.entry == EMPTY for f in self.form.fields.values())
        assert not self.form.has_entries


def test_the_form_holds_its_rules_in_any_order_of_actions(plant, make_form):
    """A state machine over everything a person can do."""

    class Machine(FormMachine):
        """The machine on this plant."""

        keys = tuple(typed_keys(plant))

    Machine.make_form = staticmethod(make_form)
    run_state_machine_as_test(Machine, settings=settings(max_examples=60, stateful_step_count=30))
