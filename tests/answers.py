"""The reference's values, worked out no further than a test asks: a design has ten thousand, and most tests look at a few."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import copy
from functools import cache
from pathlib import Path
from typing import Any, Self

import numpy as np

from workbook_builder.evaluation.evaluation import Evaluation, evaluation_for, public_names, unknown_inputs
from workbook_builder.evaluation.tasks import public
from workbook_builder.language.errors import DesignError
from workbook_builder.language.profiles import DEFAULT, load_profile


class Answers(Mapping[str, Any]):
    """Every value of a design, or of many as arrays; each is worked out, with what it rests on, when it is asked for."""

    def __init__(self, chosen: Evaluation, inputs: Mapping[str, Any]) -> None:
        self._evaluation, self._values = chosen, chosen.start(inputs)
        self._many = any(map(np.ndim, inputs.values()))

    def with_other(self, entries: Mapping[str, Any]) -> Answers:
        """The answers if some entries were others; what does not rest on those is not worked out again."""
        other = copy(self)
        changed = set().union(*(resting_on(self._evaluation, f"entry_{name}") for name in entries))
        other._values = {key: value for key, value in self._values.items() if key not in changed}
        other._values |= {f"entry_{name}": value for name, value in entries.items()}
        other._many = self._many or any(map(np.ndim, entries.values()))
        return other

    def __getitem__(self, key: str) -> Any:
        if key not in self._values:
            missing = [one for one in behind(self._evaluation, key) if one not in self._values]
            self._evaluation.carry_out(missing, self._values, many=self._many)
        return self._values[key]

    def worked_out(self) -> Self:
        """The same with every calculation done, each after those on which it rests."""
        missing = [one for one in self._evaluation.calculations if one not in self._values]
        self._evaluation.carry_out(missing, self._values, many=self._many)
        return self

    def __iter__(self) -> Iterator[str]:
        return iter(self._evaluation.calculations)

    def __len__(self) -> int:
        return len(self._evaluation.calculations)


@cache
def behind(chosen: Evaluation, key: str) -> tuple[str, ...]:
    """A calculation and all on which it rests, each after those on which it rests itself."""
    return tuple(chosen.behind([key]))


@cache
def resting_on(chosen: Evaluation, entry: str) -> frozenset[str]:
    """All calculations that rest on an entry."""
    return frozenset(chosen.resting_on([entry]))


class Results(Mapping[str, Any]):
    """What the public ``evaluate`` gives."""

    def __init__(self, answers: Answers, names: tuple[str, ...]) -> None:
        self._answers, self._names = answers, dict.fromkeys(names)

    def __getitem__(self, name: str) -> Any:
        if name not in self._names:
            raise KeyError(name)
        return public(self._answers[name])

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


@cache
def names_of(chosen: Evaluation) -> tuple[str, ...]:
    return tuple(public_names(chosen.model))


def evaluate(inputs: Mapping[str, Any], profile: str | Path = DEFAULT) -> Results:
    """The public ``evaluate``, but for when the work is done; the tests of this module hold that it gives the same."""
    chosen = evaluation_for(load_profile(profile))
    problems = unknown_inputs(chosen.model, inputs, "evaluate")
    if problems:
        raise DesignError(problems)
    return Results(Answers(chosen, inputs), names_of(chosen))
