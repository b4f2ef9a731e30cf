"""No formula rests on itself, not even through a range of which it would use another cell: programs call that a circle."""

from __future__ import annotations

import re
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter

import pytest
from openpyxl.utils import range_boundaries

from tests.strategies import PROFILES
from workbook_builder.file.building import plan_for
from workbook_builder.file.plan import Formula, Plan, Sheet
from workbook_builder.language import xl
from workbook_builder.language.profiles import load_profile

Place = tuple[str, int, int]


def precedents(plan: Plan, sheet: str, formula: str) -> Iterator[Place]:
    pieces = [piece for piece in xl.tokens(formula) if piece.kind != "space"]
    for piece in pieces:
        if piece.kind == "name":
            home, row, column, last = plan.names[piece.text]
            yield from ((home, one, column) for one in range(row, last + 1))
    text = "".join(" " if piece.kind in ("name", "text", "function") else piece.text for piece in pieces)
    for found in re.findall(r"\$?[A-Z]+\$?[0-9]+(?::\$?[A-Z]+\$?[0-9]+)?", text):
        left, top, right, bottom = range_boundaries(found.replace("$", ""))
        yield from ((sheet, row - 1, column - 1) for row in range(top, bottom + 1) for column in range(left, right + 1))


def graph(plan: Plan) -> dict[Place, list[Place]]:
    cells = {(sheet.name, row, column): formula for sheet, row, column, formula in plan.formulas()}
    return {place: [one for one in precedents(plan, place[0], formula.text) if one in cells] for place, formula in cells.items()}


@pytest.mark.parametrize("profile", PROFILES)
def test_no_formula_rests_on_itself(profile: str) -> None:
    found = graph(plan_for(load_profile(profile)))
    assert sum(map(len, found.values())) > 10_000
    TopologicalSorter(found).prepare()


@pytest.mark.parametrize("formula", ["INDEX(column_of_all,2)", "SUM(A1:A3)"])
def test_a_circle_through_a_range_would_be_found(formula: str) -> None:
    plan = Plan("circle")
    sheet = plan.add(Sheet("One", "", (10,)))
    for row in range(3):
        sheet.put(0, 1.0 if row != 1 else Formula(formula, "second"), "number", row=row)
    plan.name("column_of_all", sheet, 0, 0, 2)
    with pytest.raises(CycleError):
        TopologicalSorter(graph(plan)).prepare()
