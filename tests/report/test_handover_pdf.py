"""The printed handover, read back and held against the book."""

import re
import zlib
from dataclasses import replace

import pypdfium2
import pytest

from logbook.plant.calendar import previous_shift
from logbook.report.extras import extras_of
from logbook.report.make import handover_of, make_handover_pdf
from logbook.report.readings import readings_part
from logbook.shift.words import answer_text

POINTS_PER_MM = 72 / 25.4


def squeezed(text):
    """A text without blanks and line breaks, as two typesettings of it may differ in them."""
    return re.sub(r"\s+", "", text)


def metadata(pdf):
    """The XMP packet of a PDF."""
    found = re.search(rb"<\?xpacket begin=.*?<\?xpacket end=", pdf, re.DOTALL)
    if found is not None:
        return found[0].decode("utf-8")
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    opened = (zlib.decompressobj().decompress(raw) for raw in streams if raw[:1] == b"x")
    return next(raw for raw in opened if b"xpacket" in raw).decode("utf-8")


@pytest.fixture
def pdf(book, night):
    """The night's handover on A4."""
    return handover_of(book, night)


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_a_shift_of_130_points_and_six_rounds_needs_at_most_six_pages(book, night, paper, size):
    """Twelve hours, two-hourly rounds: on A4 and on Letter, every page of that size."""
    with pypdfium2.PdfDocument(handover_of(book, night, paper=paper)) as document:
        assert 2 <= len(document) <= 6
        for page in document:
            found = [round(side / POINTS_PER_MM, 1) for side in page.get_size()]
            assert found == pytest.approx(size, abs=0.3)


def test_the_metadata_say_pdf_a_2b(pdf):
    """XMP names part 2 and conformance B of PDF/A (ISO 19005-2), and the title."""
    xmp = metadata(pdf)
    assert re.search(r"pdfaid:part(>|=\")2", xmp)
    assert re.search(r"pdfaid:conformance(>|=\")B", xmp)
    assert "Handover" in xmp


def test_every_font_is_embedded(pdf):
    """A PDF/A needs no font of the reader's machine: each one carries its font file."""
    with pypdfium2.PdfDocument(pdf) as document:
        assert document.get_version() == 17
    opened = b"".join(
        zlib.decompressobj().decompress(raw)
        for raw in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
        if raw[:1] == b"x" and len(raw) > 20
    )
    text = pdf + opened
    assert text.count(b"/FontDescriptor") >= 1
    assert b"/FontFile3" in text or b"/FontFile2" in text
    assert b"/BaseFont/Helvetica" not in text.replace(b" ", b"")


def test_every_reading_of_the_shift_is_printed(book, night, plant, pdf, read_pdf):
    """Each value and answer of the book stands in the pages of readings, by its point's row."""
    whole = squeezed("\n".join(read_pdf(pdf)))
    readings = book.readings(None, night.start, night.end)
    assert len(readings) == 130 * 6
    by_key = {point.key: point for point in plant.points}
    missing = [
        reading
        for reading in readings
        if reading.reason is None
        and squeezed(answer_text(by_key[reading.point], reading.value, reading.text)) not in whole
    ]
    assert not missing


def test_the_readings_stand_beside_their_point_in_order_of_the_rounds(
    book, night, plant, pdf, read_pdf
):
    """The row of a single point reads: name, unit, six values."""
    single = next(p for p in plant.points if p.place is None and p.limits.target is not None)
    series = book.readings([single.key], night.start, night.end)
    values = [answer_text(single, one.value, one.text) for one in series]
    wanted = squeezed(single.name + single.unit + "".join(values))
    assert wanted in squeezed("\n".join(read_pdf(pdf)))


def test_the_first_page_is_the_shift_at_a_glance(book, night, plant, hot, pdf, read_pdf):
    """Safety, what is open, the lanes, the totals, what is next and both signatures."""
    first = read_pdf(pdf)[0]
    assert "Low level trip of the day bin bridged" in first
    assert hot[0].name in first
    assert "action high" in first
    for area in plant.areas[:3]:
        assert area.name in first
    for words in ("Crushed", "6 of 6", "What the next shift must do", "Handed over by"):
        assert words in first


def test_an_unsigned_handover_says_so_twice(pdf, read_pdf):
    """In the stamp and in the place of each signature."""
    first = read_pdf(pdf)[0]
    assert first.count("NOT SIGNED") == 2
    assert first.count("NOT TAKEN OVER") == 2


def test_a_signed_handover_shows_names_times_and_meaning(snapshot, book, read_pdf):
    """Half signed still says that nobody took it over."""
    one = {
        "role": "outgoing",
        "person": {"key": "a", "name": "Ada Example"},
        "person_role": "operator",
        "at": {"iso": "2026-03-03T06:05:00-06:00", "label": "06:05"},
        "meaning": "Hands the shift over",
    }
    half = read_pdf(make_handover_pdf({**snapshot, "signatures": [one]}, book=book))[0]
    assert "Ada Example" in half
    assert "Hands the shift over" in half
    assert "NOT SIGNED" not in half
    assert half.count("NOT TAKEN OVER") == 2
    other = {**one, "role": "incoming", "person": {"key": "b", "name": "Bo Example"}}
    both = read_pdf(make_handover_pdf({**snapshot, "signatures": [one, other]}, book=book))[0]
    assert "Bo Example" in both
    assert "NOT" not in both.replace("NOT ", "NOT ").split("SHA-256")[0].replace("Not taken", "")


def test_each_page_has_its_number_the_last_seal_and_when_it_was_printed(snapshot, pdf, read_pdf):
    """Page x of y, the seal's short form and the local time with its zone."""
    pages = read_pdf(pdf)
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in text
        assert f"last seal {snapshot['seal']}" in text
        assert "printed 2026-03-03 06:30 CST" in text


def test_corrections_stand_last_with_the_old_and_the_new_value(snapshot, hot, pdf, read_pdf):
    """What it was, what it is, by whom and why; and that a round was late."""
    last = squeezed("".join(read_pdf(pdf))).partition("Corrections,lateanddoubtful")[2]
    (one,) = snapshot["content"]["corrections"]
    assert squeezed(hot[1].name) in last
    assert squeezed(one["before"]["text"]) in last
    assert squeezed(one["after"]["text"]) in last
    assert "figuresswapped" in last
    assert "Enteredlate" in last


def test_what_changed_since_signing_is_printed(snapshot, book, read_pdf):
    """As it was and is, who, when and why."""
    when = {"iso": "2026-03-03T07:00:00-06:00", "label": "2026-03-03 07:00"}
    change = {
        "kind": "reading",
        "how": "corrected",
        "subject": "Feed rate",
        "at": when,
        "old": "41.5",
        "new": "14.5",
        "why": "figures swapped again",
        "late": False,
        "person": {"key": "a", "name": "Ada Example"},
        "written_at": when,
    }
    pages = read_pdf(make_handover_pdf({**snapshot, "changed": [change]}, book=book))
    last = " ".join("".join(pages).split()).partition("Changed since signing")[2]
    assert "41.5 → 14.5" in last
    assert "figures swapped again" in last


def test_the_heads_of_a_table_are_repeated_on_its_next_page(pdf, read_pdf, local, night):
    """Whoever turns a page still sees which column is which round."""
    pages = [text for text in read_pdf(pdf)[1:] if "last 3 days" in text]
    assert len(pages) >= 2
    for text in pages:
        assert local(night.start) in text


def test_the_same_content_gives_the_same_bytes(snapshot, book):
    """What is stored with its hash can be made again."""
    assert make_handover_pdf(snapshot, book=book) == make_handover_pdf(snapshot, book=book)


def test_a_document_prints_without_the_book_too(snapshot, read_pdf):
    """Row by row, with the limits as words."""
    text = "\n".join(read_pdf(make_handover_pdf(snapshot)))
    assert "warning" in text
    assert "last 3 days" not in text


def test_a_shift_before_the_book_prints_as_empty(book, night, plant, read_pdf):
    """A shift of which nothing is known gives a handover that says so."""
    empty = previous_shift(plant.calendar, previous_shift(plant.calendar, night))
    text = "\n".join(read_pdf(handover_of(book, empty)))
    assert "not known" in text
    assert "NOT SIGNED" in text


def test_repeated_machines_with_the_same_limits_form_a_table(snapshot, book, plant):
    """A column per position with its limits once; machines with limits of their own stay rows."""
    extras = extras_of(book, snapshot["content"])
    part = readings_part(snapshot["content"]["readings"], extras)
    grids = [b for area in part["areas"] for b in area["blocks"] if "table" in b]
    assert grids
    for grid in grids:
        for column in grid["columns"]:
            assert len(column["rows"]) > 1
    key = next(k for k, extra in extras.points.items() if extra.table)
    name = extras.points[key].table_name
    odd = {k: replace(e, table="") for k, e in extras.points.items() if e.table_name == name}
    other = replace(extras, points={**extras.points, **odd})
    again = readings_part(snapshot["content"]["readings"], other)
    assert name not in [b.get("table") for area in again["areas"] for b in area["blocks"]]


def test_a_shift_of_hourly_rounds_is_printed_in_two_runs_of_columns(snapshot, book):
    """More rounds than fit side by side follow in further columns; none is lost."""
    readings = snapshot["content"]["readings"]
    many = [{"iso": "", "label": f"{k:02d}:30"} for k in range(24)]
    areas = [
        {**a, "rows": [{**r, "cells": r["cells"] * 4} for r in a["rows"]]}
        for a in readings["areas"]
    ]
    wide = {**snapshot["content"], "readings": {**readings, "rounds": many, "areas": areas}}
    pdf = make_handover_pdf({**snapshot, "content": wide}, book=book)
    with pypdfium2.PdfDocument(pdf) as document:
        text = "".join(page.get_textpage().get_text_bounded() for page in document)
    assert "00:30" in text
    assert "23:30" in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_first_page_stays_one_page_in_the_worst_of_shifts(snapshot, book, paper, read_pdf):
    """Whatever there is of everything: what finds no room is counted, the signatures stay."""
    content = snapshot["content"]
    (state,) = content["safety"]
    one = content["open_deviations"][0]
    areas = [area["key"] for area in content["readings"]["areas"]] * 9
    out = [{**one, "point": {**one["point"], "area": area}} for area in areas]
    names = [f"Extra {k}" for k in range(12)]
    more = [{"key": name, "name": name, "rows": []} for name in names]
    extra = [{**one, "point": {**one["point"], "area": name}} for name in names * 4]
    bad = {
        **content,
        "safety": [{**state, "what": f"{k}: {'very ' * 60}long"} for k in range(30)],
        "risks": [{"kind": "bypass", "text": "something " * 20}] * 30,
        "open_deviations": [*out, *extra],
        "readings": {
            **content["readings"],
            "areas": [*content["readings"]["areas"], *more],
        },
    }
    pages = read_pdf(make_handover_pdf({**snapshot, "content": bad}, book=book, paper=paper))
    assert "Handed over by" in pages[0]
    assert "Taken over by" in pages[0]
    assert "more: see part 1" in " ".join(pages[0].split())
    assert "more: see parts 2" in " ".join(pages[0].split())
    assert "Safety states handed over" in pages[1]
