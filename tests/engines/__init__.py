"""Spreadsheet engines behind one protocol, so that a test is written once and run in all of them.

`engine(name)` gives the one engine of that name of this process; it is started at first use and ended at
exit. An engine that is not installed raises `EngineError`: a check that could not run has not passed.
"""

from __future__ import annotations

import atexit
from functools import cache

from tests.engines.comparison import plain, same
from tests.engines.formulas_engine import FormulasEngine
from tests.engines.ironcalc_engine import IronCalcEngine
from tests.engines.libreoffice import LibreOfficeEngine
from tests.engines.protocol import Book, Cell, CellError, Engine, EngineError, Entry, Formula
from tests.engines.workbook_map import Address, WorkbookMap

ENGINES: dict[str, type[Engine]] = {
    "libreoffice": LibreOfficeEngine,
    "formulas": FormulasEngine,
    "ironcalc": IronCalcEngine,
}

__all__ = [
    "ENGINES",
    "Address",
    "Book",
    "Cell",
    "CellError",
    "Engine",
    "EngineError",
    "Entry",
    "Formula",
    "LibreOfficeEngine",
    "WorkbookMap",
    "engine",
    "engines",
    "libreoffice_engine",
    "plain",
    "same",
]


@cache
def engine(name: str) -> Engine:
    """The engine of that name, one for the whole process."""
    if name not in ENGINES:
        raise EngineError(f"engine: got {name!r}; accepted are {', '.join(ENGINES)}")
    started = ENGINES[name]()
    atexit.register(started.close)
    return started


def engines() -> list[Engine]:
    """All engines; every one must be there."""
    return [engine(name) for name in ENGINES]


def libreoffice_engine() -> LibreOfficeEngine:
    """The LibreOffice engine, which alone can also draw a PDF or save a workbook again."""
    found = engine("libreoffice")
    assert isinstance(found, LibreOfficeEngine)
    return found
