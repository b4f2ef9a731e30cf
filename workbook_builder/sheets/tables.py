"""Constants, the profile's values and tables, the lists of choices, and the words of the echo."""

from __future__ import annotations

from workbook_builder.evaluation.entries import ECHOES
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.outcome import MARKS
from workbook_builder.file.plan import Plan, Sheet
from workbook_builder.language.tables import Table

WIDTHS = (46, 14, 14, 14, 14, 14, 14, 14, 40)
LAST = len(WIDTHS) - 1


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet of everything that is looked up, and its names."""
    sheet = plan.add(Sheet("Tables", "Constants, tables and lists that the formulas look up", WIDTHS, print_columns=LAST + 1))
    sheet.banner("Tables", "title", LAST)
    sheet.banner(f"Profile: {model.profile.title}, {model.profile.edition}. {model.profile.note}", "strong", LAST)
    _constants(plan, sheet, model)
    for table in model.tables:
        _table(plan, sheet, table)
    sheet.row += 1
    sheet.banner("Lists of choices", "chapter", LAST)
    for entry in model.inputs:
        if entry.kind == "choice":
            _list(plan, sheet, f"list_{entry.name}", entry.label, list(entry.options))
    _list(plan, sheet, "mark_words", "Verdict of a check", list(MARKS))
    _list(plan, sheet, "mark_signs", "Its mark, in the same order", list(MARKS.values()))
    _list(plan, sheet, "echo_statuses", "Status of an entry", list(ECHOES))
    _list(plan, sheet, "echo_words", "How it is echoed, in the same order", list(ECHOES.values()))
    return sheet


def _constants(plan: Plan, sheet: Sheet, model: Model) -> None:
    sheet.row += 1
    sheet.banner("Constants", "chapter", LAST)
    sheet.line([("What", "head"), ("Symbol", "head"), ("Value", "head"), ("Unit", "head"), ("Source", "head")])
    for constant in model.constants:
        row = sheet.row
        sheet.put(LAST, constant.name, "quiet", row=row)
        plan.name(constant.name, sheet, row, 2)
        sheet.put(4, str(constant.source), "small")
        sheet.merges.append((row, 4, LAST - 1))
        sheet.line([(constant.label, "text"), (constant.symbol, "text"), (constant.value, "number"), (constant.unit, "text")])
        texts = [
            (constant.label, sheet.widths[0], "text"),
            (str(constant.source), sum(sheet.widths[4:LAST]), "small"),
            (constant.name, sheet.widths[LAST], "quiet"),
        ]
        sheet.fit_texts(row, texts)


def _table(plan: Plan, sheet: Sheet, table: Table) -> None:
    sheet.row += 1
    sheet.banner(table.title, "chapter", LAST)
    sheet.banner(" ".join(part for part in (f"Source: {table.source}.", table.note) if part), "prose", LAST)
    sheet.line([(f"{column.label}{f' ({column.unit})' if column.unit else ''}", "head") for column in table.columns])
    first = sheet.row
    for values in zip(*(column.values for column in table.columns), strict=True):
        sheet.line([(value, "text" if isinstance(value, str) else "number") for value in values])
    for place, name in enumerate(table.names()):
        plan.name(name, sheet, first, place, sheet.row - 1)


def _list(plan: Plan, sheet: Sheet, name: str, label: str, items: list[str | float]) -> None:
    sheet.row += 1
    sheet.line([(label, "head")])
    first = sheet.row
    for item in items:
        sheet.line([(item, "text")])
    plan.name(name, sheet, first, 0, sheet.row - 1)
