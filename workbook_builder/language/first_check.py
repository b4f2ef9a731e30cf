"""The first of several checks that has a verdict, as a text: formula and function of such a chain, each made by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbook_builder.language.steps import Function, taking

NONE = "nothing"


@dataclass(frozen=True)
class FirstCheck:
    """What is said of the first of the ``checks``, in their order, whose verdict is the given one; "nothing" for none.

    ``checks`` holds what is said, by the name of the check. What the text ``before`` says, if it says anything, comes first;
    the text ``after`` stands where no check has the verdict.
    """

    verdict: str
    checks: Mapping[str, str]
    before: str = ""
    after: str = ""

    @property
    def names(self) -> list[str]:
        """Return the names that formula and function use."""
        return [name for name in (self.before, *self.checks, self.after) if name]

    @property
    def formula(self) -> str:
        """Return the formula."""
        formula = self.after or f'"{NONE}"'
        for check, said in reversed(list(self.checks.items())):
            formula = f'IF({check}="{self.verdict}","{said}",{formula})'
        return f'IF({self.before}<>"{NONE}",{self.before},{formula})' if self.before else formula

    def function(self, name: str) -> Function:
        """Return the reference function, under a name."""
        return taking(self.names, self._said, name)

    def _said(self, **values: Any) -> Any:
        verdicts = [np.asarray(values[check] == self.verdict) for check in self.checks]
        found = np.select(verdicts, list(self.checks.values()), values[self.after] if self.after else NONE)
        return np.where(values[self.before] != NONE, values[self.before], found) if self.before else found
