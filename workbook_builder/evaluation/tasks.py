"""Carrying out one calculation of the reference: what it needs, when it answers nothing, and its answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbook_builder.evaluation.entries import DEFAULT, ENTERED
from workbook_builder.language.declare import INCOMPLETE
from workbook_builder.language.tables import Table


@dataclass(frozen=True, slots=True)
class Task:
    """One value to compute: of a quantity, a check, or a cell of a grid.

    ``arguments`` are keys of values, or numbers that a row brings with it; ``needed`` must be there, ``judged`` are
    checks that must not be INCOMPLETE, ``statuses`` belong to entries that may be blank but not rejected.
    """

    key: str
    kind: str
    nothing: Any
    function: Callable[..., Any]
    arguments: tuple[str | float, ...]
    tables: Mapping[str, Table]
    needed: tuple[str, ...]
    judged: tuple[str, ...]
    statuses: tuple[str, ...]

    def run(self, values: Mapping[str, Any]) -> Any:
        """Return the value, or "nothing" where something that it needs is not there."""
        absent: Any = False
        for key in self.needed:
            missing = is_missing(values[key])
            if missing is not False:  # nearly always it is, and thousands of tasks make a design
                absent = absent | missing
        for key in self.judged:
            absent = absent | (values[key] == INCOMPLETE)
        for key in self.statuses:
            status = values[key]
            absent = absent | ((status != ENTERED) & (status != DEFAULT))
        single = absent is False or not isinstance(absent, np.ndarray) or absent.ndim == 0
        if single and absent:
            return self.nothing
        arguments = [values[one] if isinstance(one, str) else one for one in self.arguments]
        result = self.function(*arguments, **self.tables)
        if single and type(result) is float and self.kind == "number":
            return result
        if not single or (isinstance(result, np.ndarray) and result.ndim):
            return np.where(absent, self.nothing, result)
        if self.kind == "text":
            return str(result.item() if isinstance(result, np.ndarray) else result)
        # a truth value that is not known is "nothing", as a number is
        return bool(result) if self.kind == "flag" and result == result else float(result)  # noqa: PLR0124


def is_missing(value: Any) -> Any:
    """Return where a value is "nothing": NaN among numbers, empty text among texts."""
    if isinstance(value, float):
        return bool(value != value)  # noqa: PLR0124 - NaN, and faster than numpy for single values
    if isinstance(value, str):
        return value == ""
    array = np.asarray(value)
    return array == "" if array.dtype.kind in "OU" else np.isnan(array)
