"""The verdict of the match, the verdict of the whole design, and what they mean in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from workbook_builder.evaluation.entries import MISSING
from workbook_builder.evaluation.proof_words import CALCULATES
from workbook_builder.evaluation.tasks import DEFAULT, ENTERED
from workbook_builder.evaluation.wanted import number_waited_for, waited_for
from workbook_builder.language.declare import Check
from workbook_builder.language.inputs import Input
from workbook_builder.language.steps import Argument, Calculation, Given, Range, Step, taking
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS
from workbook_builder.language.wording import number_text

PASS_WITH_NOTES = "PASS WITH NOTES"
VERDICTS = {
    PASS: "Every check that applies passes. Before you build, read the cautions, and what is not checked here.",
    PASS_WITH_NOTES: "No safety check fails, but the design has weaknesses. Read each line marked NOTE or NOT JUDGED.",
    FAIL: "At least one safety check fails. Do not build this design. Read each line marked FAIL.",
    INCOMPLETE: "The whole design is not settled. Do not build from it yet.",
}
MATCHES = {
    PASS: "The match of array, controller and battery passes.",
    PASS_WITH_NOTES: "The match of array, controller and battery passes, with weaknesses: read its lines marked NOTE.",
    FAIL: "The match of array, controller and battery fails: read its lines marked FAIL.",
    INCOMPLETE: "The match of array, controller and battery waits for entries that are required, or were not accepted.",
}
# takes the place of those above where the sheet Proof finds a line that does not come out right
UNPROVEN = (
    "This spreadsheet program does not calculate this workbook correctly: believe no figure in it here and do not build from it. "
    "See the sheet Proof, and open the workbook in another program."
)
COUNTED = {"passed": PASS, "failed": FAIL, "noted": NOTE, "not_judged": NOT_JUDGED, "not_applicable": NOT_APPLICABLE}

DESIGN = Template("the whole design", guarded=False)


def sections(checks: Sequence[Check]) -> list[tuple[str, list[Check]]]:
    """Return the checks in the order of the sheet Verdicts: those of the match first, and safety first in each part."""
    parts = (
        ("The match of array, controller and battery: safety. One FAIL fails the design", True, True),
        ("The match of array, controller and battery: performance. At worst a NOTE", True, False),
        ("The installation: safety. One FAIL fails the design", False, True),
        ("The installation: performance. At worst a NOTE", False, False),
    )
    return [(title, [one for one in checks if (one.match, one.safety) == (match, safety)]) for title, match, safety in parts]


def overall(checks: Sequence[Check], inputs: Sequence[Input]) -> Iterator[Calculation]:
    """Yield the counts of outcomes, both verdicts and their sentences.

    PASS is never the absence of a FAIL: it is counted up from accepted entries and passed checks, and only where the
    worked examples of the sheet Proof come out right.
    """

    def column(name: str, among: Sequence[Check]) -> Range:
        return Range(name, keys=tuple(check.name for check in among))

    (_, match_safety), (_, match_performance), (_, safety), (_, performance) = sections(checks)
    match = [*match_safety, *match_performance]
    bound: dict[str, Argument] = {
        "verdicts": column("verdict_column", [*match, *safety, *performance]),
        "match_verdicts": column("match_verdicts", match),
        "match_safety_verdicts": column("match_safety_verdicts", match_safety),
        "safety_verdicts": column("safety_verdicts", safety),
        "statuses": Range("status_column", keys=tuple(f"status_{entry.name}" for entry in inputs if not entry.table)),
        "row_statuses": Range("row_status_column", keys=tuple(f"status_{entry.name}" for entry in inputs if entry.table)),
        "waited_for": waited_for(checks, inputs),
        "checks_number": Given(float(len(checks)), "checks_number"),
        "match_number": Given(float(len(match)), "match_number"),
        "entries_number": Given(float(len(inputs)), "entries_number"),
        "verdict_meanings": Range("verdict_meanings", values=tuple(VERDICTS.values())),
        "match_meanings": Range("match_meanings", values=tuple(MATCHES.values())),
        "verdict_words": Range("verdict_words", values=tuple(VERDICTS)),
        "verdict_unproven": Given(UNPROVEN, "verdict_unproven"),
    }
    names = {step.name: step.name for step in DESIGN.steps}
    yield from Instance("design", DESIGN, bound, "The whole design", names=names, family="").calculations()


def _count_of(verdicts: Any, word: str) -> Any:
    return sum(np.equal(one, word) * 1.0 for one in verdicts)


def _counted(name: str, column: str, word: str, words: str) -> None:
    function = taking([column], lambda **columns: _count_of(columns[column], word))
    DESIGN.add(Step(name=name, words=words, formula=f'COUNTIF({column},"{word}")', function=function, guarded=False))


for _name, _word in COUNTED.items():
    _counted(f"checks_{_name}", "verdicts", _word, f"How many checks say {_word}.")
_counted("match_failed", "match_verdicts", FAIL, "How many checks of the match fail.")
_counted("match_noted", "match_verdicts", NOTE, "How many checks of the match have a note.")


@DESIGN.step(
    words="Checks that say none of these words: they wait for a required entry, or for one that was not accepted.",
    formula="checks_number-checks_passed-checks_failed-checks_noted-checks_not_judged-checks_not_applicable",
)
def checks_open(
    checks_number: Any, checks_passed: Any, checks_failed: Any, checks_noted: Any, checks_not_judged: Any, checks_not_applicable: Any
) -> Any:
    """Return how many checks wait."""
    return checks_number - checks_passed - checks_failed - checks_noted - checks_not_judged - checks_not_applicable


@DESIGN.step(
    words="Checks of the match that say none of the words of a judgement.",
    formula='match_number-match_failed-match_noted-COUNTIF(match_verdicts,"PASS")-COUNTIF(match_verdicts,"N/A")'
    '-COUNTIF(match_verdicts,"NOT JUDGED")',
)
def match_open(match_number: Any, match_failed: Any, match_noted: Any, match_verdicts: Any) -> Any:
    """Return how many checks of the match wait for an entry that is required, or was not accepted."""
    settled = [_count_of(match_verdicts, word) for word in (PASS, NOT_APPLICABLE, NOT_JUDGED)]
    return match_number - match_failed - match_noted - sum(settled)


@DESIGN.step(
    words="Safety checks that are not judged.",
    formula='COUNTIF(match_safety_verdicts,"NOT JUDGED")+COUNTIF(safety_verdicts,"NOT JUDGED")',
)
def safety_not_judged(match_safety_verdicts: Any, safety_verdicts: Any) -> Any:
    """Return how many safety checks are not judged."""
    return _count_of(match_safety_verdicts, NOT_JUDGED) + _count_of(safety_verdicts, NOT_JUDGED)


@DESIGN.step(
    words="Blank entries for which these safety checks wait.",
    formula="SUMPRODUCT(waited_for)",
    single=True,
)
def entries_waited_for(waited_for: Any) -> Any:
    """Return how many entries safety checks wait for."""
    return number_waited_for(waited_for)


@DESIGN.step(
    words="Required entries that are missing.",
    formula=f'COUNTIF(statuses,"{MISSING}")+COUNTIF(row_statuses,"{MISSING}")',
)
def entries_missing(statuses: Any, row_statuses: Any) -> Any:
    """Return how many required entries are missing."""
    return _count_of(statuses, MISSING) + _count_of(row_statuses, MISSING)


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
    words="FAIL as soon as one check of the match fails; otherwise no verdict before all of them are judged and the program is proven.",
    formula=f'IF(match_failed>0,"FAIL",IF(AND(match_open=0,entries_missing=0,calculation_ok="{CALCULATES}"),'
    'IF(match_noted>0,"PASS WITH NOTES","PASS"),"INCOMPLETE"))',
)
def verdict_match(match_failed: Any, match_open: Any, entries_missing: Any, calculation_ok: Any, match_noted: Any) -> Any:
    """Return the verdict of the match: array, controller and battery, as the required entries settle it."""
    complete = np.equal(match_open, 0) & np.equal(entries_missing, 0) & np.equal(calculation_ok, CALCULATES)
    passed = np.where(np.greater(match_noted, 0), PASS_WITH_NOTES, PASS)
    return np.where(np.greater(match_failed, 0), FAIL, np.where(complete, passed, INCOMPLETE))


@DESIGN.step(
    words="Everything that is still open: checks and entries that wait, and safety checks that are not judged.",
    formula="checks_open+entries_open+safety_not_judged",
)
def still_open(checks_open: Any, entries_open: Any, safety_not_judged: Any) -> Any:
    """Return how much is open before the whole design has a verdict."""
    return checks_open + entries_open + safety_not_judged


@DESIGN.step(
    kind="text",
    words="FAIL as soon as one safety check fails; otherwise no verdict before every safety check is judged and the program is proven.",
    formula=f'IF(checks_failed>0,"FAIL",IF(AND(still_open=0,calculation_ok="{CALCULATES}"),'
    'IF(checks_noted+checks_not_judged>0,"PASS WITH NOTES","PASS"),"INCOMPLETE"))',
)
def verdict(checks_failed: Any, still_open: Any, calculation_ok: Any, checks_noted: Any, checks_not_judged: Any) -> Any:
    """Return the verdict of the whole design."""
    complete = np.equal(still_open, 0) & np.equal(calculation_ok, CALCULATES)
    passed = np.where(np.greater(np.add(checks_noted, checks_not_judged), 0), PASS_WITH_NOTES, PASS)
    return np.where(np.greater(checks_failed, 0), FAIL, np.where(complete, passed, INCOMPLETE))


@DESIGN.step(
    kind="text",
    words="What is settled of the match.",
    formula=f'IF(calculation_ok="{CALCULATES}",INDEX(match_meanings,MATCH(verdict_match,verdict_words,0)),verdict_unproven)',
    single=True,
)
def meaning_match(calculation_ok: Any, match_meanings: Any, verdict_match: Any, verdict_words: Any, verdict_unproven: Any) -> Any:
    """Return the sentence of the match."""
    return match_meanings[verdict_words.index(verdict_match)] if calculation_ok == CALCULATES else verdict_unproven


@DESIGN.step(
    kind="text",
    words="What is still open.",
    formula='IF(entries_open>0," Fill in or correct "&entries_open&" entries: see the column Status of the sheet Entries.","")'
    '&IF(safety_not_judged>0," NOT JUDGED: "&safety_not_judged&" safety checks wait for "&entries_waited_for&" entries.","")',
    single=True,
)
def what_is_open(entries_open: Any, safety_not_judged: Any, entries_waited_for: Any) -> Any:
    """Return in words how many entries and safety checks are open."""
    entries, checks, wanted = (number_text(one) for one in (entries_open, safety_not_judged, entries_waited_for))
    refused = "" if entries == "0" else f" Fill in or correct {entries} entries: see the column Status of the sheet Entries."
    unjudged = "" if checks == "0" else f" NOT JUDGED: {checks} safety checks wait for {wanted} entries."
    return refused + unjudged


@DESIGN.step(
    kind="text",
    words="What the verdict means, and what is still open.",
    formula=f'IF(calculation_ok="{CALCULATES}",INDEX(verdict_meanings,MATCH(verdict,verdict_words,0))&what_is_open,verdict_unproven)',
    single=True,
)
def meaning_verdict(
    calculation_ok: Any, verdict_meanings: Any, verdict: Any, verdict_words: Any, what_is_open: Any, verdict_unproven: Any
) -> Any:
    """Return the sentence of the verdict."""
    return verdict_meanings[verdict_words.index(verdict)] + what_is_open if calculation_ok == CALCULATES else verdict_unproven
