"""From single checks to what a person reads: margin, mark and sentence of each, and the verdict of the design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

import numpy as np

from workbook_builder.evaluation.proof_words import CALCULATES
from workbook_builder.evaluation.tasks import DEFAULT, ENTERED
from workbook_builder.language.declare import Check
from workbook_builder.language.inputs import EntryTable, Input
from workbook_builder.language.limits import margin, margin_formula
from workbook_builder.language.steps import Argument, Calculation, Given, Range, Step, taking
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOTE, PASS
from workbook_builder.language.wording import number_text

PASS_WITH_NOTES = "PASS WITH NOTES"
MARKS = {PASS: "✓", FAIL: "✗", NOTE: "!", NOT_APPLICABLE: "–", INCOMPLETE: "?"}
NAMED = 4  # entries that a sentence names one by one
WAITING = "Not judged yet: one of these is missing or was not accepted (sheet Entries, column Status): "
VERDICTS = {
    PASS: "Every check that applies is passed. Read the cautions, and what is not checked here, before you build.",
    PASS_WITH_NOTES: "No safety check fails, but the design has weaknesses: read each line marked NOTE.",
    FAIL: "At least one safety check fails. Do not build this design: read each line marked FAIL.",
    INCOMPLETE: "No judgement yet: fill in or correct the entries whose status is neither entered nor default.",
}
# takes the place of those above where the sheet Proof finds a line that does not come out right
UNPROVEN = (
    "This spreadsheet program does not calculate this workbook correctly: believe no figure in it here and do not build from it. "
    "See the sheet Proof, and open the workbook in another program."
)
SAYS = {PASS: "pass_says", FAIL: "fail_says", NOTE: "note_says", NOT_APPLICABLE: "not_applicable_says", INCOMPLETE: "open_says"}
ROW_ACCEPTED, ROW_OPEN, ROW_BLANK = "readable", "REFUSED", ""


def waiting(rests_on: Sequence[Input]) -> str:
    """Return the sentence of a check that cannot be judged yet."""
    labels = [entry.label for entry in rests_on]
    more = f"; and {len(labels) - NAMED} more" if len(labels) > NAMED else ""
    return WAITING + "; ".join(labels[:NAMED]) + more + "."


# ---- the line of a check


def line_of(check: Check, rests_on: Sequence[Input]) -> Instance:
    """Return the line of a check on the sheet Verdicts; ``rests_on`` are the required inputs behind it."""
    sentences = said(check, rests_on)
    bound: dict[str, Argument] = {SAYS[word]: Given(sentence, f"{check.name}_{SAYS[word]}") for word, sentence in sentences.items()}
    bound |= {"verdict": check.name, "signs": MARK_SIGNS, "words": MARK_WORDS}
    bound |= {side: name for side in ("value", "at_least", "at_most") if (name := getattr(check, side))}
    if check.advice:
        before, count, after = check.advice
        bound |= {"before": Given(before.strip(), f"{check.name}_before"), "count": count}
        bound |= {"after": Given(after, f"{check.name}_after")}
    limits = tuple(side for side in ("at_least", "at_most") if side in bound)
    words = tuple(word for word in SAYS if word in sentences)
    names = {step: f"{step}_{check.name}" for step in ("mark", "margin", "meaning")}
    return Instance(f"line_of_{check.name}", _line(limits, words, bool(check.advice)), bound, check.label, names=names)


def said(check: Check, rests_on: Sequence[Input]) -> dict[str, str]:
    """Return the sentences of a check by its words; what it waits for is always among them."""
    return {**check.sentences, INCOMPLETE: check.sentences.get(INCOMPLETE) or waiting(rests_on)}


MARK_SIGNS, MARK_WORDS = Range("mark_signs", values=tuple(MARKS.values())), Range("mark_words", values=tuple(MARKS))


@cache
def _line(limits: tuple[str, ...], words: tuple[str, ...], advised: bool) -> Template:
    template = Template(f"line of a check: {', '.join((*limits, *words))}{', advice' * advised}")

    @template.step(kind="text", words="The sign of the verdict.", formula="INDEX(signs,MATCH(verdict,words,0))", guarded=False, single=True)
    def mark(signs: Any, verdict: Any, words: Any) -> Any:
        return signs[words.index(verdict)]

    if limits:
        formula = margin_formula("value", *(side if side in limits else "" for side in ("at_least", "at_most")))
        words_of = "The smaller distance to the limits, negative beyond them."
        template.add(Step(name="margin", words=words_of, formula=formula, function=taking(["value", *limits], margin)))
    template.add(_meaning(words, advised))
    return template


def _meaning(words: tuple[str, ...], advised: bool) -> Step:
    *given, last = words
    formula = "".join(f'IF(verdict="{word}",{SAYS[word]},' for word in given) + SAYS[last] + ")" * len(given)
    names = ["verdict", *(SAYS[word] for word in words)]
    if advised:
        wanted = ",".join(f'verdict="{word}"' for word in (FAIL, NOTE) if word in words)
        wanted = f"OR({wanted})" if "," in wanted else wanted
        formula += f'&IF(AND({wanted},COUNT(count)=1)," "&before&" "&ROUND(ROUND(count,6),0)&after,"")'
        names += ["before", "count", "after"]
    return Step(
        name="meaning",
        words="What the verdict means, and what to change.",
        formula=formula,
        function=taking(names, _sentence),
        kind="text",
        guarded=False,
        single=True,
    )


def _sentence(verdict: str, before: str = "", count: float = np.nan, after: str = "", **says: str) -> str:
    advice = (
        ""
        if verdict not in (FAIL, NOTE) or np.isnan(count)
        else f" {before} {number_text(round_half_away(round_half_away(count, 6), 0))}{after}"
    )
    return says[SAYS[verdict]] + advice


# ---- a row of a table of entries


def row_statuses(table: EntryTable) -> Iterator[Instance]:
    """Yield for each row of an entry table whether what is typed there can be read; it says nothing of what the entries mean."""
    places = [(item, table.inputs(item)[place]) for place in range(len(table.fields)) for item, _ in table.items]
    items = Range(f"{table.name}_items", values=tuple(item for item, _ in places))
    statuses = Range(f"{table.name}_statuses", keys=tuple(f"status_{name}" for _, name in places))
    for item, label in table.items:
        bound: dict[str, Argument] = {"items": items, "statuses": statuses, "item": Given(item, f"given_{item}_key")}
        yield Instance(f"row_of_{item}", ROWS, bound, label, names={"status": f"row_status_{item}"})


ROWS = Template("row of a table of entries")
_TYPED = f'(items=item)*(statuses<>"{DEFAULT}")'


@ROWS.step(
    name="status",
    kind="text",
    words="Whether every entry of the row can be read; nothing for an empty row.",
    formula=f'IF(SUMPRODUCT({_TYPED})=0,"{ROW_BLANK}",IF(SUMPRODUCT({_TYPED}*(statuses<>"{ENTERED}"))=0,"{ROW_ACCEPTED}","{ROW_OPEN}"))',
    guarded=False,
    single=True,
)
def row_status(items: Any, item: Any, statuses: Any) -> Any:
    """Return in words whether what is typed in one row can be read."""
    mine = [status for one, status in zip(items, statuses, strict=True) if one == item]
    if all(status == DEFAULT for status in mine):
        return ROW_BLANK
    return ROW_ACCEPTED if all(status in (ENTERED, DEFAULT) for status in mine) else ROW_OPEN


# ---- the whole design


def overall(checks: Sequence[Check], inputs: Sequence[Input]) -> Iterator[Calculation]:
    """Yield the counts of outcomes, the verdict of the design and its sentence.

    PASS is never the absence of a FAIL: it is counted up from accepted entries and passed checks, and only where the
    worked examples of the sheet Proof come out right.
    """
    bound: dict[str, Argument] = {
        "verdicts": Range("verdict_column", keys=tuple(check.name for check in checks)),
        "statuses": Range("status_column", keys=tuple(f"status_{entry.name}" for entry in inputs if not entry.table)),
        "row_statuses": Range("row_status_column", keys=tuple(f"status_{entry.name}" for entry in inputs if entry.table)),
        "checks_number": Given(float(len(checks)), "checks_number"),
        "entries_number": Given(float(len(inputs)), "entries_number"),
        "verdict_meanings": Range("verdict_meanings", values=tuple(VERDICTS.values())),
        "verdict_words": Range("verdict_words", values=tuple(VERDICTS)),
        "verdict_unproven": Given(UNPROVEN, "verdict_unproven"),
    }
    names = {step.name: step.name for step in DESIGN.steps}
    yield from Instance("design", DESIGN, bound, "The whole design", names=names, family="").calculations()


DESIGN = Template("the whole design")
COUNTED = {"passed": PASS, "failed": FAIL, "noted": NOTE, "not_applicable": NOT_APPLICABLE}


def _counted(name: str, word: str) -> None:
    def count(verdicts: Any) -> Any:
        return sum(np.equal(one, word) * 1.0 for one in verdicts)

    words = f"How many checks say {word}."
    DESIGN.add(Step(name=f"checks_{name}", words=words, formula=f'COUNTIF(verdicts,"{word}")', function=count))


for _name, _word in COUNTED.items():
    _counted(_name, _word)


@DESIGN.step(
    words="Checks that say none of these words: they wait for something.",
    formula="checks_number-checks_passed-checks_failed-checks_noted-checks_not_applicable",
    guarded=False,
)
def checks_open(checks_number: Any, checks_passed: Any, checks_failed: Any, checks_noted: Any, checks_not_applicable: Any) -> Any:
    """Return how many checks wait."""
    return checks_number - checks_passed - checks_failed - checks_noted - checks_not_applicable


@DESIGN.step(
    words="Entries that are missing or not accepted.",
    formula=f'entries_number-COUNTIF(statuses,"{ENTERED}")-COUNTIF(statuses,"{DEFAULT}")'
    f'-COUNTIF(row_statuses,"{ENTERED}")-COUNTIF(row_statuses,"{DEFAULT}")',
)
def entries_open(entries_number: Any, statuses: Any, row_statuses: Any) -> Any:
    """Return how many entries are missing or refused."""
    return entries_number - sum((np.equal(one, ENTERED) | np.equal(one, DEFAULT)) * 1.0 for one in (*statuses, *row_statuses))


@DESIGN.step(
    kind="text",
    words="FAIL as soon as one safety check fails; otherwise no verdict before everything is judged and the program is proven.",
    formula=f'IF(checks_failed>0,"FAIL",IF(AND(checks_open=0,entries_open=0,calculation_ok="{CALCULATES}"),'
    'IF(checks_noted>0,"PASS WITH NOTES","PASS"),"INCOMPLETE"))',
    guarded=False,
)
def verdict(checks_failed: Any, checks_open: Any, entries_open: Any, calculation_ok: Any, checks_noted: Any) -> Any:
    """Return the verdict of the design."""
    complete = np.equal(checks_open, 0) & np.equal(entries_open, 0) & np.equal(calculation_ok, CALCULATES)
    passed = np.where(np.greater(checks_noted, 0), PASS_WITH_NOTES, PASS)
    return np.where(np.greater(checks_failed, 0), FAIL, np.where(complete, passed, INCOMPLETE))


@DESIGN.step(
    kind="text",
    words="What the verdict means, and how many checks were not judged.",
    formula=f'IF(calculation_ok="{CALCULATES}",INDEX(verdict_meanings,MATCH(verdict,verdict_words,0)),verdict_unproven)'
    '&IF(checks_not_applicable>0," Not judged, marked N/A: "&checks_not_applicable&" checks.","")',
    guarded=False,
    single=True,
)
def meaning_verdict(
    calculation_ok: Any, verdict_meanings: Any, verdict: Any, verdict_words: Any, verdict_unproven: Any, checks_not_applicable: Any
) -> Any:
    """Return the sentence of the verdict."""
    aside = number_text(checks_not_applicable)
    unjudged = "" if aside == "0" else f" Not judged, marked N/A: {aside} checks."
    means = verdict_meanings[verdict_words.index(verdict)]
    return (means if calculation_ok == CALCULATES else verdict_unproven) + unjudged
