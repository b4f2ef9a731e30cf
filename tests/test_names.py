"""Which words may be defined names: legal in Python and in every spreadsheet, to column XFD and row 1,048,576."""

from __future__ import annotations

import pytest

from tests.support import model
from workbook_builder.file.building import plan_for
from workbook_builder.language.names import fault, group_of


@pytest.mark.parametrize(
    "name",
    [
        "log10",
        "day1",
        "amp10",
        "q1",
        "a1",
        "xfd1048576",
        "tbl2",
        "iso9",
        "pv1",
        "abc123",
        "voc2",
        "nec690",
        "xfd1",
        "aaa1048576",
    ],
)
def test_the_address_of_a_cell_is_no_name(name: str) -> None:
    assert "address of a cell" in fault(name)


@pytest.mark.parametrize("name", ["r", "c", "r1", "c5", "r1c1", "r2c", "rc", "rc3", "r10c20"])
def test_a_row_and_column_address_is_no_name(name: str) -> None:
    assert "address" in fault(name)


@pytest.mark.parametrize("name", ["true", "false", "null", "if", "for", "lambda", "not", "is"])
def test_a_reserved_word_is_no_name(name: str) -> None:
    assert "reserved" in fault(name)


@pytest.mark.parametrize(
    "name",
    ["", "1st", "_x", "a b", "a.b", "a-b", "Voc", "VOC", "maße", "öl", "a$", "a!", "pv1.pv2", "_xlfn", "a\n", "voc ", "a'b"],
)
def test_only_small_letters_digits_and_underscores_make_a_name(name: str) -> None:
    assert "only small ASCII letters" in fault(name)


@pytest.mark.parametrize(
    "name", ["fuse_1", "log_10", "xfe1", "abcd1", "a0", "xfd1048577", "truth", "module_voc", "x", "rcd", "r_c", "cc", "crc"]
)
def test_a_word_that_no_program_reads_otherwise_is_a_name(name: str) -> None:
    assert fault(name) == ""


def test_a_name_has_a_hundred_characters_at_most() -> None:
    assert fault("a" * 100) == ""
    assert "longer than 100" in fault("a" * 101)


def test_every_defined_name_of_the_workbook_is_legal_and_differs_by_more_than_case() -> None:
    names = list(plan_for(model().profile).names)
    assert {name: fault(name) for name in names if fault(name)} == {}
    assert len({name.upper() for name in names}) == len(names)


def test_the_group_of_an_input_is_its_first_word() -> None:
    assert group_of("run_array_drop_allowed") == "run"
    assert group_of("module_voc") == "module"
