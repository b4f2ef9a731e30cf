"""Declaring the job: constants, inputs, quantities and checks, gathered in chapters.

A quantity is one Python function, returned untouched by its decorator, beside the spreadsheet formula that says the
same in the workbook. Neither is derived from the other; the tests hold them together. The function's positional
parameters are the names that the formula uses; its keyword-only parameters are tables.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from workbook_builder.language import verdicts, xl
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.limits import Limit, Unless
from workbook_builder.language.names import fault
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import Citation
from workbook_builder.language.steps import Function, Kind, Step
from workbook_builder.language.tables import Table
from workbook_builder.language.units import UNITS

if TYPE_CHECKING:
    from workbook_builder.language.grids import Grid
    from workbook_builder.language.variations import Variation

REQUIRED, OPTIONAL = "required", "optional"
ENTRIES = "Entries"  # the sheet on which a design is typed
PASS, FAIL, NOTE = verdicts.PASS, verdicts.FAIL, verdicts.NOTE
NOT_APPLICABLE, INCOMPLETE = verdicts.NOT_APPLICABLE, verdicts.INCOMPLETE


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

    ``ratio`` is the lowest and highest accepted quotient of the input by ``other``; a bound of ``None`` is open.
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


@dataclass(frozen=True, kw_only=True)
class Quantity(Step):
    """One calculated value of the design or of the installed system: a step whose open names are values of the model."""

    label: str
    source: Citation | str


@dataclass(frozen=True, kw_only=True)
class Check(Quantity):
    """A judgement: a quantity whose value is a verdict, with what it compares and a sentence for each outcome.

    ``limit`` is the comparison that it was made from, if it is nothing else.
    """

    safety: bool
    value: str
    at_least: str
    at_most: str
    sentences: dict[str, str]
    advice: tuple[str, str, str] | None = None
    limit: Limit | None = None


@dataclass(frozen=True)
class Chapter:
    """One part of the job, in reading order: what is entered, what follows from it, what is judged.

    ``sheet`` is where its quantities stand, ``typed_on`` the sheet on which its inputs are typed. Inputs that are typed
    elsewhere than on the sheet Entries belong to the installed system, not to the design: they never count in its verdict.
    ``steps`` are quantities, grids and variations in the order in which they are declared.
    """

    name: str
    title: str
    intro: str
    sheet: str
    typed_on: str
    constants: tuple[Constant, ...]
    tables: tuple[Table, ...]
    inputs: tuple[Input, ...]
    quantities: tuple[Quantity, ...]
    checks: tuple[Check, ...]
    grids: tuple[Grid, ...]
    entry_tables: tuple[EntryTable, ...]
    variations: tuple[Variation, ...]
    steps: tuple[Quantity | Grid | Variation, ...]


@dataclass
class Part:
    """What one module declares of a chapter.

    The module that begins a chapter gives title and intro; one that ``continues`` a chapter adds to it. Nothing is
    known elsewhere until :func:`assembled` makes frozen chapters of a list of parts; then the part is closed.
    """

    name: str
    title: str = ""
    intro: str = ""
    sheet: str = "Working"
    typed_on: str = ENTRIES
    continues: bool = False
    constants: list[Constant] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    inputs: list[Input] = field(default_factory=list)
    quantities: list[Quantity] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    grids: list[Grid] = field(default_factory=list)
    entry_tables: list[EntryTable] = field(default_factory=list)
    variations: list[Variation] = field(default_factory=list)
    repeats: list[Repeat] = field(default_factory=list)
    steps: list[Quantity | Grid | Variation] = field(default_factory=list)
    closed: bool = False

    def _refuse(self, name: str, faults: list[str]) -> None:
        refuse(name, faults + ([f"comes after chapter {self.name} was assembled"] if self.closed else []))

    def entry_table(self, table: EntryTable) -> EntryTable:
        """Add inputs that are typed into a table, and return it."""
        self._refuse(table.name, [])
        self.entry_tables.append(table)
        return table

    def grid(self, grid: Grid) -> Grid:
        """Add a grid and return it."""
        self._refuse(grid.name, [])
        self.grids.append(grid)
        self.steps.append(grid)
        return grid

    def repeat(self, repeat: Repeat) -> Repeat:
        """Add a repeat and return it; what it repeats may be declared anywhere, and is looked up when all is assembled."""
        self._refuse(repeat.key, [])
        self.repeats.append(repeat)
        return repeat

    def variation(self, variation: Variation) -> Variation:
        """Add a variation and return it."""
        self._refuse(variation.block, [])
        self.variations.append(variation)
        self.steps.append(variation)
        return variation

    def constant(self, name: str, value: float, unit: str, label: str, symbol: str, source: Citation | str) -> None:
        """Declare a constant; ``source`` is a citation, or the name of a profile's value, table or clause."""
        self._refuse(name, common_faults(name, label, unit))
        self.constants.append(Constant(name, label, symbol, value, unit, source))

    def table(self, table: Table) -> None:
        """Declare a table that does not depend on the profile."""
        self._refuse(table.name, [])
        self.tables.append(table)

    def number(self, name: str, unit: str, low: float, high: float, label: str, **rest: Any) -> None:
        """Declare a number that a person enters, with the lowest and highest accepted value in ``unit``."""
        faults = common_faults(name, label, unit)
        faults += ["the lowest value is not below the highest"] if low >= high else []
        blank = rest.get("blank", REQUIRED)
        if isinstance(blank, int | float) and not low <= blank <= high:
            faults.append("the default is out of its own range")
        self._refuse(name, faults + _blank_faults(blank, rest))
        self.inputs.append(Input(name, "number", label, unit, low, high, **rest))

    def choice(self, name: str, options: Sequence[str | float], label: str, unit: str = "", **rest: Any) -> None:
        """Declare a choice among a few texts or numbers."""
        faults = common_faults(name, label, unit)
        blank = rest.get("blank", REQUIRED)
        known = {REQUIRED, OPTIONAL, *options}
        stated = blank in known or str(blank).startswith("=") or rest.get("options_from")
        faults += [] if stated else ["the default is not among the options"]
        faults += ["an option holds a comma or a wildcard"] if any(c in str(o) for o in options for c in ",*?~") else []
        self._refuse(name, faults + _blank_faults(blank, rest))
        self.inputs.append(Input(name, "choice", label, unit, options=tuple(options), **rest))

    def text(self, name: str, label: str, **rest: Any) -> None:
        """Declare a text that a person enters; nothing is computed from it."""
        self._refuse(name, common_faults(name, label, ""))
        self.inputs.append(Input(name, "text", label, **rest))

    def quantity(
        self,
        *,
        unit: str,
        label: str,
        words: str,
        formula: str,
        source: Citation | str,
        symbol: str = "",
        kind: Kind = "number",
        optional: Sequence[str] = (),
        waits: Sequence[str] = (),
    ) -> Callable[[Function], Function]:
        """Declare the decorated reference function as a quantity; the function itself is returned untouched.

        ``source`` is a citation, or the name of a profile's value, table or clause, which is then cited.
        ``optional`` lists parameters that may be missing: the function gets NaN or an empty text for them.
        ``waits`` lists values that the formula does not use, but without which the cell stays empty.
        """

        def declare(function: Function) -> Function:
            name = function.__name__
            quantity = Quantity(
                name=name,
                symbol=symbol,
                unit=unit,
                label=label,
                words=words,
                formula=formula,
                source=source,
                function=function,
                kind=kind,
                optional=frozenset(optional),
                waits=tuple(waits),
            )
            self.declare(quantity)
            return function

        return declare

    def check(
        self,
        *,
        label: str,
        words: str,
        formula: str,
        source: Citation | str,
        sentences: dict[str, str],
        value: str = "",
        at_least: str = "",
        at_most: str = "",
        safety: bool = False,
        optional: Sequence[str] = (),
        advice: tuple[str, str, str] | None = None,
        name: str = "",
    ) -> Callable[[Function], Function]:
        """Declare the decorated function, named after the check without ``check_``, as a judgement.

        ``name`` replaces the function's where a quantity of that name stands in the same module.

        The function returns one of the verdict words. ``sentences`` gives for each word that it can return what it
        means and what to change. ``advice`` is a text, the name of a whole number, and a text, shown unless it passes.
        A check that is not ``safety`` never fails: at worst it notes.
        """

        def declare(function: Function) -> Function:
            self._judge(
                Check(
                    name=f"check_{name or function.__name__}",
                    label=label,
                    words=words,
                    formula=formula,
                    source=source,
                    function=function,
                    kind="text",
                    optional=frozenset(optional),
                    safety=safety,
                    value=value,
                    at_least=at_least,
                    at_most=at_most,
                    sentences=sentences,
                    advice=advice,
                )
            )
            return function

        return declare

    def limit(
        self,
        *,
        name: str,
        label: str,
        words: str,
        value: str,
        source: Citation | str,
        sentences: dict[str, str],
        at_least: str = "",
        at_most: str = "",
        strictly_above: bool = False,
        strictly_below: bool = False,
        unless: Sequence[tuple[str, str] | tuple[str, str, str]] = (),
        safety: bool = False,
        advice: tuple[str, str, str] | None = None,
    ) -> None:
        """Declare the check ``check_<name>`` that is a comparison and nothing else: its formula and function are made.

        See :class:`workbook_builder.language.limits.Limit` for the limits. Outside them a ``safety`` check fails, another
        notes. ``unless`` holds names of texts with a word, or of compared numbers with ``""`` for a blank; a third part
        is the verdict where it is not N/A. The rest is as in :meth:`check`.
        """
        outside = FAIL if safety else NOTE
        limit = Limit(value, at_least, at_most, strictly_above, strictly_below, outside, tuple(Unless(*one) for one in unless))
        refuse(f"check_{name}", limit.faults())
        self._judge(
            Check(
                name=f"check_{name}",
                label=label,
                words=words,
                formula=limit.formula,
                source=source,
                function=limit.function,
                kind="text",
                optional=limit.optional,
                safety=safety,
                value=value,
                at_least=at_least,
                at_most=at_most,
                sentences=sentences,
                advice=advice,
                limit=limit,
            )
        )

    def declare(self, one: Quantity) -> None:
        """Add a quantity or a check that is made elsewhere."""
        if isinstance(one, Check):
            self._judge(one)
        else:
            self._refuse(one.name, common_faults(one.name, one.label, one.unit) + _formula_faults(one))
            self.quantities.append(one)
            self.steps.append(one)

    def _judge(self, check: Check) -> None:
        self._refuse(check.name, common_faults(check.name, check.label, "") + _formula_faults(check) + _check_faults(check))
        self.checks.append(check)


def below(other: str, label: str) -> Relation:
    """Return the condition that an input lies below another value."""
    return Relation(other, None, 1.0, True, f"below {label}")


def at_least(other: str, label: str) -> Relation:
    """Return the condition that an input is not below another value."""
    return Relation(other, 1.0, None, False, f"not below {label}")


def above(other: str, label: str) -> Relation:
    """Return the condition that an input lies above another value."""
    return Relation(other, 1.0, None, True, f"above {label}")


def between(other: str, lowest: float, highest: float, words: str) -> Relation:
    """Return the condition that the quotient of an input by another value lies between two bounds."""
    return Relation(other, lowest, highest, False, words)


def common_faults(name: str, label: str, unit: str) -> list[str]:
    """Return what is wrong with the parts that every declaration has."""
    found = [fault(name)] if fault(name) else []
    found += [] if label else ["has no label"]
    return found + ([] if unit in UNITS else [f"unit {unit!r} is not known to units.py"])


def _blank_faults(blank: Any, rest: dict[str, Any]) -> list[str]:
    stated = blank in (REQUIRED, OPTIONAL) or rest.get("blank_source") is not None
    return [] if stated else ["a default needs a blank_source"]


def _formula_faults(quantity: Quantity) -> list[str]:
    return quantity.faults() + ([] if quantity.words else ["has no explanation in words"])


def _check_faults(check: Check) -> list[str]:
    returned = {piece.text.strip('"') for piece in xl.tokens(check.formula) if piece.kind == "text"}
    verdicts = {word for word in (PASS, FAIL, NOTE, NOT_APPLICABLE, INCOMPLETE) if word in returned}
    found = [f"no sentence for {word}" for word in sorted(verdicts - set(check.sentences))]
    found += [f"a sentence for {word}, which the formula never gives" for word in set(check.sentences) - verdicts]
    found += ["a performance check must not fail a design"] if FAIL in verdicts and not check.safety else []
    return found


def refuse(name: str, faults: list[str]) -> None:
    """Raise if there are faults.

    Raises
    ------
    DeclarationError
        naming the declaration and each fault.

    """
    if faults:
        raise DeclarationError(Problem(f"declaration of {name}", fault) for fault in faults)


def assembled(parts: Sequence[Part]) -> tuple[Chapter, ...]:
    """Return frozen chapters of what modules declare, in the order of the list.

    Raises
    ------
    DeclarationError
        if a chapter begins twice, or is continued before it began.

    """
    groups: dict[str, list[Part]] = {}
    problems = []
    for part in parts:
        if part.continues != (part.name in groups):
            fault = "is continued before it begins" if part.continues else "begins twice"
            problems.append(Problem("chapters", fault, part.name))
        groups.setdefault(part.name, []).append(part)
    if problems:
        raise DeclarationError(problems)
    declared = [one for part in parts for one in (*part.quantities, *part.checks)]
    for part in parts:
        for repeat in part.repeats if not part.closed else ():
            for one in repeat.declarations(declared):
                part.declare(one)
        part.closed = True
    return tuple(_chapter(group) for group in groups.values())


def _chapter(group: Sequence[Part]) -> Chapter:
    first = group[0]
    return Chapter(
        first.name,
        first.title,
        first.intro,
        first.sheet,
        first.typed_on,
        tuple(one for part in group for one in part.constants),
        tuple(one for part in group for one in part.tables),
        tuple(one for part in group for one in part.inputs),
        tuple(one for part in group for one in part.quantities),
        tuple(one for part in group for one in part.checks),
        tuple(one for part in group for one in part.grids),
        tuple(one for part in group for one in part.entry_tables),
        tuple(one for part in group for one in part.variations),
        tuple(one for part in group for one in part.steps),
    )
