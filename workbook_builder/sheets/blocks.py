"""Placing a grid on a sheet: what each column computes, then the rows."""

from __future__ import annotations

from collections.abc import Sequence

from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Plan, Sheet, Worked
from workbook_builder.language import xl
from workbook_builder.language.grids import Column, Grid, Row
from workbook_builder.language.steps import Step
from workbook_builder.language.variations import Axis, Place, Variation

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


def grid(plan: Plan, sheet: Sheet, block: Grid) -> None:
    """Place a grid below what stands on the sheet, and name the cells that others use."""
    last = len(sheet.widths) - 1
    sheet.row += 1
    sheet.banner(block.title, "chapter", last)
    sheet.banner(f"{block.words} Source: {block.source}.", "prose", last)
    for column in block.columns:
        sheet.banner(_explained(block, column.step), "formula", last)
    heads = [(f"{words}{f' ({unit})' if unit else ''}", "head") for words, unit in block.numbers.values()]
    heads += [(_heading(column.step), "head") for column in block.columns]
    sheet.line([("Row", "head"), *heads])
    first = sheet.row
    for row in block.rows:
        _row(plan, sheet, block, row)
    for place, name in enumerate(block.numbers):
        plan.columns[block.name, f"number {name}"] = (sheet.name, first, 1 + place, sheet.row - 1)
    for place, column in enumerate(block.columns):
        plan.columns[block.name, column.name] = (sheet.name, first, 1 + len(block.numbers) + place, sheet.row - 1)


def _explained(block: Grid, step: Step) -> str:
    unit = f" in {step.unit}" if step.unit else ""
    text = f"{step.name}{unit}: {step.words} = {xl.spoken(step.formula)}"
    start = block.template.starts.get(step.name)
    return text + (f"; in rows that start: {xl.spoken(start.formula)}" if start else "")


def _heading(step: Step) -> str:
    symbol = step.symbol or step.words
    return f"{symbol} ({step.unit})" if step.unit else symbol


def _row(plan: Plan, sheet: Sheet, block: Grid, row: Row) -> None:
    sheet.put(0, row.label, "text")
    for place, name in enumerate(block.numbers):
        sheet.put(1 + place, row.numbers.get(name, ""), "number")
        if name in row.numbers:
            plan.give(f"{block.name}_{row.key}_{name}", sheet, sheet.row, 1 + place)
    for at, column in enumerate(block.columns, 1 + len(block.numbers)):
        if not column.stands_in(row):
            continue
        step, key = column.step, block.cell(row, column)
        style = "number" if step.kind == "number" else "running" if column.wide else "text"
        sheet.put(at, Worked(key), style, digits(step.unit, step.kind))
        if block.is_named(row, column):
            plan.name(key, sheet, sheet.row, at)
    texts = [(row.label, sheet.widths[0], "text")]
    for place, column in enumerate(block.columns, 1 + len(block.numbers)):
        if column.step.kind == "text" and not column.wide:
            texts.append(("x" * longest_text(block, column), sheet.widths[place] + 1, "text"))
    sheet.fit_texts(sheet.row, texts)
    sheet.row += 1


def longest_text(block: Grid, column: Column) -> int:
    """Return the length of the longest text that a column can show: its own, or one that it takes over from another column."""
    texts = {other.name: other.step for other in block.columns if other.step.kind == "text" and not other.wide}
    if column.name not in texts:
        return 0
    takes_over = any(parameter in texts for parameter in column.step.parameters)
    shown = texts.values() if takes_over else [column.step]
    return max(len(xl.longest_text(step.formula)) for step in shown)


FEW = 12  # places that stand side by side; more stand one below the other


def variation(plan: Plan, sheet: Sheet, model: Model, varied: Variation, *, searches: bool) -> None:
    """Place the values that vary, or those of their searches, at each place; few places stand side by side."""
    nodes = varied.nodes(model.by_key)
    for inputs, places in varied.places().items():
        mine = [key for key, rests_on in nodes.items() if rests_on == inputs and (key not in model.nodes) == searches]
        if not mine:
            continue
        axes = [axis for axis in varied.axes if axis.varies in inputs]
        _varied_title(sheet, model, varied, axes, [] if searches else mine)
        if len(places) <= FEW:
            _side_by_side(plan, sheet, model, axes, places, mine)
        else:
            _one_below_the_other(plan, sheet, model, axes, places, mine)


def _varied_title(sheet: Sheet, model: Model, varied: Variation, axes: Sequence[Axis], explained: Sequence[str]) -> None:
    last = len(sheet.widths) - 1
    sheet.row += 1
    sheet.banner(f"{varied.title}: {' and '.join(model.by_key[axis.varies].label.lower() for axis in axes)}", "chapter", last)
    sheet.banner(varied.words, "prose", last)
    for key in explained:
        step = model.by_key[key].step
        unit = f" in {step.unit}" if step.unit else ""
        sheet.banner(f"{key}{unit}: {step.words} = {xl.spoken(step.formula)}", "formula", last)


def _headed(model: Model, key: str) -> str:
    unit = model.by_key[key].step.unit
    return f"{key} ({unit})" if unit else key


def _put_varied(sheet: Sheet, model: Model, place: Place, key: str, row: int, column: int) -> None:
    step = model.by_key[key].step
    style = "number" if step.kind == "number" else "text"
    sheet.put(column, Worked(place.name(key)), style, digits(step.unit, step.kind), row=row)


def _side_by_side(plan: Plan, sheet: Sheet, model: Model, axes: Sequence[Axis], places: Sequence[Place], keys: Sequence[str]) -> None:
    sheet.line([("Value", "head"), *((place.label, "head") for place in places)])
    for axis in axes:
        sheet.put(0, axis.varies, "text")
        for column, place in enumerate(places, 1):
            sheet.put(column, place.values[axis.varies], "number")
            _give_once(plan, place.name(axis.varies), sheet, column)
        sheet.row += 1
    for key in keys:
        sheet.put(0, _headed(model, key), "text")
        for column, place in enumerate(places, 1):
            _put_varied(sheet, model, place, key, sheet.row, column)
        sheet.fit(sheet.row)
        sheet.row += 1


def _one_below_the_other(
    plan: Plan, sheet: Sheet, model: Model, axes: Sequence[Axis], places: Sequence[Place], keys: Sequence[str]
) -> None:
    sheet.line([("Place", "head"), *((axis.varies, "head") for axis in axes), *((_headed(model, key), "head") for key in keys)])
    for place in places:
        sheet.put(0, place.label, "text")
        for column, axis in enumerate(axes, 1):
            sheet.put(column, place.values[axis.varies], "number")
            _give_once(plan, place.name(axis.varies), sheet, column)
        for column, key in enumerate(keys, 1 + len(axes)):
            _put_varied(sheet, model, place, key, sheet.row, column)
        sheet.fit(sheet.row)
        sheet.row += 1


def _give_once(plan: Plan, key: str, sheet: Sheet, column: int) -> None:
    if key not in plan.places:
        plan.give(key, sheet, sheet.row, column)
