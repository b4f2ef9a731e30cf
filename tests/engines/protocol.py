"""What a spreadsheet engine must offer to the tests, whatever program stands behind it.

A test opens a workbook file, gives entries by defined name and reads values back:

    book = engine("libreoffice").open(path)
    values = book.recalculate({"module_voc": 45.6}, read=["array_voc_cold", "Calc!D7"])

Every call starts from the workbook as it was opened: entries of an earlier call are taken back first,
so that no test can pass on what another one left behind.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from tests.engines.workbook_map import Address, WorkbookMap


class EngineError(RuntimeError):
    """The engine is missing, died, ran out of time or refused a file. Never a reason to skip a test."""


@dataclass(frozen=True)
class CellError:
    """An error value in a cell, with the text the cell shows, such as "#N/A" or "#DIV/0!"."""

    text: str


@dataclass(frozen=True)
class Formula:
    """An entry that is a formula, as when a person types one into an entry cell. Starts with "="."""

    text: str

    def __post_init__(self) -> None:
        if not self.text.startswith("="):
            raise ValueError(f'Formula: got {self.text!r}; a formula starts with "="')


Cell = float | str | bool | CellError | None
"""A value read: number, text, logical, error; None is a blank cell (never a formula cell)."""

Entry = float | int | str | bool | Formula | None
"""A value written: number, text, logical, formula; None empties the cell. Dates are serial numbers."""


class Book(ABC):
    """One workbook opened in one engine."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.map = WorkbookMap.of_file(path)

    def recalculate(self, entries: Mapping[str, Entry], read: Sequence[str] | None = None) -> dict[str, Cell]:
        """Write the entries, recalculate, give the values of the cells in `read`.

        Both take defined names (any case) or "Sheet!A1". Without `read`, every one-cell name is read.
        """
        return self.recalculate_many([entries], read)[0]

    def recalculate_many(self, cases: Sequence[Mapping[str, Entry]], read: Sequence[str] | None = None) -> list[dict[str, Cell]]:
        """The same for many sets of entries, each from the workbook as opened."""
        keys = list(self.map.cell_names()) if read is None else list(read)
        wanted = self.map.cells(keys)
        resolved = [self._resolve(entries) for entries in cases]
        return [dict(zip(keys, row, strict=True)) for row in self._run(resolved, wanted)]

    def formula_values(self, entries: Mapping[str, Entry]) -> dict[str, Cell]:
        """The value of every formula cell of the workbook, by "Sheet!A1"."""
        return self.formula_values_many([entries])[0]

    def formula_values_many(self, cases: Sequence[Mapping[str, Entry]]) -> list[dict[str, Cell]]:
        """The same for many sets of entries, each from the workbook as opened."""
        rows = self._run([self._resolve(entries) for entries in cases], self.map.formula_cells)
        return [dict(zip(self.map.formula_places, row, strict=True)) for row in rows]

    def _resolve(self, entries: Mapping[str, Entry]) -> dict[Address, Entry]:
        cells = self.map.cells(list(entries))
        formulas = [str(cell) for cell in cells if cell in self.map.formula_set]
        if formulas:
            raise ValueError(f"{self.path.name}: entries must go into cells without a formula; these hold formulas: {', '.join(formulas)}")
        return dict(zip(cells, entries.values(), strict=True))

    @abstractmethod
    def _run(self, cases: Sequence[Mapping[Address, Entry]], wanted: Sequence[Address]) -> list[list[Cell]]:
        """For each case the values of the wanted cells, in order."""

    @abstractmethod
    def close(self) -> None:
        """Let go of the workbook. Closing twice is allowed."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()


class Engine(ABC):
    """A program that can recalculate workbooks."""

    name: str
    booleans_are_numbers = False
    """True where the engine has no logical type, so that TRUE is read as 1 and FALSE as 0."""

    @abstractmethod
    def open(self, path: Path) -> Book:
        """Open a workbook file, without trust in the values stored in it.

        An engine for which names are costly may open a copy with addresses in their place (`addressed.py`).
        """

    def open_as_it_is(self, path: Path) -> Book:
        """Open the workbook file itself."""
        return self.open(path)

    @abstractmethod
    def close(self) -> None:
        """End the engine. Closing twice is allowed."""
