"""The people of a plant as a list: role, crew, and how it stands with their PIN or password."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.plant.model import Person, Plant, Role
from logbook.shift.access import Door
from logbook.shift.secret_rules import kind_for
from logbook.shift.throttle import LOCK_SECONDS, wait_words

LONG_WAIT_S = 60.0
"""From so long a wait on a person is told as locked."""


@dataclass(frozen=True, slots=True)
class PersonLine:
    """One person, in words."""

    person: Person
    role: str
    crew: str
    """Name of the crew; empty for day staff."""
    secret: str
    """How it stands with the PIN or password; never anything of it."""
    needs_help: bool
    """True where nobody can sign on as them now."""


def people_lines(door: Door, plant: Plant) -> tuple[PersonLine, ...]:
    """Everybody the plant has now, crew by crew, day staff last. Raises BookError."""
    names = {crew.key: crew.name for crew in plant.calendar.crews}
    order = {key: place for place, key in enumerate(names)}
    people = sorted(plant.people, key=lambda p: (order.get(p.crew or "", len(order)), p.name))
    return tuple(_line(door, person, names) for person in people)


def _line(door: Door, person: Person, crews: dict[str, str]) -> PersonLine:
    told, needs_help = _secret_words(door, person)
    role = f"{person.role.value}, trainee" if person.trainee else person.role.value
    return PersonLine(person, role, crews.get(person.crew or "", ""), told, needs_help)


def _secret_words(door: Door, person: Person) -> tuple[str, bool]:
    kind = "PIN" if kind_for(person.role) == "pin" else "password"
    wait = door.wait_of(person.key)
    if not door.has_secret(person.key):
        return f"no {kind} yet", True
    if wait > LONG_WAIT_S:
        return f"locked for {wait_words(min(wait, LOCK_SECONDS))}", True
    if door.must_change(person.key):
        return f"{kind} given, to be changed at the first sign-on", False
    if person.role is Role.ENGINEER and not door.has_recovery_code(person.key):
        return f"own {kind}, no recovery code", False
    return f"own {kind}", False
