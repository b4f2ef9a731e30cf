"""A copy of a workbook in which every formula says the address of a cell instead of its defined name.

Two of the engines pay for each name with a search through all of them: IronCalc takes fifteen times as long for the same
workbook, `formulas` twice as long to open it. The formulas stay the same but for the names.
That the engines resolve the names themselves is tested with the file as it is, by `open_as_it_is`.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from html import escape, unescape
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import openpyxl
from openpyxl.utils.cell import range_boundaries

from tests.engines.workbook_map import WorkbookMap

_FORMULA = re.compile(r"(<f[^>]*>)([^<]*)(</f>)")
_NAMES = re.compile(rb"<definedNames>.*</definedNames>", re.DOTALL)
_REFERENCE = re.compile(r"(?:('[^']*'|[A-Za-z_]\w*)!)?(\$?[A-Z]{1,3}\$?[0-9]+(?::\$?[A-Z]{1,3}\$?[0-9]+)?)(?![\w(])")
_PIECE = re.compile(r""""[^"]*"|'[^']*'!|[A-Za-z_][A-Za-z0-9_.]*""")


@contextmanager
def with_addresses(path: Path) -> Iterator[Path]:
    """Write the copy, of the same file name, for as long as it takes to open it; it defines no names."""
    with TemporaryDirectory(prefix="addressed-") as folder:
        copy = Path(folder, path.name)
        copy.write_bytes(_addressed_copy(path))
        yield copy


@contextmanager
def part_of(path: Path, results: Sequence[str]) -> Iterator[Path]:
    """Write such a copy with only those formulas on which the named results rest; the other formula cells are empty."""
    with with_addresses(path) as copy:
        book = openpyxl.load_workbook(copy)
        kept: set[tuple[str, int, int]] = set()
        todo = [(cell.sheet, cell.row, cell.column) for cell in WorkbookMap.of_file(path).cells(results)]
        while todo:
            place = todo.pop()
            if place not in kept:
                kept.add(place)
                cell = book[place[0]].cell(*place[1:])
                todo += _cells_in(cell.value, place[0]) if cell.data_type == "f" else []
        for sheet in book.worksheets:
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.data_type == "f" and (sheet.title, cell.row, cell.column) not in kept:
                        cell.value = None
        book.save(copy)
        yield copy


def _cells_in(formula: str, sheet: str) -> list[tuple[str, int, int]]:
    """Return the cells that a formula of a sheet refers to: sheet, row, column."""
    found = []
    for other, reference in _REFERENCE.findall(re.sub(r'"[^"]*"', '""', formula)):
        left, top, right, bottom = range_boundaries(reference.replace("$", ""))
        found += [(other.strip("'") or sheet, row, column) for row in range(top, bottom + 1) for column in range(left, right + 1)]
    return found


def _addressed_copy(path: Path) -> bytes:
    names = WorkbookMap.of_file(path).targets

    def addressed(formula: str) -> str:
        return _PIECE.sub(lambda piece: names.get(piece[0].lower(), piece[0]), formula)

    def in_file(found: re.Match[str]) -> str:
        return found[1] + escape(addressed(unescape(found[2])), quote=False) + found[3]

    out = BytesIO()
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as copy:
        for member in source.namelist():
            text = source.read(member)
            if member.startswith("xl/worksheets/sheet"):
                text = _FORMULA.sub(in_file, text.decode()).encode()
            elif member == "xl/workbook.xml":
                text = _NAMES.sub(b"", text)
            copy.writestr(member, text)
    return out.getvalue()
