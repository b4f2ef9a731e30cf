"""Placing a grid on a sheet: what each column computes, then the rows."""

from __future__ import annotations

from collections.abc import Callable

from workbook_builder.evaluation.model import GridCell, Model
from workbook_builder.file.plan import Formula, Plan, Sheet, address
from workbook_builder.language import xl
from workbook_builder.language.declare import Input
from workbook_builder.language.grids import Column, Grid, Row, Step, Use

DIGITS = {
    "V": "0.00",
    "A": "0.00",
    "W": "0.0",
    "°C": "0.0",
    "K": "0.0",
    "Wh": "0",
    "Wh/d": "0",
    "Ah": "0.0",
    "Ah/d": "0.0",
    "h": "0.0",
    "h/d": "0.00",
    "d": "0.0",
    "%": "0.00",
    "kA": "0.0",
    "mm": "0",
    "cm²": "0.0",
    "m³/h": "0.00",
}


def digits(unit: str, kind: str = "number") -> str:
    """Return the number format of a value in a unit; small figures keep their digits."""
    return DIGITS.get(unit, "0.0###") if kind == "number" else ""


def grid(plan: Plan, sheet: Sheet, model: Model, block: Grid) -> None:
    """Place a grid below what stands on the sheet, and name the cells that others use."""
    last = len(sheet.widths) - 1
    sheet.row += 1
    sheet.banner(block.title, "chapter", last)
    sheet.banner(f"{block.words} Source: {block.source}.", "prose", last)
    for column in block.columns:
        sheet.banner(_explained(column), "formula", last)
    heads = [(f"{words}{f' ({unit})' if unit else ''}", "head") for words, unit in block.numbers.values()]
    heads += [(_heading(column), "head") for column in block.columns]
    sheet.line([("Row", "head"), *heads])
    first = sheet.row
    for row in block.rows:
        _row(plan, sheet, model, block, row, first)
    for place, name in enumerate(block.numbers):
        plan.columns[block.name, f"number {name}"] = (sheet.name, first, 1 + place, sheet.row - 1)
    for place, column in enumerate(block.columns):
        plan.columns[block.name, column.name] = (sheet.name, first, 1 + len(block.numbers) + place, sheet.row - 1)


def _explained(column: Column) -> str:
    unit = f" in {column.unit}" if column.unit else ""
    text = f"{column.name}{unit}: {column.words} = {xl.spoken(column.step.formula)}"
    return text + (f"; in rows that start: {xl.spoken(column.start.formula)}" if column.start else "")


def _heading(column: Column) -> str:
    symbol = column.symbol or column.words
    return f"{symbol} ({column.unit})" if column.unit else symbol


def _row(plan: Plan, sheet: Sheet, model: Model, block: Grid, row: Row, first: int) -> None:
    sheet.put(0, row.label, "text")
    for place, name in enumerate(block.numbers):
        sheet.put(1 + place, row.numbers.get(name, ""), "number")
    for at, column in enumerate(block.columns, 1 + len(block.numbers)):
        if not column.stands_in(row):
            continue
        text = _formula(model, block, row, column, sheet.row, first)
        style = "number" if column.kind == "number" else "running" if column.wide else "text"
        sheet.put(at, Formula(text, block.cell(row, column)), style, digits(column.unit, column.kind))
        if block.is_named(row, column):
            plan.name(block.cell(row, column), sheet, sheet.row, at)
    texts = [(row.label, sheet.widths[0], "text")]
    for place, column in enumerate(block.columns, 1 + len(block.numbers)):
        if column.kind == "text" and not column.wide:
            texts.append(("x" * longest_text(block, column), sheet.widths[place] + 1, "text"))
    sheet.fit_texts(sheet.row, texts)
    sheet.row += 1


def longest_text(block: Grid, column: Column) -> int:
    """Return the length of the longest text that a column can show: its own, or one that it takes over from another column."""
    texts = {other.name: other for other in block.columns if other.kind == "text" and not other.wide}
    if column.name not in texts:
        return 0
    takes_over = any(parameter in texts for parameter in column.step.parameters)
    shown = texts.values() if takes_over else [column]
    return max(len(xl.longest_text(one.step.formula)) for one in shown)


def formula_in_names(model: Model, cell: GridCell) -> str:
    """Return the formula of a grid's cell with its guard, every cell of the grid called by the key of its value."""

    def place(use: Use) -> tuple[str, str]:
        if use.number is not None:
            return f"{cell.grid.name}_{cell.row.key}_{use.parameter}", "constant"
        return use.key(cell.grid), use.inside[1].kind if use.inside else model.kind_of(use.outside)

    return _guarded(model, cell.grid, cell.step, cell.uses, place)


def _formula(model: Model, block: Grid, row: Row, column: Column, at: int, first: int) -> str:
    uses = next(uses for r, c, _, uses in block.cells() if r is row and c is column)
    return _guarded(model, block, column.step_of(row), uses, lambda use: _place(model, block, use, at, first))


def _guarded(model: Model, block: Grid, step: Step, uses: list[Use], place: Callable[[Use], tuple[str, str]]) -> str:
    needed: dict[str, list[str]] = {"number": [], "text": [], "flag": [], "check": [], "constant": []}
    statuses, names = [], {}
    for use in uses:
        name, kind = place(use)
        names[use.parameter] = name
        if use.optional:
            if isinstance(model.nodes.get(use.outside), Input):
                statuses.append(f"status_{use.outside}")
        else:
            needed[kind].append(name)
    formula, otherwise = xl.substitute(step.formula, names), "0" if block.chart else '""'
    return xl.guarded(formula, needed["number"], needed["text"] + needed["flag"], statuses, needed["check"], otherwise)


def _place(model: Model, block: Grid, use: Use, at: int, first: int) -> tuple[str, str]:
    """Return how a formula refers to what a parameter stands for, and its kind."""
    if use.number is not None:
        return address(at, 1 + list(block.numbers).index(use.parameter)), "constant"
    if use.inside is None:
        return use.outside, model.kind_of(use.outside)
    row, column = use.inside
    place = 1 + len(block.numbers) + block.columns.index(column)
    return address(first + block.rows.index(row), place), column.kind
