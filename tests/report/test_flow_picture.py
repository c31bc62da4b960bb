"""Tests of the flow picture: widths, places, labels, and its form on paper."""

import math
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.report.flow_labels import label_words, place_labels
from logbook.report.flow_layout import FlowNode, FlowPicture, lay_out_flow
from logbook.report.flow_svg import flow_svg, wrapped
from logbook.shift.balance_view import FlowStream

NODES = (
    FlowNode("prep", "Preparation", 0, 0),
    FlowNode("extract", "Extractor", 1, 0),
    FlowNode("evaporate", "Evaporation", 2, 0),
    FlowNode("strip", "Desolventizer-toaster", 2, 1),
    FlowNode("hulls", "Hull system", 0, 1),
)


def picture(**amounts) -> FlowPicture:
    """A small plant; amounts by stream key replace the usual ones."""
    usual = {
        "beans": 100.0,
        "flakes": 94.0,
        "hulls": 6.0,
        "oil": 19.0,
        "meal": 75.0,
        "miscella": 80.0,
        "spent": 110.0,
        "solvent": 61.0,
    }
    amount = {**usual, **amounts}
    return FlowPicture(
        NODES,
        (
            FlowStream("beans", "Beans", None, "prep", amount["beans"], "left"),
            FlowStream("flakes", "Flakes", "prep", "extract", amount["flakes"]),
            FlowStream("hulls", "Hulls", "prep", "hulls", amount["hulls"]),
            FlowStream("miscella", "Miscella", "extract", "evaporate", amount["miscella"]),
            FlowStream("spent", "Spent flakes", "extract", "strip", amount["spent"]),
            FlowStream("solvent", "Solvent", "evaporate", "extract", amount["solvent"]),
            FlowStream("oil", "Crude oil", "evaporate", None, amount["oil"], "right"),
            FlowStream("meal", "Meal", "strip", None, amount["meal"], "bottom"),
        ),
        "t/h",
    )


AMOUNT = st.floats(0.0, 5000.0)


@given(
    amounts=st.fixed_dictionaries(
        dict.fromkeys(("beans", "flakes", "hulls", "oil", "meal", "miscella", "spent"), AMOUNT)
    ),
    width=st.floats(400, 3000),
    height=st.floats(200, 1500),
)
def test_every_band_is_as_wide_as_its_flow(amounts, width, height):
    """One scale for all; only what would be thinner than a hairline is drawn as one."""
    layout = lay_out_flow(picture(**amounts), width, height)
    for band in layout.bands:
        assert band.width == pytest.approx(max(1.5, band.stream.amount * layout.scale))


@given(beans=AMOUNT, solvent=AMOUNT, width=st.floats(200, 3000), height=st.floats(100, 1500))
def test_nothing_stands_outside_the_picture_and_no_boxes_overlap(beans, solvent, width, height):
    """The room grows where it is too small, and the bands keep to their box's side."""
    layout = lay_out_flow(picture(beans=beans, solvent=solvent), width, height)
    for band in layout.bands:
        for x, y in band.trace():
            assert 0.0 <= x <= layout.width
            assert 0.0 <= y <= layout.height
    for one in layout.boxes:
        assert one.x + one.width <= layout.width
        assert one.y + one.height <= layout.height
        for other in layout.boxes:
            if one is other:
                continue
            apart_x = one.x + one.width <= other.x or other.x + other.width <= one.x
            apart_y = one.y + one.height <= other.y or other.y + other.height <= one.y
            assert apart_x or apart_y


def test_bands_of_one_side_do_not_lie_over_one_another():
    """What leaves the extractor is stacked along its right side."""
    layout = lay_out_flow(picture(), 1240, 440)
    ends = sorted((b.points[0][1], b.width) for b in layout.bands if b.stream.source == "extract")
    (first, wide), (second, other) = ends
    assert second - first >= (wide + other) / 2.0 - 1e-6


def test_what_goes_back_between_boxes_of_the_first_row_runs_above():
    """The recovered solvent leaves the top of the evaporation and enters the extractor's."""
    layout = lay_out_flow(picture(), 1240, 440)
    band = next(b for b in layout.bands if b.stream.key == "solvent")
    tops = {box.node.key: box.y for box in layout.boxes}
    assert band.points[0][1] == tops["evaporate"]
    assert band.points[-1][1] == tops["extract"]
    assert band.points[1][1] < min(tops.values())


def test_what_goes_back_from_a_lower_row_runs_below():
    """From the second row the way back is below everything."""
    base = picture()
    low = FlowStream("back", "Hulls back", "strip", "hulls", 3.0)
    layout = lay_out_flow(FlowPicture(NODES, (*base.streams, low), "t/h"), 1240, 440)
    band = next(b for b in layout.bands if b.stream.key == "back")
    assert band.points[1][1] > max(box.y + box.height for box in layout.boxes)


def test_an_unknown_flow_is_a_hairline_and_says_so():
    """No width is made up for a stream without a figure."""
    layout = lay_out_flow(picture(oil=None), 1240, 440)
    band = next(b for b in layout.bands if b.stream.key == "oil")
    assert band.width == 1.5
    assert label_words(band) == ("Crude oil", "not known")


@pytest.mark.parametrize(
    ("source", "target", "word"), [(None, None, "nowhere"), ("prep", "moon", "moon")]
)
def test_a_stream_without_a_place_is_refused_by_name(source, target, word):
    """The message names the stream and what is wrong with it."""
    odd = FlowPicture(NODES, (FlowStream("odd", "Odd", source, target, 1.0),), "t/h")
    with pytest.raises(ValueError, match=f"'odd'.*{word}"):
        lay_out_flow(odd, 800, 400)


def test_labels_cover_no_box_and_no_other_label():
    """At the size of a control-room screen every label finds a place of its own."""
    layout = lay_out_flow(picture(), 1240, 440)
    labels = place_labels(layout, lambda text, part: 6.5 * len(text), 14.0)
    assert len(labels) == len(layout.bands)
    for label in labels:
        for box in layout.boxes:
            assert not label.meets((box.x, box.y, box.width, box.height))
        for other in labels:
            assert other is label or not label.meets(other.rectangle)


def test_a_place_on_a_band_finds_it_and_the_thinnest_wins():
    """A click on a hairline that crosses a wide band finds the hairline."""
    layout = lay_out_flow(picture(), 1240, 440)
    for band in layout.bands:
        x, y = band.trace()[len(band.trace()) // 2]
        found = layout.at(x, y)
        assert found is not None
        assert found.width <= band.width
    assert layout.at(-50.0, -50.0) is None


def test_the_picture_on_paper_is_valid_and_shows_words_as_they_are():
    """Names with markup stay words; the document parses as XML."""
    odd = '<b>"oil" & soap</b>'
    base = picture()
    streams = (*base.streams, FlowStream("odd", odd, "strip", None, math.pi, "right", "suspect"))
    svg = flow_svg(lay_out_flow(FlowPicture(NODES, streams, "t/h"), 1240, 440))
    texts = [node.text for node in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]
    assert odd in texts
    assert any(text.startswith("◆") for text in texts)


def test_long_names_are_broken_at_hyphens_and_blanks():
    """A box holds short lines."""
    assert wrapped("Cracking, hulling and flaking") == ["Cracking,", "hulling and", "flaking"]
    assert "".join(wrapped("Desolventizer-toaster")) == "Desolventizer-toaster"
