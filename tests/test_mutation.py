"""A fault put into any formula of the workbook, but those of grids, is noticed by some design of the tests.

A formula with a fault is noticed if its own cell shows another value than the sound one; what it refers to does not
depend on it, so it shows in a cell of its own, beside the sheet's, what it would show in its place. Thousands of
faulty formulas are thus recalculated together.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.boundaries import Design, designs, few_designs, hinges, typed
from tests.engines import Address, engine, same
from tests.engines.ironcalc_engine import IronCalcBook
from tests.mutation import Mutant, mutants
from tests.support import differences, example, model, write_stale
from workbook_builder.building import plan_for
from workbook_builder.declare import OPTIONAL, REQUIRED, Input
from workbook_builder.plan import address
from workbook_builder.profiles import load_profile

PROFILE = "nec-2023"
SHOWN = 40
FIRST_COLUMN, ACROSS = 200, 100
SPREAD = {"libreoffice": 8, "ironcalc": 24}
"""Of how many designs each engine recalculates one whole workbook."""


class Excuse(NamedTuple):
    """A fault that changes nothing: why, of which inputs (all, if None), and a pattern for "key: fault"."""

    reason: str
    inputs: frozenset[str] | None
    pattern: str


def _inputs(condition: Callable[[Input], bool]) -> frozenset[str]:
    return frozenset(entry.name for entry in model(PROFILE).inputs if condition(entry))


WHOLE = _inputs(lambda entry: entry.whole)
REQUIRED_ONES = _inputs(lambda entry: entry.blank == REQUIRED)
NEVER_EMPTY = _inputs(lambda entry: entry.blank != OPTIONAL)
FIXED_DEFAULT = _inputs(lambda entry: entry.has_default and not entry.default_name)
NO_DEFAULT = _inputs(lambda entry: not entry.has_default)
EQUIVALENT = (
    Excuse("a positive count stays positive", None, r"SUMPRODUCT\(\(list_\w+=L\d+\)(⟦\* → /⟧1|\*⟦1 → 2⟧)"),
    Excuse("an accepted whole number has no digits to round", WHOLE, r"^(status|agrees|echo)_.*⟦ROUND → "),
    Excuse("an accepted whole number has no digits to round", WHOLE, r"^(status|echo)_.*ROUND\([A-Z]+\d+,⟦[49] → "),
    Excuse("a whole number has no digits to round", None, r"^module_class: .*(⟦ROUND → |module_cells,⟦9 → )"),
    Excuse("a required input has no status default", REQUIRED_ONES, r'^echo_.*=⟦"default" → '),
    Excuse("only what may stay blank is ever not given", NEVER_EMPTY, r'^echo_.*(=⟦"" → .*"not given"|⟦"not given" → )'),
    Excuse("every accepted choice is a number", _inputs(lambda entry: entry.kind == "choice" and entry.numeric),
           r'^echo_.*ISNUMBER.*⟦"" → |^echo_.*," "&C\d+,⟦"" → '),
    Excuse("nothing is added or subtracted, to turn -0 into 0", None, r"^echo_.*⟦\+ → -⟧0\)"),
    Excuse("both branches show an empty text", NO_DEFAULT, r'^candidate_.*=⟦"" → '),
    Excuse("the default is a number in the sheet itself", FIXED_DEFAULT, r'^candidate_.*J\d+,⟦"" → '),
    Excuse("the default is a number in the sheet itself", FIXED_DEFAULT, r'^status_.*⟦"missing" → '),
    Excuse("this default always agrees with the others, whatever they are", None,
           r'^status_(module_pmp|battery_v_low|battery_v_float): .*⟦"out of range" → '),
    Excuse("a share of two digits of a nominal voltage has no nine digits", None,
           r"^agrees_battery_.*(⟦ROUND → \w+⟧\([A-Z]+\d+\*battery_nominal|\*battery_nominal,⟦9 → )"),
    Excuse("a search for the nearest finds the same row in a list that is sorted, as it happens", None,
           r"^(row_\w+|controller_type|controller_nominal|controller_tempcomp|battery_nominal): .*⟦0 → -?1⟧"),
    Excuse("a search for the nearest finds the words that this check gives", None,
           r"^(mark|meaning)_check_(vmp_window|hot_afternoon|cold_charge): .*⟦0 → -1⟧"),
    Excuse("the chemistries that the search mistakes share one value", None,
           r"^(battery_tempco_default|battery_v_low_default|battery_cells): .*⟦0 → 1⟧"),
    Excuse("every positive number means the same search", None, r"^(module_class|voc_factor_table): .*,⟦1 → 2⟧"),
    Excuse("this check never gives a NOTE", None,
           r'^meaning_check_(module_voltage|code_voltage|cold_voltage): .*⟦"NOTE" → '),
    Excuse("the limits of the code are whole", None,
           r"^check_code_voltage: .*(⟦ROUND → \w+⟧\(code_voltage_limit|code_voltage_limit,⟦6 → )"),
    Excuse("the upper end of the window is whole", None,
           r"^vmp_fits: .*(⟦ROUND → \w+⟧\(vmp_highest|vmp_highest,⟦6 → )"),
    Excuse("where the lower end is not whole, the highest charge voltage beside it is stricter", None,
           r"^vmp_fits: .*(⟦ROUND → \w+⟧\(vmp_lowest|vmp_lowest,⟦6 → 7⟧)"),
    Excuse("MAX passes over an empty text", None, r'^voc_factor_higher: .*voc_factor_table=⟦"" → '),
)  # fmt: skip


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_stale(tmp_path_factory.mktemp("mutation") / "sound.xlsx", PROFILE)


def _opened(path: Path) -> IronCalcBook:
    book = engine("ironcalc").open(path)
    assert isinstance(book, IronCalcBook)
    return book


@cache
def cells_of_grids() -> frozenset[str]:
    """The keys of all cells that repeat row by row."""
    grids = getattr(model(PROFILE), "grids", ())
    return frozenset(grid.cell(row, column) for grid in grids for row, column, *_ in grid.cells())


@cache
def all_mutants() -> tuple[Mutant, ...]:
    """The faults of every formula but those of grids."""
    return tuple(
        mutant
        for sheet, row, column, formula in plan_for(load_profile(PROFILE)).formulas()
        if formula.key not in cells_of_grids()
        for mutant in mutants(f"{sheet.name}!{address(row, column)}", formula.key, formula.text)
    )


@cache
def light_keys() -> frozenset[str]:
    """What does not rest on a grid: it is recalculated without them, ten times as fast."""
    declared = model(PROFILE)
    light = {entry.name for entry in declared.inputs} | {constant.name for constant in declared.constants}
    nodes = [*declared.quantities, *declared.checks]
    for _ in nodes:
        light |= {node.name for node in nodes if light.issuperset(node.parameters)}
    for check in declared.checks:
        shown = {check.name, check.value, check.at_least, check.at_most, (check.advice or ("", "", ""))[1]} - {""}
        if shown <= light:
            light |= {f"{part}_{check.name}" for part in ("mark", "margin", "meaning")}
    parts = ("row", "typed", "blank", "candidate", "agrees", "status", "echo")
    return frozenset(light | {f"{part}_{entry.name}" for part in parts for entry in declared.inputs})


def excuses(mutant: Mutant) -> list[Excuse]:
    """The reasons why a fault changes nothing; most have none."""
    told, own = f"{mutant.key}: {mutant.fault}", mutant.key.partition("_")[2]
    return [one for one in EQUIVALENT if (one.inputs is None or own in one.inputs) and re.search(one.pattern, told)]


class Verdicts(NamedTuple):
    """Which design first noticed each mutant, and which mutants none noticed."""

    noticed: dict[int, int]
    survived: list[int]


class Bench:
    """A workbook in IronCalc with many faulty formulas set aside."""

    def __init__(self, path: Path, formulas: dict[int, Mutant], *, grids: bool) -> None:
        self.book = _opened(path)
        self.alive = dict(formulas)
        for sheet, row, column, formula in plan_for(load_profile(PROFILE)).formulas():
            if not grids and formula.key in cells_of_grids():
                (place,) = self.book.map.cells([f"{sheet.name}!{address(row, column)}"])
                self.book._model.clear_cell_contents(*self.book._place(place))
        self.aside = {}
        for number, mutant in self.alive.items():
            sheet = mutant.place.partition("!")[0]
            place = Address(sheet, 1 + number // ACROSS, FIRST_COLUMN + number % ACROSS)
            self.aside[number] = place
            self.book._model.update_cell_with_formula(*self.book._place(place), "=" + mutant.formula)

    def run(self, design: Design) -> list[int]:
        """Recalculate a design; give the mutants that it notices and forget them."""
        places = self.book.map.cells([mutant.place for mutant in self.alive.values()])
        numbers = list(self.alive)
        row = self.book._run([self.book._resolve(typed(design))], [*places, *(self.aside[number] for number in numbers)])[0]
        sound, faulty = row[: len(numbers)], row[len(numbers) :]
        noticed = [number for number, was, now in zip(numbers, sound, faulty, strict=True) if not same(now, was)]
        for number in noticed:
            self.book._model.clear_cell_contents(*self.book._place(self.aside[number]))
            del self.alive[number]
        return noticed


@pytest.fixture(scope="module")
def judged(workbook: Path) -> Verdicts:
    numbered, noticed = dict(enumerate(all_mutants())), {}
    light = {number: one for number, one in numbered.items() if one.key in light_keys()}
    heavy = {number: one for number, one in numbered.items() if number not in light}
    benches = [Bench(workbook, light, grids=False), Bench(workbook, heavy, grids=True)]
    for bench in benches:
        for place, design in enumerate(designs(PROFILE)):
            if bench is benches[0] or place in few_places():
                noticed |= dict.fromkeys(bench.run(design), place)
    return Verdicts(noticed, [number for bench in benches for number in bench.alive])


@cache
def few_places() -> frozenset[int]:
    """Where the designs stand that put every branch to work, the published ones, and those of comparisons."""
    few = {repr(sorted(design.items())) for design in few_designs(PROFILE)}
    return frozenset(place for place, one in enumerate(designs(PROFILE)) if repr(sorted(one.items())) in few)


@pytest.mark.parametrize("name", ["ironcalc", "libreoffice"])
def test_the_sound_workbook_agrees_with_the_reference_in_every_design_at_an_edge(name: str, workbook: Path) -> None:
    own = designs(PROFILE)[:: SPREAD[name]]
    with engine(name).open(workbook) as book:
        found = book.formula_values_many([typed(design) for design in own])
    wrong = [
        f"{_changed(design)}: {line}"
        for design, cells in zip(own, found, strict=True)
        for line in differences(engine(name), cells, design, PROFILE)
    ]
    assert not wrong, f"{len(wrong)} cells: " + "\n".join(wrong[:SHOWN])


def test_every_comparison_gets_designs_that_meet_it_and_miss_it() -> None:
    assert len(list(hinges(PROFILE))) > 20
    assert len(designs(PROFILE)) > 500


def test_every_faulty_formula_is_noticed(judged: Verdicts) -> None:
    survivors = [all_mutants()[number] for number in judged.survived]
    missed = [f"{one.place} {one.key}: {one.fault}" for one in survivors if not excuses(one)]
    assert not missed, f"{len(missed)} of {len(all_mutants())} faults: " + "\n".join(missed[:SHOWN])


def test_no_fault_is_excused_that_is_not_there(judged: Verdicts) -> None:
    used = {excuse for number in judged.survived for excuse in excuses(all_mutants()[number])}
    assert not [excuse for excuse in EQUIVALENT if excuse not in used]


def test_a_faulty_formula_shows_aside_what_it_shows_in_its_place(workbook: Path, judged: Verdicts) -> None:
    numbers = sorted(judged.noticed)[:: max(1, len(judged.noticed) // 60)]
    for number in numbers:
        mutant, design = all_mutants()[number], designs(PROFILE)[judged.noticed[number]]
        book = _opened(workbook)
        sound = book.recalculate(typed(design), [mutant.place])[mutant.place]
        (place,) = book.map.cells([mutant.place])
        book._model.update_cell_with_formula(*book._place(place), "=" + mutant.formula)
        faulty = book.recalculate(typed(design), [mutant.place])[mutant.place]
        assert not same(faulty, sound), f"{mutant.place} {mutant.fault} in {_changed(design)}"


def _changed(design: Design) -> dict[str, Any]:
    usual = example()
    return {name: design.get(name) for name in usual | design if design.get(name) != usual.get(name)}
