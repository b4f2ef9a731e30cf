"""The proof: published examples and a line for each function, recalculated by the program that shows them."""

from __future__ import annotations

from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.proof import ACCEPTED, Chain, Part
from workbook_builder.evaluation.proof_lines import LINES, MIXED, STEPS, WORDS, Line
from workbook_builder.evaluation.proof_words import (
    AGREES,
    BAD,
    CALCULATES,
    DIFFERS,
    GOOD,
    HANDSHAKE_AFTER,
    HANDSHAKE_BEFORE,
    HANDSHAKE_BLANK,
    HANDSHAKE_TEXT,
    MISCALCULATES,
)
from workbook_builder.file.plan import Entry, Formula, Plan, Sheet, WordFormat, address
from workbook_builder.language import xl
from workbook_builder.language.declare import Quantity
from workbook_builder.language.errors import Problem, WorkbookError
from workbook_builder.sheets import blocks
from workbook_builder.sheets.working import cell_formula

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


def add(plan: Plan, model: Model) -> Sheet:
    """Place the sheet of the proof; everything that other sheets hold must be placed before."""
    sheet = plan.add(Sheet("Proof", "Whether this program calculates this workbook correctly", WIDTHS, print_columns=LAST + 1))
    sheet.banner("Proof", "title", LAST)
    sheet.banner(INTRO, "subtitle", LAST)
    _summary(plan, sheet, model)
    sheet.row += 1
    head = sheet.row
    sheet.repeat_row = head
    sheet.line([(heading, "head") for heading in HEADINGS])
    chains = model.proof.chains
    sheet.banner(f"{sum(chain.example.published for chain in chains)} published examples", "chapter", LAST)
    for chain in (chain for chain in chains if chain.example.published):
        _example(plan, sheet, model, chain)
    sheet.banner(POINTS, "chapter", LAST)
    for chain in (chain for chain in chains if not chain.example.published):
        _example(plan, sheet, model, chain)
    _lines(plan, sheet)
    plan.name("proof_agreement", sheet, head, AGREEMENT, sheet.row - 1)
    sheet.word_formats.append(WordFormat((head, AGREEMENT), (sheet.row - 1, AGREEMENT), AGREEMENT, "proof"))
    _refuse_untried(plan)
    return sheet


def _summary(plan: Plan, sheet: Sheet, model: Model) -> None:
    counted = f'AND(COUNTIF(proof_agreement,"{AGREES}")=proof_lines,SUMPRODUCT((proof_agreement="{AGREES}")*1)=proof_lines)'
    row = sheet.row
    sheet.put(WHAT, "This spreadsheet program", "chapter")
    sheet.put(SYMBOL, Formula(f'IF({counted},"{CALCULATES}","{MISCALCULATES}")', "calculation_ok"), "verdict_big")
    sheet.merges.append((row, SYMBOL, WITHIN))
    plan.name("calculation_ok", sheet, row, SYMBOL)
    sheet.word_formats.append(WordFormat((row, SYMBOL), (row, SYMBOL), SYMBOL, "proof"))
    # the sentences stand beside, outside the print area
    for offset, (name, sentence) in enumerate((("proof_good", GOOD), ("proof_bad", BAD))):
        sheet.put(SENTENCES + offset, sentence, "quiet")
        plan.name(name, sheet, row, SENTENCES + offset)
    text = f'IF(calculation_ok="{CALCULATES}",proof_good,ROUND(proof_lines-proof_agreeing,0)&" "&proof_bad)'
    sheet.put(AGREEMENT, Formula(text, "proof_meaning"), "strong")
    sheet.merges.append((row, AGREEMENT, LAST))
    sheet.heights[row] = 32
    sheet.row += 1
    _handshake(plan, sheet)
    row = sheet.row
    sheet.put(WHAT, "Lines that agree, and lines there are", "text")
    sheet.put(SHOWS, Formula(f'COUNTIF(proof_agreement,"{AGREES}")', "proof_agreeing"), "number")
    sheet.put(PRINTED, float(model.proof.lines), "number")
    plan.name("proof_agreeing", sheet, row, SHOWS)
    plan.name("proof_lines", sheet, row, PRINTED)
    sheet.put(FORMULA, "An example's entries count as accepted; its formulas ask this cell:", "small")
    sheet.put(NAME, "entered", "text")
    plan.name(ACCEPTED, sheet, row, NAME)
    sheet.heights[row] = 26
    sheet.row += 1


def _handshake(plan: Plan, sheet: Sheet) -> None:
    row, typed = sheet.row, "proof_handshake_number"
    sheet.put(WHAT, "Does it recalculate at all? Type any number here:", "strong")
    sheet.put(SHOWS, Entry(typed), "entry")
    plan.name(typed, sheet, row, SHOWS)
    answer = f'"{HANDSHAKE_BEFORE}"&(ROUND({typed},0)+1)&"{HANDSHAKE_AFTER}"'
    text = f'IF({typed}="","{HANDSHAKE_BLANK}",IF(ISTEXT({typed}),"{HANDSHAKE_TEXT}",{answer}))'
    sheet.put(PRINTED, Formula(text, "proof_handshake"), "strong")
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


def _example(plan: Plan, sheet: Sheet, model: Model, chain: Chain) -> None:
    example = chain.example
    parts = (f"{example.title}.", f"Source: {example.citation}.", example.note)
    sheet.banner(" ".join(part for part in parts if part), "section", LAST)
    places = {part.name: address(sheet.row + offset, SHOWS) for offset, part in enumerate(chain.parts)}
    for part in chain.parts:
        if part.given is not None or part.name in chain.results:  # values between the two are called by their places
            plan.name(part.key, sheet, sheet.row, SHOWS)
        _part(sheet, model, chain, part, places)


def _part(sheet: Sheet, model: Model, chain: Chain, part: Part, places: dict[str, str]) -> None:
    row, result = sheet.row, chain.results.get(part.name)
    look = "text" if model.is_text(part.name) else "number"
    told = "given"
    content: str | float | Formula
    if part.given is None:
        declared, told = _declared(model, part.name)
        content = Formula(_instance(declared, chain, places), part.key)
    else:
        content = part.given
        told = "left blank on purpose" if part.given == "" else told
    digits = "" if look == "text" else "0.######" if part.given is not None else "0.0#####"
    sheet.put(SHOWS, content, look, digits)
    cells = [(WHAT, part.label, "text"), (SYMBOL, part.symbol, "text"), (UNIT, part.unit, "text")]
    for column, text, style in (*cells, (FORMULA, told, "small"), (NAME, part.name, "quiet")):
        sheet.put(column, text, style)
    if result:
        sheet.put(PRINTED, result.value, "number", _digits(result.printed))
        sheet.put(WITHIN, result.within, "number", "0.######")
        shown, wanted, within, difference = (address(row, column) for column in (SHOWS, PRINTED, WITHIN, DIFFERENCE))
        text = f'IF(COUNT({shown},{wanted})=2,ROUND({shown}-{wanted},9),"")'
        sheet.put(DIFFERENCE, Formula(text, f"{part.key}_difference"), "number", "0.0#####")
        near = f'IF(ROUND(ABS({difference}),9)<=ROUND({within},9),"{AGREES}","{DIFFERS}")'
        sheet.put(AGREEMENT, Formula(f'IF(COUNT({difference},{within})=2,{near},"{DIFFERS}")', f"{part.key}_agreement"), "word")
    sheet.fit(row)
    sheet.row += 1


def _digits(printed: str) -> str:
    decimals = len(printed.partition(".")[2])
    return f"0.{'0' * decimals}" if decimals else "0"


def _declared(model: Model, name: str) -> tuple[str, str]:
    """Return the formula with its guard, in the names of the model, and the declared formula in words."""
    node = model.nodes.get(name)
    if isinstance(node, Quantity):
        return cell_formula(model, node), xl.spoken(node.formula)
    cell = model.cells[name]
    return blocks.formula_in_names(model, cell), xl.spoken(cell.step.formula)


def _instance(declared: str, chain: Chain, places: dict[str, str]) -> str:
    """Return the formula with the names and places of the example, or with places alone where names make it too long."""
    gates = {name: ACCEPTED for name in xl.names_in(declared) if name.startswith("status_")}
    named = {part.name: part.key for part in chain.parts if part.given is not None}
    text = xl.substitute(declared, places | named | gates)
    return text if len(text) <= xl.LONGEST else xl.substitute(declared, places | gates)


def _lines(plan: Plan, sheet: Sheet) -> None:
    sheet.banner("A line for each function and operator that the formulas of this workbook use", "chapter", LAST)
    _lists(plan, sheet)
    first, last = plan.names["proof_steps"][1], plan.names["proof_steps"][3]
    ends = {"first": address(first, SHOWS), "last": address(last, SHOWS)}
    for number, line in enumerate(LINES, 1):
        _line(sheet, f"proof_line{number}", line, ends)


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
        sheet.put(UNIT, mixed if mixed != "" else Formula('""', "proof_nothing"), "number")
        sheet.put(PRINTED, word, "text")
        if mixed == "":
            plan.name("proof_nothing", sheet, sheet.row, UNIT)
        if not place:
            sheet.put(DIFFERENCE, "", "number")
            plan.name("proof_blank", sheet, sheet.row, DIFFERENCE)
        sheet.fit(sheet.row)
        sheet.row += 1
    for name, column in (("proof_steps", SHOWS), ("proof_mixed", UNIT), ("proof_words", PRINTED)):
        plan.name(name, sheet, first, column, sheet.row - 1)


def _line(sheet: Sheet, key: str, line: Line, ends: dict[str, str]) -> None:
    row = sheet.row
    places = {"a": address(row, A), "b": address(row, B)}
    shown, wanted, within = (address(row, column) for column in (SHOWS, EXPECTED, WITHIN))
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
    sheet.put(SHOWS, Formula(xl.substitute(line.formula, places | ends), key), "number" if numeric else "text")
    if numeric:
        sheet.put(WITHIN, line.within, "number", "0E+0")
        text = f'IF(COUNT({shown},{wanted},{within})=3,IF(ABS({shown}-{wanted})<={within},"{AGREES}","{DIFFERS}"),"{DIFFERS}")'
    else:
        text = f'IF(ISTEXT({shown}),IF({shown}={wanted},"{AGREES}","{DIFFERS}"),"{DIFFERS}")'
    sheet.put(AGREEMENT, Formula(text, f"{key}_agreement"), "word")
    sheet.fit(row)
    sheet.row += 1


def used(plan: Plan) -> set[str]:
    """Return every function and operator that stands in a formula of the plan."""
    pieces = {piece for _, _, _, formula in plan.formulas() for piece in xl.tokens(formula.text)}
    return {piece.text for piece in pieces if piece.kind in ("function", "operator")} - PLAIN_SIGNS


def _refuse_untried(plan: Plan) -> None:
    tried = {line.about for line in LINES}
    problems = [
        Problem("sheet Proof", "no line tries a function that the workbook uses", name, advice="add a line to proof_lines.py")
        for name in sorted(used(plan) - tried)
    ]
    if problems:
        raise WorkbookError(problems)
