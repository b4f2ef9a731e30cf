"""Every formula cell of a workbook, as an engine shows it, held against the reference."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import openpyxl

from tests.engines import Book, CellError, Engine, Entry, same
from tests.known import values_of_each
from tests.strategies import as_entries, as_reference
from tests.support import STALE
from workbook_builder.file.building import plan_for
from workbook_builder.file.plan import address
from workbook_builder.language.profiles import load_profile

AT_ONCE = 50
T = TypeVar("T", bound=Mapping[str, Entry])


def expected_cells(inputs: Mapping[str, Any], profile: str = "nec-2023") -> dict[str, Any]:
    """The reference's value of every formula cell, by "Sheet!A1"."""
    return next(expected_of_each([inputs], profile))


def expected_of_each(designs: Sequence[Mapping[str, Any]], profile: str = "nec-2023") -> Iterator[dict[str, Any]]:
    """The same for many designs, most of it worked for all at once."""
    layout = plan_for(load_profile(profile)).layout
    for values in values_of_each(designs, profile):
        known = values | layout
        yield {place: known[key] for place, key in places(profile)}


@cache
def places(profile: str) -> list[tuple[str, str]]:
    """Every formula cell as "Sheet!A1", with the key of its value."""
    formulas = plan_for(load_profile(profile)).formulas()
    return [(f"{sheet.name}!{address(row, column)}", formula.key) for sheet, row, column, formula in formulas]


def stored_in(path: Path, profile: str = "nec-2023") -> dict[str, Any]:
    """The value that the file itself holds for every formula cell, by "Sheet!A1"."""
    book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    cells = (
        (f"{sheet.title}!{cell.coordinate}", cell.value)
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    )
    stored = dict(cells)
    book.close()
    return {place: stored.get(place) for place, _ in places(profile)}


def differences(engine: Engine, found: Mapping[str, Any], inputs: Mapping[str, Any], profile: str = "nec-2023") -> list[str]:
    """Every formula cell in which an engine and the reference disagree, or that shows an error."""
    return next(differences_of_each(engine, [found], [inputs], profile))


def differences_of_each(
    engine: Engine, found: Sequence[Mapping[str, Any]], designs: Sequence[Mapping[str, Any]], profile: str = "nec-2023"
) -> Iterator[list[str]]:
    """The same for each of many designs."""
    for shown, expected in zip(found, expected_of_each(designs, profile), strict=True):
        yield differences_in(engine, shown, expected)


def differences_in(engine: Engine, shown: Mapping[str, Any], expected: Mapping[str, Any]) -> list[str]:
    """The cells in which an engine and the reference disagree, or that show an error, of those for which something is expected."""
    lines = []
    for place, value in expected.items():
        got = shown[place]
        if isinstance(got, CellError) or got == STALE or not same(got, value, booleans_are_numbers=engine.booleans_are_numbers):
            lines.append(f"{engine.name} {place}: shows {got!r}, reference {value!r}")
    return lines


def wrong_in(chosen: Engine, book: Book, typed: Mapping[str, Mapping[str, Entry]], profile: str = "nec-2023") -> dict[str, list[str]]:
    """What differs in each of some designs, by their titles, recalculated with what is typed into their entries."""
    wrong: dict[str, list[str]] = {}
    titles = list(typed)
    for first in range(0, len(titles), AT_ONCE):  # all cells of a hundred designs fill half a gigabyte
        some = titles[first : first + AT_ONCE]
        rows = book.formula_values_many([as_entries(typed[title]) for title in some])
        found = differences_of_each(chosen, rows, [as_reference(typed[title]) for title in some], profile)
        wrong |= {title: lines for title, lines in zip(some, found, strict=True) if lines}
    return wrong


def numbered(typed: Iterable[T]) -> dict[str, T]:
    """Designs with their places for titles."""
    return {f"design {place}": case for place, case in enumerate(typed)}
