"""Grids: calculations that repeat row by row, such as the trial rows of a root or a list of arrangements.

A grid is declared like a quantity, column by column: each column is a reference function beside its formula. Within a
formula a column's name means the cell in the same row, ``previous_`` and ``earlier_`` before it mean the cell one and
two rows above; names that a row gives stand for another value in each row; all other names are values of the model.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from workbook_builder.language import xl
from workbook_builder.language.declare import Function, Kind, common_faults, refuse
from workbook_builder.language.sources import Citation

ABOVE = {"previous_": 1, "earlier_": 2}


@dataclass(frozen=True)
class Row:
    """One row: a key for its names, a label, its own numbers, and which values of the model its own names stand for."""

    key: str
    label: str
    given: Mapping[str, str] = field(default_factory=dict)
    numbers: Mapping[str, float] = field(default_factory=dict)
    start: bool = False
    named: bool = True


@dataclass(frozen=True)
class Step:
    """One way to compute a column: the formula, and the reference function that says the same.

    ``waits`` are names that the formula does not use, but without which the cell stays empty.
    """

    formula: str
    function: Function
    waits: tuple[str, ...] = ()

    @cached_property
    def parameters(self) -> list[str]:
        """The names that the function takes, in order."""
        return [name for name, p in inspect.signature(self.function).parameters.items() if p.kind is p.POSITIONAL_OR_KEYWORD]

    @cached_property
    def tables(self) -> list[str]:
        """The tables that the function takes by keyword."""
        return [name for name, p in inspect.signature(self.function).parameters.items() if p.kind is p.KEYWORD_ONLY]


@dataclass
class Column:
    """One column; ``start`` replaces the step in the rows that start a run of rows.

    A column with ``answer`` stands only in rows that are named: in a search that is the last row, which holds its answer.
    """

    name: str
    symbol: str
    unit: str
    words: str
    kind: Kind
    named: bool
    step: Step
    start: Step | None = None
    optional: frozenset[str] = frozenset()
    wide: bool = False
    answer: bool = False

    def stands_in(self, row: Row) -> bool:
        """Whether there is a cell of this column in a row."""
        return row.named or not self.answer

    def step_of(self, row: Row) -> Step:
        """Return how this column is computed in a row."""
        return self.start if row.start and self.start else self.step


@dataclass(frozen=True)
class Use:
    """What a name stands for in one cell: a number of the row, a cell of the grid, or a value of the model.

    One that is no ``argument`` is only waited for.
    """

    parameter: str
    outside: str
    inside: tuple[Row, Column] | None
    number: float | None
    optional: bool
    argument: bool = True

    def key(self, grid: Grid) -> str:
        """Return the key of the value."""
        return grid.cell(*self.inside) if self.inside else self.outside


@dataclass
class Grid:
    """A block of rows and columns. The value of a cell is known as ``<grid>_<row>_<column>``.

    ``sheet`` is the sheet on which it stands; ``chart`` marks points that only feed a chart: they show 0 while they are
    not known. ``single`` marks lists for the eye that are made for one design at a time, never for arrays of them.
    ``numbers`` are the words and units of the numbers that the rows bring with them.
    """

    name: str
    title: str
    words: str
    source: Citation | str
    rows: tuple[Row, ...]
    sheet: str
    chart: bool = False
    single: bool = False
    numbers: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    columns: list[Column] = field(default_factory=list)
    _cells: list[tuple[Row, Column, Step, list[Use]]] = field(default_factory=list)

    def column(
        self,
        *,
        words: str,
        formula: str,
        symbol: str = "",
        unit: str = "",
        kind: Kind = "number",
        named: bool = False,
        optional: Sequence[str] = (),
        wide: bool = False,
        answer: bool = False,
        waits: Sequence[str] = (),
    ) -> Callable[[Function], Function]:
        """Declare the decorated function as a column; ``named`` columns get a defined name in each row.

        ``wide`` is for a long text in the last column: it runs on over the empty cells beside it. ``answer`` is for what
        only named rows show. ``waits`` lists names that the formula does not use, but without which the cell stays empty.
        """

        def declare(function: Function) -> Function:
            step = Step(formula, function, tuple(waits))
            name = function.__name__
            refuse(f"{self.name}.{name}", common_faults(f"{self.name}_{name}", words, unit) + self._faults(step, {name}))
            self.columns.append(Column(name, symbol, unit, words, kind, named, step, None, frozenset(optional), wide, answer))
            self._cells.clear()
            return function

        return declare

    def start(self, *, formula: str, waits: Sequence[str] = ()) -> Callable[[Function], Function]:
        """Declare the decorated function as the column of that name in rows that start a run."""

        def declare(function: Function) -> Function:
            step = Step(formula, function, tuple(waits))
            name = function.__name__.removesuffix("_start")
            refuse(f"{self.name}.{name}", self._faults(step, {name}))
            next(column for column in self.columns if column.name == name).start = step
            self._cells.clear()
            return function

        return declare

    def running(
        self, *, words: str, formula: str, symbol: str = "", unit: str = "", optional: Sequence[str] = ()
    ) -> Callable[[Function], Function]:
        """Declare a named column that adds up, from the start of a run of rows, what the decorated function gives for each.

        Formula and function are those of the share of one row.
        """

        def declare(function: Function) -> Function:
            above = f"previous_{function.__name__}"

            def summed(so_far: Any, *arguments: Any, **tables: Any) -> Any:
                return so_far + function(*arguments, **tables)

            share = inspect.signature(function)
            first = inspect.Parameter(above, inspect.Parameter.POSITIONAL_OR_KEYWORD)
            summed.__name__ = function.__name__
            summed.__signature__ = share.replace(parameters=[first, *share.parameters.values()])  # type: ignore[attr-defined]
            declared = self.column(words=words, formula=f"{above}+{formula}", symbol=symbol, unit=unit, named=True, optional=optional)
            declared(summed)
            self.columns[-1].start = Step(formula, function)
            self._cells.clear()
            return function

        return declare

    def cell(self, row: Row, column: Column) -> str:
        """Return the key of a cell's value."""
        return f"{self.name}_{row.key}_{column.name}"

    @staticmethod
    def is_named(row: Row, column: Column) -> bool:
        """Whether a cell has a defined name, so that other declarations may use it."""
        return row.named and column.named

    def names(self) -> list[str]:
        """Return the keys of the cells that other declarations may use."""
        return [self.cell(row, column) for row in self.rows for column in self.columns if self.is_named(row, column)]

    def needs(self) -> list[str]:
        """Return the values of the model on which the grid rests."""
        found = (use.outside for _, _, _, uses in self.cells() for use in uses if use.outside)
        return list(dict.fromkeys(found))

    def cells(self) -> list[tuple[Row, Column, Step, list[Use]]]:
        """Return every cell, row by row, with what each parameter of its step stands for."""
        if not self._cells:
            self._cells += [
                (row, column, step, [self._use(row, column, step, name) for name in (*step.parameters, *step.waits)])
                for row in self.rows
                for column in self.columns
                if column.stands_in(row)
                for step in [column.step_of(row)]
            ]
        return self._cells

    def _use(self, row: Row, column: Column, step: Step, parameter: str) -> Use:
        inside, number = self._inside(row, parameter), row.numbers.get(parameter)
        outside = "" if inside or number is not None else row.given.get(parameter, parameter)
        return Use(parameter, outside, inside, number, parameter in column.optional, parameter not in step.waits)

    def _inside(self, row: Row, parameter: str) -> tuple[Row, Column] | None:
        """Return the row and column of the cell that a parameter stands for, if it is a cell of this grid."""
        columns = {column.name: column for column in self.columns}
        if parameter in columns:
            return row, columns[parameter]
        for prefix, distance in ABOVE.items():
            name = parameter.removeprefix(prefix)
            if parameter.startswith(prefix) and name in columns:
                return self.rows[self.rows.index(row) - distance], columns[name]
        return None

    def _faults(self, step: Step, itself: set[str]) -> list[str]:
        found = xl.faults(step.formula)
        used, parameters = set(xl.names_in(step.formula)), set(step.parameters)
        used = {name for name in used if not any(name.startswith(f"{table}_") for table in step.tables)}
        found += [f"formula uses {name}, not a parameter" for name in sorted(used - parameters)]
        found += [f"function needs {name}, not in the formula" for name in sorted(parameters - used)]
        found += [f"waits for {name}, which the formula uses" for name in step.waits if name in parameters]
        found += [f"needs itself: {name}" for name in sorted(itself & parameters)]
        return found
