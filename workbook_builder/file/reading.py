"""Reading a returned workbook: what was typed, and for which profile. The only module that opens files with openpyxl.

A returned file is a stranger's file: its size is looked at before it is parsed, results in it are not trusted, and
formulas typed into entry cells are texts.
"""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

from workbook_builder.language.errors import Problem, WorkbookError
from workbook_builder.language.profiles import built_in

LARGEST_FILE, LARGEST_CONTENT, MOST_PARTS = 20_000_000, 100_000_000, 500
FORBIDDEN = ("xl/externalLinks", "xl/vbaProject", "xl/activeX", "xl/embeddings", "xl/connections")


class Reading(NamedTuple):
    """What a returned workbook holds: the typed entries by input name, and its profile."""

    inputs: dict[str, Any]
    profile: str


def read_workbook(path: str | Path, profile: str | Path | None = None) -> Reading:
    """Read the entries of a workbook that this package wrote, resolved by its defined names.

    The workbook names its profile; only a built-in one is taken from a file. ``profile`` takes precedence.

    Raises
    ------
    WorkbookError
        if the file is no such workbook, or is not safe to open.

    """
    file = Path(path)
    problems = _unsafe(file)
    if problems:
        raise WorkbookError(problems)
    from openpyxl import load_workbook  # noqa: PLC0415 - slow to import

    try:
        # row by row: merged cells, of which there are thousands, are not built up
        book = load_workbook(file, data_only=False, keep_links=False, read_only=True)
    except Exception as error:  # the library raises many kinds for a damaged file
        raise WorkbookError([Problem(file.name, "cannot be opened", f"{type(error).__name__}: {error}")]) from error
    places = {name.lower(): defined.attr_text for name, defined in book.defined_names.items()}
    if "meta_profile" not in places:
        advice = "send the .xlsx file that workbook-builder wrote"
        raise WorkbookError([Problem(file.name, "is not a workbook of this package", "no name meta_profile", advice=advice)])
    entries = {name: place for name, place in places.items() if name.startswith("entry_") and name != "entry_column"}
    try:
        values = _values(book, [*entries.values(), places["meta_profile"]])
    except Exception as error:
        raise WorkbookError([Problem(file.name, "cannot be read", f"{type(error).__name__}: {error}")]) from error
    finally:
        book.close()
    typed = {name.removeprefix("entry_"): values.get(place) for name, place in entries.items()}
    inputs = {name: value for name, value in typed.items() if value is not None}
    named = str(values.get(places["meta_profile"]))
    if profile is None and named not in built_in():
        advice = "give the folder of that profile with --profile"
        raise WorkbookError([Problem(file.name, "names a profile that is not built in", named, ", ".join(built_in()), advice)])
    return Reading(inputs, str(named if profile is None else profile))


def _unsafe(file: Path) -> list[Problem]:
    if not file.is_file():
        return [Problem(file.name, "there is no such file")]
    if file.stat().st_size > LARGEST_FILE:
        return [Problem(file.name, "too large", f"{file.stat().st_size} bytes", f"at most {LARGEST_FILE}")]
    try:
        with zipfile.ZipFile(file) as archive:
            parts = archive.infolist()
    except (zipfile.BadZipFile, OSError) as error:
        advice = "save it as .xlsx; .ods, .xls and .csv are not read"
        return [Problem(file.name, "is not an .xlsx file", str(error), advice=advice)]
    found = []
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > LARGEST_CONTENT:
        found.append(Problem(file.name, "holds far more than such a workbook needs", accepted=f"{LARGEST_CONTENT} bytes"))
    found += [
        Problem(file.name, "holds a part that is never opened", part.filename) for part in parts if part.filename.startswith(FORBIDDEN)
    ]
    return found


def _values(book: Any, places: Sequence[str]) -> dict[str, Any]:
    """Return what stands in cells, by place such as ``Entries!$B$12``; each sheet is read once."""
    wanted: dict[str, dict[tuple[int, int], str]] = {}
    for place in places:
        sheet, _, cell = place.rpartition("!")
        row, column = _row_and_column(cell.replace("$", ""))
        wanted.setdefault(sheet.strip("'"), {})[row, column] = place
    found = {}
    for sheet, cells in wanted.items():
        last_row, last_column = (max(place[axis] for place in cells) for axis in (0, 1))
        for row in book[sheet].iter_rows(max_row=last_row, max_col=last_column):
            for cell in row:
                if cell.value is not None and (cell.row, cell.column) in cells:
                    found[cells[cell.row, cell.column]] = _plain(cell.value)
    return found


def _row_and_column(cell: str) -> tuple[int, int]:
    from openpyxl.utils.cell import coordinate_to_tuple  # noqa: PLC0415

    row, column = coordinate_to_tuple(cell)
    return int(row), int(column)


def _plain(value: Any) -> Any:
    """Return what was typed; a date is the number that the spreadsheet calculates with."""
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        from openpyxl.utils.datetime import to_excel  # noqa: PLC0415

        return float(to_excel(value))
    return value
