"""A link from one row of a save to another one of the same save."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ref:
    """Another row of the same save, by its place (from 0) in the rows handed to `write`."""

    index: int
