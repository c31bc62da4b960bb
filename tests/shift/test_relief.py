"""Relief during a shift: who hands what over, what is read first, and who is in charge."""

from datetime import timedelta

import pytest

from logbook.record import NewOpenItem, NewSafetyState, open_book
from logbook.shift.correcting import refusal
from logbook.shift.handover import compose
from logbook.shift.moments import MomentKind
from logbook.shift.relief import offer, take, to_read, withdraw
from logbook.shift.reliefs import open_reliefs, reliefs
from logbook.shift.risks import RiskKind
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.signing import SigningRefused
from logbook.shift.timeline import timeline_section


@pytest.fixture
def noon(crew, desk, book, plant, at):
    """A day shift at noon: a bypass at the tanks, an item at the mills, a mill in action."""
    crew.shift(at("03-02 06:00"), {"10:00": {"gap.m1": 0.47}}, skip=("12:00", "14:00", "16:00"))
    rows = [
        NewSafetyState(at("03-02 09:00"), "bypass", "Level trip", "tanks"),
        NewOpenItem(at("03-02 09:10"), "Order a bearing", "mills", "m1"),
    ]
    desk.clock.set(at("03-02 10:30"))
    book.write("op1", rows)
    desk.clock.set(at("03-02 12:00"))
    return desk


@pytest.fixture
def offered(noon, book, plant):
    """Operator One goes to eat; the mills are offered."""

    def made(area="mills"):
        offer(book, noon.door, "op1", noon.secrets["op1"], area, "meal break")
        return open_reliefs(book, plant, noon.clock.now)[-1]

    return made


def answers(book, plant, relief, now):
    """Everything read and accepted."""
    return {s.key: ("accepted", "") for s in to_read(book, plant, relief.area, now)}


def test_whoever_comes_reads_what_concerns_the_area_or_the_whole_plant(noon, book, plant, clock):
    """Safety states, action deviations and open items, of the area only."""
    assert [s.title for s in to_read(book, plant, "mills", clock.now)] == [
        "Mills: Flake thickness, Mill 1",
        "Open item: Order a bearing",
    ]
    assert [s.title for s in to_read(book, plant, "tanks", clock.now)] == ["Bypass: Level trip"]
    assert len(to_read(book, plant, None, clock.now)) == 3


def test_the_first_stays_in_charge_until_the_other_has_read_and_signed(
    offered, noon, book, plant, clock
):
    """Unread it is not taken over; then it stands with both names and both times."""
    relief = offered()
    assert (relief.outgoing, relief.is_open) == ("op1", True)
    with pytest.raises(SigningRefused, match="Read first"):
        take(book, noon.door, relief, "op2", noon.secrets["op2"], {})
    clock.advance(minutes=4)
    told = answers(book, plant, relief, clock.now)
    told["item:" + next(k for k in told if k.startswith("item")).split(":")[1]] = (
        "asked",
        "from whom?",
    )
    take(book, noon.door, relief, "op2", noon.secrets["op2"], told)
    [found] = reliefs(book, plant, noon.shift.start, noon.shift.end)
    assert (found.outgoing, found.incoming, found.is_open) == ("op1", "op2", False)
    assert found.ended_at - found.at == timedelta(minutes=4)
    checks = book.handover_checks(noon.shift.date, noon.shift.pattern)
    assert ("asked", "from whom?") in {(check.answer, check.text) for check in checks}
    assert noon.state().checks == (), "they are no answers to the handover of the shift"


def test_both_sign_with_their_own_secret_and_are_two_people(offered, noon, book, plant, clock):
    """A wrong PIN, the same person, a reader: nothing is written."""
    with pytest.raises(SigningRefused, match="not right"):
        offer(book, noon.door, "op1", "000000", "mills", "meal break")
    relief, pages = offered(), book.last_page().id
    told = answers(book, plant, relief, clock.now)
    with pytest.raises(SigningRefused, match="somebody else must take over"):
        take(book, noon.door, relief, "op1", noon.secrets["op1"], told)
    with pytest.raises(SigningRefused, match="A reader may not"):
        take(book, noon.door, relief, "guest", "", told)
    with pytest.raises(SigningRefused, match="Say why"):
        offer(book, noon.door, "op1", noon.secrets["op1"], "tanks", "  ")
    with pytest.raises(SigningRefused, match="offered already"):
        offer(book, noon.door, "op1", noon.secrets["op1"], "mills", "again")
    assert book.last_page().id == pages


def test_of_two_windows_one_takes_over_and_the_other_is_told(offered, noon, book, plant, clock):
    """Nobody is in charge twice."""
    relief = offered()
    told = answers(book, plant, relief, clock.now)
    take(book, noon.door, relief, "op2", noon.secrets["op2"], told)
    with open_book(book.path, clock=clock, seat_name="other") as other:
        with pytest.raises(SigningRefused, match="Operator Two has taken over already"):
            take(other, noon.door, relief, "head", noon.secrets["head"], told)
        with pytest.raises(SigningRefused, match="taken over already"):
            withdraw(other, "op1", relief)


def test_a_relief_stands_on_the_timeline_and_in_the_handover(offered, noon, book, plant, clock):
    """Both steps, by whom and when; nobody words them anew."""
    relief = offered()
    take(
        book, noon.door, relief, "op2", noon.secrets["op2"], answers(book, plant, relief, clock.now)
    )
    desk = ShiftDesk(book)
    lines = [line for line in timeline_section(desk).lines if "Mills" in line.detail]
    texts = [line.title for line in lines if line.source.kind is MomentKind.ENTRY]
    assert texts == [
        "Operator One hands over Mills: meal break",
        "Operator Two has taken over Mills from Operator One",
    ]
    entries = compose(book, noon.shift, clock.now).entries
    assert [entry.kind for entry in entries] == ["relief", "relief taken"]
    assert "two people signed it" in refusal(book, "head", entries[0])


def test_an_offer_that_nobody_took_is_a_risk_of_the_handover_and_can_be_withdrawn(
    offered, noon, book, plant, clock
):
    """By whoever offered it, and nobody else."""
    relief = offered(None)
    assert relief.text == "Operator One hands over the shift: meal break"
    found = {risk.kind: risk.text for risk in compose(book, noon.shift, clock.now).risks}
    assert found[RiskKind.RELIEF].startswith("A relief was offered and nobody took over")
    with pytest.raises(SigningRefused, match="Only Operator One"):
        withdraw(book, "op2", relief)
    clock.advance(minutes=1)
    withdraw(book, "op1", relief)
    assert open_reliefs(book, plant, clock.now) == ()
    kinds = {risk.kind for risk in compose(book, noon.shift, clock.now).risks}
    assert RiskKind.RELIEF not in kinds
