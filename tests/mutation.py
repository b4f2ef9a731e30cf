"""Small faults put into formulas on purpose: one token changed at a time."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from workbook_builder.language.xl import Token, tokens

OPERATORS = {
    "+": ("-",),
    "-": ("+",),
    "*": ("/",),
    "/": ("*",),
    "<": ("<=", ">"),
    ">": (">=", "<"),
    "<=": ("<", ">="),
    ">=": (">", "<="),
    "=": ("<>",),
    "<>": ("=",),
}
FUNCTIONS = {
    "MIN": ("MAX",),
    "MAX": ("MIN",),
    "AND": ("OR",),
    "OR": ("AND",),
    "ROUNDUP": ("ROUNDDOWN", "ROUND"),
    "ROUNDDOWN": ("ROUNDUP", "ROUND"),
}


# the digits to which limits and look-ups are rounded, far below any meter: a fault there is no fault that a design shows;
# that all engines round alike at a limit is held by the designs with ties of test_properties
DIGITS = ("6", "9")


class Mutant(NamedTuple):
    """A formula with one fault: in the cell at ``place``, whose value has the key ``key``.

    ``pieces`` are those of the sound formula, of which the one at ``position`` becomes ``other``. ``twin`` is the kind of
    the formula and the number of the fault in it: the same in every cell that a loop builds.
    """

    place: str
    key: str
    pieces: tuple[Token, ...]
    position: int
    other: str
    twin: tuple[str, int]
    guard: int
    """How many pieces stand before what was declared."""

    @property
    def formula(self) -> str:
        """The faulty formula."""
        changed = Token(self.piece.kind, self.other)
        return "".join(one.text for one in (*self.pieces[: self.position], changed, *self.pieces[self.position + 1 :]))

    @property
    def sound(self) -> str:
        """The formula without the fault."""
        return "".join(one.text for one in self.pieces)

    @property
    def piece(self) -> Token:
        """What is changed."""
        return self.pieces[self.position]

    @property
    def fault(self) -> str:
        """The change amid its neighbours, for a person to read."""
        return f"{self.around(-8, 0)}⟦{self.piece.text} → {self.other}⟧{self.around(1, 9)}"

    def around(self, first: int, last: int) -> str:
        """What stands from ``first`` to before ``last``, counted from the changed piece."""
        return "".join(one.text for one in self.pieces[max(0, self.position + first) : max(0, self.position + last)])


def call_of(pieces: Sequence[Token], position: int) -> tuple[str, list[tuple[int, int]]]:
    """The function among whose arguments the piece at ``position`` stands, and from where to before where each of them goes."""
    first, last = argument_of(pieces, position)
    found = [(first, last)]
    while found[0][0] > 1 and pieces[found[0][0] - 1].text == ",":
        found.insert(0, argument_of(pieces, found[0][0] - 1))
    while found[-1][1] < len(pieces) - 1 and pieces[found[-1][1]].text == ",":
        found.append(argument_of(pieces, found[-1][1] + 1))
    before = found[0][0] - 2
    return (pieces[before].text if before >= 0 and pieces[before].kind == "function" else ""), found


def argument_of(pieces: Sequence[Token], position: int) -> tuple[int, int]:
    """From where to before where the argument goes that holds the piece at ``position``."""
    first, depth = position, 0
    while first > 0 and not (depth == 0 and pieces[first - 1].text in ("(", ",")):
        depth += {")": 1, "(": -1}.get(pieces[first - 1].text, 0)
        first -= 1
    last, depth = position, 0
    while last < len(pieces) and not (depth == 0 and pieces[last].text in (")", ",")):
        depth += {"(": 1, ")": -1}.get(pieces[last].text, 0)
        last += 1
    return first, last


def mutants(place: str, key: str, formula: str, declared: str = "", kind: str = "") -> Iterator[Mutant]:
    """Every formula that differs from this one in one number, text, operator or function.

    With the formula as it was declared, only that part of it is changed, not the guard around it.
    """
    pieces = tuple(tokens(formula))
    guard = max(0, len(pieces) - len(list(tokens(declared))) - 1) if declared else 0
    changes = [(position, other) for position, piece in enumerate(pieces) for other in _instead(piece)]
    for number, (position, other) in enumerate(changes):
        if position >= guard and not _is_the_same(pieces, position, other):
            yield Mutant(place, key, pieces, position, other, (kind or key, number), guard)


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
        case "truth":
            return ("FALSE" if piece.text == "TRUE" else "TRUE",)
    return ()


def _is_the_same(pieces: Sequence[Token], position: int, other: str) -> bool:
    """Whether the change is none, whatever the other cells hold: it would be a fault that nothing can notice."""
    before = pieces[position - 1].text if position else ""
    after = pieces[position + 1].text if position + 1 < len(pieces) else ""
    match pieces[position].text:
        case "*" | "/" if before == "0" or after == "1":
            return True  # nothing times or divided by something, something times or divided by one
        case "+" | "-" if after == "0" and _ends(pieces, position + 2):
            return True  # zero added or taken away
        case "+" | "-" if re.fullmatch(r"(\w+\*)?\((\w+)-\2\).*", "".join(one.text for one in pieces[position + 1 : position + 8])):
            return True  # likewise, in the row that stands for the condition to which the others are referred
        case "1" if other == "0" and after == ")" and _function_around(pieces, position) == "INDEX":
            return True  # row 0 is the whole column: each program has its own way of showing it in one cell
        case "1" if (before, after) == (",", ")"):
            # the type of MATCH in a sorted column: every positive number means the same
            return other == "2" and _function_around(pieces, position) == "MATCH"
    return False


def _ends(pieces: Sequence[Token], position: int) -> bool:
    return position >= len(pieces) or pieces[position].text in (")", ",", "&", "+", "-", "*")


def _function_around(pieces: Sequence[Token], position: int) -> str:
    depth = 0
    for place in range(position - 1, 0, -1):
        depth += {")": 1, "(": -1}.get(pieces[place].text, 0)
        if depth < 0:
            return pieces[place - 1].text
    return ""
