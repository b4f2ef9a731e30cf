"""The proof: published examples and a line for each function, recalculated by the program that shows them."""

from __future__ import annotations

from collections.abc import Iterable

from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.evaluation.proof import ACCEPTED, Chain, Part, Proof
from workbook_builder.evaluation.proof_lines import LINES, MIXED, STEPS, WORDS, Line
from workbook_builder.evaluation.proof_steps import TYPED
from workbook_builder.evaluation.proof_words import BAD, GOOD
from workbook_builder.evaluation.tasks import ENTERED
from workbook_builder.file.plan import Entry, Plan, Sheet, WordFormat, Worked
from workbook_builder.language import xl
from workbook_builder.language.steps import Calculation

GUARDS = xl.guarded("0", ["a", "b"], ["c"], ["d"], ["e"])  # what guards use stands in nearly every formula
WHAT, SYMBOL, SHOWS, UNIT, PRINTED, DIFFERENCE, WITHIN, AGREEMENT, FORMULA, NAME = range(10)
# in the lines of functions some columns hold something else; the headings, repeated on each page, say both
A, B, EXPECTED = UNIT, PRINTED, DIFFERENCE
HEADINGS = (
    "What",
    "Symbol, or function",
    "Shows",
    "Unit, or a",
    "Published, or b",
    "Difference, or expected",
    "May differ by",
    "Agreement",
    "Formula, with the names of the design",
    "Name",
)
WIDTHS = (33, 15, 12, 10, 11, 11, 9, 10, 42, 25, 20, 20)
SENTENCES = 10
LAST = NAME
PLAIN_SIGNS = frozenset({"(", ")", ","})
INTRO = (
    "Published examples, worked by the formulas of this workbook in the program that you see it in. If a line differs, the "
    "program does not calculate as it should, or a cell was changed: then no design gets a PASS."
)
POINTS = "Points of the curve, computed with a general library by this project: not published, and not counted above"


def add(plan: Plan, evaluation: Evaluation) -> Sheet:
    """Place the sheet of the proof; everything that other sheets hold must be placed before."""
    sheet = plan.add(Sheet("Proof", "Whether this program calculates this workbook correctly", WIDTHS, print_columns=LAST + 1))
    sheet.banner("Proof", "title", LAST)
    sheet.banner(INTRO, "subtitle", LAST)
    proof = evaluation.proof
    _summary(plan, sheet, proof)
    sheet.row += 1
    head = sheet.row
    sheet.repeat_row = head
    sheet.line([(heading, "head") for heading in HEADINGS])
    chains = proof.chains
    sheet.banner(f"{sum(chain.example.published for chain in chains)} published examples", "chapter", LAST)
    for chain in (chain for chain in chains if chain.example.published):
        _example(plan, sheet, chain)
    sheet.banner(POINTS, "chapter", LAST)
    for chain in (chain for chain in chains if not chain.example.published):
        _example(plan, sheet, chain)
    _lines(plan, sheet)
    plan.name("proof_agreement", sheet, head, AGREEMENT, sheet.row - 1)
    sheet.word_formats.append(WordFormat((head, AGREEMENT), (sheet.row - 1, AGREEMENT), AGREEMENT, "proof"))
    return sheet


def _summary(plan: Plan, sheet: Sheet, proof: Proof) -> None:
    row = sheet.row
    sheet.put(WHAT, "This spreadsheet program", "chapter")
    sheet.put(SYMBOL, Worked("calculation_ok"), "verdict_big")
    sheet.merges.append((row, SYMBOL, WITHIN))
    plan.name("calculation_ok", sheet, row, SYMBOL)
    sheet.word_formats.append(WordFormat((row, SYMBOL), (row, SYMBOL), SYMBOL, "proof"))
    # the sentences stand beside, outside the print area
    for offset, (name, sentence) in enumerate((("proof_good", GOOD), ("proof_bad", BAD))):
        sheet.put(SENTENCES + offset, sentence, "quiet")
        plan.name(name, sheet, row, SENTENCES + offset)
    sheet.put(AGREEMENT, Worked("proof_meaning"), "strong")
    sheet.merges.append((row, AGREEMENT, LAST))
    sheet.heights[row] = 32
    sheet.row += 1
    _handshake(plan, sheet)
    row = sheet.row
    sheet.put(WHAT, "Lines that agree, and lines there are", "text")
    sheet.put(SHOWS, Worked("proof_agreeing"), "number")
    sheet.put(PRINTED, float(proof.lines), "number")
    plan.name("proof_agreeing", sheet, row, SHOWS)
    plan.name("proof_lines", sheet, row, PRINTED)
    sheet.put(FORMULA, "An example's entries count as accepted; its formulas ask this cell:", "small")
    sheet.put(NAME, ENTERED, "text")
    plan.name(ACCEPTED, sheet, row, NAME)
    sheet.heights[row] = 26
    sheet.row += 1


def _handshake(plan: Plan, sheet: Sheet) -> None:
    row = sheet.row
    sheet.put(WHAT, "Does it recalculate at all? Type any number here:", "strong")
    sheet.put(SHOWS, Entry(TYPED), "entry")
    plan.name(TYPED, sheet, row, SHOWS)
    sheet.put(PRINTED, Worked("proof_handshake"), "strong")
    plan.name("proof_handshake", sheet, row, PRINTED)
    sheet.merges.append((row, PRINTED, AGREEMENT))
    advice = (
        "If the answer does not follow, nothing else does: switch automatic calculation on, or press F9 "
        "(LibreOffice: Ctrl+Shift+F9), after every entry."
    )
    sheet.put(FORMULA, advice, "prose")
    sheet.merges.append((row, FORMULA, NAME))
    sheet.heights[row] = 32
    sheet.row += 1


def _example(plan: Plan, sheet: Sheet, chain: Chain) -> None:
    example = chain.example
    parts = (f"{example.title}.", f"Source: {example.citation}.", example.note)
    sheet.banner(" ".join(part for part in parts if part), "section", LAST)
    for part in chain.parts:
        if part.given is not None:
            plan.give(part.key, sheet, sheet.row, SHOWS)
        if part.given is not None or part.name in chain.results:  # values between the two are called by their places
            plan.name(part.key, sheet, sheet.row, SHOWS)
        _part(plan, sheet, chain, part)


def _part(plan: Plan, sheet: Sheet, chain: Chain, part: Part) -> None:
    row, result = sheet.row, chain.results.get(part.name)
    look = "text" if part.kind in ("text", "check") else "number"
    if part.calculation:
        told = xl.spoken(part.calculation.step.formula)
        sheet.put(SHOWS, Worked(part.key), look, "" if look == "text" else "0.0#####")
    else:
        assert part.given is not None
        told = "left blank on purpose" if part.given == "" else "given"
        sheet.put(SHOWS, part.given, look, "" if look == "text" else "0.######")
    cells = [(WHAT, part.label, "text"), (SYMBOL, part.symbol, "text"), (UNIT, part.unit, "text")]
    for column, text, style in (*cells, (FORMULA, told, "small"), (NAME, part.name, "quiet")):
        sheet.put(column, text, style)
    if result:
        sheet.put(PRINTED, result.value, "number", _digits(result.printed))
        sheet.put(WITHIN, result.within, "number", "0.######")
        plan.give(f"{part.key}_wanted", sheet, row, PRINTED)
        plan.give(f"{part.key}_within", sheet, row, WITHIN)
        sheet.put(DIFFERENCE, Worked(f"{part.key}_difference"), "number", "0.0#####")
        sheet.put(AGREEMENT, Worked(f"{part.key}_agreement"), "word")
    sheet.fit(row)
    sheet.row += 1


def _digits(printed: str) -> str:
    decimals = len(printed.partition(".")[2])
    return f"0.{'0' * decimals}" if decimals else "0"


def _lines(plan: Plan, sheet: Sheet) -> None:
    sheet.banner("A line for each function and operator that the formulas of this workbook use", "chapter", LAST)
    _lists(plan, sheet)
    for number, line in enumerate(LINES, 1):
        _line(plan, sheet, f"proof_line{number}", line)


def _lists(plan: Plan, sheet: Sheet) -> None:
    sheet.line(
        [
            ("Small lists that are used below", "head"),
            ("", "head"),
            ("numbers", "head"),
            ("mixed", "head"),
            ("words", "head"),
            ("nothing", "head"),
            ("", "head"),
            ("", "head"),
            ("", "head"),
            ("", "head"),
        ]
    )
    first = sheet.row
    for place, (step, mixed, word) in enumerate(zip(STEPS, MIXED, WORDS, strict=True)):
        sheet.put(SHOWS, step, "number")
        sheet.put(UNIT, mixed if mixed != "" else Worked("proof_nothing"), "number")
        sheet.put(PRINTED, word, "text")
        if mixed == "":
            plan.name("proof_nothing", sheet, sheet.row, UNIT)
        if not place:
            sheet.put(DIFFERENCE, "", "number")
            plan.name("proof_blank", sheet, sheet.row, DIFFERENCE)
        sheet.fit(sheet.row)
        sheet.row += 1
    for name, row in (("proof_steps_first", first), ("proof_steps_last", sheet.row - 1)):
        plan.give(name, sheet, row, SHOWS)
    for name, column in (("proof_steps", SHOWS), ("proof_mixed", UNIT), ("proof_words", PRINTED)):
        plan.name(name, sheet, first, column, sheet.row - 1)


def _line(plan: Plan, sheet: Sheet, key: str, line: Line) -> None:
    row = sheet.row
    numeric = not isinstance(line.expected, str)
    cells = [
        (WHAT, line.words, "text"),
        (SYMBOL, line.about, "text"),
        (A, line.a, "text"),
        (B, line.b, "text"),
        (EXPECTED, line.expected, "text"),
        (FORMULA, xl.spoken(line.formula), "small"),
    ]
    for column, content, style in cells:
        sheet.put(column, content, "number" if isinstance(content, float) else style)
    for name, column in (("a", A), ("b", B), ("expected", EXPECTED)):
        plan.give(f"{key}_{name}", sheet, row, column)
    sheet.put(SHOWS, Worked(key), "number" if numeric else "text")
    if numeric:
        sheet.put(WITHIN, line.within, "number", "0E+0")
        plan.give(f"{key}_within", sheet, row, WITHIN)
    sheet.put(AGREEMENT, Worked(f"{key}_agreement"), "word")
    sheet.fit(row)
    sheet.row += 1


def used(calculations: Iterable[Calculation]) -> set[str]:
    """Return every function and operator that formulas use, guards included."""
    formulas = {one.step.formula for one in calculations} | {GUARDS}
    pieces = {piece for formula in formulas for piece in xl.tokens(formula)}
    return {piece.text for piece in pieces if piece.kind in ("function", "operator")} - PLAIN_SIGNS
