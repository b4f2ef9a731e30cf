"""The printed design sheet: three pages for the client's file and for the installer with a printout and a meter."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.printed import SAID, sentences
from workbook_builder.file.plan import Plan, Sheet, Shown, WordFormat, Worked
from workbook_builder.language.words import words
from workbook_builder.sheets import diagram
from workbook_builder.sheets.paper import Paper, Part, said, shown, unit
from workbook_builder.system.conductors.run_entries import RUNS

COLUMNS, WIDTH = 24, 4.33  # columns on the page
LAST = COLUMNS - 1
HALF = COLUMNS // 2
ASIDE = COLUMNS + 2  # the sentences stand beside the page, outside the print area
SCALE = 77
LINE, TWO, KIT = 15.0, 22.5, 12.75
MARK = (0, 10)  # where the mark of the invented example stands
THIRD = COLUMNS // 3
POINTS = 26.5  # width of a column, at the least
SIZES = {"print": 9, "print_bold": 9.4, "print_small": 8.8, "print_note": 8.8}
BOLD = "print_centre_bold"
TITLES = {key: words.capitalize() for key, words, *_ in RUNS if key != "string"}
# label, value, digits
SET_POINTS = (
    ("Absorption", "battery_v_absorb", "0.00"),
    ("Time at absorption", "battery_absorb_hours", "0.0"),
    ("Float", "battery_v_float", "0.00"),
    ("Highest charge voltage", "battery_v_high", "0.00"),
    ("Load disconnect", "battery_v_low", "0.00"),
    ("Load reconnect", "battery_v_reconnect", "0.00"),
    ("Compensation, whole bank", "compensation_bank", "0.0"),
    ("Compensation, one cell", "compensation_cell", "0.0"),
    ("No sensor: for {hand_step} °C warmer", "compensation_hand", "0.00"),
    ("Coldest battery counted with", "battery_t_min", ""),
    ("Coldest: absorption", "absorb_v_cold", "0.00"),
    ("Coldest: highest", "battery_v_high_cold", "0.00"),
)
READINGS = (
    ("Open circuit, coldest morning", "array_voc_cold", "0.0"),
    ("Open circuit, cells at 25 °C", "array_voc", "0.0"),
    ("Open circuit, hottest cells", "array_voc_hot", "0.0"),
    ("Short circuit, one string", "string_isc", "0.0"),
    ("Short circuit, whole array", "array_isc", "0.0"),
    ("Working, one string", "string_i_full", "0.0"),
    ("Charge current before it regulates", "charge_i_expected", "0.0"),
    ("Drop from array, at its rated amps", "run_array_drop", "0.00"),
)


def add(plan: Plan, model: Model) -> Sheet:
    """Place the printed design sheet; every page is marked as an example as long as a name of the example stands in it."""
    sheet = plan.add(
        Sheet(
            "Installation",
            "Three pages to print, to build by and to keep",
            [WIDTH] * ASIDE + [30] * 5,
            landscape=False,
            print_columns=COLUMNS,
            scale=SCALE,
        )
    )
    paper, text = Paper(sheet), words()["installation"]
    _heading(paper, model, text)
    _kit(paper, text)
    _title(paper, "Wiring", text["drawing"])
    _row(paper, 5)
    diagram.draw(paper, sheet.row)
    sheet.row += diagram.ROWS
    sheet.row_breaks.append(sheet.row)
    _settings(paper, model, text)
    _labels(paper, text["label"], text["labels"].format(code=model.profile.title))
    _order(paper, model, text)
    sheet.row_breaks.append(sheet.row)
    _page_head(paper, "What is judged, and what a person confirms")
    _checks(paper, model, text)
    _confirmed(paper, text)
    _cautions(paper)
    _signatures(paper, text)
    paper.finish()
    _aside(plan, sheet)
    return sheet


def _row(paper: Paper, height: float, *parts: Part) -> int:
    """Write one line of pieces and go to the next; return its row."""
    row = paper.sheet.row
    for part in parts:
        paper.text((row, part.first), (row, part.last), part.content, part.style, part.digits)
    paper.sheet.heights[row] = height
    paper.sheet.row += 1
    return row


def height(text: str, columns: int, style: str) -> float:
    """Estimate the height of a text that is wrapped over so many columns."""
    size = SIZES[style]
    lines = [line for part in text.split("\n") for line in textwrap.wrap(part, int((columns * POINTS - 12) / (size * 0.5)))]
    return 3.0 + 1.18 * size * len(lines)


def _prose(paper: Paper, text: str, style: str = "print_note") -> int:
    return _row(paper, height(text, COLUMNS, style), Part(0, LAST, text, style))


def _title(paper: Paper, title: str, note: str = "") -> None:
    row = _row(paper, 16.5, Part(0, LAST, title, "chapter"))
    paper.across(row, 0, LAST)
    if note:
        _prose(paper, note)


def _heading(paper: Paper, model: Model, text: dict[str, Any]) -> None:
    sheet = paper.sheet
    mark = Worked("example_mark")
    _row(paper, 22, Part(0, MARK[1] - 1, "Installation sheet", "title"), Part(MARK[1], LAST, mark, "print_banner"))
    _prose(paper, text["purpose"])
    row = _row(paper, 34, Part(0, 8, Shown("verdict"), "verdict_big"), Part(9, LAST, said("banner"), "print_banner"))
    paper.box((row, 0), (row, LAST))
    sheet.word_formats.append(WordFormat((row, 0), (row, LAST), 0))
    _row(paper, TWO, Part(0, LAST, Shown("meaning_verdict"), "print_bold"))
    _row(paper, LINE, Part(0, 5, Shown("verdict_match"), BOLD), Part(6, LAST, Shown("meaning_match"), "print_small"))
    label = "print_small"
    _row(paper, LINE, Part(0, 2, "Site", label), shown("site_name", 3, LAST, "print_bold"))
    _row(
        paper,
        LINE,
        Part(0, 2, "Designed by", label),
        shown("site_author", 3, 11, "print"),
        Part(12, 13, "Date", label),
        shown("site_date", 14, LAST, "print"),
    )
    _row(paper, TWO, Part(0, 2, "Note", label), shown("site_note", 3, LAST, "print"))
    _row(
        paper,
        LINE,
        Part(0, 2, "Code", label),
        Part(3, 11, model.profile.title, "print"),
        Part(12, 13, "Build", label),
        Part(14, 17, Shown("meta_build"), "print"),
        Part(18, 20, "of version", label),
        Part(21, LAST, Shown("meta_version"), "print"),
    )


def _kit(paper: Paper, text: dict[str, Any]) -> None:
    _title(paper, "Kit", text["ratings"])
    top = _row(
        paper,
        KIT,
        *(
            Part(first, last, word, "print_head")
            for first, last, word in (
                (0, 4, "Part"),
                (5, 12, "What (□: choose it with code or maker)"),
                (13, 16, "Figure"),
                (17, LAST, "Which"),
            )
        ),
    )
    item, number = "print_item", "print_number"
    for part, high, what, name, which in (
        ("PV modules", TWO, shown("module_name", 5, 12, "print"), "module_count", (shown("listed_array", 17, LAST, item),)),
        (
            "Charge controller",
            TWO,
            shown("controller_name", 5, 12, "print"),
            "controller_i_max",
            (
                shown("controller_type", 17, 18, item),
                Part(19, 20, "PV at most", "print_item"),
                shown("controller_v_max", 21, 22, number),
                unit("controller_v_max", LAST, LAST),
            ),
        ),
        (
            "Battery, each string",
            KIT,
            shown("battery_chemistry", 5, 12, item),
            "battery_capacity",
            (shown("listed_battery", 17, LAST, item),),
        ),
        (
            "Links, string leads",
            KIT,
            "pieces, as the thicker cable at the bank",
            "battery_links",
            (Part(17, 18, "copper", item), shown("link_size", 19, LAST, item)),
        ),
        ("String fuses", KIT, said("string_fuse"), "string_fuse_fitted", ("for strings", "array_parallel")),
        ("Device on the PV input", KIT, said("input_device"), "controller_ocp", "rating of fuse or breaker"),
        ("Array isolator", KIT, "□ opens + and − under load", "label_voltage", ("d.c., at least", "isolator_current")),
        ("Battery fuse", KIT, said("battery_fuse"), "battery_fuse_fitted", ("d.c., at least", "battery_fuse_volts")),
        ("Battery string fuses", KIT, "at each string's +, if several", "battery_string_fuse", ("for strings", "battery_parallel")),
        ("Fuse to direct loads", KIT, shown("listed_load_fuse", 5, 12, item), "load_fuse", ("cable: at most", "load_fuse_most")),
        (
            "Fuse to the inverter",
            KIT,
            "□ at the battery's +; its maker comes first",
            "inverter_fuse",
            ("cable: at most", "inverter_fuse_most"),
        ),
        ("Fuses at the battery", KIT, said("breaking"), "battery_fuse_breaking", ("at least", "battery_break_least")),
        ("Earth conductor", KIT, "frames, rails, metal boxes to the earth terminal", "earth_size", "copper, at least"),
    ):
        middle = what if isinstance(what, Part) else Part(5, 12, what, item)
        _row(paper, high, Part(0, 4, part, "print_bold"), middle, shown(name, 13, 15, number), unit(name, 16, 16), *_which(which))
    _row(
        paper,
        KIT,
        Part(0, 4, "Copper cable", "print_head"),
        *(
            Part(first, last, word, "print_head_centre")
            for first, last, word in (
                (5, 7, "Conductor"),
                (8, 10, "Insulation for"),
                (11, 13, "m, buy twice"),
                (14, 16, "Must carry, A"),
                (17, 19, "Drop, V"),
                (20, LAST, "Least for its drop"),
            )
        ),
    )
    _row(
        paper,
        KIT,
        Part(0, 4, "Each module string", "print_bold"),
        shown("run_string_size", 5, 7),
        shown("string_insulation", 8, 10),
        shown("run_string_length", 11, 13),
        shown("string_cable_i", 14, 16, digits="0.0"),
        shown("run_string_drop", 17, 19, digits="0.00"),
        shown("string_cable_size", 20, LAST),
    )
    for key, title in TITLES.items():
        _row(
            paper,
            KIT,
            Part(0, 4, title, "print_bold"),
            shown(f"run_{key}_size", 5, 7),
            shown(f"fitted_{key}_insulation", 8, 10),
            shown(f"run_{key}_length", 11, 13),
            shown(f"runs_{key}_i_max", 14, 16, digits="0.0"),
            shown(f"run_{key}_drop", 17, 19, digits="0.00"),
            shown(f"run_{key}_smallest", 20, LAST),
        )
    _row(paper, KIT, Part(0, LAST, said("cables"), "print_bold"))
    bottom = _row(paper, TWO, Part(0, LAST, text["earthing"], "print_small"))
    for row in range(top, bottom):
        paper.across(row, 0, LAST, thick=False)
    paper.box((top, 0), (bottom, LAST), thick=False)


def _which(which: str | tuple[Any, ...]) -> tuple[Part, ...]:
    """Return the last pieces of a line of the kit: words, pieces, or words and a second figure."""
    if isinstance(which, str):
        return (Part(17, LAST, which, "print_item"),)
    if isinstance(which[0], Part):
        return which
    words_of, name = which
    digits = "0.0" if name == "battery_break_least" else ""
    return Part(17, 19, words_of, "print_item"), shown(name, 20, 22, "print_number", digits), unit(name, LAST, LAST)


def _page_head(paper: Paper, title: str) -> None:
    """Write above a further page whether it may be built from, and whose it is."""
    row = _row(paper, LINE, Part(0, 4, Shown("verdict"), BOLD), Part(5, LAST, said("banner"), BOLD))
    paper.box((row, 0), (row, LAST), thick=False)
    paper.sheet.word_formats.append(WordFormat((row, 0), (row, LAST), 0))
    row = _row(paper, 16.5, Part(0, HALF - 1, title, "chapter"), Part(HALF, LAST, Worked("example_or_site"), BOLD))
    paper.across(row, 0, LAST)


def _settings(paper: Paper, model: Model, text: dict[str, Any]) -> None:
    _page_head(paper, "Set points, and readings to expect")
    top = _row(
        paper,
        LINE,
        Part(0, HALF - 1, "Set points of the controller", "print_head"),
        Part(HALF, LAST, "Array, in full sun of 1000 W/m²", "print_head"),
    )
    for offset, (label, name, digits) in enumerate(SET_POINTS):
        words_of = model.said(label, "set points of the sheet Installation")
        parts = [Part(0, 5, words_of, "print_item"), shown(name, 6, 8, "print_number", digits), unit(name, 9, 11)]
        if offset < len(READINGS):
            other, value, places = READINGS[offset]
            parts += [Part(12, 18, other, "print_item"), shown(value, 19, 21, "print_number", places), unit(value, 22, LAST)]
        row = _row(paper, 11.25, *parts)
        paper.across(row, 0, LAST if offset < len(READINGS) else HALF - 1, thick=False)
    paper.text((top + 1 + len(READINGS), HALF), (row, LAST), text["readings"], "print_small")
    paper.box((top, 0), (row, HALF - 1), thick=False)
    paper.box((top, HALF), (row, LAST), thick=False)
    _row(paper, 13.0, Part(0, LAST, said("chemistry"), "print_bold"))
    _prose(paper, text["set_points"], "print_small")


def _labels(paper: Paper, labels: Sequence[dict[str, Any]], note: str) -> None:
    _title(paper, "Labels to put up", note)
    for left, right in zip(labels[::2], labels[1::2], strict=True):
        top = paper.sheet.row
        for offset, high in enumerate((15.75, 12, 12, 22.5, 3)):
            paper.sheet.heights[top + offset] = high
        for label, first in ((left, 0), (right, HALF)):
            _label(paper, label, top, first)
        paper.sheet.row = top + 5


def _label(paper: Paper, label: dict[str, Any], top: int, first: int) -> None:
    last = first + HALF - 2
    paper.box((top, first), (top + 3, last))
    paper.text((top, first), (top, last), label["title"], "print_label")
    if not label["figures"]:
        paper.text((top + 1, first), (top + 3, last), label["text"], "print")
        return
    for offset, (words_of, name, kind) in enumerate(label["figures"], 1):
        digits = "0.0" if name == "battery_short_ka" else ""
        value = shown(name, first + 6, first + 8, "print_number", digits)
        paper.text((top + offset, first), (top + offset, first + 5), words_of, "print_item")
        paper.text((top + offset, value.first), (top + offset, value.last), value.content, value.style, value.digits)
        paper.text((top + offset, first + 9), (top + offset, last), kind, "print_unit")
    paper.text((top + 3, first), (top + 3, last), label["text"], "print")


def _order(paper: Paper, model: Model, text: dict[str, Any]) -> None:
    """Write the steps of the work, each with what a meter must read before the next."""
    row = _row(paper, 16.5, Part(0, 15, "Order of work: tick each step", "chapter"), Part(16, LAST, "must read, no minus sign", BOLD))
    paper.across(row, 0, LAST)
    for number, step in enumerate(text["step"], 1):
        what = model.said(step["what"], f"step {number} of the sheet Installation")
        parts = [Part(0, 0, f"{number} [ ]", "print_line"), Part(1, 17, what, "print_note")]
        row = _row(paper, height(what, 17, "print_note") - 1, *parts, *_must_read(step))
        paper.across(row, 0, LAST, thick=False)
    _prose(paper, text["wrong"], "print_bold")


def _must_read(step: dict[str, Any]) -> tuple[Part, ...]:
    values = step["values"]
    if not values:
        return (Part(18, LAST, step["read"], "print_centre"),)
    digits = "0.0" if values[0].startswith("array") else "0.00"
    high, volts = shown(values[-1], 21, 22, "print_number", digits), unit(values[-1], LAST, LAST)
    if len(values) == 1:
        return Part(18, 20, step["read"], "print_line"), high, volts
    return shown(values[0], 18, 19, "print_number", digits), Part(20, 20, "to", "print_centre"), high, volts


def _checks(paper: Paper, model: Model, text: dict[str, Any]) -> None:
    counted = ((6, "fail ✗", "checks_failed"), (12, "not judged ○", "checks_not_judged"), (18, "no answer ?", "checks_open"))
    counts = [
        part
        for first, label, name in counted
        for part in (Part(first, first + 4, label, "print_number"), Part(first + 5, first + 5, Shown(name), BOLD))
    ]
    row = _row(paper, 16.5, Part(0, 5, "Checks", "chapter"), *counts)
    paper.across(row, 0, LAST)
    _prose(paper, text["checks"])
    high = -(-len(model.checks) // 3)
    for line in range(high):
        parts = []
        for number, first in zip(range(line, len(model.checks), high), range(0, COLUMNS, THIRD), strict=False):
            check = model.checks[number]
            parts += [
                Part(first, first, Worked(f"mark_{check.name}"), BOLD),
                Part(first + 1, first + THIRD - 1, text["short"].get(check.name, check.label), "print_line"),
            ]
        _row(paper, 12.0, *parts)


def _confirmed(paper: Paper, text: dict[str, Any]) -> None:
    """Write who confirmed what the workbook cannot see."""
    _title(paper, "Confirmed by a person", text["confirmed"])
    label = "print_small"
    _row(
        paper,
        LINE,
        Part(0, 2, "Confirmed by", label),
        shown("confirm_by", 3, 15, "print_bold"),
        Part(16, 17, "Date", label),
        shown("confirm_date", 18, LAST, "print_bold"),
    )


def _cautions(paper: Paper) -> None:
    _title(paper, "Cautions, and what was not judged")
    *cautions, last = words()["cautions"]
    _prose(paper, "\n".join(f"• {caution}" for caution in (*cautions, f"{last} {words()['not_checked'][-1]}")))


def _signatures(paper: Paper, text: dict[str, Any]) -> None:
    _title(paper, text["signed"])
    names, signed = paper.sheet.row, paper.sheet.row + 1
    paper.sheet.heights |= {names: 15.0, signed: 16.5}
    for place, signature in enumerate(text["signature"]):
        first, last = place * COLUMNS // 3, (place + 1) * COLUMNS // 3 - 2
        for row, label in ((names, signature["who"]), (signed, "Date, signature")):
            paper.text((row, first), (row, first + 2), label, "print_item")
            paper.across(row, first + 3, last, thick=False)
    paper.sheet.row += 2


def _aside(plan: Plan, sheet: Sheet) -> None:
    """Place the sentences that words decide, each with its word, outside the print area."""
    row = 0
    for key, (_, _, decisive) in SAID.items():
        for offset, word in enumerate(decisive):
            sheet.put(ASIDE, word, "quiet", row=row + offset)
            sheet.put(ASIDE + 1, sentences(key)[word], "quiet", row=row + offset)
        plan.name(f"said_{key}", sheet, row, ASIDE + 1, row + len(decisive) - 1)
        row += len(decisive) + 1
