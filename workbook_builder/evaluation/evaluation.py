"""All calculations of a workbook, carried out by the reference: declared values, lines of checks, verdict, print, proof.

Inside, "nothing" is NaN among numbers and empty text among texts; the public ``evaluate`` gives ``None`` for a single
value that is not there, so that a number never means "no answer".
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache
from graphlib import TopologicalSorter
from pathlib import Path

import numpy as np

from workbook_builder.evaluation import outcome, overall, printed, wanted
from workbook_builder.evaluation.entries import raw_entries
from workbook_builder.evaluation.given import plain_inputs
from workbook_builder.evaluation.many import ManyValues
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.proof import Proof, make_proof
from workbook_builder.evaluation.proof_examples import FILE
from workbook_builder.evaluation.tasks import Task, public
from workbook_builder.language.declare import Check
from workbook_builder.language.errors import DeclarationError, DesignError, Problem
from workbook_builder.language.profiles import DEFAULT, Profile, load_profile
from workbook_builder.language.steps import Calculation, Kinds
from workbook_builder.language.tables import Table
from workbook_builder.language.values import Value, Values
from workbook_builder.system import CHAPTERS


@dataclass(frozen=True, eq=False)
class Evaluation:
    """A model, and everything that its workbook shows of a design; ``examples`` is the file of the worked examples."""

    model: Model
    examples: Path = FILE

    @cached_property
    def proof(self) -> Proof:
        """Published examples worked by these declarations; they do not depend on a design."""
        return make_proof(self.model, self.examples)

    @cached_property
    def calculations(self) -> dict[str, Calculation]:
        """Every calculation by its key: those that depend on the design, each after those on which it rests, and the proof's."""
        found = {one.key: one for one in self._of_a_design}
        twice = sorted({one.key for one in self._of_a_design if found[one.key] is not one})
        twice += sorted(set(found) & set(self.proof.calculations))
        if twice:
            raise DeclarationError(Problem("evaluation", "two calculations have one key", key) for key in twice)
        return {key: found[key] for key in self._order} | self.proof.calculations

    @cached_property
    def _of_a_design(self) -> tuple[Calculation, ...]:
        return (*self.model.declared, *self._shown)

    @cached_property
    def _order(self) -> tuple[str, ...]:
        """The keys of a design's calculations; nothing that is declared rests on what is shown of it."""
        needs = {one.key: one.needs for one in self._shown}
        shown = (key for key in TopologicalSorter(needs).static_order() if key in needs)
        return (*(one.key for one in self.model.declared), *shown)

    @cached_property
    def _shown(self) -> tuple[Calculation, ...]:
        return tuple(self._lines())

    def _lines(self) -> Iterator[Calculation]:
        """Yield what is shown of the declared values: lines of checks, rows of tables, the verdict, what is printed."""
        for wait in wanted.waits(self.model.checks, self.model.design_inputs):
            yield from wait.calculations()
        for check in self.model.checks:
            yield from outcome.line_of(check, self.model.inputs_behind(check.name)).calculations()
        for table in self.model.entry_tables:
            for row in outcome.row_statuses(table):
                yield from row.calculations()
        yield from overall.overall(self.model.checks, self.model.design_inputs)
        yield from printed.calculations(self.model)

    @cached_property
    def kinds(self) -> Kinds:
        """The kinds of all values, and which entries have a status."""
        kinds = {constant.name: "constant" for constant in self.model.constants}
        kinds |= {one.key: str(one.step.kind) for one in self.calculations.values()}
        kinds |= {entry.name: "number" if entry.numeric else "text" for entry in self.model.inputs}
        kinds |= {one.key: "check" for one in self.calculations.values() if isinstance(one.step, Check)}
        kinds |= self.proof.kinds
        statuses = {entry.name: f"status_{entry.name}" for entry in self.model.inputs} | self.proof.statuses
        return Kinds(kinds, statuses)

    @cached_property
    def tasks(self) -> Mapping[str, Task]:
        """Every calculation made ready when it is first asked for, by its key."""
        return _Tasks(self.calculations, self.kinds, {table.name: table for table in self.model.tables})

    @cached_property
    def _fixed(self) -> Values:
        """The values that no design changes: constants, and the proof as the reference works it."""
        values: Values = {constant.name: constant.value for constant in self.model.constants} | dict(self.proof.given)
        with np.errstate(all="ignore"):
            for key in self.proof.calculations:
                values[key] = self.tasks[key].run_single(values)
        return values

    def all_values(self, inputs: Mapping[str, Value]) -> Values:
        """Evaluate everything that the workbook shows, with NaN or empty text where there is no answer."""
        values = self.start(inputs)
        self.carry_out(self._order, values, many=any(map(np.ndim, inputs.values())))
        return values

    def values_of(self, inputs: Mapping[str, Value], names: Iterable[str]) -> Values:
        """Evaluate some values of single inputs and all on which they rest, and nothing else."""
        values = self.start(inputs)
        self.carry_out(self.behind(names), values, many=False)
        return values

    def behind(self, names: Iterable[str]) -> list[str]:
        """Return the keys of calculations and of all on which they rest, each after those on which it rests itself."""
        needed: set[str] = set()
        todo = [name for name in names if name in self.calculations]
        while todo:
            one = todo.pop()
            if one not in needed:
                needed.add(one)
                todo += [need for need in self.calculations[one].needs if need in self.calculations]
        return [key for key in self._order if key in needed] + [key for key in self.proof.calculations if key in needed]

    def resting_on(self, keys: Iterable[str]) -> set[str]:
        """Return some keys, of calculations or entries, and those of all calculations that rest on them."""
        found = set(keys)
        for key, one in self.calculations.items():  # each after those on which it rests
            if not found.isdisjoint(one.needs):
                found.add(key)
        return found

    @cached_property
    def for_one_at_a_time(self) -> frozenset[str]:
        """What is for the eye of one design, and what rests on it."""
        return frozenset(self.resting_on(key for key, one in self.calculations.items() if one.step.single))

    @cached_property
    def worked_as_arrays(self) -> Set[str]:
        """What is worked by functions that take arrays: all but words for the eye of one design, and what is said of them."""
        grids = {grid.name for grid in self.model.grids}
        cells = {key for key, one in self.calculations.items() if one.family in grids}
        numbers = {key for key, one in self.calculations.items() if one.step.kind == "number" and not one.step.single}
        return (self.calculations.keys() - self.for_one_at_a_time) | cells | numbers | self.model.varied

    def start(self, inputs: Mapping[str, Value]) -> Values:
        """Return what is known of a design before anything is calculated: its entries, constants and the proof."""
        return self._fixed | raw_entries(inputs, self.model.inputs)

    def carry_out(self, keys: Iterable[str], values: Values, *, many: bool) -> None:
        """Add to the values those of calculations, each of which comes after those on which it rests; ``many`` for arrays."""
        with np.errstate(all="ignore"):
            for key in keys:
                values[key] = self.tasks[key].run(values) if many else self.tasks[key].run_single(values)


class _Tasks(dict[str, Task]):
    """Tasks by the keys of their calculations; most commands need a part of them."""

    def __init__(self, calculations: Mapping[str, Calculation], kinds: Kinds, tables: Mapping[str, Table]) -> None:
        super().__init__()
        self._calculations, self._kinds, self._tables = calculations, kinds, tables

    def __missing__(self, key: str) -> Task:
        self[key] = made = Task.of(self._calculations[key], self._kinds, self._tables)
        return made


@lru_cache(maxsize=8)
def evaluation_for(profile: Profile) -> Evaluation:
    """Return the evaluation of all chapters with one profile."""
    return Evaluation(Model(CHAPTERS, profile))


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


def evaluate(inputs: Mapping[str, Value], profile: str | Path = DEFAULT, names: Iterable[str] | None = None) -> Values:
    """Judge a design, or many at once.

    A hundred thousand designs are worked in parts; with ``names`` they take seconds and little memory.

    Parameters
    ----------
    inputs
        by the names of the inputs: numbers in the input's unit, pint quantities of a unit that can be converted into it, texts, or
        arrays that broadcast against each other.
        What is missing or not accepted makes what rests on it ``None`` (NaN in arrays) and its checks INCOMPLETE.
    profile
        key of a built-in profile, or the path of a profile folder.
    names
        of the values wanted; omitted: all. Of many designs, lists that are for the eye of one are worked when they are asked for.

    Returns
    -------
    every value used with its status, every quantity, every cell of the tables by its key (``balance_jan_available``), every
    ``check_…``, its ``margin_…``, ``verdict_match`` and ``verdict``, by name.

    Raises
    ------
    DesignError
        if a name is no input, or none of a value, or a value is of a kind that no cell holds, of another unit, or of a shape that does
        not go with the others.
    ProfileError
        if there is no such profile, or it is faulty.

    """
    evaluation = evaluation_for(load_profile(profile))
    model = evaluation.model
    problems = unknown_inputs(model, inputs, "evaluate")
    public_ones = public_names(model)
    wanted = public_ones if names is None else list(names)
    known = set(public_ones)
    problems += [Problem("evaluate", "there is no such value", name) for name in wanted if name not in known]
    if problems:
        raise DesignError(problems)
    plain = plain_inputs(model, inputs, "evaluate")
    if not any(map(np.ndim, plain.values())):
        values = evaluation.all_values(plain) if names is None else evaluation.values_of(plain, wanted)
        return {name: public(values[name]) for name in wanted}
    return ManyValues(evaluation, plain, known, [name for name in wanted if names is not None or name not in evaluation.for_one_at_a_time])


def public_names(model: Model) -> list[str]:
    """Return the names of what ``evaluate`` gives."""
    names = [entry.name for entry in model.inputs] + [f"status_{entry.name}" for entry in model.inputs]
    names += [node.name for node in (*model.quantities, *model.checks)]
    names += [one.key for grid in model.grids if not grid.chart for one in grid.calculations]
    return names + [f"margin_{check.name}" for check in model.checks if check.at_least or check.at_most] + ["verdict_match", "verdict"]
