"""LibreOffice Calc: the main oracle, a program people will really open the workbook with.

A worker process holds one headless `soffice` on a named pipe with a throw-away profile. The profile tells
Calc to recalculate every file on load: by default it trusts the values stored in an .xlsx file, and a test
would then compare the builder with itself. The worker and its soffice form a process group of their own,
which is all that is ever killed.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.engines.protocol import Book, Cell, CellError, Engine, EngineError, Entry, Formula
from tests.engines.workbook_map import Address, WorkbookMap

SYSTEM_PYTHON = "/usr/bin/python3"
"""Debian's interpreter, which has the package python3-uno."""

START_SECONDS = 90.0
ANSWER_SECONDS = 180.0
END_SECONDS = 20.0
CASES_A_MESSAGE = 50

_PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Office.Common/Security/Scripting">
<prop oor:name="MacroSecurityLevel" oor:op="fuse"><value>3</value></prop></item>
<item oor:path="/org.openoffice.Setup/L10N">
<prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>en-US</value></prop></item>
</oor:items>
"""


class _Worker:
    """The worker process and its temporary folder."""

    def __init__(self) -> None:
        for program in ("soffice", SYSTEM_PYTHON):
            if shutil.which(program) is None:
                raise EngineError(f"LibreOffice engine: {program} is not installed; run: bash tests/run")
        self._folder = tempfile.TemporaryDirectory(prefix="calc-")
        user = Path(self._folder.name, "profile", "user")
        user.mkdir(parents=True)
        (user / "registrymodifications.xcu").write_text(_PROFILE, encoding="utf-8")
        self._errors = Path(self._folder.name, "errors").open("w+b")  # noqa: SIM115 - closed by end()
        self._process = subprocess.Popen(
            [SYSTEM_PYTHON, str(Path(__file__).with_name("libreoffice_worker.py")), str(user.parent)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            start_new_session=True,
            env=_clean_environment(self._folder.name),
        )
        self._unread = b""
        self._answer(START_SECONDS)

    @property
    def folder(self) -> Path:
        """The folder of profile, pipe and error log."""
        return Path(self._folder.name)

    @property
    def process_id(self) -> int:
        """The worker's process and, at once, its process group."""
        return self._process.pid

    def ask(self, **request: Any) -> dict[str, Any]:
        """Send a request and give the answer; a failure told by the worker is raised."""
        if self._process.stdin is None or self._process.stdin.closed:
            raise EngineError("LibreOffice engine: it was closed")
        try:
            self._process.stdin.write(json.dumps(request).encode() + b"\n")
            self._process.stdin.flush()
        except BrokenPipeError:
            self._fail("it died")
        answer = self._answer(ANSWER_SECONDS)
        if "failure" in answer:
            raise EngineError(f"LibreOffice engine: {answer['failure']}")
        return answer

    def _answer(self, seconds: float) -> dict[str, Any]:
        assert self._process.stdout is not None
        pieces = [self._unread]
        while b"\n" not in pieces[-1]:
            if not select.select([self._process.stdout], [], [], seconds)[0]:
                self._fail(f"no answer in {seconds:g} s")
            piece = os.read(self._process.stdout.fileno(), 1 << 20)
            if not piece:
                self._fail("it died")
            pieces.append(piece)
        line, self._unread = b"".join(pieces).split(b"\n", 1)
        answer: dict[str, Any] = json.loads(line)
        return answer

    def _fail(self, reason: str) -> None:
        self._errors.seek(0)
        said = self._errors.read().decode(errors="replace").strip()
        self.end(kill=True)
        raise EngineError(f"LibreOffice engine: {reason}. It said: {said[-2000:] or 'nothing'}")

    def end(self, *, kill: bool = False) -> None:
        """End soffice and the worker, by force where they do not go, and remove the folder."""
        if self._process.stdin is None or self._process.stdin.closed:
            return
        with contextlib.suppress(BrokenPipeError):
            self._process.stdin.close()  # the worker then ends soffice and itself
        try:
            self._process.wait(0 if kill else END_SECONDS)
        except subprocess.TimeoutExpired:
            kill = True
        if kill:  # the whole group: a worker that died by itself leaves its soffice behind
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()
        self._errors.close()
        self._folder.cleanup()


def _clean_environment(folder: str) -> dict[str, str]:
    """Without the test run's virtual environment; with the pipe's socket inside our folder."""
    dropped = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
    kept = {key: value for key, value in os.environ.items() if key not in dropped}
    return kept | {"OSL_SOCKET_PATH": folder, "LC_ALL": "C.UTF-8"}


class LibreOfficeBook(Book):
    """A workbook loaded in LibreOffice."""

    def __init__(self, worker: _Worker, path: Path) -> None:
        super().__init__(path)
        self._worker = worker
        opened = worker.ask(do="open", path=str(path.resolve()))
        self._number: int | None = opened["book"]
        self._sheet = {name: index for index, name in enumerate(opened["sheets"])}
        self._plans: dict[tuple[Address, ...], int] = {}

    def _run(self, cases: Sequence[Mapping[Address, Entry]], wanted: Sequence[Address]) -> list[list[Cell]]:
        plan = self._plan(tuple(wanted))
        messages = [[[*self._place(cell), *_encoded(cell, entry)] for cell, entry in case.items()] for case in cases]
        rows: list[list[Any]] = []
        for start in range(0, len(messages), CASES_A_MESSAGE):
            part = messages[start : start + CASES_A_MESSAGE]
            rows += self._worker.ask(do="run", book=self._number, plan=plan, cases=part)["rows"]
        is_formula = [cell in self.map.formula_set for cell in wanted]
        return [[_decoded(*pair) for pair in zip(row, is_formula, strict=True)] for row in rows]

    def _plan(self, wanted: tuple[Address, ...]) -> int:
        if wanted not in self._plans:
            cells = [self._place(cell) for cell in wanted]
            self._plans[wanted] = self._worker.ask(do="plan", book=self._number, cells=cells)["plan"]
        return self._plans[wanted]

    def _place(self, cell: Address) -> tuple[int, int, int]:
        return self._sheet[cell.sheet], cell.row - 1, cell.column - 1

    def close(self) -> None:
        if self._number is not None:
            self._worker.ask(do="close", book=self._number)
            self._number = None


def _encoded(cell: Address, entry: Entry) -> tuple[str, str | float | None]:
    match entry:
        case None:
            return "blank", None
        case bool():
            return "logical", entry
        case int() | float():
            return "number", float(entry)
        case str():
            return "text", entry
        case Formula():
            return "formula", entry.text
    raise TypeError(f"{cell}: cannot enter {entry!r}; accepted are number, text, logical, Formula, None")


def _decoded(value: Any, is_formula: bool) -> Cell:
    if isinstance(value, dict):
        return CellError(value["error"])
    if value == "" and not is_formula:
        return None
    return value if isinstance(value, str) else float(value)


class LibreOfficeEngine(Engine):
    """One soffice session."""

    name = "libreoffice"
    booleans_are_numbers = True

    def __init__(self) -> None:
        self._worker = _Worker()

    @property
    def folder(self) -> Path:
        """The throw-away folder of this session, gone after `close`."""
        return self._worker.folder

    @property
    def process_id(self) -> int:
        """The worker process, head of the group that also holds soffice."""
        return self._worker.process_id

    def open(self, path: Path) -> LibreOfficeBook:
        return LibreOfficeBook(self._worker, path)

    def export_pdf(self, path: Path, out: Path, entries: Mapping[str, Entry] | None = None) -> None:
        """Print the workbook, recalculated with the entries, to a PDF file."""
        self._store(path, out, "calc_pdf_Export", entries or {})

    def resave(self, path: Path, out: Path, entries: Mapping[str, Entry] | None = None) -> None:
        """Save the workbook as .xlsx, as a person would who filled in the entries in LibreOffice."""
        self._store(path, out, "Calc MS Excel 2007 XML", entries or {})

    def _store(self, path: Path, out: Path, filter_name: str, entries: Mapping[str, Entry]) -> None:
        cells = WorkbookMap.of_file(path).cells(list(entries)) if entries else []
        written = [
            [cell.sheet, cell.row - 1, cell.column - 1, *_encoded(cell, entry)] for cell, entry in zip(cells, entries.values(), strict=True)
        ]
        self._worker.ask(do="store", path=str(path.resolve()), out=str(out.resolve()), filter=filter_name, entries=written)

    def close(self) -> None:
        self._worker.end()
