"""The model: chapters in reading order, the graph between their values, and ``evaluate``.

Inside, "nothing" is NaN among numbers and empty text among texts; the public ``evaluate`` gives ``None`` for a single
value that is not there, so that a number never means "no answer".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

import numpy as np

from workbook_builder.evaluation import outcome, printed, proof
from workbook_builder.evaluation.entries import read_entry
from workbook_builder.evaluation.tasks import Task
from workbook_builder.language.declare import ENTRIES, Chapter, Check, Constant, EntryTable, Function, Input, Quantity
from workbook_builder.language.errors import DeclarationError, DesignError, Problem
from workbook_builder.language.filling import Words, filled_in
from workbook_builder.language.grids import Column, Grid, Step, Use
from workbook_builder.language.grids import Row as GridRow
from workbook_builder.language.profiles import DEFAULT as DEFAULT_PROFILE
from workbook_builder.language.profiles import Profile, load_profile
from workbook_builder.language.tables import Table
from workbook_builder.system import CHAPTERS

Values = dict[str, Any]
Node = Input | Quantity | Grid


@dataclass(frozen=True, slots=True)
class GridCell:
    """One cell of a grid, with what the parameters of its step stand for."""

    grid: Grid
    row: GridRow
    column: Column
    step: Step
    uses: list[Use]


@dataclass(frozen=True)
class Model:
    """All declarations of all chapters together with one profile."""

    chapters: tuple[Chapter, ...]
    profile: Profile

    def __post_init__(self) -> None:
        chapters, profile, words = filled_in(self.chapters, self.profile)
        object.__setattr__(self, "chapters", chapters)
        object.__setattr__(self, "profile", profile)
        object.__setattr__(self, "_words", words)
        self._check_names()
        self._check_that_the_design_stands_alone()
        object.__setattr__(self, "_order", self._sorted())
        behind = {check.name: self._inputs_behind(check.name) for check in self.checks}
        object.__setattr__(self, "_behind", behind)

    def _check_names(self) -> None:
        names = [constant.name for constant in self.constants] + [node.name for node in self._all_nodes()]
        names += [name for table in self.tables for name in table.names()]
        twice = sorted({name for name in names if names.count(name) > 1})
        names += [name for grid in self.grids for name in grid.names()]
        unknown = sorted({need for needs in self.graph().values() for need in needs} - set(names))
        problems = [Problem("model", "declared twice", name) for name in twice]
        problems += [Problem("model", "needed, but declared nowhere", name) for name in unknown]
        if problems:
            raise DeclarationError(problems)

    def _check_that_the_design_stands_alone(self) -> None:
        """Refuse a model in which a reading from the installed system could sway the verdict of the design."""
        design = [entry.name for entry in self.design_inputs]
        elsewhere = {entry.name for entry in self.inputs} - set(design)
        problems = [
            Problem(f"{name} of the design", "rests on entries of the installed system", ", ".join(sorted(found)))
            for name in [*(check.name for check in self.checks), *design]
            if (found := self.rests_on(name) & elsewhere)
        ]
        if problems:
            raise DeclarationError(problems)

    @cached_property
    def constants(self) -> list[Constant]:
        """Constants of the chapters, then the values of the profile."""
        return [constant for chapter in self.chapters for constant in chapter.constants] + list(self.profile.values)

    @cached_property
    def tables(self) -> list[Table]:
        """Tables of the chapters, then those of the profile."""
        return [table for chapter in self.chapters for table in chapter.tables] + list(self.profile.tables)

    @cached_property
    def inputs(self) -> list[Input]:
        """Inputs in the order in which a person collects them."""
        return [entry for chapter in self.chapters for entry in chapter.inputs]

    @cached_property
    def design_inputs(self) -> list[Input]:
        """Inputs of the design: those that must be accepted before it is judged."""
        return [entry for chapter in self.chapters if chapter.typed_on == ENTRIES for entry in chapter.inputs]

    def chapter(self, name: str) -> Chapter:
        """Return a chapter by its name, as it is under this profile."""
        return next(chapter for chapter in self.chapters if chapter.name == name)

    def said(self, text: str, place: str) -> str:
        """Return a text of a sheet with the figures of this profile filled in, as in declared words.

        Raises
        ------
        DeclarationError
            if it names a figure that there is not.

        """
        words = Words(self._words.figures)  # type: ignore[attr-defined]
        filled = words.filled(text, place)
        if words.problems:
            raise DeclarationError(words.problems)
        return filled

    @cached_property
    def entry_tables(self) -> list[EntryTable]:
        """Tables into which inputs are typed: those of the design first."""
        return self.design_tables + self.other_tables

    @cached_property
    def design_tables(self) -> list[EntryTable]:
        """Tables into which inputs of the design are typed."""
        return [table for chapter in self.chapters if chapter.typed_on == ENTRIES for table in chapter.entry_tables]

    @cached_property
    def other_tables(self) -> list[EntryTable]:
        """Tables into which inputs of the installed system are typed."""
        return [table for chapter in self.chapters if chapter.typed_on != ENTRIES for table in chapter.entry_tables]

    @cached_property
    def quantities(self) -> list[Quantity]:
        """Calculated quantities in reading order."""
        return [quantity for chapter in self.chapters for quantity in chapter.quantities]

    @cached_property
    def checks(self) -> list[Check]:
        """Checks: safety first, then performance, in reading order."""
        checks = [check for chapter in self.chapters for check in chapter.checks]
        return sorted(checks, key=lambda check: not check.safety)

    @cached_property
    def grids(self) -> list[Grid]:
        """Grids in reading order."""
        return [grid for chapter in self.chapters for grid in chapter.grids]

    @cached_property
    def nodes(self) -> dict[str, Node]:
        """Return every declaration that is evaluated, by its name."""
        return {node.name: node for node in self._all_nodes()}

    def _all_nodes(self) -> list[Node]:
        return [*self.inputs, *self.quantities, *self.checks, *self.grids]

    def graph(self) -> dict[str, list[str]]:
        """Return what each evaluated declaration needs, by name."""
        return {name: node.needs() for name, node in self.nodes.items()}

    @cached_property
    def _graph(self) -> dict[str, list[str]]:
        return self._graph_of_nodes()

    def _graph_of_nodes(self) -> dict[str, list[str]]:
        """Return the graph with the cells of a grid replaced by the grid as a whole."""
        home = {name: grid.name for grid in self.grids for name in grid.names()}
        return {name: [home.get(need, need) for need in needs] for name, needs in self.graph().items()}

    def _sorted(self) -> tuple[str, ...]:
        try:
            order = tuple(TopologicalSorter(self._graph_of_nodes()).static_order())
        except CycleError as error:
            raise DeclarationError([Problem("model", "values need each other in a circle", str(error.args[1]))]) from error
        nodes = self.nodes
        return tuple(name for name in order if name in nodes)

    def kind_of(self, name: str) -> str:
        """Return whether a name stands for a constant, a number, a text, a truth value ("flag") or a check."""
        return self._kinds[name]

    @cached_property
    def _kinds(self) -> dict[str, str]:
        kinds = {constant.name: "constant" for constant in self.constants}
        kinds |= {entry.name: "number" if entry.numeric else "text" for entry in self.inputs}
        kinds |= {node.name: node.kind for node in self.quantities}
        kinds |= {check.name: "check" for check in self.checks}
        for grid in self.grids:
            kinds |= {grid.cell(row, column): column.kind for row, column, _, _ in grid.cells() if grid.is_named(row, column)}
        return kinds

    def inputs_behind(self, check: str) -> list[Input]:
        """Return the required inputs on which a check rests, in the order of the input sheet."""
        behind: dict[str, list[Input]] = self._behind  # type: ignore[attr-defined]
        return behind[check]

    def _inputs_behind(self, name: str) -> list[Input]:
        found = self.rests_on(name)
        return [entry for entry in self.inputs if entry.name in found and entry.blank == "required"]

    def rests_on(self, name: str) -> set[str]:
        """Return the names of everything on which a value rests, itself included."""
        graph, found, todo = self._graph, set(), [name]
        while todo:
            current = todo.pop()
            if current not in found:
                found.add(current)
                todo += graph.get(current, [])
        return found

    def all_values(self, inputs: Mapping[str, Any]) -> Values:
        """Evaluate everything that the workbook shows, with NaN or empty text where there is no answer."""
        with np.errstate(all="ignore"):
            values = self._walked(inputs, self._order)  # type: ignore[attr-defined]
            for check in self.checks:
                values |= outcome.explain(check, self.inputs_behind(check.name), values)
        for table in self.entry_tables:
            values |= {
                f"row_status_{item}": outcome.row_status([values[f"status_{name}"] for name in table.inputs(item)])
                for item, _ in table.items
            }
        values |= self.proof.values
        values |= outcome.overall(self.checks, self.design_inputs, values)
        return values | printed.shown(values)

    def values_behind(self, names: Iterable[str], inputs: Mapping[str, Any]) -> Values:
        """Evaluate the named inputs and quantities, and only what they rest on."""
        needed = set().union(*map(self.rests_on, names))
        with np.errstate(all="ignore"):
            return self._walked(inputs, [name for name in self._order if name in needed])  # type: ignore[attr-defined]

    def _walked(self, inputs: Mapping[str, Any], order: Iterable[str]) -> Values:
        """Evaluate what is declared, in an order in which each comes after what it needs."""
        values: Values = {constant.name: constant.value for constant in self.constants}
        for name in order:
            node = self.nodes[name]
            if isinstance(node, Input):
                values |= read_entry(node, inputs.get(name), values)
            elif isinstance(node, Grid):
                self._fill(node, values)
            else:
                values[name] = self._tasks[name][0].run(values)
        return values

    @cached_property
    def proof(self) -> proof.Proof:
        """Published examples worked by these declarations; they do not depend on a design."""
        return proof.make_proof(self)

    @cached_property
    def cells(self) -> dict[str, GridCell]:
        """Every cell of every grid, by the key of its value."""
        return {grid.cell(cell[0], cell[1]): GridCell(grid, *cell) for grid in self.grids for cell in grid.cells()}

    def is_text(self, name: str) -> bool:
        """Whether a value of the model, or a cell of a grid, is a text."""
        return (self.cells[name].column.kind if name in self.cells else self.kind_of(name)) in ("text", "check")

    def task(self, key: str) -> Task:
        """Return the calculation of a quantity, a check or a cell of a grid by the key of its value."""
        return self._by_key[key]

    @cached_property
    def _by_key(self) -> dict[str, Task]:
        return {task.key: task for tasks in self._tasks.values() for task in tasks}

    def _fill(self, grid: Grid, values: Values) -> None:
        """Compute every cell of a grid. Arrays of designs do without the grids that are for the eye only."""
        if (grid.chart or grid.single) and any(np.ndim(values[name]) for name in grid.needs()):
            values |= {
                grid.cell(row, column): "" if column.kind == "text" else np.nan
                for row, column, _, _ in grid.cells()
                if grid.is_named(row, column)
            }
            return
        for task in self._tasks[grid.name]:
            values[task.key] = task.run(values)

    @cached_property
    def _tasks(self) -> dict[str, list[Task]]:
        tasks = {node.name: [self._task_of(node)] for node in (*self.quantities, *self.checks)}
        return tasks | {grid.name: [self._task_in(grid, cell) for cell in grid.cells()] for grid in self.grids}

    def _task_of(self, node: Quantity) -> Task:
        needed = [name for name in node.needs() if name not in node.optional]
        optional = [parameter for parameter in node.parameters if parameter in node.optional]
        return self._task(
            node.name, node.kind, outcome.nothing_for(node), node.function, node.tables, tuple(node.parameters), needed, optional
        )

    def _task_in(self, grid: Grid, cell: tuple[GridRow, Column, Step, list[Use]]) -> Task:
        row, column, step, uses = cell
        arguments = tuple(use.key(grid) if use.number is None else use.number for use in uses if use.argument)
        needed = [use.key(grid) for use in uses if use.number is None and not use.optional]
        optional = [use.outside for use in uses if use.optional]
        nothing: Any = 0.0 if grid.chart else "" if column.kind == "text" else np.nan
        return self._task(grid.cell(row, column), column.kind, nothing, step.function, step.tables, arguments, needed, optional)

    def _task(
        self,
        key: str,
        kind: str,
        nothing: Any,
        function: Function,
        tables: list[str],
        arguments: tuple[str | float, ...],
        needed: list[str],
        optional: list[str],
    ) -> Task:
        known = {table.name: table for table in self.tables}
        judged = tuple(name for name in needed if self._kinds.get(name) == "check")
        constants = {constant.name for constant in self.constants}
        return Task(
            key,
            kind,
            nothing,
            function,
            arguments,
            {name: known[name] for name in tables},
            tuple(name for name in needed if name not in judged and name not in constants),
            judged,
            tuple(f"status_{name}" for name in optional if isinstance(self.nodes.get(name), Input)),
        )


@lru_cache(maxsize=8)
def model_for(profile: Profile) -> Model:
    """Return the model of all chapters with one profile."""
    return Model(CHAPTERS, profile)


LISTED = "the command workbook-builder inputs lists them"


def unknown_inputs(model: Model, names: Iterable[str], place: str) -> list[Problem]:
    """Return a problem for each name that is no input, with the closest one that is."""
    known = [entry.name for entry in model.inputs]
    return [
        Problem(place, "there is no such input", name, advice=f"did you mean {close[0]}?" if close else LISTED)
        for name in names
        if name not in known
        for close in [get_close_matches(name, known, 1)]
    ]


def evaluate(inputs: Mapping[str, Any], profile: str | Path = DEFAULT_PROFILE) -> Values:
    """Judge a design, or many at once.

    Parameters
    ----------
    inputs
        by the names of the inputs: numbers in the input's unit, texts, or arrays that broadcast against each other.
        What is missing or not accepted makes what rests on it ``None`` (NaN in arrays) and its checks INCOMPLETE.
    profile
        key of a built-in profile, or the path of a profile folder.

    Returns
    -------
    every value used with its status, every quantity, ``check_…`` and ``verdict``, by name.

    Raises
    ------
    DesignError
        if a name is no input.
    ProfileError
        if there is no such profile, or it is faulty.

    """
    model = model_for(load_profile(profile))
    problems = unknown_inputs(model, inputs, "evaluate")
    if problems:
        raise DesignError(problems)
    values = model.all_values(inputs)
    public = [entry.name for entry in model.inputs] + [f"status_{entry.name}" for entry in model.inputs]
    public += [node.name for node in (*model.quantities, *model.checks)] + ["verdict"]
    return {name: _public(values[name]) for name in public}


def _public(value: Any) -> Any:
    if np.ndim(value) or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return value or None
    if np.isnan(value):
        return None
    return float(value)
