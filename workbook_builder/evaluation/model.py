"""The model: everything that is declared, together with one profile, and the graph between its values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from graphlib import CycleError, TopologicalSorter

from workbook_builder.evaluation.entries import reading
from workbook_builder.language.chapters import Chapter
from workbook_builder.language.declare import Check, Quantity
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.filling import Words, filled_in
from workbook_builder.language.grids import Grid
from workbook_builder.language.inputs import ENTRIES, Constant, EntryTable, Input
from workbook_builder.language.profiles import Profile
from workbook_builder.language.steps import Calculation, nothing_of
from workbook_builder.language.tables import Table
from workbook_builder.language.verdicts import INCOMPLETE

Node = Input | Quantity | Grid


@dataclass(frozen=True)
class Model:
    """All declarations of all chapters together with one profile."""

    chapters: tuple[Chapter, ...]
    profile: Profile

    def __post_init__(self) -> None:
        chapters, profile, words = filled_in(self.chapters, self.profile)
        object.__setattr__(self, "chapters", chapters)
        object.__setattr__(self, "profile", profile)
        object.__setattr__(self, "_words", words)
        self._check_names()
        self._check_that_the_design_stands_alone()

    def _check_names(self) -> None:
        """Refuse names that are declared twice, and needs that nobody gives."""
        homes: dict[str, list[str]] = {}
        for home, name in self._names():
            homes.setdefault(name, []).append(home)
        problems = [
            Problem(" and ".join(dict.fromkeys(found)), "declare one name twice", name) for name, found in homes.items() if len(found) > 1
        ]
        given = {*homes, *(one.key for one in self.declared)} | {f"entry_{entry.name}" for entry in self.inputs}
        lacking = {need: one.key for one in self.declared for need in one.needs if need not in given}
        problems += [Problem(f"declaration of {key}", "needs a value that is declared nowhere", need) for need, key in lacking.items()]
        if problems:
            raise DeclarationError(problems)

    def _names(self) -> Iterator[tuple[str, str]]:
        """Yield each declared name with the chapter or profile that declares it."""
        for chapter in self.chapters:
            home = f"chapter {chapter.name}"
            yield from ((home, one.name) for one in chapter.constants)
            yield from ((home, one.name) for one in chapter.inputs)
            yield from ((home, one.name) for one in chapter.quantities)
            yield from ((home, one.name) for one in chapter.checks)
            yield from ((home, one.name) for one in chapter.grids)
            yield from ((home, name) for table in chapter.tables for name in table.names())
        yield from ((f"profile {self.profile.key}", value.name) for value in self.profile.values)
        yield from ((f"profile {self.profile.key}", name) for table in self.profile.tables for name in table.names())

    def _check_that_the_design_stands_alone(self) -> None:
        """Refuse a model in which a reading from the installed system could sway the verdict of the design."""
        design = [entry.name for entry in self.design_inputs]
        elsewhere = {entry.name for entry in self.inputs} - set(design)
        problems = [
            Problem(f"{name} of the design", "rests on entries of the installed system", ", ".join(sorted(found)))
            for name in [*(check.name for check in self.checks), *design]
            if (found := self.rests_on(name) & elsewhere)
        ]
        if problems:
            raise DeclarationError(problems)

    # ---- what is declared, in reading order

    @cached_property
    def constants(self) -> list[Constant]:
        """Constants of the chapters, then the values of the profile."""
        return [constant for chapter in self.chapters for constant in chapter.constants] + list(self.profile.values)

    @cached_property
    def tables(self) -> list[Table]:
        """Tables of the chapters, then those of the profile."""
        return [table for chapter in self.chapters for table in chapter.tables] + list(self.profile.tables)

    @cached_property
    def inputs(self) -> list[Input]:
        """Inputs in the order in which a person collects them."""
        return [entry for chapter in self.chapters for entry in chapter.inputs]

    @cached_property
    def design_inputs(self) -> list[Input]:
        """Inputs of the design: those that must be accepted before it is judged."""
        return [entry for chapter in self.chapters if chapter.typed_on == ENTRIES for entry in chapter.inputs]

    def chapter(self, name: str) -> Chapter:
        """Return a chapter by its name, as it is under this profile."""
        return next(chapter for chapter in self.chapters if chapter.name == name)

    def said(self, text: str, place: str) -> str:
        """Return a text of a sheet with the figures of this profile filled in, as in declared words.

        Raises
        ------
        DeclarationError
            if it names a figure that there is not.

        """
        words = Words(self._words.figures)  # type: ignore[attr-defined]
        filled = words.filled(text, place)
        if words.problems:
            raise DeclarationError(words.problems)
        return filled

    @cached_property
    def entry_tables(self) -> list[EntryTable]:
        """Tables into which inputs are typed: those of the design first."""
        return self.design_tables + self.other_tables

    @cached_property
    def design_tables(self) -> list[EntryTable]:
        """Tables into which inputs of the design are typed."""
        return [table for chapter in self.chapters if chapter.typed_on == ENTRIES for table in chapter.entry_tables]

    @cached_property
    def other_tables(self) -> list[EntryTable]:
        """Tables into which inputs of the installed system are typed."""
        return [table for chapter in self.chapters if chapter.typed_on != ENTRIES for table in chapter.entry_tables]

    @cached_property
    def quantities(self) -> list[Quantity]:
        """Calculated quantities in reading order."""
        return [quantity for chapter in self.chapters for quantity in chapter.quantities]

    @cached_property
    def checks(self) -> list[Check]:
        """Checks: safety first, then performance, in reading order."""
        checks = [check for chapter in self.chapters for check in chapter.checks]
        return sorted(checks, key=lambda check: not check.safety)

    @cached_property
    def grids(self) -> list[Grid]:
        """Grids in reading order."""
        return [grid for chapter in self.chapters for grid in chapter.grids]

    @cached_property
    def nodes(self) -> dict[str, Node]:
        """Inputs, quantities, checks and grids by their names."""
        return {node.name: node for node in self._all_nodes()}

    def _all_nodes(self) -> list[Node]:
        return [*self.inputs, *self.quantities, *self.checks, *self.grids]

    # ---- the graph

    @cached_property
    def declared(self) -> tuple[Calculation, ...]:
        """The calculations that are declared, each after those on which it rests."""
        found = {one.key: one for one in self._calculations()}
        for chapter in self.chapters:
            for variation in chapter.variations:
                found |= {one.key: one for one in variation.calculations(found)}
        try:
            order = TopologicalSorter({key: one.needs for key, one in found.items()}).static_order()
            return tuple(found[key] for key in order if key in found)
        except CycleError as error:
            raise DeclarationError([Problem("model", "values need each other in a circle", str(error.args[1]))]) from error

    def _calculations(self) -> Iterator[Calculation]:
        """Yield how entries are read, quantities, checks, and the cells of grids."""
        for entry in self.inputs:
            yield from reading(entry).calculations()
        for node in (*self.quantities, *self.checks):
            nothing = INCOMPLETE if isinstance(node, Check) else nothing_of(node.kind)
            yield Calculation(node.name, node, {name: name for name in node.names}, nothing, node.label)
        for grid in self.grids:
            yield from grid.calculations

    @cached_property
    def by_key(self) -> dict[str, Calculation]:
        """The calculations that are declared, by their keys."""
        return {one.key: one for one in self.declared}

    @cached_property
    def varied(self) -> frozenset[str]:
        """The keys of calculations that work the design's own at other values: their formulas are the design's, with other names."""
        variations = [variation for chapter in self.chapters for variation in chapter.variations]
        return frozenset(one.key for variation in variations for one in variation.calculations(self.by_key))

    def inputs_behind(self, check: str) -> list[Input]:
        """Return the required inputs on which a check rests, in the order of the input sheet."""
        found = self.rests_on(check)
        return [entry for entry in self.inputs if entry.name in found and entry.blank == "required"]

    def rests_on(self, name: str) -> set[str]:
        """Return the keys of everything on which a declared value rests, itself included; a grid's name stands for its cells."""
        found: set[str] = set()
        todo = [name]
        while todo:
            current = todo.pop()
            if current not in found:
                found.add(current)
                todo += self._needs.get(current, [])
        return found

    @cached_property
    def _needs(self) -> dict[str, list[str]]:
        needs = {one.key: one.needs for one in self.declared}
        return needs | {grid.name: [one.key for one in grid.calculations] for grid in self.grids}
