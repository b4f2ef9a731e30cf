"""Blocks of cells to which the names of a workbook lead."""

from __future__ import annotations

import re
from typing import NamedTuple

from workbook_builder.file.plan import address

_PLACE = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")
_RANGE = re.compile(r"(?:'((?:[^']|'')+)'|([^'!]+))!(\$?[A-Za-z]{1,3}\$?[0-9]+)(?::(\$?[A-Za-z]{1,3}\$?[0-9]+))?")


class Area(NamedTuple):
    """A block of cells on a sheet, rows and columns counted from 1."""

    sheet: str
    top: int
    left: int
    bottom: int
    right: int

    @property
    def single(self) -> bool:
        """Whether it is one cell."""
        return (self.top, self.left) == (self.bottom, self.right)

    @property
    def size(self) -> int:
        """How many cells there are in it."""
        return (self.bottom - self.top + 1) * (self.right - self.left + 1)

    @property
    def where(self) -> str:
        """The place in words, such as ``Entries!B12``."""
        first, last = address(self.top - 1, self.left - 1), address(self.bottom - 1, self.right - 1)
        return f"{self.sheet}!{first}" + ("" if first == last else f":{last}")


def cell_of(text: str) -> tuple[int, int] | None:
    """Return row and column of an address such as ``$B$12``, both counted from 1."""
    found = _PLACE.fullmatch(text)
    if not found:
        return None
    column = 0
    for letter in found[1].upper():
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(found[2]), column


def area_of(text: str) -> Area | None:
    """Return the block of cells to which a name leads, or nothing where it is no block of one sheet."""
    found = _RANGE.fullmatch(text.lstrip("="))
    if not found:
        return None
    first = cell_of(found[3])
    last = cell_of(found[4]) if found[4] else first
    if first is None or last is None:
        return None
    sheet = found[1].replace("''", "'") if found[1] else found[2].strip("$")
    (top, left), (bottom, right) = first, last
    return Area(sheet, min(top, bottom), min(left, right), max(top, bottom), max(left, right))
