"""What a person enters, and the numbers that no one enters: inputs with their bounds, constants, relations, tables to type into."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from workbook_builder.language.sources import Citation
from workbook_builder.language.wording import number_text

REQUIRED, OPTIONAL = "required", "optional"
ENTRIES = "Entries"  # the sheet on which a design is typed


@dataclass(frozen=True)
class Constant:
    """A number that no one enters: physics, a unit's factor, or a rule of thumb; always with its source."""

    name: str
    label: str
    symbol: str
    value: float
    unit: str
    source: Citation | str


@dataclass(frozen=True)
class Relation:
    """A condition between an input and another value, so that two plausible numbers cannot contradict each other.

    ``lowest`` and ``highest`` are the accepted quotients of the input by ``other``; a bound of ``None`` is open.
    ``strict`` refuses equality.
    """

    other: str
    lowest: float | None
    highest: float | None
    strict: bool
    words: str


@dataclass(frozen=True)
class Input:
    """What a person enters: its bounds serve the cell's validation, the status cell, the reader and the tests."""

    name: str
    kind: Literal["number", "choice", "text"]
    label: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    whole: bool = False
    options: tuple[str | float, ...] = ()
    blank: str | float = REQUIRED
    blank_source: Citation | str | None = None
    where: str = ""
    relations: tuple[Relation, ...] = ()
    factor: str = ""
    options_from: str = ""
    table: str = ""

    @property
    def default_name(self) -> str:
        """The name of the value that a blank entry takes, if it takes one that is computed."""
        return self.blank[1:] if isinstance(self.blank, str) and self.blank.startswith("=") else ""

    @property
    def has_default(self) -> bool:
        """Whether a blank entry is replaced by a value."""
        return self.blank not in (REQUIRED, OPTIONAL)

    @property
    def numeric(self) -> bool:
        """Whether the value used is a number: a number, or a choice among numbers only."""
        return self.kind == "number" or (self.kind == "choice" and all(not isinstance(option, str) for option in self.options))

    def needs(self) -> list[str]:
        """Return the names of other values on which accepting this entry depends."""
        names = [relation.other for relation in self.relations]
        return [name for name in (*names, self.default_name, self.factor) if name]


@dataclass(frozen=True)
class EntryTable:
    """Inputs that are typed into a table: one row per item, one column per field.

    The input of an item and a field is called ``<item>_<field>``.
    """

    name: str
    title: str
    words: str
    items: tuple[tuple[str, str], ...]
    fields: tuple[tuple[str, str], ...]

    def inputs(self, item: str) -> list[str]:
        """Return the names of the inputs of one row."""
        return [f"{item}_{field}" for field, _ in self.fields]


def below(other: str, label: str) -> Relation:
    """Return the condition that an input lies below another value."""
    return Relation(other, None, 1.0, True, f"below {label}")


def at_least(other: str, label: str) -> Relation:
    """Return the condition that an input is not below another value."""
    return Relation(other, 1.0, None, False, f"not below {label}")


def at_most(other: str, label: str) -> Relation:
    """Return the condition that an input is not above another value."""
    return Relation(other, None, 1.0, False, f"not above {label}")


def above(other: str, label: str) -> Relation:
    """Return the condition that an input lies above another value."""
    return Relation(other, 1.0, None, True, f"above {label}")


def between(other: str, lowest: float, highest: float, words: str) -> Relation:
    """Return the condition that the quotient of an input by another value lies between two bounds."""
    return Relation(other, lowest, highest, False, words)


def accepted(entry: Input) -> str:
    """Return in words what is accepted for an input."""
    if entry.kind == "choice":
        return "one of: " + ", ".join(number_text(option) for option in entry.options)
    if entry.kind == "text":
        return "any text"
    kind = "a whole number from" if entry.whole else "from"
    span = f"{kind} {number_text(entry.low)} to {number_text(entry.high)} {entry.unit}".strip()
    return ", ".join([span, *(relation.words for relation in entry.relations)])
