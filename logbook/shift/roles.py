"""Who may do what: one table of roles, and the words in which a refusal is told."""

# ruff: noqa: N818 -- named for the situation, as the errors of the book are

from __future__ import annotations

from enum import StrEnum

from logbook.plant.model import Person, Role
from logbook.record import BookError


class NotAllowed(BookError):
    """A person may not do this; the message says why and who may."""


class Deed(StrEnum):
    """What a role may be asked for; each value continues "An operator may not ..."."""

    READ = "read the book"
    WRITE = "write readings"
    RESPOND = "write what was done about a deviation"
    LOG = "write log entries"
    ITEM = "open, update or close open items"
    SAMPLE = "enter samples"
    STOP = "write that something is down or up again"
    MODE = "change the operating mode"
    SAFETY = "write or clear safety states"
    ACKNOWLEDGE = "acknowledge standing instructions"
    HAND_OVER = "hand a shift over or take it over"
    CORRECT_OWN = "correct what they wrote themselves"
    CORRECT_ANY = "correct what others wrote, or a signed shift"
    INSTRUCT = "write standing instructions"
    REVIEW = "review a shift"
    RESET_SECRETS = "give others a new PIN or password"
    DEFINE = "change the plant, its limits or its people"


_CREW = frozenset(
    {
        Deed.READ,
        Deed.WRITE,
        Deed.RESPOND,
        Deed.LOG,
        Deed.ITEM,
        Deed.SAMPLE,
        Deed.STOP,
        Deed.MODE,
        Deed.SAFETY,
        Deed.ACKNOWLEDGE,
        Deed.HAND_OVER,
        Deed.CORRECT_OWN,
    }
)
_LEAD = _CREW | {Deed.CORRECT_ANY, Deed.INSTRUCT, Deed.REVIEW, Deed.RESET_SECRETS}

ALLOWED: dict[Role, frozenset[Deed]] = {
    Role.READER: frozenset({Deed.READ}),
    Role.OPERATOR: _CREW,
    Role.SUPERVISOR: _LEAD,
    Role.ENGINEER: _LEAD | {Deed.DEFINE},
}
"""What each role may do. A role above holds all of the one below."""

_ARTICLE = {
    Role.READER: "A reader",
    Role.OPERATOR: "An operator",
    Role.SUPERVISOR: "A supervisor",
    Role.ENGINEER: "An engineer",
}
_RISING = (Role.READER, Role.OPERATOR, Role.SUPERVISOR, Role.ENGINEER)


def may(role: Role, what: Deed) -> str:
    """Empty where the role may do it; else a sentence that says why not and who may."""
    if what in ALLOWED[role]:
        return ""
    holder = next(r for r in _RISING if what in ALLOWED[r])
    return f"{_ARTICLE[role]} may not {what.value}; ask {_ARTICLE[holder].lower()} to do it."


def may_give_secret(by: Person, to: Person) -> str:
    """Empty where `by` may give `to` a PIN or password, the first one as well; else why not.

    A supervisor may help operators and readers, an engineer everybody. Nobody gives themselves
    one: that somebody is who they say, another person must vouch for. (Everybody may change
    their own; `Door.change` asks for the old one.)
    """
    if by.key == to.key:
        giver = "another engineer" if by.role is Role.ENGINEER else "a supervisor or an engineer"
        return f"Nobody gives themselves a PIN or password; ask {giver} to give you the first one."
    if by.role is Role.ENGINEER:
        return ""
    refused = may(by.role, Deed.RESET_SECRETS)
    if refused or to.role in {Role.OPERATOR, Role.READER}:
        return refused
    return (
        f"A supervisor may give a new PIN to operators and readers only, and {to.name} is "
        f"{_ARTICLE[to.role].lower()}; ask an engineer to do it."
    )


def require(role: Role, what: Deed) -> None:
    """Raise NotAllowed where the role may not do it."""
    refused = may(role, what)
    if refused:
        raise NotAllowed(refused)
