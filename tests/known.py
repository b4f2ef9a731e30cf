"""Values of many designs at once, of every cell: also of those for the eye, which arrays of designs do without."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np

from tests.support import evaluation, model

FEW = 3  # designs that are worked as fast one by one


@cache
def columns(profile: str) -> dict[str, tuple[Any, ...]]:
    """The columns that are looked up in, by their defined names: of tables, and the options of choices."""
    found = {f"{table.name}_{one.name}": tuple(one.values) for table in model(profile).tables for one in table.columns}
    return found | {f"list_{entry.name}": entry.options for entry in model(profile).inputs}


class Known:
    """What stands under each key in designs of which each input may be an array; columns and constants as well."""

    def __init__(self, profile: str, inputs: Mapping[str, Any]) -> None:
        self._evaluation = evaluation(profile)
        self.values = self._evaluation.all_values(inputs) | columns(profile)
        self._not_for_arrays = self._evaluation.for_one_at_a_time
        self._cells = self._evaluation.worked_as_arrays
        self._computed: set[str] = set()

    def get(self, key: str) -> Any:
        """The value of a key, a column as a tuple; None if there is none."""
        if key in self._not_for_arrays and key not in self._cells:
            return None
        if key in self._not_for_arrays and key not in self._computed:
            self._computed.add(key)
            for other in self._evaluation.calculations[key].needs:
                self.get(other)
            with np.errstate(all="ignore"):
                self.values[key] = self._evaluation.tasks[key].run(self.values, single_too=True)
        return self.values.get(key)


def values_of_each(designs: Sequence[Mapping[str, Any]], profile: str = "nec-2023") -> Iterator[dict[str, Any]]:
    """All values of many designs: as arrays, and one by one only what is for the eye."""
    chosen = evaluation(profile)
    if len(designs) < FEW:
        yield from map(chosen.all_values, designs)
        return
    known = Known(profile, as_arrays(designs))
    together = {key: known.values[key] for key in chosen.start({})}
    together |= {key: value for key in chosen.calculations if (value := known.get(key)) is not None}
    columns = [np.broadcast_to(np.asarray(value, dtype=object), len(designs)).tolist() for value in together.values()]
    # arrays also keep what was typed as it was given, and truth as a number
    alone = [key for key, one in chosen.calculations.items() if key not in together or one.step.kind in ("any", "flag")]
    for row in zip(*columns, strict=True):
        values = dict(zip(together, row, strict=True))
        chosen.carry_out(alone, values, many=False)
        yield values


def as_arrays(designs: Sequence[Mapping[str, Any]]) -> dict[str, np.ndarray]:
    """Many designs as one array for each input."""
    arrays = {}
    for name in {name for design in designs for name in design}:
        arrays[name] = np.empty(len(designs), dtype=object)
        arrays[name][:] = [design.get(name) for design in designs]
    return arrays
