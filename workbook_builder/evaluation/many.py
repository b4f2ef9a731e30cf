"""Many designs at once: in parts that fit into little memory, and no more than what is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from math import prod
from typing import Any, Protocol

import numpy as np

from workbook_builder.evaluation.tasks import Task, public
from workbook_builder.language.errors import DesignError, Problem
from workbook_builder.language.steps import Range
from workbook_builder.language.values import Value, Values

AT_ONCE = 8_000  # designs: fewer cost more calls, more cost memory


class Evaluation(Protocol):
    """What is needed here of the evaluation of a model."""

    @property
    def tasks(self) -> Mapping[str, Task]:
        """Every calculation made ready."""

    @property
    def worked_as_arrays(self) -> Set[str]:
        """What is worked by functions that take arrays."""

    def behind(self, names: Iterable[str]) -> list[str]:
        """Return the keys of calculations and of all on which they rest, in order."""

    def start(self, inputs: Mapping[str, Value]) -> Values:
        """Return what is known before anything is calculated."""


class ManyValues(dict[str, Any]):
    """Values of many designs by their names; those that were left out at first are worked when they are asked for."""

    def __init__(self, evaluation: Evaluation, inputs: Mapping[str, Value], known: set[str], names: Iterable[str]) -> None:
        self._evaluation, self._inputs, self._known = evaluation, inputs, known
        super().__init__(values_of_many(evaluation, inputs, names))

    def __missing__(self, name: str) -> Any:
        if name not in self._known:
            raise KeyError(name)
        self[name] = values_of_many(self._evaluation, self._inputs, [name])[name]
        return self[name]


def values_of_many(evaluation: Evaluation, inputs: Mapping[str, Value], names: Iterable[str]) -> Values:
    """Evaluate some values of many designs, each input a single value or an array that broadcasts against the others.

    Returns
    -------
    each value as an array of the common shape, or as a single value where it rests on no array.

    """
    wanted = list(dict.fromkeys(names))
    try:
        shape = np.broadcast_shapes(*(np.shape(value) for value in inputs.values()))
    except ValueError as error:
        shapes = ", ".join(f"{name} {np.shape(value)}" for name, value in inputs.items() if np.ndim(value))
        raise DesignError([Problem("evaluate", "the arrays do not go together", shapes, "arrays that broadcast")]) from error
    flat = {name: np.broadcast_to(value, shape).ravel() if np.ndim(value) else value for name, value in inputs.items()}
    plan = _Plan(evaluation, wanted)
    parts = []
    for first in range(0, prod(shape), AT_ONCE):
        part = {name: value[first : first + AT_ONCE] if np.ndim(value) else value for name, value in flat.items()}
        parts.append(plan.values(part, min(AT_ONCE, prod(shape) - first)))
    return (
        {name: public(_joined([part[name] for part in parts], shape)) for name in wanted}
        if parts
        else dict.fromkeys(wanted, np.empty(shape))
    )


def _joined(parts: list[Any], shape: tuple[int, ...]) -> Any:
    if not any(map(np.ndim, parts)):
        return parts[0]
    return np.concatenate([np.broadcast_to(part, np.shape(part) or AT_ONCE) for part in parts])[: prod(shape)].reshape(shape)


class _Plan:
    """What to work out, in which order, and after which step a value is needed no more."""

    def __init__(self, evaluation: Evaluation, wanted: list[str]) -> None:
        self._evaluation = evaluation
        self._wanted = wanted
        self._order = evaluation.behind(wanted)
        kept = set(wanted)
        last: dict[str, str] = {need: key for key in self._order for need in _read(evaluation.tasks[key])}
        self._done: dict[str, list[str]] = {}
        for need, key in last.items():
            if need not in kept:
                self._done.setdefault(key, []).append(need)

    def values(self, inputs: Mapping[str, Value], count: int) -> Values:
        values = self._evaluation.start(inputs)
        with np.errstate(all="ignore"):
            for key in self._order:
                task = self._evaluation.tasks[key]
                together = key in self._evaluation.worked_as_arrays
                values[key] = task.run(values, single_too=True) if together else _each(task, values, count)
                for need in self._done.get(key, ()):
                    del values[need]
        return {name: values[name] for name in self._wanted}


def _read(task: Task) -> set[str]:
    """Return the keys of all values that a task looks at."""
    arguments = {one for one in task.arguments if isinstance(one, str)}
    ranges = {key for one in task.arguments if isinstance(one, Range) for key in one.keys}
    return arguments | ranges | {*task.needed, *task.judged, *task.statuses}


def _each(task: Task, values: Values, count: int) -> Any:
    """Return what a task gives for each design by itself: what is said to a person is put together for one at a time."""
    read = {key: values[key] for key in _read(task)}
    many = {key: np.broadcast_to(np.asarray(value, dtype=object), count).tolist() for key, value in read.items() if np.ndim(value)}
    if not many:
        return task.run_single(values)
    found = [task.run_single(read | dict(zip(many, row, strict=True))) for row in zip(*many.values(), strict=True)]
    return np.array(found, dtype=float if task.kind == "number" else object)
