"""Corrections: who may make them until when, and what then stands in the book."""

import sqlite3

import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.model import Person, Role
from logbook.record import BookError, NewEntry, NewSignature, WriteRefused
from logbook.shift.answer import EMPTY, Asks
from logbook.shift.answer import Entry as Typed
from logbook.shift.correcting import (
    correct_entry,
    correct_reading,
    correcting,
    is_signed,
    refusal,
    why_not,
    withdraw_reading,
)
from logbook.shift.roles import NotAllowed
from logbook.shift.round_load import load_form
from logbook.shift.round_write import rows_of

DAY_OF = "03-02 06:00"


@pytest.fixture
def written(book, crew, at):
    """A day shift's first round by the first operator; its readings by key."""
    crew.round(at(DAY_OF), {"gap.m1": 0.53, "bed": "slow", "moisture": "!not_sampled"})
    return book.of_round(at(DAY_OF))


@pytest.fixture
def sign(book, clock, at):
    """Signs the day shift as the outgoing crew."""

    def do(when="03-02 18:00"):
        clock.set(max(clock.now, at(when)))
        day = shift_at(book.plant_at(clock.now).calendar, at(DAY_OF))
        row = NewSignature(
            day.date, day.pattern, "outgoing", clock.now, "hands over", content_hash="0" * 64
        )
        book.write("op1", [row], kind="handover")

    return do


def typed(book, reading, text):
    """What is typed for a reading, read and judged."""
    return correcting(book, reading.id).read(text)


# ---------------------------------------------------------------- who may


@pytest.mark.parametrize(
    ("role", "own", "signed", "may_do"),
    [
        (Role.OPERATOR, True, False, True),
        (Role.OPERATOR, True, True, False),
        (Role.OPERATOR, False, False, False),
        (Role.OPERATOR, False, True, False),
        (Role.SUPERVISOR, False, False, True),
        (Role.SUPERVISOR, False, True, True),
        (Role.ENGINEER, False, True, True),
        (Role.READER, True, False, False),
    ],
)
def test_the_writer_corrects_until_the_shift_is_signed_after_that_a_supervisor(
    role, own, signed, may_do
):
    """Every refusal says who may."""
    told = why_not(
        Person("me", "Me", role), "me" if own else "you", wrote_name="You", is_signed=signed
    )
    assert (told == "") is may_do
    if told:
        assert "supervisor" in told or "operator" in told


def test_a_refusal_names_the_writer(book, written):
    """The next person knows whom to ask; nobody corrects without being somebody."""
    told = refusal(book, "op2", written["gap.m1"])
    assert told == ("Operator One wrote it: only they, a supervisor or an engineer may correct it.")
    assert refusal(book, "op1", written["gap.m1"]) == ""
    assert refusal(book, "head", written["gap.m1"]) == ""
    assert "A reader may not correct" in refusal(book, "guest", written["gap.m1"])
    assert "choose who writes" in refusal(book, "", written["gap.m1"])


def test_a_signature_of_the_outgoing_crew_closes_its_shift_only(book, written, crew, sign, at):
    """A reading of the shift after it can still be corrected by its writer."""
    plant = book.plant_at(at(DAY_OF))
    assert not is_signed(book, plant, at(DAY_OF))
    sign()
    assert is_signed(book, plant, at(DAY_OF))
    assert is_signed(book, plant, at("03-02 17:59"))
    assert not is_signed(book, plant, at("03-02 18:00"))
    crew.round(at("03-02 18:00"))
    night = book.of_round(at("03-02 18:00"))["gap.m1"]
    assert refusal(book, "op1", night) == ""
    assert "The shift is signed" in refusal(book, "op1", written["gap.m1"])


def test_the_service_refuses_below_the_window(book, written, sign):
    """Nothing is written then, whatever screen asked for it."""
    old, pages = written["gap.m1"], book.last_page().id
    new = typed(book, old, "0.35")
    for person in ("op2", "guest", "ghost"):
        with pytest.raises(NotAllowed):
            correct_reading(book, person, old, new, "misread")
        with pytest.raises(NotAllowed):
            withdraw_reading(book, person, old, "misread")
    assert book.last_page().id == pages
    sign()
    with pytest.raises(NotAllowed, match="is signed"):
        correct_reading(book, "op1", old, new, "misread")
    correct_reading(book, "head", old, new, "misread")
    assert book.history_of(old.id)[-1].value == 0.35


def test_what_a_supervisor_corrected_its_first_writer_does_not_correct_back(book, written):
    """Who wrote what now stands counts."""
    old = written["gap.m1"]
    correct_reading(book, "head", old, typed(book, old, "0.35"), "misread")
    now = book.history_of(old.id)[-1]
    with pytest.raises(NotAllowed, match="Technical head wrote it"):
        correct_reading(book, "op1", now, typed(book, now, "0.53"), "was right")


# ---------------------------------------------------------------- what is written


def test_old_value_new_value_who_when_and_why_stand_together(book, written, clock):
    """The old reading stays as it was; the new one names it, in the same round."""
    clock.advance(minutes=7)
    old = written["gap.m1"]
    saved = correct_reading(book, "op1", old, typed(book, old, " 0,35 "), "  digits swapped ")
    first, second = book.history_of(old.id)
    assert first == old
    assert (second.value, second.typed, second.why) == (0.35, "0,35", "digits swapped")
    assert (second.person, second.written_at) == ("op1", clock.now)
    assert (second.taken_at, second.round_at, second.mode) == (old.taken_at, old.round_at, old.mode)
    assert book.of_round(old.round_at)["gap.m1"] == second
    assert book.pages(saved.written_at, saved.written_at.replace(year=2027))[0].kind == "correction"
    plain = sqlite3.connect(book.path)
    row = plain.execute(
        "SELECT old_value, new_value, old_person, person, why FROM v_correction"
    ).fetchone()
    plain.close()
    assert row == (0.53, 0.35, "op1", "op1", "digits swapped")


@pytest.mark.parametrize(
    ("key", "new", "stands"),
    [
        ("bed", "even", ("text", "even")),
        ("moisture", "12.1", ("value", 12.1)),
        ("dip", "1.3", ("value", 1.3)),
    ],
)
def test_a_new_value_is_read_as_the_form_reads_it(book, written, key, new, stands):
    """An answer by its letter or name, a number where there was only a reason."""
    old = written[key]
    correct_reading(book, "op1", old, typed(book, old, new), "looked again")
    assert getattr(book.history_of(old.id)[-1], stands[0]) == stands[1]


def test_a_value_can_become_a_missing_one_with_its_reason(book, written):
    """The instrument turned out to be faulty."""
    old = written["dip"]
    correct_reading(book, "op1", old, Typed(reason="instrument_fault"), "gauge was blocked")
    now = book.history_of(old.id)[-1]
    assert (now.value, now.reason) == (None, "instrument_fault")
    both = Typed(value=1.3, reason="not_sampled")
    correct_reading(book, "op1", now, both, "a reason goes before a value")
    now = book.history_of(old.id)[-1]
    assert (now.value, now.reason) == (None, "not_sampled")


def test_a_new_value_is_judged_and_questioned_by_the_limits_of_its_time(book, written, clock):
    """Implausible ones ask first, as in the form; a confirmed one is taken."""
    old = written["gap.m1"]
    found = correcting(book, old.id)
    asked = found.read("0.031")
    assert asked.question.asks is Asks.IMPLAUSIBLE
    with pytest.raises(WriteRefused, match="Below the plausible"):
        correct_reading(book, "op1", old, asked, "misread")
    sure = found.read("0.031", Typed(confirmed=True))
    assert sure.is_taken
    assert sure.judgement.code == -2
    correct_reading(book, "op1", old, sure, "measured twice")
    assert book.history_of(old.id)[-1].value == 0.031


def test_a_counter_is_compared_with_the_count_before_it(book, written, crew, at):
    """Not with its own wrong value."""
    crew.round(at("03-02 08:00"), {"feed": 91000})
    old = book.of_round(at("03-02 08:00"))["feed"]
    found = correcting(book, old.id)
    assert found.last == written["feed"].value
    assert found.read(str(int(found.last) + 100)).is_taken
    assert found.read(str(int(found.last) - 1)).question.asks is Asks.COUNTER_BACK


@pytest.mark.parametrize(
    ("text", "why", "told"),
    [
        ("0.35", "  ", "needs a reason"),
        ("0.53", "misread", "stands already"),
        ("", "misread", "not taken yet"),
        ("abc", "misread", "not taken yet"),
        ("1,234", "misread", "not taken yet"),
    ],
)
def test_a_correction_without_reason_or_without_a_change_is_refused(book, written, text, why, told):
    """Nothing is written."""
    old, page = written["gap.m1"], book.last_page().id
    new = typed(book, old, text) if text else EMPTY
    with pytest.raises(WriteRefused, match=told):
        correct_reading(book, "op1", old, new, why)
    assert book.last_page().id == page


def test_of_two_corrections_of_one_value_the_second_is_refused(book, written):
    """Two windows showed the old value; the second is told to look at the newer one."""
    old = written["gap.m1"]
    correct_reading(book, "op1", old, typed(book, old, "0.35"), "misread")
    with pytest.raises(BookError, match="has been corrected already"):
        correct_reading(book, "op1", old, typed(book, old, "0.36"), "misread")


def test_a_reading_taken_back_leaves_nothing_but_its_trace(book, written):
    """It no longer counts, and both versions are still there."""
    old = written["gap.m1"]
    withdraw_reading(book, "op1", old, "typed in the wrong row")
    assert "gap.m1" not in book.of_round(old.round_at)
    first, second = book.history_of(old.id)
    assert first == old
    assert second.withdrawn
    with pytest.raises(WriteRefused, match="needs a reason"):
        withdraw_reading(book, "op1", written["gap.m2"], " ")


# ---------------------------------------------------------------- entries


@pytest.fixture
def entry(book, at, clock):
    """A log entry of the first operator."""
    clock.set(at("03-02 09:00"))
    row = NewEntry(at("03-02 08:50"), "Belt 2 squeals", "maintenance", "mills", "m1")
    book.write("op1", [row], kind="entry")
    return book.entries(at("03-02 06:00"), at("03-02 18:00"))[0]


def test_an_entry_is_corrected_with_the_old_wording_kept(book, entry, at):
    """What is not given stays; an empty machine takes it away."""
    correct_entry(book, "op1", entry, " Belt 3 squeals ", "wrong belt", equipment="")
    first, now = book.history_of_entry(entry.id)
    assert first == entry
    assert (now.text, now.why, now.person) == ("Belt 3 squeals", "wrong belt", "op1")
    assert (now.area, now.equipment, now.kind, now.at) == ("mills", None, "maintenance", entry.at)


def test_an_entry_is_taken_back_with_a_reason(book, entry, at):
    """It no longer shows among the entries; its history does."""
    correct_entry(book, "op1", entry, None, "written in the wrong book")
    assert book.entries(at("03-02 06:00"), at("03-02 18:00")) == []
    assert book.history_of_entry(entry.id)[-1].why == "written in the wrong book"


def test_an_entry_is_corrected_by_whom_a_reading_is(book, entry, sign):
    """Its writer until the shift is signed, a supervisor or engineer after that."""
    with pytest.raises(NotAllowed, match="Operator One wrote it"):
        correct_entry(book, "op2", entry, "Belt 3", "wrong belt")
    with pytest.raises(WriteRefused, match="Nothing of the entry is changed"):
        correct_entry(book, "op1", entry, "Belt 2 squeals", "looked again")
    with pytest.raises(WriteRefused, match="needs some words"):
        correct_entry(book, "op1", entry, "Belt 3", " ")
    sign()
    with pytest.raises(NotAllowed, match="is signed"):
        correct_entry(book, "op1", entry, "Belt 3", "wrong belt")
    correct_entry(book, "head", entry, "Belt 3", "wrong belt")
    assert book.history_of_entry(entry.id)[-1].text == "Belt 3"


# ---------------------------------------------------------------- in the form of a round


def test_the_form_shows_what_a_corrected_reading_was_before(book, plant, written, at):
    """Old and new value stand together there too."""
    old = written["gap.m1"]
    correct_reading(book, "op1", old, typed(book, old, "0.35"), "misread")
    shown = load_form(book, plant, at(DAY_OF), is_round=True).fields
    assert (shown["gap.m1"].saved.value, shown["gap.m1"].saved.was) == (0.35, "0.53")
    assert shown["gap.m1"].saved.corrected
    assert not shown["gap.m2"].saved.corrected


def test_a_value_typed_after_one_was_taken_back_stands_in_its_place(book, plant, written, at):
    """The chain of versions is not broken, and the book takes the new one."""
    withdraw_reading(book, "op1", written["gap.m1"], "of another mill")
    form = load_form(book, plant, at(DAY_OF), is_round=True)
    assert form.is_open("gap.m1")
    form.type("gap.m1", "0.36")
    book.write("op2", rows_of(form), kind="round")
    versions = book.history_of(written["gap.m1"].id)
    assert [row.value for row in versions] == [0.53, None, 0.36]
    assert versions[-1].why == "entered again after it was taken back"
    assert not versions[-1].late
