"""A fault put into a formula is noticed by some design of the tests.

Left out are the guards, which one function writes around formulas (test_xl holds it to the letter, and test_fail_safe
blanks what they wait for), and the examples of the sheet Proof, whose formulas are those of the design (test_proof holds
them to it token by token) and rest on no design.

The faulty formulas stand in cells of their own, far to the right on the sheet of the sound one. In each design they are
recalculated with the workbook; a fault is noticed if its cell shows another value than the sound cell in some design.
"""

from __future__ import annotations

import copy
import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.engines import engine, same
from tests.mutation import Mutant, mutants
from tests.published import cases
from tests.roof import every_case
from tests.strategies import as_entries, designs, ties
from tests.support import STALE, entries, example, model, whole_example
from workbook_builder.building import plan_for
from workbook_builder.emit import write
from workbook_builder.plan import Cell, Formula, address
from workbook_builder.profiles import load_profile

PROFILE = "nec-2023"
FIRST_COLUMN, ACROSS = 60, 40
# formulas whose every fault changes nothing, each with its reason
EQUAL = {
    "row_site_name": "its one literal is the exact match, and the keys are found by a sorted one as well",
    "arrangements_s1p1_modules": "one times one is one divided by one",
}
SEEDS, BATCH = (0,), 100
NOTICED = 0.87  # share of all faults that the designs must notice; those that they do not are printed when it is missed


def shape(key: str, formula: str) -> str:
    """What a formula is apart from the cells it stands among: rows built in one loop share it."""
    return re.sub(r"\$?[A-Z]{1,3}\$?[0-9]+", "@", re.sub(r"[a-z][a-z0-9_]*", "n", formula)) if _in_a_loop(key) else key


def _in_a_loop(key: str) -> bool:
    named = {node.name for node in (*model(PROFILE).quantities, *model(PROFILE).checks)}
    return key not in named


@cache
def declared() -> dict[str, str]:
    """The formulas as they were declared, without their guards, by the key of their value."""
    chosen = model(PROFILE)
    found = {node.name: node.formula for node in (*chosen.quantities, *chosen.checks)}
    return found | {grid.cell(row, column): step.formula for grid in chosen.grids for row, column, step, _ in grid.cells()}


@cache
def all_mutants() -> tuple[Mutant, ...]:
    """The faults of every declared formula, and of two of each kind that a loop builds: the second, and one amid them."""
    alike: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for sheet, row, column, formula in plan_for(load_profile(PROFILE)).formulas():
        if sheet.name != "Proof":
            alike[shape(formula.key, formula.text)].append((f"{sheet.name}!{address(row, column)}", formula.key, formula.text))
    found: list[Mutant] = []
    for known, cells in alike.items():
        for place, key, text in dict.fromkeys((cells[min(1, len(cells) - 1)], cells[len(cells) // 2])):
            found += mutants(place, key, text, declared().get(key, ""), known)
    return tuple(found)


def with_faults(path: Path) -> dict[int, tuple[str, str]]:
    """Write the workbook with all faulty formulas beside the sound ones; give both places of each fault."""
    plan = copy.deepcopy(plan_for(load_profile(PROFILE)))
    sheets, used, places = {sheet.name: sheet for sheet in plan.sheets}, defaultdict(int), {}
    for number, mutant in enumerate(all_mutants()):
        sheet = sheets[mutant.place.partition("!")[0]]
        row, column = divmod(used[sheet.name], ACROSS)
        used[sheet.name] += 1
        sheet.cells[row, FIRST_COLUMN + column] = Cell(Formula(mutant.formula, mutant.key), "text")
        places[number] = (mutant.place, f"{sheet.name}!{address(row, FIRST_COLUMN + column)}")
    write(plan, {}, defaultdict(lambda: STALE), path)
    return places


def tried() -> Iterator[dict[str, Any]]:
    """The designs: the published ones, the example and the blank one, and drawn ones with ties and edges."""
    yield entries(whole_example())
    yield entries(whole_example(controller_type="MPPT"))
    yield {}
    yield from (entries(inputs) for inputs in every_case().values())
    yield from (entries(case.inputs) for case in cases() if case.profile == PROFILE)
    yield from (entries(example(**{name: junk})) for name in ("module_voc", "site_t_min") for junk in ("x", 1e9, True))
    for whole in (whole_example(), whole_example(controller_type="MPPT")):
        values = model(PROFILE).all_values(whole)
        yield from (entries({**whole, name: values[other] * factor}) for name, other, factor in ties(PROFILE) if is_number(values[other]))
    for seed in SEEDS:
        yield from (as_entries(case) for case in designs(PROFILE, seed, BATCH))


def is_number(value: Any) -> bool:
    return isinstance(value, float | int) and not math.isnan(value)


@pytest.fixture(scope="module")
def survivors(tmp_path_factory: pytest.TempPathFactory) -> list[Mutant]:
    path = tmp_path_factory.mktemp("mutation") / "faulty.xlsx"
    alive = with_faults(path)
    with engine("libreoffice").open(path) as book:
        for design in tried():
            wanted = list(dict.fromkeys(place for pair in alive.values() for place in pair))
            values = book.recalculate(design, wanted)
            noticed = {all_mutants()[number].twin for number, pair in alive.items() if not same(values[pair[0]], values[pair[1]])}
            alive = {number: pair for number, pair in alive.items() if all_mutants()[number].twin not in noticed}
    left = {all_mutants()[number].twin: all_mutants()[number] for number in alive}
    return list(left.values())


def faults() -> dict[tuple[str, int], Mutant]:
    """Every fault once, though it stands in two cells of a loop."""
    return {one.twin: one for one in all_mutants()}


def test_faults_are_noticed(survivors: list[Mutant]) -> None:
    """Both in one test: the workbook of faults is recalculated once."""
    every = Counter(twin[0] for twin in faults())
    alive = Counter(one.twin[0] for one in survivors)
    keys = {one.twin[0]: one.key for one in all_mutants()}
    unseen = [keys[kind] for kind, count in every.items() if alive[kind] == count and keys[kind] not in EQUAL]
    assert not unseen, f"{len(unseen)} of {len(every)} formulas have no fault that is noticed: {', '.join(unseen)}"
    share = 1 - len(survivors) / len(faults())
    missed = [f"{one.place} {one.key}: {one.fault}" for one in survivors]
    assert share >= NOTICED, f"{len(missed)} of {len(faults())} faults: " + "\n".join(missed)
