from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.report.trend_span import DAY, HOUR, LENGTHS, SHORTEST, Span

YEAR = 365 * DAY
SPANS = st.tuples(
    st.floats(1e9, 2e9), st.floats(30 * DAY, 12 * YEAR), st.floats(0, 1), st.floats(HOUR, 20 * YEAR)
).map(lambda s: Span(0, 1, s[0], s[0] + s[1]).placed(s[0] + s[2] * s[1], s[0] + s[2] * s[1] + s[3]))
MOVES = st.lists(
    st.one_of(
        st.floats(-3, 3).map(lambda share: ("moved", share)),
        st.floats(0.01, 30).map(lambda factor: ("zoomed", factor)),
        st.sampled_from([length for _, _, length in LENGTHS]).map(lambda s: ("of_length", s)),
        st.sampled_from([("whole",), ("at_start",), ("at_end",)]),
    ),
    max_size=12,
)


@given(SPANS, MOVES)
def test_whatever_is_pressed_the_chart_shows_some_of_what_there_is(span, moves):
    """Never empty, never turned round, never wholly beside the readings, never under an hour."""
    for name, *given_ in moves:
        span = getattr(span, name)(*given_)
        assert span.length >= SHORTEST * 0.999
        assert span.start < span.last + 1
        assert span.end > span.first - 1
        room = 0.03 * span.length
        assert span.end <= span.last + room + 1


@given(SPANS, st.floats(0.3, 3), st.floats(0, 1))
def test_zooming_keeps_the_instant_under_the_pointer(span, factor, share):
    """Unless an end of everything is in the way."""
    at = span.start + share * span.length
    found = span.zoomed(factor, at)
    inside = found.start > found.first - 1 and found.end < found.last - 1
    if inside:
        assert (at - found.start) / found.length == pytest.approx(share, abs=1e-6)


def test_there_and_back_is_where_it_was():
    """One step forward and one back show the same."""
    span = Span(0, 1, 0, 10 * YEAR).placed(4 * YEAR, 4 * YEAR + 7 * DAY)
    back = span.moved(0.5).moved(-0.5)
    assert (back.start, back.end) == pytest.approx((span.start, span.end))


def test_a_digit_keeps_to_the_present():
    """Seen up to now, a shorter or longer stretch ends now as well."""
    span = Span(0, 1, 0, 10 * YEAR).at_end().of_length(7 * DAY)
    assert span.end == pytest.approx(10 * YEAR, abs=0.03 * 7 * DAY)
    assert span.of_length(YEAR).end == pytest.approx(10 * YEAR, abs=0.03 * YEAR)
    assert span.length == pytest.approx(7 * DAY)


def test_everything_is_everything():
    """From before the first reading to after the last."""
    span = Span(5, 6, 0, 10 * YEAR).whole()
    assert span.start <= 0
    assert span.end >= 10 * YEAR
