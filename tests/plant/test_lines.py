"""Lines of keys: every key of a TOML text is found at the line where it stands."""

from __future__ import annotations

import tomllib
from datetime import date, time
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.lines import key_lines

PLANTS = Path(__file__).parents[2] / "resources" / "plants"
SMALL = Path(__file__).parents[1] / "data" / "plants" / "small.toml"


def paths_of(document: object, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """Every key path of a parsed TOML document."""
    entries: list[tuple[str | int, object]] = []
    if isinstance(document, dict):
        entries = list(document.items())
    elif isinstance(document, list):
        entries = list(enumerate(document))
    below = {found for step, entry in entries for found in paths_of(entry, (*path, step))}
    return below | ({path} if path else set())


@pytest.mark.parametrize(
    ("text", "path", "line"),
    [
        ("a = 1\nb = 2", ("b",), 2),
        ("# remark\n\n[a]\nb = 1", ("a", "b"), 4),
        ("[[a]]\nb = 1\n[[a]]\nb = 2", ("a", 1, "b"), 4),
        ("[[a]]\n[[a.b]]\nc = 1\n[[a.b]]\nc = 2\n[[a]]\n[[a.b]]\nc = 3", ("a", 0, "b", 1, "c"), 5),
        ("[[a]]\n[[a.b]]\nc = 1\n[[a]]\n[[a.b]]\nc = 3", ("a", 1, "b", 0, "c"), 6),
        ("[[a]]\n[a.b.c]\nd = 1", ("a", 0, "b", "c", "d"), 3),
        ("a.b.c = 1\na.b.d = 2", ("a", "b", "d"), 2),
        ('a."b.c" = 1', ("a", "b.c"), 1),
        ("'a b' . c = 1", ("a b", "c"), 1),
        ('"\\u00e9" = 1', ("é",), 1),
        ("a = [\n  1, # one\n  2,\n]\nb = 1", ("a", 1), 3),
        ("a = [\n  { b = 1 },\n  { b = 2, c = [3] },\n]", ("a", 1, "c", 0), 3),
        ("a = { b = { c = 1 }, d = 2 } # x = 1\ne = 1", ("e",), 2),
        ('a = """\nb = 1\n"""\nc = 1', ("c",), 4),
        ("a = '''\n[b]\n'''\nc = 1", ("c",), 4),
        ('a = "# [b] = \\" 1"\nc = 1', ("c",), 2),
        ('a = """x""\\"""""\nc = 1', ("c",), 2),
        ("a = 06:00:00\nb = 2024-01-01 06:00:00\nc = 1", ("c",), 3),
        ("a = {}\nb = []\nc = 1", ("c",), 3),
        ("a = 1\r\n\r\nb = 2\r\n", ("b",), 3),
    ],
)
def test_the_line_of_a_key(text: str, path: tuple[str | int, ...], line: int) -> None:
    """Tables, lists of tables, dotted keys, strings of every kind and remarks are understood."""
    assert paths_of(tomllib.loads(text)) == set(key_lines(text))
    assert key_lines(text)[path] == line


@pytest.mark.parametrize(
    "path", [SMALL, *sorted(PLANTS.glob("*.toml"))], ids=lambda path: path.stem
)
def test_every_key_of_a_plant_file_stands_at_its_line(path: Path) -> None:
    """In the real files each named key appears in the text of its line."""
    text = path.read_text(encoding="utf-8")
    lines, source = key_lines(text), text.splitlines()
    assert set(lines) == paths_of(tomllib.loads(text))
    for key_path, line in lines.items():
        if isinstance(key_path[-1], str):
            assert key_path[-1] in source[line - 1]


VALUES = st.recursive(
    st.booleans()
    | st.integers(-(2**40), 2**40)
    | st.floats(allow_nan=False)
    | st.text(max_size=8)
    | st.dates(min_value=date(1, 1, 1))
    | st.just(time(6)),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3)
    ),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.text(max_size=4), VALUES, max_size=4))
def test_every_key_of_any_toml_is_found(document: dict[str, object]) -> None:
    """Whatever a TOML file holds, the scanner finds the same keys as the reader, on rising lines."""
    text = tomlkit.dumps(document)
    lines = key_lines(text)
    assert set(lines) == paths_of(tomllib.loads(text))
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())
