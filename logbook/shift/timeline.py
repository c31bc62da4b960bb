"""The timeline of a shift, and what a search has found, as lines to be read."""

from __future__ import annotations

from datetime import date, datetime, time

from logbook.plant.localtime import to_local, to_utc
from logbook.record import Found, Instruction, OpenItem, SafetyState
from logbook.shift.finding import MOST, find
from logbook.shift.journal import timeline
from logbook.shift.moments import Moment, MomentKind
from logbook.shift.open_lines import Line, Section, safety_word
from logbook.shift.shift_desk import DAY, MOMENT, ShiftDesk


def timeline_section(desk: ShiftDesk) -> Section:
    """Everything that happened in the desk's shift, in order of time. Raises BookError."""
    moments = timeline(desk.book, desk.plants, desk.shift.start, desk.moment + MOMENT)
    lines = tuple(_moment(desk, one) for one in moments)
    return Section("Timeline", lines, "Nothing is written in this shift yet. Ctrl+E writes.")


def moment_words(one: Moment) -> str:
    """What kind of moment it is, as a crew says it."""
    if one.kind is MomentKind.ENTRY:
        return one.note.capitalize()
    if one.kind is MomentKind.SAFETY:
        kind, _, happened = one.note.partition(" ")
        return f"{safety_word(kind)} {happened}".strip().capitalize()
    if one.kind in {MomentKind.ITEM, MomentKind.INSTRUCTION}:
        return f"{str(one.kind).capitalize()} {one.note}"
    return str(one.kind).capitalize()


def _moment(desk: ShiftDesk, one: Moment) -> Line:
    parts = (
        moment_words(one),
        desk.place(one.area, one.equipment),
        desk.person(one.person),
        f"was: {one.was}" if one.was else "",
        f"why: {one.why}" if one.why else "",
    )
    mark = "late" if one.is_late else "corrected" if one.is_corrected else ""
    return Line(desk.when(one.at), one.text, " · ".join(filter(None, parts)), mark, one)


def found_section(
    desk: ShiftDesk, text: str, area: str, person: str, since: str, until: str
) -> Section:
    """What a search finds in the whole book; empty strings for anything.

    `since` and `until` are local days, the second included. Raises BookError, and ValueError with
    a sentence for a day that is none.
    """
    start, end = day_start(desk, since), day_start(desk, until, after=True)
    hits = find(
        desk.book,
        desk.plant,
        text,
        area=area or None,
        person=person or None,
        start=start,
        end=end,
    )
    zone = desk.plant.time_zone
    lines = tuple(
        Line(
            f"{to_local(hit.found.at, zone):%y-%m-%d} {desk.clock(hit.found.at)}",
            hit.found.text,
            " · ".join(filter(None, (hit.found.kind.capitalize(), hit.where, hit.who))),
            "",
            hit.found,
        )
        for hit in hits
    )
    more = f", the newest {MOST} shown" if len(lines) >= MOST else ""
    return Section(f"Found {len(lines)}{more}", lines, "Nothing in the book holds all of that.")


def day_start(desk: ShiftDesk, text: str, *, after: bool = False) -> datetime | None:
    """When a local day (or the day after it) begins; None for an empty text. Raises ValueError."""
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        msg = f'"{text}" is no day; type it as 2026-03-01.'
        raise ValueError(msg) from None
    return to_utc(day + DAY if after else day, time(0), desk.plant.time_zone)


def resolved(desk: ShiftDesk, source: object) -> object:
    """What a line stands for, as it is now: the entry, item, safety state or instruction."""
    book = desk.book
    if isinstance(source, OpenItem):
        return book.item(source.id)
    if isinstance(source, SafetyState):
        return book.safety_state(source.id)
    if isinstance(source, Instruction):
        return book.instruction(source.id)
    if isinstance(source, Moment) and source.kind is MomentKind.ENTRY:
        return book.history_of_entry(source.row)[-1]
    if isinstance(source, Moment) and source.note == "opened":
        return book.item(source.row)
    if isinstance(source, Moment) and source.kind is MomentKind.INSTRUCTION:
        return book.instruction(source.row)
    if isinstance(source, Found):
        if source.kind == "entry":
            return book.history_of_entry(source.id)[-1]
        loads = {
            "open item": book.item,
            "instruction": book.instruction,
            "safety state": book.safety_state,
        }
        load = loads.get(source.kind)
        return load(source.id) if load else source
    return source
