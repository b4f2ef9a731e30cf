"""Kinds of faults that cannot change any value that a design can lead to, each with its reason.

A fault is put down to a kind only if the kind's condition holds: by the letter of the formula, or in a thousand designs, in
which the changed part of the formula is worked out as it is and with the fault, wherever the formula comes to it.
`test_mutation` demands that each kind is used, and that none would excuse a fault that a design shows.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from tests.equal_parts import Span, around, never, reached, unchanged, values_of, with_fault
from tests.faulty import Twin, faults
from tests.faulty_designs import PROFILE
from tests.formula_values import written
from tests.known import columns
from tests.mutation import Mutant, argument_of, call_of
from tests.support import model
from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.xl import Token

NEAR = 1e-9
FAR = 0.02  # of what the sides of an inequality differ in the middle one of the designs
STEPS = 0.1  # of the designs: so many values at most has a number that comes in steps


class Kind(NamedTuple):
    """Why faults of a kind change nothing, and which faults are of the kind."""

    reason: str
    holds: Callable[[Mutant], bool]


def _in_order(mutant: Mutant) -> bool:
    """INDEX(answers,MATCH(key,keys,0)), where a search by order gives the same answer for every key."""
    function, arguments = call_of(mutant.pieces, mutant.position)
    if function != "MATCH" or mutant.piece.text != "0" or mutant.position != arguments[-1][0]:
        return False
    answers_name, keys_name = mutant.pieces[arguments[0][0] - 4].text, mutant.pieces[arguments[1][0]].text
    keys, answers = columns(PROFILE).get(keys_name), columns(PROFILE).get(answers_name)
    if keys is None or answers is None:
        return False
    told = [(isinstance(key, str), key.casefold() if isinstance(key, str) else key) for key in keys]
    if mutant.other == "-1":  # in falling order
        return told == sorted(set(told), reverse=True)
    rows = [bisect_right(told, key) - 1 for key in told]  # by halving, whatever the order
    found = [(right, answers[row] if row >= 0 else None) for right, row in zip(answers, rows, strict=True)]
    if mutant.around(1, 5) == "))>0":
        return all(other is not None and (right > 0) == (other > 0) for right, other in found)
    return all(right == other for right, other in found)


def _rounded_whole(mutant: Mutant) -> bool:
    function, arguments = call_of(mutant.pieces, mutant.position)
    if function != "ROUND" or (mutant.piece.text, mutant.other) not in WHOLE_DIGITS or mutant.position != arguments[-1][0]:
        return False
    values = values_of(mutant, mutant.pieces[slice(*arguments[0])])
    where = reached(mutant)
    known = values is not None and values.dtype.kind in "fiu" and bool(np.any(where & ~np.isnan(values)))
    return _whole(values, where if known else True)


def _whole(values: Any, where: Any) -> bool:
    if values is None or values.dtype.kind not in "fiu" or not np.any(where & ~np.isnan(values)):
        return False
    return bool(np.all(np.isnan(values) | (np.abs(values - np.round(values)) < NEAR) | ~where))


def _one(mutant: Mutant) -> bool:
    unit = mutant.pieces[mutant.position + 1 : mutant.position + 2] if mutant.piece.text in ("*", "/") else ()
    constants = {one.name: one.value for one in model(PROFILE).constants}
    return bool(unit) and constants.get(unit[0].text) == 1


def _counted(mutant: Mutant) -> bool:
    return (mutant.around(-1, 0), mutant.piece.text, mutant.other, mutant.around(1, 4)) == ("*", "1", "2", ")>0")


def _tie(mutant: Mutant) -> bool:
    span = argument_of(mutant.pieces, mutant.position)
    rounded = any(piece.text == "ROUND" for piece in mutant.pieces[slice(*span)])
    return _of_strictness(mutant) and not rounded and unchanged(mutant, span)


def _of_strictness(mutant: Mutant) -> bool:
    """Whether the two differ only where both sides are equal."""
    return {mutant.piece.text, mutant.other} in ({"<", "<="}, {">", ">="})


def _bound(mutant: Mutant) -> bool:
    if mutant.piece.kind not in ("number", "operator"):
        return False
    calls = [(arguments[0][0] - 2, arguments[-1][1] + 1) for function, arguments in around(mutant) if function in ("MAX", "MIN")]
    return any(unchanged(mutant, span) for span in calls)


def _never_the_case(like: str) -> Callable[[Mutant], bool]:
    """Faults in an IF's condition that never holds, and in the answer for that case."""

    def holds(mutant: Mutant) -> bool:
        for function, arguments in around(mutant):
            condition, answer = arguments[0], arguments[min(1, len(arguments) - 1)]
            if function != "IF" or not condition[0] <= mutant.position < answer[1]:
                continue
            sound = mutant.pieces[slice(*condition)]
            if re.search(like, written(sound)):
                within = mutant.position < condition[1]
                return _never_in(mutant, sound) and (not within or never(mutant, with_fault(mutant, condition)))
        return False

    return holds


def _never_in(mutant: Mutant, condition: Sequence[Token]) -> bool:
    """Whether an IF's condition never holds, asked from its own place: the answer is reached by it alone."""
    start = next(n for n in range(len(mutant.pieces)) if list(mutant.pieces[n : n + len(condition)]) == list(condition))
    return never(mutant._replace(position=start), condition)


def _excluded(mutant: Mutant) -> bool:
    """A condition of an AND or OR that could differ only where another one has decided; a limit lies far away there."""
    own = argument_of(mutant.pieces, mutant.position)
    if mutant.key.startswith(("status_", "load_rows_")) and _of_strictness(mutant):
        return False  # a person may type just the limit
    undecided: list[Any] = []
    for function, arguments in around(mutant):
        if function in ("AND", "OR"):
            others = [span for span in arguments if not span[0] <= mutant.position < span[1]]
            values = [values_of(mutant, mutant.pieces[slice(*span)]) for span in others]
            undecided += [np.equal(one, 1) == (function == "AND") for one in values if one is not None]
    if not undecided or mutant.piece.kind == "function":
        return False
    where = np.all(undecided, axis=0)
    return unchanged(mutant, own, where) and (mutant.piece.kind == "text" or _far_from(mutant, own, where))


def _far_from(mutant: Mutant, own: Span, where: Any) -> bool:
    """Whether the sides of an inequality differ far more than by chance they might."""
    signs = [n for n in range(*own) if mutant.pieces[n].text in ("<", "<=", ">", ">=") and argument_of(mutant.pieces, n) == own]
    if not signs:
        return False
    sides = [values_of(mutant, side) for side in (mutant.pieces[own[0] : signs[0]], mutant.pieces[signs[0] + 1 : own[1]])]
    if any(side is None or side.dtype.kind not in "fi" for side in sides):
        return False
    apart = np.abs(sides[0] - sides[1])[where & reached(mutant)]
    return bool(np.nanmin(apart) > FAR * np.nanmedian(apart))


def _compared(mutant: Mutant) -> bool:
    """A comparison of a number that comes in steps, as those of a list and counts do, or of a rank."""
    span = argument_of(mutant.pieces, mutant.position)
    own = mutant.pieces[slice(*span)]
    signs = [n for n in range(len(own)) if own[n].text in (">", "<") and argument_of(own, n) == (0, len(own))]
    if len(signs) != 1 or mutant.piece.kind == "function":
        return False
    left = values_of(mutant, own[: signs[0]])
    few = left is not None and left.dtype.kind == "f" and len(np.unique(left)) < STEPS * len(left)
    return (few or any(piece.text.startswith("rank_") for piece in own)) and unchanged(mutant, span)


def _divisor(mutant: Mutant) -> bool:
    """The condition that what is divided by is above nothing."""
    first, last = argument_of(mutant.pieces, mutant.position)
    divided = f"/{mutant.pieces[first].text}" in mutant.around(last - mutant.position, 99)
    return divided and mutant.pieces[first + 1].text == ">" and unchanged(mutant, (first, last))


def _not_one(mutant: Mutant) -> bool:
    """An answer "no", where only 1 is asked for."""
    if call_of(mutant.pieces, mutant.position)[0] != "IF":
        return False
    depth, after = 0, mutant.pieces[mutant.position + 1 :]
    for n, piece in enumerate(after):
        depth += {")": -1, "(": 1}.get(piece.text, 0)
        if depth < 0 and [one.text for one in after[n + 1 : n + 3]] == ["=", "1"]:
            return (mutant.piece.text, mutant.other) == ("0", "-1") and mutant.around(-1, 0) == ","
        if piece.text == "," and depth >= 0:
            return False
    return False


def _nothing_by_anything(mutant: Mutant) -> bool:
    """Nothing multiplied or divided by something, or so many times nothing, wherever the formula comes to it."""
    if mutant.piece.text in ("*", "/"):
        first, second = _beside(mutant, -1), _beside(mutant, 1)
        if first is None or second is None:
            return False
        return bool(np.any(first == 0)) and not np.any((np.nan_to_num(first) != 0) | (second == 0))
    times = _beside(mutant, 2) if mutant.piece.kind == "number" and mutant.around(1, 2) == "*" else None
    return times is not None and bool(times.size) and bool(np.all(times == 0))


def _nothing_added(mutant: Mutant) -> bool:
    """A constant that is 0 only brings its unit: added or taken away is the same."""
    after = mutant.pieces[mutant.position + 1 : mutant.position + 2] if mutant.piece.text in ("+", "-") else ()
    constants = {one.name: one.value for one in model(PROFILE).constants}
    return bool(after) and constants.get(after[0].text) == 0


def _nothing_from_nothing(mutant: Mutant) -> bool:
    """The question of IF(a="","",b), where b rests on a and is nothing without it."""
    function, arguments = call_of(mutant.pieces, mutant.position)
    if function != "IF" or len(arguments) != 3 or mutant.position != arguments[0][1] - 1:
        return False
    asked, answer, other = (mutant.pieces[slice(*one)] for one in arguments)
    if [one.text for one in (*asked[1:], *answer)] != ["=", '""', '""'] or len(other) != 1:  # a cell as it is
        return False
    shown, without = values_of(mutant, other), values_of(mutant, asked)
    if shown is None or without is None:
        return False
    without = without & reached(mutant)
    return bool(without.any()) and bool(np.all(is_missing(shown)[without]))


def _beside(mutant: Mutant, away: int) -> Any:
    """The number so many pieces away, in the designs in which the formula comes to what is changed; None if it is none."""
    piece = mutant.pieces[mutant.position + away]
    values = values_of(mutant, [piece]) if piece.kind in ("name", "address") else None
    return values[reached(mutant)] if values is not None and values.dtype.kind == "f" else None


TIE = "tie of calculated numbers"
WHOLE_DIGITS = (("0", "1"), ("4", "3"), ("4", "5"))
KINDS: dict[str, Kind] = {
    "search in order": Kind("for each key of the list a search by order, too, ends at a row with the same answer", _in_order),
    "rounded whole number": Kind("a whole number stays what it is, rounded to units or to tenths", _rounded_whole),
    "one as a unit": Kind("a constant that is 1 only brings its unit: multiplied or divided by it is the same", _one),
    "count of any size": Kind("a count is above 0 whether each one counts once or twice", _counted),
    TIE: Kind("two calculated numbers that are not rounded, which no entry alone brings to be equal to the last digit", _tie),
    "bound never reached": Kind("a bound for safety: the other argument is always the greater, or the lesser", _bound),
    "exact coincidence": Kind(
        "a calculated number is never exactly the one by which could not be divided",
        _never_the_case(r"^(?!.*(NOTHING|AND|code_))[^&<>]*==\w+$"),
    ),
    "beyond the table": Kind(
        "no accepted entry leads beyond the end of this profile's table; another profile's may be shorter",
        _never_the_case(r'>MAX\(|<MIN\(|>COUNT\(|=="none"'),
    ),
    "text of the row": Kind(
        "the text that is compared stands in this row of a list, and is another one", _never_the_case(r'^AND\([A-Z]+\d+=="')
    ),
    "excluded by another condition": Kind("where it makes a difference, another condition has decided", _excluded),
    "nothing between": Kind("no count, rank or number of the list lies between the sound and the faulty limit", _compared),
    "divisor": Kind("no accepted entry makes nothing, or next to nothing, of what is divided by", _divisor),
    "not one": Kind("anything but 1 is no", _not_one),
    "nothing from nothing": Kind("what is made of an entry is nothing without it, whether that is asked or not", _nothing_from_nothing),
    "nothing added": Kind("a constant that is 0, for the rows to which it does not apply, adds nothing", _nothing_added),
    "always there": Kind(
        "the power of loads that are entered is always known; asked for safety", _never_the_case(r"^(inverter_w_least|load_w_dc)==NOTHING$")
    ),
    "nothing by anything": Kind("nothing, in another unit, is nothing", _nothing_by_anything),
}


@cache
def kind_of(twin: Twin) -> str:
    """The kind of faults that change nothing to which this one belongs, in all its cells; empty if there is none."""
    return next((name for name, kind in KINDS.items() if all(kind.holds(one) for one in faults(PROFILE)[twin])), "")
