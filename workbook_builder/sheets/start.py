"""The opening sheet: what this is, how to fill it in, the cautions, and what it does not check."""

from __future__ import annotations

import workbook_builder
from workbook_builder.evaluation.model import Model
from workbook_builder.file.contents import BUILD, FIGURES, LAYOUT, PROFILE, SCHEMA, VERSION
from workbook_builder.file.plan import Plan, Sheet, Shown, WordFormat
from workbook_builder.language.words import words
from workbook_builder.sheets import stale

WIDTHS = (22, 24, 24, 24, 24)
LAST = len(WIDTHS) - 1


def add(plan: Plan, model: Model, example: bool) -> Sheet:
    """Place the opening sheet; it refers to names that other sheets define later."""
    text = words()
    sheet = plan.add(Sheet("Start", "What this workbook is for and how to use it", WIDTHS, landscape=False))
    sheet.banner("PV array, charge controller and battery: do they fit together?", "title", LAST)
    if example:
        sheet.banner("EXAMPLE: an invented site and invented equipment. Do not build from it.", "strong", LAST)
    sheet.banner(text["purpose"].strip(), "prose", LAST)
    sheet.row += 1
    _verdict(sheet, model)
    _list(sheet, "How to fill it in", text["steps"], numbered=True)
    _list(sheet, "Cautions", text["cautions"])
    _list(sheet, "What it does not check", text["not_checked"])
    _colours(sheet, text["colours"])
    _about(plan, sheet, model)
    return sheet


def _verdict(sheet: Sheet, model: Model) -> None:
    row = sheet.row
    sheet.put(0, "Site", "text", row=row)
    sheet.put(1, Shown("site_name"), "strong", row=row)
    sheet.merges.append((row, 1, LAST))
    sheet.row += 1
    for label, verdict, meaning in (
        ("Match of array, controller and battery", "verdict_match", "meaning_match"),
        ("The whole design", "verdict", "meaning_verdict"),
    ):
        row = sheet.row
        sheet.put(0, label, "strong")
        sheet.put(1, Shown(verdict), "verdict_big")
        sheet.links[row, 1] = verdict
        sheet.merges.append((row, 1, 2))
        sheet.put(3, Shown(meaning), "prose")
        sheet.merges.append((row, 3, LAST))
        sheet.heights[row] = 58
        sheet.word_formats.append(WordFormat((row, 1), (row, 1), 1))
        sheet.alarms += stale.alarms(model, (row, 1), (row, 2))
        sheet.row += 1
    sheet.put(0, "This program", "text")
    sheet.put(1, Shown("calculation_ok"), "word")
    sheet.merges.append((sheet.row, 1, 2))
    sheet.put(3, "tried on the sheet Proof", "text")
    sheet.merges.append((sheet.row, 3, LAST))
    sheet.word_formats.append(WordFormat((sheet.row, 1), (sheet.row, 1), 1, "proof"))
    sheet.row += 2


def _list(sheet: Sheet, title: str, items: list[str], *, numbered: bool = False) -> None:
    sheet.banner(title, "chapter", LAST)
    for number, item in enumerate(items, 1):
        sheet.banner(f"{number}. {item}" if numbered else f"• {item}", "prose", LAST)
    sheet.row += 1


def _colours(sheet: Sheet, colours: dict[str, str]) -> None:
    sheet.banner("What the cells look like", "chapter", LAST)
    first = sheet.row
    for key, meaning in colours.items():
        style = {"entry": "entry_key", "calculated": "text"}.get(key, "word")
        sheet.put(0, {"entry": "type here", "calculated": "calculated"}.get(key, key), style)
        sheet.put(1, meaning, "prose")
        sheet.merges.append((sheet.row, 1, LAST))
        sheet.row += 1
    sheet.word_formats.append(WordFormat((first, 0), (sheet.row - 1, 0), 0))
    sheet.row += 1


def _about(plan: Plan, sheet: Sheet, model: Model) -> None:
    sheet.banner("About this workbook", "chapter", LAST)
    facts = (
        ("Code profile", f"{model.profile.title}: {model.profile.edition}", ""),
        ("Profile key", model.profile.key, PROFILE),
        ("Figures of the profile", model.profile.fingerprint, FIGURES),
        ("Version of the builder", workbook_builder.__version__, VERSION),
        ("Layout of the sheets", LAYOUT, SCHEMA),
        ("Build", "", BUILD),  # known when everything is placed
    )
    for label, fact, name in facts:
        sheet.put(0, label, "text")
        sheet.put(1, fact, "text")
        if name:
            plan.name(name, sheet, sheet.row, 1)
            plan.layout[name] = fact
        else:
            sheet.merges.append((sheet.row, 1, LAST))
            sheet.heights[sheet.row] = 30
        sheet.row += 1
