"""Which characters can be printed, and what stands in the place of those that cannot.

The program's own font has Latin letters and signs. What it lacks is sought in a second font
that every installation carries, then in the fonts of the system. A character that no font has,
and one that has no form at all (a control character), is printed as its number: [U+0001].
"""

from __future__ import annotations

import re
import sys
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.resources import resource

if TYPE_CHECKING:
    from typst import Fonts

Json = Mapping[str, "Json"] | Sequence["Json"] | str | float | int | bool | None

PLAIN = frozenset(
    chr(code) for code in [10, *range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x2013, 0x2015)]
) - {"ŉ"} | frozenset("‘’“”•…−×·→←↑↓≤≥≠μ²³₂₃")
"""Characters that the program's own font surely has; `tests/report` holds that."""
INVISIBLE = frozenset("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\ufe0e\ufe0f")
"""What joins, parts or directs its neighbours; a font need not have it."""
FORMLESS = frozenset({"Cc", "Cs", "Co", "Cn"})
"""Unicode categories of control, surrogate, private and unassigned characters."""
LONG_WORD = 24
"""Letters without a blank from which on a word may be broken anywhere."""
CARE = re.compile(rf"\n|\S{{{LONG_WORD + 1},}}|[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")
"""What is set with care: line breaks, very long words, letters that run from right to left."""
SIGN_OF_CARE = "\ue000"
"""A private character: those that somebody typed are printed as their numbers."""
ENDS = re.compile(r"\r\n|[\r\u2028\u2029]")
"""What ends a line, in whatever way it was typed."""


@lru_cache(maxsize=1)
def own_fonts() -> Fonts:
    """The fonts that travel with the program, and no other."""
    from typst import Fonts

    return Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(resource("fonts"))],
    )


@lru_cache(maxsize=1)
def all_fonts() -> Fonts:
    """The program's own fonts, the second font, and those of the system."""
    from typst import Fonts

    paths = [str(resource("fonts"))]
    second = second_font()
    if second is not None:
        paths.append(str(second.parent))
    return Fonts(include_system_fonts=True, include_embedded_fonts=True, font_paths=paths)


def second_font() -> Path | None:
    """The folder's font with many scripts that comes with the chart library; None without it."""
    found = find_spec("matplotlib")
    for place in found.submodule_search_locations or () if found else ():
        path = Path(place) / "mpl-data" / "fonts" / "ttf" / "DejaVuSans.ttf"
        if path.is_file():
            return path
    return None


def texts_in(data: Json) -> Iterator[str]:
    """Every text in a piece of JSON."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, Mapping):
        for value in data.values():
            yield from texts_in(value)
    elif isinstance(data, Sequence):
        for value in data:
            yield from texts_in(value)


def unusual(texts: Iterable[str]) -> frozenset[str]:
    """The characters that the program's own font may lack."""
    found: set[str] = set()
    for text in texts:
        if not text.isascii() or not text.isprintable():
            found.update(text)
    return frozenset(found) - PLAIN


def without_form(characters: Collection[str]) -> frozenset[str]:
    """Those of the characters that no font at hand can show."""
    # Fonts hold empty forms for control characters; a private one means nothing to the reader.
    never = {c for c in characters if unicodedata.category(c) in FORMLESS}
    left = set(characters) - INVISIBLE - never
    for path, index in _font_files():
        if not left:
            break
        left -= _covered(path, index)
    return frozenset(left | never)


@lru_cache(maxsize=1)
def _font_files() -> tuple[tuple[str, int], ...]:
    second = second_font()
    found = {(font.path, font.index) for font in all_fonts().fonts() if font.path}
    # The second font first: with it mostly no other has to be opened.
    return tuple(sorted(found, key=lambda one: (one[0] != str(second), one)))


@lru_cache(maxsize=512)
def _covered(path: str, index: int) -> frozenset[str]:
    from fontTools.ttLib import TTFont, TTLibError

    try:
        with TTFont(path, fontNumber=index, lazy=True) as font:
            codes = font.getBestCmap() or {}
    except (OSError, TTLibError, AssertionError):  # a damaged font of the system covers nothing
        return frozenset()
    return frozenset(chr(code) for code in codes if code <= sys.maxunicode)


def printable(data: Json, missing: Collection[str]) -> Json:
    """The same JSON with every character in `missing` as its number, tabs as spaces.

    A text that needs care in setting (see `CARE`) has `SIGN_OF_CARE` put before it.
    """
    if isinstance(data, str):
        return _printable_text(data, missing)
    if isinstance(data, Mapping):
        return {key: printable(value, missing) for key, value in data.items()}
    if isinstance(data, Sequence):
        return [printable(value, missing) for value in data]
    return data


def _printable_text(text: str, missing: Collection[str]) -> str:
    if len(text) <= LONG_WORD and text.isascii() and text.isprintable():
        return text
    text = ENDS.sub("\n", text).replace("\t", "    ")
    if any(character in missing for character in text):
        text = "".join(f"[U+{ord(c):04X}]" if c in missing else c for c in text)
    return SIGN_OF_CARE + text if CARE.search(text) else text
