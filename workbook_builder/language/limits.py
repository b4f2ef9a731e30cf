"""A value against its limits: one declaration from which a check's formula, function and margin are made.

Formula and function are written apart, each from the declaration, neither from the other; the tests hold them together.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import reduce
from itertools import groupby
from operator import attrgetter
from typing import Any, NamedTuple

import numpy as np

from workbook_builder.language.tables import round_half_away
from workbook_builder.language.verdicts import NOT_APPLICABLE, NOT_JUDGED, PASS, where_pass

DIGITS = 6  # to which both sides are rounded, so that all engines agree at a tie
BLANK = ""


class Unless(NamedTuple):
    """A condition that decides before the limits do: where a text is the given word, or a compared number is blank.

    What is left blank is not judged, unless another ``verdict`` is given; where a word says so, it does not apply.
    """

    name: str
    word: str
    verdict: str

    @classmethod
    def of(cls, name: str, word: str, verdict: str = "") -> Unless:
        """Return a condition with the verdict that is meant where none is given."""
        return cls(name, word, verdict or (NOT_JUDGED if word == BLANK else NOT_APPLICABLE))


@dataclass(frozen=True)
class Limit:
    """A value, the lowest and highest that it may have, by their names, and what is said where it lies outside.

    All are numbers in the same unit; a side without a name is open. The value may equal a limit unless it must lie
    ``strictly_above`` the lowest or ``strictly_below`` the highest: at a tie, to six digits, the verdict is then
    ``outside``. The first condition of ``unless`` that holds comes before the comparison.
    """

    value: str
    at_least: str = ""
    at_most: str = ""
    strictly_above: bool = False
    strictly_below: bool = False
    outside: str = "NOTE"
    unless: tuple[Unless, ...] = ()

    @property
    def compared(self) -> list[str]:
        """The names of the numbers compared."""
        return [name for name in (self.value, self.at_least, self.at_most) if name]

    @property
    def optional(self) -> frozenset[str]:
        """The names of the numbers that may be blank."""
        return frozenset(one.name for one in self.unless if one.word == BLANK)

    @property
    def formula(self) -> str:
        """The judgement as it stands in a cell."""
        sides = []
        if self.at_least:
            sides.append(f"ROUND({self.value},{DIGITS}){'>' if self.strictly_above else '>='}ROUND({self.at_least},{DIGITS})")
        if self.at_most:
            sides.append(f"ROUND({self.value},{DIGITS}){'<' if self.strictly_below else '<='}ROUND({self.at_most},{DIGITS})")
        formula = f'IF({_any_or_all("AND", sides)},"{PASS}","{self.outside}")'
        groups = [(verdict, list(group)) for verdict, group in groupby(self.unless, attrgetter("verdict"))]
        for verdict, group in reversed(groups):
            conditions = [f'{one.name}="{one.word}"' for one in group]
            formula = f'IF({_any_or_all("OR", conditions)},"{verdict}",{formula})'
        return formula

    @property
    def function(self) -> Callable[..., Any]:
        """The judgement in Python; its parameters carry the names that the formula uses."""
        names = list(dict.fromkeys([*(one.name for one in self.unless), *self.compared]))

        def judge(*values: Any) -> Any:
            return self.judged(dict(zip(names, values, strict=True)))

        kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
        judge.__signature__ = inspect.Signature([inspect.Parameter(name, kind) for name in names])  # type: ignore[attr-defined]
        return judge

    def judged(self, values: Mapping[str, Any]) -> Any:
        """Return the verdict by values of the names: numbers, arrays or pint quantities alike. NaN lies outside."""
        value = round_half_away(values[self.value], DIGITS)
        inside: Any = True
        if self.at_least:
            lowest = round_half_away(values[self.at_least], DIGITS)
            inside = inside & (np.greater if self.strictly_above else np.greater_equal)(value, lowest)
        if self.at_most:
            highest = round_half_away(values[self.at_most], DIGITS)
            inside = inside & (np.less if self.strictly_below else np.less_equal)(value, highest)
        verdict = where_pass(inside, self.outside)
        for name, word, said in reversed(self.unless):
            holds = np.isnan(values[name]) if word == BLANK else values[name] == word
            verdict = np.where(holds, said, verdict)
        return verdict

    def faults(self) -> list[str]:
        """Return what is wrong with the declaration."""
        found = [] if self.value else ["a limit needs a value"]
        found += [] if self.at_least or self.at_most else ["a limit needs at_least or at_most"]
        found += ["strictly above nothing: at_least is open"] if self.strictly_above and not self.at_least else []
        found += ["strictly below nothing: at_most is open"] if self.strictly_below and not self.at_most else []
        strange = sorted(self.optional - set(self.compared))
        return found + ([f"only what is compared may be blank, not {', '.join(strange)}"] if strange else [])


def _any_or_all(function: str, conditions: list[str]) -> str:
    return conditions[0] if len(conditions) == 1 else f"{function}({','.join(conditions)})"


def margin_formula(value: str, at_least: str, at_most: str) -> str:
    """Return the formula of the smaller distance to the limits, by their names; a side without a name is open."""
    distances = [f"{at_most}-{value}"] if at_most else []
    distances += [f"{value}-{at_least}"] if at_least else []
    return distances[0] if len(distances) == 1 else f"MIN({','.join(distances)})"


def margin(value: Any, at_least: Any = None, at_most: Any = None) -> Any:
    """Return the smaller distance to the limits that there are, in their unit, negative outside; NaN where one is missing."""
    distances = [] if at_most is None else [at_most - value]
    distances += [] if at_least is None else [value - at_least]
    smallest = reduce(np.minimum, distances) if distances else np.nan
    return smallest if np.ndim(smallest) else float(smallest)
