"""The corpus: each file by what it is, and a function that writes it. Run it to write all into a folder, to look at them."""

from __future__ import annotations

import io
import os
import struct
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
RELATIONS = 'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
HEAD = '<?xml version="1.0" encoding="UTF-8"?>'
LARGE = 95_000_000
WHOLE = "$A$1:$XFD$1048576"


def book(names: str = '<definedName name="meta_profile">Start!$A$1</definedName>', sheets: str = "", extra: str = "") -> str:
    sheets = sheets or '<sheet name="Start" sheetId="1" r:id="rId1"/>'
    return f"{HEAD}{extra}<workbook {MAIN} {RELATIONS}><sheets>{sheets}</sheets><definedNames>{names}</definedNames></workbook>"


RELS = (
    f'{HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" '
    'Target="worksheets/sheet1.xml"/>'
    '<Relationship Id="rId2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" '
    'Target="sharedStrings.xml"/></Relationships>'
)


def sheet(rows: str = '<row r="1"><c r="A1" t="inlineStr"><is><t>nec-2023</t></is></c></row>', after: str = "") -> str:
    return f"{HEAD}<worksheet {MAIN}><sheetData>{rows}</sheetData>{after}</worksheet>"


def archive(**changed: str | bytes) -> bytes:
    """The parts of a small workbook, some of them changed: ``book``, ``rels``, ``sheet``, ``texts``, and others by their names."""
    parts: dict[str, str | bytes] = {
        "xl/workbook.xml": changed.pop("book", book()),
        "xl/_rels/workbook.xml.rels": changed.pop("rels", RELS),
        "xl/worksheets/sheet1.xml": changed.pop("sheet", sheet()),
        "xl/sharedStrings.xml": changed.pop("texts", f"{HEAD}<sst {MAIN}><si><t>a</t></si></sst>"),
        **{name.replace("__", "/"): content for name, content in changed.items()},
    }
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in parts.items():
            target.writestr(name, content)
    return made.getvalue()


def filled(before: str, unit: str, after: str, size: int = LARGE) -> str:
    return before + unit * (size // len(unit)) + after


def many_parts() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as target:
        for number in range(90_000):
            target.writestr(f"s{number}", b"")
    return made.getvalue()


def overlapping() -> bytes:
    """Hundreds of entries of the directory that all name one part, which itself is dense."""
    made = bytearray(archive(sheet=filled("", " ", "", 10_000_000)))
    end = made.rfind(b"PK\x05\x06")
    start = struct.unpack("<I", made[end + 16 : end + 20])[0]
    directory = bytes(made[start:end])
    entries = [b"PK\x01\x02" + one for one in directory.split(b"PK\x01\x02")[1:]]
    last = bytearray(entries[-2])
    name = last.find(b"xl/")
    more = [bytes(last[: name + 3]) + f"{number:04d}".encode() + bytes(last[name + 7 :]) for number in range(450)]
    whole = directory + b"".join(more)
    count = len(entries) + len(more)
    tail = b"PK\x05\x06" + struct.pack("<HHHHIIH", 0, 0, count, count, len(whole), start, 0)
    return bytes(made[:start]) + whole + tail


def cut(content: bytes, share: float) -> bytes:
    return content[: int(len(content) * share)]


def with_directory_elsewhere() -> bytes:
    made = bytearray(archive())
    end = made.rfind(b"PK\x05\x06")
    made[end + 16 : end + 20] = struct.pack("<I", 0xFFFFFF)
    return bytes(made)


def with_broken_content() -> bytes:
    made = bytearray(archive())
    place = made.find(b"xl/workbook.xml") + 40
    made[place : place + 30] = b"\x00" * 30
    return bytes(made)


def locked() -> bytes:
    """A zip archive that says of each part that it is encrypted."""
    made = bytearray(archive())
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = made.find(mark)
        while place >= 0:
            made[place + offset] |= 1
            place = made.find(mark, place + 1)
    return bytes(made)


def packed_otherwise() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_BZIP2) as target:
        target.writestr("xl/workbook.xml", book())
    return made.getvalue()


def twice() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as target:
        target.writestr("xl/workbook.xml", book())
        target.writestr("xl/Workbook.xml", book())
    return made.getvalue()


def document() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as target:
        target.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        target.writestr("content.xml", "<a/>")
    return made.getvalue()


OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504)
BOMB = (
    '<!DOCTYPE b [<!ENTITY a "aaaaaaaaaa">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1 if n else str()};" * 10}">' for n in range(1, 9)) + "]>"
)
OUTSIDE = '<!DOCTYPE b [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
NAMES = '<definedName name="n{0}">A!$A$1</definedName>'

# what it is → how it is made
FILES: dict[str, Callable[[], bytes]] = {
    "nothing": lambda: b"",
    "a letter": lambda: b"Dear colleague, here are my figures." * 40,
    "an old spreadsheet": lambda: OLD + "Workbook".encode("utf-16-le"),
    "a spreadsheet with a password": lambda: OLD + "EncryptedPackage".encode("utf-16-le"),
    "an OpenDocument spreadsheet": document,
    "an archive of locked parts": locked,
    "an archive packed otherwise": packed_otherwise,
    "a part that is there twice": twice,
    "an archive without a workbook": lambda: archive(book=""),
    "a workbook of others": lambda: archive(book=book("")),
    "the beginning of a file": lambda: cut(archive(), 0.5),
    "a file without its last byte": lambda: archive()[:-1],
    "a directory that is elsewhere": with_directory_elsewhere,
    "a part that cannot be unpacked": with_broken_content,
    "ninety thousand parts": many_parts,
    "parts that lie upon each other": overlapping,
    "a hundred thousand sheets": lambda: archive(
        book=book(sheets="".join(f'<sheet name="s{n}" sheetId="{n}" r:id="rId1"/>' for n in range(100_000)))
    ),
    "a million names": lambda: archive(book=book("".join(map(NAMES.format, range(1_000_000))))),
    "fifty thousand names": lambda: archive(book=book("".join(map(NAMES.format, range(50_000))))),
    "a name of the whole sheet": lambda: archive(book=book(f'<definedName name="meta_profile">Start!{WHOLE}</definedName>')),
    "an entry of the whole sheet": lambda: archive(
        book=book(
            f'<definedName name="meta_profile">Start!$A$1</definedName><definedName name="entry_module_voc">Start!{WHOLE}</definedName>'
        )
    ),
    "a merged cell of the whole sheet": lambda: archive(sheet=sheet(after='<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>')),
    "a link of the whole sheet": lambda: archive(sheet=sheet(after='<hyperlinks><hyperlink ref="A1:XFD1048576"/></hyperlinks>')),
    "empty cells": lambda: archive(sheet=sheet(filled('<row r="1">', "<c/>", "</row>"))),
    "half a million empty cells": lambda: archive(sheet=sheet(filled('<row r="1">', "<c/>", "</row>", 2_000_000))),
    "rows": lambda: archive(sheet=sheet(filled("", "<row/>", ""))),
    "styles": lambda: archive(xl__styles_xml=filled(f"{HEAD}<styleSheet {MAIN}>", "<xf/>", "</styleSheet>")),
    "texts": lambda: archive(texts=filled(f"{HEAD}<sst {MAIN}>", "<si><t>a</t></si>", "</sst>")),
    "a million small texts": lambda: archive(texts=filled(f"{HEAD}<sst {MAIN}>", "<si><t/></si>", "</sst>", 11_000_000)),
    "one text of many millions": lambda: archive(texts=filled(f"{HEAD}<sst {MAIN}><si><t>", "a", "</t></si></sst>")),
    "deep elements": lambda: archive(sheet=sheet("<a>" * 200_000 + "</a>" * 200_000)),
    "one element with many attributes": lambda: archive(
        sheet=sheet(f"<row {' '.join(f'a{n}={chr(34)}1{chr(34)}' for n in range(300_000))}/>")
    ),
    "entities within entities": lambda: archive(book=book(extra=BOMB).replace("Start!", "&a8;!")),
    "an entity of a file": lambda: archive(book=book(extra=OUTSIDE)),
    "no XML": lambda: archive(book="PROFILE: nec-2023"),
    "XML that ends in the middle": lambda: archive(book=cut(book().encode(), 0.6)),
    "an encoding that there is not": lambda: archive(book=book().replace("UTF-8", "UTF-99")),
    "bytes that are no text": lambda: archive(book=b"\xff\xfe\x00\xd8" * 50),
    "a text that is not there": lambda: archive(sheet=sheet('<row r="1"><c r="A1" t="s"><v>99</v></c></row>')),
    "two sheets of one name": lambda: archive(book=book(sheets='<sheet name="Start" r:id="rId1"/><sheet name="Start" r:id="rId1"/>')),
    "a sheet in no part": lambda: archive(book=book(sheets='<sheet name="Start" r:id="rId7"/>')),
    "a sheet in a part that leads out": lambda: archive(rels=RELS.replace("worksheets/sheet1.xml", "../../../../etc/passwd")),
    "a program in it": lambda: archive(xl__vbaProject_bin=b"\x00"),
    "a link to another file": lambda: archive(xl__externalLinks__externalLink1_xml="<a/>"),
}


def write(kind: str, folder: Path) -> Path:
    """Write a file of the corpus."""
    path = folder / "hostile.xlsx"
    path.write_bytes(FILES[kind]())
    return path


def special(kind: str, folder: Path) -> Path:
    """Make something that is no ordinary file."""
    path = folder / "special.xlsx"
    if kind == "a pipe":
        os.mkfifo(path)
    elif kind == "a folder":
        path.mkdir()
    elif kind == "a device":
        path.symlink_to("/dev/zero")
    elif kind == "a link that leads nowhere":
        path.symlink_to(folder / "nowhere")
    return path


if __name__ == "__main__":
    target = Path(sys.argv[1])
    for title, made in FILES.items():
        (target / f"{title.replace(' ', '_')}.xlsx").write_bytes(made())
