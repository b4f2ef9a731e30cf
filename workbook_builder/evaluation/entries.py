"""How a typed entry is read, from what stands in its cell to the value used: one template for each kind of input.

Within a template ``entry`` is what was typed, ``blank`` what a blank stands for, ``options`` the list of a choice. Each
input of the model is an instance; its steps are called ``typed_<input>``, ``status_<input>`` and so on, and the value used
has the plain name.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import numpy as np

from workbook_builder.evaluation.tasks import DEFAULT, ENTERED, is_missing
from workbook_builder.language.inputs import OPTIONAL, REQUIRED, Input
from workbook_builder.language.steps import Argument, Given, Kind, Range, Step, taking
from workbook_builder.language.tables import KEY_DIGITS, round_half_away
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.wording import number_text

MISSING, NOT_A_NUMBER, OUT_OF_RANGE, NOT_IN_LIST = "missing", "not a number", "out of range", "not in the list"
ECHOES = {
    ENTERED: "read as",
    DEFAULT: "blank, taken as",
    MISSING: "please fill this in",
    NOT_A_NUMBER: "not a number: digits, your own decimal sign",
    OUT_OF_RANGE: "not accepted: this row says what is",
    NOT_IN_LIST: "not in the list of this cell: choose there",
}
# error values, as a reader of workbooks gives them
ERRORS = frozenset({"#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#NULL!"})
NOTHING = "not given"
# what the sheet shows for entries that are neither a number nor a text
ERROR_TYPED, LOGICAL_TYPED, TEXT_TYPED = "(error)", "(true or false)", "(text)"
LARGEST = "largest_entry"
UNSEEN = "\t\u00a0\u200b\ufeff"  # tab, and spaces of no or of fixed width: by themselves they are no text
STEPS = ("typed", "candidate", "agrees", "status", "echo")


def reading(entry: Input) -> Instance:
    """Return how the entry of an input is read, as an instance of the template of its kind."""
    name = entry.name
    unit = Given(entry.unit, given_key(name, "unit"))
    blank: Argument = entry.default_name or Given(_plain_option(entry.blank), given_key(name, "blank"))
    words, statuses = Range("echo_words", values=tuple(ECHOES.values())), Range("echo_statuses", values=tuple(ECHOES))
    bound: dict[str, Argument] = {"entry": f"entry_{name}", "blank": blank, "unit": unit, "words": words, "statuses": statuses}
    if entry.kind == "choice":
        bound["options"] = Range(f"list_{name}", values=tuple(_plain_option(option) for option in entry.options))
    if entry.kind == "number":
        bound |= {limit: Given(value, given_key(name, limit)) for limit, value in (("low", entry.low), ("high", entry.high))}
        bound |= {"factor": entry.factor, "largest": LARGEST} if entry.factor else {}
        for number, relation in enumerate(entry.relations, 1):
            bound[f"other{number}"] = relation.other
            if relation.lowest is not None and relation.highest is not None:
                bound |= {f"least{number}": Given(relation.lowest, given_key(name, "share_low"))}
                bound |= {f"most{number}": Given(relation.highest, given_key(name, "share_high"))}
    names = {step: f"{step}_{name}" for step in STEPS} | {"value": name}
    return Instance(f"reading_of_{name}", template_of(_shape(entry)), bound, entry.label, names=names)


def given_key(name: str, what: str) -> str:
    """Return the key under which a figure of an input's line stands: its unit, its bounds, what a blank stands for."""
    return f"given_{name}_{what}"


def _plain_option(option: str | float) -> str | float:
    return option if isinstance(option, str) else float(option)


Shape = tuple[str, ...]


def _shape(entry: Input) -> Shape:
    """Return in words what decides how an entry of this input is read; inputs of one shape share a template."""
    blank = str(entry.blank) if entry.blank in (REQUIRED, OPTIONAL) else "computed" if entry.default_name else "stated"
    bounds = [
        f"relation {'strict' if one.strict else 'loose'}{' least' * (one.lowest is not None)}{' most' * (one.highest is not None)}"
        for one in entry.relations
    ]
    flags = {"whole": entry.whole, "factor": bool(entry.factor), "unit": bool(entry.unit), "numeric": entry.numeric}
    flags |= {"one option": len(entry.options) == 1}
    return (entry.kind, blank, *(flag for flag, there in flags.items() if there), *bounds)


@cache
def template_of(shape: Shape) -> Template:
    """Return the template by which entries of a shape are read."""
    kind, blank = shape[:2]
    template = Template(f"reading of a {' '.join(shape)}")
    if kind == "number":
        _number(template, blank, shape)
    elif kind == "choice":
        _choice(template, blank, shape)
    else:
        _text(template, blank)
    _echo(template, kind, blank, shape)
    return template


def _add(template: Template, name: str, words: str, formula: str, function: Callable[..., Any], kind: Kind = "text") -> None:
    single = name == "echo"
    template.add(Step(name=name, words=words, formula=formula, function=function, kind=kind, guarded=False, single=single))


# ---- a number


def _number(template: Template, blank: str, shape: Shape) -> None:
    # a text that looks like a number is a number to some programs, so the line shows that it is a text
    typed = f'IF(ISTEXT(entry),"{TEXT_TYPED}",IF(entry="","",entry))'
    words = "What stands in the entry cell; texts, truth values and errors become words before anything counts them."
    _add(template, "typed", words, _without_errors(typed), typed_number, "any")
    _candidate(template, shape)
    agrees = _agrees(template, shape)
    # a default that is stated is whole and within its bounds; one that is computed, or related to another, may not be
    doubtful = any(one.startswith("relation") for one in shape) or ("whole" in shape and blank == "computed")
    default = 'IF(agrees=1,"default","out of range")' if doubtful else '"default"'
    if_blank = {REQUIRED: '"missing"', OPTIONAL: '"default"', "stated": default}.get(
        blank
    ) or f'IF(ISNUMBER(candidate),{default},"missing")'
    inside = f"ROUND(candidate,9)>=low,ROUND(candidate,9)<=high{',agrees=1' if agrees else ''}"
    otherwise = 'IF(ISNUMBER(typed),"missing","not a number")' if "factor" in shape else '"not a number"'
    formula = f'IF(typed="",{if_blank},IF(ISNUMBER(candidate),IF(AND({inside}),"entered","out of range"),{otherwise}))'
    names = ["typed", "candidate", *(["agrees"] if agrees else []), "low", "high"]
    words = "Whether the entry is accepted: within its bounds, and in agreement with the others."
    _add(template, "status", words, formula, taking(names, lambda **given: number_status(blank, **given)))
    stated = blank in ("stated", "computed")
    used = 'IF(status="default",blank,"")' if stated else '""'
    names = ["status", "candidate", *(["blank"] if stated else [])]
    words = "The entry if it is accepted, the default if there is one and nothing is typed."
    _add(template, "value", words, f'IF(status="entered",candidate,{used})', taking(names, number_used), "number")


def _candidate(template: Template, shape: Shape) -> None:
    # a product beyond the numbers of a spreadsheet would be an error
    product = 'IF(COUNT(typed,factor)=2,MAX(MIN(typed,largest),-largest)*factor,"")'
    number = product if "factor" in shape else 'IF(ISNUMBER(typed),typed,"")'
    names = ["typed", *(["factor", "largest"] if "factor" in shape else [])]
    words = "The number in the unit of the value used: what is typed, or what a blank stands for."
    if shape[1] in ("stated", "computed"):
        # one that is computed may not be there yet
        blank = 'IF(ISNUMBER(blank),blank,"")' if shape[1] == "computed" else "blank"
        number, names = f'IF(typed="",{blank},{number})', [*names, "blank"]
    _add(template, "candidate", words, number, taking(names, candidate), "number")


def _agrees(template: Template, shape: Shape) -> bool:
    """Declare whether the number is whole, and agrees with other values, where that is asked; return whether it is."""
    relations = [one for one in shape if one.startswith("relation")]
    whole, names, terms = "whole" in shape, ["candidate"], []
    if whole:
        terms.append("IF(ROUND(candidate,9)=ROUND(candidate,0),1,0)")
    for number, relation in enumerate(relations, 1):
        strict, least, most = "strict" in relation, "least" in relation, "most" in relation
        other, between = f"other{number}", least and most
        names += [other, *([f"least{number}", f"most{number}"] if between else [])]
        bounds = [
            f"ROUND(candidate,9){sign}{'' if strict else '='}ROUND({f'{share}*{other}' if between else other},9)"
            for wanted, sign, share in ((least, ">", f"least{number}"), (most, "<", f"most{number}"))
            if wanted
        ]
        condition = f"AND({','.join(bounds)})" if between else bounds[0]
        terms.append(f"IF(COUNT({other})=0,1,IF({condition},1,0))")
    if not terms:
        return False
    formula = f'IF(ISNUMBER(candidate),{"*".join(terms)},"")'
    words = "1 if the number is whole where it must be, and agrees with the other values that are known."
    _add(template, "agrees", words, formula, taking(names, lambda **given: agreement(whole, relations, **given)), "number")
    return True


def typed_number(entry: Any) -> Any:
    """Return what is typed for a number: a number, nothing, or in words what it is instead."""
    typed = typed_text(entry)
    return TEXT_TYPED if isinstance(typed, str) and typed not in ("", ERROR_TYPED, LOGICAL_TYPED) else typed


def candidate(typed: Any, factor: Any = 1.0, largest: Any = np.inf, blank: Any = np.nan) -> Any:
    """Return the number that is typed, in the unit of the value used, or what a blank stands for; NaN where there is none."""
    return np.where(is_blank(typed), as_numbers(blank), np.clip(as_numbers(typed), -largest, largest) * factor)


def agreement(whole: bool, relations: list[str], candidate: Any, **others: Any) -> Any:
    """Return 1 where a number is whole, if it must be, and every relation holds; NaN for NaN."""
    agrees: Any = (round_half_away(candidate, KEY_DIGITS) == np.round(candidate)) if whole else True
    for number, relation in enumerate(relations, 1):
        other = others[f"other{number}"]
        left = round_half_away(candidate, KEY_DIGITS)
        holds: Any = True
        if "least" in relation:
            bound = round_half_away(others.get(f"least{number}", 1.0) * other, KEY_DIGITS)
            holds &= (left > bound) if "strict" in relation else (left >= bound)
        if "most" in relation:
            bound = round_half_away(others.get(f"most{number}", 1.0) * other, KEY_DIGITS)
            holds &= (left < bound) if "strict" in relation else (left <= bound)
        agrees &= np.isnan(other) | holds  # it holds as long as the other value is not known
    return np.where(np.isnan(candidate), np.nan, np.where(agrees, 1.0, 0.0))


def number_status(blank: str, typed: Any, candidate: Any, low: float, high: float, agrees: Any = 1.0) -> Any:
    """Return the status of a number; ``blank`` says what a blank stands for."""
    stands = np.where(np.isnan(candidate), MISSING, np.where(np.not_equal(agrees, 0), DEFAULT, OUT_OF_RANGE))
    left_blank: Any = DEFAULT if blank == OPTIONAL else stands
    # a figure whose unit cannot be converted yet waits for what is missing
    not_read = np.where(np.isnan(as_numbers(typed)), NOT_A_NUMBER, MISSING)
    rounded = round_half_away(candidate, KEY_DIGITS)
    accepted = (rounded >= low) & (rounded <= high) & np.equal(agrees, 1)
    judged = np.where(np.isnan(candidate), not_read, np.where(accepted, ENTERED, OUT_OF_RANGE))
    return np.where(is_blank(typed), left_blank, judged)


def number_used(status: Any, candidate: Any, blank: Any = np.nan) -> Any:
    """Return the value used: the entry, the default, or NaN."""
    return np.where(status == ENTERED, candidate, np.where(status == DEFAULT, as_numbers(blank), np.nan))


# ---- a choice


def _choice(template: Template, blank: str, shape: Shape) -> None:
    words = "What stands in the entry cell; truth values and errors become words."
    _add(template, "typed", words, _without_errors('IF(entry="","",entry)'), typed_text, "any")
    known = 'IF(SUMPRODUCT((options=typed)*1)>0,"entered","not in the list")'
    if_blank = {REQUIRED: '"missing"', "computed": 'IF(blank="","missing","default")'}.get(blank, '"default"')
    names = ["typed", "options", *(["blank"] if blank == "computed" else [])]
    words = "Whether the list of the choice has it."
    function = taking(names, lambda **given: choice_status(blank, **given))
    _add(template, "status", words, f'IF(typed="",{if_blank},{known})', function)
    # some programs do not look things up in a range of one cell
    one = "one option" in shape
    stated = blank in ("stated", "computed")
    default = 'IF(status="default",blank,"")' if stated else '""'
    formula = f'IF(status="entered",{"options" if one else "INDEX(options,MATCH(typed,options,0))"},{default})'
    names = ["status", "options", *([] if one else ["typed"]), *(["blank"] if stated else [])]
    words = "The option as the list writes it, or the default."
    numeric = "numeric" in shape
    function = taking(names, lambda **given: choice_used(numeric, **given))
    _add(template, "value", words, formula, function, "number" if numeric else "any")


def choice_status(mode: str, typed: Any, options: tuple[Any, ...], blank: Any = "") -> Any:
    """Return the status of a choice; ``mode`` says what a blank stands for, ``blank`` is its computed default."""
    if np.ndim(typed) or np.ndim(blank):
        return each(lambda one, other: choice_status(mode, one, options, other), typed, blank)
    if isinstance(typed, str) and typed == "":
        return MISSING if mode == REQUIRED or (mode == "computed" and is_missing(blank)) else DEFAULT
    return ENTERED if _option(typed, options) is not None else NOT_IN_LIST


def choice_used(numeric: bool, status: Any, options: tuple[Any, ...], typed: Any = None, blank: Any = "") -> Any:
    """Return the option as the list writes it, the default, or nothing."""
    if np.ndim(status):
        found = each(lambda *one: choice_used(numeric, one[0], options, *one[1:]), status, typed, blank)
        return found.astype(float) if numeric else found
    nothing: Any = np.nan if numeric else ""
    if status == ENTERED:
        return options[0] if typed is None else _option(typed, options)
    return blank if status == DEFAULT and not (isinstance(blank, str) and blank == "") else nothing


def _option(typed: Any, options: tuple[Any, ...]) -> Any:
    """Return the option that was typed, in whatever case of letters; None if there is none."""
    same = [one for one in options if isinstance(one, str) == isinstance(typed, str) and _folded(one) == _folded(typed)]
    return same[0] if same else None


def _folded(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else float(value)


# ---- a text


def _text(template: Template, blank: str) -> None:
    words = "What stands in the entry cell; truth values and errors become words."
    _add(template, "typed", words, _without_errors('IF(entry="","",entry)'), typed_text, "any")
    if_blank = DEFAULT if blank == OPTIONAL else MISSING
    seen = "typed"
    for sign in UNSEEN:
        seen = f'SUBSTITUTE({seen},"{sign}","")'
    formula = f'IF(typed="{ERROR_TYPED}","not in the list",IF(TRIM({seen})="","{if_blank}","entered"))'
    words = "Whether there is a text of signs that can be seen."
    _add(template, "status", words, formula, taking(["typed"], lambda typed: text_status(if_blank, typed)))
    _add(template, "value", "The text.", 'IF(status="entered",typed,"")', text_used, "any")


def text_status(if_blank: str, typed: Any) -> Any:
    """Return the status of a text."""
    if np.ndim(typed):
        return each(lambda one: text_status(if_blank, one), typed)
    if typed == ERROR_TYPED:
        return NOT_IN_LIST
    return if_blank if isinstance(typed, str) and typed.strip(f" {UNSEEN}") == "" else ENTERED


def text_used(status: Any, typed: Any) -> Any:
    """Return the text, or an empty one."""
    return np.where(status == ENTERED, np.asarray(typed, dtype=object), "") if np.ndim(status) else typed if status == ENTERED else ""


# ---- all kinds


def _echo(template: Template, kind: str, blank: str, shape: Shape) -> None:
    unit = '&" "&unit' if "unit" in shape else ""
    if kind == "number":
        shown = f"(ROUND(value,4)+0){unit}" if unit else '(ROUND(value,4)+0)&""'
    elif kind == "text":  # a person may type a number there
        shown = 'IF(ISNUMBER(value),ROUND(value,4)+0,value)&""'
    elif unit and "numeric" not in shape:
        shown = 'value&IF(ISNUMBER(value)," "&unit,"")'
    else:  # options are joined as they are declared: nothing was computed that could need rounding
        shown = f"value{unit}" if unit else 'value&""'
    known = 'status="entered"' if blank == REQUIRED else 'OR(status="entered",status="default")'
    if blank == OPTIONAL:
        shown = f'IF(value="","{NOTHING}",{shown})'
    formula = f'INDEX(words,MATCH(status,statuses,0))&IF({known}," "&{shown},"")'
    names = ["words", "status", "statuses", "value", *(["unit"] if unit else [])]
    _add(template, "echo", "How the entry was read, in words.", formula, taking(names, echo))


def echo(words: tuple[str, ...], status: str, statuses: tuple[str, ...], value: Any, unit: str = "") -> str:
    """Return in words how an entry was read."""
    said = words[statuses.index(status)]
    if status not in (ENTERED, DEFAULT):
        return said
    shown = NOTHING if is_missing(value) else number_text(value)
    unit = unit if isinstance(value, float) and shown != NOTHING else ""
    return " ".join(part for part in (said, shown, unit) if part)


def _without_errors(typed: str) -> str:
    return f'IF(ISERROR(entry),"{ERROR_TYPED}",IF(ISLOGICAL(entry),"{LOGICAL_TYPED}",{typed}))'


def typed_text(entry: Any) -> Any:
    """Return what is typed, as a cell shows it: ``entry`` is a number, text, truth value, date, None, or an array of these."""
    if entry is None:
        return ""
    if isinstance(entry, bool | np.bool_):
        return LOGICAL_TYPED
    if isinstance(entry, datetime.date | datetime.time):
        return str(entry)
    if isinstance(entry, str):
        return ERROR_TYPED if entry in ERRORS else entry
    if isinstance(entry, int | float | np.number):
        return "" if np.isnan(entry) else float(entry)
    array = np.asarray(entry)
    return array.astype(float) if array.dtype.kind in "iuf" else array.astype(object)


def as_numbers(value: Any) -> Any:
    """Return numbers as floats, and NaN for all that is not a number."""
    if isinstance(value, float | int) or (isinstance(value, np.ndarray) and value.dtype.kind == "f"):
        return value
    if np.ndim(value) == 0:
        return np.nan
    return np.array([as_numbers(typed_text(one)) for one in value], dtype=float)


def is_blank(typed: Any) -> Any:
    """Return where nothing is typed."""
    if np.ndim(typed) == 0:
        return isinstance(typed, str) and typed == ""
    return np.isnan(typed) if typed.dtype.kind == "f" else np.array([typed_text(one) == "" for one in typed])


def each(function: Callable[..., Any], *columns: Any) -> Any:
    """Return what a function gives for each design, where any of the columns is an array."""
    rows = zip(*np.broadcast_arrays(*(np.asarray(column, dtype=object) for column in columns)), strict=True)
    return np.array([function(*(typed_text(one) for one in row)) for row in rows], dtype=object)


def raw_entries(inputs: Mapping[str, Any], entries: list[Input]) -> dict[str, Any]:
    """Return what stands in each entry cell, by ``entry_<input>``."""
    return {f"entry_{entry.name}": inputs.get(entry.name) for entry in entries}
