"""Small faults put into formulas on purpose: one token changed at a time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from workbook_builder.xl import Token, tokens

OPERATORS = {
    "+": ("-",), "-": ("+",), "*": ("/",), "/": ("*",),
    "<": ("<=", ">"), ">": (">=", "<"), "<=": ("<", ">="), ">=": (">", "<="), "=": ("<>",), "<>": ("=",),
}  # fmt: skip
FUNCTIONS = {
    "MIN": ("MAX",), "MAX": ("MIN",), "AND": ("OR",), "OR": ("AND",),
    "ROUNDUP": ("ROUNDDOWN", "ROUND"), "ROUNDDOWN": ("ROUNDUP", "ROUND"),
}  # fmt: skip


# the digits to which limits and look-ups are rounded, far below any meter: a fault there is no fault that a design shows;
# that all engines round alike at a limit is held by the designs with ties of test_properties
DIGITS = ("6", "9")


class Mutant(NamedTuple):
    """A formula with one fault: in the cell at ``place``, whose value has the key ``key``.

    ``twin`` is the kind of the formula and the number of the fault in it: the same in every cell that a loop builds.
    """

    place: str
    key: str
    formula: str
    fault: str
    twin: tuple[str, int]


def mutants(place: str, key: str, formula: str, declared: str = "", kind: str = "") -> Iterator[Mutant]:
    """Every formula that differs from this one in one number, text, operator or function.

    With the formula as it was declared, only that part of it is changed, not the guard around it.
    """
    pieces = list(tokens(formula))
    number = 0
    guard = max(0, len(pieces) - len(list(tokens(declared))) - 1) if declared else 0
    for position, piece in enumerate(pieces):
        if position < guard:
            continue
        for other in _instead(piece):
            changed = [*pieces[:position], Token(piece.kind, other), *pieces[position + 1 :]]
            before = "".join(one.text for one in pieces[max(0, position - 8) : position])
            after = "".join(one.text for one in pieces[position + 1 : position + 9])
            text = "".join(one.text for one in changed)
            yield Mutant(place, key, text, f"{before}⟦{piece.text} → {other}⟧{after}", (kind or key, number))
            number += 1


def _instead(piece: Token) -> tuple[str, ...]:
    match piece.kind:
        case "operator":
            return OPERATORS.get(piece.text, ())
        case "function":
            return FUNCTIONS.get(piece.text, ())
        case "number" if piece.text not in DIGITS:
            return str(int(piece.text) + 1), str(int(piece.text) - 1)
        case "text":
            return ('"another text"',)
    return ()
