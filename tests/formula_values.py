"""What parts of formulas are in many designs at once, worked by numpy from the reference's values of the names in them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from typing import Any

import numpy as np

from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.xl import Token

WRITTEN = {"^": "**", "=": "==", "<>": "!="}


class Nothing:
    """The empty text of a formula: equal to what stands for nothing, in texts and numbers."""

    __array_ufunc__ = None
    __hash__ = object.__hash__

    def __eq__(self, other: object) -> Any:
        return is_missing(other)

    def __ne__(self, other: object) -> Any:
        return np.logical_not(is_missing(other))


def _over(function: Callable[[Any, Any], Any], of_column: Callable[[Any], Any]) -> Callable[..., Any]:
    """A function of several values, or of one column; it passes over nothing."""
    return lambda *values: of_column(values[0]) if isinstance(values[0], tuple) else reduce(function, values)


def _count(*values: Any) -> Any:
    return len(values[0]) if isinstance(values[0], tuple) else sum(np.logical_not(is_missing(value)) * 1 for value in values)


def _index(column: tuple[Any, ...], rows: Any) -> Any:
    """The entry of a row; nothing for a row that is none."""
    known = np.array((np.nan, *column), dtype=object if isinstance(column[0], str) else float)
    return known[np.nan_to_num(np.asarray(rows, dtype=float)).astype(int)]


def _match(keys: Any, column: tuple[Any, ...], how: int) -> Any:
    """The row of a key, 0 for want of it."""
    if how != 0:
        raise ValueError(f"MATCH: worked out here are exact searches, got {how}")
    rows = {_folded(key): row for row, key in reversed(list(enumerate(column, 1)))}
    return np.vectorize(lambda key: rows.get(_folded(key), 0), otypes=[int])(keys)


def _folded(key: Any) -> Any:
    return key.casefold() if isinstance(key, str) else key


def _true(value: Any) -> Any:
    return np.asarray(value) == 1


CALLED: dict[str, Any] = {
    "TRUE": True,
    "FALSE": False,
    "MAX": _over(np.fmax, max),
    "MIN": _over(np.fmin, min),
    "ABS": np.abs,
    "EXP": np.exp,
    "LN": np.log,
    "SIN": np.sin,
    "COS": np.cos,
    "ACOS": np.arccos,
    "COUNT": _count,
    "ROUND": round_half_away,
    "INDEX": _index,
    "MATCH": _match,
    "IF": lambda condition, one, other: np.where(_true(condition), one, other),
    "AND": lambda *values: reduce(np.logical_and, map(_true, values)),
    "OR": lambda *values: reduce(np.logical_or, map(_true, values)),
}


def written(pieces: Sequence[Token]) -> str:
    """A part of a formula as Python reads it."""
    text = "".join("NOTHING" if one.text == '""' else WRITTEN.get(one.text, one.text) for one in pieces)
    return text.replace("$", "")


def value_of(pieces: Sequence[Token], find: Callable[[str], Any]) -> Any:
    """The value of a part of a formula; None where it holds what is not known here.

    ``find`` gives the value of a name or an address: an array for many designs, a tuple for a column.
    """
    if any(one.text in ("&", ":") or (one.kind == "function" and one.text not in CALLED) for one in pieces):
        return None
    used = {one.text.replace("$", ""): find(one.text.replace("$", "")) for one in pieces if one.kind in ("name", "address")}
    if any(value is None for value in used.values()):
        return None
    try:
        return evaluated(written(pieces), used)
    except (TypeError, ValueError, IndexError):  # a text where a number is asked for, a row that is none
        return None


def evaluated(expression: str, used: Mapping[str, Any], *, rounded: bool = True) -> Any:
    """The value of an expression as Python reads it, with or without its rounding."""
    called = CALLED | {"NOTHING": Nothing()} | ({} if rounded else {"ROUND": lambda value, _: value})
    with np.errstate(all="ignore"):
        return eval(expression, {"__builtins__": {}, **called}, dict(used))
