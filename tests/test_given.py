"""What is given from Python: whatever kind of number, the same workbook; a unit is converted or refused, and never stripped."""

from __future__ import annotations

import hashlib
import math
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pandas as pd
import pint
import pytest

from tests.support import example
from workbook_builder import build, evaluate
from workbook_builder.file.design import read_design
from workbook_builder.language.errors import DesignError
from workbook_builder.language.units import registry

SAME = {
    "a float": 22.5,
    "a numpy double": np.float64(22.5),
    "a numpy single": np.float32(22.5),
    "a numpy half": np.float16(22.5),
    "a long double": np.longdouble(22.5),
    "a decimal": Decimal("22.5"),
    "a fraction": Fraction(45, 2),
    "an array without a dimension": np.array(22.5),
    "an object array without a dimension": np.array(22.5, dtype=object),
    "a quantity": registry().Quantity(22.5, "volt"),
    "a quantity of another unit": registry().Quantity(22500, "millivolt"),
    "a quantity of another registry": pint.UnitRegistry().Quantity(22.5, "volt"),
    "a quantity of a decimal": registry().Quantity(Decimal("22.5"), "volt"),
}
WHOLE = {"an integer": 3, "a numpy integer": np.int32(3), "a small one": np.uint8(3), "a float": 3.0, "a decimal": Decimal(3)}


@cache
def usual() -> str:
    with TemporaryDirectory() as folder:
        return bytes_of(Path(folder), module_voc=22.5)


def bytes_of(folder: Path, **changes: Any) -> str:
    return hashlib.sha256(build(example(**changes), folder / "a.xlsx").path.read_bytes()).hexdigest()


@pytest.mark.parametrize("kind", SAME)
def test_a_number_of_any_kind_is_judged_alike(kind: str) -> None:
    assert evaluate(example(module_voc=SAME[kind])) == evaluate(example(module_voc=22.5))


@pytest.mark.parametrize("kind", [kind for kind in SAME if kind != "a float"])
def test_a_number_of_any_kind_gives_the_same_workbook(kind: str, tmp_path: Path) -> None:
    assert bytes_of(tmp_path, module_voc=SAME[kind]) == usual()


def test_a_whole_number_of_any_kind_gives_the_same_workbook(tmp_path: Path) -> None:
    assert len({bytes_of(tmp_path, array_parallel=value) for value in WHOLE.values()}) == 1


def test_temperatures_are_converted_as_temperatures() -> None:
    cold = registry().Quantity(10.4, "degF")
    assert evaluate(example(site_t_min=cold))["site_t_min"] == pytest.approx(-12)


def test_arrays_of_quantities_are_converted_each() -> None:
    together = evaluate(example(module_voc=registry().Quantity(np.array([22.5, 20.0]), "volt")))
    alone = np.array([registry().Quantity(22500, "millivolt"), registry().Quantity(20.0, "volt")], dtype=object)
    assert list(together["array_voc"]) == list(evaluate(example(module_voc=alone))["array_voc"]) == [45.0, 40.0]
    assert list(evaluate(example(module_voc=pd.Series([22.5, 20.0])))["array_voc"]) == [45.0, 40.0]


REFUSED = {
    "another quantity": (registry().Quantity(22.5, "ampere"), "is in ampere, which is no unit of V"),
    "a masked array": (np.ma.array([22.5, 20.0], mask=[False, True]), "is a masked array"),
    "a complex number": (22.5 + 0j, "is of a kind that no cell holds"),
    "bytes": (b"22.5", "is of a kind that no cell holds"),
    "a set": ({22.5}, "is of a kind that no cell holds"),
    "a mapping": ({"voc": 22.5}, "is of a kind that no cell holds"),
    "no value of another library": (pd.NA, "is of a kind that no cell holds"),
    "a complex array": (np.array([1j]), "is an array of a kind that no cell holds"),
    "an array of moments": (np.array(["2026-11-27"], dtype="datetime64[D]"), "is an array of a kind that no cell holds"),
    "a moment": (np.datetime64("2026-11-27"), "is of a kind that no cell holds"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_no_cell_can_hold_is_refused_in_words(kind: str, tmp_path: Path) -> None:
    value, said = REFUSED[kind]
    for use in (evaluate, lambda inputs: build(inputs, tmp_path / "a.xlsx")):
        with pytest.raises(DesignError, match="module_voc") as error:
            use(example(module_voc=value))
        assert said in str(error.value)
    assert not (tmp_path / "a.xlsx").exists()


def test_a_quantity_where_a_text_is_entered_is_refused() -> None:
    with pytest.raises(DesignError, match="where a text is entered"):
        evaluate(example(site_name=registry().Quantity(1, "volt")))


def test_all_that_is_refused_is_said_at_once() -> None:
    with pytest.raises(DesignError) as error:
        evaluate(example(module_voc=b"1", module_isc=registry().Quantity(1, "volt")))
    assert len(error.value.problems) == 2


@pytest.mark.parametrize("number", [10**400, -(10**400), 10**25, Decimal("1e500"), math.inf, -math.inf])
def test_a_number_of_any_size_is_refused_by_its_range(number: Any, tmp_path: Path) -> None:
    values = evaluate(example(module_voc=number))
    assert (values["status_module_voc"], values["verdict"]) == ("out of range", "INCOMPLETE")
    assert build(example(module_voc=number), tmp_path / "a.xlsx").verdict == "INCOMPLETE"


@pytest.mark.parametrize("text", ["", " ", "\t", "\u00a0", "\u200b", " \t\u00a0\u200b\ufeff "])
def test_signs_that_nobody_sees_are_no_name(text: str) -> None:
    """A confirmation names who confirmed it: by nothing that can be read, nobody did."""
    assert evaluate(example(confirm_by=text))["status_confirm_by"] == evaluate(example(confirm_by=None))["status_confirm_by"]


def test_a_date_is_taken_as_it_is() -> None:
    assert evaluate(example(site_date=date(2026, 11, 27)))["status_site_date"] == "entered"


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("9" * 400, "out of range; got 9999"),
        ("9" * 5000, "is not TOML"),
        ("[" * 50_000, "is not TOML"),
        ("1e999", "out of range; got inf"),
        ("nan", "is not a number"),
    ],
)
def test_a_number_of_any_size_in_a_design_file_is_refused_in_a_short_sentence(value: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    file.write_text(f"[module]\nvoc = {value}\n", encoding="utf-8")
    with pytest.raises(DesignError) as error:
        read_design(file)
    assert said in str(error.value)
    assert len(str(error.value)) < 400
