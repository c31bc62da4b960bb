"""Contrast of both palettes as they are used.

Source: Web Content Accessibility Guidelines (WCAG) 2.2, success criteria 1.4.3 Contrast (Minimum),
level AA: text 4.5:1, and 1.4.11 Non-text Contrast, level AA: what identifies a field, its state or
a mark 3:1 against the colours beside it; definitions "contrast ratio" and "relative luminance".
"""

from __future__ import annotations

import re
from dataclasses import asdict, fields

import pytest
from PySide6.QtGui import QColor, QFontInfo, QFontMetrics, QPalette

from logbook.ui.theme import DARK, DARK_THEME, LIGHT, LIGHT_THEME, Colours, apply_theme, font

PALETTES = {"light": LIGHT, "dark": DARK}
TEXT_RATIO, MARK_RATIO = 4.5, 3.0

TEXTS = {
    # painted rows lie on the surface, the row in use on `selected`
    "text": ("window", "surface", "raised", "field", "selected", "action_wash", "warning_wash"),
    "muted": ("window", "surface", "raised", "field", "selected"),
    "warning_text": ("surface", "selected", "warning_wash"),
    "action_text": ("window", "surface", "field", "selected", "action_wash"),
    "on_focus": ("focus",),  # selected text, main buttons
}
"""Each colour of text with what it is written on."""

MARKS = {
    "field_edge": ("window", "surface", "raised", "field", "selected", "action_wash"),
    "focus": ("window", "surface", "raised", "field", "selected", "action_wash", "hairline"),
    "on_focus": ("focus",),  # the ring inside a main button with the focus
    "trace": ("surface", "selected", "band"),
    "band_edge": ("surface", "selected", "band"),
    "muted": ("surface", "selected", "raised"),  # rings and clock faces
    "done": ("surface", "selected", "raised", "hairline"),  # ticks and full progress bars
    "on_action": ("action_fill",),
}
"""Each colour of an edge, line or mark with what lies beside it."""

OUTLINED = {
    ("warning_edge", "warning_fill"): ("surface", "selected", "band", "raised"),
    ("action_fill",): ("surface", "selected", "band", "raised"),
    ("focus",): ("band",),  # the value being typed, on its sparkline
}
"""Marks with an outline of its own: either it or the fill must stand out from what lies beside."""

QUIET = {"hairline", "band"}
"""What only accompanies a number, a mark or a line that stands out."""


def luminance(code: str) -> float:
    """Relative luminance of #RRGGBB, 0 to 1, as WCAG 2.2 defines it."""
    parts = [int(code[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21, as WCAG 2.2 defines it."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def faint(palette: Colours, pairs: dict[str, tuple[str, ...]], least: float) -> list[str]:
    """The pairs of a palette below a ratio, in words."""
    ratios = {
        f"{front} on {back}": contrast(getattr(palette, front), getattr(palette, back))
        for front, backs in pairs.items()
        for back in backs
    }
    return [f"{pair} {ratio:.2f}" for pair, ratio in ratios.items() if ratio < least]


def rules_of(sheet: str) -> list[tuple[str, dict[str, str]]]:
    """Selectors and declarations of a style sheet."""
    found = re.findall(r"([^{}]+)\{([^{}]*)\}", sheet)
    pairs = [
        (selector.strip(), dict(re.findall(r"([\w-]+)\s*:\s*([^;]+)", body)))
        for selector, body in found
    ]
    assert len(pairs) > 30
    return pairs


def colour_in(value: str | None) -> str | None:
    """The palette's name in a declaration."""
    found = re.search(r"@(\w+)@", value or "")
    return found[1] if found else None


@pytest.fixture(scope="module")
def sheet(repo_root) -> str:
    """The style sheet before colours are put in, without comments."""
    text = (repo_root / "resources" / "style" / "logbook.qss").read_text(encoding="utf-8")
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#000000", "#FFFFFF", 21.0), ("#777777", "#777777", 1.0), ("#FFFFFF", "#0000FF", 8.59)],
)
def test_the_ratio_is_worked_out_as_the_guideline_says(one, other, ratio):
    """Black on white is 21, the most there is; a colour on itself 1; pure blue by hand 8.59."""
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast(other, one) == contrast(one, other)


@pytest.mark.parametrize("name", PALETTES)
def test_every_text_stands_out_from_what_it_is_written_on(name):
    """WCAG 2.2, 1.4.3: at least 4.5:1, for small and large text alike."""
    assert faint(PALETTES[name], TEXTS, TEXT_RATIO) == []


@pytest.mark.parametrize("name", PALETTES)
def test_every_edge_and_mark_stands_out_from_what_lies_beside(name):
    """WCAG 2.2, 1.4.11: at least 3:1 for fields, focus, traces, ticks and limit lines."""
    assert faint(PALETTES[name], MARKS, MARK_RATIO) == []


@pytest.mark.parametrize("name", PALETTES)
def test_severity_marks_stand_out_by_fill_or_outline(name):
    """WCAG 2.2, 1.4.11: a mark is seen on all it is drawn on, on sparklines' bands as well."""
    palette = asdict(PALETTES[name])
    best = {
        f"{parts} on {back}": max(contrast(palette[part], palette[back]) for part in parts)
        for parts, backs in OUTLINED.items()
        for back in backs
    }
    assert {pair: ratio for pair, ratio in best.items() if ratio < MARK_RATIO} == {}


@pytest.mark.parametrize("name", PALETTES)
def test_texts_of_the_style_sheet_stand_out(sheet, name):
    """Every rule that names both a text colour and a background reaches 4.5:1."""
    palette = asdict(PALETTES[name])
    told = [
        (selector, colour_in(rule.get("color")), colour_in(rule.get("background")))
        for selector, rule in rules_of(sheet)
    ]
    told = [(s, front, back) for s, front, back in told if front and back]
    assert len(told) >= 5
    low = [s for s, front, back in told if contrast(palette[front], palette[back]) < TEXT_RATIO]
    assert low == []


@pytest.mark.parametrize("name", PALETTES)
def test_edges_of_fields_in_the_style_sheet_stand_out(sheet, name):
    """Edges of fields, lists and buttons in use reach 3:1 to their inside or to what is around."""
    palette = asdict(PALETTES[name])
    edged = [
        (selector, colour_in(rule.get("border")), colour_in(rule.get("background")))
        for selector, rule in rules_of(sheet)
        if ":disabled" not in selector and "QFrame" not in selector and "QListView" not in selector
    ]
    own = {True: "focus", False: "field"}  # what a rule without background inherits
    edged = [(s, edge, back or own["primary" in s]) for s, edge, back in edged if edge]
    assert len(edged) >= 8
    low = [
        s
        for s, edge, back in edged
        for around in ("window", "surface")
        if contrast(palette[edge], palette[back]) < MARK_RATIO
        and contrast(palette[edge], palette[around]) < MARK_RATIO
    ]
    assert low == []


def test_every_colour_is_used_and_judged(repo_root, sheet):
    """No colour of the palette is left over, and each is held to a ratio or named as quiet."""
    names = {field.name for field in fields(Colours)}
    code = "".join(
        path.read_text(encoding="utf-8")
        for path in sorted((repo_root / "logbook" / "ui").rglob("*.py"))
        if path.name != "theme.py"
    )
    assert {n for n in names if f'"{n}"' not in code and f"@{n}@" not in sheet} == set()
    judged = {*TEXTS, *MARKS, *(p for parts in OUTLINED for p in parts)}
    grounds = {b for backs in (*TEXTS.values(), *MARKS.values()) for b in backs}
    assert names - judged - grounds - QUIET == set()


def test_the_style_sheet_names_no_colour_that_is_not_there(sheet):
    """Every @name@ is a colour of the palette, or the arrow's file."""
    names = {field.name for field in fields(Colours)}
    assert set(re.findall(r"@(\w+)@", sheet)) - names == {"arrow"}


@pytest.mark.parametrize("theme", [DARK_THEME, LIGHT_THEME], ids=["dark", "light"])
def test_a_palette_reaches_the_whole_application(qapp, theme):
    """Qt's own palette and the style sheet have the colours; the arrow of lists is a file."""
    try:
        apply_theme(qapp, theme)
        sheet = qapp.styleSheet()
        assert not re.search(r"@(?!names)\w+@", sheet)
        assert theme.colours.field_edge in sheet
        colours = qapp.palette()
        assert colours.color(QPalette.ColorRole.Window) == QColor(theme.colours.window)
        assert colours.color(QPalette.ColorRole.Highlight) == QColor(theme.colours.focus)
    finally:
        apply_theme(qapp, LIGHT_THEME)


def test_the_shipped_font_is_the_one_in_use(qapp):
    """Figures have one width, and the family is not the machine's own."""
    assert QFontInfo(font("field")).family() == "Inter"
    widths = {QFontMetrics(font("field")).horizontalAdvance(digit) for digit in "0123456789"}
    assert len(widths) == 1
