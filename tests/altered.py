"""Workbooks that came back otherwise than they went out: changes of the parts of a file, as careless hands or programs make them."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

Change = Callable[[str], str]
BOOK, TEXTS = "xl/workbook.xml", "xl/sharedStrings.xml"


def altered(file: Path, target: Path, changes: Mapping[str, Change]) -> Path:
    """Write a copy of a workbook with some parts changed; each change must change something."""
    with zipfile.ZipFile(file) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as copy:
        for part in source.infolist():
            content = source.read(part)
            if part.filename in changes:
                text = content.decode()
                content = changes[part.filename](text).encode()
                assert content != text.encode(), f"nothing changed in {part.filename}"
            copy.writestr(part.filename, content)
    return target


def sheet_part(file: Path, name: str) -> str:
    """The part that holds a sheet; those that this package writes stand in order."""
    with zipfile.ZipFile(file) as source:
        names = re.findall(r'<sheet name="([^"]*)"', source.read(BOOK).decode())
    return f"xl/worksheets/sheet{names.index(name) + 1}.xml"


def target_of(file: Path, name: str) -> str:
    """Where a defined name leads, such as ``Entries!$B$8``."""
    with zipfile.ZipFile(file) as source:
        found = re.search(rf'<definedName name="{name}">([^<]*)<', source.read(BOOK).decode())
    assert found, name
    return found[1]


def cell(file: Path, name: str) -> str:
    """The address of the cell to which a name leads, such as ``B8``."""
    return target_of(file, name).partition("!")[2].replace("$", "")


def names_leading(changes: Mapping[str, str]) -> Change:
    """Let names lead elsewhere."""

    def change(text: str) -> str:
        for name, target in changes.items():
            text, count = re.subn(rf'(<definedName name="{name}">)[^<]*', rf"\g<1>{target}", text)
            assert count == 1, name
        return text

    return change


def without_names(*names: str) -> Change:
    """Take names away."""
    return lambda text: re.sub(rf'<definedName name="(?:{"|".join(names)})">[^<]*</definedName>', "", text)


def with_names(*more: str) -> Change:
    """Add names, given as the elements of the file."""
    return lambda text: text.replace("</definedNames>", "".join(more) + "</definedNames>")


def holding(address: str, content: str, kind: str = "") -> Change:
    """Put something into a cell, given as the elements within it."""

    def change(text: str) -> str:
        mark = f' t="{kind}"' if kind else ""
        pattern = rf'<c r="{address}"( s="[0-9]+")?(?: t="[a-z]+")?(?:/>|>.*?</c>)'
        text, count = re.subn(pattern, lambda found: f'<c r="{address}"{found[1] or ""}{mark}>{content}</c>', text)
        assert count == 1, address
        return text

    return change


def texts(changes: Mapping[str, str]) -> Change:
    """Change texts that cells share."""

    def change(text: str) -> str:
        for former, later in changes.items():
            assert f"<t>{former}</t>" in text, former
            text = text.replace(f"<t>{former}</t>", f"<t>{later}</t>")
        return text

    return change
