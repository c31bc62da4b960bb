"""Where bars and marks of the picture stand: never over one another, never outside."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.assess.limits import Direction, Judgement, Severity
from logbook.plant.roster import Shift
from logbook.shift.picture import Lane, Matter, MatterKind, ShiftPicture
from logbook.ui.shift_screen.lane_layout import LABEL, MARK, RIGHT, ROW, lay_out

START = datetime(2026, 3, 2, 12, tzinfo=UTC)
SHIFT = Shift(date(2026, 3, 2), "D", "Day", "A", START, START + timedelta(hours=12))


def matter(start, length=None):
    """A bar that begins `start` hours into the shift, or a mark."""
    begin = START + timedelta(hours=start)
    end = begin + timedelta(hours=length) if length is not None else None
    return Matter(
        kind=MatterKind.DEVIATION if length is not None else MatterKind.ENTRY,
        area="a",
        start=begin,
        end=end,
        judgement=Judgement(Severity.WARNING, Direction.HIGH),
        label="x",
        words="x",
        source=(),
    )


def picture(template_plant, *lanes):
    """A picture with these lanes of matters."""
    made = tuple(Lane(f"a{k}", f"Area {k}", tuple(ms)) for k, ms in enumerate(lanes))
    now = START + timedelta(hours=12)
    return ShiftPicture(shift=SHIFT, now=now, plant=template_plant, rounds=(), lanes=made)


starts = st.floats(-6, 12, allow_nan=False)
matters = st.lists(
    st.tuples(starts, st.one_of(st.none(), st.floats(0, 12))).map(lambda m: matter(*m)), max_size=25
)


@given(matters=matters, width=st.integers(640, 2400), height=st.integers(60, 900))
def test_nothing_covers_anything_else_and_all_lies_inside(template_plant, matters, width, height):
    """Whatever happened in a shift, each thing can be seen and clicked on its own."""
    ordered = sorted(matters, key=lambda m: m.start)
    layout = lay_out(picture(template_plant, ordered), width, height)
    places = layout.places
    assert len(places) == len(matters)
    lane = layout.lanes[0].box
    for place in places:
        assert place.box.left() >= LABEL
        assert place.box.right() <= max(LABEL + 200, width - RIGHT) + 0.01
        assert place.box.width() >= MARK - 0.01
        assert lane.top() <= place.box.top()
        assert place.box.bottom() <= lane.bottom() + 1
        assert layout.at(place.box.center().x(), place.box.center().y()) is not None
    for k, one in enumerate(places):
        assert not any(one.box.intersects(other.box) for other in places[k + 1 :])


def test_lanes_follow_one_another_without_gaps(template_plant):
    """The next begins where one ends; the height is that of all."""
    layout = lay_out(picture(template_plant, [matter(1, 2)], [], [matter(3), matter(3)]), 1000, 500)
    tops = [lane.box.top() for lane in layout.lanes]
    ends = [lane.box.top() + lane.box.height() for lane in layout.lanes]
    assert tops == [0, *ends[:-1]]
    assert layout.height == ends[-1]


@pytest.mark.parametrize(("height", "row"), [(2000, ROW[0]), (10, ROW[1])])
def test_rows_become_lower_where_there_is_little_room_but_not_too_low(template_plant, height, row):
    """Between the height wished for and the least that can be told apart."""
    layout = lay_out(picture(template_plant, [matter(1, 2)] * 6), 1000, height)
    assert layout.row == row


def test_what_began_before_the_shift_is_cut_at_its_start(template_plant):
    """It begins at the left edge and is known as older."""
    place = lay_out(picture(template_plant, [matter(-3, 5)]), 1000, 500).places[0]
    assert place.box.left() == LABEL
    assert place.starts_before
