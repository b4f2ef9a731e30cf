"""Units by transitivity: fed with declared units, each reference function answers in its declared unit."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
import pint
import pytest

from tests.support import evaluation, model, whole_example
from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.declare import Check, Quantity
from workbook_builder.language.errors import WorkbookBuilderError
from workbook_builder.language.grids import Grid
from workbook_builder.language.inputs import Input
from workbook_builder.language.steps import Given, Step
from workbook_builder.language.tables import Table
from workbook_builder.language.typed_units import ADMITTED, number_in_unit
from workbook_builder.language.units import UNITS, registry

# quantities that cannot be called with units, each with its reason; keep this short
NOT_CALLED: dict[str, str] = {}
# K stands in this project for a difference of temperatures only; a reading is in °C
DIFFERENCES = {"K": "delta_degree_Celsius"}
NODES: dict[str, Quantity] = {node.name: node for node in (*model().quantities, *model().checks)}


def complete() -> dict[str, Any]:
    """The example with every optional number filled in, so that every quantity has something to compute from."""
    filled = {}
    for entry in model().inputs:
        if entry.kind == "number" and entry.name not in whole_example() and not entry.has_default and not entry.table:
            filled[entry.name] = round((entry.low + entry.high) / 2) if entry.whole else (entry.low + entry.high) / 2
    return whole_example(
        **(filled | {"string_fuse_rating": 15, "battery_fuse_rating": 60, "battery_v_max": 32, "battery_cells_series": 12})
    )  # fuses that fit are shown


VALUES = evaluation().all_values(complete())


CELLS = {one.key: one.step for grid in model().grids for one in grid.calculations}
CELLS |= {key: evaluation().calculations[key].step for key in model().varied}
TRIED = 3


def unit_of(name: str) -> str | None:
    """The declared unit of a value of the model; None for one that is not a number."""
    for constant in model().constants:
        if constant.name == name:
            return constant.unit
    if name in CELLS:
        return CELLS[name].unit if CELLS[name].kind == "number" else None
    node: Input | Quantity | None = NODES.get(name) or next((entry for entry in model().inputs if entry.name == name), None)
    if isinstance(node, Input):
        return None if isinstance(VALUES[name], str) else node.unit
    return node.unit if node is not None and node.kind == "number" else None


def with_unit(name: str) -> Any:
    """A value of the example as a pint quantity; a text or plain number as it is."""
    return carried(VALUES[name], unit_of(name))


def carried(value: Any, unit: str | None) -> Any:
    return registry().Quantity(value, DIFFERENCES.get(unit, UNITS[unit])) if unit else value


class TableWithUnits:
    """A table whose numbers carry the unit of their column, and whose keys must have that of theirs."""

    def __init__(self, table: Table) -> None:
        self.table = table

    def band(self, key: Any, keys: str, values: str) -> Any:
        unit = UNITS[self.table.column(keys).unit]
        return self._carried(self.table.band(key.to(unit).magnitude if hasattr(key, "to") else key, keys, values), values)

    def next_up(self, key: Any, keys: str, values: str = "") -> Any:
        unit = UNITS[self.table.column(keys).unit]
        found = self.table.next_up(key.to(unit).magnitude if hasattr(key, "to") else key, keys, values)
        return self._carried(found, values or keys)

    def row(self, number: Any, values: str) -> Any:
        return self._carried(self.table.row(number, values), values)

    def column(self, name: str) -> Any:
        return self.table.column(name)

    def exact(self, key: Any, keys: str, values: str) -> Any:
        return self._carried(self.table.exact(key, keys, values), values)

    def _carried(self, answer: Any, values: str) -> Any:
        unit = self.table.column(values).unit
        return registry().Quantity(answer, UNITS[unit]) if unit else answer


TABLES = {table.name: TableWithUnits(table) for table in model().tables}


def called(node: Quantity) -> Any:
    arguments = [with_unit(name) for name in node.parameters]
    return node.function(*arguments, **{name: TABLES[name] for name in node.tables})


def same_number(got: Any, expected: float) -> bool:
    return bool(np.isclose(float(got), expected, rtol=1e-12, atol=1e-12, equal_nan=True))


def fault_of(answer: Any, unit: str, expected: float) -> str:
    """Why an answer is not the expected number in the declared unit, or an empty text."""
    if not hasattr(answer, "to"):
        if unit:
            return f"a plain number, although its unit is {unit}"
        return "" if same_number(answer, expected) else f"{answer} is not {expected}"
    wanted = DIFFERENCES.get(unit, UNITS[unit])
    if not answer.is_compatible_with(wanted):
        return f"{answer.units} is not {unit or 'a plain number'}"
    return "" if same_number(answer.to(wanted).magnitude, expected) else f"{answer} is not {expected} {unit}"


@pytest.mark.parametrize("name", [name for name, node in NODES.items() if node.kind == "number"])
def test_a_quantity_fed_with_units_answers_in_its_declared_unit(name: str) -> None:
    if name not in NOT_CALLED:
        assert fault_of(called(NODES[name]), NODES[name].unit, VALUES[name]) == ""


@pytest.mark.parametrize("grid", model().grids, ids=lambda grid: grid.name)
def test_the_columns_of_a_grid_fed_with_units_answer_in_their_declared_units(grid: Grid) -> None:
    wrong: dict[str, str] = {}
    tried = Counter[Step]()
    for one in grid.calculations:
        key, step, bound = one.key, one.step, one.bound
        needed = [argument for name, argument in bound.items() if isinstance(argument, str) and name not in step.optional]
        if step.kind != "number" or any(is_missing(VALUES[name]) for name in needed) or tried[step] == TRIED:
            continue
        tried[step] += 1
        arguments = [
            carried(argument.value, grid.numbers[name][1]) if isinstance(argument, Given) else with_unit(str(argument))
            for name, argument in ((name, bound[name]) for name in step.parameters)
        ]
        try:
            answer = step.function(*arguments, **{name: TABLES[name] for name in step.tables})
            fault = fault_of(answer, step.unit, VALUES[key])
        except (pint.PintError, TypeError) as error:
            fault = f"{type(error).__name__}: {error}"
        wrong |= {f"{grid.name}.{step.name}": fault} if fault and step.name not in NOT_CALLED else {}
    assert not wrong
    counted = any(column.step.kind == "number" for column in grid.columns)
    assert tried or not counted, f"{grid.name}: no cell had everything it needs"


@pytest.mark.parametrize("name", [name for name, node in NODES.items() if node.kind != "number"])
def test_a_text_or_judgement_does_not_depend_on_how_units_are_carried(name: str) -> None:
    assert np.asarray(called(NODES[name])).item() == VALUES[name]


def test_the_list_of_quantities_that_cannot_be_called_is_short_and_up_to_date() -> None:
    assert set(NOT_CALLED) <= set(NODES)
    assert len(NOT_CALLED) <= 3
    assert all(NOT_CALLED.values())


@pytest.mark.parametrize("check", [node for node in NODES.values() if isinstance(node, Check)], ids=lambda c: c.name)
def test_a_check_compares_like_with_like(check: Check) -> None:
    units = {unit_of(name) for name in (check.value, check.at_least, check.at_most) if name}
    assert len(units) <= 1, f"{check.name} compares {units}"
    assert None not in units


def test_every_quantity_that_has_a_unit_was_really_computed() -> None:
    missing = [name for name, node in NODES.items() if node.kind == "number" and VALUES[name] != VALUES[name]]
    assert not missing


@pytest.mark.parametrize("entry", [entry for entry in model().inputs if entry.relations], ids=lambda e: e.name)
def test_a_relation_between_entries_relates_equal_units(entry: Input) -> None:
    for relation in entry.relations:
        assert UNITS[unit_of(relation.other) or ""] == UNITS[entry.unit], f"{entry.name} against {relation.other}"


@pytest.mark.parametrize("entry", [entry for entry in model().inputs if entry.default_name], ids=lambda e: e.name)
def test_a_computed_default_has_the_unit_of_its_input(entry: Input) -> None:
    assert (unit_of(entry.default_name) or "") == entry.unit


@pytest.mark.parametrize("unit", list(UNITS))
def test_every_unit_of_the_project_is_known_to_pint(unit: str) -> None:
    assert registry().Quantity(2.0, UNITS[unit]).magnitude == 2.0


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("10 degF", "°C", -12.222222222222221),
        ("14 °F", "°C", -10.0),
        ("−12 °C", "°C", -12.0),
        ("0.5 kV", "V", 500.0),
        ("850 mA", "A", 0.85),
        ("0.16 kW", "W", 160.0),
        ("45 %", "%", 45.0),
        ("0.45", "%", 45.0),
        ("2", "", 2.0),
        ("-0.07 V/K", "V/°C", -0.07),
        ("263.15 kelvin", "°C", -10.0),
        ("12V", "V", 12.0),
        ("-80 mV/°C", "V/°C", -0.08),
        ("-4 mV/°C/cell", "mV/°C/cell", -4.0),
        ("-0.04 V/°F", "V/°C", -0.072),
        ("5.2 kWh/m²/d", "kWh/m²/d", 5.2),
        ("5200 Wh/m^2/day", "kWh/m²/d", 5.2),
        ("5200 Wh*m-2/day", "kWh/m²/d", 5.2),
        ("40 ft", "m", 12.192),
        ("1.5e3 mA", "A", 1.5),
        (" 7\u00a0V ", "V", 7.0),
        ("3 \u2126", "Ω", 3.0),
        ("90 min", "h", 1.5),
    ],
)
def test_a_number_with_a_unit_is_converted(text: str, unit: str, number: float) -> None:
    assert number_in_unit(text, unit) == pytest.approx(number, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("9**9**9*V", "V"),
        ("1 V**9999999", "V"),
        ("1 V^9", "V"),
        ("1 V^0", "V"),
        ("1 V/0", "V"),
        ("1 V/", "V"),
        ("1 /V", "V"),
        ("$", "V"),
        ("nan A", "A"),
        ("inf A", "A"),
        ("1_000 A", "A"),
        ("1,5 A", "A"),
        ("1e999999999 A", "A"),
        ("12", "V"),
        ("12 kg", "V"),
        ("12 V V", "V"),
        ("12 (V)", "V"),
        ("12 __import__", "V"),
        ("١٢ V", "V"),
        ("1" + "2" * 100_000, "V"),
        ("1 " + "V*" * 100_000 + "V", "V"),
        ("", "V"),
        ("\t", "V"),
        ("1 V\u200b", "V"),
    ],
)
def test_what_is_no_number_with_a_unit_of_the_list_is_refused_in_words(text: str, unit: str) -> None:
    with pytest.raises(WorkbookBuilderError) as refused:
        number_in_unit(text, unit)
    (problem,) = refused.value.problems
    assert problem.fault == f"is not a number with a unit of {unit}"
    assert problem.got
    assert len(str(problem)) < 250


@pytest.mark.parametrize("name", list(ADMITTED))
def test_every_unit_that_a_person_may_type_is_known_to_pint(name: str) -> None:
    assert registry().Unit(ADMITTED[name])
