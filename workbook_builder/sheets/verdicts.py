"""The checks: value, limits, margin, verdict, what it means and what to change."""

from __future__ import annotations

from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.outcome import SAYS, said
from workbook_builder.evaluation.overall import COUNTED, MATCHES, UNPROVEN, VERDICTS, sections
from workbook_builder.evaluation.wanted import asked_for, asking, blank
from workbook_builder.file.plan import Plan, Sheet, Shown, WordFormat, Worked
from workbook_builder.language.declare import Check
from workbook_builder.language.verdicts import INCOMPLETE, NOT_JUDGED
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
WIDTHS = (23, 4, 14, 9, 9, 9, 9, 5, 56, 36, 19, 24, *([30] * 9))
WAITS = '"waits";;"no"'  # how 1 and 0 are shown
WANTED = SENTENCES + len(SAYS) + 2  # beside the sentences and the two parts of an advice


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet of the checks, with the verdict of the whole design above them."""
    sheet = plan.add(Sheet("Verdicts", "What fits and what does not, and what to change", WIDTHS, print_columns=KEY))
    sheet.banner("Verdicts", "title", SOURCE)
    sheet.banner(words()["acting"]["Verdicts"], "caution", SOURCE)
    _overall(plan, sheet, model)
    sheet.row += 1
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line(
        [*((heading, "head") for heading in HEADINGS), *((word, "head") for word in (*SAYS, "Advice", "of what", "Entries asked for"))]
    )
    first = sheet.row
    placed: list[tuple[int, int]] = []
    for title, checks in sections(model.checks):
        sheet.banner(title, "section", SOURCE)
        placed.append((sheet.row, sheet.row + len(checks) - 1))
        for check in checks:
            _row(plan, sheet, model, check)
    (match_safety, (_, match_last), safety, _) = placed
    plan.name("match_verdicts", sheet, match_safety[0], VERDICT, match_last)
    plan.name("match_safety_verdicts", sheet, match_safety[0], VERDICT, match_safety[1])
    plan.name("safety_verdicts", sheet, safety[0], VERDICT, safety[1])
    plan.name("verdict_column", sheet, first, VERDICT, sheet.row - 1)
    sheet.word_formats.append(WordFormat((first, MARK), (sheet.row - 1, VERDICT), VERDICT))
    _waited_for(plan, sheet, model)
    return sheet


def _waited_for(plan: Plan, sheet: Sheet, model: Model) -> None:
    """Place the entries for which some check asks: whether each is blank, and whether a safety check waits for it."""
    sheet.banner("Entries without which checks are NOT JUDGED", "section", SOURCE)
    heads = {
        LABEL: "Entry",
        VERDICT: "A safety check waits",
        MEANING: "Blank now: select a name to go to its cell",
        RULE: "Asked for by",
    }
    for column in range(SOURCE):
        sheet.put(column, heads.get(column, ""), "head")
    sheet.heights[sheet.row] = 42
    sheet.row += 1
    entries = asked_for(model.checks, model.design_inputs)
    by_safety = sorted(entries, key=lambda entry: not any(check.safety for check in asking(entry, model.checks)))
    first, last = sheet.row, sheet.row
    for entry in by_safety:
        checks = asking(entry, model.checks)
        sheet.put(LABEL, entry.label, "check")
        plan.give(f"label_{entry.name}", sheet, sheet.row, LABEL)
        sheet.links[sheet.row, MEANING] = f"entry_{entry.name}"  # a formula: a text with a link is not wrapped everywhere
        if any(check.safety for check in checks):
            sheet.put(VERDICT, Worked(f"waited_for_{entry.name}"), "centre", WAITS)
            last = sheet.row
        sheet.put(MEANING, Worked(blank(entry.name)), "text")
        sheet.put(RULE, ", ".join(check.label for check in checks), "small")
        sheet.put(KEY, entry.name, "quiet")
        sheet.fit(sheet.row)
        sheet.row += 1
    plan.name("waited_for", sheet, first, VERDICT, last)


def _overall(plan: Plan, sheet: Sheet, model: Model) -> None:
    top = sheet.row
    for label, verdict, meaning in (
        ("Array, controller, battery", "verdict_match", "meaning_match"),
        ("The whole design", "verdict", "meaning_verdict"),
    ):
        row = sheet.row
        sheet.put(LABEL, label, "chapter")
        sheet.put(VERDICT, Worked(verdict), "verdict_big")
        sheet.merges.append((row, VERDICT, MARGIN))
        sheet.put(MEANING, Worked(meaning), "strong")
        plan.name(meaning, sheet, row, MEANING)
        sheet.merges.append((row, MEANING, SOURCE))
        sheet.heights[row] = 34
        plan.name(verdict, sheet, row, VERDICT)
        sheet.word_formats.append(WordFormat((row, VERDICT), (row, VERDICT), VERDICT))
        sheet.alarms += stale.alarms(model, (row, VERDICT), (row, MARGIN))
        sheet.row += 1
    # the sentences of both verdicts stand beside, outside the print area, as those of the checks do
    for offset, word in enumerate(VERDICTS):
        sheet.put(SENTENCES, word, "quiet", row=top + offset)
        sheet.put(SENTENCES + 1, VERDICTS[word], "quiet", row=top + offset)
        sheet.put(SENTENCES + 2, MATCHES[word], "quiet", row=top + offset)
    for place, name in enumerate(("verdict_words", "verdict_meanings", "match_meanings"), SENTENCES):
        plan.name(name, sheet, top, place, top + len(VERDICTS) - 1)
    sheet.put(SENTENCES + 3, UNPROVEN, "quiet", row=top)
    plan.name("verdict_unproven", sheet, top, SENTENCES + 3)
    for offset, name in enumerate(("match_failed", "match_noted", "match_open", "entries_missing", "safety_not_judged")):
        sheet.put(SENTENCES + 4, Worked(name), "quiet", row=top + offset)
        plan.name(name, sheet, top + offset, SENTENCES + 4)
    for offset, name in enumerate(("entries_waited_for", "still_open", "what_is_open")):
        sheet.put(SENTENCES + 5, Worked(name), "quiet", row=top + offset)
        plan.name(name, sheet, top + offset, SENTENCES + 5)
    _count(plan, sheet, model)


def _count(plan: Plan, sheet: Sheet, model: Model) -> None:
    row = sheet.row
    sheet.put(LABEL, "Checks by verdict", "text", row=row)
    sheet.put(LABEL, "Number of checks", "text", row=row + 1)
    for place, (name, word) in zip((VALUE, AT_LEAST, AT_MOST, MARGIN, UNIT), COUNTED.items(), strict=True):
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
            ("match_number", sum(check.match for check in model.checks), "of them of the match"),
            ("entries_number", len(model.design_inputs), "entries in this workbook"),
        )
    ):
        sheet.put(RULE, label, "text", row=row + offset)
        sheet.put(SOURCE, float(number), "number", row=row + offset)
        plan.name(name, sheet, row + offset, SOURCE)
    sheet.heights[row] = 28  # two words in a narrow column
    sheet.row += 3


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
    if check.advice:
        before, _, after = check.advice
        for column, (side, text) in enumerate((("before", before.strip()), ("after", after)), SENTENCES + len(SAYS)):
            sheet.put(column, text, "quiet")
            plan.give(f"{check.name}_{side}", sheet, row, column)
    if check.asks:
        sheet.put(WANTED, Worked(f"wanted_{check.name}"), "quiet")
        sheet.links[row, VERDICT] = f"entry_{check.asks[0]}"
    advice = f" {check.advice[0]}00{check.advice[2]}" if check.advice else ""
    wanted = " ".join(model.nodes[name].label for name in check.asks[:2])  # type: ignore[union-attr]
    sheet.fit(row, [(sentence + (f" Enter: {wanted}." if word == NOT_JUDGED else advice), MEANING) for word, sentence in sentences.items()])
    sheet.row += 1
