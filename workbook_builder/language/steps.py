"""One declared calculation, and one place where it is carried out.

A :class:`Step` is a reference function beside a spreadsheet formula; its parameters are open names. A
:class:`Calculation` binds these names to values of the model, to figures that are given, or to ranges, and has a key:
every formula cell of the workbook is one calculation, and the reference works the same calculations.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import FunctionType
from typing import Any, Literal

from workbook_builder.language import xl

Function = Callable[..., Any]
Kind = Literal["number", "text", "flag", "any"]


@dataclass(frozen=True, kw_only=True)
class Step:
    """What is calculated: the formula, the reference function that says the same, and how a person reads it.

    ``optional`` are parameters that may be missing: the function gets NaN or an empty text for them; ``waits`` are names
    that the formula does not use, but without which the cell stays empty. Where ``guarded`` is
    false nothing is waited for: the formula itself deals with what is missing. ``single`` is for the eye of one design:
    arrays of designs do without. ``kind`` "any" may be a number or a text.
    """

    name: str
    symbol: str = ""
    unit: str = ""
    words: str = ""
    formula: str
    function: Function
    kind: Kind = "number"
    optional: frozenset[str] = frozenset()
    waits: tuple[str, ...] = ()
    guarded: bool = True
    single: bool = False

    @cached_property
    def parameters(self) -> list[str]:
        """The open names that the formula uses, in the order of the function."""
        return _parameters(self.function, inspect.Parameter.POSITIONAL_OR_KEYWORD)

    @cached_property
    def tables(self) -> list[str]:
        """The names of the tables that it looks things up in."""
        return _parameters(self.function, inspect.Parameter.KEYWORD_ONLY)

    @property
    def names(self) -> list[str]:
        """The open names: those that the formula uses, and those for which it only waits."""
        return [*self.parameters, *self.waits]

    def instead(self, formula: str, function: Function, waits: Sequence[str] = ()) -> Step:
        """Return a step of the same name and look that is calculated otherwise."""
        step = replace(self, formula=formula, function=function, optional=frozenset(), waits=tuple(waits))
        return replace(step, optional=self.optional & set(step.parameters))

    def faults(self) -> list[str]:
        """Return everything that the project does not allow: in the formula, and between it and the function."""
        found = xl.faults(self.formula)
        used = set(xl.names_in(self.formula))
        tables = tuple(f"{table}_" for table in self.tables)
        columns = {name for name in used - set(self.parameters) if tables and name.startswith(tables)}
        stray, unused = used - columns - set(self.parameters), set(self.parameters) - used
        found += [f"formula uses {', '.join(sorted(stray))}, not parameters of the function"] if stray else []
        found += [f"function needs {', '.join(sorted(unused))}, not in the formula"] if unused else []
        both = set(self.waits) & set(self.parameters)
        found += [f"waits for {', '.join(sorted(both))}, which the formula uses"] if both else []
        unknown = self.optional - set(self.parameters)
        return found + ([f"optional {', '.join(sorted(unknown))} are not parameters"] if unknown else [])


def _parameters(function: Function, kind: Any) -> list[str]:
    if isinstance(function, FunctionType) and not function.__dict__:  # as inspect would say, and ten times as fast
        code = function.__code__
        named = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        return list(named[: code.co_argcount] if kind is inspect.Parameter.POSITIONAL_OR_KEYWORD else named[code.co_argcount :])
    return [name for name, parameter in inspect.signature(function).parameters.items() if parameter.kind is kind]


def taking(names: Sequence[str], function: Function, name: str = "") -> Function:
    """Return a function whose parameters are the given names; it hands them over by name. It is called by ``name``, if any."""

    def called(*values: Any) -> Any:
        return function(**dict(zip(names, values, strict=True)))

    parameters = [inspect.Parameter(name, inspect.Parameter.POSITIONAL_OR_KEYWORD) for name in names]
    called.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    called.__name__ = name or called.__name__
    return called


@dataclass(frozen=True, slots=True)
class Given:
    """A figure or text that an instance brings with it.

    It stands in a cell of its own where the sheet places its ``key``; otherwise the formula says it.
    """

    value: float | str
    key: str = ""


@dataclass(frozen=True, slots=True)
class Range:
    """Several cells that one defined name stands for: values by their keys, or the texts and figures of a list."""

    name: str
    keys: tuple[str, ...] = ()
    values: tuple[float | str, ...] = ()


Argument = str | Given | Range
"""What an open name stands for: the key of a value, a figure that is given, or a range."""


@dataclass(frozen=True)
class Calculation:
    """One value to compute, of which the formula and the reference are known.

    ``nothing`` is the answer while something that it needs is missing; ``label`` is read by a person. Calculations of one
    ``family`` stand together, as those of an instance or of a grid: their formulas call each other by address; where it is empty, by name.
    """

    key: str
    step: Step
    bound: Mapping[str, Argument]
    nothing: Any = None
    label: str = ""
    family: str = ""

    @cached_property
    def needs(self) -> list[str]:
        """The keys of all values on which it rests directly."""
        found: list[str] = []
        for argument in self.bound.values():
            if isinstance(argument, str):
                found.append(argument)
            elif isinstance(argument, Range):
                found += argument.keys
        return found

    def renamed(self, names: Mapping[str, str]) -> Calculation:
        """Return the same calculation at other values: keys that have a new name are replaced, its own as well."""
        bound = {parameter: names.get(one, one) if isinstance(one, str) else one for parameter, one in self.bound.items()}
        return replace(self, key=names[self.key], bound=bound, family="")


def nothing_of(kind: Kind) -> Any:
    """Return what stands for "no answer" among values of a kind."""
    return float("nan") if kind in ("number", "flag") else ""


class Kinds:
    """What a formula must know of the values that it uses: which are checks, texts, constants, and which have a status."""

    def __init__(self, kinds: Mapping[str, str], statuses: Mapping[str, str]) -> None:
        """Take the kind of each value by its key, and the key of the status of each entry that has one."""
        self._kinds, self._statuses = kinds, statuses

    def of(self, key: str) -> str:
        """Return "constant", "number", "text", "flag", "any" or "check"."""
        return self._kinds[key]

    def statuses(self, calculation: Calculation) -> list[str]:
        """Return the status cells of entries that may be left blank, but not be refused."""
        if not calculation.step.guarded:
            return []
        optional = (calculation.bound[one] for one in calculation.step.parameters if one in calculation.step.optional)
        return [self._statuses[one] for one in optional if isinstance(one, str) and one in self._statuses]

    def needed(self, calculation: Calculation) -> dict[str, list[str]]:
        """Return the keys that must be there before anything is calculated, by kind."""
        found: dict[str, list[str]] = {"number": [], "text": [], "flag": [], "check": [], "any": [], "constant": []}
        if calculation.step.guarded:
            for parameter in calculation.step.names:
                argument = calculation.bound[parameter]
                if parameter not in calculation.step.optional and isinstance(argument, str):
                    found[self.of(argument)].append(argument)
        return found


def cell_formula(calculation: Calculation, kinds: Kinds, refer: Callable[[Argument], str]) -> str:
    """Return the formula of a cell: its open names replaced by what they stand for, with the guard around it.

    ``refer`` says how a formula on that sheet names a value, a figure that is given, or a range.
    """
    needed = kinds.needed(calculation)
    text = xl.substitute(calculation.step.formula, {name: refer(one) for name, one in calculation.bound.items()})
    nothing = calculation.nothing
    otherwise = '""' if nothing == "" or nothing != nothing else f'"{nothing}"' if isinstance(nothing, str) else f"{nothing:g}"  # noqa: PLR0124
    return xl.guarded(
        text,
        [refer(one) for one in needed["number"]],
        [refer(one) for one in (*needed["text"], *needed["flag"])],
        [refer(one) for one in kinds.statuses(calculation)],
        [refer(one) for one in needed["check"]],
        otherwise,
    )
