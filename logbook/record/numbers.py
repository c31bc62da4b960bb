"""Numbers that the writing and the reading side of the book share."""

from __future__ import annotations

SEAT_SHIFT = 40
"""Row ids are `seat << 40 | counter`: a million million rows per seat and table."""

ROUND_WINDOW_S = 12 * 3600
"""A reading is taken within this of the round that it belongs to."""
