"""What this PC remembers between starts: palette, recent books, who wrote last. No plant data."""

from __future__ import annotations

import json
import logging
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from PySide6.QtCore import QStandardPaths

log = logging.getLogger(__name__)
THEMES = ("system", "light", "dark")
KEPT_RECENT = 6


@dataclass(frozen=True, slots=True)
class Prefs:
    """Choices of this PC; unknown or damaged files give the defaults."""

    theme: str = "system"
    recent: tuple[str, ...] = ()

    def with_book(self, path: Path) -> Prefs:
        """The same with `path` as the newest recent book."""
        name = str(path.resolve())
        others = tuple(book for book in self.recent if book != name)
        return replace(self, recent=(name, *others)[:KEPT_RECENT])


def prefs_path() -> Path:
    """Where the choices are kept."""
    # Qt is loaded already; another library for this would only make the start longer.
    folder = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.GenericConfigLocation)
    return Path(folder) / "crush-plant-shift-logbook" / "prefs.json"


def load_prefs(path: Path | None = None) -> Prefs:
    """Read the choices; a file that cannot be read is no reason not to start."""
    path = path or prefs_path()
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        theme = found.get("theme")
        recent = [name for name in found.get("recent", []) if isinstance(name, str)]
    except FileNotFoundError:
        return Prefs()
    except (OSError, ValueError, AttributeError, TypeError) as error:
        log.info("choices of this PC not read from %s: %s", path, error)
        return Prefs()
    return Prefs(theme if theme in THEMES else "system", tuple(recent[:KEPT_RECENT]))


def save_prefs(prefs: Prefs, path: Path | None = None) -> None:
    """Keep the choices; a folder that cannot be written is only noted."""
    path = path or prefs_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(asdict(prefs), indent=1), encoding="utf-8")
    except OSError as error:
        log.info("choices of this PC not kept in %s: %s", path, error)
