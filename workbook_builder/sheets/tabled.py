"""Entries that are typed into a table, and the sheet that shows how each of them was read."""

from __future__ import annotations

from collections.abc import Mapping

from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Entry, Plan, Sheet, WordFormat, Worked
from workbook_builder.language.inputs import EntryTable, Input
from workbook_builder.sheets import entries, stale

FIRST = 1  # column of the first field


def place(plan: Plan, sheet: Sheet, model: Model, table: EntryTable, *, with_status: bool = True) -> int:
    """Place an entry table on a sheet: a row per item, a column per field, and whether what is typed in the row can be read.

    Without that status the sheet itself must say of each row what follows from it, and texts have no message of their own.

    The row of its headings is returned: there, and in the rows below, columns to the right are free.
    """
    inputs = {entry.name: entry for entry in model.inputs}
    last = FIRST + len(table.fields)
    sheet.banner(f"{table.title}. {table.words}", "section", entries.WHERE)
    head = sheet.row
    sheet.line([("Row", "head"), *((heading, "head") for _, heading in table.fields)])
    if with_status:
        sheet.put(last, "Typing (sheet Rows)", "head", row=head)
        sheet.fit(head)
    for item, label in table.items:
        sheet.put(0, label, "text")
        sheet.put(entries.KEY, item, "quiet")
        for column, name in enumerate(table.inputs(item), FIRST):
            sheet.put(column, Entry(name), entries.style_of(inputs[name]))
            plan.name(f"entry_{name}", sheet, sheet.row, column)
            if with_status or inputs[name].kind != "text":
                sheet.validations += entries.validation(plan, inputs[name], sheet.row, column)
        if with_status:
            plan.give(f"given_{item}_key", sheet, sheet.row, entries.KEY)
            sheet.put(last, Worked(f"row_status_{item}"), "text")
        sheet.heights[sheet.row] = 17
        sheet.row += 1
    for column, (field, _) in enumerate(table.fields, FIRST):
        plan.name(f"{table.name}_{field}_entries", sheet, head, column, sheet.row - 1)
    typed, _ = stale.area_of(table.name)
    plan.areas[typed] = (sheet.name, head + 1, FIRST, sheet.row - 1, last - 1)
    plan.name(f"{table.name}_keys", sheet, head, entries.KEY, sheet.row - 1)
    return head


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet that shows how the entries of all tables were read, one line each."""
    sheet = plan.add(Sheet("Rows", "How the entries of the tables were read", entries.WIDTHS, print_columns=entries.LOW))
    sheet.banner("Rows", "title", entries.WHERE)
    sheet.banner("One line for each cell of a table of entries. Nothing is typed here.", "subtitle", entries.WHERE)
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([("Row of the table" if column == entries.ENTRY else heading, "head") for column, heading in enumerate(entries.HEADINGS)])
    first = sheet.row
    inputs = {entry.name: entry for entry in model.inputs}
    for table in model.design_tables:
        _rows(plan, sheet, inputs, table)
    # only rows of the design count in its verdict
    plan.name("row_status_column", sheet, first, entries.STATUS, sheet.row - 1)
    for table in model.other_tables:
        _rows(plan, sheet, inputs, table)
    sheet.word_formats.append(WordFormat((first, entries.STATUS), (sheet.row - 1, entries.STATUS), entries.STATUS))
    return sheet


def _rows(plan: Plan, sheet: Sheet, inputs: Mapping[str, Input], table: EntryTable) -> None:
    """Place the lines of a table, column by column: so lines with the same formulas stand together, and the file is smaller."""
    sheet.banner(table.title, "section", entries.WHERE)
    top = sheet.row
    for place, (field, _) in enumerate(table.fields):
        for position, (item, _) in enumerate(table.items, 1):
            typed = entries.Typed(f"{table.name}_{field}_entries", f"{table.name}_keys", 0, position, item)
            sheet.put(entries.ENTRY, item, "quiet")
            entries.line(plan, sheet, inputs[table.inputs(item)[place]], typed)
    plan.name(f"{table.name}_items", sheet, top, entries.ENTRY, sheet.row - 1)
    plan.name(f"{table.name}_statuses", sheet, top, entries.STATUS, sheet.row - 1)
    plan.name(stale.area_of(table.name)[1], sheet, top, entries.TYPED, sheet.row - 1)
