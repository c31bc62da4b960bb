"""From the bytes of a plant file to parsed TOML, with every syntax fault that can be told apart."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from logbook.plant.faults import Fault, PlantFileError

_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)")
_DECIMAL_COMMA = re.compile(r"=\s*[-+]?\d+,\d+\s*(?:#.*)?$")
_BARE_WORD = re.compile(r"=\s*[^\W\d\"'\[{][^=]*$")
_MOST_SYNTAX_FAULTS = 200


def read_text(path: Path) -> str:
    """Read the file as UTF-8 text, a byte order mark left out. Raises PlantFileError."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise _refuse(path, *_why_unreadable(path, error)) from None
    return decode(data, path)


def _why_unreadable(path: Path, error: OSError) -> tuple[str, str]:
    """What is wrong with the path, and what would be right."""
    if path.is_dir():
        return "this is a folder, not a plant file", "the path of a .toml file in it"
    if isinstance(error, FileNotFoundError):
        return "there is no such file", "the path of an existing plant file"
    return f"the file cannot be read ({error.strerror})", "a file this user may read"


def _refuse(path: Path, what: str, wanted: str, line: int | None = None) -> PlantFileError:
    """An error with a single fault of the whole file."""
    return PlantFileError([Fault(path, line, "", what, wanted)])


def decode(data: bytes, path: Path) -> str:
    """Decode UTF-8, with or without a byte order mark. Raises PlantFileError."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refuse(path, "the file is saved as UTF-16", "the file saved as UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = f"the byte 0x{data[error.start]:02X} is not UTF-8"
        raise _refuse(path, what, "the file saved as UTF-8", line) from None


def parse(text: str, path: Path) -> dict[str, Any]:
    """Parse TOML. Raises PlantFileError with each line that is wrong by itself.

    After a faulty line that is wrong whatever stands around it the search goes on without
    it; a fault that may hang together with other lines (an array never closed) is the last.
    """
    lines = text.split("\n")
    faults: list[Fault] = []
    while len(faults) < _MOST_SYNTAX_FAULTS:
        try:
            document = tomllib.loads("\n".join(lines))
        except RecursionError:
            raise _refuse(
                path, "values are nested too deep", "lists and tables as in README"
            ) from None
        except ValueError as error:
            fault = _syntax_fault(path, str(error), lines)
            faults.append(fault)
            if fault.line is None or not _stands_alone(lines[fault.line - 1], str(error)):
                break
            lines[fault.line - 1] = ""
        else:
            if faults:
                break
            return document
    raise PlantFileError(faults)


def _syntax_fault(path: Path, message: str, lines: list[str]) -> Fault:
    """Say a TOML syntax error in words, with a hint for the common slips."""
    match = _PLACE.search(message)
    line = int(match.group(1)) if match and match.group(1) else None
    said = _PLACE.sub("", message).rstrip(".")
    source = lines[line - 1] if line else ""
    where = source.split("=")[0].strip() if "=" in source else ""
    return Fault(path, line, where, f"this is not TOML: {said}", _syntax_hint(said, source))


def _syntax_hint(message: str, source: str) -> str:
    """What would be right, guessed from the line."""
    if _DECIMAL_COMMA.search(source):
        return "a number with a decimal point, such as 0.35"
    if message.startswith(("Cannot overwrite", "Cannot mutate", "Cannot declare")):
        return "this key once only; a list of tables has [[ ]]"
    if "Unclosed" in message or "Unterminated" in message:
        return "the closing bracket or quotation mark, here or in a line before"
    if _BARE_WORD.search(source):
        return 'text in quotation marks, such as "°C"; true and false in small letters'
    return 'a line such as key = "text", key = 1.5 or [table]'


def _stands_alone(line: str, message: str) -> bool:
    """True where the line is wrong by itself, so that the search may go on without it."""
    if message.startswith("Cannot overwrite"):
        return "=" in line and not line.lstrip().startswith("[")
    if line.count('"""') % 2 or line.count("'''") % 2 or "=" not in line:
        return False
    try:
        tomllib.loads(line)
    except (ValueError, RecursionError):
        return not line.rstrip().endswith(("[", "{", ","))
    return False
