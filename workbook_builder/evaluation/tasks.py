"""Carrying out one calculation of the reference: what it needs, when it answers nothing, and its answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

import numpy as np

from workbook_builder.language.steps import Argument, Calculation, Given, Kinds, Range
from workbook_builder.language.tables import Table
from workbook_builder.language.verdicts import INCOMPLETE

ENTERED, DEFAULT = "entered", "default"


@dataclass(frozen=True, slots=True)
class Task:
    """A calculation made ready: ``arguments`` are keys of values, figures that are given, or ranges.

    ``needed`` must be there, ``judged`` are checks that must not be INCOMPLETE, ``statuses`` belong to entries that may be
    blank but not refused. What is ``single`` is not worked for arrays of designs.
    """

    key: str
    kind: str
    nothing: Any
    function: Callable[..., Any]
    arguments: tuple[Argument, ...]
    tables: Mapping[str, Table]
    needed: tuple[str, ...]
    judged: tuple[str, ...]
    statuses: tuple[str, ...]
    single: bool
    fetch: Callable[[Mapping[str, Any]], tuple[Any, ...]]

    @classmethod
    def of(cls, calculation: Calculation, kinds: Kinds, tables: Mapping[str, Table]) -> Task:
        """Return the task of a calculation."""
        needed, step = kinds.needed(calculation), calculation.step
        arguments = tuple(calculation.bound[parameter] for parameter in step.parameters)
        return cls(
            calculation.key,
            step.kind,
            calculation.nothing,
            step.function,
            arguments,
            {name: tables[name] for name in step.tables},
            tuple(one for kind, keys in needed.items() if kind not in ("check", "constant") for one in keys),
            tuple(needed["check"]),
            tuple(kinds.statuses(calculation)),
            step.single,
            _fetching(arguments),
        )

    def run_single(self, values: Mapping[str, Any]) -> Any:
        """Return the value of one design, as :meth:`run` does, which is for arrays too: thousands of tasks make a design."""
        for key in self.needed:
            value = values[key]
            if value != value or value == "":  # noqa: PLR0124 - NaN, or no text
                return self.nothing
        for key in self.judged:
            if values[key] == INCOMPLETE:
                return self.nothing
        for key in self.statuses:
            status = values[key]
            if status not in (ENTERED, DEFAULT):
                return self.nothing
        arguments = self.fetch(values)
        result = self.function(*arguments, **self.tables) if self.tables else self.function(*arguments)
        return result if type(result) is float and self.kind == "number" else self._plain(result)

    def run(self, values: Mapping[str, Any], *, single_too: bool = False) -> Any:
        """Return the value of each design of arrays, or "nothing" where something that it needs is not there.

        What is for the eye of one design is nothing, unless ``single_too`` says that its function takes arrays.
        """
        arguments = self.fetch(values)
        if self.single and not single_too and any(map(_is_array, arguments)):
            return self.nothing
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
        result = self.function(*arguments, **self.tables)
        if single and type(result) is float and self.kind == "number":
            return result
        if not single or (isinstance(result, np.ndarray) and result.ndim):
            return np.where(absent, self.nothing, result) if absent is not False else result
        return self._plain(result)

    def _plain(self, result: Any) -> Any:
        result = result.item() if isinstance(result, np.ndarray | np.generic) else result
        if self.kind == "text":
            return str(result)
        if self.kind == "any":
            return result
        # a truth value that is not known is "nothing", as a number is
        return bool(result) if self.kind == "flag" and result == result else float(result)  # noqa: PLR0124


def _fetching(arguments: tuple[Argument, ...]) -> Callable[[Mapping[str, Any]], tuple[Any, ...]]:
    """Return a function that takes the arguments out of the values of a design, fast where all are keys."""
    keys = [one for one in arguments if isinstance(one, str)]
    if len(keys) < len(arguments):
        return lambda values: tuple(values[one] if isinstance(one, str) else _given(one, values) for one in arguments)
    if len(keys) == 1:
        return lambda values: (values[keys[0]],)
    return itemgetter(*keys) if keys else lambda _: ()


def _given(argument: Given | Range, values: Mapping[str, Any]) -> Any:
    if isinstance(argument, Given):
        return argument.value
    return argument.values or tuple(values[key] for key in argument.keys)


def _is_array(argument: Any) -> bool:
    return any(map(np.ndim, argument)) if isinstance(argument, tuple) else bool(np.ndim(argument))


def is_missing(value: Any) -> Any:
    """Return where a value is "nothing": NaN among numbers, empty text among texts."""
    if isinstance(value, float):
        return bool(value != value)  # noqa: PLR0124 - NaN, and faster than numpy for single values
    if isinstance(value, str):
        return value == ""
    array = np.asarray(value)
    return array == "" if array.dtype.kind in "OU" else np.isnan(array)


def public(value: Any) -> Any:
    """Return a value as ``evaluate`` gives it: ``None`` where a single one is not there."""
    if np.ndim(value) or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return value or None
    return None if np.isnan(value) else float(value)
