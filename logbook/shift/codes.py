"""Secrets that the program makes itself: recovery codes, and first PINs and passwords.

They are drawn from the operating system's source of randomness and shown once; the book keeps
hashes only.
"""

from __future__ import annotations

import secrets

from logbook.plant.model import Person
from logbook.shift.secret_rules import PIN_DIGITS, fault_of, kind_for

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and capitals that are not mistaken for one another: without I, L, O and U."""
GROUPS, GROUP = 5, 4
"""A recovery code has 20 letters of 32, which is 100 bits: nobody tries them all."""
_MISREAD = str.maketrans({"O": "0", "I": "1", "L": "1"})


def new_code() -> str:
    """A recovery code in groups, such as "7K3D-09QX-...".

    >>> code = new_code()
    >>> len(code), code.count("-")
    (24, 4)
    """
    return _groups(GROUPS)


def tidy_code(typed: str) -> str:
    """A code as it is hashed: capitals and digits only, letters easily misread put right.

    >>> tidy_code(" 7k3d-o9qx ")
    '7K3D09QX'
    """
    return "".join(c for c in typed.upper().translate(_MISREAD) if c in LETTERS)


def recovery_name(person: str) -> str:
    """The name under which the book keeps a person's recovery code.

    >>> recovery_name("head")
    'recovery:head'
    """
    return f"recovery:{person}"


def first_secret(person: Person) -> str:
    """A first PIN or password for somebody, to be changed at the first sign-on."""
    if kind_for(person.role) == "password":
        return _groups(4)
    while True:  # one in a hundred or so is too easy to guess
        pin = f"{secrets.randbelow(10**PIN_DIGITS):0{PIN_DIGITS}d}"
        if not fault_of(person, pin):
            return pin


def _groups(count: int) -> str:
    letters = [secrets.choice(LETTERS) for _ in range(count * GROUP)]
    return "-".join("".join(letters[k : k + GROUP]) for k in range(0, len(letters), GROUP))
