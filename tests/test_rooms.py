"""The rooms of the package: data flows one way, every module that declares is listed, every formula comes from a declaration."""

from __future__ import annotations

import ast
import copy
import importlib
import pkgutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import workbook_builder
from tests.strategies import PROFILES
from tests.support import evaluation
from workbook_builder import system
from workbook_builder.file.building import plan_for
from workbook_builder.file.emit import theme
from workbook_builder.language import xl
from workbook_builder.language.profiles import load_profile

PACKAGE = Path(workbook_builder.__file__).parent
# each room, and those of which it may know; what stands at the end of the way knows all of them
MAY_KNOW = {
    "language": {"language"},
    "system": {"language", "system"},
    "evaluation": {"language", "system", "evaluation"},
    "sheets": {"language", "system", "evaluation", "sheets", "file"},
    "file": {"language", "evaluation", "sheets", "file"},
}
# of the file, sheets know what they place on, and what writes their formulas; not the file format, nor what is read back
ON_WHICH_SHEETS_STAND = {"workbook_builder.file.plan", "workbook_builder.file.formula_cells", "workbook_builder.file.contents"}
# of the sheets, this alone is known in the room of the file
AT_THE_END = {"workbook_builder.sheets"}


def modules(room: str) -> Iterator[tuple[str, ast.Module]]:
    for path in sorted((PACKAGE / room).rglob("*.py")):
        yield path.relative_to(PACKAGE).as_posix(), ast.parse(path.read_text(encoding="utf-8"))


def imported(tree: ast.Module) -> set[str]:
    """The modules of this package that a module imports, wherever in it and however."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names if alias.name.startswith("workbook_builder.")}
        elif isinstance(node, ast.ImportFrom) and node.level:
            found.add(f"a relative import: {'.' * node.level}{node.module or ''}")
        elif isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("workbook_builder"):
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                path = PACKAGE.parent / Path(*inner.split("."))
                found.add(inner if path.with_suffix(".py").exists() or path.is_dir() else node.module)
    return found


@pytest.mark.parametrize(
    ("line", "found"),
    (
        ("import workbook_builder.file.emit", "workbook_builder.file.emit"),
        ("from workbook_builder import sheets", "workbook_builder.sheets"),
        ("from workbook_builder.file import emit", "workbook_builder.file.emit"),
        ("from workbook_builder.file.emit import write", "workbook_builder.file.emit"),
        ("def f():\n    from workbook_builder.sheets import start", "workbook_builder.sheets.start"),
        ("from ..file import emit", "a relative import: ..file"),
    ),
)
def test_an_import_is_seen_however_it_is_written(line: str, found: str) -> None:
    assert imported(ast.parse(line)) == {found}


@pytest.mark.parametrize("room", MAY_KNOW)
def test_a_room_knows_only_those_that_come_before_it(room: str) -> None:
    wrong = []
    for name, tree in modules(room):
        for target in imported(tree):
            other = target.split(".")[1] if target.startswith("workbook_builder.") else ""
            if (other and other not in MAY_KNOW[room]) or target.startswith("a relative import"):
                wrong.append(f"{name} imports {target}")
            if room == "sheets" and other == "file" and target not in ON_WHICH_SHEETS_STAND:
                wrong.append(f"{name} imports {target}")
            if room == "file" and other == "sheets" and target not in AT_THE_END:
                wrong.append(f"{name} imports {target}")
    assert not wrong


def test_no_module_imports_itself_by_a_roundabout_way() -> None:
    known = {f"workbook_builder.{name.removesuffix('.py').replace('/', '.')}": imported(tree) for name, tree in modules(".")}

    def reached(start: str) -> set[str]:
        found: set[str] = set()
        todo = [start]
        while todo:
            for other in known.get(todo.pop(), set()) - found:
                found.add(other)
                todo.append(other)
        return found

    # for type checkers only: a chapter says of what kinds its parts are
    allowed = {"workbook_builder.language.declare", "workbook_builder.language.grids", "workbook_builder.language.repeats"}
    assert {name for name in known if name in reached(name)} <= allowed


def test_every_module_that_declares_something_is_in_the_list() -> None:
    found = {
        name
        for _, name, is_folder in pkgutil.walk_packages(system.__path__, "workbook_builder.system.")
        if not is_folder and hasattr(importlib.import_module(name), "chapter")
    }
    assert found == {module.__name__ for module in system.MODULES}


@cache
def formulas(profile: str) -> list[tuple[str, str, str]]:
    """Every formula of a workbook: sheet, key of its value, text."""
    return [(sheet.name, formula.key, formula.text) for sheet, _, _, formula in plan_for(load_profile(profile)).formulas()]


@pytest.mark.parametrize("profile", PROFILES)
def test_every_formula_cell_comes_from_a_declaration_or_shows_a_value_that_stands_elsewhere(profile: str) -> None:
    plan, calculations = plan_for(load_profile(profile)), evaluation(profile).calculations
    stray = [
        f"{sheet}: {key} = {text}"
        for sheet, key, text in formulas(profile)
        if key not in calculations and text not in plan.names and not (key.startswith("row_") and text.startswith("MATCH("))
    ]
    assert not stray
    assert {key for _, key, _ in formulas(profile)} >= {check.name for check in evaluation(profile).model.checks}


@pytest.mark.parametrize("profile", PROFILES)
def test_no_formula_reaches_an_entry_by_its_name_which_cutting_and_pasting_can_re_point(profile: str) -> None:
    named = {f"entry_{entry.name}" for entry in evaluation(profile).model.inputs}
    texts = formulas(profile)
    assert not [key for _, key, text in texts if named & set(xl.names_in(text))]
    read = {key: text for _, key, text in texts if key.startswith("typed_")}
    assert len(read) == len(named)
    assert all("INDEX(" in text for text in read.values())


def _called(call: ast.Call) -> set[str]:
    return {getattr(call.func, "id", ""), getattr(call.func, "attr", "")}


def test_one_module_alone_writes_formulas() -> None:
    written = [
        name for name, tree in modules(".") if any(isinstance(node, ast.Call) and "Formula" in _called(node) for node in ast.walk(tree))
    ]
    assert written == ["file/formula_cells.py"]


def conditions(profile: str) -> list[str]:
    """The formulas of all conditional formats of a workbook."""
    plan = plan_for(load_profile(profile))
    found = [alarm.condition for sheet in plan.sheets for alarm in sheet.alarms]
    return found + [outline.formula for sheet in plan.sheets for outline in sheet.outlines]


@pytest.mark.parametrize("profile", PROFILES)
def test_every_function_of_formulas_and_of_conditional_formats_is_on_the_allow_list(profile: str) -> None:
    texts = [text for _, _, text in formulas(profile)] + conditions(profile)
    used = {piece.text for text in texts for piece in xl.tokens(text) if piece.kind == "function"}
    assert used <= set(xl.FUNCTIONS)
    assert "ISBLANK" in used  # what only conditional formats use is looked at too
    stray = {piece.text for text in texts for piece in xl.tokens(text) if piece.kind == "stray"}
    assert not stray


def test_every_look_that_a_word_decides_is_of_a_word_of_the_theme() -> None:
    plan = plan_for(load_profile("nec-2023"))
    groups = {rule.group for sheet in plan.sheets for rule in sheet.word_formats}
    assert groups <= set(theme())


@pytest.mark.parametrize("example", [False, True])
@pytest.mark.parametrize("profile", PROFILES)
def test_every_name_in_a_formula_a_condition_or_a_link_points_somewhere(profile: str, example: bool) -> None:
    assert not plan_for(load_profile(profile), example=example).stray_names()


def test_a_name_that_points_nowhere_is_told_with_its_place() -> None:
    plan = copy.deepcopy(plan_for(load_profile("nec-2023")))
    del plan.names["array_voc_cold"], plan.names["entry_run_load_size"]
    told = [str(problem) for problem in plan.stray_names()]
    assert any("formula of check_cold_voltage" in line and "array_voc_cold" in line for line in told)
    assert any("link" in line and "entry_run_load_size" in line for line in told)
