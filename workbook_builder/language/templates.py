"""Templates and instances: what occurs more than once is declared once.

A template is a small graph of declared steps with open names. An instance binds the open names to values of the model, or
to figures of its own, has a key, and yields calculations that are called ``<key>_<step>``. Within a template the name of a
step means the step of the same instance; with ``previous_`` or ``earlier_`` before it, that of the instance one or two
before in a chain.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.steps import Argument, Calculation, Function, Given, Kind, Step, nothing_of

BEFORE = {"previous_": 1, "earlier_": 2}


@dataclass
class Template:
    """Steps with open names, in the order in which they are declared.

    ``starts`` are steps that replace those of the same name in an instance that starts a chain. Once something was
    calculated by it, a template is closed: a step that came later would be missing from some instances. The steps wait for
    nothing unless they are ``guarded``, and are for the eye of one design if they are ``single``.
    """

    name: str
    steps: list[Step] = field(default_factory=list)
    starts: dict[str, Step] = field(default_factory=dict)
    guarded: bool = True
    single: bool = False
    closed: bool = False

    def step(
        self,
        *,
        formula: str,
        words: str,
        name: str = "",
        symbol: str = "",
        unit: str = "",
        kind: Kind = "number",
        optional: Sequence[str] = (),
        guarded: bool | None = None,
        single: bool | None = None,
    ) -> Callable[[Function], Function]:
        """Declare the decorated function, returned untouched, as a step; it is called as the function, or ``name``.

        ``guarded`` and ``single`` are the template's unless they are given.
        """

        def declare(function: Function) -> Function:
            self.add(
                Step(
                    name=name or function.__name__,
                    symbol=symbol,
                    unit=unit,
                    words=words,
                    formula=formula,
                    function=function,
                    kind=kind,
                    optional=frozenset(optional),
                    guarded=self.guarded if guarded is None else guarded,
                    single=self.single if single is None else single,
                )
            )
            return function

        return declare

    def add(self, step: Step) -> None:
        """Add a step, or refuse it with every reason."""
        faults = step.faults() + ([f"needs itself: {step.name}"] if step.name in step.parameters else [])
        faults += ["is declared twice"] if any(one.name == step.name for one in self.steps) else []
        self._refuse(step.name, faults)
        self.steps.append(step)

    def start(self, step: Step) -> None:
        """Add what replaces the step of the same name in an instance that starts a chain, or refuse it with every reason."""
        faults = step.faults() + ([f"needs itself: {step.name}"] if step.name in step.parameters else [])
        faults += [] if self.step_of(step.name) else ["replaces no step"]
        self._refuse(step.name, faults)
        self.starts[step.name] = step

    def _refuse(self, name: str, faults: list[str]) -> None:
        faults += ["comes after the template was used"] if self.closed else []
        if faults:
            raise DeclarationError(Problem(f"template {self.name}, step {name}", fault) for fault in faults)

    def step_of(self, name: str, *, starts: bool = False) -> Step | None:
        """Return a step by its name, or None."""
        return (self.starts.get(name) if starts else None) or next((one for one in self.steps if one.name == name), None)


@dataclass(frozen=True)
class Instance:
    """A template at one place: what its open names stand for.

    ``names`` says how a step is called where that is not ``<key>_<step>``; ``before`` is the instance before in a chain, of
    which one that ``starts`` is the first. ``nothing`` is the answer of every step while something is missing, if it is not
    that of its kind. Formulas of one ``family`` (the instance alone, if it is not given) call each other by address, those
    of an empty one by name. ``steps`` are those that the instance has, if not all.
    """

    key: str
    template: Template
    bound: Mapping[str, Argument] = field(default_factory=dict)
    label: str = ""
    starts: bool = False
    before: Instance | None = None
    nothing: Any = None
    names: Mapping[str, str] = field(default_factory=dict)
    family: str | None = None
    steps: frozenset[str] | None = None

    def name(self, step: str) -> str:
        """Return the key of the value of one step."""
        return self.names.get(step, f"{self.key}_{step}")

    def calculations(self) -> Iterator[Calculation]:
        """Yield the calculations of all steps that the instance has."""
        self.template.closed = True
        for step in self.template.steps:
            if self.steps is None or step.name in self.steps:
                yield self.calculation(step.name)

    def calculation(self, name: str) -> Calculation:
        """Return the calculation of one step."""
        step = self.template.step_of(name, starts=self.starts)
        if step is None:
            raise DeclarationError([Problem(f"template {self.template.name}", "has no such step", name)])
        bound = {parameter: self._argument(parameter) for parameter in step.names}
        nothing = nothing_of(step.kind) if self.nothing is None else self.nothing
        return Calculation(self.name(name), step, bound, nothing, self.label, self.key if self.family is None else self.family)

    def _argument(self, parameter: str) -> Argument:
        if parameter in self.bound:
            bound = self.bound[parameter]
            return Given(bound.value, bound.key or f"{self.key}_{parameter}") if isinstance(bound, Given) else bound
        if self.template.step_of(parameter):
            return self.name(parameter)
        for prefix, distance in BEFORE.items():
            name = parameter.removeprefix(prefix)
            if parameter.startswith(prefix) and self.template.step_of(name):
                return self._earlier(distance, parameter).name(name)
        return parameter  # a value of the model

    def _earlier(self, distance: int, parameter: str) -> Instance:
        found: Instance | None = self
        for _ in range(distance):
            found = found.before if found else None
        if found is None:
            raise DeclarationError([Problem(f"instance {self.key}", "has no instance before it", parameter)])
        return found


def chained(instances: Sequence[Instance]) -> tuple[Instance, ...]:
    """Return the instances so that each knows the one before it."""
    found: list[Instance] = []
    for one in instances:
        found.append(replace(one, before=found[-1]) if found else one)
    return tuple(found)
