"""A fault put into a formula is noticed by some design of the tests.

Left out are the guards, which one function writes around formulas (test_xl holds it to the letter, and test_fail_safe
blanks what they wait for), and the examples of the sheet Proof, whose formulas are those of the design (test_proof holds
them to it token by token) and rest on no design.

The faulty formulas stand in cells of their own, far to the right on the sheet of the sound one. In each design they are
recalculated with the workbook; a fault is noticed if its cell shows another value than the sound cell in some design.
"""

from __future__ import annotations

import copy
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import pytest

from tests.aimed import Aim, aims, at_its_limits, every_entry_alike, solved, turned
from tests.engines import engine, same
from tests.equal_faults import KINDS
from tests.mutation import Mutant, mutants
from tests.published import cases
from tests.roof import every_case
from tests.strategies import designs
from tests.support import STALE, entries, model, whole_example
from workbook_builder.building import plan_for
from workbook_builder.declare import EntryTable
from workbook_builder.emit import write
from workbook_builder.plan import Cell, Formula, address
from workbook_builder.profiles import load_profile

PROFILE = "nec-2023"
FIRST_COLUMN, ACROSS = 60, 40
BATCH = 100  # drawn designs
BROAD = 12  # drawn designs in which all faults are tried
SPREAD = 8  # cells of a loop that stand for all of it
T = TypeVar("T")


def shape(key: str, formula: str) -> str:
    """What a formula is apart from the cells it stands among: rows built in one loop share it."""
    if key in named():
        return key
    return re.sub(r"\$?[A-Z]{1,3}\$?[0-9]+", "@", re.sub(r"[a-z][a-z0-9_]*", "n", formula)) + (" in a grid" if key in declared() else "")


@cache
def named() -> frozenset[str]:
    return frozenset(node.name for node in (*model(PROFILE).quantities, *model(PROFILE).checks))


@cache
def declared() -> dict[str, str]:
    """The formulas as they were declared, without their guards, by the key of their value."""
    chosen = model(PROFILE)
    found = {node.name: node.formula for node in (*chosen.quantities, *chosen.checks)}
    return found | {grid.cell(row, column): step.formula for grid in chosen.grids for row, column, step, _ in grid.cells()}


@cache
def all_mutants() -> tuple[Mutant, ...]:
    """The faults of every declared formula, and of some of each kind that a loop builds, spread evenly over its cells."""
    alike: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    for sheet, row, column, formula in plan_for(load_profile(PROFILE)).formulas():
        # on some sheets a cell only shows the value of another
        if sheet.name != "Proof" and formula.text != formula.key:
            alike[shape(formula.key, formula.text)].append((f"{sheet.name}!{address(row, column)}", formula.key, formula.text))
    found: list[Mutant] = []
    for known, cells in alike.items():
        for place, key, text in _spread(cells):
            found += mutants(place, key, text, declared().get(key, ""), known)
    return tuple(found)


def _spread(cells: Sequence[T]) -> list[T]:
    """Cells of a loop: the second and one amid them, in which each fault is tried first, then others between."""
    places = [min(1, len(cells) - 1), len(cells) // 2, 0, len(cells) - 1]
    places += [len(cells) * part // SPREAD for part in range(SPREAD)]
    return [cells[place] for place in dict.fromkeys(places)][:SPREAD]


Twin = tuple[str, int]


@cache
def faults() -> dict[Twin, tuple[Mutant, ...]]:
    """Every fault, with the cells of a loop in which it is put."""
    found: dict[Twin, list[Mutant]] = defaultdict(list)
    for one in all_mutants():
        found[one.twin].append(one)
    return {twin: tuple(ones) for twin, ones in found.items()}


@cache
def kind_of(twin: Twin) -> str:
    """The kind of faults that change nothing to which this one belongs, in all its cells; empty if there is none."""
    return next((name for name, kind in KINDS.items() if all(kind.holds(one) for one in faults()[twin])), "")


class FaultyBook:
    """A workbook with faulty formulas beside the sound ones, and those of its faults that no design has shown yet."""

    def __init__(self, path: Path, alive: Iterable[Twin], cells: int) -> None:
        self.alive = dict.fromkeys(alive)
        self.places = _write(path, [one for twin in self.alive for one in faults()[twin][:cells]])
        self.book = engine("libreoffice").open(path)

    def unexplained(self) -> list[Twin]:
        return [twin for twin in self.alive if not kind_of(twin)]

    def try_all(self, designs: Iterable[dict[str, Any]]) -> None:
        """Recalculate with each design, and keep the faults that it does not show."""
        for design in designs:
            wanted = list(dict.fromkeys(place for twin in self.alive for pair in self.places[twin] for place in pair))
            values = self.book.recalculate(entries(design), wanted)
            self.alive = {
                twin: None for twin in self.alive if all(same(values[sound], values[faulty]) for sound, faulty in self.places[twin])
            }  # fmt: skip


def _write(path: Path, chosen: Iterable[Mutant]) -> dict[Twin, list[tuple[str, str]]]:
    """Write the workbook with faulty formulas, far to the right; give for each fault the places of sound and faulty formulas."""
    plan = copy.deepcopy(plan_for(load_profile(PROFILE)))
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


def broad() -> Iterator[dict[str, Any]]:
    """The few designs that show most faults."""
    roof = every_case()
    yield from (roof[name] for name in ("true RMS", "MPPT limiting", "weak", "bulk"))
    yield from (whole_example(), {})
    yield from every_entry_alike(PROFILE)
    yield from designs(PROFILE, 0, BATCH)[:BROAD]


def further() -> Iterator[dict[str, Any]]:
    """Systems with faults, and designs in which something is missing, or stands where it seldom does."""
    yield from every_case().values()
    yield from special().values()
    yield from designs(PROFILE, 0, BATCH)[BROAD:]
    yield from (case.inputs for case in cases() if case.profile == PROFILE and case.first)


@cache
def special() -> dict[str, dict[str, Any]]:
    """Designs for single formulas, named after what they reach."""
    roof = every_case()
    mppt = whole_example(controller_type="MPPT")
    months = [name for item, _ in table("months").items for name in table("months").inputs(item)]
    no_months = dict.fromkeys(months)
    loads = [name for item, _ in table("loads").items for name in table("loads").inputs(item)]
    one_load = dict.fromkeys(loads) | {"load1_w": 5, "load1_count": 1, "load1_hours": 5}
    peak = roof["MPPT"]
    return {
        "MPPT": mppt,
        "three explanations": roof["cannot charge"] | {"controller_type": "MPPT"}
        | {"reading_v_pv": 28.56, "reading_i_pv": 0.36, "reading_v_battery": 28.86},
        "amps of a peak at lower volts": peak | {"reading_v_pv": 0.85 * peak["reading_v_pv"]},
        "one month": whole_example(**{name: None for name in months if not name.startswith("jan_")}),
        "eleven months": whole_example(jan_sun=None, jan_load=None, jan_air=None),
        "no month": whole_example(**no_months),
        "far from the equator": whole_example(**no_months, site_latitude=66),
        "all months, loads unfinished": whole_example(load1_hours=None),
        "no loads": whole_example(**dict.fromkeys(loads)),
        "one load": whole_example(**one_load),
        "one AC load": whole_example(**(one_load | {"load1_supply": "AC"})),
        "one string not measured": roof["full"] | {"string1_voc": 40.5, "string1_isc": 7.4, "string2_voc": 40.6, "string2_isc": 7.4},
        "tests signed by nobody": whole_example(**{f"item{n}_by": None for n in range(62, 73)}),
        "tests without a date": whole_example(**{f"item{n}_date": None for n in range(62, 73)}),
        "one cable": whole_example(**{name: None for name in model(PROFILE).nodes if re.match("run_(load|battery)_", name)}),
        "one confirmation missing": whole_example(confirm_mesh="no"),
        "no loads in February": whole_example(feb_load=0),
        "a small module": whole_example(module_isc=0.06, module_imp=0.05, module_pmp=0.925, array_series=1, array_parallel=1),
        "a small load": whole_example(**(one_load | {"load1_w": 0.6})),
        "a small AC load": whole_example(**(one_load | {"load1_w": 0.6, "load1_supply": "AC"})),
        "an uncertainty refused": roof["true RMS"] | {"reading_g_uncertainty": "x"},
        "amps alone": roof["true RMS"] | {"reading_v_pv": None, "reading_i_pv": 40.0},
        "one of two strings missing": roof["missing"] | {"array_parallel": 2},
        "blocked in the cold": whole_example(battery_chemistry="LiFePO4", battery_cold_block="yes", battery_t_min=-5),
        **{f"IP {digits}": whole_example(enclosure_ip=digits) for digits in (20, 34, 43, 44, 54)},
        "nothing of derating": whole_example(controller_t_full=None, controller_derating=None, controller_t_highest=None),
        "no place": whole_example(controller_t_full=None, controller_derating=None, controller_t_highest=None, enclosure_place=None),
        **{chemistry: whole_example(battery_chemistry=chemistry) for chemistry in ("AGM", "gel", "LiFePO4")},
    }  # fmt: skip


def table(name: str) -> EntryTable:
    return next(one for one in model(PROFILE).entry_tables if one.name == name)


def bases() -> dict[str, dict[str, Any]]:
    """Designs from which aimed ones differ in one entry."""
    roof = every_case()
    chosen = {name: roof[name] for name in ("bulk", "idle", "backward", "dark", "the example", "MPPT limiting", "true RMS", "one string")}
    return chosen | {"whole": whole_example(), "MPPT": special()["MPPT"]}


def aimed(book: FaultyBook) -> Iterator[dict[str, Any]]:
    """Designs for the faults that are left, as long as they are: first for comparisons, then for entries, then for words."""
    for base in bases().values():
        yield from _at_ties(book, base, 1)
    yield from _at_limits(book)
    for base in (whole_example(), special()["MPPT"], special()["one load"]):
        yield from _at_ties(book, base, 6)
    for base in (whole_example(), special()["MPPT"], every_case()["full"]):
        yield from _turned(book, base)


def _at_ties(book: FaultyBook, base: dict[str, Any], each: int) -> Iterator[dict[str, Any]]:
    wanted: dict[Aim, list[Twin]] = defaultdict(list)
    for twin in book.unexplained():
        for one in faults()[twin][:3]:
            for aim in aims(PROFILE, declared()[one.key], one) if one.key in declared() else ():
                wanted[aim].append(twin)
    for aim, design in solved(PROFILE, base, list(wanted), each):
        if any(twin in book.alive for twin in wanted[aim]):
            yield design


def _at_limits(book: FaultyBook) -> Iterator[dict[str, Any]]:
    numbers = {entry.name for entry in model(PROFILE).inputs if entry.kind == "number"}
    for twin in book.unexplained():
        names = dict.fromkeys(one.key.partition("_")[2] for one in faults()[twin])
        for design in (one for name in names if name in numbers for one in at_its_limits(PROFILE, whole_example(), name)):
            if twin in book.alive:
                yield design


def _turned(book: FaultyBook, base: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for twin in book.unexplained():
        one = faults()[twin][0]
        for design in turned(PROFILE, declared()[one.key], one, base) if one.key in declared() else ():
            if twin in book.alive:
                yield design


@pytest.fixture(scope="module")
def survivors(tmp_path_factory: pytest.TempPathFactory) -> list[Twin]:
    folder = tmp_path_factory.mktemp("mutation")
    first = FaultyBook(folder / "all.xlsx", faults(), 2)
    first.try_all(broad())
    first.book.close()
    # what is left is put into more cells of each loop
    second = FaultyBook(folder / "left.xlsx", first.alive, SPREAD)
    second.try_all(further())
    second.try_all(aimed(second))
    return list(second.alive)


def test_every_fault_is_noticed_or_of_a_kind_that_changes_nothing(survivors: list[Twin]) -> None:
    unseen = [faults()[twin][0] for twin in survivors if not kind_of(twin)]
    assert not unseen, f"{len(unseen)} of {len(faults())} faults: " + "\n".join(f"{one.place} {one.key}: {one.fault}" for one in unseen)


def test_each_kind_of_fault_that_changes_nothing_occurs(survivors: list[Twin]) -> None:
    assert {kind_of(twin) for twin in survivors} == set(KINDS)
