"""Whether the workbook was recalculated: what stands in the entry cells against what was last read from them.

A formula cannot tell that formulas are not calculated. Decorations can, where a program works them out whenever it draws
the page: then a cell says NOT RECALCULATED by its number format, while entries and their mirrors differ. Excel draws so
in manual mode as well; LibreOffice does not, so the sheet Proof also has a handshake.
"""

from __future__ import annotations

from workbook_builder.evaluation.entries import LOGICAL_TYPED, TEXT_TYPED
from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Alarm

ENTERED, MIRRORED, LINE = "cells_typed", "cells_read", "cells_line"


def area_of(table: str) -> tuple[str, str]:
    """Return the names of the block of an entry table and of the column that mirrors it."""
    return f"{ENTERED}_{table}", f"{MIRRORED}_{table}"


def alarms(model: Model, first: tuple[int, int], last: tuple[int, int], look: str = "stale") -> list[Alarm]:
    """Return the alarms of a block of cells; names are used, since old programs refuse other sheets' addresses here."""
    typed, read = ENTERED, MIRRORED
    here = f"ISNUMBER({LINE})"  # only lines of entries have a row number; the tables' rows between them are seen below
    found = [
        f'SUMPRODUCT({here}*ISNUMBER({typed})*({typed}<>{read})*({read}<>"{LOGICAL_TYPED}"))>0',
        f'SUMPRODUCT({here}*ISTEXT({typed})*({typed}<>{read})*({read}<>"{TEXT_TYPED}"))>0',
        f'SUMPRODUCT({here}*ISBLANK({typed})*({read}<>""))>0',
    ]
    for table in model.entry_tables:
        found += _of_table(*area_of(table.name))
    return [Alarm(first, last, condition, look) for condition in found]


def _of_table(typed: str, read: str) -> list[str]:
    """Return the conditions of a table, whose mirrors stand in another order: numbers counted and summed, texts counted.

    Some programs count a typed truth value as a number; then the sums say nothing.
    """
    logical = f'COUNTIF({read},"{LOGICAL_TYPED}")'
    return [
        f"OR(COUNT({typed})<COUNT({read}),COUNT({typed})>COUNT({read})+{logical})",
        f"AND({logical}=0,ROUND(SUMPRODUCT({typed})-SUMPRODUCT({read}),6)<>0)",
        f'COUNTIF({typed},"DC")<>COUNTIF({read},"DC")',
    ]
