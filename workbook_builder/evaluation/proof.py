"""The proof: published examples worked by the workbook's own formulas, and whether they come out as published.

An example is data: what is given and what the source prints. Everything between the two is an instance of a part of the
model: its very calculations, at other values. So a formula that is changed is changed in the proof as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from workbook_builder.evaluation import proof_steps
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.proof_examples import FILE, NOTHING, Example, Result, read_examples
from workbook_builder.evaluation.proof_lines import LINES
from workbook_builder.evaluation.tasks import ENTERED
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.inputs import Input
from workbook_builder.language.steps import Calculation

ACCEPTED = "proof_accepted"  # stands for the status of every input of an example


@dataclass(frozen=True)
class Part:
    """One value of an example: given, or calculated as the declaration of this name is in the model; ``typed`` if it is an input."""

    name: str
    key: str
    given: float | str | None
    label: str
    symbol: str
    unit: str
    kind: str
    typed: bool
    calculation: Calculation | None = None


@dataclass
class Chain:
    """An example worked under one profile: its values in the order of calculation, and what they are called here."""

    example: Example
    parts: list[Part] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    results: dict[str, Result] = field(default_factory=dict)


@dataclass(frozen=True)
class Proof:
    """All examples under one profile, with every calculation of the sheet."""

    chains: tuple[Chain, ...]

    @property
    def lines(self) -> int:
        """How many lines must agree."""
        return sum(len(chain.results) for chain in self.chains) + len(LINES)

    @cached_property
    def calculations(self) -> dict[str, Calculation]:
        """Every calculation by its key, each after those on which it rests."""
        return {one.key: one for one in self._calculations()}

    def _calculations(self) -> Iterator[Calculation]:
        agreements = []
        for chain in self.chains:
            yield from (part.calculation for part in chain.parts if part.calculation)
            for name, result in chain.results.items():
                instance = proof_steps.comparison(chain.names[name], result.value, result.within)
                agreements.append(instance.name("agreement"))
                yield from instance.calculations()
        yield from proof_steps.nothing().calculations()
        for instance in proof_steps.lines():
            agreements.append(instance.name("agreement"))
            yield from instance.calculations()
        yield from proof_steps.summary(agreements, float(self.lines)).calculations()

    @cached_property
    def given(self) -> Mapping[str, Any]:
        """The values that are given: those of the examples, and what stands for the status of their entries."""
        found: dict[str, Any] = {ACCEPTED: ENTERED, proof_steps.TYPED: ""}
        for part in self._given_parts():
            nothing: Any = float("nan") if part.kind in ("number", "flag", "constant") else ""
            found[part.key] = nothing if part.given == NOTHING else part.given
        return found

    def _given_parts(self) -> Iterator[Part]:
        return (part for chain in self.chains for part in chain.parts if part.given is not None)

    @cached_property
    def kinds(self) -> dict[str, str]:
        """The kinds of the values of the examples, as they are in the model; a constant that an example gives may be missing."""
        kinds = {part.key: part.kind for chain in self.chains for part in chain.parts}
        return kinds | {proof_steps.TYPED: "any"}

    @cached_property
    def statuses(self) -> dict[str, str]:
        """What stands for the status of each input of an example."""
        return {part.key: ACCEPTED for chain in self.chains for part in chain.parts if part.typed}


def make_proof(model: Model, path: Path = FILE) -> Proof:
    """Return the examples that hold under the model's profile.

    Raises
    ------
    DeclarationError
        if an example names a value that the model has not, or does not give all that a result needs.

    """
    profile = model.profile.key
    problems: list[Problem] = []
    chains = [_chain(model, example, problems) for example in read_examples(path) if not example.profiles or profile in example.profiles]
    if problems:
        raise DeclarationError(problems)
    return Proof(tuple(chains))


def _chain(model: Model, example: Example, problems: list[Problem]) -> Chain:
    given, chain, profile = example.given(model.profile.key), Chain(example), model.profile.key
    where = f"proof.toml [{example.key}]"
    inputs = {entry.name: entry for entry in model.inputs}
    constants = {constant.name: constant for constant in model.constants}
    done: dict[str, Calculation | None] = {}

    def visit(name: str) -> None:
        if name in done or (name in constants and name not in given):
            return
        worked = model.by_key.get(name)
        done[name] = None if name in given or name in inputs else worked
        if name in given:
            if worked is None and name not in constants:
                problems.append(Problem(where, "is no value of the model", name))
                return
        elif name in inputs or worked is None:
            fault = "is needed and not given" if name in inputs else "is no value of the model"
            problems.append(Problem(where, fault, name, advice="give it as an input or leave it blank on purpose"))
            return
        else:
            for need in worked.needs:
                visit(need)
        chain.names[name] = f"proof_{example.key}_{name}"

    chain.results = {one.name: one for one in example.results if not one.profiles or profile in one.profiles}
    for name in chain.results:
        visit(name)
    problems += [Problem(where, "is given and needed by no result", name) for name in given if name not in done]
    for name, key in chain.names.items():
        worked = done[name]
        calculation = worked.renamed(chain.names) if worked else None
        chain.parts.append(Part(name, key, given.get(name), *_described(model, name), name in inputs, calculation))
    chain.parts.sort(key=lambda part: part.given is None)  # what is given stands first; the order is kept otherwise
    return chain


def _described(model: Model, name: str) -> tuple[str, str, str, str]:
    """Return label, symbol, unit and kind of a value of the model."""
    for constant in model.constants:
        if constant.name == name:
            return constant.label, constant.symbol, constant.unit, "constant"
    worked = model.by_key[name]
    node = model.nodes.get(name)
    if isinstance(node, Input):
        return node.label, "", node.unit, "number" if node.numeric else "text"
    kind = "check" if name.startswith("check_") else worked.step.kind
    label = worked.label if node else f"{worked.label}: {worked.step.words}"
    return label, worked.step.symbol, worked.step.unit, kind
