"""Which words may be a name both in Python and in a spreadsheet.

A spreadsheet reads ``LOG10`` or ``DAY1`` as the address of a cell, and ``R`` or ``C5`` as one in its row-and-column
notation; it also ignores case. The writer library lets most of these through, and the program that opens the file then
drops every name. So legality is decided here, before anything is written.
"""

from __future__ import annotations

import keyword
import re

_ADDRESS = re.compile(r"([A-Za-z]{1,3})([0-9]+)")
_ROW_COLUMN = re.compile(r"[rR][0-9]*([cC][0-9]*)?|[cC][0-9]*")
_LEGAL = re.compile(r"[a-z][a-z0-9_]*")
_LAST_COLUMN, _LAST_ROW, _LONGEST = 16_384, 1_048_576, 100


def fault(name: str) -> str:
    """Return why ``name`` may not be a defined name, or an empty text if it may."""
    if not _LEGAL.fullmatch(name):
        return "only small ASCII letters, digits and underscores, beginning with a letter"
    if len(name) > _LONGEST:
        return f"longer than {_LONGEST} characters"
    if keyword.iskeyword(name) or name in {"true", "false", "null"}:
        return "a reserved word"
    address = _ADDRESS.fullmatch(name)
    if address and _column(address[1]) <= _LAST_COLUMN and 1 <= int(address[2]) <= _LAST_ROW:
        return "is the address of a cell"
    if _ROW_COLUMN.fullmatch(name):
        return "is a row-and-column address"
    return ""


def _column(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def group_of(name: str) -> str:
    """Return the group of an input's name: ``module`` for ``module_voc``."""
    return name.split("_", 1)[0]
