"""Kinds of faults that cannot change any value that a design can lead to, each with its reason.

A fault is put down to a kind only if the kind's condition holds, which is looked up in the declarations or in designs drawn
at random wherever that can be done. `test_mutation` demands that each kind is used.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from tests.aimed import CALLED, evaluated, written
from tests.mutation import Mutant, argument_of, call_of
from tests.roof import FULL, readings
from tests.strategies import plausible
from tests.support import model, whole_example
from workbook_builder.building import plan_for
from workbook_builder.plan import address
from workbook_builder.profiles import load_profile
from workbook_builder.xl import Token

PROFILE = "nec-2023"
DRAWN = 400
NEAR = 1e-9
NOT_ARITHMETIC = ("&", "=", "<>", "<", ">", "<=", ">=")


class Kind(NamedTuple):
    """Why faults of a kind change nothing, and which faults are of the kind."""

    reason: str
    holds: Callable[[Mutant], bool]


# ---- what the declarations and drawn designs say of a name or a cell


@cache
def columns() -> dict[str, tuple[Any, ...]]:
    """The columns that are looked up in: of tables, and the options of choices."""
    found = {f"{table.name}_{one.name}": tuple(one.values) for table in model(PROFILE).tables for one in table.columns}
    return found | {f"list_{entry.name}": entry.options for entry in model(PROFILE).inputs}


@cache
def drawn() -> dict[str, Any]:
    """Values of many plausible designs; the second half are whole systems, larger and smaller than the example."""
    random = np.random.default_rng(5)
    plain = plausible(PROFILE, 3, DRAWN)
    first = model(PROFILE).all_values(plain)
    example = whole_example() | readings(FULL, 0.6)
    spread = {name: value * random.uniform(0.6, 1.5, DRAWN) for name, value in example.items() if name in SPREAD}
    second = model(PROFILE).all_values(example | spread | {"array_parallel": random.integers(1, 12, DRAWN).astype(float)})
    return {key: _joined(first[key], second[key]) for key in first if key in second}


def _joined(one: Any, other: Any) -> Any:
    halves = [np.broadcast_to(np.asarray(half, dtype=object), DRAWN) for half in (one, other)]
    joined = np.concatenate(halves)
    return joined.astype(float) if all(isinstance(value, int | float) for value in joined) else joined


@cache
def keys_of_cells() -> dict[str, str]:
    formulas = plan_for(load_profile(PROFILE)).formulas()
    return {f"{sheet.name}!{address(row, column)}": formula.key for sheet, row, column, formula in formulas}


@cache
def known() -> dict[str, Any]:
    looked_up = {name: np.array(column) for name, column in columns().items()}
    return {one.name: one.value for one in model(PROFILE).constants} | looked_up | drawn()


def known_value(key: str) -> Any:
    """What is known under a key; cells of grids for the eye are computed here, since arrays of designs do without them."""
    cell = model(PROFILE).cells.get(key)
    if cell is not None and (cell.grid.single or cell.grid.chart) and key not in _computed:
        _computed.add(key)
        task = model(PROFILE).task(key)
        for other in task.arguments:
            if isinstance(other, str):
                known_value(other)
        with np.errstate(all="ignore"):
            known()[key] = task.run(known())
    return known().get(key)


_computed: set[str] = set()


def values_of(mutant: Mutant, pieces: Sequence[Token]) -> Any:
    """What an expression is in the drawn designs; None where it holds what is not known, or a text."""
    sheet, used = mutant.place.partition("!")[0], {}
    for piece in pieces:
        if piece.kind in ("name", "address"):
            key = keys_of_cells().get(f"{sheet}!{piece.text.replace('$', '')}", piece.text)
            used[piece.text.replace("$", "")] = known_value(key)
        elif piece.kind == "text" or piece.text in NOT_ARITHMETIC or (piece.kind == "function" and piece.text not in CALLED):
            return None
    if any(value is None or np.asarray(value).dtype.kind not in "fiu" for value in used.values()):
        return None
    with np.errstate(all="ignore"):
        found = np.asarray(evaluated(written(pieces).replace("$", ""), used), dtype=float)
    return None if np.isnan(found).all() else np.atleast_1d(found)


# ---- the kinds


def _search(mutant: Mutant) -> bool:
    function, arguments = call_of(mutant.pieces, mutant.position)
    return function == "MATCH" and mutant.piece.text == "0" and mutant.position == arguments[-1][0]


def _rounded_whole(mutant: Mutant) -> bool:
    function, arguments = call_of(mutant.pieces, mutant.position)
    if function != "ROUND" or (mutant.piece.text, mutant.other) not in WHOLE_DIGITS or mutant.position != arguments[-1][0]:
        return False
    values = values_of(mutant, mutant.pieces[slice(*arguments[0])])
    return values is not None and _are_whole(values)


def _one(mutant: Mutant) -> bool:
    after = mutant.pieces[mutant.position + 1 : mutant.position + 2] if mutant.piece.text in ("*", "/") else ()
    values = values_of(mutant, after) if after and after[0].kind == "name" else None
    return values is not None and bool(np.all(values == 1))


def _counted(mutant: Mutant) -> bool:
    return (mutant.around(-1, 0), mutant.piece.text, mutant.other, mutant.around(1, 4)) == ("*", "1", "2", ")>0")


def _unrounded(mutant: Mutant) -> bool:
    """A strict comparison made lax, or the other way round, of calculated numbers that are rounded on neither side."""
    if {mutant.piece.text, mutant.other} not in ({"<", "<="}, {">", ">="}):
        return False
    sides = _sides(mutant, mutant.position)
    values = [values_of(mutant, side) for side in sides]
    if any(value is None for value in values) or any(piece.text == "ROUND" for side in sides for piece in side):
        return False
    apart = values[0] - values[1]
    return not np.any(apart == 0) and not _are_whole(apart)


def _sides(mutant: Mutant, sign: int) -> tuple[Sequence[Token], Sequence[Token]]:
    first, last = argument_of(mutant.pieces, sign)
    return mutant.pieces[first:sign], mutant.pieces[sign + 1 : last]


def _bound(mutant: Mutant) -> bool:
    """A number in an argument of MAX or MIN that is never the greatest or least, neither the sound nor the faulty one."""
    function, arguments = call_of(mutant.pieces, mutant.position)
    if function not in ("MAX", "MIN") or mutant.piece.kind not in ("number", "operator"):
        return False
    own = argument_of(mutant.pieces, mutant.position)
    before, after = mutant.pieces[own[0] : mutant.position], mutant.pieces[mutant.position + 1 : own[1]]
    faulty = [*before, Token(mutant.piece.kind, mutant.other), *after]
    others = [values_of(mutant, mutant.pieces[slice(*argument)]) for argument in arguments if argument != own]
    mine = [values_of(mutant, side) for side in (mutant.pieces[slice(*own)], faulty)]
    if any(value is None for value in (*others, *mine)):
        return False
    sign = 1 if function == "MAX" else -1
    decided = np.max([sign * other for other in np.broadcast_arrays(*others)], axis=0)
    return all(not np.any(sign * one > decided) for one in mine)


def _exact_zero(mutant: Mutant) -> bool:
    """A guard before a division: the condition that a calculated number is exactly something, and the answer in that case."""
    for start, piece in enumerate(mutant.pieces[: mutant.position + 1]):
        if piece.text != "IF" or start + 2 >= len(mutant.pieces):
            continue
        _, arguments = call_of(mutant.pieces, start + 2)
        condition, answer = arguments[:2]
        signs = [n for n in range(*condition) if mutant.pieces[n].text == "=" and mutant.pieces[n].kind == "operator"]
        if condition[0] <= mutant.position < answer[1] and len(signs) == 1 and mutant.pieces[mutant.position].text not in ("=", "<>"):
            left, right = (values_of(mutant, side) for side in _sides(mutant, signs[0]))
            if left is not None and right is not None and not np.any(left == right) and not _are_whole(left):
                return True
    return False


def _are_whole(values: Any) -> bool:
    return bool(np.all(np.isnan(values) | (np.abs(values - np.round(values)) < NEAR)))


def _beyond_the_table(mutant: Mutant) -> bool:
    """The condition that something lies beyond the last row, or before the first, and the answer in that case."""
    at = len(written(mutant.pieces[: mutant.position]))
    return any(found.start() <= at < found.end() for found in BEYOND.finditer(written(mutant.pieces)))


def _answered_before(mutant: Mutant) -> bool:
    """A number of whole steps compared with nothing, after the same formula has answered for nothing."""
    first, _ = argument_of(mutant.pieces, mutant.position)
    before = mutant.around(-mutant.position, first - mutant.position)
    return f"{mutant.pieces[first].text}=0" in before and (mutant.piece.text, mutant.other) in ((">", ">="), ("0", "-1"))


def _ranks(mutant: Mutant) -> bool:
    own = mutant.pieces[slice(*argument_of(mutant.pieces, mutant.position))]
    return any(one.text == ">" for one in own) and any(one.text.startswith("rank_") for one in own)


def _not_one(mutant: Mutant) -> bool:
    """An answer "no", where only 1 is asked for."""
    depth, after = 0, mutant.pieces[mutant.position + 1 :]
    for n, piece in enumerate(after):
        depth += {")": -1, "(": 1}.get(piece.text, 0)
        if depth < 0 and [one.text for one in after[n + 1 : n + 3]] == ["=", "1"]:
            return (mutant.piece.text, mutant.other) == ("0", "-1") and mutant.around(-1, 0) == ","
        if piece.text == "," and depth >= 0:
            return False
    return False


def _asked_by_the_guard(mutant: Mutant) -> bool:
    asked = mutant.around(-2, 0)
    names = {asked.removesuffix("<>"), asked.removesuffix("=")} - {asked}
    return mutant.piece.text == '""' and any(f'{name}=""' in written(mutant.pieces[: mutant.guard]) for name in names)


def _text_of_the_row(mutant: Mutant) -> bool:
    """Amid or after AND(a="text", ...) where a is a text of the list that stands in this row, and another one."""
    for start in range(mutant.position + 1):
        condition = [one.text for one in mutant.pieces[start : start + 5]]
        if condition[:2] == ["AND", "("] and condition[3:4] == ["="]:
            value = known_value(keys_of_cells().get(f"{mutant.place.partition('!')[0]}!{condition[2]}", ""))
            depth = sum({"(": 1, ")": -1}.get(one.text, 0) for one in mutant.pieces[start : mutant.position])
            answer = depth == 0 and mutant.around(-2, 0).endswith("),")
            if (depth or answer) and isinstance(value, str) and f'"{value}"' != condition[4] and mutant.other != "<>":
                return True
    return False


def _nothing_by_anything(mutant: Mutant) -> bool:
    """A product in the last argument of IF(a="text", ...), whose first factor is 0 wherever a is another text."""
    first, _ = argument_of(mutant.pieces, mutant.position)
    function, arguments = call_of(mutant.pieces, mutant.position)
    if mutant.piece.text not in ("*", "/") or function != "IF" or first != arguments[-1][0] or mutant.position != first + 1:
        return False
    condition, factor = mutant.pieces[slice(*arguments[0])], values_of(mutant, mutant.pieces[first : first + 1])
    sheet = mutant.place.partition("!")[0]
    texts = known_value(keys_of_cells().get(f"{sheet}!{condition[0].text}", condition[0].text))
    if factor is None or texts is None or [one.kind for one in condition[1:]] != ["operator", "text"]:
        return False
    elsewhere = np.asarray(texts, dtype=object) != condition[2].text.strip('"')
    return bool(np.all(np.isnan(factor[elsewhere]) | (factor[elsewhere] == 0)))


def _nothing_between(mutant: Mutant) -> bool:
    """A count, or a number of a list, above another limit, where none lies between the two limits."""
    first, _ = argument_of(mutant.pieces, mutant.position)
    left = mutant.pieces[first : mutant.position - 1]
    if mutant.piece.kind != "number" or mutant.around(-1, 0) != ">" or not left:
        return False
    values = np.array(columns().get(left[2].text, ())) if left[0].text == "INDEX" else values_of(mutant, left)
    if values is None or not len(values) or values.dtype.kind != "f" or not (left[0].text == "INDEX" or _are_whole(values)):
        return False
    return bool(np.all((values > float(mutant.piece.text)) == (values > float(mutant.other))) and np.any(values > float(mutant.other)))


def _divisor(mutant: Mutant) -> bool:
    """The condition that what is divided by is above 0."""
    first, last = argument_of(mutant.pieces, mutant.position)
    left = mutant.pieces[first]
    values = values_of(mutant, [left]) if left.kind in ("name", "address") else None
    faults = ((">", ">="), ("0", "-1"), ("0", "1"))
    if values is None or (mutant.piece.text, mutant.other) not in faults or mutant.pieces[first + 1].text != ">":
        return False
    least = 1 if mutant.other == "1" else 0
    return f"/{left.text}" in mutant.around(last - mutant.position, 99) and not np.any((values <= least) & (values > least - 1))


def _true_as_a_text(mutant: Mutant) -> bool:
    texts = {entry.name for entry in model(PROFILE).inputs if entry.kind == "text"}
    return mutant.piece.text == '"(true or false)"' and mutant.key.removeprefix("typed_") in texts


WHOLE_DIGITS = (("0", "1"), ("4", "3"), ("4", "5"))
BEYOND = re.compile(r'(ROUND\(\w+,9\)|[A-Z]+\d+)(>MAX|<MIN|>COUNT)\(\w+\),(""|"none")|[A-Z]+\d+="none",""')
SPREAD = ("module_isc", "module_imp", "module_vmp", "load1_w", "battery_capacity", "reading_v_pv", "reading_i_pv")
KINDS: dict[str, Kind] = {
    "exact search": Kind(
        "LibreOffice looks for an equal entry first, even where it is told to search by order; "
        "that every search is exact but those for numbers in a rising column is held by a test of its own",
        _search,
    ),
    "rounded whole number": Kind("a whole number stays what it is, rounded to units or to tenths", _rounded_whole),
    "one as a unit": Kind("a constant that is 1 only brings its unit: multiplied or divided by it is the same", _one),
    "count of any size": Kind("a count is above 0 whether each one counts once or twice", _counted),
    "tie of calculated numbers": Kind("two calculated numbers that are not rounded are never equal to the last digit", _unrounded),
    "exact coincidence": Kind("a calculated number is never exactly the one by which could not be divided", _exact_zero),
    "bound never reached": Kind("a bound for safety: the other argument is always the greater, or the lesser", _bound),
    "beyond the table": Kind(
        "no accepted entry leads beyond the end of this profile's table; another profile's may be shorter", _beyond_the_table
    ),
    "answered before": Kind("where it makes a difference the formula has already answered", _answered_before),
    "between ranks": Kind("ranks of those that pass, those with a note and the others lie far apart: any limit between will do", _ranks),
    "not one": Kind("anything but 1 is no", _not_one),
    "asked by the guard": Kind("the guard around the formula asks the same", _asked_by_the_guard),
    "text of the row": Kind("the text that is compared stands in this row of a list, and is another one", _text_of_the_row),
    "nothing by anything": Kind("nothing, in another unit, is nothing", _nothing_by_anything),
    "nothing between": Kind("no count, and no number of the list, lies between the sound and the faulty limit", _nothing_between),
    "divisor": Kind("no accepted entry makes nothing, or next to nothing, of what is divided by", _divisor),
    "true as a text": Kind("in a cell that is formatted for texts a spreadsheet keeps TRUE as a word", _true_as_a_text),
}
