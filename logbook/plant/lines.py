"""Lines of the keys in a TOML text, which the standard library's reader does not tell.

The text must already be valid TOML, so this scanner only follows its structure: it needs to
know where keys, strings, arrays and tables begin and end, not what the values mean.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right

from logbook.plant.faults import KeyPath

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}' + r"|'''(?:[^']|'(?!''))*'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"' + r"|'[^'\n]*'",
    re.DOTALL,
)
_PLAIN_VALUE = re.compile(r"[^,\]}\n#]*")


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Map every key path of a valid TOML text to the line (from 1) where it first appears.

    Elements of arrays have an index in the path, tables of `[[name]]` too.

    >>> key_lines("[a]\nb = 1\n")[("a", "b")]
    2
    """
    return _Scanner(text).scan()


class _Scanner:
    """One pass over the text; `at` is the next character to look at."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self.counts: dict[KeyPath, int] = {}
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def scan(self) -> dict[KeyPath, int]:
        """Walk all statements of the file."""
        table: KeyPath = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self.lines

    def _skip(self, pattern: re.Pattern[str]) -> str:
        """Move past what the pattern matches here."""
        match = pattern.match(self.text, self.at)
        assert match is not None, "the text was read as TOML before"
        self.at = match.end()
        return match.group()

    def _line(self) -> int:
        """The line of the next character."""
        return bisect_right(self.starts, self.at)

    def _note(self, path: KeyPath, line: int) -> None:
        """Remember the first line of a path."""
        self.lines.setdefault(path, line)

    def _header(self) -> KeyPath:
        """Read `[a.b]` or `[[a.b]]` and return the path of the table it opens."""
        line = self._line()
        is_array = self.text.startswith("[[", self.at)
        self.at += 2 if is_array else 1
        keys = self._keys()
        self.at += 2 if is_array else 1
        path = (*self._resolve((), keys[:-1], line), keys[-1])
        self._note(path, line)
        if is_array:
            self.counts[path] = self.counts.get(path, 0) + 1
        if path in self.counts:
            path += (self.counts[path] - 1,)
        self._note(path, line)
        return path

    def _resolve(self, path: KeyPath, keys: list[str], line: int) -> KeyPath:
        """Follow dotted keys; an array of tables on the way means its last table."""
        for key in keys:
            path += (key,)
            self._note(path, line)
            if path in self.counts:
                path += (self.counts[path] - 1,)
        return path

    def _keys(self) -> list[str]:
        """Read a dotted key."""
        keys = [self._key()]
        while self.text.startswith(".", self.at):
            self.at += 1
            keys.append(self._key())
        return keys

    def _key(self) -> str:
        """Read one part of a dotted key with the space around it."""
        self._skip(_SPACE)
        if self.text[self.at] in "\"'":
            (key,) = tomllib.loads(self._skip(_STRING) + " = 0")
        else:
            key = self._skip(_BARE_KEY)
        self._skip(_SPACE)
        return key

    def _pair(self, table: KeyPath) -> None:
        """Read `key = value`."""
        line = self._line()
        keys = self._keys()
        path = (*self._resolve(table, keys[:-1], line), keys[-1])
        self._note(path, line)
        self.at += 1
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        """Read one value, noting the keys inside it."""
        first = self.text[self.at]
        if first == "[":
            self._array(path)
        elif first == "{":
            self._inline_table(path)
        else:
            self._skip(_STRING if first in "\"'" else _PLAIN_VALUE)

    def _array(self, path: KeyPath) -> None:
        """Read `[value, value]`."""
        self.at += 1
        index = 0
        self._skip(_BLANK)
        while self.text[self.at] != "]":
            self._note((*path, index), self._line())
            self._value((*path, index))
            index += 1
            self._end_of_entry()
        self.at += 1

    def _inline_table(self, path: KeyPath) -> None:
        """Read `{ key = value, ... }`."""
        self.at += 1
        self._skip(_BLANK)
        while self.text[self.at] != "}":
            self._pair(path)
            self._end_of_entry()
        self.at += 1

    def _end_of_entry(self) -> None:
        """Move past the comma after an entry, if there is one."""
        self._skip(_BLANK)
        if self.text[self.at] == ",":
            self.at += 1
            self._skip(_BLANK)
