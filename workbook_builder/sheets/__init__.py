"""One module per sheet: each places its part of the model on a sheet of the plan."""

from __future__ import annotations

import hashlib

from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.file.contents import BUILD, SHEETS
from workbook_builder.file.formula_cells import write_formulas
from workbook_builder.file.plan import Plan
from workbook_builder.language.errors import WorkbookError
from workbook_builder.sheets import (
    charts,
    checklist,
    commissioning,
    entries,
    installation,
    proof,
    sources,
    start,
    tabled,
    tables,
    verdicts,
    working,
)

# sheets of calculations, in the order in which they stand
WORKED = {
    "Power": "What the battery gets from the array",
    "Arrangements": "Other numbers of modules in series and in parallel",
    "Loads": "What is used each day",
    "Battery": "Size of the battery and its charge current",
    "Energy": "The year, month by month",
    "Cables": "What each run carries and loses",
    "Protection": "Fuses, and what the code asks",
    "Enclosure": "Heat, gas, water and rodents where the equipment stands, and what is confirmed",
    "Working": "The steps of the calculation",
    "Curve": "The current-voltage curve of the module, step by step",
    "Diagnosis": "What the readings of the day say, step by step",
}


def make_plan(evaluation: Evaluation, *, example: bool = False) -> Plan:
    """Return the plan of a model's workbook. It does not depend on what is entered.

    Raises
    ------
    WorkbookError
        listing everything in the plan that a spreadsheet program would refuse.

    """
    model = evaluation.model
    plan = Plan(f"Design check, {model.profile.title}")
    looked_up = tables.add(plan, model)
    typed = entries.add(plan, model, tabled.place)
    carried = commissioning.add(plan, model, example=example)
    rows = tabled.add(plan, model)
    worked = [working.add(plan, model, name, description, keep_free=charts.FREE.get(name, 0)) for name, description in WORKED.items()]
    by_name = {sheet.name: sheet for sheet in worked}
    charts.add(plan, by_name["Power"], top=2)
    charts.add_year(plan, by_name["Energy"], top=2)
    judged = verdicts.add(plan, model)
    printed = installation.add(plan, model)
    listed = checklist.add(plan, model)
    cited = sources.add(plan, evaluation)
    opening = start.add(plan, model, example)
    proven = proof.add(plan, evaluation)
    placed = [opening, typed, judged, printed, listed, carried, *worked, rows, looked_up, proven, cited]
    plan.sheets = sorted(placed, key=lambda sheet: SHEETS.index(sheet.name))
    write_formulas(plan, evaluation.calculations, evaluation.kinds)
    text = "\n".join(f"{sheet.name}!{row},{column}={formula.text}" for sheet, row, column, formula in plan.formulas())
    plan.fill(BUILD, hashlib.sha256(text.encode()).hexdigest()[:12])
    problems = plan.faults()
    if problems:
        raise WorkbookError(problems)
    return plan
