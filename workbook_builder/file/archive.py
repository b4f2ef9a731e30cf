"""Opening a stranger's file: an .xlsx is a zip archive, whose parts are read within limits. Nothing in it is believed.

Each limit is far above what a workbook of this package needs, also after another program saved it, and low enough that no
file takes more than a moment and a few tens of megabytes.
"""

from __future__ import annotations

import stat
import struct
import time
import zipfile
import zlib
from pathlib import Path

from workbook_builder.language.errors import Problem, WorkbookError

LARGEST_FILE, LARGEST_PART, LARGEST_CONTENT = 10_000_000, 12_000_000, 60_000_000
MOST_PARTS, LARGEST_DIRECTORY = 500, 200_000
DENSEST = 300  # bytes of content for each byte of the file; sheets of this package have some 10
LONGEST = 5.0  # seconds for a file
# what may hold a program, or leads out of the file: it is refused before anything is read
FORBIDDEN = ("xl/externallinks", "xl/vbaproject", "xl/activex", "xl/embeddings", "xl/connections")
SAVE_AS = "save it as .xlsx, without a password; .xls, .ods and .csv are not read"
_ZIP, _OLD = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_END, _END_SIZE = b"PK\x05\x06", 22
_LARGE, _LARGE_SIZE = b"PK\x06\x07", 20  # stands before the end of an archive whose directory is counted elsewhere
_COMPRESSION = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


class Archive:
    """The parts of an .xlsx file by their names; use it as a context, which closes the file.

    Raises
    ------
    WorkbookError
        if the file is no .xlsx, or more than any workbook of this package could be.

    """

    def __init__(self, file: Path) -> None:
        self.name = file.name
        _check_kind(file)
        try:
            self._zip = zipfile.ZipFile(file)
        except (zipfile.BadZipFile, OSError, ValueError, struct.error, UnicodeDecodeError, NotImplementedError) as error:
            raise self.refused("is damaged: its directory cannot be read", error) from error
        self.until = time.monotonic() + LONGEST
        try:
            self._parts = self._checked()
        except WorkbookError:
            self._zip.close()
            raise

    def __enter__(self) -> Archive:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()

    def read(self, part: str) -> bytes:
        """Return the content of a part."""
        info = self._parts.get(part.lower())
        if info is None:
            raise self.refused("lacks a part that every workbook has", part)
        try:
            with self._zip.open(info) as stream:
                content = stream.read(LARGEST_PART + 1)
        except (zipfile.BadZipFile, OSError, EOFError, ValueError, RuntimeError, NotImplementedError, zlib.error, struct.error) as error:
            raise self.refused(f"is damaged: {part} cannot be read", error) from error
        if len(content) > LARGEST_PART:
            raise self.refused("holds far more than such a workbook needs", part, f"at most {LARGEST_PART} bytes in a part")
        return content

    def refused(self, fault: str, got: object = "", accepted: str = "", advice: str = SAVE_AS) -> WorkbookError:
        """Return the error that says what is wrong with this file."""
        return refusal(self.name, fault, got, accepted, advice)

    def _checked(self) -> dict[str, zipfile.ZipInfo]:
        found: dict[str, zipfile.ZipInfo] = {}
        content = packed = 0
        for part in self._zip.infolist():
            key = part.filename.lower()
            if key in found:
                raise self.refused("is damaged: it holds a part twice", part.filename)
            if part.flag_bits & 1:
                raise self.refused("is locked by a password", part.filename)
            if part.compress_type not in _COMPRESSION:
                raise self.refused("is packed in a way that is not read", part.filename)
            if key.startswith(FORBIDDEN):
                advice = "save it without macros, links and embedded files"
                raise self.refused("holds a part that is never opened", part.filename, advice=advice)
            found[key] = part
            content, packed = content + part.file_size, packed + part.compress_size
        if "mimetype" in found:
            raise self.refused("is an OpenDocument file, not an .xlsx file")
        if content > LARGEST_CONTENT or content > DENSEST * max(packed, 1):
            raise self.refused("holds far more than such a workbook needs", f"{content} bytes", f"at most {LARGEST_CONTENT} bytes")
        return found


def refusal(name: str, fault: str, got: object = "", accepted: str = "", advice: str = SAVE_AS) -> WorkbookError:
    """Return the error that says why a file is not read."""
    return WorkbookError([Problem(name, fault, str(got)[:200], accepted, advice)])


def _check_kind(file: Path) -> None:
    """Refuse what is no .xlsx file, or a directory of parts that would take long to read; one sentence for each kind."""
    try:
        kind = file.stat().st_mode
    except (OSError, ValueError) as error:
        raise refusal(file.name, "there is no such file", advice="") from error
    if stat.S_ISDIR(kind):
        raise refusal(file.name, "is a folder, not a file", advice="name the .xlsx file in it")
    if not stat.S_ISREG(kind):
        raise refusal(file.name, "is no ordinary file", advice="copy it into a file first")
    try:
        with file.open("rb") as stream:
            size = stream.seek(0, 2)
            stream.seek(0)
            head = stream.read(len(_OLD))
            stream.seek(max(0, size - _END_SIZE - 0xFFFF))
            tail = stream.read()
            stream.seek(0)
            encrypted = head == _OLD and "EncryptedPackage".encode("utf-16-le") in stream.read(LARGEST_FILE)
    except OSError as error:
        raise refusal(file.name, "cannot be read", error.strerror or error, advice="") from error
    if not size:
        raise refusal(file.name, "is empty", advice="ask for it again")
    if encrypted:
        raise refusal(file.name, "is locked by a password")
    if head == _OLD:
        raise refusal(file.name, "is an .xls file or another old document, not an .xlsx file")
    if head[: len(_ZIP)] != _ZIP:
        raise refusal(file.name, "is not an .xlsx file")
    if size > LARGEST_FILE:
        raise refusal(file.name, "is too large", f"{size} bytes", f"at most {LARGEST_FILE} bytes")
    place = tail.rfind(_END)
    if place < 0 or len(tail) < place + _END_SIZE:
        raise refusal(file.name, "is damaged: its end is missing", advice="ask for it again")
    parts, directory = struct.unpack("<HI", tail[place + 10 : place + 16])
    elsewhere = tail[max(0, place - _LARGE_SIZE) :].startswith(_LARGE)
    if elsewhere or parts > MOST_PARTS or directory > LARGEST_DIRECTORY:
        raise refusal(file.name, "holds far more parts than such a workbook needs", parts, f"at most {MOST_PARTS}")
