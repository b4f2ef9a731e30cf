"""The input sheet: one row per input, from what is typed to the value used."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from workbook_builder.evaluation.entries import ECHOES, given_key
from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Entry, Plan, Position, Sheet, Shown, Validation, WordFormat, Worked
from workbook_builder.language.chapters import Chapter
from workbook_builder.language.inputs import OPTIONAL, REQUIRED, EntryTable, Input, accepted
from workbook_builder.language.steps import Given
from workbook_builder.language.wording import number_text
from workbook_builder.language.words import words
from workbook_builder.sheets import stale

LABEL, ENTRY, UNIT, STATUS, VALUE, ECHO, WHERE = range(7)
LOW, HIGH, BLANK, ROW, TYPED, CANDIDATE, AGREES, SHARE_LOW, SHARE_HIGH, KEY = range(7, 17)
HEADINGS = (
    "What",
    "Your entry",
    "Unit",
    "Status",
    "Value used",
    "How your entry was read",
    "Where to find it; what is accepted",
    "Accepted from",
    "to",
    "If left blank",
    "Row",
    "As typed",
    "In the unit of the value",
    "Agrees with the others",
    "Lowest share",
    "Highest share",
    "Name",
)
WIDTHS = (36, 20, 11, 14, 20, 34, 62, 10, 10, 14, 7, 14, 14, 10, 9, 9, 24)


PlaceTable = Callable[[Plan, Sheet, Model, EntryTable], object]


def add(plan: Plan, model: Model, place_table: PlaceTable) -> Sheet:
    """Place the input sheet and its names; ``place_table`` places the inputs that are typed into a table."""
    sheet = plan.add(Sheet("Entries", "What you enter, how it was read, and the value used", WIDTHS, print_columns=LOW))
    sheet.banner("Entries", "title", WHERE)
    sheet.banner(
        "Type in the framed cells only. The columns to the right of the print area show how each entry is judged.",
        "subtitle",
        WHERE,
    )
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([(heading, "head") for heading in HEADINGS])
    for chapter in model.chapters:
        if chapter.typed_on != sheet.name:
            continue
        if chapter.inputs:
            sheet.banner(f"{chapter.title}. {chapter.intro}", "section", WHERE)
            if chapter.name in words()["entering"]:
                sheet.banner(words()["entering"][chapter.name], "caution", WHERE)
        lines(plan, sheet, chapter, head)
        for table in chapter.entry_tables:
            place_table(plan, sheet, model, table)
    last = sheet.row
    sheet.banner("End of the entries", "subtitle", WHERE)
    close(plan, sheet, head, last)
    plan.name("status_column", sheet, head, STATUS, last)
    for name, column in ((stale.ENTERED, ENTRY), (stale.MIRRORED, TYPED), (stale.LINE, ROW)):
        plan.name(name, sheet, head + 1, column, last)
    sheet.alarms += stale.alarms(model, (0, 0), (0, WHERE), "stale_long")
    return sheet


def lines(plan: Plan, sheet: Sheet, chapter: Chapter, head: int, prefix: str = "", *, brief: bool = False) -> None:
    """Place the inputs of a chapter that are typed in lines, below the row of headings ``head``.

    ``prefix`` tells the columns of this sheet from those of others; :func:`close` names them. ``brief`` lines say what is
    accepted in few words, for print; the message of the entry cell says all of it.
    """
    for entry in chapter.inputs:
        if not entry.table:
            _typed_here(plan, sheet, entry)
            line(plan, sheet, entry, Typed(f"{prefix}entry_column", f"{prefix}key_column", head, sheet.row), brief=brief)


def close(plan: Plan, sheet: Sheet, head: int, last: int, prefix: str = "") -> None:
    """Name the columns in which the lines find what was typed, from the headings down to a row below the last entry."""
    sheet.put(KEY, "end", "quiet", row=last)
    plan.name(f"{prefix}entry_column", sheet, head, ENTRY, last)
    plan.name(f"{prefix}key_column", sheet, head, KEY, last)
    sheet.word_formats.append(WordFormat((head + 1, STATUS), (last, STATUS), STATUS))


@dataclass(frozen=True)
class Typed:
    """Where the entry of a line is typed: names of the column of entries and of its keys, its head row and own row."""

    column: str
    keys: str
    head: int
    row: int
    key: str = ""


def style_of(entry: Input) -> str:
    """Return the style of an input's entry cell."""
    return "entry_text" if entry.kind == "text" else "entry"


def _typed_here(plan: Plan, sheet: Sheet, entry: Input) -> None:
    sheet.put(ENTRY, Entry(entry.name), style_of(entry))
    plan.name(f"entry_{entry.name}", sheet, sheet.row, ENTRY)
    sheet.validations += validation(plan, entry, sheet.row, ENTRY)


def line(plan: Plan, sheet: Sheet, entry: Input, typed: Typed, *, brief: bool = False) -> None:
    """Place the line of an input in the current row: how its entry is read, from what is typed to the value used."""
    row, name = sheet.row, entry.name

    def give(what: str, column: int, content: str | float, style: str) -> None:
        sheet.put(column, content, style)
        plan.give(given_key(name, what), sheet, row, column)

    sheet.put(LABEL, entry.label, "text")
    give("unit", UNIT, entry.unit, "text")
    sheet.put(STATUS, Worked(f"status_{name}"), "word")
    digits = "" if entry.kind != "number" or entry.whole else "0.0##"
    sheet.put(VALUE, Worked(name), "number" if entry.kind == "number" else "text", digits)
    sheet.put(ECHO, Worked(f"echo_{name}"), "text")
    sheet.put(WHERE, _brief(entry) if brief else _where(entry), "small")
    if entry.default_name:
        sheet.put(BLANK, Shown(entry.default_name), "number")
    else:
        give("blank", BLANK, entry.blank, "number")
    # through INDEX and MATCH, so that cutting and pasting entry cells cannot re-point the formula
    if not typed.key:
        plan.give(f"key_of_{name}", sheet, row, KEY)
    text = Given(typed.key, f"key_of_{name}")
    sheet.put(ROW, Position(f"row_{name}", text, typed.keys, float(typed.row - typed.head + 1)), "number")
    plan.reached[f"entry_{name}"] = (typed.column, f"row_{name}")
    sheet.put(TYPED, Worked(f"typed_{name}"), "number")
    if entry.kind == "number":
        give("low", LOW, entry.low, "number")
        give("high", HIGH, entry.high, "number")
        sheet.put(CANDIDATE, Worked(f"candidate_{name}"), "number")
        if entry.whole or entry.relations:
            sheet.put(AGREES, Worked(f"agrees_{name}"), "number")
    for relation in entry.relations:
        if relation.lowest is not None and relation.highest is not None:
            give("share_low", SHARE_LOW, relation.lowest, "number")
            give("share_high", SHARE_HIGH, relation.highest, "number")
    sheet.put(KEY, name, "quiet")
    plan.name(f"status_{name}", sheet, row, STATUS)
    plan.name(name, sheet, row, VALUE)
    plan.name(f"echo_{name}", sheet, row, ECHO)
    sheet.fit(row, [(max(ECHOES.values(), key=len), ECHO)])
    sheet.row += 1


def _where(entry: Input) -> str:
    blank = {REQUIRED: "required", OPTIONAL: "may stay blank"}.get(str(entry.blank))
    blank = blank or f"blank: a default is used and shown ({entry.blank_source})"
    parts = [entry.where, accepted(entry) if entry.kind != "text" else "", blank]
    text = "; ".join(part for part in parts if part)
    return text[0].upper() + text[1:] + "."


def _brief(entry: Input) -> str:
    known = ", ".join(number_text(option) for option in entry.options)
    if entry.kind == "number":
        known = f"{number_text(entry.low)} to {number_text(entry.high)}".replace("-", "−")  # a hyphen would be torn from its figure
    blank = f"blank: {number_text(entry.blank)}" if entry.has_default and not entry.default_name else ""
    text = "; ".join(part for part in (entry.where, known, blank) if part)
    return text[0].upper() + text[1:]


def validation(plan: Plan, entry: Input, row: int, column: int) -> list[Validation]:
    """Return what a spreadsheet program accepts in an entry cell, with its messages."""
    prompt = _where(entry)[:255]
    error = f"Accepted: {accepted(entry)}. Press Cancel and type again."[:255]
    title = entry.label[:32]
    if entry.kind == "choice":
        source = plan.reference(f"list_{entry.name}")
        return [Validation(row, column, "list", source=source, title=title, prompt=prompt, error=error)]
    if entry.kind == "number" and not entry.factor:
        kind = "integer" if entry.whole else "decimal"
        return [Validation(row, column, kind, entry.low, entry.high, title=title, prompt=prompt, error=error)]
    return [Validation(row, column, "any", title=title, prompt=prompt)]
