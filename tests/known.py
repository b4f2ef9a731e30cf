"""Values of many designs at once, of every cell: also of those for the eye, which arrays of designs do without."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np

from tests.support import model, not_for_arrays


@cache
def columns(profile: str) -> dict[str, tuple[Any, ...]]:
    """The columns that are looked up in, by their defined names: of tables, and the options of choices."""
    found = {f"{table.name}_{one.name}": tuple(one.values) for table in model(profile).tables for one in table.columns}
    return found | {f"list_{entry.name}": entry.options for entry in model(profile).inputs}


class Known:
    """What stands under each key in designs of which each input may be an array; columns and constants as well."""

    def __init__(self, profile: str, inputs: Mapping[str, Any]) -> None:
        self._model = model(profile)
        constants = {one.name: one.value for one in self._model.constants}
        self.values = constants | self._model.all_values(inputs) | columns(profile)
        self._not_for_arrays = not_for_arrays(profile)
        self._computed: set[str] = set()

    def get(self, key: str) -> Any:
        """The value of a key, a column as a tuple; None if there is none."""
        cell = self._model.cells.get(key)
        if cell is None and key in self._not_for_arrays:
            return None
        if cell is not None and (cell.grid.single or cell.grid.chart) and key not in self._computed:
            self._computed.add(key)
            task = self._model.task(key)
            for other in task.arguments:
                if isinstance(other, str):
                    self.get(other)
            with np.errstate(all="ignore"):
                self.values[key] = task.run(self.values)
        return self.values.get(key)
