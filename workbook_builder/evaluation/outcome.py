"""From single checks to what a person reads: margin, mark and sentence of each; and whether the row of a table can be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

import numpy as np

from workbook_builder.evaluation.tasks import DEFAULT, ENTERED
from workbook_builder.evaluation.wanted import blank, list_of
from workbook_builder.language.declare import Check
from workbook_builder.language.inputs import EntryTable, Input
from workbook_builder.language.limits import margin, margin_formula
from workbook_builder.language.steps import Argument, Given, Range, Step, taking
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS
from workbook_builder.language.wording import number_text

MARKS = {PASS: "✓", FAIL: "✗", NOTE: "!", NOT_APPLICABLE: "–", NOT_JUDGED: "○", INCOMPLETE: "?"}
NAMED = 4  # entries that a sentence names one by one
WAITING = "Not judged yet: one of these is missing or was not accepted (sheet Entries, column Status): "
SAYS = {
    PASS: "pass_says",
    FAIL: "fail_says",
    NOTE: "note_says",
    NOT_APPLICABLE: "not_applicable_says",
    NOT_JUDGED: "not_judged_says",
    INCOMPLETE: "open_says",
}
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
    bound |= {f"blank{number}": blank(name) for number, name in enumerate(check.asks, 1)}
    limits = tuple(side for side in ("at_least", "at_most") if side in bound)
    words = tuple(word for word in SAYS if word in sentences)
    names = {step: f"{step}_{check.name}" for step in ("mark", "margin", "wanted", "meaning")}
    return Instance(f"line_of_{check.name}", _line(limits, words, bool(check.advice), check.asks), bound, check.label, names=names)


def said(check: Check, rests_on: Sequence[Input]) -> dict[str, str]:
    """Return the sentences of a check by its words; what it waits for is always among them."""
    return {**check.sentences, INCOMPLETE: check.sentences.get(INCOMPLETE) or waiting(rests_on)}


MARK_SIGNS, MARK_WORDS = Range("mark_signs", values=tuple(MARKS.values())), Range("mark_words", values=tuple(MARKS))


@cache
def _line(limits: tuple[str, ...], words: tuple[str, ...], advised: bool, asks: tuple[str, ...]) -> Template:
    template = Template(f"line of a check: {', '.join((*limits, *words))}{', advice' * advised}, {len(asks)} entries")

    @template.step(kind="text", words="The sign of the verdict.", formula="INDEX(signs,MATCH(verdict,words,0))", guarded=False, single=True)
    def mark(signs: Any, verdict: Any, words: Any) -> Any:
        return signs[words.index(verdict)]

    if limits:
        formula = margin_formula("value", *(side if side in limits else "" for side in ("at_least", "at_most")))
        words_of = "The smaller distance to the limits, negative beyond them."
        template.add(Step(name="margin", words=words_of, formula=formula, function=taking(["value", *limits], margin)))
    if asks:
        template.add(list_of(asks))
    template.add(_meaning(words, advised))
    return template


def _meaning(words: tuple[str, ...], advised: bool) -> Step:
    *given, last = words
    formula = "".join(f'IF(verdict="{word}",{SAYS[word]},' for word in given) + SAYS[last] + ")" * len(given)
    names = ["verdict", *(SAYS[word] for word in words)]
    if NOT_JUDGED in words:
        formula += f'&IF(verdict="{NOT_JUDGED}"," Enter: "&wanted,"")'
        names.append("wanted")
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


def _sentence(verdict: str, before: str = "", count: float = np.nan, after: str = "", wanted: str = "", **says: str) -> str:
    advice = (
        ""
        if verdict not in (FAIL, NOTE) or np.isnan(count)
        else f" {before} {number_text(round_half_away(round_half_away(count, 6), 0))}{after}"
    )
    return says[SAYS[verdict]] + (f" Enter: {wanted}" if verdict == NOT_JUDGED else "") + advice


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
