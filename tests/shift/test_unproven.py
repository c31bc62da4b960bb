"""Writing without signing on: never locked out of the log, marked loudly, confirmed later."""

from datetime import timedelta

import pytest

from logbook.record import NewEntry, WriteRefused
from logbook.shift.handover import compose
from logbook.shift.risks import RiskKind
from logbook.shift.roles import Deed, NotAllowed
from logbook.shift.unproven import (
    begin,
    confirm,
    is_unproven,
    may_unproven,
    to_confirm,
    unproven,
)


@pytest.fixture
def began(desk, book, clock, at):
    """Somebody writes at nine without a PIN."""
    clock.set(at("03-02 09:00"))
    return begin(book, " Nell  Overly ", "PIN forgotten")


def test_it_stands_in_the_log_at_once_with_name_and_reason(began, book, plant, clock, desk):
    """And every page bears the name with its mark."""
    assert began == "Nell Overly (not signed on)"
    assert is_unproven(began)
    assert not is_unproven("op1")
    [entry] = book.entries(desk.shift.start, clock.now + timedelta(seconds=1))
    assert entry.text == (
        "Nell Overly writes without signing on: PIN forgotten. To be confirmed by a supervisor."
    )
    book.write(began, [NewEntry(clock.now, "Belt trimmed", "process")])
    assert book.last_page().person == began
    assert [one.reason for one in to_confirm(book, plant, clock.now)] == ["PIN forgotten"]


@pytest.mark.parametrize(("name", "reason"), [("", "why"), ("Nell", " "), ("N" * 61, "why")])
def test_without_a_name_or_a_reason_nothing_begins(desk, book, name, reason):
    """Who and why are the least that is asked."""
    last = book.last_page().id
    with pytest.raises(WriteRefused):
        begin(book, name, reason)
    assert book.last_page().id == last


def test_only_what_happens_now_may_be_written_nothing_signed_or_corrected():
    """Each refusal says what to do."""
    refused = {deed for deed in Deed if may_unproven(deed)}
    assert refused == {
        Deed.ACKNOWLEDGE,
        Deed.HAND_OVER,
        Deed.CORRECT_OWN,
        Deed.CORRECT_ANY,
        Deed.INSTRUCT,
        Deed.REVIEW,
        Deed.RESET_SECRETS,
        Deed.DEFINE,
    }
    assert may_unproven(Deed.REVIEW) == (
        "Without signing on nobody may review a shift; sign on with F3."
    )


def test_a_supervisor_confirms_later_who_it_was(began, book, plant, clock, desk):
    """An operator may not; by whom and how one knows stays in the book."""
    [one] = to_confirm(book, plant, clock.now)
    with pytest.raises(NotAllowed, match="may not review"):
        confirm(book, "op1", one, "it was me")
    with pytest.raises(NotAllowed, match="sign on first"):
        confirm(book, began, one, "it was me")
    confirm(book, "head", one, "seen at the desk")
    assert to_confirm(book, plant, clock.now) == ()
    [after] = unproven(book, plant, desk.shift.start, desk.shift.end)
    assert (after.confirmed_by, after.remark) == ("head", "seen at the desk")


def test_until_then_it_makes_the_handover_one_of_higher_risk(began, book, plant, clock, desk):
    """With the typed name, the time and the reason."""
    risks = [
        r.text for r in compose(book, desk.shift, clock.now).risks if r.kind == "not signed on"
    ]
    assert risks == [
        "Written without signing on, not confirmed: Nell Overly from 09:00 (PIN forgotten)"
    ]
    confirm(book, "head", to_confirm(book, plant, clock.now)[0], "seen")
    kinds = {risk.kind for risk in compose(book, desk.shift, clock.now).risks}
    assert RiskKind.UNPROVEN not in kinds
