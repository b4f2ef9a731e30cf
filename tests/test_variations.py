"""A variation works the very calculations of the design at other values of its inputs, and nothing else again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.steps import Calculation, Given, Step
from workbook_builder.language.variations import Axis, Variation

ROWS = Axis("rows", "by_rows", "r", "{} rows", (1.0, 2.0))
FILES = Axis("files", "by_files", "f", "{} files", (3.0, 4.0, 5.0))


def calculation(key: str, formula: str, function: Any) -> Calculation:
    step = Step(name=key, words="for this test", formula=formula, function=function)
    return Calculation(key, step, {name: name for name in step.parameters}, np.nan)


DESIGN: Mapping[str, Calculation] = {
    one.key: one
    for one in (
        calculation("rows", "typed", lambda typed: typed),
        calculation("width", "rows*seat", lambda rows, seat: rows * seat),
        calculation("length", "files*seat", lambda files, seat: files * seat),
        calculation("area", "width*length+path", lambda width, length, path: width * length + path),
        calculation("path", "seat+door", lambda seat, door: seat + door),
    )
}


def varied(*targets: str, replaced: Mapping[str, Any] | None = None) -> Variation:
    return Variation("both", "Hall", "For this test.", (ROWS, FILES), targets, "Hall", "Hall", replaced or {})


def found(variation: Variation) -> dict[str, Calculation]:
    return {one.key: one for one in variation.calculations(DESIGN)}


def test_each_value_stands_once_for_each_value_of_what_it_rests_on() -> None:
    keys = set(found(varied("area")))
    assert keys == {
        *(f"by_rows_r{n}_width" for n in (1, 2)),
        *(f"by_files_f{n}_length" for n in (3, 4, 5)),
        *(f"both_r{r}f{f}_area" for r in (1, 2) for f in (3, 4, 5)),
    }


def test_a_place_calls_what_varies_by_its_own_values_and_the_rest_by_the_designs() -> None:
    area = found(varied("area"))["both_r2f5_area"]
    assert area.bound == {"width": "by_rows_r2_width", "length": "by_files_f5_length", "path": "path"}
    width = found(varied("area"))["by_rows_r2_width"]
    assert width.bound == {"rows": Given(2.0, "by_rows_r2_rows"), "seat": "seat"}


def test_the_formula_and_the_function_are_those_of_the_design() -> None:
    area = found(varied("area"))["both_r1f3_area"]
    assert area.step.formula == DESIGN["area"].step.formula
    assert area.step.function is DESIGN["area"].step.function


def test_another_value_may_stand_for_one_of_the_design_at_every_place() -> None:
    calculations = found(varied("area", replaced={"length": "longest"}))
    assert set(calculations) == {"by_rows_r1_width", "by_rows_r2_width", "by_rows_r1_area", "by_rows_r2_area"}
    assert calculations["by_rows_r1_area"].bound["length"] == "longest"


@pytest.mark.parametrize(
    ("target", "says"),
    [("height", "wants a value that is declared nowhere"), ("path", "wants a value that rests on nothing that varies")],
)
def test_a_target_that_cannot_vary_is_refused_by_name(target: str, says: str) -> None:
    with pytest.raises(DeclarationError, match=f"{says}.*{target}"):
        found(varied(target))


def test_more_than_two_axes_are_refused() -> None:
    with pytest.raises(DeclarationError, match="variation both: has too few or too many axes; got 3"):
        Variation("both", "Hall", "For this test.", (ROWS, FILES, Axis("doors", "by_doors", "d", "{} doors", (1.0,))), (), "Hall", "Hall")
