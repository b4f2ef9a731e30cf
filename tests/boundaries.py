"""Designs at the edges of everything: made from the model, so that a new input or comparison brings its own.

For every input: its lowest and highest value and a hair outside, what its relations just allow and just refuse, each
choice, and what a person may type that is no answer. For every comparison, rounding and stepped look-up in a formula:
designs that meet it exactly, and designs that miss it by less and by more than the digits to which it is rounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from tests.engines import Formula
from tests.published import cases
from tests.support import example, model
from workbook_builder.declare import Input
from workbook_builder.xl import names_in

Design = dict[str, Any]
ERROR = "#DIV/0!"
"""What the reference takes for an error in an entry cell; the engines get a formula that fails."""
HAIRS = (-4e-9, -2e-9, -6e-10, -4e-10, 0.0, 4e-10, 6e-10, 2e-9, 4e-9)
"""Around a bound that is rounded to nine digits, in its unit."""
STEPS = tuple(sign * step for step in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 2.0, 4.0, 6.0, 40.0) for sign in (1, -1))
"""Around a comparison, in units of the last digit to which it is rounded."""

BASES: tuple[Design, ...] = (
    {},
    {"controller_type": "MPPT"},
    {"voc_method": "table", "module_beta_voc": None, "module_gamma_pmp": None},
    {"voc_method": "higher of both", "module_beta_unit": "V/°C", "module_beta_voc": -0.07},
    {"module_beta_unit": "mV/°C", "module_beta_voc": -70},
    {"battery_v_high": 33, "array_series": 2, "module_vmp": 16.600004, "module_pmp": None},
    {"array_series": 1, "site_t_max": -10, "module_noct": 35, "module_vmp": 22.4, "module_pmp": None,
     "battery_v_low": 22.45, "battery_v_float": 25},
    {"array_series": 1, "module_voc": 31, "module_vmp": 26, "module_pmp": None},
    {"battery_nominal": 12, "array_series": 1, "battery_chemistry": "gel", "battery_t_max": 20, "controller_nominal": 12},
    {"battery_nominal": 48, "battery_chemistry": "LiFePO4", "array_series": 4, "controller_nominal": "automatic",
     "controller_v_max": 150},
    {"site_t_min": -45, "voc_method": "table", "controller_v_max": 150},
    {"site_t_min": -45, "voc_method": "higher of both", "controller_v_max": 150},
    {"site_t_min": 30, "site_t_max": 50},
    {"array_parallel": 1, "module_vmp": 18.0, "module_pmp": None},
    {"array_parallel": 7},
    {"controller_nominal": 12},
    {"array_series": 1},
    {"array_series": 9},
)  # fmt: skip
"""Changes to the example that put every branch of the formulas to work."""


@cache
def designs(profile: str = "nec-2023") -> tuple[Design, ...]:
    """All designs, without repetition, the most different ones first."""
    return _unique([*few_designs(profile), *_at_the_inputs(profile)])


@cache
def few_designs(profile: str = "nec-2023") -> tuple[Design, ...]:
    """Those that put every branch to work, the published ones, and those around every comparison."""
    bases = [example(**base) for base in BASES]
    published = [case.inputs for case in cases() if case.profile == profile]
    return _unique([*bases, *published, {}, *_at_the_comparisons(profile, bases)])


def _unique(found: list[Design]) -> tuple[Design, ...]:
    return tuple({repr(sorted(design.items())): design for design in found}.values())


def typed(design: Mapping[str, Any]) -> dict[str, Any]:
    """A design as entries for an engine."""
    return {f"entry_{name}": Formula("=1/0") if value == ERROR else value for name, value in design.items()}


def _at_the_inputs(profile: str) -> Iterator[Design]:
    usual = model(profile).all_values(example())
    for entry in model(profile).inputs:
        own = entry.name
        for value in (None, True, ERROR, " ", "text", "12,5", 0, -1e6, 1e6):
            yield example(**{own: value})
        if entry.kind == "choice":
            for option in entry.options:
                yield example(**{own: option})
                yield example(**{own: str(option).upper()})
        if entry.kind == "number":
            yield from _at_the_bounds(entry)
            if usual[own] == usual[own] and not entry.whole:
                yield example(**{own: usual[own] * 1.00012345})
            yield from _at_the_relations(profile, entry)
            yield from _without_relations(profile, entry)


def _at_the_bounds(entry: Input) -> Iterator[Design]:
    own = entry.name
    for hair in HAIRS:
        yield example(**{own: entry.low + hair})
        yield example(**{own: entry.high + hair})
    for part in (0.123456789, 0.5, 0.987654321):
        yield example(**{own: entry.low + part * (entry.high - entry.low)})
    if entry.whole:
        for value in (entry.low + 1, entry.low + 1.5, entry.low + 10, entry.high - 0.5):
            yield example(**{own: value})


def _at_the_relations(profile: str, entry: Input) -> Iterator[Design]:
    own = entry.name
    inputs = {one.name: one for one in model(profile).inputs}
    others = {relation.other for relation in entry.relations if relation.other in inputs}
    for relation in entry.relations:
        share_of = relation.other
        if share_of in inputs:
            yield example(**{share_of: None})
            yield example(**{share_of: None, own: None})
        for around in _surroundings(profile, inputs, others - {share_of}, share_of):
            values = model(profile).all_values(around)
            for share in (relation.lowest, relation.highest):
                if share is None or not np.isfinite(values[share_of]):
                    continue
                bound = round(share * values[share_of], 9)
                yield from (around | {own: bound + hair} for hair in (*HAIRS, -1e-8, 1e-8))
                if share_of not in inputs or inputs[share_of].kind != "number":
                    continue
                yield from (around | {own: bound, share_of: values[share_of] + hair} for hair in HAIRS)
                if np.isfinite(values[own]):
                    yield from (around | {share_of: (values[own] + hair) / share} for hair in HAIRS)


def _surroundings(profile: str, inputs: Mapping[str, Input], others: set[str], share_of: str) -> Iterator[Design]:
    """The example; with the other relations out of the way; and with what the bound comes from slightly moved."""
    yield example()
    for other in others:
        if inputs[other].kind == "number":
            yield example(**{other: "refused"})
    if share_of in inputs and inputs[share_of].kind == "number":
        usual = model(profile).all_values(example())[share_of]
        yield from (example(**{share_of: usual * factor}) for factor in (1.03, 1.08))
    if share_of not in inputs:
        for source in behind(profile, share_of):
            value = example().get(source)
            if isinstance(value, float | int):
                yield from (example(**{source: value * (1 + step * 1.2345e-8)}) for step in range(1, 7))


def _without_relations(profile: str, entry: Input) -> Iterator[Design]:
    """At its bounds while what it must agree with is not known, and left blank while the others move away."""
    own, inputs = entry.name, {one.name: one for one in model(profile).inputs}
    unknown = dict.fromkeys(name for relation in entry.relations for name in behind(profile, relation.other) if name != own)
    if unknown:
        for hair in HAIRS:
            yield example(**unknown | {own: entry.low + hair})
            yield example(**unknown | {own: entry.high + hair})
    for relation in entry.relations:
        other = inputs.get(relation.other)
        if other and other.kind == "number":
            for value in np.linspace(other.low, other.high, 21):
                yield example(**{own: None, other.name: float(value)})


@cache
def _graph(profile: str) -> dict[str, list[str]]:
    declared = model(profile)
    graph = {entry.name: entry.needs() for entry in declared.inputs}
    graph |= {node.name: node.parameters for node in (*declared.quantities, *declared.checks)}
    for grid in getattr(declared, "grids", ()):
        graph |= dict.fromkeys(grid.names(), grid.needs())
    return graph


@cache
def behind(profile: str, name: str) -> frozenset[str]:
    """The inputs on which a value rests; of an input, itself too."""
    found, todo = set(), [name]
    while todo:
        current = todo.pop()
        if current not in found:
            found.add(current)
            todo += _graph(profile).get(current, [])
    return frozenset(found & {entry.name for entry in model(profile).inputs})


class Hinge(NamedTuple):
    """Where an answer turns: ``expression`` equals 0, or a whole number if ``counted``, after rounding."""

    node: str
    expression: str
    digits: int
    counted: bool = False
    stepped: tuple[str, float] | None = None


_PART = r"([^()]+(?:\([^()]*\)[^()]*)*)"
_COMPARED = re.compile(rf"ROUND\({_PART},(\d)\)(?:<=|>=|<|>)ROUND\({_PART},\d\)")
_COUNTED = re.compile(rf"ROUND(?:UP|DOWN)\(ROUND\({_PART},(\d)\),0\)")
_STEPPED = re.compile(r"MATCH\(ROUND\(([a-z_0-9]+),(\d)\),([a-z_0-9]+),1\)")


def hinges(profile: str) -> Iterator[Hinge]:
    """Every place in the declared formulas at which a hair more or less changes the answer."""
    tables = {f"{table.name}_{column.name}": column.values for table in model(profile).tables for column in table.columns}
    for node in (*model(profile).quantities, *model(profile).checks):
        for left, digits, right in _COMPARED.findall(node.formula):
            yield Hinge(node.name, f"({left})-({right})", int(digits))
        for expression, digits in _COUNTED.findall(node.formula):
            yield Hinge(node.name, expression, int(digits), counted=True)
        for name, digits, column in _STEPPED.findall(node.formula):
            for key in tables[column]:
                yield Hinge(node.name, f"({name})-({key})", int(digits), stepped=(name, key))


def _at_the_comparisons(profile: str, bases: list[Design]) -> Iterator[Design]:
    """Solve every comparison in the first base in which it decides the answer."""
    for hinge in hinges(profile):
        for levers in _levers(profile, hinge):
            yield from _first_that_decides(profile, hinge, levers, bases)
    whole = {entry.name for entry in model(profile).inputs if entry.whole}
    for name, key in (hinge.stepped for hinge in hinges(profile) if hinge.stepped):
        if name in whole:
            yield from (example(**{name: key + by}) for by in (-1, 0, 1))


def _first_that_decides(profile: str, hinge: Hinge, levers: list[str], bases: list[Design]) -> list[Design]:
    for name in levers:
        for base in bases:
            solved = _solved(profile, hinge, base, name)
            if solved.size and _decides(profile, hinge, base | {name: solved}):
                return [base | {name: float(value)} for value in solved]
    return []


def _decides(profile: str, hinge: Hinge, around: Design) -> bool:
    answers = np.ravel(model(profile).all_values(around)[hinge.node])
    refused = {"INCOMPLETE"} if hinge.stepped else {"INCOMPLETE", "nan", ""}
    return len({str(answer) for answer in answers} - refused) > 1


def _levers(profile: str, hinge: Hinge) -> list[list[str]]:
    """Inputs that move one side only, for each side, so that both sides get uneven numbers."""
    nodes = {entry.name: entry for entry in model(profile).inputs}
    sides = [frozenset().union(*(behind(profile, name) for name in names_in(side))) for side in hinge.expression.split(")-(")]
    groups = [sides[0] - sides[-1], sides[-1] - sides[0]] if len(sides) > 1 else sides
    chosen = []
    for group in groups:
        movable = [one for one in sorted(group) if nodes[one].kind == "number" and not nodes[one].whole]
        chosen.append(sorted(movable, key=lambda one: (one not in hinge.expression, one not in PREFERRED)))
    return chosen


NONE = np.array([])
PREFERRED = ("module_voc", "module_isc", "controller_v_drop", "module_vmp")


def _measure(profile: str, hinge: Hinge, base: Design, name: str, at: Any) -> Any:
    values = model(profile).all_values(base | {name: at})
    known = {one: np.asarray(values[one], dtype=float) for one in names_in(hinge.expression)}
    measured = eval(hinge.expression, {"__builtins__": {}}, known)
    return np.broadcast_to(measured, np.shape(at)).astype(float)


def _solved(profile: str, hinge: Hinge, base: Design, name: str) -> np.ndarray:
    """Solve for the input at which the hinge is missed by each step, with a secant that starts at a crossing."""
    node = next(entry for entry in model(profile).inputs if entry.name == name)
    low, high = node.low, node.high
    grid = np.linspace(low, high, 101)
    with np.errstate(all="ignore"):
        measured = _measure(profile, hinge, base, name, grid)
        target = 0.0
        if hinge.counted:
            middle = measured[np.isfinite(measured)]
            if not middle.size:
                return NONE
            target = float(np.round(np.median(middle))) or 1.0
        away = measured - target
        crossing = np.flatnonzero((np.sign(away[:-1]) * np.sign(away[1:]) <= 0) & np.isfinite(away[:-1] + away[1:]))
        if not crossing.size:
            return NONE
        wanted = target + np.array(STEPS) * 10.0**-hinge.digits
        before = np.full(len(STEPS), grid[crossing[0]])
        after = np.full(len(STEPS), grid[crossing[0] + 1])
        missed = _measure(profile, hinge, base, name, before) - wanted
        for _ in range(7):
            now = _measure(profile, hinge, base, name, after) - wanted
            slope = (now - missed) / (after - before)
            step = np.where((slope == 0) | ~np.isfinite(slope), 0.0, now / slope)
            before, missed, after = after, now, after - step
    return after[np.isfinite(after)]
