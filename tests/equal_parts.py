"""What parts of formulas are in a thousand designs, with a fault and without, wherever the formula comes to them.

Of the designs some are drawn, some larger and smaller systems, some those in which faults are looked for, some full of junk.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

import numpy as np

from tests.faulty_designs import PROFILE, broad, further
from tests.formula_values import value_of
from tests.known import Known, columns
from tests.mutation import Mutant, call_of
from tests.roof import FULL, readings, stacked
from tests.strategies import as_reference, designs, plausible
from tests.support import whole_example
from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.file.building import plan_for
from workbook_builder.file.plan import Formula, address
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.xl import Token

DRAWN, SYSTEMS, SPOILT = 600, 300, 100
VARIED = ("module_isc", "module_imp", "module_vmp", "load1_w", "battery_capacity", "reading_v_pv", "reading_i_pv")
Span = tuple[int, int]
"""From where to before where a part of a formula goes, in pieces."""


@cache
def _pool() -> tuple[tuple[Known, int], ...]:
    """Many designs and how many they are: plausible ones, systems larger and smaller than the example, faulty and spoilt ones."""
    random = np.random.default_rng(5)
    example = whole_example() | readings(FULL, 0.6)
    varied = {name: value * random.uniform(0.6, 1.5, SYSTEMS) for name, value in example.items() if name in VARIED}
    systems = example | varied | {"array_parallel": random.integers(1, 12, SYSTEMS).astype(float)}
    spoilt = [as_reference(case) for case in (*broad(), *further(), *designs(PROFILE, 7, SPOILT))]
    given = ((plausible(PROFILE, 3, DRAWN), DRAWN), (systems, SYSTEMS), (stacked(spoilt), len(spoilt)))
    return tuple((Known(PROFILE, inputs), count) for inputs, count in given)


@cache
def _contents() -> dict[str, Any]:
    """What stands in each cell: the key of a formula's value, or a value."""
    return {
        f"{sheet.name}!{address(row, column)}": cell.content
        for sheet in plan_for(load_profile(PROFILE)).sheets
        for (row, column), cell in sheet.cells.items()
    }


@cache
def _found(sheet: str, name: str) -> Any:
    """The value of a name, or of an address on a sheet, in all designs of the pool; None where it is not known."""
    content = _contents().get(f"{sheet}!{name}")
    if isinstance(content, int | float | str):
        return content
    key = content.key if isinstance(content, Formula) else name
    if key in columns(PROFILE):
        return columns(PROFILE)[key]
    parts = [np.broadcast_to(np.asarray(known.get(key), dtype=object), count) for known, count in _pool()]
    joined = np.concatenate(parts)
    if any(one is None for one in joined):
        return None
    return joined.astype(float) if all(isinstance(one, int | float) for one in joined) else joined


def values_of(mutant: Mutant, pieces: Sequence[Token]) -> Any:
    """What a part of the formula is in each design of the pool; None where it is not known."""
    sheet, count = mutant.place.partition("!")[0], sum(count for _, count in _pool())
    found = value_of(pieces, lambda name: _found(sheet, name))
    return None if found is None else np.broadcast_to(found, count)


def worked_otherwise(mutant: Mutant) -> bool:
    """Whether the whole formula, worked here, differs from the reference in some design: then no part of it can be trusted."""
    sheet, _, place = mutant.place.partition("!")
    here, there = values_of(mutant, mutant.pieces), _found(sheet, place)
    if here is None or there is None:
        return False
    # an empty text may have come to stand among numbers
    here, there = (np.array([np.nan if is_missing(one) else one for one in side], dtype=object) for side in (here, there))
    return not all(_alike(one, other) or _near(one, other) for one, other in zip(here, there, strict=True))


def _near(one: Any, other: Any) -> bool:
    return not isinstance(one, str) and not isinstance(other, str) and math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)


def reached(mutant: Mutant) -> Any:
    """In which designs the formula comes to what is changed: by the conditions that are known of the IFs around it."""
    found = np.ones(sum(count for _, count in _pool()), dtype=bool)
    for function, arguments in around(mutant):
        place = next(n for n, (first, last) in enumerate(arguments) if first <= mutant.position < last)
        if function == "IF" and place:
            condition = values_of(mutant, mutant.pieces[slice(*arguments[0])])
            if condition is not None:
                found &= np.equal(condition, 1) if place == 1 else ~np.equal(condition, 1)
    return found


def around(mutant: Mutant) -> Iterator[tuple[str, list[Span]]]:
    """The calls around what is changed, with their arguments, from within."""
    position = mutant.position
    while True:
        function, arguments = call_of(mutant.pieces, position)
        if arguments[0][0] == 0:
            return
        yield function, arguments
        position = arguments[0][0] - 1


def with_fault(mutant: Mutant, span: Span) -> list[Token]:
    changed = Token(mutant.piece.kind, mutant.other)
    return [changed if n == mutant.position else mutant.pieces[n] for n in range(*span)]


def unchanged(mutant: Mutant, span: Span, where: Any = True) -> bool:
    """Whether a part of the formula is the same with the fault, in all designs that come to it; there must be some."""
    sound, faulty = values_of(mutant, mutant.pieces[slice(*span)]), values_of(mutant, with_fault(mutant, span))
    come = reached(mutant) & where
    if sound is None or faulty is None or not come.any():
        return False
    return all(_alike(one, other) for one, other in zip(sound[come], faulty[come], strict=True))


def _alike(one: Any, other: Any) -> bool:
    return bool(one == other) or (one != one and other != other)  # noqa: PLR0124 - NaN


def never(mutant: Mutant, pieces: Sequence[Token]) -> bool:
    """Whether a condition holds in no design that comes to it; there must be some."""
    found, come = values_of(mutant, pieces), reached(mutant)
    return found is not None and bool(come.any()) and not np.any(np.equal(found[come], 1))
