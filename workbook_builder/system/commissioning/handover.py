"""The acceptance list of the day: each test with its result, date and initials, and whether any is still open."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL, EntryTable
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.wording import each, number_text
from workbook_builder.system.commissioning.readings import SHEET, STEPS

chapter = Part(
    "handover",
    "Acceptance list",
    "Each line is done, or does not apply to this system, before it is handed over.",
    sheet=STEPS,
    typed_on=SHEET,
)

INSULATION = cite("iec-62446-1", "insulation resistance, systems above 120 V at 500 V; smaller ones at 250 V", FROM_MEMORY)
chapter.constant("insulation_least", 1, "MΩ", "Lowest insulation resistance", "R,ins", INSULATION)
chapter.number(
    "reading_insulation",
    "MΩ",
    0,
    100000,
    "Insulation resistance",
    blank=OPTIONAL,
    where="insulation tester, array isolated; the lowest value read to earth",
)
DONE, NOT_DONE, OUT = "done", "not done", "does not apply"


@lru_cache(maxsize=1)
def texts() -> dict[str, Any]:
    """Return the texts of the sheet: cautions, and the tests with their numbers."""
    return tomllib.loads((TEMPLATES / "commissioning.toml").read_text(encoding="utf-8"))


ITEMS = tuple((f"item{test['number']}", f"{test['number']} {test['what']}") for test in texts()["test"])
table = EntryTable(
    "handover",
    "Acceptance list",
    "The numbers are those of the sheet Checklist, carried on.",
    ITEMS,
    (("done", "Result"), ("by", "Initials"), ("date", "Date")),
)
chapter.entry_table(table)
for _item, _label in ITEMS:
    chapter.choice(f"{_item}_done", (DONE, NOT_DONE, OUT), f"{_label}: result", blank=OPTIONAL, table="handover", where="on the day")
    chapter.text(f"{_item}_by", f"{_label}: initials", blank=OPTIONAL, table="handover", where="who did it")
    chapter.text(f"{_item}_date", f"{_label}: date", blank=OPTIONAL, table="handover", where="when it was done")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the insulation is good enough",
    words="Not below the least resistance.",
    formula='IF(reading_insulation="","not measured",IF(ROUND(reading_insulation,6)>=ROUND(insulation_least,6),"good",'
    '"too low: find the damp or damaged part first"))',
    source=INSULATION,
    optional=("reading_insulation",),
)
def insulation_state(reading_insulation: Value, insulation_least: Value) -> Value:
    enough = round_half_away(reading_insulation, 6) >= round_half_away(insulation_least, 6)
    judged = np.where(enough, "good", "too low: find the damp or damaged part first")
    return np.where(np.isnan(reading_insulation), "not measured", judged)


listed = chapter.grid(
    Grid(
        "handed",
        "Tests that are settled",
        "Done, or not applicable; and signed with initials and a date.",
        own_rule("a test is settled when somebody put a name to it"),
        tuple(
            Row(item, label, {field: f"{item}_{field}" for field, _ in table.fields}, start=number == 0)
            for number, (item, label) in enumerate(ITEMS)
        ),
        STEPS,
    )
)


@listed.column(
    symbol="settled",
    words="1 if the result is done or does not apply, and it is signed",
    formula=f'IF(AND(done<>"{NOT_DONE}",by<>"",date<>""),1,0)',
)
def settled(done: Value, by: Value, date: Value) -> Value:
    return ((done != NOT_DONE) & (by != "") & (date != "")) * 1.0


@listed.column(
    symbol="test", kind="text", words="what is said of it", named=True, optional=("settled",), formula='IF(settled=1,"settled","OPEN")'
)
def says(settled: Value) -> Value:
    return np.where(settled == 1, "settled", "OPEN")


@listed.running(symbol="sum", words="settled up to here", optional=("previous_total", "settled"), formula="IF(settled=1,1,0)")
def total(settled: Value) -> Value:
    return (settled == 1) * 1.0


LAST = f"handed_{ITEMS[-1][0]}"
chapter.constant("handover_tests", len(ITEMS), "", "Tests of the acceptance list", "", own_rule("counted"))


@chapter.quantity(
    symbol="",
    unit="",
    label="Tests that are still open",
    words="All less those that are settled.",
    formula=f"handover_tests-{LAST}_total",
    source=own_rule("counted"),
)
def commissioning_open(handover_tests: Value, handed_item72_total: Value) -> Value:
    return handover_tests - handed_item72_total


@chapter.quantity(
    kind="text",
    unit="",
    label="Where the commissioning stands",
    words="Complete only if nothing is open and the insulation is not too low.",
    formula='IF(AND(insulation_state<>"good",insulation_state<>"not measured"),"not complete: the insulation is too low",'
    'IF(commissioning_open=0,"complete","not complete: tests are open, or not signed"))',
    source=own_rule("nothing is complete by being left blank"),
)
def commissioning_state(insulation_state: Value, commissioning_open: Value) -> Value:
    bad = (insulation_state != "good") & (insulation_state != "not measured")
    rest = np.where(commissioning_open == 0, "complete", "not complete: tests are open, or not signed")
    return np.where(bad, "not complete: the insulation is too low", rest)


def _amps(run: str, name: str) -> dict[str, Any]:
    return {
        "kind": "text",
        "unit": "",
        "label": f"Amps at which the listed drop holds: {run}",
        "words": "In words.",
        "formula": f'"at "&ROUND({name},1)&" A, cable alone; blank: not entered in the design"',
        "source": own_rule("for the sheet"),
    }


@chapter.quantity(**_amps("array to controller", "array_imp"))
def drop_amps_array(array_imp: Value) -> Value:
    return _at_amps(array_imp)


@chapter.quantity(**_amps("controller to battery", "controller_i_max"))
def drop_amps_battery(controller_i_max: Value) -> Value:
    return _at_amps(controller_i_max)


def _at_amps(amps: Any) -> Any:
    return each(amps, lambda number: f"at {number_text(number)} A, cable alone; blank: not entered in the design", digits=1)
