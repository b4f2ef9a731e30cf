"""All calculations of a workbook, carried out by the reference: declared values, lines of checks, verdict, print, proof.

Inside, "nothing" is NaN among numbers and empty text among texts; the public ``evaluate`` gives ``None`` for a single
value that is not there, so that a number never means "no answer".
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property, lru_cache
from graphlib import TopologicalSorter
from pathlib import Path

import numpy as np

from workbook_builder.evaluation import outcome, overall, printed, wanted
from workbook_builder.evaluation.entries import raw_entries
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.proof import Proof, make_proof
from workbook_builder.evaluation.proof_examples import FILE
from workbook_builder.evaluation.tasks import Task
from workbook_builder.language.declare import Check
from workbook_builder.language.errors import DeclarationError, DesignError, Problem
from workbook_builder.language.profiles import DEFAULT, Profile, load_profile
from workbook_builder.language.steps import Calculation, Kinds
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
        return (*self.model.declared, *self._shown())

    @cached_property
    def _needs(self) -> dict[str, list[str]]:
        return {one.key: one.needs for one in self._of_a_design}

    @cached_property
    def _order(self) -> tuple[str, ...]:
        return tuple(key for key in TopologicalSorter(self._needs).static_order() if key in self._needs)

    def _shown(self) -> Iterator[Calculation]:
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
    def tasks(self) -> dict[str, Task]:
        """Every calculation made ready, by its key."""
        tables = {table.name: table for table in self.model.tables}
        return {key: Task.of(one, self.kinds, tables) for key, one in self.calculations.items()}

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

    def start(self, inputs: Mapping[str, Value]) -> Values:
        """Return what is known of a design before anything is calculated: its entries, constants and the proof."""
        return self._fixed | raw_entries(inputs, self.model.inputs)

    def carry_out(self, keys: Iterable[str], values: Values, *, many: bool) -> None:
        """Add to the values those of calculations, each of which comes after those on which it rests; ``many`` for arrays."""
        with np.errstate(all="ignore"):
            for key in keys:
                values[key] = self.tasks[key].run(values) if many else self.tasks[key].run_single(values)


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


def evaluate(inputs: Mapping[str, Value], profile: str | Path = DEFAULT) -> Values:
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
    every value used with its status, every quantity, every cell of the tables by its key (``balance_jan_available``), every
    ``check_…``, its ``margin_…``, ``verdict_match`` and ``verdict``, by name.

    Raises
    ------
    DesignError
        if a name is no input.
    ProfileError
        if there is no such profile, or it is faulty.

    """
    evaluation = evaluation_for(load_profile(profile))
    model = evaluation.model
    problems = unknown_inputs(model, inputs, "evaluate")
    if problems:
        raise DesignError(problems)
    values = evaluation.all_values(inputs)
    return {name: public(values[name]) for name in public_names(model)}


def public_names(model: Model) -> list[str]:
    """Return the names of what ``evaluate`` gives."""
    names = [entry.name for entry in model.inputs] + [f"status_{entry.name}" for entry in model.inputs]
    names += [node.name for node in (*model.quantities, *model.checks)]
    names += [one.key for grid in model.grids if not grid.chart for one in grid.calculations]
    return names + [f"margin_{check.name}" for check in model.checks if check.at_least or check.at_most] + ["verdict_match", "verdict"]


def public(value: Value) -> Value:
    """Return a value as ``evaluate`` gives it: ``None`` where a single one is not there."""
    if np.ndim(value) or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return value or None
    return None if np.isnan(value) else float(value)
