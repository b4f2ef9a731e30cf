"""The sheet that the installer carries to the roof: readings, what they say, strings, and the acceptance list.

What is typed here belongs to the installed system: it has its own findings, and never changes the verdict of the design.
"""

from __future__ import annotations

from workbook_builder.model import Model
from workbook_builder.plan import Formula, Plan, Sheet, WordFormat
from workbook_builder.quantities import handover, readings, strings_measured
from workbook_builder.sheets import entries, tabled
from workbook_builder.sheets.blocks import digits

WIDTHS = (28, 12, 9, 11, 10, 24, 38, *entries.WIDTHS[entries.LOW :])
LAST = entries.WHERE
# each block of lines has columns of its own, in which nothing is calculated: a column that holds what rests on itself is
# a circle to some programs
READ, HANDED = "roof_", "handed_"
# heights of rows into which somebody writes by hand, and of sentences that change, in points
WRITTEN, TICKED, EXPLAINED = 24.0, 22.0, 28.0
COMPARED = (
    ("Absorption voltage, at 25 °C", "battery_v_absorb"),
    ("Time at absorption", "battery_absorb_hours"),
    ("Float voltage, at 25 °C", "battery_v_float"),
    ("Highest charge voltage, at 25 °C", "battery_v_high"),
    ("Temperature compensation", "battery_tempco"),
    ("Load disconnect", "battery_v_low"),
    ("Load reconnect", "battery_v_reconnect"),
    ("Drop, array to controller", "losses_array_drop"),
    ("Drop, controller to battery", "losses_battery_drop"),
)


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet; it is printed on A4 upright and can be filled in by hand."""
    sheet = plan.add(Sheet("Commissioning", "Readings on the day, and what they say", WIDTHS, landscape=False, pages=2))
    sheet.print_columns = entries.LOW
    sheet.banner("Commissioning", "title", LAST)
    _now(sheet)
    sheet.banner("Before you touch anything", "chapter", LAST)
    for caution in handover.texts()["cautions"]:
        sheet.banner(f"• {caution}", "prose", LAST)
    _readings(plan, sheet, model)
    _shown(sheet)
    _explanations(sheet)
    _strings(plan, sheet, model)
    _compared(sheet, model)
    _acceptance(plan, sheet, model)
    _signed(sheet)
    sheet.banner("End of the sheet", "subtitle", LAST)
    return sheet


def _now(sheet: Sheet) -> None:
    for label, name, style, height in (
        ("Site", "site_name", "text", 16.0), ("Ready to hand over?", "commissioning_state", "check", 16.0),
        ("Finding", "commissioning_finding", "check", 28.0), ("What to do next", "commissioning_next", "text", 42.0),
        ("Strings", "strings_state", "text", 16.0),
    ):  # fmt: skip
        sheet.put(0, label, "check")
        sheet.put(1, Formula(name, name), style)
        sheet.merges.append((sheet.row, 1, LAST))
        sheet.heights[sheet.row] = height
        sheet.row += 1


def _readings(plan: Plan, sheet: Sheet, model: Model) -> None:
    sheet.banner(f"1. {readings.chapter.title}. {readings.chapter.intro}", "section", LAST)
    head = sheet.row
    sheet.line([(heading, "head") for heading in entries.HEADINGS])
    first = sheet.row
    entries.lines(plan, sheet, model, readings.chapter, head, READ)
    _high_enough(sheet, first, WRITTEN)
    entries.close(plan, sheet, head, sheet.row, READ)


def _high_enough(sheet: Sheet, first: int, least: float) -> None:
    for row in range(first, sheet.row):
        sheet.heights[row] = max(least, sheet.heights[row])


def _shown(sheet: Sheet) -> None:
    sheet.banner("2. What the meter should show", "section", LAST)
    heads = ("The controller's switch", "PV volts", "±", "PV amps", "±", "Rests on", "")
    sheet.line([(words, "head") for words in heads])
    duty = "reading_duty_source"
    for label, names, rests in (
        ("Closed: all to the battery", ("day_v_on", "day_v_on_tolerance", "day_i_on", "day_i_on_tolerance"),
         "battery volts, sun and temperature"),
        ("Open: nothing taken", ("day_voc", "day_voc_tolerance", "none", "day_i_none"), "sun and temperature"),
        ("One string, switch closed", ("", "", "string_i_now"), "all alike by the clamp; × strings = the PV amps"),
        ("Regulating, averaging meter", ("reading_v_mean", "reading_v_tolerance", "reading_i_mean", "reading_i_tolerance"), duty),
        ("Regulating, true-RMS meter", ("reading_v_rms", "reading_v_tolerance", "reading_i_rms", "reading_i_tolerance"), duty),
        ("Full battery at absorption", ("full_v_pv", "", "full_i_pv"), handover.texts()["full"]),
        ("One string in full sun", ("", "", "string_i_full"), handover.texts()["pencil"]),
    ):  # fmt: skip
        _line(sheet, label, names, rests)
    sheet.line([(words, "head") for words in ("Share of time closed", "Share", "±", "", "", "", "")])
    for label, pair, rests in (
        ("found from the volts", ("day_duty_v", "day_duty_v_tolerance"), "nothing for an MPPT controller: it does not switch"),
        ("found from the amps", ("day_duty_i", "day_duty_i_tolerance"), "day_duty_agreement"),
        ("used above", ("reading_duty",), duty),
        ("of the full battery above", ("full_duty",), "what it takes, of what the array could give"),
    ):  # fmt: skip
        _line(sheet, label, pair, rests)


def _line(sheet: Sheet, label: str, names: tuple[str, ...], rests: str) -> None:
    """Place a line of predictions, "none" for a current of 0, "" for none; ``rests`` is the name of a text elsewhere, or words."""
    sheet.put(0, label, "text")
    for column, name in enumerate(names, 1):
        if name:
            sheet.put(column, 0.0 if name == "none" else Formula(name, name), "number", "0.00")
    sheet.put(5, Formula(rests, rests) if " " not in rests else rests, "text")
    sheet.merges.append((sheet.row, 5, LAST))
    sheet.fit_texts(sheet.row, [(rests, sum(WIDTHS[5 : LAST + 1]), "text")])
    sheet.heights[sheet.row] = max(16, sheet.heights[sheet.row])
    sheet.row += 1


def _signed(sheet: Sheet) -> None:
    for who in ("Installer", "Client or witness"):
        for first, last, words in ((0, 0, f"{who}, name"), (1, 4, "Signature"), (5, LAST, "Place and date")):
            sheet.put(first, f"{words}:", "small")
            if last > first:
                sheet.merges.append((sheet.row, first, last))
        sheet.heights[sheet.row] = WRITTEN
        sheet.row += 1


def _explanations(sheet: Sheet) -> None:
    sheet.banner("3. Explanations that fit; what to do next, and what tells them apart", "section", LAST)
    for ordinal in ("first", "second", "third"):
        for column, name in ((0, f"explanation_{ordinal}"), (2, f"explanation_{ordinal}_next")):
            sheet.put(column, Formula(name, name), "small")
        sheet.merges += [(sheet.row, 0, 1), (sheet.row, 2, LAST)]
        sheet.heights[sheet.row] = EXPLAINED
        sheet.row += 1


def _strings(plan: Plan, sheet: Sheet, model: Model) -> None:
    table = strings_measured.table
    sheet.banner(f"4. {strings_measured.chapter.title}. {strings_measured.chapter.intro}", "section", LAST)
    for label, names in (
        ("Prediction for each string", ("day_voc", "day_isc")),
        ("agrees from", ("voc_least", "isc_least")), ("to", ("voc_most", "isc_most")),
    ):  # fmt: skip
        _line(sheet, label, names, "V and A, at the day's sun and temperature")
    head = tabled.place(plan, sheet, model, table)
    for column, words in ((4, ""), (5, "Volts are"), (6, "Amps are")):
        sheet.put(column, words, "head", row=head)
    for row, (item, _) in enumerate(table.items, head + 1):
        for column, name, style in ((4, "mark", "word"), (5, "voc_says", "text"), (6, "isc_says", "text")):
            key = f"judged_{item}_{name}"
            sheet.put(column, Formula(key, key), style, row=row)
        sheet.heights[row] = WRITTEN


def _compared(sheet: Sheet, model: Model) -> None:
    sheet.banner("5. Values to compare with what is read (tests 67, 68 and 71)", "section", LAST)
    sheet.line([(words, "head") for words in ("What", "Value", "Unit", "", "", "", "")])
    for label, name in COMPARED:
        unit = {entry.name: entry.unit for entry in model.inputs}.get(name, "V")
        sheet.put(0, label, "text")
        sheet.put(1, Formula(name, name), "number", digits(unit))
        sheet.put(2, unit, "text")
        sheet.put(3, "at rated current; blank: cable not entered in the design" if name.startswith("losses") else "", "text")
        sheet.merges.append((sheet.row, 3, LAST))
        sheet.heights[sheet.row] = 16 if len(unit) < WIDTHS[2] else 29
        sheet.row += 1


def _acceptance(plan: Plan, sheet: Sheet, model: Model) -> None:
    head = sheet.row
    sheet.banner(f"6. {handover.chapter.title}. {handover.chapter.intro}", "section", LAST)
    first = sheet.row
    entries.lines(plan, sheet, model, handover.chapter, head, HANDED)
    _high_enough(sheet, first, WRITTEN)
    entries.close(plan, sheet, head, sheet.row, HANDED)
    sheet.put(0, "Judgement of the insulation", "text")
    sheet.put(2, Formula("insulation_state", "insulation_state"), "text")
    sheet.merges.append((sheet.row, 2, LAST))
    sheet.row += 1
    top = tabled.place(plan, sheet, model, handover.table)
    sheet.put(5, "The test is", "head", row=top)
    sheet.put(LAST, "How", "head", row=top)
    for row, test in enumerate(handover.texts()["test"], top + 1):
        # beside the status, which only says that the entries could be read
        says = f"handed_item{test['number']}_says"
        sheet.put(5, Formula(says, says), "check", row=row)
        sheet.put(LAST, test["how"], "small", row=row)
        sheet.fit_texts(row, [(f"{test['number']} {test['what']}", WIDTHS[0], "text"), (test["how"], WIDTHS[LAST], "small")])
        sheet.heights[row] = max(TICKED, sheet.heights[row])
    sheet.word_formats.append(WordFormat((top + 1, 4), (sheet.row - 1, 4), 4))
