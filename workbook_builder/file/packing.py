"""Packing the parts of a workbook into a small file; nothing that a spreadsheet program reads or shows is left out."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

PINNED = (1980, 1, 1, 0, 0, 0)  # so that the same design gives the same bytes
LEVEL = 6
FEWEST = 3  # cells with one formula, from which on it is written once
# a copy of the list of defined names that no program needs: they are read from the workbook itself
_TITLES = re.compile(r"<HeadingPairs>.*</TitlesOfParts>", re.DOTALL)
_SPANS = re.compile(r' spans="[0-9:]*"')  # a hint that programs work out for themselves
_FORMULA = re.compile(r'(<c r="([A-Z]+)([0-9]+)"[^>]*>)<f>([^<]*)</f>')
_REFERENCE = re.compile(r"(?<![A-Za-z0-9_.])([A-Z]{1,3})([0-9]+)(?![A-Za-z0-9_.(])")


def packed(written: bytes) -> bytes:
    """Return a written workbook as a smaller file that says the same."""
    small = io.BytesIO()
    with ZipFile(io.BytesIO(written)) as parts, ZipFile(small, "w") as target:
        for part in parts.infolist():
            info = ZipInfo(part.filename, PINNED)
            info.compress_type = ZIP_DEFLATED
            target.writestr(info, _lean(part.filename, parts.read(part)), compresslevel=LEVEL)
    return small.getvalue()


def _lean(name: str, content: bytes) -> bytes:
    if name == "docProps/app.xml":
        return _TITLES.sub("", content.decode()).encode()
    if name.startswith("xl/worksheets/sheet"):
        return shared(_SPANS.sub("", content.decode())).encode()
    return content


@dataclass(slots=True)
class _Run:
    """Cells of a column, one below the other, that hold the same formula apart from the rows that it refers to."""

    number: int
    column: str
    first: int
    last: int


def shared(sheet: str) -> str:
    """Return a sheet in which a formula that is filled down a column is written once, in its first cell.

    That is how spreadsheet programs store such formulas themselves; each cell still shows its own.
    """
    runs: dict[tuple[str, str], _Run] = {}
    of_cell: dict[tuple[str, int], _Run] = {}
    for match in _FORMULA.finditer(sheet):
        column, row = match[2], int(match[3])
        key = (column, relative(match[4], row))
        run = runs.get(key)
        if run is None or run.last != row - 1:
            run = runs[key] = _Run(0, column, row, row)
        run.last = row
        of_cell[column, row] = run
    count = 0
    for (_, row), run in of_cell.items():
        if row == run.first and run.last - run.first + 1 >= FEWEST:
            count += 1
            run.number = count

    def write(match: re.Match[str]) -> str:
        row = int(match[3])
        run = of_cell[match[2], row]
        if not run.number:
            return match[0]
        if row > run.first:
            return f'{match[1]}<f t="shared" si="{run.number - 1}"/>'
        place = f"{run.column}{run.first}:{run.column}{run.last}"
        return f'{match[1]}<f t="shared" ref="{place}" si="{run.number - 1}">{match[4]}</f>'

    return _FORMULA.sub(write, sheet)


def relative(formula: str, row: int) -> str:
    """Return a formula with each row that it refers to as the distance from its own; texts in it stay as they are.

    A formula with an absolute reference is marked with its row, so that it is like no other.
    """
    if "$" in formula:
        return f"{row}: {formula}"
    parts = formula.split('"')
    parts[::2] = [_REFERENCE.sub(lambda found: f"{found[1]}[{int(found[2]) - row}]", part) for part in parts[::2]]
    return '"'.join(parts)
