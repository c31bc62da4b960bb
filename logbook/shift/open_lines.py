"""What is open in a shift, as lines to be read: safety states first, then what is to be done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.record import Instruction, OpenItem, SafetyState
from logbook.shift.reliefs import Relief, open_reliefs
from logbook.shift.responses_due import CheckDue, CheckState, responses_due
from logbook.shift.samples import WaitingSample, samples_waiting
from logbook.shift.shift_desk import SAFETY_KINDS, ShiftDesk
from logbook.shift.unproven import Unproven, to_confirm
from logbook.shift.words import answer_text, place_name

Source = SafetyState | Instruction | OpenItem | WaitingSample | CheckDue | Relief | Unproven


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a list: when, what, and who and where below it.

    `mark` is "" or the word for what makes it stand out, which is shown as it is: "overdue".
    """

    when: str
    title: str
    detail: str
    mark: str = ""
    source: object = None


@dataclass(frozen=True, slots=True)
class Section:
    """Lines under a heading; `none` is said where there are none."""

    heading: str
    lines: tuple[Line, ...]
    none: str


def open_sections(desk: ShiftDesk, person: str) -> tuple[Section, ...]:
    """What is open at the desk's moment; instructions `person` has not read are marked.

    Raises BookError.
    """
    book, at = desk.book, desk.moment
    return (
        *_people_sections(desk, at),
        Section(
            "Safety states",
            tuple(_safety(desk, state, at) for state in book.safety_states(at)),
            "None open",
        ),
        Section(
            "Standing instructions",
            tuple(_instruction(desk, one, person) for one in book.instructions(at)),
            "None in force",
        ),
        Section(
            "Open items",
            tuple(_item(desk, item, at) for item in book.open_items(at)),
            "None open",
        ),
        Section(
            "Checks after a response",
            tuple(_check(desk, check) for check in responses_due(book, desk.plant, at)),
            "None due",
        ),
        Section(
            "Samples waiting",
            tuple(_sample(desk, one) for one in samples_waiting(book, desk.plant, at)),
            "None waiting",
        ),
    )


def _people_sections(desk: ShiftDesk, at: datetime) -> tuple[Section, ...]:
    """Reliefs that nobody has taken, and what was written without signing on; only where any."""
    reliefs = tuple(
        Line(
            desk.when(one.at),
            one.text,
            f"{desk.person(one.outgoing)} stays in charge until somebody takes over",
            "not taken over",
            one,
        )
        for one in open_reliefs(desk.book, desk.plant, at)
    )
    unproven = tuple(
        Line(desk.when(one.at.replace(second=0)), one.person, one.reason, "to confirm", one)
        for one in to_confirm(desk.book, desk.plant, at)
    )
    found = (
        Section("Relief", reliefs, "None"),
        Section("Written without signing on", unproven, "None"),
    )
    return tuple(section for section in found if section.lines)


def safety_word(kind: str) -> str:
    """The kind of a safety state as people say it."""
    return dict(SAFETY_KINDS).get(kind, kind)


def _safety(desk: ShiftDesk, state: SafetyState, at: datetime) -> Line:
    until = f"until {desk.when(state.until_at)}" if state.until_at else "until cleared"
    who = f"authorised by {state.authorised_by}" if state.authorised_by else ""
    return Line(
        desk.when(state.at),
        f"{safety_word(state.kind).capitalize()}: {state.what}",
        _joined(desk.place(state.area, state.equipment), until, who, desk.person(state.person)),
        "over time" if state.until_at and state.until_at < at else "",
        state,
    )


def _instruction(desk: ShiftDesk, one: Instruction, person: str) -> Line:
    until = f"to {desk.when(one.valid_to)}" if one.valid_to else "until ended"
    has_read = person in one.acknowledged_by
    return Line(
        desk.when(one.valid_from),
        one.text,
        _joined(
            desk.place(one.area, None),
            until,
            desk.person(one.person),
            f"read by {len(one.acknowledged_by)}",
        ),
        "" if has_read or not person else "to read",
        one,
    )


def _item(desk: ShiftDesk, item: OpenItem, at: datetime) -> Line:
    due = f"due {desk.when(item.due_at)}" if item.due_at else ""
    owner = f"for {desk.place(item.owner, None)}" if item.owner else ""
    news = f"{len(item.events)} updates" if len(item.events) > 1 else ""
    news = "1 update" if len(item.events) == 1 else news
    return Line(
        desk.when(item.at),
        item.text,
        _joined(desk.place(item.area, item.equipment), owner, due, news, desk.person(item.person)),
        "overdue" if item.due_at and item.due_at < at else "",
        item,
    )


def _sample(desk: ShiftDesk, one: WaitingSample) -> Line:
    sample = one.sample
    looked_for = ", ".join(point.name for point in one.points[:3])
    more = f" and {len(one.points) - 3} more" if len(one.points) > 3 else ""
    return Line(
        desk.when(sample.taken_at),
        f"{sample.sampling_point}: {sample.label}",
        _joined(f"{looked_for}{more}", f"expected by {desk.when(one.due_at)}", sample.note),
        "overdue" if one.is_overdue else "",
        one,
    )


def _check(desk: ShiftDesk, check: CheckDue) -> Line:
    comma = desk.plant.settings.decimal_comma
    reading = check.reading
    value = answer_text(check.point, reading.value, reading.text, decimal_comma=comma)
    return Line(
        desk.when(check.due_at),
        f"{place_name(desk.plant, check.point)}: read it again",
        _joined(
            f"was {value} {check.point.unit} at {desk.when(reading.taken_at)}",
            "done: " + "; ".join(r.text for r in check.responses),
        ),
        "not read" if check.state is CheckState.MISSING else "due now",
        check,
    )


def _joined(*parts: str) -> str:
    return " · ".join(part.strip() for part in parts if part.strip())
