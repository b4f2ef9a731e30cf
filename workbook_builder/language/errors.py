"""What can be wrong, said the same way everywhere: place, fault, what was found, what is accepted, what to do."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with something a person or a template supplied."""

    place: str
    fault: str
    got: str = ""
    accepted: str = ""
    advice: str = ""

    def __str__(self) -> str:
        parts = [f"{self.place}: {self.fault}"]
        parts += [f"got {self.got}"] if self.got else []
        parts += [f"accepted: {self.accepted}"] if self.accepted else []
        parts += [self.advice] if self.advice else []
        return "; ".join(parts)

    def as_data(self) -> dict[str, str]:
        """Return the problem as plain data, for ``--json``."""
        return asdict(self)


class WorkbookBuilderError(Exception):
    """Base of every error of this package; carries all the problems found, not only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def printable(text: str) -> str:
    """Return a text as a terminal may show it: signs that would steer it, or turn the direction of reading, are written out."""
    return "".join(one if one == "\n" or unicodedata.category(one) not in STEERING else f"\\u{ord(one):04x}" for one in text)


STEERING = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


class DesignError(WorkbookBuilderError):
    """A design file or a mapping of inputs cannot be used."""


class ProfileError(WorkbookBuilderError):
    """A code profile cannot be used."""


class DeclarationError(WorkbookBuilderError):
    """A declared input, quantity or check breaks a rule of this project."""


class WorkbookError(WorkbookBuilderError):
    """A workbook cannot be written or read."""
