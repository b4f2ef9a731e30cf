"""Look-up tables of a profile or a chapter: columns of numbers or texts with a unit and a source.

Each kind of look-up says what happens out of range: it answers "nothing", never the nearest row.
Keys are rounded to nine digits first, as in the formulas, so that all engines agree at a row's edge.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from workbook_builder.language.errors import Problem, ProfileError
from workbook_builder.language.sources import Citation

KEY_DIGITS = 9
FEWEST_ROWS, MOST_ROWS = 5, 2000
LARGEST_FILE = 1_000_000  # bytes of a file of a profile
WHOLE_FROM = 2.0**52  # above this a double has no fraction


@dataclass(frozen=True)
class Column:
    """One column: its heading words, unit, and values from top to bottom."""

    name: str
    label: str
    unit: str
    values: tuple[float | str, ...]


@dataclass(frozen=True)
class Table:
    """A named table. The defined name of a column is ``<table>_<column>``."""

    name: str
    title: str
    columns: tuple[Column, ...]
    source: Citation
    note: str = ""

    def column(self, name: str) -> Column:
        """Return one column by its name."""
        return next(column for column in self.columns if column.name == name)

    def names(self) -> list[str]:
        """Return the defined name of each column, in order."""
        return [f"{self.name}_{column.name}" for column in self.columns]

    def band(self, key: Any, keys: str, values: str) -> Any:
        """Return the value of the highest row whose key is not above ``key``; NaN (or empty text) below the first row.

        ``key`` is a number or array in the unit of the column ``keys``, which ascends.
        """
        key = getattr(key, "magnitude", key)
        edges = np.asarray(self.column(keys).values, dtype=float)
        answers = np.asarray(self.column(values).values)
        nothing: Any = np.nan if answers.dtype.kind == "f" else ""
        rows = np.searchsorted(edges, round_half_away(key, KEY_DIGITS), side="right") - 1
        return np.where((rows >= 0) & ~np.isnan(key), answers[np.maximum(rows, 0)], nothing)

    def exact(self, key: Any, keys: str, values: str) -> Any:
        """Return the value of the row whose text key equals ``key``; NaN (or empty text) where there is none."""
        answers, missing = self._answers(keys, values)
        if isinstance(key, str):
            return answers.get(key, missing)
        found = [answers.get(one, missing) for one in np.ravel(np.asarray(key, dtype=object))]
        return np.reshape(np.array(found, dtype=object if missing == "" else float), np.shape(key))

    def _answers(self, keys: str, values: str) -> tuple[dict[float | str, float | str], float | str]:
        """Return the answers by their keys, and what stands for none; a design looks the same things up hundreds of times."""
        if (keys, values) not in self._looked_up:
            column = self.column(values).values
            missing = np.nan if all(not isinstance(value, str) for value in column) else ""
            self._looked_up[keys, values] = (dict(zip(self.column(keys).values, column, strict=True)), missing)
        return self._looked_up[keys, values]

    @cached_property
    def _looked_up(self) -> dict[tuple[str, str], tuple[dict[float | str, float | str], float | str]]:
        return {}

    def next_up(self, key: Any, keys: str, values: str = "") -> Any:
        """Return the value of the first row whose key is not below ``key``; NaN past the last row.

        ``values`` defaults to the keys themselves: the next standard size.
        """
        key = getattr(key, "magnitude", key)
        edges = np.asarray(self.column(keys).values, dtype=float)
        answers = np.asarray(self.column(values or keys).values, dtype=float)
        rows = np.searchsorted(edges, round_half_away(key, KEY_DIGITS), side="left")
        return np.where((rows < len(edges)) & ~np.isnan(key), answers[np.minimum(rows, len(edges) - 1)], np.nan)

    def row(self, number: float, values: str) -> Any:
        """Return the value of a row counted from 1; NaN (or empty text) where there is no such row."""
        column = self.column(values).values
        nothing: Any = "" if any(isinstance(value, str) for value in column) else np.nan
        return column[int(number) - 1] if 1 <= number <= len(column) else nothing


def round_half_away(value: Any, digits: int) -> Any:
    """Round as a spreadsheet does: halves away from zero, on the 15 digits that a spreadsheet sees.

    >>> round_half_away(2.5, 0), round_half_away(-2.5, 0), round_half_away(1.005, 2)
    (3.0, -3.0, 1.01)
    """
    value = getattr(value, "magnitude", value)
    scale = 10.0**digits
    if isinstance(value, float):  # the same without numpy, which is slow for single numbers
        magnitude = abs(value) * scale
        if not magnitude < WHOLE_FROM:
            return float(value)
        return math.copysign(math.floor(magnitude + 0.5 + math.ulp(magnitude) * 2) / scale, value)
    numbers = np.asarray(value, dtype=float)
    with np.errstate(all="ignore"):
        scaled = np.abs(numbers) * scale
        whole = np.floor(scaled + 0.5 + np.spacing(scaled) * 2)
        # a number without a fraction at this scale stays as it is; scaling it might overflow
        result = np.where(scaled < WHOLE_FROM, np.copysign(whole / scale, numbers), numbers)
    return float(result) if np.ndim(result) == 0 else result


def text_of(path: Path) -> str:
    """Return the text of a file of a profile.

    Raises
    ------
    ProfileError
        if it cannot be read, is far too large, or is not UTF-8.

    """
    accepted = f"a text in UTF-8 of at most {LARGEST_FILE} bytes"
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise ProfileError([Problem(f"{path.parent.name}/{path.name}", "is too large", f"{size} bytes", accepted)])
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise ProfileError([Problem(f"{path.parent.name}/{path.name}", "cannot be read", str(error), accepted)]) from error


def read_table(path: Path, name: str, title: str, source: Citation, note: str = "") -> Table:
    """Read a table from a CSV file whose first three rows are column names, labels and units.

    Raises
    ------
    ProfileError
        naming the file and row of everything that is not as it should be.

    """
    try:
        rows = [row for row in csv.reader(io.StringIO(text_of(path), newline=""), strict=True) if row]
    except csv.Error as error:
        raise ProfileError([Problem(path.name, "is not CSV", str(error), "cells between commas, texts with commas in quotes")]) from error
    if len(rows) > MOST_ROWS:
        raise ProfileError([Problem(path.name, "too long", f"{len(rows)} rows", f"at most {MOST_ROWS}")])
    if len(rows) < FEWEST_ROWS:  # some programs do not look things up in a range of one cell
        accepted = "names, labels, units, and at least two rows of values"
        raise ProfileError([Problem(path.name, "too short", f"{len(rows)} rows", accepted)])
    width = len(rows[0])
    problems = [
        Problem(f"{path.name}, row {number}", "wrong number of cells", str(len(row)), str(width))
        for number, row in enumerate(rows, 1)
        if len(row) != width
    ]
    if problems:
        raise ProfileError(problems)
    columns = tuple(
        Column(column_name, rows[1][place], rows[2][place], tuple(_cell(row[place]) for row in rows[3:]))
        for place, column_name in enumerate(rows[0])
    )
    return Table(name, title, columns, source, note)


def _cell(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
