"""Entries that are typed into a table, and the sheet that shows how each of them was read."""

from __future__ import annotations

from collections.abc import Mapping

from workbook_builder.declare import EntryTable, Input
from workbook_builder.model import Model
from workbook_builder.outcome import ROW_ACCEPTED, ROW_OPEN
from workbook_builder.plan import Entry, Formula, Plan, Sheet, WordFormat
from workbook_builder.sheets import entries, stale

FIRST = 1  # column of the first field


def place(plan: Plan, sheet: Sheet, model: Model, table: EntryTable) -> int:
    """Place an entry table on a sheet: a row per item, a column per field, and the status of each row.

    The row of its headings is returned: there, and in the rows below, columns to the right are free.
    """
    inputs = {entry.name: entry for entry in model.inputs}
    last = FIRST + len(table.fields)
    sheet.banner(f"{table.title}. {table.words}", "section", entries.WHERE)
    head = sheet.row
    sheet.line([("Row", "head"), *((heading, "head") for _, heading in table.fields), ("Status of the row", "head")])
    for item, label in table.items:
        sheet.put(0, label, "text")
        sheet.put(entries.KEY, item, "quiet")
        for column, name in enumerate(table.inputs(item), FIRST):
            sheet.put(column, Entry(name), entries.style_of(inputs[name]))
            plan.name(f"entry_{name}", sheet, sheet.row, column)
            sheet.validations += entries.validation(plan, inputs[name], sheet.row, column)
        accepted = "+".join(f'COUNTIF({item}_statuses,"{word}")' for word in ("entered", "default"))
        text = f'IF({accepted}={item}_fields,"{ROW_ACCEPTED}","{ROW_OPEN}")'
        sheet.put(last, Formula(text, f"row_status_{item}"), "text")
        sheet.heights[sheet.row] = 27
        sheet.row += 1
    for column, (field, _) in enumerate(table.fields, FIRST):
        plan.name(f"{table.name}_{field}_entries", sheet, head, column, sheet.row - 1)
    typed, _ = stale.area_of(table.name)
    plan.areas[typed] = (sheet.name, head + 1, FIRST, sheet.row - 1, last - 1)
    plan.name(f"{table.name}_keys", sheet, head, entries.KEY, sheet.row - 1)
    return head


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet that shows how the entries of all tables were read, one line each."""
    sheet = plan.add(
        Sheet("Rows", "How the entries of the tables were read", entries.WIDTHS, print_columns=entries.LOW)
    )
    sheet.banner("Rows", "title", entries.WHERE)
    sheet.banner("One line for each cell of a table of entries. Nothing is typed here.", "subtitle", entries.WHERE)
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([("" if column == entries.ENTRY else heading, "head") for column, heading in enumerate(entries.HEADINGS)])
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
    sheet.banner(table.title, "section", entries.WHERE)
    top = sheet.row
    for position, (item, _) in enumerate(table.items, 1):
        start = sheet.row
        for (field, _), name in zip(table.fields, table.inputs(item), strict=True):
            column = f"{table.name}_{field}_entries"
            typed = entries.Typed(column, f"{table.name}_keys", 0, position, item)
            entries.line(plan, sheet, inputs[name], typed)
        plan.name(f"{item}_statuses", sheet, start, entries.STATUS, sheet.row - 1)
        sheet.put(entries.ENTRY, float(len(table.fields)), "quiet", row=start)
        plan.name(f"{item}_fields", sheet, start, entries.ENTRY)
    plan.name(stale.area_of(table.name)[1], sheet, top, entries.TYPED, sheet.row - 1)
