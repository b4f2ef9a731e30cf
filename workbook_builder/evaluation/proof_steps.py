"""What the sheet Proof calculates beside the examples themselves: comparisons, a line for each function, the summary."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from workbook_builder.evaluation.proof_lines import LINES, MIXED, STEPS, WORDS
from workbook_builder.evaluation.proof_words import (
    AGREES,
    BAD,
    CALCULATES,
    DIFFERS,
    GOOD,
    HANDSHAKE_AFTER,
    HANDSHAKE_BEFORE,
    HANDSHAKE_BLANK,
    HANDSHAKE_TEXT,
    MISCALCULATES,
)
from workbook_builder.language import xl
from workbook_builder.language.steps import Argument, Given, Range, Step, taking
from workbook_builder.language.tables import KEY_DIGITS, round_half_away
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.wording import number_text

TYPED = "proof_handshake_number"


# ---- a result against what its source prints

COMPARISON = Template("a result against what its source prints", guarded=False)


def comparison(key: str, wanted: float, within: float) -> Instance:
    """Return the comparison of a value with a printed figure, called ``<key>_difference`` and ``<key>_agreement``."""
    return Instance(key, COMPARISON, {"shown": key, "wanted": Given(wanted), "within": Given(within)})


@COMPARISON.step(
    words="What is shown less what is printed.",
    formula='IF(COUNT(shown,wanted)=2,ROUND(shown-wanted,9),"")',
)
def difference(shown: Any, wanted: Any) -> Any:
    """Return the difference; NaN while nothing is shown."""
    return round_half_away(float(shown) - wanted, KEY_DIGITS)


@COMPARISON.step(
    kind="text",
    words="Whether it is within what the last printed digit allows.",
    formula=f'IF(COUNT(difference,within)=2,IF(ROUND(ABS(difference),9)<=ROUND(within,9),"{AGREES}","{DIFFERS}"),"{DIFFERS}")',
)
def agreement(difference: Any, within: Any) -> Any:
    """Return the word for it."""
    return AGREES if abs(difference) <= round_half_away(within, KEY_DIGITS) else DIFFERS


# ---- a line for each function and operator

LISTS: dict[str, Argument] = {
    "proof_steps": Range("proof_steps", values=STEPS),
    "proof_mixed": Range("proof_mixed", values=MIXED),
    "proof_words": Range("proof_words", values=WORDS),
    "proof_blank": Given("", "proof_blank"),
    "proof_nothing": "proof_nothing",
    "first": Given(STEPS[0], "proof_steps_first"),
    "last": Given(STEPS[-1], "proof_steps_last"),
}


def lines() -> Iterator[Instance]:
    """Yield the lines, each called ``proof_line<number>`` with its ``…_agreement``."""
    for number, line in enumerate(LINES, 1):
        key = f"proof_line{number}"
        names = {"shown": key, "agreement": f"{key}_agreement"}
        bound = LISTS | {name: Given(value) for name, value in (("a", line.a), ("b", line.b), ("within", line.within))}
        yield Instance(key, _line(number), bound | {"expected": Given(line.expected)}, line.words, names=names)


def nothing() -> Instance:
    """Return a formula that answers nothing, for lines that look at such a cell."""
    return Instance("proof_nothing", NOTHING, names={"nothing": "proof_nothing"})


NOTHING = Template("a formula that answers nothing")
NOTHING.add(Step(name="nothing", words="Nothing.", formula='""', function=lambda: "", kind="text", guarded=False))


@cache
def _line(number: int) -> Template:
    line = LINES[number - 1]
    template = Template(f"line {number} of the proof")
    names = xl.names_in(line.formula)
    kind = "text" if isinstance(line.expected, str) else "number"

    def shown(**given: Any) -> Any:
        return line.function(given.get("a", line.a), given.get("b", line.b))

    template.add(Step(name="shown", words=line.words, formula=line.formula, function=taking(names, shown), kind=kind, guarded=False))  # type: ignore[arg-type]
    if kind == "number":
        formula = f'IF(COUNT(shown,expected,within)=3,IF(ABS(shown-expected)<=within,"{AGREES}","{DIFFERS}"),"{DIFFERS}")'
        function = taking(["shown", "expected", "within"], _near)
    else:
        formula = f'IF(ISTEXT(shown),IF(shown=expected,"{AGREES}","{DIFFERS}"),"{DIFFERS}")'
        function = taking(["shown", "expected"], _same_text)
    words = "Whether the program calculates what a person knows."
    template.add(Step(name="agreement", words=words, formula=formula, function=function, kind="text", guarded=False))
    return template


def _near(shown: float, expected: float, within: float) -> str:
    return AGREES if math.fabs(shown - expected) <= within else DIFFERS


def _same_text(shown: str, expected: str) -> str:
    return AGREES if shown.casefold() == expected.casefold() else DIFFERS  # programs compare texts in any case of letters


# ---- the summary

SUMMARY = Template("whether this program calculates this workbook correctly", guarded=False)


def summary(agreements: Sequence[str], lines: float) -> Instance:
    """Return the summary of all agreements."""
    bound: dict[str, Argument] = {
        "agreements": Range("proof_agreement", keys=tuple(agreements)),
        "proof_lines": Given(lines, "proof_lines"),
        "good": Given(GOOD, "proof_good"),
        "bad": Given(BAD, "proof_bad"),
        "typed": TYPED,
    }
    return Instance("proof", SUMMARY, bound, names={step.name: step.name for step in SUMMARY.steps}, family="")


@SUMMARY.step(
    words="Lines that agree.",
    formula=f'COUNTIF(agreements,"{AGREES}")',
)
def proof_agreeing(agreements: Any) -> Any:
    """Return how many lines agree."""
    return float(sum(word == AGREES for word in agreements))


@SUMMARY.step(
    kind="text",
    words="Whether all lines agree, counted in two ways.",
    formula=f'IF(AND(COUNTIF(agreements,"{AGREES}")=proof_lines,SUMPRODUCT((agreements="{AGREES}")*1)=proof_lines),'
    f'"{CALCULATES}","{MISCALCULATES}")',
)
def calculation_ok(agreements: Any, proof_lines: Any) -> Any:
    """Return the word for the program."""
    return CALCULATES if sum(word == AGREES for word in agreements) == proof_lines else MISCALCULATES


@SUMMARY.step(
    kind="text",
    words="What to do about it.",
    formula=f'IF(calculation_ok="{CALCULATES}",good,ROUND(proof_lines-proof_agreeing,0)&" "&bad)',
)
def proof_meaning(calculation_ok: Any, good: Any, proof_lines: Any, proof_agreeing: Any, bad: Any) -> Any:
    """Return the sentence beside the word."""
    return good if calculation_ok == CALCULATES else f"{number_text(proof_lines - proof_agreeing)} {bad}"


@SUMMARY.step(
    kind="text",
    words="An answer to a number that a person types, to see whether anything is calculated.",
    formula=f'IF(typed="","{HANDSHAKE_BLANK}",IF(ISTEXT(typed),"{HANDSHAKE_TEXT}",'
    f'"{HANDSHAKE_BEFORE}"&(ROUND(typed,0)+1)&"{HANDSHAKE_AFTER}"))',
)
def proof_handshake(typed: Any) -> Any:
    """Return the answer to what is typed."""
    if isinstance(typed, str):
        return HANDSHAKE_TEXT if typed else HANDSHAKE_BLANK
    return f"{HANDSHAKE_BEFORE}{number_text(round_half_away(float(typed), 0) + 1)}{HANDSHAKE_AFTER}"
