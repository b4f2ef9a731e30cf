"""Grids: instances of one template, laid out as rows and columns, such as the rows of a root or a list of arrangements.

A grid is declared column by column: each column is a step of its template. Names that a row gives stand for another value
in each row; a row may bring figures of its own; all other names are values of the model.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from workbook_builder.language.faults import common_faults, refuse
from workbook_builder.language.sources import Citation
from workbook_builder.language.steps import Calculation, Function, Given, Kind, Step
from workbook_builder.language.templates import Instance, Template, chained


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
class Column:
    """How a step is laid out: ``named`` cells have a defined name, ``wide`` texts run on over the cells beside them.

    An ``answer`` stands only in rows that are named: in a search that is the last row, which holds its answer.
    """

    step: Step
    named: bool = False
    wide: bool = False
    answer: bool = False

    @property
    def name(self) -> str:
        """The name of the step."""
        return self.step.name

    def stands_in(self, row: Row) -> bool:
        """Whether there is a cell of this column in a row."""
        return row.named or not self.answer


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
    template: Template = field(init=False)

    def __post_init__(self) -> None:
        self.template = Template(self.name)

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
            name = function.__name__
            refuse(f"{self.name}.{name}", common_faults(f"{self.name}_{name}", words, unit))
            self._add(
                Step(
                    name=name,
                    symbol=symbol,
                    unit=unit,
                    words=words,
                    formula=formula,
                    function=function,
                    kind=kind,
                    optional=frozenset(optional),
                    waits=tuple(waits),
                    single=self.chart or self.single,
                ),
                named=named,
                wide=wide,
                answer=answer,
            )
            return function

        return declare

    def _add(self, step: Step, *, named: bool, wide: bool = False, answer: bool = False) -> None:
        self.template.add(step)
        self.columns.append(Column(step, named, wide, answer))

    def start(self, *, formula: str, waits: Sequence[str] = ()) -> Callable[[Function], Function]:
        """Declare the decorated function as the column of that name in rows that start a run."""

        def declare(function: Function) -> Function:
            name = function.__name__.removesuffix("_start")
            column = self.template.step_of(name)
            refuse(f"{self.name}.{name}", [] if column else ["replaces no column"])
            assert column is not None
            self.template.start(column.instead(formula, function, waits))
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
            self.template.start(self.columns[-1].step.instead(formula, function))
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

    @cached_property
    def instances(self) -> tuple[Instance, ...]:
        """The rows as instances of the grid's template, each knowing the row above."""
        return chained([self._instance(row) for row in self.rows])

    def _instance(self, row: Row) -> Instance:
        brought = {name: Given(number) for name, number in row.numbers.items()}
        steps = frozenset(column.name for column in self.columns if column.stands_in(row))
        return Instance(
            f"{self.name}_{row.key}",
            self.template,
            {**row.given, **brought},
            row.label,
            row.start,
            nothing=0.0 if self.chart else None,
            family=self.name,
            steps=steps,
        )

    @cached_property
    def calculations(self) -> tuple[Calculation, ...]:
        """The calculations of all cells, row by row."""
        return tuple(one for instance in self.instances for one in instance.calculations())

    def with_words(self, said: Callable[[str, str], str], source: Citation) -> Grid:
        """Return the same grid with another source, and each of its texts as ``said`` makes it of the text and what it is."""
        steps = {step.name: replace(step, words=said(step.words, f"column {step.name}")) for step in self.template.steps}
        starts = {name: replace(step, words=steps[name].words) for name, step in self.template.starts.items()}
        grid = replace(
            self,
            title=said(self.title, "title"),
            words=said(self.words, "words"),
            source=source,
            rows=tuple(replace(row, label=said(row.label, f"row {row.key}")) for row in self.rows),
            columns=[replace(column, step=steps[column.name]) for column in self.columns],
            numbers={name: (said(words, f"number {name}"), unit) for name, (words, unit) in self.numbers.items()},
        )
        grid.template = Template(self.name, list(steps.values()), starts)
        return grid
