"""The proof: published examples worked by the workbook's own formulas, and whether they come out as published.

An example is data: what is given and what the source prints. Everything between the two is taken from the model: its
quantities, checks and cells of grids, each with another set of names. So a formula that is changed is changed in the
proof as well, and nothing is copied by hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from workbook_builder.evaluation.entries import ENTERED
from workbook_builder.evaluation.proof_examples import FILE, NOTHING, Example, Result, read_examples
from workbook_builder.evaluation.proof_lines import LINES
from workbook_builder.evaluation.proof_words import AGREES, BAD, CALCULATES, DIFFERS, GOOD, HANDSHAKE_BLANK, MISCALCULATES
from workbook_builder.language.declare import Constant, Input, Quantity
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.tables import KEY_DIGITS, round_half_away
from workbook_builder.language.wording import number_text

if TYPE_CHECKING:
    from workbook_builder.evaluation.model import Model
    from workbook_builder.evaluation.tasks import Task

ACCEPTED = "proof_accepted"  # stands for the status of every input of an example


@dataclass(frozen=True)
class Part:
    """One value of an example: given, or calculated by the declaration that has this name in the model."""

    name: str
    key: str
    given: float | str | None
    label: str
    symbol: str
    unit: str


@dataclass
class Chain:
    """An example worked under one profile: its values in the order of calculation, and what they are called here."""

    example: Example
    parts: list[Part] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    results: dict[str, Result] = field(default_factory=dict)


@dataclass(frozen=True)
class Proof:
    """All examples under one profile, and the reference's value of every cell of the sheet."""

    chains: tuple[Chain, ...]
    values: Mapping[str, Any]

    @property
    def lines(self) -> int:
        """How many lines must agree."""
        return sum(len(chain.results) for chain in self.chains) + len(LINES)


def make_proof(model: Model, path: Path = FILE) -> Proof:
    """Return the examples that hold under the model's profile, worked by the reference.

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
    values: dict[str, Any] = {}
    for chain in chains:
        values |= _worked(model, chain)
    values |= _lines()
    words = [word for key, word in values.items() if key.endswith("_agreement")]
    agreeing = float(sum(word == AGREES for word in words))
    right = agreeing == len(words)
    values |= {
        "proof_agreeing": agreeing,
        "calculation_ok": CALCULATES if right else MISCALCULATES,
        "proof_meaning": meaning(right, len(words) - agreeing),
        "proof_handshake": HANDSHAKE_BLANK,
        "proof_nothing": "",
    }
    return Proof(tuple(chains), values)


def meaning(right: bool, differing: float) -> str:
    """Return the sentence beside the word that says whether this program calculates correctly."""
    return GOOD if right else f"{number_text(differing)} {BAD}"


def _chain(model: Model, example: Example, problems: list[Problem]) -> Chain:
    given, chain, profile = example.given(model.profile.key), Chain(example), model.profile.key
    where = f"proof.toml [{example.key}]"
    constants = {constant.name: constant for constant in model.constants}
    done: set[str] = set()

    def visit(name: str) -> None:
        if name in done or (name in constants and name not in given):
            return
        done.add(name)
        node = model.nodes.get(name)
        if name not in given:
            if isinstance(node, Quantity):
                for parameter in node.needs():
                    visit(parameter)
            elif name in model.cells:
                for use in model.cells[name].uses:
                    if use.number is None:
                        visit(use.key(model.cells[name].grid))
                    else:
                        problems.append(Problem(where, "a row that brings numbers cannot be worked alone", name))
            else:
                fault = "is needed and not given" if isinstance(node, Input) else "is no value of the model"
                problems.append(Problem(where, fault, name, advice="give it as an input or leave it blank on purpose"))
                return
        elif node is None and name not in model.cells and name not in constants:
            problems.append(Problem(where, "is no value of the model", name))
            return
        key = f"proof_{example.key}_{name}"
        chain.names[name] = key
        chain.parts.append(Part(name, key, given.get(name), *_described(model, name, constants)))

    chain.results = {one.name: one for one in example.results if not one.profiles or profile in one.profiles}
    for name in chain.results:
        visit(name)
    problems += [Problem(where, "is given and needed by no result", name) for name in given if name not in done]
    chain.parts.sort(key=lambda part: part.given is None)  # what is given stands first; the order is kept otherwise
    return chain


def _described(model: Model, name: str, constants: Mapping[str, Constant]) -> tuple[str, str, str]:
    if name in constants:
        return constants[name].label, constants[name].symbol, constants[name].unit
    if name in model.cells:
        cell = model.cells[name]
        return f"{cell.row.label}: {cell.column.words}", cell.column.symbol, cell.column.unit
    node: Any = model.nodes[name]
    return node.label, getattr(node, "symbol", ""), getattr(node, "unit", "")


def _worked(model: Model, chain: Chain) -> dict[str, Any]:
    """Return the values of one example by the reference functions of the model, and whether they agree."""
    values: dict[str, Any] = {constant.name: constant.value for constant in model.constants} | {ACCEPTED: ENTERED}
    found: dict[str, Any] = {}
    with np.errstate(all="ignore"):
        for part in chain.parts:
            if part.given is None:
                values[part.key] = _renamed(model.task(part.name), chain.names).run(values)
            else:
                nothing: Any = "" if model.is_text(part.name) else np.nan
                values[part.key] = nothing if part.given == NOTHING else part.given
            found[part.key] = values[part.key]
    for name, result in chain.results.items():
        found |= compared(chain.names[name], found[chain.names[name]], result.value, result.within)
    return found


def _renamed(task: Task, names: Mapping[str, str]) -> Task:
    def new(keys: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(names.get(key, key) if isinstance(key, str) else key for key in keys)

    return replace(
        task,
        key=names[task.key],
        arguments=new(task.arguments),
        needed=new(task.needed),
        judged=new(task.judged),
        statuses=tuple(ACCEPTED for _ in task.statuses),
    )


def compared(key: str, shown: Any, wanted: float | str, within: float) -> dict[str, Any]:
    """Return the difference between what is shown and what is wanted, and the word for it."""
    if isinstance(wanted, str):  # programs compare texts in any case of letters
        return {f"{key}_agreement": AGREES if str(shown).casefold() == wanted.casefold() else DIFFERS}
    difference = round_half_away(float(shown) - wanted, KEY_DIGITS)
    near = abs(difference) <= round_half_away(within, KEY_DIGITS)
    return {f"{key}_difference": difference, f"{key}_agreement": AGREES if near else DIFFERS}


def _lines() -> dict[str, Any]:
    values: dict[str, Any] = {}
    for number, line in enumerate(LINES, 1):
        key = f"proof_line{number}"
        shown = line.function(line.a, line.b)
        values |= {key: shown, f"{key}_agreement": compared(key, shown, line.expected, line.within)[f"{key}_agreement"]}
    return values
