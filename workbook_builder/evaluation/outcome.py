"""From single checks to what a person reads: margin, mark and sentence of each, and the verdict of the design."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from workbook_builder.evaluation.entries import DEFAULT, ENTERED
from workbook_builder.evaluation.proof_words import CALCULATES
from workbook_builder.language.declare import FAIL, INCOMPLETE, NOT_APPLICABLE, NOTE, PASS, Check, Input, Quantity
from workbook_builder.language.limits import margin
from workbook_builder.language.tables import round_half_away
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


def nothing_for(node: Quantity) -> Any:
    """Return what stands for "no answer" in a quantity or check."""
    if isinstance(node, Check):
        return INCOMPLETE
    return "" if node.kind == "text" else np.nan


def waiting(rests_on: Sequence[Input]) -> str:
    """Return the sentence of a check that cannot be judged yet."""
    labels = [entry.label for entry in rests_on]
    more = f"; and {len(labels) - NAMED} more" if len(labels) > NAMED else ""
    return WAITING + "; ".join(labels[:NAMED]) + more + "."


def explain(check: Check, rests_on: Sequence[Input], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return margin, mark and sentence of one check, for single values (arrays get the margin only)."""
    distance = _margin(check, values)
    verdict = values[check.name]
    if np.ndim(verdict):
        return {f"margin_{check.name}": distance}
    sentence = check.sentences[verdict] if verdict in check.sentences else waiting(rests_on)
    if check.advice and verdict in (FAIL, NOTE):
        before, name, after = check.advice
        count = values[name]
        sentence += "" if np.isnan(count) else f" {before}{number_text(round_half_away(count, 0))}{after}"
    return {f"margin_{check.name}": distance, f"mark_{check.name}": MARKS[verdict], f"meaning_{check.name}": sentence}


def _margin(check: Check, values: Mapping[str, Any]) -> Any:
    value, at_least, at_most = (values[name] if name else None for name in (check.value, check.at_least, check.at_most))
    return margin(value, at_least, at_most)


ROW_ACCEPTED, ROW_OPEN, ROW_BLANK = "readable", "REFUSED", ""


def row_status(statuses: Sequence[Any]) -> str:
    """Return in words whether what is typed in one row of an entry table can be read; nothing of an empty row (for single designs).

    It says nothing of what the entries mean: a test that is not done is readable too.
    """
    single = all(np.ndim(status) == 0 for status in statuses)
    if single and all(status == DEFAULT for status in statuses):
        return ROW_BLANK
    return ROW_ACCEPTED if single and all(status in (ENTERED, DEFAULT) for status in statuses) else ROW_OPEN


def overall(checks: Sequence[Check], inputs: Sequence[Input], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the counts of outcomes, the verdict of the design and its sentence.

    PASS is never the absence of a FAIL: it is counted up from accepted entries and passed checks, and only where the
    worked examples of the sheet Proof come out right.
    """
    counts: dict[str, Any] = {}
    for name, word in (("passed", PASS), ("failed", FAIL), ("noted", NOTE), ("not_applicable", NOT_APPLICABLE)):
        counts[f"checks_{name}"] = sum(np.equal(values[check.name], word) * 1.0 for check in checks)
    settled = sum(counts[f"checks_{name}"] for name in ("passed", "noted", "not_applicable"))
    accepted = sum(
        (np.equal(values[f"status_{entry.name}"], ENTERED) | np.equal(values[f"status_{entry.name}"], DEFAULT)) * 1.0 for entry in inputs
    )
    counts["checks_open"] = len(checks) - settled - counts["checks_failed"]
    counts["entries_open"] = len(inputs) - accepted
    proven = values["calculation_ok"] == CALCULATES
    complete = (settled == len(checks)) & (accepted == len(inputs)) & proven
    verdict = np.where(
        counts["checks_failed"] > 0,
        FAIL,
        np.where(complete, np.where(counts["checks_noted"] > 0, PASS_WITH_NOTES, PASS), INCOMPLETE),
    )
    if np.ndim(verdict):
        return {**counts, "verdict": verdict}
    aside = number_text(counts["checks_not_applicable"])
    unjudged = "" if aside == "0" else f" Not judged, marked N/A: {aside} checks."
    return {**counts, "verdict": str(verdict), "meaning_verdict": (VERDICTS[str(verdict)] if proven else UNPROVEN) + unjudged}
