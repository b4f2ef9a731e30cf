"""From what modules declare to frozen chapters, in the order of one list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbook_builder.language.declare import Check, Part, Quantity
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.grids import Grid
from workbook_builder.language.inputs import Constant, EntryTable, Input
from workbook_builder.language.tables import Table
from workbook_builder.language.variations import Variation


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
