"""Repeats: quantities and checks that are declared once, once more for another thing of the same kind.

A second battery, another cable: its inputs are bound to the names that the declarations use, and everything between these
and the targets is declared again under names of its own, with the same formulas and functions at other values.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from workbook_builder.language import xl
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.steps import Function

if TYPE_CHECKING:
    from workbook_builder.language.declare import Check, Quantity

CHECK = "check_"


@dataclass(frozen=True)
class Repeat:
    """The targets once more: ``key`` begins the names of what is repeated, ``label`` their labels.

    ``bound`` says which value stands for which of the design's. ``names`` and ``labels`` are for single values that are
    called otherwise than ``<key>_<name>``, or ``check_<key>_<name>`` for a check, and ``<label>: …``.
    """

    key: str
    label: str
    targets: tuple[str, ...]
    bound: Mapping[str, str]
    names: Mapping[str, str] = field(default_factory=dict)
    labels: Mapping[str, str] = field(default_factory=dict)

    def name(self, of: str) -> str:
        """Return the name of what is repeated of a value."""
        if of in self.names:
            return self.names[of]
        return f"{CHECK}{self.key}_{of.removeprefix(CHECK)}" if of.startswith(CHECK) else f"{self.key}_{of}"

    def declarations(self, declared: Sequence[Quantity]) -> Iterator[Quantity | Check]:
        """Yield what is repeated, in the order in which it was declared.

        Raises
        ------
        DeclarationError
            if a target is no quantity or check, or rests on nothing that is bound, or a bound name is used by none.

        """
        known = {one.name: one for one in declared}
        rests: dict[str, set[str]] = {}

        def visit(name: str) -> set[str]:
            if name in self.bound:
                return {name}
            if name not in rests:
                rests[name] = set()  # also where declarations need each other in a circle, which the model refuses
                parameters = known[name].names if name in known else []
                rests[name] = set().union(*map(visit, parameters))
            return rests[name]

        used = set().union(*map(visit, self.targets))
        problems = [Problem(f"repeat {self.key}", "is no quantity or check", name) for name in self.targets if name not in known]
        problems += [
            Problem(f"repeat {self.key}", "rests on nothing that is bound", name)
            for name in self.targets
            if name in known and not rests[name]
        ]
        problems += [Problem(f"repeat {self.key}", "is bound, but no target rests on it", name) for name in sorted(set(self.bound) - used)]
        if problems:
            raise DeclarationError(problems)
        names = dict(self.bound) | {name: self.name(name) for name, found in rests.items() if found and name in known}
        for one in declared:
            if one.name in names and one.name not in self.bound:
                yield self._again(one, names)

    def _again(self, one: Quantity, names: Mapping[str, str]) -> Quantity:
        changed: dict[str, Any] = {
            "name": names[one.name],
            "label": self.labels.get(one.name, f"{self.label}: {one.label}"),
            "formula": xl.substitute(one.formula, dict(names)),
            "function": _with_names(one.function, names),
            "optional": frozenset(names.get(name, name) for name in one.optional),
            "waits": tuple(names.get(name, name) for name in one.waits),
        }
        sides = {side: getattr(one, side, "") for side in ("value", "at_least", "at_most")}
        compared: dict[str, Any] = {side: names.get(name, name) for side, name in sides.items() if name}
        advice = getattr(one, "advice", None)
        if advice:
            changed["advice"] = (advice[0], names.get(advice[1], advice[1]), *advice[2:])
        if hasattr(one, "limit"):
            changed["limit"] = None
        if hasattr(one, "asks"):
            changed["asks"] = tuple(names.get(name, name) for name in one.asks)
        return replace(one, **changed, **compared)


def _with_names(function: Function, names: Mapping[str, str]) -> Function:
    """Return the same function with other names of its parameters; tables keep theirs."""

    def again(*values: Any, **tables: Any) -> Any:
        return function(*values, **tables)

    signature = inspect.signature(function)
    parameters = [one.replace(name=names.get(one.name, one.name)) for one in signature.parameters.values()]
    again.__signature__ = signature.replace(parameters=parameters)  # type: ignore[attr-defined]
    return again
