"""Workbooks with a fault in each formula: which faults there are, and which of them a design shows.

Left out are the guards, which one function writes around formulas (test_xl holds it to the letter, and test_fail_safe
blanks what they wait for), the examples of the sheet Proof, whose formulas are those of the design (test_proof holds
them to it token by token) and rest on no design, and the checks at other numbers of modules, likewise (test_arrangements).

The faulty formulas stand in cells of their own, far to the right on the sheet of the sound one. In each design they are
recalculated with the workbook; a fault is noticed if its cell shows another value than the sound cell in some design.
"""

from __future__ import annotations

import copy
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TypeVar

from tests.engines import Entry, engine, same
from tests.mutation import Mutant, mutants
from tests.support import STALE, entries, evaluation, model
from workbook_builder.file.building import plan_for
from workbook_builder.file.emit import write
from workbook_builder.file.plan import Cell, Formula, address
from workbook_builder.language.profiles import load_profile

FIRST_COLUMN, ACROSS = 60, 40
SPREAD = 8  # cells of a loop that stand for all of it
Twin = tuple[str, int]
"""The kind of a formula, and the number of a fault in it: the same in every cell that a loop builds."""
T = TypeVar("T")


@cache
def faults(profile: str) -> dict[Twin, tuple[Mutant, ...]]:
    """Every fault of every formula, with the cells of a loop in which it is put, spread evenly over the loop."""
    alike: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for sheet, row, column, formula in plan_for(load_profile(profile)).formulas():
        # on some sheets a cell only shows the value of another
        if sheet.name != "Proof" and formula.key not in model(profile).varied and formula.text != formula.key:
            place = f"{sheet.name}!{address(row, column)}"
            alike[_shape(profile, formula.key, formula.text)].append((place, formula.key, formula.text))
    found: dict[Twin, list[Mutant]] = defaultdict(list)
    for known, cells in alike.items():
        for place, key, text in _spread(cells):
            for one in mutants(place, key, text, declared(profile).get(key, ""), known):
                found[one.twin].append(one)
    return {twin: tuple(ones) for twin, ones in found.items()}


@cache
def declared(profile: str) -> dict[str, str]:
    """The formulas as they were declared, without their guards, by the key of their value."""
    return {key: one.step.formula for key, one in evaluation(profile).calculations.items() if one.step.guarded}


def _shape(profile: str, key: str, formula: str) -> str:
    """What a formula is apart from the cells it stands among: rows built in one loop share it."""
    in_a_grid = bool(evaluation(profile).calculations[key].family) if key in declared(profile) else False
    if key in declared(profile) and not in_a_grid:
        return key
    told = " in a grid" if in_a_grid else ""
    return re.sub(r"\$?[A-Z]{1,3}\$?[0-9]+", "@", re.sub(r"[a-z][a-z0-9_]*", "n", formula)) + told


def _spread(cells: Sequence[T]) -> list[T]:
    """Cells of a loop: the second and one amid them, in which each fault is tried first, then others between."""
    places = [min(1, len(cells) - 1), len(cells) // 2, 0, len(cells) - 1]
    places += [len(cells) * part // SPREAD for part in range(SPREAD)]
    return [cells[place] for place in dict.fromkeys(places)][:SPREAD]


class FaultyBook:
    """A workbook with faulty formulas beside the sound ones, and those of its faults that no design has shown yet.

    IronCalc recalculates it, if nothing else is said: several times as fast as LibreOffice, and where a search by order is
    asked for among entries that are in none, it does not look for an equal one first.
    """

    def __init__(self, path: Path, profile: str, alive: Iterable[Twin], cells: int = SPREAD, program: str = "ironcalc") -> None:
        """Write the workbook with faults in so many cells of each loop."""
        self.alive = {twin: None for twin in alive if twin in faults(profile)}
        self._places = _write(path, profile, [one for twin in self.alive for one in faults(profile)[twin][:cells]])
        self._book = engine(program).open(path)

    def try_all(self, designs: Iterable[Mapping[str, Entry]]) -> FaultyBook:
        """Recalculate with each design, and keep the faults that it does not show."""
        for design in designs:
            wanted = list(dict.fromkeys(place for twin in self.alive for pair in self._places[twin] for place in pair))
            values = self._book.recalculate(entries(design), wanted)
            for twin in list(self.alive):
                if any(not same(values[sound], values[faulty]) for sound, faulty in self._places[twin]):
                    del self.alive[twin]
        return self


def _write(path: Path, profile: str, chosen: Iterable[Mutant]) -> dict[Twin, list[tuple[str, str]]]:
    """Write the workbook with faulty formulas, far to the right; give for each fault the places of sound and faulty formulas."""
    plan = copy.deepcopy(plan_for(load_profile(profile)))
    sheets, used = {sheet.name: sheet for sheet in plan.sheets}, Counter[str]()
    places: dict[Twin, list[tuple[str, str]]] = defaultdict(list)
    for mutant in chosen:
        sheet = sheets[mutant.place.partition("!")[0]]
        row, column = divmod(used[sheet.name], ACROSS)
        used[sheet.name] += 1
        sheet.cells[row, FIRST_COLUMN + column] = Cell(Formula(mutant.formula, mutant.key), "text")
        places[mutant.twin].append((mutant.place, f"{sheet.name}!{address(row, FIRST_COLUMN + column)}"))
    write(plan, {}, defaultdict(lambda: STALE), path)
    return places
