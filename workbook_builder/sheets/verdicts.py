"""The checks: value, limits, margin, verdict, what it means and what to change."""

from __future__ import annotations

from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.outcome import PASS_WITH_NOTES, UNPROVEN, VERDICTS, waiting
from workbook_builder.evaluation.proof_words import CALCULATES
from workbook_builder.file.plan import Formula, Plan, Sheet, WordFormat, address
from workbook_builder.language.declare import FAIL, INCOMPLETE, NOT_APPLICABLE, NOTE, PASS, Check
from workbook_builder.language.limits import margin_formula
from workbook_builder.language.words import words
from workbook_builder.sheets import stale
from workbook_builder.sheets.blocks import digits
from workbook_builder.sheets.working import cell_formula

LABEL, MARK, VERDICT, VALUE, AT_LEAST, AT_MOST, MARGIN, UNIT, MEANING, RULE, SOURCE, KEY, SENTENCES = range(13)
WORDS = (PASS, FAIL, NOTE, NOT_APPLICABLE, INCOMPLETE)
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
WIDTHS = (23, 4, 14, 9, 9, 9, 9, 5, 56, 36, 19, 24, 30, 30, 30, 30, 30)
STATUS_COLUMNS = ("status_column", "row_status_column")
MEANING_OF_ALL = (
    f'IF(calculation_ok="{CALCULATES}",INDEX(verdict_meanings,MATCH(verdict,verdict_words,0)),verdict_unproven)'
    '&IF(checks_not_applicable>0," Not judged, marked N/A: "&checks_not_applicable&" checks.","")'
)
COUNTS = (("passed", PASS), ("failed", FAIL), ("noted", NOTE), ("not_applicable", NOT_APPLICABLE))


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet of the checks, with the verdict of the whole design above them."""
    sheet = plan.add(Sheet("Verdicts", "What fits and what does not, and what to change", WIDTHS, print_columns=KEY))
    sheet.banner("Verdicts", "title", SOURCE)
    sheet.banner(words()["acting"]["Verdicts"], "caution", SOURCE)
    _overall(plan, sheet, model)
    sheet.row += 1
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([*((heading, "head") for heading in HEADINGS), *((word, "head") for word in WORDS)])
    first = sheet.row
    for safety, title in ((True, "Safety: one FAIL fails the design"), (False, "Performance: at worst a NOTE")):
        sheet.banner(title, "section", SOURCE)
        for check in model.checks:
            if check.safety == safety:
                _row(plan, sheet, model, check, head)
    plan.name("verdict_column", sheet, first, VERDICT, sheet.row - 1)
    sheet.word_formats.append(WordFormat((first, MARK), (sheet.row - 1, VERDICT), VERDICT))
    return sheet


def _overall(plan: Plan, sheet: Sheet, model: Model) -> None:
    row = sheet.row
    sheet.put(LABEL, "The whole design", "chapter")
    sheet.put(
        VERDICT,
        Formula(
            f'IF(checks_failed>0,"FAIL",IF(AND(checks_open=0,entries_open=0,calculation_ok="{CALCULATES}"),'
            'IF(checks_noted>0,"PASS WITH NOTES","PASS"),"INCOMPLETE"))',
            "verdict",
        ),
        "verdict_big",
    )
    sheet.merges.append((row, VERDICT, MARGIN))
    sheet.put(MEANING, Formula(MEANING_OF_ALL, "meaning_verdict"), "strong")
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
    for place, (name, word) in zip((VALUE, AT_LEAST, AT_MOST, MARGIN), COUNTS, strict=True):
        sheet.put(place, word, "head", row=row)
        sheet.put(place, Formula(f'COUNTIF(verdict_column,"{word}")', f"checks_{name}"), "number", row=row + 1)
        plan.name(f"checks_{name}", sheet, row + 1, place)
    sheet.put(VERDICT, INCOMPLETE, "head", row=row)
    counted = "checks_passed-checks_failed-checks_noted-checks_not_applicable"
    sheet.put(VERDICT, Formula(f"checks_number-{counted}", "checks_open"), "number", row=row + 1)
    plan.name("checks_open", sheet, row + 1, VERDICT)
    sheet.put(MEANING, "Entries missing or not accepted (sheet Entries, column Status)", "text", row=row)
    accepted = (f'COUNTIF({column},"{word}")' for column in STATUS_COLUMNS for word in ("entered", "default"))
    open_entries = f"entries_number-{'-'.join(accepted)}"
    sheet.put(MEANING, Formula(open_entries, "entries_open"), "centre", row=row + 1)
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


def _row(plan: Plan, sheet: Sheet, model: Model, check: Check, head: int) -> None:
    row = sheet.row
    verdict = address(row, VERDICT)
    unit = getattr(model.nodes.get(check.value), "unit", "")
    sheet.put(LABEL, check.label, "check")
    marks = f"INDEX(mark_signs,MATCH({verdict},mark_words,0))"
    sheet.put(MARK, Formula(marks, f"mark_{check.name}"), "word")
    sheet.put(VERDICT, Formula(cell_formula(model, check), check.name), "word")
    plan.name(check.name, sheet, row, VERDICT)
    for column, name in ((VALUE, check.value), (AT_LEAST, check.at_least), (AT_MOST, check.at_most)):
        sheet.put(column, Formula(name, name) if name else "", "number", digits(unit))
    limits = (check.value, check.at_least, check.at_most)
    margin = Formula(margin_formula(*limits), f"margin_{check.name}") if any(limits[1:]) else ""
    sheet.put(MARGIN, margin, "number", digits(unit))
    sheet.put(UNIT, unit, "text")
    sentences = [check.sentences.get(word, "") for word in WORDS[:-1]]
    sentences.append(check.sentences.get(INCOMPLETE) or waiting(model.inputs_behind(check.name)))
    sheet.put(MEANING, Formula(_meaning(check, row, head), f"meaning_{check.name}"), "text")
    sheet.put(RULE, check.words, "small")
    sheet.put(SOURCE, str(check.source), "small")
    sheet.put(KEY, check.name, "quiet")
    for offset, sentence in enumerate(sentences):
        sheet.put(SENTENCES + offset, sentence, "quiet")
    advice = f" {check.advice[0]}00{check.advice[2]}" if check.advice else ""
    sheet.fit(row, [(sentence + advice, MEANING) for sentence in sentences])
    sheet.row += 1


def _meaning(check: Check, row: int, head: int) -> str:
    verdict = address(row, VERDICT)
    words = f"{address(head, SENTENCES, absolute=True)}:{address(head, SENTENCES + len(WORDS) - 1, absolute=True)}"
    sentences = f"{address(row, SENTENCES)}:{address(row, SENTENCES + len(WORDS) - 1)}"
    sentence = f"INDEX({sentences},MATCH({verdict},{words},0))"
    if not check.advice:
        return sentence
    before, name, after = check.advice
    said = ",".join(f'{verdict}="{word}"' for word in (FAIL, NOTE) if word in check.sentences)
    wanted = f"AND({f'OR({said})' if ',' in said else said},COUNT({name})=1)"
    return f'{sentence}&IF({wanted}," {before}"&ROUND({name},0)&"{after}","")'
