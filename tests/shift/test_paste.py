"""A block copied from a spreadsheet, matched to the fields it falls on."""

import pytest

from logbook.shift.paste import block_of, matched, told_of_paste

KEYS = [["gap.m1", "gap.m2"], ["feed", None], ["gap_mean", "dip"]]


@pytest.mark.parametrize(
    "text",
    ["0.3\t0.4\n1100\t\n", "0.3\t0.4\r\n1100\t\r\n", "0.3\t0.4\r1100\t", " 0.3 \t0.4\n1100\t"],
)
def test_a_block_is_rows_of_cells(text):
    """Whatever ends the lines; the last empty line is none."""
    assert block_of(text) == [["0.3", "0.4"], ["1100", ""]]


def test_a_single_value_is_a_block_of_one():
    """As copied from one cell; an empty line between rows stays a row."""
    assert block_of("0.35") == [["0.35"]]
    assert block_of("1\n\n2\n") == [["1"], [""], ["2"]]


def test_cells_fall_on_open_fields_only(form):
    """Empty cells, gaps in the table and computed points take nothing."""
    block = block_of("0.35\t\n1100\t7\n0.3\t1.2\n9\t9")
    assert matched(form, KEYS, block) == {"gap.m1": "0.35", "feed": "1100", "dip": "1.2"}


def test_a_block_too_wide_is_cut(form):
    """What lies beyond the table falls outside."""
    assert matched(form, KEYS, [["0.35", "0.36", "0.37"]]) == {"gap.m1": "0.35", "gap.m2": "0.36"}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("0.35\t0.36", "2 values pasted. Ctrl+Z takes them back."),
        ("0.35", "1 value pasted. Ctrl+Z takes them back."),
        ("0.35\tx\n1\t2", ("3 values pasted, 1 fell outside the open fields, "
         "2 cannot be taken as they are. Ctrl+Z takes them back.")),
        ("\tx", "1 value pasted, 1 cannot be taken as it is. Ctrl+Z takes them back."),
        ("\n\t5", "0 values pasted, 1 fell outside the open fields."),
    ],
)  # fmt: skip
def test_what_became_of_a_block_is_told(form, text, told):
    """How many were taken, fell outside, or ask something."""
    block = block_of(text)
    texts = matched(form, KEYS, block)
    form.fill(texts)
    assert told_of_paste(form, texts, block) == told
