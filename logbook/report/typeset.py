"""From a template and plain data to the bytes of a PDF/A-2b.

All data reaches a template as JSON and is set as text, never read as markup: what somebody typed
is printed as it was typed. The same data, template, fonts and instant give the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Final

from logbook.report.errors import ReportError
from logbook.report.glyphs import (
    INVISIBLE,
    Json,
    all_fonts,
    own_fonts,
    printable,
    texts_in,
    unusual,
    without_form,
)
from logbook.resources import resource

if TYPE_CHECKING:
    from typst import Fonts

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Sizes of paper by the name under which they are asked for."""
STANDARD: Final = "a-2b"
"""PDF/A-2b, ISO 19005-2."""


def typeset(template: str, data: dict[str, Json], *, paper: str, made_at: datetime) -> bytes:
    """The PDF of a template such as "handover" with its data.

    `made_at` (aware) is the PDF's own date. Raises ReportError where it cannot be set, and
    ValueError for a paper that is not in `PAPERS`.
    """
    if paper not in PAPERS:
        msg = f"no paper {paper!r}; there are {', '.join(PAPERS)}"
        raise ValueError(msg)
    whole: dict[str, Json] = {**data, "paper": PAPERS[paper]}
    odd = unusual(texts_in(whole)) - {"\t", "\r", "\u2028", "\u2029"}
    if not odd:
        return _compiled(template, printable(whole, ()), own_fonts(), made_at)
    try:
        return _compiled(template, printable(whole, without_form(odd)), all_fonts(), made_at)
    except ReportError:
        # A font of the system may promise a form and not keep it, or forbid to be embedded.
        plainer = printable(whole, odd | INVISIBLE)
        return _compiled(template, plainer, own_fonts(), made_at)


def _compiled(template: str, data: Json, fonts: Fonts, made_at: datetime) -> bytes:
    import typst

    folder = resource("report")
    try:
        return typst.compile(
            folder / f"{template}.typ",
            root=folder,
            font_paths=fonts,
            sys_inputs={"data": json.dumps(data, ensure_ascii=False, separators=(",", ":"))},
            pdf_standards=STANDARD,
            # Tags would make the file, which the book keeps for good, six times as large.
            pdf_tags=False,
            timestamp=int(made_at.timestamp()),
        )
    except typst.TypstError as error:
        raise ReportError(_sentence(template, error.message, error.hints)) from error


def _sentence(template: str, message: str, hints: Iterable[str]) -> str:
    more = "".join(f" ({hint})" for hint in hints)
    return f"The {template} could not be typeset: {message}{more}; report this as a fault."
