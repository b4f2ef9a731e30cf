"""One line for each function and operator of the formulas: a small case whose answer a person knows.

The expected answer is arithmetic or a definition and stands as a typed constant; it is never computed by the function
that is looked at. ``function`` is the reference, written independently of the formula.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

STEPS = (0.5, 1.5, 2.5, 10.5)
MIXED: tuple[float | str, ...] = (7.0, "", "words", -2.5)  # the second is a formula that answers an empty text
WORDS = ("entered", "default", "PASS", "out of range")
TIGHT = 1e-9
Argument = float | str


@dataclass(frozen=True)
class Line:
    """One case. In the formula ``a`` and ``b`` are the cells beside it, the other names those of the small lists."""

    about: str
    words: str
    formula: str
    a: Argument
    b: Argument
    expected: float | str
    function: Callable[[Any, Any], Any]
    within: float = TIGHT


def _numbers(values: tuple[float | str, ...]) -> list[float]:
    return [value for value in values if not isinstance(value, str)]


def _row(values: tuple[Any, ...], limit: float) -> float:
    return float(sum(value <= limit for value in values))


LINES: tuple[Line, ...] = (
    Line("+", "tenths add up to a tenth", "a+b", 0.1, 0.2, 0.3, lambda a, b: a + b),
    Line("-", "a difference below zero", "a-b", 5.5, 7.0, -1.5, lambda a, b: a - b),
    Line("*", "a product", "a*b", 2.5, -4.0, -10.0, lambda a, b: a * b),
    Line("/", "a quotient", "a/b", 1.0, 8.0, 0.125, lambda a, b: a / b),
    Line("^", "a power that is not whole", "a^b", 2.25, 1.5, 3.375, lambda a, b: a**b),
    Line("-", "a square below zero, as it is written here", "0-a^b", 3.0, 2.0, -9.0, lambda a, b: -(a**b)),
    Line("&", "a number joined to a text", "a&b", 18.0, " V", "18 V", lambda a, b: f"{a:.0f}{b}"),
    Line(
        "=",
        "texts are the same in any case of letters",
        "IF(a=b,1,2)",
        "Pass",
        "PASS",
        1.0,
        lambda a, b: 1.0 if a.casefold() == b.casefold() else 2.0,
    ),
    Line("=", "a blank cell is an empty text", 'IF(proof_blank="",1,2)', "", "", 1.0, lambda _a, _b: 1.0),
    Line("=", "a formula that answers nothing is an empty text", 'IF(proof_nothing="",1,2)', "", "", 1.0, lambda _a, _b: 1.0),
    Line("<>", "different texts", "IF(a<>b,1,2)", "AC", "DC", 1.0, lambda a, b: 1.0 if a.casefold() != b.casefold() else 2.0),
    Line("<", "below", "IF(a<b,1,2)", 2.25, 2.5, 1.0, lambda a, b: 1.0 if a < b else 2.0),
    Line(">", "above", "IF(a>b,1,2)", 2.25, 2.5, 2.0, lambda a, b: 1.0 if a > b else 2.0),
    Line("<=", "a tie is within", "IF(a<=b,1,2)", 2.5, 2.5, 1.0, lambda a, b: 1.0 if a <= b else 2.0),
    Line(">=", "a tie is within", "IF(a>=b,1,2)", 2.5, 2.5, 1.0, lambda a, b: 1.0 if a >= b else 2.0),
    Line(":", "the largest of a range of cells", "MAX(first:last)", "", "", 10.5, lambda _a, _b: max(STEPS)),
    Line("ABS", "size without sign", "ABS(a)", -2.5, "", 2.5, lambda a, _b: math.fabs(a)),
    Line("ACOS", "the angle whose cosine is −1 is π", "ACOS(a)", -1.0, "", 3.141592653589793, lambda a, _b: math.acos(a)),
    Line("AND", "both hold, or not", "IF(AND(a>0,b>0),1,2)", 1.0, -1.0, 2.0, lambda a, b: 1.0 if a > 0 and b > 0 else 2.0),
    Line("COS", "cosine of 60°, an angle of π/3", "COS(a)", 1.0471975511965976, "", 0.5, lambda a, _b: math.cos(a)),
    Line("COUNT", "numbers of a list with texts in it", "COUNT(proof_mixed)", "", "", 2.0, lambda _a, _b: float(len(_numbers(MIXED)))),
    Line("COUNT", "a blank cell is no number", "COUNT(proof_blank,a)", 4.0, "", 1.0, lambda _a, _b: 1.0),
    Line(
        "COUNTIF",
        "below a limit with decimals",
        'COUNTIF(proof_steps,"<"&a)',
        2.25,
        "",
        2.0,
        lambda a, _b: float(sum(step < a for step in STEPS)),
    ),
    Line(
        "COUNTIF",
        "a word in any case of letters",
        "COUNTIF(proof_words,a)",
        "pass",
        "",
        1.0,
        lambda a, _b: float(sum(word.casefold() == a for word in WORDS)),
    ),
    Line("EXP", "e² = 7.389…", "EXP(a)", 2.0, "", 7.38905609893065, lambda a, _b: math.exp(a)),
    Line("IF", "the first answer where it holds", "IF(a>b,a,b)", 3.0, 2.0, 3.0, lambda a, b: a if a > b else b),
    Line("INDEX", "the third of a list", "INDEX(proof_words,a)", 3.0, "", "PASS", lambda a, _b: WORDS[int(a) - 1]),
    Line("ISERROR", "a quotient by nothing is an error", "IF(ISERROR(a/b),1,2)", 1.0, 0.0, 1.0, lambda _a, b: 1.0 if b == 0 else 2.0),
    Line(
        "ISLOGICAL", "a number is no truth value", "IF(ISLOGICAL(a),1,2)", 1.0, "", 2.0, lambda a, _b: 1.0 if isinstance(a, bool) else 2.0
    ),
    Line("ISNUMBER", "a word is no number", "IF(ISNUMBER(a),1,2)", "abc", "", 2.0, lambda a, _b: 1.0 if isinstance(a, float) else 2.0),
    Line(
        "ISTEXT",
        "digits that were typed as text are text",
        "IF(ISTEXT(a),1,2)",
        "18",
        "",
        1.0,
        lambda a, _b: 1.0 if isinstance(a, str) else 2.0,
    ),
    Line("LN", "logarithm of 10", "LN(a)", 10.0, "", 2.302585092994046, lambda a, _b: math.log(a)),
    Line("MATCH", "the place of a word", "MATCH(a,proof_words,0)", "pass", "", 3.0, lambda _a, _b: WORDS.index("PASS") + 1.0),
    Line("MATCH", "just below its edge a step has not begun", "MATCH(a,proof_steps,1)", 2.499, "", 2.0, lambda a, _b: _row(STEPS, a)),
    Line("MATCH", "a step begins at its edge", "MATCH(a,proof_steps,1)", 2.5, "", 3.0, lambda a, _b: _row(STEPS, a)),
    Line("MAX", "texts of a list are passed over", "MAX(proof_mixed)", "", "", 7.0, lambda _a, _b: max(_numbers(MIXED))),
    Line("MIN", "the lowest may be below zero", "MIN(proof_mixed)", "", "", -2.5, lambda _a, _b: min(_numbers(MIXED))),
    Line("NOT", "the opposite", "IF(NOT(a>b),1,2)", 1.0, 2.0, 1.0, lambda a, b: 2.0 if a > b else 1.0),
    Line("OR", "one of two holds", "IF(OR(a>0,b>0),1,2)", 1.0, -1.0, 1.0, lambda a, b: 1.0 if a > 0 or b > 0 else 2.0),
    Line("ROUND", "a half is rounded away from zero", "ROUND(a,0)", 2.5, "", 3.0, lambda a, _b: math.floor(a + 0.5) * 1.0),
    Line("ROUND", "below zero as well", "ROUND(a,0)", -2.5, "", -3.0, lambda a, _b: -math.floor(-a + 0.5) * 1.0),
    Line("ROUNDDOWN", "toward zero", "ROUNDDOWN(a,0)", 10.63, "", 10.0, lambda a, _b: math.floor(a) * 1.0),
    Line("ROUNDUP", "to the next whole number", "ROUNDUP(a,0)", 5.02, "", 6.0, lambda a, _b: math.ceil(a) * 1.0),
    Line("SIN", "sine of 30°, an angle of π/6", "SIN(a)", 0.5235987755982989, "", 0.5, lambda a, _b: math.sin(a)),
    Line(
        "SUBSTITUTE",
        "each of some signs is taken out of a text",
        'SUBSTITUTE(a,b,"")',
        "1|2|3",
        "|",
        "123",
        lambda a, b: a.replace(b, ""),
    ),
    Line(
        "SUMPRODUCT",
        "equal words of a list, counted",
        "SUMPRODUCT((proof_words=a)*1)",
        "entered",
        "",
        1.0,
        lambda a, _b: float(WORDS.count(a)),
    ),
    Line(
        "SUMPRODUCT",
        "a list times itself",
        "SUMPRODUCT(proof_steps,proof_steps)",
        "",
        "",
        119.0,
        lambda _a, _b: sum(step * step for step in STEPS),
    ),
    Line("TRIM", "spaces around a text fall away", "TRIM(a)&b", " ab ", "|", "ab|", lambda a, b: a.strip() + b),
)
