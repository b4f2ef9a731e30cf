"""The input sheet: one row per input, from what is typed to the value used."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from workbook_builder.evaluation.entries import ECHOES, ERROR_TYPED, LOGICAL_TYPED, NOTHING, TEXT_TYPED
from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Entry, Formula, Plan, Sheet, Validation, WordFormat, address
from workbook_builder.language.declare import OPTIONAL, REQUIRED, Chapter, EntryTable, Input
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
    at = {column: address(row, column) for column in range(KEY + 1)}
    sheet.put(LABEL, entry.label, "text")
    sheet.put(UNIT, entry.unit, "text")
    sheet.put(STATUS, Formula(_status(entry, at), f"status_{name}"), "word")
    digits = "" if entry.kind != "number" or entry.whole else "0.0##"
    sheet.put(VALUE, Formula(_value(entry, at), name), "number" if entry.kind == "number" else "text", digits)
    sheet.put(ECHO, Formula(_echo(entry, at), f"echo_{name}"), "text")
    sheet.put(WHERE, _brief(entry) if brief else _where(entry), "small")
    if entry.kind == "number":
        sheet.put(LOW, entry.low, "number")
        sheet.put(HIGH, entry.high, "number")
    sheet.put(BLANK, *_blank(entry))
    # through INDEX and MATCH, so that cutting and pasting entry cells cannot re-point the formula
    key = f'"{typed.key}"' if typed.key else at[KEY]
    sheet.put(ROW, Formula(f"MATCH({key},{typed.keys},0)", f"row_{name}"), "number")
    plan.layout[f"row_{name}"] = float(typed.row - typed.head + 1)
    sheet.put(TYPED, Formula(_typed(entry, at, typed.column), f"typed_{name}"), "number")
    if entry.kind == "number":
        sheet.put(CANDIDATE, Formula(_candidate(entry, at), f"candidate_{name}"), "number")
        if entry.whole or entry.relations:
            sheet.put(AGREES, Formula(_agrees(entry, at), f"agrees_{name}"), "number")
    for relation in entry.relations:
        if relation.lowest is not None and relation.highest is not None:
            sheet.put(SHARE_LOW, relation.lowest, "number")
            sheet.put(SHARE_HIGH, relation.highest, "number")
    sheet.put(KEY, name, "quiet")
    plan.name(f"status_{name}", sheet, row, STATUS)
    plan.name(name, sheet, row, VALUE)
    plan.name(f"echo_{name}", sheet, row, ECHO)
    sheet.fit(row, [(max(ECHOES.values(), key=len), ECHO)])
    sheet.row += 1


def _typed(entry: Input, at: dict[int, str], column: str) -> str:
    # a text that looks like a number is a number to some programs, so a number's row shows that it is a text
    typed = f"INDEX({column},{at[ROW]})"
    known = f'IF({typed}="","",{typed})'
    other = f'IF(ISTEXT({typed}),"{TEXT_TYPED}",{known})' if entry.kind == "number" else known
    return f'IF(ISERROR({typed}),"{ERROR_TYPED}",IF(ISLOGICAL({typed}),"{LOGICAL_TYPED}",{other}))'


def _candidate(entry: Input, at: dict[int, str]) -> str:
    blank = f'IF(ISNUMBER({at[BLANK]}),{at[BLANK]},"")'
    if not entry.factor:
        return f'IF({at[TYPED]}="",{blank},{at[TYPED]})'
    converted = f'IF(COUNT({at[TYPED]},{entry.factor})=2,{at[TYPED]}*{entry.factor},IF(ISNUMBER({at[TYPED]}),"",{at[TYPED]}))'
    return f'IF({at[TYPED]}="",{blank},{converted})'


def _agrees(entry: Input, at: dict[int, str]) -> str:
    number = at[CANDIDATE]
    terms = [f"IF(ROUND({number},9)=ROUND({number},0),1,0)"] if entry.whole else []
    for relation in entry.relations:
        bounds = []
        between = relation.lowest is not None and relation.highest is not None
        if relation.lowest is not None:
            bound = f"{at[SHARE_LOW]}*{relation.other}" if between else relation.other
            bounds.append(f"ROUND({number},9){'>' if relation.strict else '>='}ROUND({bound},9)")
        if relation.highest is not None:
            bound = f"{at[SHARE_HIGH]}*{relation.other}" if between else relation.other
            bounds.append(f"ROUND({number},9){'<' if relation.strict else '<='}ROUND({bound},9)")
        condition = bounds[0] if len(bounds) == 1 else f"AND({','.join(bounds)})"
        terms.append(f"IF(COUNT({relation.other})=0,1,IF({condition},1,0))")
    return f'IF(ISNUMBER({number}),{"*".join(terms)},"")'


def _status(entry: Input, at: dict[int, str]) -> str:
    typed, number = at[TYPED], at[CANDIDATE]
    if entry.kind == "text":
        blank = "default" if entry.blank == OPTIONAL else "missing"
        return f'IF({typed}="{ERROR_TYPED}","not in the list",IF(TRIM({typed})="","{blank}","entered"))'
    if entry.kind == "choice":
        known = f'IF(SUMPRODUCT((list_{entry.name}={typed})*1)>0,"entered","not in the list")'
        if entry.default_name:
            return f'IF({typed}="",IF({at[BLANK]}="","missing","default"),{known})'
        return f'IF({typed}="","{"missing" if entry.blank == REQUIRED else "default"}",{known})'
    agrees = f"{at[AGREES]}=1" if entry.whole or entry.relations else ""
    # a default that is declared is whole and within its bounds; one that is computed, or related to another, may not be
    default = f'IF({agrees},"default","out of range")' if entry.relations or (entry.whole and entry.default_name) else '"default"'
    blank = '"default"' if entry.blank == OPTIONAL else '"missing"'
    if entry.has_default:  # one that is computed may wait for other entries
        blank = f'IF(ISNUMBER({number}),{default},"missing")' if entry.default_name else default
    inside = f"ROUND({number},9)>={at[LOW]},ROUND({number},9)<={at[HIGH]}{',' + agrees if agrees else ''}"
    accepted = f'IF(AND({inside}),"entered","out of range")'
    other = f'IF(ISNUMBER({typed}),"missing","not a number")' if entry.factor else '"not a number"'
    return f'IF({typed}="",{blank},IF(ISNUMBER({number}),{accepted},{other}))'


def _value(entry: Input, at: dict[int, str]) -> str:
    entered = at[TYPED]
    if entry.kind == "number":
        entered = at[CANDIDATE]
    elif entry.kind == "choice":
        entered = f"INDEX(list_{entry.name},MATCH({at[TYPED]},list_{entry.name},0))"
        if len(entry.options) == 1:  # some programs do not look things up in a range of one cell
            entered = f"list_{entry.name}"
    default = f'IF({at[STATUS]}="default",{at[BLANK]},"")' if entry.has_default else '""'
    return f'IF({at[STATUS]}="entered",{entered},{default})'


def _echo(entry: Input, at: dict[int, str]) -> str:
    value, unit = at[VALUE], f'&" "&{at[UNIT]}' if entry.unit else ""
    if entry.kind == "number":
        shown = f"(ROUND({value},4)+0){unit}" if unit else f'(ROUND({value},4)+0)&""'
    elif entry.kind == "text":  # a person may type a number there
        shown = f'IF(ISNUMBER({value}),ROUND({value},4)+0,{value})&""'
    elif entry.unit and not entry.numeric:
        shown = f'{value}&IF(ISNUMBER({value})," "&{at[UNIT]},"")'
    else:  # options are joined as they are declared: nothing was computed that could need rounding
        shown = f"{value}{unit}" if unit else f'{value}&""'
    words = f"INDEX(echo_words,MATCH({at[STATUS]},echo_statuses,0))"
    known = f'{at[STATUS]}="entered"' if entry.blank == REQUIRED else f'OR({at[STATUS]}="entered",{at[STATUS]}="default")'
    if entry.blank == OPTIONAL:
        shown = f'IF({value}="","{NOTHING}",{shown})'
    return f'{words}&IF({known}," "&{shown},"")'


def accepted(entry: Input) -> str:
    """Return in words what is accepted for an input."""
    if entry.kind == "choice":
        return "one of: " + ", ".join(number_text(option) for option in entry.options)
    if entry.kind == "text":
        return "any text"
    kind = "a whole number from" if entry.whole else "from"
    span = f"{kind} {number_text(entry.low)} to {number_text(entry.high)} {entry.unit}".strip()
    return ", ".join([span, *(relation.words for relation in entry.relations)])


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


def _blank(entry: Input) -> tuple[str | float | Formula, str]:
    if entry.default_name:
        return Formula(entry.default_name, f"blank_{entry.name}"), "number"
    return entry.blank, "number"


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
