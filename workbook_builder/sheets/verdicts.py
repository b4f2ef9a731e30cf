"""The checks: value, limits, margin, verdict, what it means and what to change."""

from __future__ import annotations

from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.outcome import COUNTED, PASS_WITH_NOTES, SAYS, UNPROVEN, VERDICTS, said
from workbook_builder.file.plan import Plan, Sheet, Shown, WordFormat, Worked
from workbook_builder.language.declare import Check
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, PASS
from workbook_builder.language.words import words
from workbook_builder.sheets import stale
from workbook_builder.sheets.blocks import digits

LABEL, MARK, VERDICT, VALUE, AT_LEAST, AT_MOST, MARGIN, UNIT, MEANING, RULE, SOURCE, KEY, SENTENCES = range(13)
HEADINGS = (
    "Check",
    "",
    "Verdict",
    "Value",
    "At least",
    "At most",
    "Margin",
    "Unit",
    "What it means, and what to change",
    "What is compared",
    "Source",
    "Name",
)
WIDTHS = (23, 4, 14, 9, 9, 9, 9, 5, 56, 36, 19, 24, 30, 30, 30, 30, 30, 30, 30)


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet of the checks, with the verdict of the whole design above them."""
    sheet = plan.add(Sheet("Verdicts", "What fits and what does not, and what to change", WIDTHS, print_columns=KEY))
    sheet.banner("Verdicts", "title", SOURCE)
    sheet.banner(words()["acting"]["Verdicts"], "caution", SOURCE)
    _overall(plan, sheet, model)
    sheet.row += 1
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([*((heading, "head") for heading in HEADINGS), *((word, "head") for word in SAYS)])
    first = sheet.row
    for safety, title in ((True, "Safety: one FAIL fails the design"), (False, "Performance: at worst a NOTE")):
        sheet.banner(title, "section", SOURCE)
        for check in model.checks:
            if check.safety == safety:
                _row(plan, sheet, model, check)
    plan.name("verdict_column", sheet, first, VERDICT, sheet.row - 1)
    sheet.word_formats.append(WordFormat((first, MARK), (sheet.row - 1, VERDICT), VERDICT))
    return sheet


def _overall(plan: Plan, sheet: Sheet, model: Model) -> None:
    row = sheet.row
    sheet.put(LABEL, "The whole design", "chapter")
    sheet.put(VERDICT, Worked("verdict"), "verdict_big")
    sheet.merges.append((row, VERDICT, MARGIN))
    sheet.put(MEANING, Worked("meaning_verdict"), "strong")
    plan.name("meaning_verdict", sheet, row, MEANING)
    sheet.merges.append((row, MEANING, SOURCE))
    sheet.heights[row] = 34
    plan.name("verdict", sheet, row, VERDICT)
    sheet.word_formats.append(WordFormat((row, VERDICT), (row, VERDICT), VERDICT))
    sheet.alarms += stale.alarms(model, (row, VERDICT), (row, MARGIN))
    # the sentences of the whole design stand beside, outside the print area, as those of the checks do
    for offset, word in enumerate((PASS, PASS_WITH_NOTES, FAIL, INCOMPLETE)):
        sheet.put(SENTENCES, word, "quiet", row=row + offset)
        sheet.put(SENTENCES + 1, VERDICTS[word], "quiet", row=row + offset)
    plan.name("verdict_words", sheet, row, SENTENCES, row + 3)
    plan.name("verdict_meanings", sheet, row, SENTENCES + 1, row + 3)
    sheet.put(SENTENCES + 2, UNPROVEN, "quiet", row=row)
    plan.name("verdict_unproven", sheet, row, SENTENCES + 2)
    sheet.row += 1
    _count(plan, sheet, model)


def _count(plan: Plan, sheet: Sheet, model: Model) -> None:
    row = sheet.row
    sheet.put(LABEL, "Checks by verdict", "text", row=row)
    sheet.put(LABEL, "Number of checks", "text", row=row + 1)
    for place, (name, word) in zip((VALUE, AT_LEAST, AT_MOST, MARGIN), COUNTED.items(), strict=True):
        sheet.put(place, word, "head", row=row)
        sheet.put(place, Worked(f"checks_{name}"), "number", row=row + 1)
        plan.name(f"checks_{name}", sheet, row + 1, place)
    sheet.put(VERDICT, INCOMPLETE, "head", row=row)
    sheet.put(VERDICT, Worked("checks_open"), "number", row=row + 1)
    plan.name("checks_open", sheet, row + 1, VERDICT)
    sheet.put(MEANING, "Entries missing or not accepted (sheet Entries, column Status)", "text", row=row)
    sheet.put(MEANING, Worked("entries_open"), "centre", row=row + 1)
    plan.name("entries_open", sheet, row + 1, MEANING)
    for offset, (name, number, label) in enumerate(
        (
            ("checks_number", len(model.checks), "checks in this workbook"),
            ("entries_number", len(model.design_inputs), "entries in this workbook"),
        )
    ):
        sheet.put(RULE, label, "text", row=row + offset)
        sheet.put(SOURCE, float(number), "number", row=row + offset)
        plan.name(name, sheet, row + offset, SOURCE)
    sheet.row += 2


def _row(plan: Plan, sheet: Sheet, model: Model, check: Check) -> None:
    row = sheet.row
    unit = getattr(model.nodes.get(check.value), "unit", "")
    sheet.put(LABEL, check.label, "check")
    sheet.put(MARK, Worked(f"mark_{check.name}"), "word")
    sheet.put(VERDICT, Worked(check.name), "word")
    plan.name(check.name, sheet, row, VERDICT)
    for column, name in ((VALUE, check.value), (AT_LEAST, check.at_least), (AT_MOST, check.at_most)):
        sheet.put(column, Shown(name) if name else "", "number", digits(unit))
    sheet.put(MARGIN, Worked(f"margin_{check.name}") if check.at_least or check.at_most else "", "number", digits(unit))
    sheet.put(UNIT, unit, "text")
    sheet.put(MEANING, Worked(f"meaning_{check.name}"), "text")
    sheet.put(RULE, check.words, "small")
    sheet.put(SOURCE, str(check.source), "small")
    sheet.put(KEY, check.name, "quiet")
    sentences = said(check, model.inputs_behind(check.name))
    for column, word in enumerate(SAYS, SENTENCES):
        if word in sentences:
            sheet.put(column, sentences[word], "quiet")
            plan.give(f"{check.name}_{SAYS[word]}", sheet, row, column)
    for column, side, text in ((SENTENCES + 5, "before", 0), (SENTENCES + 6, "after", 2)):
        if check.advice:
            sheet.put(column, check.advice[text].strip() if side == "before" else check.advice[text], "quiet")
            plan.give(f"{check.name}_{side}", sheet, row, column)
    advice = f" {check.advice[0]}00{check.advice[2]}" if check.advice else ""
    sheet.fit(row, [(sentence + advice, MEANING) for sentence in sentences.values()])
    sheet.row += 1
