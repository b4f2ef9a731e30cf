"""A copy of a workbook in which every formula says the address of a cell instead of its defined name.

Two of the engines pay for each name with a search through all of them: IronCalc takes fifteen times as long for the same
workbook, `formulas` twice as long to open it. The formulas stay the same but for the names.
That the engines resolve the names themselves is tested with the file as it is, by `open_as_it_is`.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from html import escape, unescape
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.engines.workbook_map import WorkbookMap

_FORMULA = re.compile(r"(<f[^>]*>)([^<]*)(</f>)")
_NAMES = re.compile(rb"<definedNames>.*</definedNames>", re.DOTALL)
_PIECE = re.compile(r""""[^"]*"|'[^']*'!|[A-Za-z_][A-Za-z0-9_.]*""")


@contextmanager
def with_addresses(path: Path) -> Iterator[Path]:
    """Write the copy, of the same file name, for as long as it takes to open it; it defines no names."""
    with TemporaryDirectory(prefix="addressed-") as folder:
        copy = Path(folder, path.name)
        copy.write_bytes(_addressed_copy(path))
        yield copy


def _addressed_copy(path: Path) -> bytes:
    names = {name.lower(): target for name, target in WorkbookMap.of_file(path).names.items()}
    out = BytesIO()
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as copy:
        for member in source.namelist():
            text = source.read(member)
            if member.startswith("xl/worksheets/sheet"):
                text = _FORMULA.sub(lambda found: found[1] + _addressed(found[2], names) + found[3], text.decode()).encode()
            elif member == "xl/workbook.xml":
                text = _NAMES.sub(b"", text)
            copy.writestr(member, text)
    return out.getvalue()


def _addressed(formula: str, names: Mapping[str, str]) -> str:
    replaced = _PIECE.sub(lambda piece: names.get(piece[0].lower(), piece[0]), unescape(formula))
    return escape(replaced, quote=False)
