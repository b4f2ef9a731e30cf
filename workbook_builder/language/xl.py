"""The small formula language of the project: what a formula may contain, and the guard that every cell gets.

Only functions and idioms on which all the engines of the tests agree are allowed; ``tests/test_engines.py`` holds the
contract of each idiom.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

# name → fewest and most arguments
FUNCTIONS = {
    "ABS": (1, 1),
    "ACOS": (1, 1),
    "AND": (1, 30),
    "COS": (1, 1),
    "COUNT": (1, 30),
    "COUNTIF": (2, 2),
    "EXP": (1, 1),
    "IF": (3, 3),
    "INDEX": (2, 2),
    "ISBLANK": (1, 1),
    "ISERROR": (1, 1),
    "ISLOGICAL": (1, 1),
    "ISNUMBER": (1, 1),
    "ISTEXT": (1, 1),
    "LN": (1, 1),
    "MATCH": (3, 3),
    "MAX": (1, 30),
    "MIN": (1, 30),
    "NOT": (1, 1),
    "OR": (1, 30),
    "ROUND": (2, 2),
    "ROUNDDOWN": (2, 2),
    "ROUNDUP": (2, 2),
    "SIN": (1, 1),
    "SUBSTITUTE": (3, 3),
    "SUMPRODUCT": (1, 3),
    "TRIM": (1, 1),
}
# small whole numbers as plain arithmetic; 4 also as the digits of a number in a text, 6 and 9 as those of limits and look-ups
LITERALS = frozenset({"0", "1", "2", "3", "4", "6", "9"})
LONGEST = 255

_TOKEN = re.compile(
    r"""(?P<text>"(?:[^"]|"")*")
      | (?P<function>[A-Z][A-Z0-9.]*)(?=\()
      | (?P<truth>TRUE|FALSE)(?![A-Za-z0-9_.(])
      | (?P<address>(?:[A-Z][A-Za-z]*!)?\$?[A-Z]{1,3}\$?[0-9]+)
      | (?P<name>[a-z][a-z0-9_]*)
      | (?P<number>[0-9]+(?:\.[0-9]+)?)
      | (?P<operator><=|>=|<>|[-+*/^&=<>(),:])
      | (?P<space>\s+)
      | (?P<stray>.)""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of a formula; ``kind`` is the group's name in the pattern above."""

    kind: str
    text: str


@lru_cache(maxsize=4096)  # a formula of a template is read hundreds of times
def tokens(formula: str) -> tuple[Token, ...]:
    """Split a formula (without its leading ``=``) into tokens, without spaces."""
    return tuple(Token(str(match.lastgroup), match[0]) for match in _TOKEN.finditer(formula) if match.lastgroup != "space")


def names_in(formula: str) -> list[str]:
    """Return the names that a formula uses, each once, in the order of their first use."""
    return list(dict.fromkeys(token.text for token in tokens(formula) if token.kind == "name"))


def substitute(formula: str, replacements: dict[str, str]) -> str:
    """Return the formula with names replaced, leaving texts alone."""
    return "".join(replacements.get(token.text, token.text) if token.kind == "name" else token.text for token in tokens(formula))


def faults(formula: str) -> list[str]:
    """Return everything in a declared formula that the project does not allow."""
    pieces = list(tokens(formula))
    found = [f"stray character {piece.text!r}" for piece in pieces if piece.kind == "stray"]
    found += [f"cell address {piece.text}; use a name" for piece in pieces if piece.kind == "address"]
    found += [
        f"function {piece.text} is not on the allow-list" for piece in pieces if piece.kind == "function" and piece.text not in FUNCTIONS
    ]
    found += [
        f"number {piece.text}; declare a named constant with a source"
        for piece in pieces
        if piece.kind == "number" and piece.text not in LITERALS
    ]
    found += _call_faults(pieces)
    found += [
        f"{left.text}{sign.text}{right.text}; write what is meant: {meant}"
        for left, sign, right in zip(pieces, pieces[1:], pieces[2:], strict=False)
        if (meant := _meant(left, sign, right))
    ]
    before = [Token("operator", "("), *pieces]
    if any(
        minus.text == "-" and previous.kind == "operator" and previous.text != ")" and power.text == "^"
        for previous, minus, power in zip(before, pieces, pieces[2:], strict=False)
    ):
        found.append("a minus before a power: a spreadsheet reads -a^2 as (-a)^2; write 0-a^2")
    return found


_COMPARISONS = ("=", "<>", "<", ">", "<=", ">=")


def _meant(left: Token, sign: Token, right: Token) -> str:
    """Return what a formula could say at once that calculates nothing times something, or with two numbers; else nothing."""
    if left.kind != "number":
        return ""
    if left.text == "0" and sign.text in ("*", "/"):
        return "0"
    if right.kind != "number":
        return ""
    return "TRUE or FALSE" if sign.text in _COMPARISONS else "the number" if sign.text == "*" else ""


@dataclass
class _Call:
    function: str
    commas: int = 0
    filled: bool = False


def _call_faults(pieces: list[Token]) -> list[str]:
    found: list[str] = []
    stack: list[_Call] = []
    previous = ""
    for piece in pieces:
        if piece.text == "(":
            stack.append(_Call(previous if previous in FUNCTIONS else ""))
        elif piece.text == ")" and piece.kind == "operator":
            if not stack:
                return [*found, "a bracket closes that was never opened"]
            call = stack.pop()
            arguments = call.commas + 1 if call.filled else 0
            if call.function and not FUNCTIONS[call.function][0] <= arguments <= FUNCTIONS[call.function][1]:
                found.append(f"{call.function} has {arguments} arguments")
        elif stack:
            stack[-1].filled = True
            stack[-1].commas += piece.text == ","
        if stack and piece.text == ")":
            stack[-1].filled = True
        previous = piece.text
    return [*found, "a bracket is not closed"] if stack else found


def guarded(
    formula: str,
    numbers: Iterable[str] = (),
    texts: Iterable[str] = (),
    statuses: Iterable[str] = (),
    checks: Iterable[str] = (),
    otherwise: str = '""',
) -> str:
    """Wrap a formula so that it answers only when everything it needs is there.

    Parameters
    ----------
    formula
        what to compute, without ``=``.
    numbers, texts
        names that must hold a number, and names that must hold a non-empty text or a truth value.
    statuses
        names of status cells of inputs that may be left blank: a blank is fine, a rejected entry is not.
    checks
        names of checks that must have been judged.
    otherwise
        the formula of the answer while something is missing.

    """
    numbers = list(numbers)
    gates = [f"COUNT({','.join(numbers)})<{len(numbers)}"] if numbers else []
    gates += [f'{name}=""' for name in texts]
    gates += [f'{name}="INCOMPLETE"' for name in checks]
    gates += [f'AND({name}<>"entered",{name}<>"default")' for name in statuses]
    if not gates:
        return formula
    gate = gates[0] if len(gates) == 1 else f"OR({','.join(gates)})"
    return f"IF({gate},{otherwise},{formula})"


def longest_text(formula: str) -> str:
    """Return about the longest text that a formula can show: the longest of its texts, or all of those that it joins."""
    texts = [token.text.strip('"') for token in tokens(formula) if token.kind == "text"]
    if any(token.text == "&" for token in tokens(formula)):
        return " ".join([*texts, *("joined" for name in names_in(formula))])
    return max(texts, key=len, default="")


_SPOKEN = {
    "*": " × ",
    "/": " ÷ ",
    "-": " − ",
    "+": " + ",
    "<=": " ≤ ",
    ">=": " ≥ ",
    "<>": " ≠ ",
    "=": " = ",
    "<": " < ",
    ">": " > ",
    ",": ", ",
    "&": " & ",
}


def spoken(formula: str) -> str:
    """Return a formula as a person reads it on the working sheet: the same names, the usual signs.

    The displayed text is made here, not by the spreadsheet: programs translate function names and separators.
    """
    pieces = [Token("operator", "("), *tokens(formula)]
    return "".join(_spoken(before, piece) for before, piece in pairwise(pieces))


def _spoken(before: Token, piece: Token) -> str:
    if piece.kind != "operator":
        return piece.text
    if piece.text == "-" and before.kind == "operator" and before.text != ")":
        return "−"  # a sign, not a difference
    return _SPOKEN.get(piece.text, piece.text)
