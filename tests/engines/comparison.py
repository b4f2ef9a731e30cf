"""Comparing a value read from a cell with the value a person or the Python reference expects."""

from __future__ import annotations

import math

from tests.engines.protocol import Cell, CellError


def plain(value: object) -> Cell:
    """A Python or numpy value as the cell that should show it: None and not-a-number become "" text."""
    item = getattr(value, "item", None)
    if callable(item):  # a numpy scalar or a one-element array
        value = item()
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, bool | str | CellError):
        return value
    if isinstance(value, int | float):
        return float(value)
    raise TypeError(f"expected value: got {value!r}; accepted are number, text, logical, CellError, None")


def same(
    actual: Cell,
    expected: object,
    rel: float = 1e-9,
    abs: float = 1e-9,
    *,
    booleans_are_numbers: bool = False,
) -> bool:
    """Whether a cell shows the expected value.

    Empty is empty: None, "" and not-a-number are one value. An error equals only the same error. Text is
    compared exactly. A logical is not a number, except with `booleans_are_numbers` (give the engine's
    attribute of that name): then an expected logical may be read as exactly 1 or 0; an expected number is
    never met by a logical.
    """
    if type(actual) is float and type(expected) is float and expected == expected:  # noqa: PLR0124 - nearly every cell
        return math.isclose(actual, expected, rel_tol=rel, abs_tol=abs)
    got, want = plain(actual), plain(expected)
    if booleans_are_numbers and isinstance(want, bool) and not isinstance(got, bool):
        return isinstance(got, float) and got == float(want)
    if type(got) is not type(want):
        return False
    if isinstance(got, float) and isinstance(want, float):
        return math.isclose(got, want, rel_tol=rel, abs_tol=abs)
    return got == want
