"""Packing the parts of a workbook into a small file; nothing that a spreadsheet program reads or shows is left out."""

from __future__ import annotations

import io
import re
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

PINNED = (1980, 1, 1, 0, 0, 0)  # so that the same design gives the same bytes
LEVEL = 9
# a copy of the list of defined names that no program needs: they are read from the workbook itself
_TITLES = re.compile(r"<HeadingPairs>.*</TitlesOfParts>", re.DOTALL)
_SPANS = re.compile(r' spans="[0-9:]*"')  # a hint that programs work out for themselves


def packed(written: bytes) -> bytes:
    """Return a written workbook as the smallest file that says the same."""
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
        return _SPANS.sub("", content.decode()).encode()
    return content
