"""What standards expect a designer to show, and how this workbook deals with each item; none is dropped silently."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache

from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Plan, Sheet, Shown, WordFormat
from workbook_builder.language import xl
from workbook_builder.language.declare import Quantity
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.inputs import Input
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.sheets.blocks import digits

WIDTHS = (6, 52, 56, 30, 24)
LAST = len(WIDTHS) - 1
JUDGED = "judged by a check"


@dataclass(frozen=True, slots=True)
class Item:
    """One item: its number, what is to be shown, the names that show it, and how it is dealt with."""

    number: int
    what: str
    names: tuple[str, ...]
    here: str


@lru_cache(maxsize=1)
def items() -> tuple[Item, ...]:
    """Return the items of ``templates/checklist.toml`` in their order."""
    data = tomllib.loads((TEMPLATES / "checklist.toml").read_text(encoding="utf-8"))
    return tuple(Item(row["number"], row["what"], tuple(row["names"]), row.get("here", JUDGED)) for row in data["item"])


def add(plan: Plan, model: Model) -> Sheet:
    """Place the checklist; a line for each name, with what stands there now."""
    unknown = [(item.number, name) for item in items() for name in item.names if name not in model.nodes]
    if unknown:
        raise DeclarationError(
            Problem(f"checklist.toml, item {number}", "names a value that there is not", name) for number, name in unknown
        )
    sheet = plan.add(Sheet("Checklist", "What standards expect to be shown, and where it is", WIDTHS))
    sheet.banner("Checklist", "title", LAST)
    sheet.banner("What is not judged here must be judged by the designer, the installer or the inspector.", "subtitle", LAST)
    head = sheet.row
    sheet.freeze_row, sheet.repeat_row = head + 1, head
    sheet.line([(word, "head") for word in ("No.", "What is to be shown", "How it is dealt with", "Name", "Now")])
    for item in items():
        for place, name in enumerate(item.names or ("",)):
            about = f"item {item.number} of the checklist"
            what, here = ("", "") if place else (model.said(item.what, about), model.said(item.here, about))
            sheet.put(0, float(item.number), "number")
            sheet.put(1, what, "text")
            sheet.put(2, here, "text")
            sheet.put(3, name, "quiet")
            said = _longest_text(model, name)
            sheet.put(4, Shown(name) if name else "", "text" if said else "centre", _digits(model, name))
            sheet.fit(sheet.row, [(said, 4)])
            sheet.row += 1
    sheet.word_formats.append(WordFormat((head + 1, 4), (sheet.row - 1, 4), 4))
    return sheet


def _longest_text(model: Model, name: str) -> str:
    """Return about the longest text that stands there if it is a calculated sentence."""
    node = model.nodes.get(name)
    return xl.longest_text(node.formula) if isinstance(node, Quantity) and node.kind == "text" else ""


def _digits(model: Model, name: str) -> str:
    node = model.nodes.get(name)
    numeric = node.numeric if isinstance(node, Input) else isinstance(node, Quantity) and node.kind == "number"
    return digits(getattr(node, "unit", ""), "number" if numeric else "text")
