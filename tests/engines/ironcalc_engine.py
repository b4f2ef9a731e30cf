"""IronCalc (PyPI wheel `ironcalc`): a fast third opinion that reads the .xlsx file itself."""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.engines.addressed import with_addresses
from tests.engines.protocol import Book, Cell, CellError, Engine, EngineError, Entry, Formula
from tests.engines.workbook_map import Address


class IronCalcBook(Book):
    """A workbook in IronCalc."""

    def __init__(self, ironcalc: Any, path: Path, read: Path) -> None:
        """Take the map from one file, and read another that is the same to the letter or but for names."""
        super().__init__(path)
        try:
            self._model = ironcalc.load_from_xlsx(str(read), "en", "UTC", "en")
        except ironcalc.WorkbookError as error:
            raise EngineError(f"ironcalc cannot open {path.name}: {error}") from error
        self._error_type = ironcalc.CellType.ErrorValue
        sheets = [sheet["name"] for sheet in self._model.get_worksheets_properties()]
        self._sheet = {name: index for index, name in enumerate(sheets)}
        self._as_opened: dict[Address, Cell] = {}
        self._changed: set[Address] = set()

    def _run(self, cases: Sequence[Mapping[Address, Entry]], wanted: Sequence[Address]) -> list[list[Cell]]:
        rows = []
        for entries in cases:
            for cell in self._changed - entries.keys():
                self._write(cell, self._as_opened[cell])
            self._changed = set(entries)
            for cell, entry in entries.items():
                self._as_opened.setdefault(cell, self._read(cell))
                self._write(cell, entry)
            self._model.evaluate()
            rows.append([self._read(cell) for cell in wanted])
        return rows

    def _place(self, cell: Address) -> tuple[int, int, int]:
        return self._sheet[cell.sheet], cell.row, cell.column

    def _read(self, cell: Address) -> Cell:
        place = self._place(cell)
        value = self._model.get_cell_value(*place)
        # An error comes as its text; a person may also have typed that text, so the type decides.
        looks_like_error = isinstance(value, str) and value.startswith("#")
        if looks_like_error and self._model.get_cell_type(*place) == self._error_type:
            return CellError(value)
        if value is None or isinstance(value, bool | str):
            return value
        return float(value)

    def _write(self, cell: Address, entry: Entry | Cell) -> None:
        place = self._place(cell)
        # Clear first: writing over a cell of another type must leave nothing of the old one.
        self._model.clear_cell_contents(*place)
        match entry:
            case None:
                pass
            case bool():
                self._model.update_cell_with_bool(*place, entry)
            case str():
                self._model.update_cell_with_text(*place, entry)
            case int() | float():
                self._model.update_cell_with_number(*place, float(entry))
            case Formula():
                self._model.update_cell_with_formula(*place, entry.text)
            case _:
                raise TypeError(f"{cell}: cannot enter {entry!r}; accepted are number, text, logical, Formula, None")

    def close(self) -> None:
        self._model = None


class IronCalcEngine(Engine):
    """The `ironcalc` package."""

    name = "ironcalc"

    def __init__(self) -> None:
        try:
            self._ironcalc: Any = importlib.import_module("ironcalc")
        except ImportError as error:
            raise EngineError("ironcalc is not installed; run: bash tests/run") from error

    def open(self, path: Path) -> IronCalcBook:
        with with_addresses(path) as copy:
            return IronCalcBook(self._ironcalc, path, copy)

    def open_as_it_is(self, path: Path) -> IronCalcBook:
        return IronCalcBook(self._ironcalc, path, path)

    def close(self) -> None:
        """Nothing to end: it lives in this process."""
