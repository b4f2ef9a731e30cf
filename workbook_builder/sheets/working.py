"""The working: every intermediate quantity with its value, unit, formula in words and source."""

from __future__ import annotations

from workbook_builder import xl
from workbook_builder.declare import Check, Input, Quantity
from workbook_builder.model import Model
from workbook_builder.plan import Formula, Plan, Sheet

LABEL, SYMBOL, VALUE, UNIT, WORDS, FORMULA, SOURCE, KEY = range(8)
HEADINGS = ("Quantity", "Symbol", "Value", "Unit", "In words", "Formula, with the names of the cells", "Source", "Name")
WIDTHS = (34, 11, 16, 11, 40, 46, 34, 24)
DIGITS = {"V": "0.00", "A": "0.00", "W": "0.0", "°C": "0.0", "K": "0.0"}


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet of the working and the names of all quantities."""
    sheet = plan.add(Sheet("Working", "Every step of the calculation, with its formula and source", WIDTHS))
    sheet.banner("Working", "title", KEY)
    sheet.banner(
        "Each line computes one value once; others refer to it by its name. An empty value waits for an entry.",
        "subtitle", KEY,
    )  # fmt: skip
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([(heading, "head") for heading in HEADINGS])
    for chapter in model.chapters:
        if chapter.quantities:
            sheet.banner(chapter.title, "section", KEY)
        for quantity in chapter.quantities:
            _row(plan, sheet, model, quantity)
    return sheet


def _row(plan: Plan, sheet: Sheet, model: Model, quantity: Quantity) -> None:
    plan.name(quantity.name, sheet, sheet.row, VALUE)
    digits = DIGITS.get(quantity.unit, "0.0###" if quantity.kind == "number" else "")
    style = "number" if quantity.kind == "number" else "text"
    sheet.put(VALUE, Formula(cell_formula(model, quantity), quantity.name), style, digits)
    texts = {LABEL: quantity.label, SYMBOL: quantity.symbol, UNIT: quantity.unit, WORDS: quantity.words,
             FORMULA: xl.spoken(quantity.formula), SOURCE: str(model.source_of(quantity)), KEY: quantity.name}  # fmt: skip
    for column, text in texts.items():
        sheet.put(column, text, {FORMULA: "small", SOURCE: "small", KEY: "quiet"}.get(column, "text"))
    sheet.fit(sheet.row)
    sheet.row += 1


def cell_formula(model: Model, quantity: Quantity) -> str:
    """Return a quantity's formula with the guard that keeps it empty until everything it needs is there."""
    nodes = model.nodes()
    numbers, texts, statuses = [], [], []
    constants = {constant.name for constant in model.constants}
    for name in quantity.parameters:
        node = nodes.get(name)
        if name in constants:
            continue  # always there, and locked
        if name in quantity.optional:
            if isinstance(node, Input):
                statuses.append(f"status_{name}")
        elif (isinstance(node, Input) and node.numeric) or (isinstance(node, Quantity) and node.kind == "number"):
            numbers.append(name)
        else:
            texts.append(name)
    otherwise = '"INCOMPLETE"' if isinstance(quantity, Check) else '""'
    return xl.guarded(quantity.formula, numbers, texts, statuses, otherwise)
