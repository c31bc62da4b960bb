"""Wrong tries: how they are counted, how long one waits, and clocks that jump."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from logbook.shift.throttle import (
    LOCK_SECONDS,
    Standing,
    Throttle,
    Try,
    standing_of,
    wait_after,
    wait_words,
)

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def wrongs(count, *, seat=1, first=1, at=NOON):
    """Wrong tries a second apart."""
    return [
        Try((seat << 40) + first + k, seat, at + timedelta(seconds=k), "wrong")
        for k in range(count)
    ]


def right(number, *, seat=1, at=NOON, kind="signed_on"):
    """A right try."""
    return Try((seat << 40) + number, seat, at, kind)


def test_waits_double_from_the_third_wrong_try_and_end_in_a_lock():
    """None, none, 1, 2, 4, 8, 16 s, then 15 minutes for each."""
    waits = [wait_after(n) for n in range(11)]
    assert waits == [0, 0, 0, 1, 2, 4, 8, 16, 900, 900, 900]


def test_a_day_of_wrong_tries_is_about_a_hundred():
    """Trying whenever it is allowed: what NIST SP 800-63B takes as the most in a row."""
    spent, tries = 0.0, 0
    while spent < 86400:
        tries += 1
        spent += wait_after(tries)
    assert 90 < tries <= 105


@pytest.mark.parametrize("kind", ["signed_on", "changed"])
def test_a_right_try_or_a_new_secret_ends_the_count(kind):
    """What came before it is forgiven, what came after is not."""
    tries = [*wrongs(5), right(6, kind=kind, at=NOON + timedelta(seconds=6))]
    assert standing_of(tries) == Standing()
    more = wrongs(2, first=7, at=NOON + timedelta(minutes=1))
    assert standing_of([*tries, *more]).count == 2


@pytest.mark.parametrize("kind", ["signed_off", "locked"])
def test_signing_off_and_being_locked_end_nothing(kind):
    """Only a right secret does."""
    assert standing_of([*wrongs(4), right(9, kind=kind)]).count == 4


def test_wrong_tries_count_however_long_ago_they_were():
    """Time alone forgives nothing."""
    old = wrongs(7, at=NOON - timedelta(days=400))
    assert standing_of([*old, *wrongs(1, first=20)]).count == 8


def test_of_one_seat_the_order_of_writing_counts_not_its_clock():
    """The clock was set back three hours between the wrong tries and the right one, or forward."""
    back = right(6, at=NOON - timedelta(hours=3))
    assert standing_of([*wrongs(5), back]) == Standing()
    ahead = right(1, at=NOON + timedelta(hours=3))
    assert standing_of([ahead, *wrongs(5, first=2)]).count == 5


def test_wrong_tries_at_two_seats_add_up_and_a_right_one_later_ends_both():
    """Nobody gets more tries by walking to the next desk."""
    both = [*wrongs(2), *wrongs(2, seat=2, at=NOON + timedelta(minutes=1))]
    assert standing_of(both).count == 4
    assert standing_of([*both, right(9, seat=2, at=NOON + timedelta(minutes=2))]) == Standing()
    between = right(1, seat=3, at=NOON + timedelta(seconds=30))
    assert standing_of([*both, between]).count == 2


def test_the_wait_is_told_in_whole_seconds_or_minutes_never_too_short():
    """Whoever waits as told is let try."""
    assert [wait_words(s) for s in (0.2, 1.0, 1.01, 16)] == ["1 s", "1 s", "2 s", "16 s"]
    told = [wait_words(s) for s in (119.5, 121, 899.5, 900)]
    assert told == ["2 min", "3 min", "15 min", "15 min"]


@dataclass
class Clocks:
    """A clock that anybody can set and one that only runs."""

    wall: datetime = NOON
    running: float = 1000.0
    throttle: Throttle = field(init=False)

    def __post_init__(self):
        self.restart()

    def restart(self):
        """A new process: what was in memory is gone."""
        self.throttle = Throttle(lambda: self.running)

    def wait(self, seconds):
        """Time goes by for both clocks."""
        self.wall += timedelta(seconds=seconds)
        self.running += seconds


@pytest.fixture
def clocks():
    """The two clocks at noon."""
    return Clocks()


def locked(clocks):
    """Eight wrong tries, the last just now."""
    return Standing(8, Try(8, 1, clocks.wall, "wrong"))


def test_a_lock_ends_after_its_fifteen_minutes(clocks):
    """Not a second before."""
    standing = locked(clocks)
    assert clocks.throttle.left("p", standing, clocks.wall) == 900
    clocks.wait(899)
    assert clocks.throttle.left("p", standing, clocks.wall) == 1
    clocks.wait(1)
    assert clocks.throttle.left("p", standing, clocks.wall) == 0


def test_a_restart_does_not_end_a_lock(clocks):
    """What is left of it is worked out from the book."""
    standing = locked(clocks)
    clocks.wait(300)
    clocks.restart()
    assert clocks.throttle.left("p", standing, clocks.wall) == 600


def test_setting_the_clock_forward_does_not_end_a_lock_while_the_program_runs(clocks):
    """The running clock measures it."""
    standing = locked(clocks)
    clocks.throttle.left("p", standing, clocks.wall)
    clocks.wall += timedelta(days=1)
    assert clocks.throttle.left("p", standing, clocks.wall) == 900


def test_setting_the_clock_back_makes_no_lock_longer_than_it_is(clocks):
    """A crew is not locked out for the night because the clock was put right, restart or not."""
    standing = locked(clocks)
    clocks.throttle.left("p", standing, clocks.wall)
    clocks.wall -= timedelta(hours=6)
    clocks.wait(600)
    assert clocks.throttle.left("p", standing, clocks.wall) == 300
    clocks.restart()
    assert clocks.throttle.left("p", standing, clocks.wall) == 900
    clocks.wait(900)
    assert clocks.throttle.left("p", standing, clocks.wall) == 0


def test_the_next_wrong_try_after_a_lock_locks_again(clocks):
    """At once, for as long."""
    first = locked(clocks)
    clocks.throttle.left("p", first, clocks.wall)
    clocks.wait(900)
    assert clocks.throttle.left("p", first, clocks.wall) == 0
    again = Standing(9, Try(9, 1, clocks.wall, "wrong"))
    assert clocks.throttle.left("p", again, clocks.wall) == 900


def test_a_person_waits_for_nobody_else(clocks):
    """Another one may try at once."""
    clocks.throttle.left("p", locked(clocks), clocks.wall)
    assert clocks.throttle.left("q", Standing(), clocks.wall) == 0


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["wrong", "signed_on", "changed", "locked", "signed_off"]),
            st.integers(1, 3),
        ),
        max_size=30,
    ),
    st.randoms(use_true_random=False),
)
def test_the_count_is_that_of_the_wrong_tries_since_the_last_right_one(rows, shuffle):
    """With clocks that are right, over any seats and in whatever order the book gives the rows."""
    tries, numbers = [], {}
    for k, (kind, seat) in enumerate(rows):
        numbers[seat] = numbers.get(seat, 0) + 1
        tries.append(Try((seat << 40) + numbers[seat], seat, NOON + timedelta(seconds=k), kind))
    plain = 0
    for row in tries:
        if row.kind in {"signed_on", "changed"}:
            plain = 0
        elif row.kind == "wrong":
            plain += 1
    shuffle.shuffle(tries)
    assert standing_of(tries).count == plain


class AttackerAndOwner(RuleBasedStateMachine):
    """Somebody tries, waits, restarts the program and sets the PC's clock as they like."""

    @initialize()
    def begin(self):
        """Nothing was tried yet."""
        self.clocks = Clocks()
        self.rows = []
        self.free_at = 0.0
        self.tries = 0
        self.forward = False

    def left(self):
        """What the throttle says now."""
        return self.clocks.throttle.left("p", standing_of(self.rows), self.clocks.wall)

    @rule()
    def try_wrong(self):
        """A wrong try, where the throttle lets one through."""
        if self.left() > 0:
            return
        if not self.forward:
            assert self.clocks.running >= self.free_at - 1e-6, "let through too early"
        self.rows.append(Try(len(self.rows) + 1, 1, self.clocks.wall, "wrong"))
        self.tries += 1
        self.forward = False
        self.free_at = self.clocks.running + wait_after(self.tries)
        assert self.left() == wait_after(self.tries)

    @rule()
    def try_right(self):
        """The right secret, where the throttle lets it through."""
        if self.left() > 0:
            return
        self.rows.append(Try(len(self.rows) + 1, 1, self.clocks.wall, "signed_on"))
        self.tries, self.free_at = 0, 0.0
        assert self.left() == 0

    @rule(seconds=st.floats(0, 1000))
    def wait(self, seconds):
        """Time goes by."""
        self.clocks.wait(seconds)

    @rule(seconds=st.floats(0, 1e6))
    def set_back(self, seconds):
        """The PC's clock is set back."""
        self.clocks.wall -= timedelta(seconds=seconds)

    @rule(seconds=st.floats(0, 1e6))
    def set_forward(self, seconds):
        """The PC's clock is set forward; while the program runs that helps nobody."""
        before = self.left()
        self.clocks.wall += timedelta(seconds=seconds)
        assert self.left() == before

    @rule()
    def restart(self):
        """The program is ended and started; only the book's clock is left to go by."""
        truth = max(self.free_at - self.clocks.running, 0.0)
        self.clocks.restart()
        self.forward = self.forward or self.left() < truth - 1e-6

    @invariant()
    def no_wait_is_longer_than_it_was_earned(self):
        """Whatever the clocks did, and at most fifteen minutes."""
        assert 0 <= self.left() <= wait_after(self.tries) <= LOCK_SECONDS


TestAttackerAndOwner = AttackerAndOwner.TestCase
