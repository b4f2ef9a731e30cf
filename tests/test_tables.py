"""Rounding as spreadsheets do it, and the look-ups of tables at, between and past their rows."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.support import model
from workbook_builder.language.errors import ProfileError
from workbook_builder.language.sources import common_practice
from workbook_builder.language.tables import Column, Table, read_table, round_half_away

# what the function ROUND of spreadsheets gives; Python's own round differs in most of them
ROUNDED = [
    (2.5, 0, 3.0),
    (-2.5, 0, -3.0),
    (0.5, 0, 1.0),
    (-0.5, 0, -1.0),
    (1.5, 0, 2.0),
    (1.005, 2, 1.01),
    (-1.005, 2, -1.01),
    (2.675, 2, 2.68),
    (0.285, 2, 0.29),
    (1.0049999, 2, 1.0),
    (8.345, 2, 8.35),
    (0.1 + 0.2, 9, 0.3),
    (0.0, 6, 0.0),
    (5e-7, 6, 1e-6),
    (4.9e-7, 6, 0.0),
    (2.9999999999, 9, 3.0),
    (2.999999999, 9, 2.999999999),
    (-40.0000000001, 9, -40.0),
    (123456.7894565, 6, 123456.789457),
    (1e-300, 9, 0.0),
]
STEPS = Table(
    "steps",
    "Steps",
    (
        Column("from", "From", "°C", (-10.0, 0.0, 5.0)),
        Column("factor", "Factor", "", (1.2, 1.1, 1.0)),
        Column("word", "Word", "", ("cold", "cool", "mild")),
    ),
    common_practice("a table of the tests"),
)
EDGES = [
    (-11.0, math.nan, ""),
    (-10.0 - 1e-6, math.nan, ""),
    (-10.0 - 1e-8, math.nan, ""),
    (-10.0 - 1e-10, 1.2, "cold"),
    (-10.0, 1.2, "cold"),
    (-0.5, 1.2, "cold"),
    (-1e-8, 1.2, "cold"),
    (-1e-10, 1.1, "cool"),
    (0.0, 1.1, "cool"),
    (4.999999, 1.1, "cool"),
    (5.0 - 1e-10, 1.0, "mild"),
    (5.0, 1.0, "mild"),
    (1e9, 1.0, "mild"),
    (math.nan, math.nan, ""),
]


@pytest.mark.parametrize(("value", "digits", "expected"), ROUNDED)
def test_halves_are_rounded_away_from_zero(value: float, digits: int, expected: float) -> None:
    assert round_half_away(value, digits) == pytest.approx(expected, rel=1e-15, abs=0)


@pytest.mark.parametrize("value", [1e9, 123456789012345.0, 2.0**60, 1e200, 1e308, -1e308])
def test_a_number_without_decimals_is_left_as_it_is(value: float) -> None:
    assert round_half_away(value, 9) == pytest.approx(value, rel=1e-15)


def test_nothing_stays_nothing_when_rounded() -> None:
    assert math.isnan(round_half_away(math.nan, 6))


def test_arrays_are_rounded_element_by_element() -> None:
    assert np.array_equal(round_half_away(np.array([2.5, -2.5, 1.2]), 0), [3.0, -3.0, 1.0])


@pytest.mark.parametrize("digits", [0, 6, 9])
def test_single_numbers_are_rounded_as_arrays_are(digits: int) -> None:
    numbers = np.concatenate([np.arange(-20, 20) / 8, np.geomspace(1e-300, 1e300, 400), [math.inf, math.nan, -0.0, 1.0000005, 2.6749995]])
    rounded = np.array([round_half_away(float(number), digits) for number in numbers])
    assert np.array_equal(rounded, round_half_away(numbers, digits), equal_nan=True)
    assert np.array_equal(np.signbit(rounded), np.signbit(round_half_away(numbers, digits)))


@pytest.mark.parametrize(("key", "factor", "word"), EDGES)
def test_a_band_answers_with_the_row_that_is_not_above_the_key(key: float, factor: float, word: str) -> None:
    answer = float(STEPS.band(key, "from", "factor"))
    assert answer == factor or (math.isnan(answer) and math.isnan(factor))
    assert str(STEPS.band(key, "from", "word")) == word


def test_a_band_answers_for_arrays_as_for_single_keys() -> None:
    keys = np.array([key for key, _, _ in EDGES])
    assert np.array_equal(STEPS.band(keys, "from", "factor"), [factor for _, factor, _ in EDGES], equal_nan=True)


def test_an_exact_look_up_finds_only_the_very_text() -> None:
    assert STEPS.exact("cool", "word", "factor") == 1.1
    for other in ("COOL", "coo", "cool ", "", "*", "c?ol"):
        assert math.isnan(STEPS.exact(other, "word", "factor")), other


def test_an_exact_look_up_answers_for_arrays() -> None:
    found = STEPS.exact(np.array(["cold", "none", "mild"], dtype=object), "word", "factor")
    assert np.array_equal(found, [1.2, math.nan, 1.0], equal_nan=True)


def test_the_names_of_a_tables_columns_start_with_the_tables_name() -> None:
    assert STEPS.names() == ["steps_from", "steps_factor", "steps_word"]


def test_a_table_is_read_with_numbers_as_numbers_and_texts_as_texts(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    file.write_text("a,b\nA,B\nV,\n-1.5,x\n2,y\n", encoding="utf-8")
    table = read_table(file, "t", "T", common_practice())
    assert table.column("a") == Column("a", "A", "V", (-1.5, 2.0))
    assert table.column("b").values == ("x", "y")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "too short"),
        ("a,b\nA,B\nV,\n", "too short"),
        ("a,b\nA,B\nV,\n1\n2,3\n", "t.csv, row 4"),
        ("a,b\nA,B\nV,\n1,2,3\n4,5\n", "wrong number of cells"),
    ],
)
def test_a_crooked_table_is_refused_with_its_row(tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "t.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ProfileError, match=words):
        read_table(file, "t", "T", common_practice())


def test_every_wrong_row_of_a_table_is_told(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    file.write_text("a,b\nA,B\nV,\n1\n2\n3,4\n", encoding="utf-8")
    with pytest.raises(ProfileError) as caught:
        read_table(file, "t", "T", common_practice())
    assert [problem.place for problem in caught.value.problems] == ["t.csv, row 4", "t.csv, row 5"]


# NEC table 690.7(A): the printed rows, written down apart from the project's file
PRINTED = {
    (20, 24): 1.02,
    (15, 19): 1.04,
    (10, 14): 1.06,
    (5, 9): 1.08,
    (0, 4): 1.10,
    (-5, -1): 1.12,
    (-10, -6): 1.14,
    (-15, -11): 1.16,
    (-20, -16): 1.18,
    (-25, -21): 1.20,
    (-30, -26): 1.21,
    (-35, -31): 1.23,
    (-40, -36): 1.25,
    (25, 35): 1.00,
}


@pytest.mark.parametrize("profile", ["nec-2023", "nec-2020", "iec-62548"])
def test_the_correction_table_gives_the_printed_factor_for_each_degree(profile: str) -> None:
    table = next(table for table in model(profile).tables if table.name == "voltage_correction")
    for (low, high), factor in PRINTED.items():
        for degree in range(low, high + 1):
            assert table.band(float(degree), "t_min", "factor") == factor, degree
    assert math.isnan(table.band(-40.5, "t_min", "factor"))


def test_between_two_printed_rows_the_colder_one_answers() -> None:
    table = next(table for table in model().tables if table.name == "voltage_correction")
    assert table.band(-5.5, "t_min", "factor") == 1.14
    assert table.band(24.5, "t_min", "factor") == 1.02
