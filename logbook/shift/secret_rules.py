"""Which PINs and passwords are taken, and how they are kept: as Argon2id hashes only.

Supervisors and engineers have a password, everybody else a PIN. A PIN is for signing inside a
control room; whoever holds a copy of the book can try all PINs of six digits in a day or so,
whatever the hash, which the manual says. Sources: NIST SP 800-63B (at least 15 characters where
a password is the only factor, at least 64 taken, no rules of composition, a list of common ones
refused, NFKC before hashing); RFC 9106, section 4, second recommended option, and above the
minimum of the OWASP Password Storage cheat sheet.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from logbook.plant.model import Person, Role

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SecretKind = Literal["pin", "password"]

PIN_DIGITS = 6
PASSWORD_LETTERS = 15
LONGEST = 256
"""Longer texts are refused, so that hashing one cannot hold up the program."""

MEMORY_KIB, PASSES, LANES = 65536, 3, 4

COMMON_PINS = frozenset(
    {
        "102030", "112211", "112233", "121314", "123123", "123321", "123654", "131313", "142536",
        "147258", "147852", "159357", "159753", "258456", "292513", "321654", "369258", "456123",
        "456852", "520131", "654123", "741852", "753951", "789456", "852456", "951753", "963852",
    }
)  # fmt: skip
"""Often chosen ones that no rule below finds; from memory. Most are walks on the number pad."""

COMMON_WORDS = ("password", "qwerty", "asdfgh", "letmein", "welcome", "iloveyou", "logbook")
"""A password may hold one of these, but not consist of it and a few characters more."""
OWN_LETTERS = 8
"""So many different characters must be left without common words and one's own name."""


def kind_for(role: Role) -> SecretKind:
    """A password for those who can change or sign for others, a PIN for everybody else."""
    return "password" if role in {Role.SUPERVISOR, Role.ENGINEER} else "pin"


def tidy(secret: str) -> str:
    """The text that is hashed: NFKC, so that the same keys on another system give the same."""
    return unicodedata.normalize("NFKC", secret)


def fault_of(person: Person, secret: str) -> str:
    """What is wrong with a new PIN or password of a person, in a sentence; empty: nothing."""
    text = tidy(secret)
    if len(text) > LONGEST:
        return f"That is longer than {LONGEST} characters; choose a shorter one."
    return _fault_of_pin(text) if kind_for(person.role) == "pin" else _of_password(person, text)


def _fault_of_pin(pin: str) -> str:
    if not (pin.isascii() and pin.isdigit()):
        return "A PIN has digits only; choose at least six digits."
    if len(pin) < PIN_DIGITS:
        return f"A PIN has at least {PIN_DIGITS} digits; choose a longer one."
    if pin in COMMON_PINS or _is_pattern(pin):
        return "That PIN is among the first that anybody would try; choose another one."
    return ""


def _is_pattern(pin: str) -> bool:
    """Digits that all step alike (123456, 975310...), or a short piece said over and over."""
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    repeats = any(
        len(pin) % n == 0 and pin == pin[:n] * (len(pin) // n) for n in range(1, len(pin) // 2 + 1)
    )
    return len(steps) == 1 or repeats or len(set(pin)) <= 2 or _is_birthday(pin)


def _is_birthday(pin: str) -> bool:
    """A day of the last century or this one, written with its whole year: 31121975, 19751231."""
    if len(pin) != 8:
        return False
    dated = (
        (pin[:4], pin[4:6], pin[6:]),
        (pin[4:], pin[2:4], pin[:2]),
        (pin[4:], pin[:2], pin[2:4]),
    )
    return any(
        year[:2] in {"19", "20"} and 1 <= int(month) <= 12 and 1 <= int(day) <= 31
        for year, month, day in dated
    )


def _of_password(person: Person, text: str) -> str:
    if len(text) < PASSWORD_LETTERS:
        return (
            f"A password of a {person.role.value} has at least {PASSWORD_LETTERS} characters; "
            "four or five words in a row are easy to keep in mind."
        )
    if len(_own_part(person, text)) < OWN_LETTERS:
        return (
            "That password is little more than a common word, the name or the same few characters; "
            "choose another one."
        )
    return ""


def _own_part(person: Person, text: str) -> str:
    """The different characters left of a password without common words, name, running numbers."""
    left = text.casefold()
    names = [person.key.casefold(), *person.name.casefold().split()]
    for word in sorted({*COMMON_WORDS, *names, "1234567890", "123456"}, key=len, reverse=True):
        if len(word) >= 3:
            left = left.replace(word, "")
    return "".join(dict.fromkeys(left))


# ---------------------------------------------------------------- hashing


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher, Type  # loads a compiled library

    return PasswordHasher(time_cost=PASSES, memory_cost=MEMORY_KIB, parallelism=LANES, type=Type.ID)


@cache
def _nobodys_hash() -> str:
    """A hash to check against where there is none, so that an unknown name takes as long."""
    return _hasher().hash("nobody has this one")


def hashed(secret: str) -> str:
    """The Argon2id hash of a secret with a salt of its own, as the book keeps it."""
    return _hasher().hash(tidy(secret))


def matches(stored: str | None, secret: str) -> bool:
    """Whether a secret belongs to a stored hash; as slow, and False, where there is none."""
    from argon2.exceptions import InvalidHashError, VerificationError

    text, nobodys = tidy(secret), _nobodys_hash()
    try:
        _hasher().verify(nobodys if stored is None else stored, text[: LONGEST + 1])
    except (VerificationError, InvalidHashError):
        return False
    return stored is not None


def is_outdated(stored: str) -> bool:
    """True where a hash was made with other parameters than today's; renewed at the next sign-on."""
    return _hasher().check_needs_rehash(stored)
