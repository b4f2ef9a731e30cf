"""Putting a finished file in its place: whole or not at all, and never over what a person typed.

A kill or a full disk at any moment leaves the former file as it was, or none.
"""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook_builder.file.reading import read_workbook
from workbook_builder.language.errors import Problem, WorkbookBuilderError, WorkbookError
from workbook_builder.language.texts import writable

ADVICE = {errno.ENOSPC: "the disk is full", errno.EACCES: "is it open elsewhere, or is the folder not yours?"}
FORCE = "give another path with -o, or --force to replace it"


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place, then move it there in one step.

    Raises
    ------
    WorkbookError
        if the file cannot be written; what stood there stays.

    """
    beside = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists() and not path.is_file():
            raise WorkbookError([Problem(str(path), "is no ordinary file, and is not written to")])
        handle, name = tempfile.mkstemp(prefix=f".{path.stem[:40]}-", suffix=".part", dir=path.parent)
        beside = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(path.stat().st_mode if path.exists() else 0o666 & ~_umask())
        beside.replace(path)
        beside = None
    except OSError as error:
        advice = ADVICE.get(error.errno or 0, "")
        raise WorkbookError([Problem(str(path), "cannot be written", error.strerror or str(error), advice=advice)]) from error
    finally:
        if beside is not None:
            with contextlib.suppress(OSError):
                beside.unlink()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def may_replace(path: Path, inputs: Mapping[str, Any], source: Path | None = None, profile: str | Path | None = None) -> None:
    """Refuse to write over a design file, over what is no workbook of this package, and over entries that would be lost.

    ``inputs`` are what is about to be written; ``source`` is the design file that they come from.
    A workbook may name a ``profile`` that is not built in; then that is needed to read it.

    Raises
    ------
    WorkbookError
        if something would be lost.

    """
    if not path.exists():
        return
    if source is not None and source.exists() and path.samefile(source):
        raise WorkbookError([Problem(str(path), "is the design file itself", advice="give another path with -o")])
    try:
        typed = read_workbook(path, profile).inputs
    except WorkbookBuilderError as error:
        raise WorkbookError([Problem(str(path), "is no workbook of this package, and is not replaced", advice=FORCE)]) from error
    written = {name: writable(value) if isinstance(value, str) else value for name, value in inputs.items()}
    lost = [name for name, value in typed.items() if written.get(name) != value]
    if lost:
        names = ", ".join(lost[:4]) + (f" and {len(lost) - 4} more" if len(lost) > 4 else "")
        raise WorkbookError([Problem(str(path), "holds entries that would be lost", names, advice=FORCE)])
