"""The Round screen's dialogs, loaded when the first of them is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logbook.ui.round.dialogs import Target, ask_mode, ask_reason, ask_stop, ask_time

__all__ = ["Target", "ask_mode", "ask_reason", "ask_stop", "ask_time"]


def __getattr__(name: str) -> object:
    """Take `name` from `logbook.ui.round.dialogs`."""
    if name not in __all__:
        raise AttributeError(f"module 'logbook.ui.round.ask' has no attribute {name!r}")
    from logbook.ui.round import dialogs

    return getattr(dialogs, name)
