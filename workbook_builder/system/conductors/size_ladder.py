"""Columns that grids share which try the sizes of the profile's table one after the other, from the thinnest."""

from __future__ import annotations

import numpy as np

from workbook_builder.language.grids import Grid
from workbook_builder.language.tables import Table
from workbook_builder.language.values import Value
from workbook_builder.system.conductors.runs import joined


def ampacity_columns(grid: Grid) -> None:
    """Add the ampacities of a row's ``size`` by its ``insulation`` and by the ``terminal_class`` at its ends."""

    @grid.column(
        symbol="I,ins",
        unit="A",
        words="ampacity by the insulation",
        formula='IF(size="none","",INDEX(ampacity_amps,MATCH(size&"|"&insulation,ampacity_key,0)))',
    )
    def insulated(size: Value, insulation: Value, *, ampacity: Table) -> Value:
        return ampacity.exact(joined(size, insulation), "key", "amps")

    @grid.column(
        symbol="I,term",
        unit="A",
        words="ampacity by the terminals",
        formula='IF(size="none","",INDEX(ampacity_amps,MATCH(size&"|"&terminal_class,ampacity_key,0)))',
    )
    def terminated(size: Value, terminal_class: Value, *, ampacity: Table) -> Value:
        return ampacity.exact(joined(size, terminal_class), "key", "amps")


def smallest_column(grid: Grid) -> None:
    """Add the smallest size that ``does`` down to a row; the last row holds the answer, or none."""

    @grid.column(
        kind="text",
        symbol="smallest",
        words="smallest that does so far",
        named=True,
        formula='IF(previous_smallest<>"none",previous_smallest,IF(does,size,"none"))',
    )
    def smallest(previous_smallest: Value, does: Value, size: Value) -> Value:
        return np.where(previous_smallest != "none", previous_smallest, np.where(does == 1, size, "none"))

    @grid.start(formula='IF(does,size,"none")')
    def smallest_start(does: Value, size: Value) -> Value:
        return np.where(does == 1, size, "none")
