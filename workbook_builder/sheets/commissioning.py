"""The sheet that the installer carries to the roof: readings, what they say, strings, and the acceptance list.

What is typed here belongs to the installed system: it has its own findings, and never changes the verdict of the design.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import INDENT, PAGE, Plan, Sheet, Shown, WordFormat
from workbook_builder.language.chapters import Chapter
from workbook_builder.sheets import entries, tabled
from workbook_builder.sheets.blocks import digits
from workbook_builder.system.commissioning import handover, readings, strings_measured

WIDTHS = (28, 12, 9, 11, 10, 22, 39, *entries.WIDTHS[entries.LOW :])
LAST = entries.WHERE
# each block of lines has columns of its own, in which nothing is calculated: a column that holds what rests on itself is
# a circle to some programs
READ, HANDED = "roof_", "handed_"
# heights of rows into which somebody writes by hand, and of sentences that change, in points
WRITTEN, JUDGED, TICKED, EXPLAINED, LINE, TWO_LINES = 25.0, 18.0, 22.0, 28.0, 14.0, 27.0
# points of paper between the margins; of a row without a height; of a digit and of the margins of a column, in digits
NARROW, SPARE = 1.1, 2.0
PAPER, DEFAULT_HEIGHT, DIGIT, MARGIN, SLACK_HIGH = 842 - 72.0, 15.0, 5.56, 5 / 7, 0.985
TODAY = (
    ("Today: absorption", "day_v_absorb", "day_t_source"),
    ("Today: float", "day_v_float", "neither of the two while it regulates: a wrong set point?"),
)
COMPARED = (
    ("Absorption voltage, at 25 °C", "battery_v_absorb", ""),
    ("Time at absorption", "battery_absorb_hours", ""),
    ("Float voltage, at 25 °C", "battery_v_float", ""),
    ("Highest charge voltage, at 25 °C", "battery_v_high", ""),
    ("Compensation, whole bank", "compensation_bank", "day_by_hand"),
    ("Load disconnect", "battery_v_low", ""),
    ("Load reconnect", "battery_v_reconnect", ""),
    ("One battery at rest, half full", "block_rest_low", ""),
    ("One battery at rest, full", "block_rest_full", ""),
    ("Drop, array to controller", "losses_array_drop", "drop_amps_array"),
    ("Drop, controller to battery", "losses_battery_drop", "drop_amps_battery"),
)


def add(plan: Plan, model: Model, *, example: bool) -> Sheet:
    """Place the sheet; it is printed on two pages of A4 upright and can be filled in by hand. Both say if it is the example."""
    sheet = plan.add(Sheet("Commissioning", "Readings on the day, and what they say", WIDTHS, landscape=False))
    sheet.print_columns = entries.LOW
    sheet.repeat_row = sheet.row
    sheet.banner(handover.texts()["example" if example else "title"], "title", LAST)
    _now(sheet)
    _banner(sheet, "Before you touch anything", "chapter")
    for caution in handover.texts()["cautions"]:
        _banner(sheet, f"• {caution}", "prose")
    _readings(plan, sheet, model)
    _shown(sheet)
    _otherwise(sheet)
    sheet.row_breaks.append(sheet.row)
    _explanations(sheet)
    _strings(plan, sheet, model)
    _compared(sheet, model)
    _acceptance(plan, sheet, model)
    _signed(sheet)
    sheet.scale = _scale(sheet)
    return sheet


def _scale(sheet: Sheet) -> int:
    """Return the largest scale, per cent, at which both pages fit on paper: as wide, and as high with the title on each."""
    last = max(row for row, column in sheet.cells if column < sheet.print_columns)
    edges = [0, *sheet.row_breaks, last + 1]
    highest = max(sum(sheet.heights.get(row, DEFAULT_HEIGHT) for row in range(*page)) for page in pairwise(edges))
    high = SLACK_HIGH * PAPER / (highest + sheet.heights[sheet.repeat_row])
    wide = PAGE[False] / sum(DIGIT * (width + MARGIN) for width in WIDTHS[: sheet.print_columns])
    return int(100 * min(high, wide))


def _now(sheet: Sheet) -> None:
    for label, name, style, height in (
        ("Site", "site_name", "text", LINE),
        ("Ready to hand over?", "commissioning_state", "check", LINE),
        ("Finding", "commissioning_finding", "check", 28.0),
        ("What to do next", "commissioning_next", "text", 42.0),
        ("Strings", "strings_state", "text", LINE),
    ):
        sheet.put(0, label, "check")
        sheet.put(1, Shown(name), style)
        sheet.merges.append((sheet.row, 1, LAST))
        sheet.heights[sheet.row] = height
        sheet.row += 1


def _headed(number: int, chapter: Chapter) -> str:
    return f"{number}. {chapter.title}. {chapter.intro}"


def _readings(plan: Plan, sheet: Sheet, model: Model) -> None:
    _banner(sheet, _headed(1, model.chapter(readings.chapter.name)), "section")
    head = sheet.row
    sheet.line([(heading, "head") for heading in entries.HEADINGS])
    sheet.heights[head] = TWO_LINES
    first = sheet.row
    entries.lines(plan, sheet, model.chapter(readings.chapter.name), head, READ, brief=True)
    _high_enough(sheet, first)
    entries.close(plan, sheet, head, sheet.row, READ)


def _fit(sheet: Sheet, row: int, texts: Sequence[tuple[str, float, str]]) -> None:
    """Give a row the height of its tallest text, as print shows it: a letter is narrower than a digit on the whole."""
    sheet.fit_texts(row, [(text, (width - INDENT) * NARROW + INDENT, style) for text, width, style in texts])
    sheet.heights[row] = max(LINE, sheet.heights[row] - SPARE)


def _banner(sheet: Sheet, text: str, style: str) -> None:
    sheet.banner(text, style, LAST)
    _fit(sheet, sheet.row - 1, [(text, sum(WIDTHS[: LAST + 1]), style)])


def _high_enough(sheet: Sheet, first: int) -> None:
    """Make lines as high as their printed words and somebody's hand ask; how an entry was read takes two lines at most."""
    for row in range(first, sheet.row):
        words = [(cell.content, WIDTHS[column], cell.style) for column in (0, LAST) if (cell := sheet.cells.get((row, column)))]
        _fit(sheet, row, [(text, width, style) for text, width, style in words if isinstance(text, str)])
        uncertainty = str(sheet.cells[row, entries.KEY].content).endswith("_uncertainty")
        sheet.heights[row] = max(JUDGED if uncertainty else WRITTEN, sheet.heights[row])


def _shown(sheet: Sheet) -> None:
    _banner(sheet, "2. What the meter should show", "section")
    heads = ("The controller's switch", "PV volts", "±", "PV amps", "±", "Comes from", "")
    sheet.line([(words, "head") for words in heads])
    duty = "reading_duty_source"
    for label, names, rests in (
        (
            "Closed: all to the battery",
            ("day_v_on", "day_v_on_tolerance", "day_i_on", "day_i_on_tolerance"),
            "battery volts, sun and temperature",
        ),
        ("Open: nothing taken", ("day_voc", "day_voc_tolerance", "none", "day_i_none"), "sun and temperature"),
        ("One string, switch closed", ("", "", "string_i_now"), "all alike by the clamp; × strings = the PV amps"),
        ("Regulating, averaging meter", ("reading_v_mean", "reading_v_tolerance", "reading_i_mean", "reading_i_tolerance"), duty),
        ("Regulating, true-RMS meter", ("reading_v_rms", "reading_v_tolerance", "reading_i_rms", "reading_i_tolerance"), duty),
        ("Share of time closed", ("day_duty_v", "day_duty_v_tolerance", "day_duty_i", "day_duty_i_tolerance"), "day_duty_agreement"),
        ("Full battery at absorption", ("full_v_pv", "", "full_i_pv"), handover.texts()["full"]),
        ("One string in full sun", ("array_voc", "", "string_i_full"), handover.texts()["pencil"]),
        ("Open volts, each °C more", ("voc_per_degree",), handover.texts()["falls"]),
    ):
        _line(sheet, label, names, rests)


def _line(sheet: Sheet, label: str, names: tuple[str, ...], rests: str) -> None:
    """Place a line of predictions, "none" for a current of 0, "" for none; ``rests`` is the name of a text elsewhere, or words."""
    sheet.put(0, label, "text")
    for column, name in enumerate(names, 1):
        if name:
            sheet.put(column, 0.0 if name == "none" else Shown(name), "number", "0.00")
    sheet.put(5, Shown(rests) if " " not in rests else rests, "text")
    sheet.merges.append((sheet.row, 5, LAST))
    _fit(sheet, sheet.row, [(rests, sum(WIDTHS[5 : LAST + 1]), "text"), (label, WIDTHS[0], "text")])
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
    _banner(sheet, "3. Explanations that fit what is typed in, and what to do next", "section")
    for ordinal in ("first", "second", "third"):
        for column, name in ((0, f"explanation_{ordinal}"), (2, f"explanation_{ordinal}_next")):
            sheet.put(column, Shown(name), "small")
        sheet.merges += [(sheet.row, 0, 1), (sheet.row, 2, LAST)]
        sheet.heights[sheet.row] = EXPLAINED
        sheet.row += 1


def _otherwise(sheet: Sheet) -> None:
    """Place what to do about a reading that is not the expected one; it stands without any entry, for paper."""
    heads = ("If it reads something else", "it may be", "Do first")
    spans = ((0, 1, "reads"), (2, 4, "cause"), (5, LAST, "first"))
    for style, texts in (
        ("head", dict(zip(("reads", "cause", "first"), heads, strict=True))),
        *(("small", texts) for texts in handover.texts()["otherwise"]),
    ):
        for first, last, key in spans:
            sheet.put(first, texts[key], style)
            sheet.merges.append((sheet.row, first, last))
        _fit(sheet, sheet.row, [(texts[key], sum(WIDTHS[first : last + 1]), style) for first, last, key in spans])
        sheet.row += 1


def _strings(plan: Plan, sheet: Sheet, model: Model) -> None:
    (table,) = model.chapter(strings_measured.chapter.name).entry_tables
    _banner(sheet, _headed(4, model.chapter(strings_measured.chapter.name)), "section")
    day = "V and A, at the day's sun and temperature"
    for label, names, rests in (
        ("Prediction for each string", ("day_voc", "day_isc"), day),
        ("agrees from", ("voc_least", "isc_least"), handover.texts()["agrees"]),
        ("to", ("voc_most", "isc_most"), day),
    ):
        _line(sheet, label, names, rests)
    head = tabled.place(plan, sheet, model, table)
    for column, words in ((4, ""), (5, "Volts are"), (6, "Amps are")):
        sheet.put(column, words, "head", row=head)
    for row, (item, _) in enumerate(table.items, head + 1):
        for column, name, style in ((4, "mark", "word"), (5, "voc_says", "text"), (6, "isc_says", "text")):
            key = f"judged_{item}_{name}"
            sheet.put(column, Shown(key), style, row=row)
        sheet.heights[row] = JUDGED
    sheet.heights |= {head - 1: LINE + 1, head: TWO_LINES}


def _compared(sheet: Sheet, model: Model) -> None:
    _banner(sheet, "5. Values to compare with what is read (tests 67, 68, 70 and 71)", "section")
    sheet.line([(words, "head") for words in ("What", "Value", "Unit", "±", "", "", "")])
    for label, name, rests in TODAY:
        for column, key in ((1, name), (3, "day_v_set_tolerance")):
            sheet.put(column, Shown(key), "number", digits("V"))
        sheet.put(0, label, "text")
        sheet.put(2, "V", "text")
        sheet.put(4, rests if " " in rests else Shown(rests), "text")
        sheet.merges.append((sheet.row, 4, LAST))
        sheet.heights[sheet.row] = LINE
        sheet.row += 1
    units = {entry.name: entry.unit for entry in model.inputs} | {quantity.name: quantity.unit for quantity in model.quantities}
    for label, name, rests in COMPARED:
        unit = units.get(name, "V")
        sheet.put(0, label, "text")
        sheet.put(1, Shown(name), "number", digits(unit))
        sheet.put(2, unit, "text")
        sheet.put(3, Shown(rests) if rests in units else rests, "text")
        sheet.merges.append((sheet.row, 3, LAST))
        sheet.heights[sheet.row] = LINE
        sheet.row += 1


def _acceptance(plan: Plan, sheet: Sheet, model: Model) -> None:
    head = sheet.row
    _banner(sheet, _headed(6, model.chapter(handover.chapter.name)), "section")
    first = sheet.row
    entries.lines(plan, sheet, model.chapter(handover.chapter.name), head, HANDED, brief=True)
    _high_enough(sheet, first)
    entries.close(plan, sheet, head, sheet.row, HANDED)
    sheet.put(0, "Judgement of the insulation", "text")
    sheet.put(2, Shown("insulation_state"), "text")
    sheet.merges.append((sheet.row, 2, LAST))
    sheet.row += 1
    # no status of the typing: beside a test that is not done it would look like the test's own
    (table,) = model.chapter(handover.chapter.name).entry_tables
    top = tabled.place(plan, sheet, model, table, with_status=False)
    sheet.put(4, "The test is", "head", row=top)
    sheet.put(5, "How", "head", row=top)
    sheet.merges.append((top, 5, LAST))
    sheet.heights[top] = TWO_LINES
    for row, test in enumerate(handover.texts()["test"], top + 1):
        says = f"handed_item{test['number']}_says"
        sheet.put(4, Shown(says), "check", row=row)
        sheet.put(5, test["how"], "small", row=row)
        sheet.merges.append((row, 5, LAST))
        _fit(sheet, row, [(f"{test['number']} {test['what']}", WIDTHS[0], "text"), (test["how"], sum(WIDTHS[5 : LAST + 1]), "small")])
        sheet.heights[row] = max(TICKED, sheet.heights[row])
    sheet.word_formats.append(WordFormat((top + 1, 4), (sheet.row - 1, 4), 4))
