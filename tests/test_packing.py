"""The file that is handed out: small enough for a slow line, and nothing lost by the way in which it is packed."""

from __future__ import annotations

import io
import re
import zipfile
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import openpyxl
import pytest

from tests.support import cables, example
from workbook_builder.file.building import build, plan_for
from workbook_builder.file.packing import relative, shared
from workbook_builder.file.plan import Entry, address
from workbook_builder.language.profiles import built_in, load_profile

LARGEST = 1_000_000
"""Bytes: what a mail still carries everywhere."""


def designs(profile: str) -> dict[str, dict[str, Any]]:
    return {"filled": example(**cables(profile)), "blank": {}}


@cache
def content(profile: str, design: str) -> bytes:
    with TemporaryDirectory() as folder:
        path = build(designs(profile)[design], Path(folder) / "design.xlsx", profile, example=design == "filled").path
        return path.read_bytes()


@pytest.mark.parametrize("design", ["filled", "blank"])
@pytest.mark.parametrize("profile", built_in())
def test_the_file_is_at_most_a_megabyte(profile: str, design: str) -> None:
    assert len(content(profile, design)) <= LARGEST


def sheet_texts() -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(content("nec-2023", "filled"))) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist() if name.startswith("xl/worksheets/sheet")}


@pytest.fixture(scope="module")
def opened() -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(content("nec-2023", "filled")))


def test_each_cell_shows_the_formula_that_was_planned_for_it(opened: openpyxl.Workbook) -> None:
    """Read by a library that knows nothing of how the file was packed."""
    planned = {
        (sheet.name, address(row, column)): f"={formula.text}"
        for sheet, row, column, formula in plan_for(load_profile("nec-2023"), example=True).formulas()
    }
    found = {
        (sheet.title, cell.coordinate): cell.value for sheet in opened for row in sheet.iter_rows() for cell in row if cell.data_type == "f"
    }
    assert {place: (found.get(place), text) for place, text in planned.items() if found.get(place) != text} == {}
    assert found.keys() == planned.keys()


def test_formulas_that_are_filled_down_are_stored_once() -> None:
    counts = [text.count('<f t="shared" si=') for text in sheet_texts().values()]
    assert sum(counts) > 3000


def test_every_defined_name_is_there(opened: openpyxl.Workbook) -> None:
    plan = plan_for(load_profile("nec-2023"), example=True)
    assert {*plan.names, *plan.areas} <= set(opened.defined_names)


def test_merged_cells_keep_the_lines_all_around_them(opened: openpyxl.Workbook) -> None:
    framed = 0
    for sheet in plan_for(load_profile("nec-2023"), example=True).sheets:
        for row, first, last in sheet.merges:
            start = opened[sheet.name].cell(row + 1, first + 1)
            if start.border.bottom.style:
                framed += 1
                line = [opened[sheet.name].cell(row + 1, column + 1).border.bottom.style for column in range(first, last + 1)]
                assert set(line) == {start.border.bottom.style}, f"{sheet.name}!{start.coordinate}"
    assert framed > 100


def test_typed_numbers_and_those_of_tables_are_stored_to_the_last_digit(opened: openpyxl.Workbook) -> None:
    plan, typed = plan_for(load_profile("nec-2023"), example=True), designs("nec-2023")["filled"]
    stored, wanted = {}, {}
    for sheet in plan.sheets:
        for (row, column), cell in sheet.cells.items():
            number = typed.get(cell.content.name) if isinstance(cell.content, Entry) else cell.content
            if isinstance(number, int | float):
                place = f"{sheet.name}!{address(row, column)}"
                wanted[place], stored[place] = number, opened[sheet.name].cell(row + 1, column + 1).value
    assert {place: (stored[place], number) for place, number in wanted.items() if stored[place] != number} == {}
    assert len(wanted) > 1000


def test_stored_results_have_twelve_digits() -> None:
    numbers = [
        number for text in sheet_texts().values() for number in re.findall(r"<f[^>]*(?:/>|>[^<]*</f>)<v>(-?[0-9][0-9.e+-]*)</v>", text)
    ]
    digits = [len(re.sub(r"e.*|[^0-9]", "", number).strip("0")) for number in numbers]
    assert len(digits) > 3000
    assert max(digits) == 12


def column_of(formulas: list[str], column: str = "D", first: int = 5) -> str:
    cells = [f'<c r="{column}{row}" s="3"><f>{text}</f><v>1</v></c>' for row, text in enumerate(formulas, first)]
    return "".join(cells)


def test_a_formula_filled_down_stands_in_its_first_cell_and_the_others_point_to_it() -> None:
    packed = shared(column_of(["B5*module_voc", "B6*module_voc", "B7*module_voc"]))
    assert re.findall("<f.*?(?:/>|</f>)", packed) == [
        '<f t="shared" ref="D5:D7" si="0">B5*module_voc</f>',
        '<f t="shared" si="0"/>',
        '<f t="shared" si="0"/>',
    ]


@pytest.mark.parametrize(
    "formulas",
    [
        ["B5*2", "B5*2", "B5*2"],
        ["$B$5+B5", "$B$5+B6", "$B$5+B7"],
        ['IF(B5="C20",1,0)', 'IF(B6="C21",1,0)', 'IF(B7="C22",1,0)'],
        ["B5+load_1", "B6+load_2", "B7+load_3"],
        ["B5", "B6"],
    ],
    ids=["the same cell in each row", "an absolute reference", "texts like addresses", "names that count", "too few"],
)
def test_what_is_not_one_formula_filled_down_is_left_as_it_is(formulas: list[str]) -> None:
    assert shared(column_of(formulas)) == column_of(formulas)


def test_a_gap_between_rows_ends_a_run() -> None:
    above, below = column_of(["B5", "B6", "B7"]), column_of(["B9", "B10", "B11"], first=9)
    assert re.findall('ref="[^"]*" si="[0-9]+"', shared(above + below)) == ['ref="D5:D7" si="0"', 'ref="D9:D11" si="1"']


def test_distances_of_rows_are_what_formulas_of_a_column_share() -> None:
    assert relative('IF(B5="A1",C4,A10)', 5) == relative('IF(B6="A1",C5,A11)', 6)
    assert relative('IF(B5="A1",C4,A10)', 5) != relative('IF(B6="A2",C5,A11)', 6)
