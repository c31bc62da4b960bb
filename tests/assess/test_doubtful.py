import numpy as np
import pytest

from logbook.assess.doubtful.copies import copied_rounds, repeated_values
from logbook.assess.doubtful.digits import chi_square, digit_preference
from logbook.assess.doubtful.mistypes import mistypes
from logbook.assess.doubtful.pace import quick_rounds
from logbook.assess.doubtful.question import Doubt, benjamini_hochberg, holm
from logbook.assess.doubtful.table import RoundTable

START = 1_770_000_000 // 7200 * 7200
PEOPLE = ("ash", "birch", "cedar", "elm")
UNITS = ("degC", "A", "kPa")


def table_of(values, *, written=None, step=0.1, units=None, first=None, writer=None):
    """Rounds every two hours, six to a shift, shifts shared out among four people."""
    n, m = values.shape
    at = START + 7200 * np.arange(n)
    shift = np.arange(n) // 6
    return RoundTable(
        at=at,
        written=at + 900.0 if written is None else written,
        values=values,
        writer=shift % 4 if writer is None else writer,
        people=PEOPLE,
        kind=shift % 2,
        kinds=("D", "N"),
        shift=shift,
        keys=tuple(f"p{j}" for j in range(m)),
        names=tuple(f"Point {j}" for j in range(m)),
        areas=tuple("mill" if j < m // 2 else "still" for j in range(m)),
        units=units or tuple(UNITS[j % 3] for j in range(m)),
        step=np.full(m, step),
        first=int(at[0]) if first is None else first,
    )


def honest(seed=0, *, rounds=720, points=60, correlation=0.9, scatter=1.0, step=0.1):
    """Readings as they come: AR(1) about a level of 60 to 90, typed to the step."""
    rng = np.random.default_rng(seed)
    noise = rng.normal(0.0, scatter, (rounds, points))
    course = np.zeros((rounds, points))
    for k in range(1, rounds):
        course[k] = correlation * course[k - 1] + noise[k]
    level = rng.uniform(60.0, 90.0, points)
    return np.round((level + course) / step) * step


def quick_and_slow(rounds, seed=0):
    """Times of entry some twenty minutes after the round was due."""
    rng = np.random.default_rng(seed)
    at = START + 7200 * np.arange(rounds)
    return at + 60.0 * np.exp(rng.normal(np.log(20.0), 0.3, rounds))


# ---------------------------------------------------------------- copied rounds


def test_a_copied_round_is_asked_about_with_its_evidence():
    """All sixty numbers as two hours before, where five are usual."""
    values = honest()
    values[301] = values[300]
    (one,) = copied_rounds(table_of(values))
    assert one.doubt is Doubt.COPIED
    assert one.at == START + 7200 * 301
    assert one.person == PEOPLE[301 // 6 % 4]
    assert "60 of 60 numbers are those of the round before" in one.evidence
    assert one.question.endswith("?")
    assert one.adjusted < 1e-10
    assert len(one.points) == 60


def test_a_round_like_that_of_the_day_before_is_asked_about_too():
    """Copied from the same round a day earlier."""
    values = honest(1)
    values[312] = values[300]
    (one,) = copied_rounds(table_of(values))
    assert "the same round of the day before" in one.evidence


def test_one_copied_sheet_is_asked_about_by_its_area():
    """Only the second half of the points repeats."""
    values = honest(2)
    values[301, 30:] = values[300, 30:]
    (one,) = copied_rounds(table_of(values))
    assert one.area in {"still", ""}
    assert set(one.points) >= {f"p{j}" for j in range(30, 60)}


@pytest.mark.parametrize("seed", range(5))
def test_honest_rounds_are_not_asked_about(seed):
    """Seven hundred rounds of sixty points, quiet ones among them: no question."""
    quiet = honest(seed, scatter=0.3)
    assert copied_rounds(table_of(quiet)) == ()
    assert copied_rounds(table_of(honest(seed))) == ()


def test_a_steady_plant_repeats_honestly():
    """Where four of five numbers always repeat, a round in which all do is nothing."""
    rng = np.random.default_rng(4)
    moves = rng.random((720, 40)) < 0.2
    values = 70.0 + np.cumsum(np.where(moves, rng.choice([-0.1, 0.1], moves.shape), 0.0), axis=0)
    assert copied_rounds(table_of(np.round(values, 1))) == ()


def test_a_day_on_which_all_stands_still_is_no_copy_of_many():
    """Points that repeat together on quiet days widen what is usual."""
    rng = np.random.default_rng(5)
    quiet = rng.random(720) < 0.3
    moves = np.where(quiet[:, None], 0.0, rng.normal(size=(720, 40)))
    values = np.round(70.0 + 0.95 * np.cumsum(moves, axis=0) % 20.0, 1)
    asked = copied_rounds(table_of(values))
    assert len(asked) <= 0.05 * quiet.sum()


def test_rounds_before_the_stretch_are_compared_but_not_asked_about():
    """A copy before `first` raises no question."""
    values = honest()
    values[301] = values[300]
    assert copied_rounds(table_of(values, first=START + 7200 * 400)) == ()


# ---------------------------------------------------------------- repeated values


def test_a_value_that_stands_too_long_is_asked_about():
    """Twelve equal readings of a point that moves with nearly every round."""
    values = honest(6)
    values[200:212, 7] = 71.3
    (one,) = repeated_values(table_of(values))
    assert one.points == ("p7",)
    assert (one.at, one.until) == (START + 7200 * 200, START + 7200 * 211)
    assert "12 readings in a row are 71.3" in one.evidence
    assert "instrument" in one.question


@pytest.mark.parametrize("seed", range(5))
def test_a_point_that_often_stands_is_not_asked_about(seed):
    """Coarse scales, slow points: hardly a question in two hundred points."""
    rng = np.random.default_rng(seed)
    moves = rng.random((720, 200)) < rng.uniform(0.05, 0.6, 200)
    values = 70.0 + np.cumsum(np.where(moves, rng.choice([-1.0, 1.0], moves.shape), 0.0), axis=0)
    assert len(repeated_values(table_of(values, step=1.0))) <= 1


# ---------------------------------------------------------------- pace


def test_a_round_entered_sooner_than_it_can_be_walked_is_asked_about():
    """Three minutes where twenty are usual."""
    written = quick_and_slow(720, 1)
    written[301] = START + 7200 * 301 + 180.0
    (one,) = quick_rounds(table_of(honest(), written=written))
    assert one.at == START + 7200 * 301
    assert "60 readings entered 3 minutes after they were due" in one.evidence
    assert one.points == ()


@pytest.mark.parametrize("seed", range(5))
def test_honest_walks_are_not_asked_about(seed):
    """Seven hundred walks of about twenty minutes."""
    assert quick_rounds(table_of(honest(), written=quick_and_slow(720, seed))) == ()


def test_a_measured_walk_tells_what_is_too_quick():
    """With a walk of five minutes, three minutes are no longer less than half of it."""
    written = quick_and_slow(720, 1)
    written[301] = START + 7200 * 301 + 180.0
    table = table_of(honest(), written=written)
    assert quick_rounds(table, walk_minutes=5.0) == ()
    assert len(quick_rounds(table, walk_minutes=18.0)) == 1


def test_a_short_round_is_another_sort_of_walk():
    """Ten numbers of sixty are entered quickly and nothing is asked."""
    written, values = quick_and_slow(720, 1), honest()
    written[301] = START + 7200 * 301 + 120.0
    values[301, 10:] = np.nan
    assert quick_rounds(table_of(values, written=written)) == ()


# ---------------------------------------------------------------- last digits


def ammeters(seed=0, *, rough=None):
    """Twelve ammeters that move by some ten amperes; one person may read them to the nearest 5."""
    values = honest(seed, points=12, scatter=8.0, correlation=0.6, step=1.0)
    table = table_of(values, step=1.0, units=("A",) * 12)
    if rough is not None:
        own = table.writer == PEOPLE.index(rough)
        values[own] = np.round(values[own] / 5.0) * 5.0
    return table


def test_who_reads_in_fives_is_asked_whether_the_gauge_is_hard_to_read():
    """All of one person's readings end in 0 or 5; a fifth of the others'."""
    (one,) = digit_preference(ammeters(rough="cedar"))
    assert one.person == "cedar"
    assert one.evidence.startswith("100% of ")
    assert "hard to read" in one.question
    assert len(one.points) == 12


@pytest.mark.parametrize("seed", range(5))
def test_honest_readers_are_not_asked(seed):
    """Four people, twelve ammeters, sixty days: no question."""
    assert digit_preference(ammeters(seed)) == ()


def test_a_scale_in_fives_asks_nobody():
    """Everybody reads fives off a dial marked in fives."""
    table = ammeters()
    table.values[:] = np.round(table.values / 5.0) * 5.0
    assert digit_preference(table) == ()


def test_a_slow_point_says_nothing_about_digits():
    """Its last digit stays the same for hours, whoever reads it."""
    values = honest(3, points=12, scatter=0.5, correlation=0.99, step=1.0)
    table = table_of(values, step=1.0, units=("A",) * 12)
    own = table.writer == 1
    values[own] = np.round(values[own] / 5.0) * 5.0
    assert digit_preference(table) == ()


def test_rare_classes_are_thrown_together():
    """Small expected counts would make chi-square lie: one class of two remains."""
    seen, wanted = np.array([50.0, 3.0, 2.0, 5.0]), np.array([48.0, 4.0, 4.0, 4.0])
    found = chi_square(seen, wanted)
    assert found.freedom == 1
    assert found.statistic == pytest.approx(4.0 / 48.0 + 4.0 / 12.0)
    assert chi_square(np.array([3.0, 1.0]), np.array([2.0, 2.0])).p_value == 1.0


def test_counts_that_do_not_fit_are_refused():
    """Observed and expected have one sum."""
    with pytest.raises(ValueError, match="same sum"):
        chi_square(np.array([1.0, 2.0]), np.array([5.0, 5.0]))


# ---------------------------------------------------------------- slips


@pytest.mark.parametrize(
    ("typed", "doubt", "meant"),
    [(7.4, Doubt.DECIMAL, 74.0), (740.0, Doubt.DECIMAL, 74.0), (-74.0, Doubt.SIGN, 74.0),
     (165.2, Doubt.UNIT, 74.0)],
)  # fmt: skip
def test_a_slip_is_asked_about_with_what_may_have_been_meant(typed, doubt, meant):
    """Decimal mark, sign, degrees Fahrenheit for Celsius."""
    values = honest(0, points=6)
    values[:, 0] += 74.0 - values[:, 0].mean()
    values[:] = np.round(values, 1)
    values[300, 0] = typed
    (one,) = mistypes(table_of(values))
    assert one.doubt is doubt
    assert one.meant[0] == pytest.approx(meant, rel=0.01)
    assert one.question.startswith("Was ")
    assert one.odds >= 19.0
    assert one.adjusted == pytest.approx(1.0 / (1.0 + one.odds))


def test_inches_for_millimetres_are_recognised():
    """25 mm typed as 0.98."""
    rng = np.random.default_rng(1)
    values = np.round(25.0 + rng.normal(0.0, 0.1, (400, 3)), 2)
    values[200, 1] = 0.98
    (one,) = mistypes(table_of(values, step=0.01, units=("mm",) * 3))
    assert one.doubt is Doubt.UNIT
    assert "in" in one.question
    assert one.meant[0] == pytest.approx(25.0, abs=0.4)


def test_turned_digits_are_recognised():
    """25.1 typed as 52.1."""
    rng = np.random.default_rng(1)
    values = np.round(25.0 + rng.normal(0.0, 0.3, (400, 3)), 1)
    values[200, 1] = 52.1
    (one,) = mistypes(table_of(values))
    assert one.doubt is Doubt.TURNED
    assert one.meant == (25.1,)


def test_swapped_neighbours_are_one_question_about_both():
    """Left 0.35 and right 0.44 entered the wrong way round."""
    rng = np.random.default_rng(2)
    values = np.round(np.array([0.35, 0.44, 0.37]) + rng.normal(0.0, 0.01, (400, 3)), 2)
    values[200, [0, 1]] = values[200, [1, 0]]
    (one,) = mistypes(table_of(values, step=0.01, units=("mm",) * 3), [(0, 1), (1, 2)])
    assert one.doubt is Doubt.SWAPPED
    assert one.points == ("p0", "p1")


@pytest.mark.parametrize("seed", range(4))
def test_honest_numbers_are_seldom_asked_about(seed):
    """Forty thousand readings: at most one question."""
    assert len(mistypes(table_of(honest(seed)), [(0, 1), (2, 3)])) <= 1


def test_a_real_excursion_is_not_called_a_slip():
    """A point that falls to half for six rounds, and one that jumps by eight spreads once."""
    values = honest(0, points=6)
    values[300:306, 0] *= 0.5
    values[100, 1] += 12.0
    assert mistypes(table_of(values)) == ()


def test_counters_of_hours_and_tanks_are_left_alone():
    """What runs up and is set back to nothing jumps for a reason."""
    hours = np.arange(720.0)[:, None] % 240.0 * 12.0
    still = np.where(np.arange(720)[:, None] % 90 == 5, 30.0, 0.0)
    assert mistypes(table_of(np.hstack([hours, still]))) == ()


# ---------------------------------------------------------------- many at once


def test_many_honest_books_are_hardly_ever_asked_about():
    """Of forty honest books at most two hold any question about rounds, repeats or digits."""
    asked = 0
    for seed in range(40):
        values = honest(500 + seed, rounds=360, points=24, scatter=6.0, correlation=0.7, step=1.0)
        table = table_of(values, step=1.0, written=quick_and_slow(360, seed))
        found = (*copied_rounds(table), *repeated_values(table), *quick_rounds(table))
        asked += bool((*found, *digit_preference(table)))
    assert asked <= 2


def test_adjusted_values_rise_with_the_p_values_and_are_never_smaller():
    """For both ways of correcting, and Holm's is the stricter."""
    p = np.random.default_rng(3).random(50) ** 3
    order = np.argsort(p)
    for adjust in (benjamini_hochberg, holm):
        adjusted = adjust(p)
        assert (np.diff(adjusted[order]) >= 0.0).all()
        assert (adjusted >= p).all()
        assert adjusted.max() <= 1.0
    assert (holm(p) >= benjamini_hochberg(p)).all()
    assert benjamini_hochberg(np.empty(0)).size == 0


def test_what_is_no_p_value_is_refused():
    """Below 0, above 1 and not a number."""
    for bad in (-0.1, 1.1, np.nan):
        with pytest.raises(ValueError, match="between 0 and 1"):
            benjamini_hochberg(np.array([0.5, bad]))


def test_a_table_whose_parts_do_not_fit_is_refused():
    """Rows, columns and the order of time are held together."""
    values = honest(rounds=12)
    with pytest.raises(ValueError, match="must fit"):
        table_of(values, written=np.zeros(3))
    table = table_of(values)
    with pytest.raises(ValueError, match="order of time"):
        RoundTable(**{name: getattr(table, name) for name in table.__slots__} | {"at": -table.at})
