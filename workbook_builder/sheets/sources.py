"""Where every figure comes from: the bibliography, what the marks mean, and what is still from memory."""

from __future__ import annotations

from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.file.plan import Plan, Sheet
from workbook_builder.language.sources import FROM_MEMORY, MARKS, Citation, bibliography, cited

WIDTHS = (44, 30, 22, 60)
LAST = len(WIDTHS) - 1


def add(plan: Plan, evaluation: Evaluation) -> Sheet:
    """Place the sheet of the sources."""
    sheet = plan.add(Sheet("Sources", "Where every rule and figure comes from", WIDTHS))
    sheet.banner("Sources", "title", LAST)
    sheet.banner("Behind a source stands how far the figure was checked. Without a mark: checked.", "subtitle", LAST)
    sheet.row += 1
    sheet.banner("What the marks mean", "chapter", LAST)
    for mark, meaning in MARKS.items():
        sheet.put(1, meaning, "text")
        sheet.merges.append((sheet.row, 1, LAST))
        sheet.line([(mark, "check")])
    found = citations(evaluation)
    sheet.row += 1
    sheet.banner("Sources cited in this workbook", "chapter", LAST)
    sheet.line([("Title", "head"), ("Publisher", "head"), ("Edition", "head"), ("How it was available", "head")])
    used = {citation.source for _, citation in found}
    for source in bibliography().values():
        if source.key in used:
            sheet.line([(text, "text") for text in (source.title, source.publisher, source.edition, source.note)])
    sheet.row += 1
    sheet.banner("Still from memory: confirm these against the source before relying on them", "chapter", LAST)
    for label, citation in found:
        if citation.mark == FROM_MEMORY:
            sheet.put(1, str(citation), "text")
            sheet.merges.append((sheet.row, 1, LAST))
            sheet.line([(label, "text")])
    return sheet


def citations(evaluation: Evaluation) -> list[tuple[str, Citation]]:
    """Return every label of the model with its citation, in reading order."""
    model = evaluation.model
    found = [(constant.label, cited(constant.source)) for constant in model.constants]
    found += [(table.title, table.source) for table in model.tables]
    found += [(f"{entry.label}, if left blank", cited(entry.blank_source)) for entry in model.inputs if entry.blank_source]
    found += [(f"Example on the sheet Proof: {chain.example.title}", chain.example.citation) for chain in evaluation.proof.chains]
    found += [(node.label, cited(node.source)) for node in model.quantities]
    found += [(node.label, cited(node.source)) for node in model.checks]
    return found + [(f"Table of the calculation: {grid.title}", cited(grid.source)) for grid in model.grids]
