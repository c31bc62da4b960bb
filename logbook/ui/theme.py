"""The look: two palettes, one type scale, one spacing scale.

Quiet neutral surfaces; colour only for what is not normal. Every text pair reaches 4.5:1 and
every mark 3:1 (WCAG 2.2, success criteria 1.4.3 and 1.4.11); `tests/ui/test_theme.py` holds it.
Hairlines, the fill of limit bands and the track of a progress bar are fainter: what they show is
also told by a mark, a line or a number beside them.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache

from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication

from logbook.resources import resource_folder

UNIT = 4
"""Spacing step in pixels; all gaps are multiples of it."""


@dataclass(frozen=True, slots=True)
class Colours:
    """One palette; values are #RRGGBB."""

    window: str
    surface: str
    raised: str
    hairline: str
    text: str
    muted: str
    field: str
    field_edge: str
    focus: str
    on_focus: str
    selected: str
    band: str
    band_edge: str
    trace: str
    warning_fill: str
    warning_edge: str
    warning_text: str
    warning_wash: str
    action_fill: str
    on_action: str
    action_text: str
    action_wash: str
    done: str


LIGHT = Colours(
    window="#E7EAE8",
    surface="#F5F7F5",
    raised="#FFFFFF",
    hairline="#D3D9D5",
    text="#1B2321",
    muted="#55605B",
    field="#FFFFFF",
    field_edge="#747F7A",
    focus="#17607D",
    on_focus="#FFFFFF",
    selected="#D5E4E9",
    band="#DCE7E0",
    band_edge="#6A8275",
    trace="#43524C",
    warning_fill="#F7BE3B",
    warning_edge="#6E4A00",
    warning_text="#6E4A00",
    warning_wash="#FFF4D6",
    action_fill="#B4231A",
    on_action="#FFFFFF",
    action_text="#A11E16",
    action_wash="#FCE6E3",
    done="#3C6B52",
)

DARK = Colours(
    window="#141817",
    surface="#1C2120",
    raised="#262C2A",
    hairline="#37403D",
    text="#E3E8E5",
    muted="#A2ADA8",
    field="#101413",
    field_edge="#7A8781",
    focus="#6DBBD6",
    on_focus="#0E1B20",
    selected="#233A42",
    band="#2B3B34",
    band_edge="#70907D",
    trace="#B4C2BB",
    warning_fill="#EDB430",
    warning_edge="#F5D38A",
    warning_text="#F2C250",
    warning_wash="#352C14",
    action_fill="#FF7A6E",
    on_action="#2A0805",
    action_text="#FF9389",
    action_wash="#3D1D1A",
    done="#86C3A2",
)


@dataclass(frozen=True)
class Theme:
    """Palette and fonts in use."""

    colours: Colours
    is_dark: bool

    def colour(self, name: str) -> QColor:
        """The palette's colour `name`. Raises AttributeError for a name it has not."""
        return _colour(getattr(self.colours, name))


LIGHT_THEME = Theme(LIGHT, is_dark=False)
DARK_THEME = Theme(DARK, is_dark=True)


@lru_cache(maxsize=256)
def _colour(code: str) -> QColor:
    return QColor(code)


SIZES = {"small": 11, "body": 13, "field": 14, "title": 16, "large": 20}
"""Type scale in pixels, so that a screenshot looks alike on every machine."""


@lru_cache(maxsize=32)
def font(size: str = "body", *, strong: bool = False, medium: bool = False) -> QFont:
    """A font of the type scale with tabular figures."""
    made = QFont(_family())
    made.setPixelSize(SIZES[size])
    weight = QFont.Weight.Normal
    if medium:
        weight = QFont.Weight.Medium
    if strong:
        weight = QFont.Weight.DemiBold
    made.setWeight(weight)
    made.setFeature(QFont.Tag("tnum"), 1)
    made.setStyleHint(QFont.StyleHint.SansSerif)
    return made


@lru_cache(maxsize=1)
def _family() -> str:
    """Load the shipped font once; the system's own where that fails."""
    found = ""
    for path in sorted((resource_folder() / "fonts").glob("*.otf")):
        number = QFontDatabase.addApplicationFont(str(path))
        families = QFontDatabase.applicationFontFamilies(number) if number >= 0 else []
        found = found or (families[0] if families else "")
    return found or QFont().family()


def apply_theme(app: QApplication, theme: Theme) -> None:
    """Give the whole application this palette, font and style sheet."""
    app.setStyle("Fusion")
    app.setFont(font())
    app.setPalette(_qt_palette(theme))
    sheet = (resource_folder() / "style" / "logbook.qss").read_text(encoding="utf-8")
    for name in (f.name for f in fields(Colours)):
        sheet = sheet.replace(f"@{name}@", getattr(theme.colours, name))
    arrow = resource_folder() / "icons" / f"down-{'dark' if theme.is_dark else 'light'}.png"
    app.setStyleSheet(sheet.replace("@arrow@", arrow.as_posix()))


def _qt_palette(theme: Theme) -> QPalette:
    palette = QPalette()
    roles = {
        QPalette.ColorRole.Window: "window",
        QPalette.ColorRole.WindowText: "text",
        QPalette.ColorRole.Base: "field",
        QPalette.ColorRole.AlternateBase: "surface",
        QPalette.ColorRole.Text: "text",
        QPalette.ColorRole.Button: "raised",
        QPalette.ColorRole.ButtonText: "text",
        QPalette.ColorRole.ToolTipBase: "raised",
        QPalette.ColorRole.ToolTipText: "text",
        QPalette.ColorRole.PlaceholderText: "muted",
        QPalette.ColorRole.Highlight: "focus",
        QPalette.ColorRole.HighlightedText: "on_focus",
        QPalette.ColorRole.Link: "focus",
    }
    for role, name in roles.items():
        palette.setColor(role, theme.colour(name))
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, theme.colour("muted"))
    return palette
