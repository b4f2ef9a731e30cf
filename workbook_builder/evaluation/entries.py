"""How a typed entry is read: the reference of the input sheet's formulas.

For each input this gives the values that the workbook shows in the input's row: what was typed, what a blank stands
for, the number in the unit of the value used, whether it agrees with the others, the status, the value used and the
echo. Arrays are read element by element and give the status and the value used only.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

import numpy as np

from workbook_builder.language.declare import OPTIONAL, Input, Relation
from workbook_builder.language.tables import KEY_DIGITS, round_half_away
from workbook_builder.language.wording import number_text

ENTERED, DEFAULT, MISSING = "entered", "default", "missing"
NOT_A_NUMBER, OUT_OF_RANGE, NOT_IN_LIST = "not a number", "out of range", "not in the list"
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


def read_entry(entry: Input, raw: Any, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values of one input's row, named ``typed_…``, ``status_…`` and so on; the value used by its plain name.

    Parameters
    ----------
    entry
        the declaration.
    raw
        what was typed: number, text, truth value, date, ``None`` for blank, or an array of numbers or of texts.
    values
        what was read or computed before; must hold everything that ``entry.needs()`` names.

    """
    typed = _typed(raw)
    if entry.kind == "number" and isinstance(typed, str) and typed not in ("", ERROR_TYPED, LOGICAL_TYPED):
        typed = TEXT_TYPED
    blank = _blank(entry, values)
    name = entry.name
    if entry.kind == "number":
        found = _read_number(entry, typed, blank, values)
    elif entry.kind == "choice":
        found = dict(zip(("status", ""), _read_choice(entry, typed, blank), strict=True))
    else:
        found = dict(zip(("status", ""), _read_text(entry, typed), strict=True))
    read = {f"{part}_{name}" if part else name: value for part, value in found.items()}
    if np.ndim(found["status"]) == 0:
        read[f"echo_{name}"] = _echo(entry, str(found["status"]), found[""])
    return read | {f"typed_{name}": typed, f"blank_{name}": blank}


def _typed(raw: Any) -> Any:
    if raw is None:
        return ""
    if isinstance(raw, bool | np.bool_):
        return LOGICAL_TYPED
    if isinstance(raw, datetime.date | datetime.time):
        return str(raw)
    if isinstance(raw, str):
        return ERROR_TYPED if raw in ERRORS else raw
    if isinstance(raw, int | float | np.number):
        return "" if np.isnan(raw) else float(raw)
    array = np.asarray(raw)
    return array.astype(float) if array.dtype.kind in "iuf" else array.astype(object)


def _blank(entry: Input, values: Mapping[str, Any]) -> Any:
    """Return what a blank stands for: a number or text, or empty text for none."""
    if entry.default_name:
        value = values[entry.default_name]
        return value if np.ndim(value) else ("" if value != value else value)  # noqa: PLR0124 - NaN is "nothing"
    return entry.blank if entry.has_default else ""


def _numbers(value: Any) -> Any:
    """Return numbers as floats, and NaN for all that is not a number."""
    if isinstance(value, float | int) or (isinstance(value, np.ndarray) and value.dtype.kind == "f"):
        return value
    if np.ndim(value) == 0:
        return np.nan
    return np.array([_numbers(_typed(one)) for one in value], dtype=float)


def _is_blank(typed: Any) -> Any:
    if np.ndim(typed) == 0:
        return isinstance(typed, str) and typed == ""
    return np.isnan(typed) if typed.dtype.kind == "f" else np.array([_typed(one) == "" for one in typed])


def _read_number(entry: Input, typed: Any, blank: Any, values: Mapping[str, Any]) -> dict[str, Any]:
    plain = _numbers(typed)
    number = plain * values[entry.factor] if entry.factor else plain
    default = _numbers(blank)
    left_blank = _is_blank(typed)
    candidate = np.where(left_blank, default, number)
    agrees: Any = (round_half_away(candidate, KEY_DIGITS) == np.round(candidate)) if entry.whole else ~np.isnan(candidate)
    for relation in entry.relations:
        agrees &= _holds(relation, candidate, values)
    rounded = round_half_away(number, KEY_DIGITS)
    accepted = (rounded >= entry.low) & (rounded <= entry.high) & agrees
    if entry.blank == OPTIONAL:
        if_blank: Any = DEFAULT
    else:
        if_blank = np.where(np.isnan(default), MISSING, np.where(agrees, DEFAULT, OUT_OF_RANGE))
    # a figure whose unit cannot be converted yet waits for what is missing
    converted = np.where(np.isnan(plain), NOT_A_NUMBER, MISSING)
    status = np.where(left_blank, if_blank, np.where(np.isnan(number), converted, np.where(accepted, ENTERED, OUT_OF_RANGE)))
    used = np.where(status == ENTERED, number, np.where(status == DEFAULT, default, np.nan))
    if np.ndim(status):
        return {"status": status, "": used}
    known = not np.isnan(candidate)
    shown: Any = float(candidate) if known else ("" if left_blank or not np.isnan(plain) else typed)
    flag: Any = float(agrees) if known else ""
    return {"status": str(status), "": float(used), "candidate": shown, "agrees": flag}


def _holds(relation: Relation, number: Any, values: Mapping[str, Any]) -> Any:
    """Return whether a relation holds; it holds as long as the other value is not known."""
    other = values[relation.other]
    ratio_free: Any = np.isnan(other) | np.isnan(number)
    left = round_half_away(number, KEY_DIGITS)
    holds: Any = True
    if relation.lowest is not None:
        bound = round_half_away(relation.lowest * other, KEY_DIGITS)
        holds &= (left > bound) if relation.strict else (left >= bound)
    if relation.highest is not None:
        bound = round_half_away(relation.highest * other, KEY_DIGITS)
        holds &= (left < bound) if relation.strict else (left <= bound)
    return ratio_free | holds


def _read_choice(entry: Input, typed: Any, blank: Any) -> tuple[Any, Any]:
    if np.ndim(typed) == 0 and np.ndim(blank) == 0:
        return _choose(entry, typed, blank)
    typed, blank = np.broadcast_arrays(np.asarray(typed, dtype=object), np.asarray(blank, dtype=object))
    pairs = [_choose(entry, _typed(one), default) for one, default in zip(typed, blank, strict=True)]
    kind = float if entry.numeric else object
    return np.array([pair[0] for pair in pairs], dtype=object), np.array([pair[1] for pair in pairs], dtype=kind)


def _choose(entry: Input, typed: Any, blank: Any) -> tuple[str, Any]:
    nothing: Any = np.nan if entry.numeric else ""
    if isinstance(typed, str) and typed == "":
        if entry.blank == OPTIONAL:
            return DEFAULT, nothing
        return (MISSING, nothing) if blank == "" else (DEFAULT, blank)
    for option in entry.options:
        if isinstance(option, str) == isinstance(typed, str) and _folded(option) == _folded(typed):
            return ENTERED, option if isinstance(option, str) else float(option)
    return NOT_IN_LIST, nothing


def _folded(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else float(value)


def _read_text(entry: Input, typed: Any) -> tuple[Any, Any]:
    if np.ndim(typed):
        each = np.array([_text_status(entry, _typed(one)) for one in typed], dtype=object)
        return each, np.where(each == ENTERED, typed, "")
    status = _text_status(entry, typed)
    return status, typed if status == ENTERED else ""


def _text_status(entry: Input, typed: Any) -> str:
    if typed == ERROR_TYPED:
        return NOT_IN_LIST
    if isinstance(typed, str) and typed.strip(" ") == "":
        return DEFAULT if entry.blank == OPTIONAL else MISSING
    return ENTERED


def _echo(entry: Input, status: str, used: Any) -> str:
    words = ECHOES[status]
    if status not in (ENTERED, DEFAULT):
        return words
    shown = NOTHING if used == "" or used != used else number_text(used)  # noqa: PLR0124 - NaN is "nothing"
    unit = entry.unit if isinstance(used, float) and shown != NOTHING else ""
    return " ".join(part for part in (words, shown, unit) if part)
