"""What can go wrong with a report, in one sentence for the person who asked for it."""

from __future__ import annotations


class ReportError(Exception):
    """A report could not be made or written; `message` says what is wrong and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message
