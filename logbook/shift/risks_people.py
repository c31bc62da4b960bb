"""What about the people makes a handover one of higher risk.

The kinds are those of published guidance: between experienced and inexperienced staff, after a
lengthy absence, without an overlap; and our own: what nobody stands for with a PIN.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from logbook.plant.localtime import local_label
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import AccessEvent, Reader
from logbook.shift.away import SOUGHT, Away
from logbook.shift.reliefs import open_reliefs
from logbook.shift.risks import LONG_AWAY, Risk, RiskKind
from logbook.shift.signed_state import ACCEPT_WITHIN, SignedState
from logbook.shift.unproven import MARK, unproven
from logbook.shift.words import person_name

MINUTE = timedelta(minutes=1)


def people_risks(
    book: Reader, plant: Plant, shift: Shift, following: Shift, away: Away, end: datetime
) -> tuple[Risk, ...]:
    """Marks of higher risk of the handover of `shift` to `following`. Raises BookError."""
    return (
        *_trainees(plant, following),
        *_absent(book, plant, following, away, end),
        *_unproven(book, plant, shift, end),
        *_reliefs(book, plant, end),
    )


def _trainees(plant: Plant, following: Shift) -> Iterator[Risk]:
    if following.crew is None:
        return
    crew = [person for person in plant.people if person.crew == following.crew]
    names = [person.name for person in crew if person.trainee]
    if names:
        yield Risk(RiskKind.TRAINEE, f"New to the post in the next crew: {', '.join(names)}")


def _absent(
    book: Reader, plant: Plant, following: Shift, away: Away, end: datetime
) -> Iterator[Risk]:
    """People of the next crew whom nobody has seen for long, where the crew itself was here."""
    crew_is_long_away = away.length is not None and away.length >= LONG_AWAY
    if following.crew is None or crew_is_long_away:
        return
    seen: dict[str, datetime] = {}
    for event in book.access_events(None, following.start - SOUGHT, end):
        if event.kind == "signed_on":
            seen[event.person] = event.at
    for person in plant.people:
        last = seen.get(person.key)
        if person.crew != following.crew or last is None:
            continue
        length = following.start - last
        if length >= LONG_AWAY:
            text = f"{person.name} of the next crew was last here {length.days} days ago"
            yield Risk(RiskKind.ABSENCE, text)


def _unproven(book: Reader, plant: Plant, shift: Shift, end: datetime) -> Iterator[Risk]:
    for one in unproven(book, plant, shift.start, end):
        if one.is_open:
            name, at = one.person.removesuffix(MARK), local_label(one.at, plant.time_zone)
            text = f"Written without signing on, not confirmed: {name} from {at} ({one.reason})"
            yield Risk(RiskKind.UNPROVEN, text)


def _reliefs(book: Reader, plant: Plant, end: datetime) -> Iterator[Risk]:
    for one in open_reliefs(book, plant, end - timedelta(seconds=1)):
        yield Risk(RiskKind.RELIEF, f"A relief was offered and nobody took over: {one.text}")


def meeting_risks(book: Reader, plant: Plant, state: SignedState) -> tuple[Risk, ...]:
    """How the two who sign met: without an overlap, late, or not yet. Raises BookError.

    They are known only after the outgoing signature, and so stand beside what was signed.
    """
    overlap = overlap_risk(book, plant, state)
    late = state.lateness
    if late is None and state.outgoing is not None and state.is_overdue:
        late = state.seen_at - state.shift.end
    found = [overlap] if overlap is not None else []
    if late is not None and late > ACCEPT_WITHIN:
        minutes = f"{late / MINUTE:.0f} min after the end of the shift"
        text = f"Taken over late, {minutes}" if state.incoming else f"Nobody here {minutes}"
        found.append(Risk(RiskKind.LATE, text))
    return tuple(found)


def overlap_risk(book: Reader, plant: Plant, state: SignedState) -> Risk | None:
    """A mark where the two who signed did not meet: one had signed off before the other came.

    None while the incoming has not come, and where they met. Raises BookError.
    """
    outgoing, incoming = state.outgoing, state.incoming
    if outgoing is None:
        return None
    if incoming is None:
        came = min((check.written_at for check in state.checks), default=None)
    else:
        mine = [c.written_at for c in state.checks if c.person == incoming.person]
        came = min([*mine, incoming.at])
    if came is None:
        return None
    left = _left(book.access_events(outgoing.person, outgoing.at, came), outgoing.at)
    if left is None:
        return None
    zone = plant.time_zone
    text = (
        f"No overlap: {person_name(plant, outgoing.person)} had left at {local_label(left, zone)}, "
        f"whoever takes over came at {local_label(came, zone)}"
    )
    return Risk(RiskKind.OVERLAP, text)


def _left(events: list[AccessEvent], since: datetime) -> datetime | None:
    """When the person went and did not come back, of what the door noted."""
    coming = [e for e in events if e.kind in {"signed_on", "signed_off"} and e.at >= since]
    return coming[-1].at if coming and coming[-1].kind == "signed_off" else None
