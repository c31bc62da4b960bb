"""Asking back at a log entry that tells of a change and not of what, how much, from what to what.

An entry such as "brought some in" tells the next shift nothing (US CSB report 2005-04-I-TX, Refinery
Explosion and Fire, March 2007, of a night's log). It is asked once; whoever means it writes it all
the same. The words are our own choice, and English only: what is written in another language is not
asked about.
"""

from __future__ import annotations

import re

from logbook.plant.model import Plant

CHANGES = (
    "add", "adjust", "bring", "brought", "bypass", "change", "charge", "close", "cut", "decrease",
    "drain", "drop", "empt", "fill", "increase", "isolate", "lower", "open", "pump", "put", "raise",
    "reduce", "reset", "restart", "set", "shut", "start", "stop", "switch", "take", "took",
    "throttle", "transfer", "turn",
)  # fmt: skip
"""Beginnings of words that tell of a change."""
ENDINGS = "s|es|d|ed|ing|ped|ping|ted|ting|y|ied|ies|ying|n"
NO_MORE_NEEDED = frozenset({"delivery"})
"""Kinds of entries that are not asked about."""

_CHANGE = re.compile(rf"\b(?:{'|'.join(CHANGES)})(?:{ENDINGS})?\b", re.IGNORECASE)
_TAG = re.compile(r"\b[A-Z]{1,4}-?\d{1,4}[A-Z]?\b")
_AMOUNT = re.compile(r"\d|\b(?:fully|completely|half|empty|full|from\b.*\bto)\b", re.IGNORECASE)


def asks_back(text: str, kind: str, equipment: str | None, plant: Plant) -> str:
    """What the entry leaves open, as a question; empty where it leaves nothing open.

    A change needs the machine or tag, and an amount or from what to what.
    """
    if kind in NO_MORE_NEEDED or not _CHANGE.search(text):
        return ""
    missing = []
    if not equipment and not _names_something(text, plant):
        missing.append("which machine or valve")
    if not _AMOUNT.search(_TAG.sub("", text)):
        missing.append("how much, or from what to what")
    if not missing:
        return ""
    return f"Say {' and '.join(missing)}; or write it once more as it is."


def _names_something(text: str, plant: Plant) -> bool:
    """True where a machine of the plant is named, or a tag such as P-101 stands there."""
    lowered = text.casefold()
    if any(machine.name.casefold() in lowered for machine in plant.equipment):
        return True
    return bool(_TAG.search(text))
