"""What stands in the parts of an .xlsx file: its sheets and names, its texts, its cells. Read in one pass, within limits.

The parts are those of ECMA-376, part 1, chapter 18. No document type is read and no entity is expanded.
"""

from __future__ import annotations

import math
import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from workbook_builder.file.archive import Archive
from workbook_builder.file.areas import area_of, cell_of
from workbook_builder.language.texts import LONGEST

MOST_ELEMENTS, DEEPEST = 400_000, 40
MOST_CELLS = 200_000  # in a name or another reference
MOST_NAMES, MOST_SHEETS = 20_000, 255
CHUNK = 1 << 16
DAMAGED = "ask for the file again"

_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,4})?")
_ESCAPED = re.compile("_x([0-9A-Fa-f]{4})_")


class DefinedName(NamedTuple):
    """A name as the file holds it; ``scope`` is the number of the sheet to which it belongs, or empty."""

    name: str
    scope: str
    text: str


class Found(NamedTuple):
    """What stands in a cell: the stored value, and the formula if there is one."""

    value: Any
    formula: str | None


@dataclass
class Book:
    """The sheets of a workbook in their order, each with the part that holds it, its defined names, the part of shared texts."""

    sheets: dict[str, str] = field(default_factory=dict)
    names: list[DefinedName] = field(default_factory=list)
    texts: str = ""


class _Elements:
    """What a parser tells of the elements of a part; ``within`` are those that are open, from the outermost."""

    def __init__(self, archive: Archive, part: str) -> None:
        self.archive, self.part = archive, part
        self.within: list[str] = []
        self.count = 0

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        self.count += 1
        self.within.append(tag.rpartition("}")[2])
        if self.count > MOST_ELEMENTS or len(self.within) > DEEPEST:
            raise self.too_much()
        self.opened(self.within[-1], attributes)

    def end(self, _tag: str) -> None:
        self.closed(self.within.pop())

    def data(self, text: str) -> None:
        """Take a piece of text."""

    def close(self) -> None:
        """Do nothing more at the end."""

    def opened(self, tag: str, attributes: Mapping[str, str]) -> None:
        """Take the beginning of an element."""

    def closed(self, tag: str) -> None:
        """Take the end of an element."""

    def too_much(self) -> Exception:
        return self.archive.refused("holds far more than such a workbook needs", self.part)


def _parse(archive: Archive, part: str, elements: _Elements) -> None:
    from defusedxml.common import DefusedXmlException  # noqa: PLC0415 - only where a workbook is read
    from defusedxml.ElementTree import ParseError, XMLParser  # noqa: PLC0415

    content = archive.read(part)
    parser = XMLParser(target=elements, forbid_dtd=True)
    try:
        for place in range(0, len(content), CHUNK):
            if time.monotonic() > archive.until:
                raise archive.refused("takes longer to read than any such workbook", part)
            parser.feed(content[place : place + CHUNK])
        parser.close()
    except DefusedXmlException as error:
        raise archive.refused("holds what no workbook needs: a document type or an entity", part) from error
    except (ParseError, LookupError, ValueError) as error:
        raise archive.refused(f"is damaged: {part} cannot be read", error, advice=DAMAGED) from error


class _Workbook(_Elements):
    def __init__(self, archive: Archive, part: str) -> None:
        super().__init__(archive, part)
        self.sheets: list[tuple[str, str]] = []
        self.names: list[DefinedName] = []
        self._text: list[str] | None = None
        self._attributes: Mapping[str, str] = {}

    def opened(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "sheet":
            target = next((value for key, value in attributes.items() if key.endswith("}id")), "")
            self.sheets.append((attributes.get("name", ""), target))
        elif tag == "definedName":
            self._text, self._attributes = [], attributes
        if len(self.sheets) > MOST_SHEETS or len(self.names) > MOST_NAMES:
            raise self.too_much()

    def data(self, text: str) -> None:
        if self._text is not None:
            self._text.append(text)

    def closed(self, tag: str) -> None:
        if tag == "definedName" and self._text is not None:
            given = self._attributes
            self.names.append(DefinedName(given.get("name", ""), given.get("localSheetId", ""), "".join(self._text).strip()))
            self._text = None


class _Relations(_Elements):
    def __init__(self, archive: Archive, part: str) -> None:
        super().__init__(archive, part)
        self.targets: dict[str, str] = {}
        self.texts = ""

    def opened(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "Relationship":
            target = attributes.get("Target", "")
            target = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
            self.targets[attributes.get("Id", "")] = target
            if attributes.get("Type", "").endswith("/sharedStrings"):
                self.texts = target


class _Texts(_Elements):
    """The texts that cells share. A text may come in pieces of different looks; how it is pronounced is no part of it."""

    def __init__(self, archive: Archive, part: str) -> None:
        super().__init__(archive, part)
        self.texts: list[str] = []
        self._pieces: list[str] = []

    def data(self, text: str) -> None:
        if self.within and self.within[-1] == "t" and "rPh" not in self.within:
            self._pieces.append(text)

    def closed(self, tag: str) -> None:
        if tag == "si":
            self.texts.append(plain("".join(self._pieces)))
            self._pieces = []


class _Cells(_Elements):
    """The cells of a sheet that are wanted. A cell that does not say where it stands follows the one before it."""

    def __init__(self, archive: Archive, part: str, texts: list[str], wanted: Callable[[int, int], bool]) -> None:
        super().__init__(archive, part)
        self.texts, self.wanted = texts, wanted
        self.found: dict[tuple[int, int], Found] = {}
        self._place = (0, 0)
        self._kind = ""
        self._pieces: dict[str, list[str]] | None = None

    def opened(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "row":
            number = attributes.get("r", "")
            self._place = (int(number) if number.isdigit() else self._place[0] + 1, 0)
        elif tag == "c":
            named = cell_of(attributes.get("r", ""))
            self._place = named or (self._place[0], self._place[1] + 1)
            self._kind = attributes.get("t", "n")
            self._pieces = {} if self.wanted(*self._place) else None
        elif tag == "f" and self._pieces is not None:
            self._pieces["f"] = []
        elif tag in ("mergeCell", "hyperlink"):
            area = area_of(f"sheet!{attributes.get('ref', '')}")
            if area is not None and area.size > MOST_CELLS:
                raise self.too_much()

    def data(self, text: str) -> None:
        tag = self.within[-1] if self.within else ""
        if self._pieces is not None and tag in ("v", "f", "t") and "rPh" not in self.within:
            self._pieces.setdefault("f" if tag == "f" else "v", []).append(text)

    def closed(self, tag: str) -> None:
        if tag == "c" and self._pieces is not None:
            formula = "".join(self._pieces["f"]) if "f" in self._pieces else None
            value = self._value("".join(self._pieces["v"])) if "v" in self._pieces else None
            if value is not None or formula is not None:
                self.found[self._place] = Found(value, formula)
            self._pieces = None

    def _value(self, text: str) -> Any:
        if self._kind == "s":
            number = int(text) if text.strip().isdigit() else -1
            if not 0 <= number < len(self.texts):
                raise self.archive.refused("is damaged: a cell names a text that is not there", self.part, advice=DAMAGED)
            return self.texts[number]
        if self._kind == "b":
            return text.strip() == "1"
        if self._kind in ("str", "inlineStr", "e", "d"):
            return plain(text)
        return number_of(text)


def plain(text: str) -> str:
    """Return a text as it was typed: signs that XML cannot hold stand in it as their number, such as ``_x000D_``."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)[: LONGEST + 1] if "_x" in text else text[: LONGEST + 1]


def number_of(text: str) -> int | float | str | None:
    """Return a number as it is stored; what is none stays a text, so that nothing typed is lost."""
    clean = text.strip()
    if not clean:
        return None
    if not _NUMBER.fullmatch(clean) or not math.isfinite(float(clean)):
        return text
    return int(clean) if len(clean) < 16 and clean.lstrip("-").isdecimal() else float(clean)


def book_of(archive: Archive) -> Book:
    """Read which sheets there are, where they stand, and the defined names."""
    elements = _Workbook(archive, "xl/workbook.xml")
    relations = _Relations(archive, "xl/_rels/workbook.xml.rels")
    _parse(archive, elements.part, elements)
    _parse(archive, relations.part, relations)
    sheets = {name: relations.targets.get(target, "") for name, target in elements.sheets}
    if len(sheets) < len(elements.sheets):
        raise archive.refused("is damaged: two sheets have one name", advice=DAMAGED)
    return Book(sheets, elements.names, relations.texts)


def texts_of(archive: Archive, book: Book) -> list[str]:
    """Read the texts that cells share; a workbook without texts has none."""
    elements = _Texts(archive, book.texts)
    if book.texts:
        _parse(archive, book.texts, elements)
    return elements.texts


def cells_of(archive: Archive, part: str, texts: list[str], wanted: Callable[[int, int], bool]) -> dict[tuple[int, int], Found]:
    """Read the cells of a sheet that are wanted and hold something, by row and column counted from 1."""
    elements = _Cells(archive, part, texts, wanted)
    _parse(archive, part, elements)
    return elements.found
