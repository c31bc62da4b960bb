"""What somebody typed is printed as it was typed, whatever it is."""

import re

import pypdfium2
import pytest

from logbook.report.glyphs import PLAIN, printable, unusual, without_form
from logbook.report.make import handover_of
from logbook.resources import resource

MARKUP = (
    "#let x = 1; *bold* _slanted_ `code` $x^2$ = Head\n- list\n+ list\n/ term: x @ref <label> "
    '// comment /* more */ \\ ~ --- ... [x] #read("/etc/passwd") \'single\' "double" '
    'https://example.org {"json": "\\n"} \\u{41} %d {0}'
)


def kept(text):
    """What must be found again: everything but blanks, line breaks and soft hyphens."""
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def printed(read_pdf, book, night):
    """All text of the night's handover, without blanks and breaks."""
    return kept("".join(read_pdf(handover_of(book, night))).replace("\ufffe", "-"))


def test_markup_is_printed_and_not_obeyed(say, book, night, read_pdf):
    """Signs that mean something to the typesetter are only signs."""
    say(MARKUP)
    assert kept(MARKUP) in printed(read_pdf, book, night)


@pytest.mark.parametrize(
    "text",
    [
        "Zähler läuft à côté, 12 µS/cm, 3 × 4 − 1 ≥ 5 °C",
        "Насос номер два гудит",
        "Αντλία δύο, έλεγχος",
        "‘single’ “double” «angle» ‚low‘ „low“ – — …",
        "Zażółć gęślą jaźń; Ő Ű ğ ş ı",
    ],
)
def test_other_alphabets_are_printed_as_typed(say, book, night, read_pdf, text):
    """Letters that the program's own font has, and those that only the second one has."""
    say(text)
    assert kept(text) in printed(read_pdf, book, night)


@pytest.mark.parametrize("text", ["המשאבה השנייה רועשת", "المضخة الثانية تصدر صوتا"])
def test_right_to_left_text_is_printed_in_its_own_direction(say, book, night, read_pdf, text):
    """Every letter is there; the reader of the PDF gives them back in one order or the other."""
    say(text)
    import unicodedata

    found = unicodedata.normalize("NFKC", "".join(read_pdf(handover_of(book, night))))
    for word in text.split():
        assert word in found or word[::-1] in found


def test_emoji_are_printed_or_named_by_their_number(say, book, night, read_pdf):
    """A sign without a form in any font at hand stands as its number, never as nothing."""
    say("All well \U0001f600 and \U0001fae8 done")
    found = printed(read_pdf, book, night)
    for sign in "\U0001f600\U0001fae8":
        assert sign in found or f"[U+{ord(sign):04X}]" in found


def test_control_characters_are_named_by_their_number(say, book, night, read_pdf):
    """They have no form; that they were there is told all the same."""
    say("bell\x07here\tand\x1b[31mthere\u0085end")
    found = printed(read_pdf, book, night)
    assert "bell[U+0007]here" in found
    assert "[U+001B][31mthere" in found


def test_a_note_of_five_thousand_characters_is_printed_whole(say, book, night, read_pdf):
    """It runs over pages as it must."""
    words = " ".join(f"word{k:04d}" for k in range(560))
    assert len(words) >= 5000
    say(words)
    found = printed(read_pdf, book, night)
    foot = re.compile(r"lastseal.*?pageNOofNO|Oddle")
    assert all(f"word{k:04d}" in found for k in range(560)), foot


def test_a_text_without_a_blank_is_broken_into_lines(say, book, night):
    """Five thousand letters in one word stay on the paper, whatever they are."""
    say("W" * 5000)
    pdf = handover_of(book, night)
    count = 0
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            wide, tall = page.get_size()
            text = page.get_textpage()
            for k in range(text.count_chars()):
                if text.get_text_range(k, 1) == "W":
                    left, bottom, right, top = text.get_charbox(k)
                    assert 0 < left < right < wide - 20
                    assert 0 < bottom < top < tall
                    count += 1
    assert count >= 5000


def test_line_breaks_are_kept(say, book, night):
    """What was typed on two lines stands on two lines."""
    say("first line\nsecond line\r\nthird line")
    with pypdfium2.PdfDocument(handover_of(book, night)) as document:
        tops = {}
        for number, page in enumerate(document):
            text = page.get_textpage()
            for words in ("first line", "second line", "third line"):
                found = text.search(words).get_next()
                if found is not None and number > 0:
                    tops[words] = text.get_charbox(found[0])[3]
    assert tops["first line"] > tops["second line"] > tops["third line"]


def test_the_plain_characters_are_all_in_the_programs_own_font():
    """What is taken for granted without looking holds."""
    from fontTools.ttLib import TTFont

    for path in resource("fonts").glob("*.otf"):
        with TTFont(path, lazy=True) as font:
            lacking = {c for c in PLAIN - {"\n"} if ord(c) not in font.getBestCmap()}
        assert not lacking, f"{path.name} lacks {sorted(lacking)}"


def test_only_what_is_unusual_is_looked_for():
    """Plain text opens no other font."""
    assert unusual(["Mill 2, left: 0.41 mm", "12 °C ± 3 ≥ 4"]) == frozenset()
    assert unusual(["naïve 中"]) == {"中"}


def test_a_character_that_no_font_has_is_told_by_its_number():
    """Private and unassigned ones are in no font."""
    assert without_form({"\uf8f0", "\u0378"} | {"A"}) >= {"\u0378"}
    assert printable({"a": ["x\u0378y", 3, None]}, {"\u0378"}) == {"a": ["x[U+0378]y", 3, None]}
