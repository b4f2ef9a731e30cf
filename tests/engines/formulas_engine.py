"""The PyPI package `formulas`: pure Python, slow to load, written independently of the other engines.

Its ways that this adapter makes good:
- a blank cell inside a range is by default looked up by a short cut that does not see an entry given later,
  so every blank cell is made a node of its own while the model is put together;
- a blank is the token `EMPTY` inside a one-by-one array; an error is an `XlError`; values are numpy scalars;
- a cell that could not be computed (a cycle) is just missing from the result: that is an error here.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from tests.engines.addressed import part_of, with_addresses
from tests.engines.comparison import plain
from tests.engines.protocol import Book, Cell, CellError, Engine, EngineError, Entry, Formula
from tests.engines.workbook_map import Address

_NO_LIMIT = 10**9
"""Blank cells a range may have and still get a node for each."""


class FormulasBook(Book):
    """A workbook in `formulas`."""

    def __init__(self, formulas: Any, empty: Any, path: Path, read: Path) -> None:
        """Take the map from one file, and read another that is the same to the letter or but for names."""
        super().__init__(path)
        self._formulas, self._empty = formulas, empty
        model = formulas.ExcelModel().loads(str(read))
        model.complete()
        model.anchors()
        model.assemble(compact=_NO_LIMIT)
        model.inverse_references()
        self._model = model
        self._nodes = set(model.dsp.data_nodes)

    def _run(self, cases: Sequence[Mapping[Address, Entry]], wanted: Sequence[Address]) -> list[list[Cell]]:
        return [self._case(entries, wanted) for entries in cases]

    def _case(self, entries: Mapping[Address, Entry], wanted: Sequence[Address]) -> list[Cell]:
        given = {cell: self._value_to_enter(cell, entry) for cell, entry in entries.items()}
        keys = {cell: self._key(cell) for cell in dict.fromkeys(wanted)}
        solution = self._model.calculate(
            inputs={
                self._key(cell): [[value]]
                for cell, value in given.items()
                if self._key(cell) in self._nodes  # no formula looks at the others
            },
            outputs=[key for key in keys.values() if key in self._nodes],
        )
        missing = [str(c) for c in keys if c in self.map.formula_set and keys[c] not in solution]
        if missing:
            raise EngineError(
                f"{self.path.name}: formulas could not compute {', '.join(missing)}: a circular reference, or a construct it does not know"
            )

        def shown(cell: Address) -> Cell:
            if cell in given:
                return self._cell(given[cell])
            return self._cell(solution[keys[cell]].value[0, 0]) if keys[cell] in solution else None

        return [shown(cell) for cell in wanted]

    def _key(self, cell: Address) -> str:
        _, _, place = str(cell).rpartition("!")
        return f"'[{self.path.name}]{cell.sheet.upper()}'!{place}"

    def _value_to_enter(self, cell: Address, entry: Entry) -> Any:
        match entry:
            case None:
                return self._empty
            case bool() | str():
                return entry
            case int() | float():
                return float(entry)
            case Formula():
                compiled = self._formulas.Parser().ast(entry.text)[1].compile()
                if compiled.inputs:
                    raise EngineError(f"{cell}: formulas takes only entries without references, got {entry.text}")
                result = compiled()
                return np.asarray(getattr(result, "value", result), dtype=object).flat[0]
        raise TypeError(f"{cell}: cannot enter {entry!r}; accepted are number, text, logical, Formula, None")

    def _cell(self, value: Any) -> Cell:
        if value is self._empty:
            return None
        if isinstance(value, self._formulas.tokens.operand.XlError):
            return CellError(str(value))
        return plain(value)

    def close(self) -> None:
        self._model = None


class FormulasEngine(Engine):
    """The `formulas` package."""

    name = "formulas"

    def __init__(self) -> None:
        try:
            self._formulas: Any = importlib.import_module("formulas")
            importlib.import_module("formulas.tokens.operand")
            self._empty: Any = importlib.import_module("schedula").EMPTY
        except ImportError as error:
            raise EngineError("formulas is not installed; run: bash tests/run") from error

    def open(self, path: Path) -> FormulasBook:
        with with_addresses(path) as copy:
            return FormulasBook(self._formulas, self._empty, path, copy)

    def open_part(self, path: Path, results: Sequence[str]) -> FormulasBook:
        """Open only the formulas on which the named results rest: the whole workbook costs seconds a case."""
        with part_of(path, results) as copy:
            return FormulasBook(self._formulas, self._empty, path, copy)

    def open_as_it_is(self, path: Path) -> FormulasBook:
        return FormulasBook(self._formulas, self._empty, path, path)

    def close(self) -> None:
        """Nothing to end: it lives in this process."""
