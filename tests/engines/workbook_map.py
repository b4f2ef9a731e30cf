"""Where the names and the formula cells of a workbook are, read from the file itself.

Read with openpyxl and not asked of the engine under test: all engines are then asked for the same cells,
and an engine that lost a name or a formula is caught instead of followed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from io import BytesIO
from pathlib import Path
from typing import NamedTuple, Self

import openpyxl
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string

_ONE_CELL = re.compile(r"^\$?([A-Za-z]{1,3})\$?([0-9]+)$")


class Address(NamedTuple):
    """One cell; row and column count from 1."""

    sheet: str
    row: int
    column: int

    def __str__(self) -> str:
        return f"{self.sheet}!{get_column_letter(self.column)}{self.row}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read "Sheet!A1" or "'My sheet'!$A$1"."""
        sheet, _, cell = text.rpartition("!")
        if not sheet or not _ONE_CELL.match(cell):
            raise ValueError(f'cell address: got {text!r}; accepted is one cell such as "Sheet!A1"')
        if sheet.startswith("'") and sheet.endswith("'"):
            sheet = sheet[1:-1].replace("''", "'")
        column, row = coordinate_from_string(cell.replace("$", ""))
        return cls(sheet, row, column_index_from_string(column))


@dataclass(frozen=True)
class WorkbookMap:
    """Sheets in order, one-cell names and range names with their targets, and all formula cells."""

    sheets: tuple[str, ...]
    names: dict[str, str]
    formula_cells: tuple[Address, ...]

    @classmethod
    def of_file(cls, path: Path) -> Self:
        """Read the map of an .xlsx file; the same bytes are read once."""
        return cls._of_bytes(path.read_bytes())

    @classmethod
    @lru_cache(maxsize=8)
    def _of_bytes(cls, content: bytes) -> Self:
        book = openpyxl.load_workbook(BytesIO(content), read_only=True)  # seven times as fast
        try:
            names = {name: str(item.attr_text) for name, item in book.defined_names.items()}
            formulas = tuple(
                Address(sheet.title, cell.row, cell.column)
                for sheet in book.worksheets
                for row in sheet.iter_rows()
                for cell in row
                if cell.data_type == "f"
            )
            return cls(tuple(sheet.title for sheet in book.worksheets), names, formulas)
        finally:
            book.close()

    @cached_property
    def formula_set(self) -> frozenset[Address]:
        """The formula cells, for membership."""
        return frozenset(self.formula_cells)

    @cached_property
    def formula_places(self) -> tuple[str, ...]:
        """The formula cells as "Sheet!A1", in the same order."""
        return tuple(str(cell) for cell in self.formula_cells)

    @cached_property
    def targets(self) -> dict[str, str]:
        """What each defined name points to, by the name in lower case."""
        return {name.lower(): target for name, target in self.names.items()}

    def cell_names(self) -> list[str]:
        """The defined names that point to exactly one cell."""
        return [name for name, target in self.names.items() if ":" not in target]

    def cells(self, keys: Sequence[str]) -> list[Address]:
        """The cells of defined names (any case) or "Sheet!A1"; all unknown keys in one error."""
        found: list[Address] = []
        wrong: list[str] = []
        for key in keys:
            target = self.targets.get(key.lower(), key)
            try:
                cell = Address.parse(target)
            except ValueError:
                wrong.append(f"{key!r} (a range: {target})" if target != key else repr(key))
                continue
            if cell.sheet in self.sheets:
                found.append(cell)
            else:
                wrong.append(f"{key!r} (no sheet {cell.sheet!r})")
        if wrong:
            raise KeyError(
                f"not a one-cell defined name nor a cell of this workbook: {', '.join(wrong)}; "
                f"its one-cell names are {', '.join(sorted(self.cell_names())) or 'none'}"
            )
        return found
