"""Handovers that need more care than others, and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class RiskKind(StrEnum):
    """What makes a handover one of higher risk."""

    BYPASS = "bypass"
    MAINTENANCE = "maintenance"
    MODE = "mode"
    DEVIATION = "deviation"
    ABSENCE = "absence"
    NO_OVERLAP = "no overlap"
    NO_CREW = "no crew"


@dataclass(frozen=True, slots=True)
class Risk:
    """One mark of higher risk and the sentence that says what it is."""

    kind: RiskKind
    text: str
