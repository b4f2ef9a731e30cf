"""Declaring the job: quantities and checks, gathered with their inputs in the part of a chapter that a module is.

A quantity is one Python function, returned untouched by its decorator, beside the spreadsheet formula that says the
same in the workbook. Neither is derived from the other; the tests hold them together. The function's positional
parameters are the names that the formula uses; its keyword-only parameters are tables.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from workbook_builder.language import xl
from workbook_builder.language.faults import common_faults, refuse
from workbook_builder.language.grids import Grid
from workbook_builder.language.inputs import ENTRIES, OPTIONAL, REQUIRED, Constant, EntryTable, Input
from workbook_builder.language.limits import Limit, Unless
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import Citation
from workbook_builder.language.steps import Function, Kind, Step
from workbook_builder.language.tables import Table
from workbook_builder.language.variations import Variation
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS

Advice = tuple[str, ...]
"""A text, the name of a whole number, and a text; then perhaps what is said where there is no number."""


@dataclass(frozen=True, kw_only=True)
class Quantity(Step):
    """One calculated value of the design or of the installed system: a step whose open names are values of the model."""

    label: str
    source: Citation | str


@dataclass(frozen=True, kw_only=True)
class Check(Quantity):
    """A judgement: a quantity whose value is a verdict, with what it compares and a sentence for each outcome.

    ``asks`` are the entries that may stay blank, but without which it says NOT JUDGED. ``match`` is for the checks that judge
    array, controller and battery alone. ``limit`` is the comparison that it was made from, if it is nothing else.
    """

    safety: bool
    value: str
    at_least: str
    at_most: str
    sentences: dict[str, str]
    asks: tuple[str, ...] = ()
    match: bool = False
    advice: Advice | None = None
    limit: Limit | None = None


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
        match: bool = False,
        asks: Sequence[str] = (),
        optional: Sequence[str] = (),
        advice: Advice | None = None,
        name: str = "",
    ) -> Callable[[Function], Function]:
        """Declare the decorated function, named after the check without ``check_``, as a judgement.

        ``name`` replaces the function's where a quantity of that name stands in the same module.

        The function returns one of the verdict words. ``sentences`` gives for each word that it can return what it
        means and what to change; that of NOT JUDGED is followed by the entries in ``asks`` that are blank. ``advice`` is a
        text, the name of a whole number, and a text, shown where it fails or notes; a fourth text stands where there is
        no number.
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
                    asks=tuple(asks),
                    match=match,
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
        match: bool = False,
        asks: Sequence[str] = (),
        advice: Advice | None = None,
    ) -> None:
        """Declare the check ``check_<name>`` that is a comparison and nothing else: its formula and function are made.

        See :class:`workbook_builder.language.limits.Limit` for the limits. Outside them a ``safety`` check fails, another
        notes. ``unless`` holds names of texts with a word, or of compared numbers with ``""`` for a blank; a third part
        is the verdict where it is not N/A, or NOT JUDGED for a blank. The rest is as in :meth:`check`.
        """
        outside = FAIL if safety else NOTE
        limit = Limit(value, at_least, at_most, strictly_above, strictly_below, outside, tuple(Unless.of(*one) for one in unless))
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
                asks=tuple(asks),
                match=match,
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


def _blank_faults(blank: Any, rest: dict[str, Any]) -> list[str]:
    stated = blank in (REQUIRED, OPTIONAL) or rest.get("blank_source") is not None
    return [] if stated else ["a default needs a blank_source"]


def _formula_faults(quantity: Quantity) -> list[str]:
    return quantity.faults() + ([] if quantity.words else ["has no explanation in words"])


def _check_faults(check: Check) -> list[str]:
    returned = {piece.text.strip('"') for piece in xl.tokens(check.formula) if piece.kind == "text"}
    verdicts = {word for word in (PASS, FAIL, NOTE, NOT_APPLICABLE, NOT_JUDGED, INCOMPLETE) if word in returned}
    found = [f"no sentence for {word}" for word in sorted(verdicts - set(check.sentences))]
    # a check that waits says INCOMPLETE by its guard
    found += [f"a sentence for {word}, which the formula never gives" for word in set(check.sentences) - verdicts - {INCOMPLETE}]
    found += ["says NOT JUDGED, and asks for no entry"] if NOT_JUDGED in verdicts and not check.asks else []
    found += ["asks for entries, and never says NOT JUDGED"] if check.asks and NOT_JUDGED not in verdicts else []
    found += ["its name begins with check_, which is put before it"] if check.name.startswith("check_check_") else []
    found += ["a performance check must not fail a design"] if FAIL in verdicts and not check.safety else []
    return found
