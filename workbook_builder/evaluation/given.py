"""What somebody gives from Python, made plain: numbers and texts as a cell can hold them, or a refusal in words."""

from __future__ import annotations

import datetime
import decimal
import fractions
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from workbook_builder.evaluation.model import Model
from workbook_builder.language.errors import DesignError, Problem
from workbook_builder.language.inputs import Input
from workbook_builder.language.texts import LONGEST, writable
from workbook_builder.language.units import UNITS

LARGEST = 9.99999999999999e307  # number of a spreadsheet; it is out of every range
ACCEPTED = "a number, a text, a truth value, None, an array of these, or a pint quantity"


def plain_inputs(model: Model, inputs: Mapping[str, Any], place: str, *, single: bool = False) -> dict[str, Any]:
    """Return inputs as numbers, texts and arrays of the kinds that a cell can hold.

    Numbers of whatever library become Python's own, so that all of them give the same workbook. A pint quantity is
    converted into the unit of its input.

    Parameters
    ----------
    model
        which inputs there are, and their units.
    inputs
        by the names of inputs of the model; others are passed over.
    place
        what a problem names as its place.
    single
        whether arrays are refused.

    Raises
    ------
    DesignError
        with every value that is of another kind, whose unit is another, or that has no plain value in some place (a masked array).

    """
    entries = {entry.name: entry for entry in model.inputs}
    plain: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, value in inputs.items():
        if name in entries:
            try:
                plain[name] = _plain(entries[name], value)
            except _RefusedError as error:
                problems.append(Problem(f"{place}, {name}", str(error), type(value).__name__, ACCEPTED))
                continue
            if single and np.ndim(plain[name]):
                problems.append(Problem(f"{place}, {name}", "is not a single value", type(value).__name__, "one number or text"))
    if problems:
        raise DesignError(problems)
    return plain


class _RefusedError(Exception):
    """Why a value is not taken."""


def _plain(entry: Input, value: Any) -> Any:
    if isinstance(value, np.ma.MaskedArray):
        raise _RefusedError("is a masked array: what is masked would be taken for a number; fill it, with NaN for nothing")
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        value = _in_unit(entry, value)
    if isinstance(value, np.ndarray) and value.ndim:
        return _array(entry, value)
    if isinstance(value, np.ndarray | np.generic):
        if value.dtype.kind not in "biufUO":
            raise _RefusedError("is of a kind that no cell holds")
        value = float(value) if value.dtype.kind == "f" else value.item()
    if isinstance(value, float):
        return _number(value)
    if value is None or isinstance(value, bool | datetime.date | datetime.time):
        return value
    if isinstance(value, str):
        if len(value) > LONGEST:
            raise _RefusedError(f"is a text of {len(value)} signs, where a cell holds {LONGEST}")
        return writable(str(value))
    if isinstance(value, int | decimal.Decimal | fractions.Fraction):
        return _number(value)
    if isinstance(value, list | tuple) or hasattr(value, "__array__"):
        return _array(entry, np.asarray(value))
    raise _RefusedError("is of a kind that no cell holds")


def _array(entry: Input, array: np.ndarray) -> Any:
    if array.dtype.kind in "biufU":
        return array
    if array.dtype.kind != "O":
        raise _RefusedError("is an array of a kind that no cell holds")
    plain = np.empty(array.shape, dtype=object)
    for place, one in np.ndenumerate(array):
        if np.ndim(one):
            raise _RefusedError("is an array of arrays")
        plain[place] = _plain(entry, one)
    return plain


def _number(value: Any) -> float | int:
    """Return a number as a double, or as the integer that it is exactly; one beyond those of a spreadsheet as the largest of them."""
    try:
        double = float(value)
    except OverflowError:
        double = math.inf if value > 0 else -math.inf
    if abs(double) > LARGEST:
        return math.copysign(LARGEST, double)
    return value if isinstance(value, int) and double == value else double


def _in_unit(entry: Input, quantity: Any) -> Any:
    if entry.kind == "text":
        raise _RefusedError("is a quantity, where a text is entered")
    if entry.unit not in UNITS:
        raise _RefusedError(f"is a quantity, where a number of {entry.unit} is entered, which no other unit can be converted into")
    try:
        return quantity.to(UNITS[entry.unit]).magnitude
    except Exception as error:
        raise _RefusedError(f"is in {quantity.units}, which is no unit of {entry.unit or 'a plain number'}") from error
