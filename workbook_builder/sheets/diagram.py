"""The wiring of the printed design sheet, drawn by cells and their edges; its texts follow the design.

The rows are half as high as a line of text, so that a wire can meet a box in its middle.
"""

from __future__ import annotations

from workbook_builder.file.plan import Worked, address
from workbook_builder.language.wording import ABSENT
from workbook_builder.sheets.paper import Paper, Part, shown, unit

UNIT = 7.2  # height of a row, in points
ROWS = 55
BOLD, CENTRE, NUMBER = "print_centre_bold", "print_centre", "print_number"


def draw(paper: Paper, top: int) -> None:
    """Draw the wiring from a row on; it takes ``ROWS`` rows."""
    for row in range(top, top + ROWS):
        paper.sheet.heights[row] = UNIT
    _strings(paper, top)
    _isolator(paper, top)
    _array_run(paper, top + 17)
    _earth(paper, top + 21)
    _controller(paper, top + 28)
    _battery(paper, top + 28)
    _loads(paper, top + 39)
    _inverter(paper, top + 49)


def _line(paper: Paper, row: int, *parts: Part) -> None:
    for part in parts:
        paper.text((row, part.first), (row + 1, part.last), part.content, part.style, part.digits)


def _strings(paper: Paper, top: int) -> None:
    for number in (1, 2, 3):
        _string(paper, top + (number - 1) * 7, number)
    paper.box((top, 13), (top + 19, 16))
    _line(paper, top + 5, Part(13, 16, "Junction box", BOLD))
    _line(paper, top + 7, shown("drawn_junction", 13, 16))
    _line(paper, top + 9, Part(13, 16, "+ with +", CENTRE))
    _line(paper, top + 11, Part(13, 16, "− with −", CENTRE))


def _string(paper: Paper, row: int, number: int) -> None:
    """Draw one string with its fuse. The second and third are drawn only where there are so many."""
    mark = address(row, 0, absolute=True)
    only_if = "" if number == 1 else f'{mark}<>"{ABSENT}"'
    paper.box((row, 0), (row + 5, 6), thick=False, only_if=only_if)
    for column in (7, 12):  # on both sides of the fuse
        paper.across(row + 1, column, column, thick=False, only_if=only_if)
    paper.across(row + 4, 7, 12, thick=False, only_if=only_if)
    fuse = 'check_string_fuse="PASS"' if number == 1 else f'AND(check_string_fuse="PASS",{mark}<>"{ABSENT}")'
    paper.box((row + 1, 8), (row + 2, 11), thick=False, only_if=fuse)
    if number == 1:
        _line(paper, row, Part(0, 6, "String 1", BOLD), Part(7, 7, "+", BOLD))
        _line(paper, row + 1, Part(8, 11, Worked("string_1_fuse"), CENTRE))
        _line(paper, row + 2, shown("drawn_series", 0, 6))
        _line(paper, row + 3, Part(7, 7, "−", BOLD), Part(8, 9, "cable", CENTRE), shown("string_cable_size", 10, 12))
        return
    drawn = {key: Worked(f"string_{number}_{key}") for key in ("series", "fuse", "plus", "minus")}
    _line(paper, row, shown("drawn_second" if number == 2 else "drawn_third", 0, 6, BOLD), Part(7, 7, drawn["plus"], BOLD))
    _line(paper, row + 1, Part(8, 11, drawn["fuse"], CENTRE))
    _line(paper, row + 2, Part(0, 6, drawn["series"], CENTRE))
    _line(paper, row + 3, Part(7, 7, drawn["minus"], BOLD))


def _isolator(paper: Paper, top: int) -> None:
    paper.box((top + 3, 18), (top + 16, 23))
    _both(paper, (top + 5, top + 11), 17, 17, (17,))
    _line(paper, top + 4, Part(18, 23, "Array isolator", BOLD))
    _line(paper, top + 6, Part(18, 23, "opens + and − under load", CENTRE))
    for row, name in ((top + 9, "label_voltage"), (top + 11, "isolator_current")):
        _line(paper, row, Part(18, 19, "at least", NUMBER), shown(name, 20, 22, NUMBER), unit(name, 23, 23))
    _line(paper, top + 13, Part(18, 23, "direct current", CENTRE))


def _both(paper: Paper, rows: tuple[int, int], first: int, last: int, marks: tuple[int, ...]) -> None:
    """Draw + and − side by side, each along the lower edge of the line of text that begins in its row."""
    for row, sign in zip(rows, ("+", "−"), strict=True):
        paper.across(row + 1, first, last)
        _line(paper, row, *(Part(column, column, sign, BOLD) for column in marks))


def _size(paper: Paper, key: str, row: int, first: int, last: int) -> None:
    _line(paper, row, Part(first, first + 1, "size", NUMBER), shown(f"run_{key}_size", first + 2, last, NUMBER))


def _array_run(paper: Paper, top: int) -> None:
    """Draw the run down to the controller, with the device on its positive conductor."""
    paper.down(20, top, top + 3)
    paper.down(20, top + 8, top + 10)
    paper.down(23, top, top + 10)
    for row in (top + 1, top + 9):
        _line(paper, row, Part(19, 19, "+", BOLD), Part(22, 22, "−", BOLD))
    paper.box((top + 4, 18), (top + 7, 21), thick=False)
    _line(paper, top + 4, Part(18, 21, "PV input device", CENTRE))
    _line(paper, top + 6, shown("controller_ocp", 18, 20, NUMBER), unit("controller_ocp", 21, 21))
    _line(paper, top + 4, Part(10, 15, "Array to controller", BOLD))
    _size(paper, "array", top + 6, 10, 14)
    highest = "runs_array_i_max"
    _line(paper, top + 8, Part(10, 11, "must carry", NUMBER), shown(highest, 12, 14, NUMBER, "0.0"), unit(highest, 15, 15))


def _earth(paper: Paper, top: int) -> None:
    paper.box((top, 0), (top + 5, 6), thick=False)
    _line(paper, top, Part(0, 6, "Earth: frames, rails, metal boxes", CENTRE))
    _line(paper, top + 2, Part(0, 3, "copper, at least", NUMBER), shown("earth_size", 4, 6))
    _line(paper, top + 4, Part(0, 6, "neither + nor −: see Kit", CENTRE))


def _controller(paper: Paper, top: int) -> None:
    paper.box((top, 15), (top + 10, 23))
    _line(paper, top, Part(15, 23, "Charge controller", BOLD))
    _line(paper, top + 2, shown("controller_name", 15, 23))
    _line(paper, top + 4, shown("controller_type", 15, 17), shown("controller_i_max", 18, 20, NUMBER), unit("controller_i_max", 21, 21))
    _line(paper, top + 6, Part(15, 17, "set for, V", CENTRE), shown("controller_nominal", 18, 20, NUMBER))
    _line(paper, top + 8, Part(15, 23, "battery first, array last", CENTRE))


def _battery(paper: Paper, top: int) -> None:
    """Draw the bank with its strings, and the run to the controller."""
    paper.box((top, 0), (top + 26, 6))
    _line(paper, top, Part(0, 6, "Battery", BOLD))
    _line(paper, top + 2, shown("battery_chemistry", 0, 6))
    several = f'drawn_batteries<>"{ABSENT}"'
    for row, text, only_if in ((top + 5, "drawn_battery", ""), (top + 8, "drawn_batteries", several)):
        paper.box((row, 1), (row + 1, 4), thick=False, only_if=only_if)
        paper.box((row, 5), (row + 1, 5), thick=False, only_if=several)
        _line(paper, row, shown(text, 1, 4), Part(5, 5, Worked("drawn_if_several"), CENTRE))
    _line(paper, top + 11, Part(0, 2, "each string", NUMBER), shown("battery_capacity", 3, 5, NUMBER), unit("battery_capacity", 6, 6))
    _line(
        paper, top + 14, Part(0, 2, "string fuses", NUMBER), shown("battery_string_fuse", 3, 5, NUMBER), unit("battery_string_fuse", 6, 6)
    )
    _line(paper, top + 17, Part(0, 2, "links", NUMBER), shown("link_size", 3, 5, NUMBER))
    _line(paper, top + 20, Part(0, 6, "every fuse as near", CENTRE))
    _line(paper, top + 22, Part(0, 6, "to the + as can be", CENTRE))
    _both(paper, (top + 2, top + 8), 7, 14, (7, 14))
    paper.box((top + 3, 8), (top + 4, 12), thick=False)
    _line(paper, top + 3, Part(8, 8, "fuse", CENTRE), shown("battery_fuse_fitted", 9, 11, NUMBER), unit("battery_fuse_fitted", 12, 12))
    _line(paper, top, Part(8, 13, "Controller to battery", BOLD))
    _size(paper, "battery", top + 6, 8, 12)


def _loads(paper: Paper, top: int) -> None:
    """Draw the direct loads, on the battery or on the controller's load output above them."""
    battery, output = 'loads_at="battery"', 'loads_at="load output"'
    paper.box((top + 2, 15), (top + 8, 23))
    _line(paper, top + 2, Part(15, 23, "Direct loads", BOLD))
    _figures(paper, top + 4, (("peak current", "load_i_dc"), ("fuse", "load_fuse")))
    _line(paper, top, shown("drawn_loads", 8, 14, BOLD))
    _size(paper, "load", top + 5, 8, 12)
    _fused(paper, "battery", (top + 2, top + 6), battery)
    for column, piece in ((17, "plus"), (21, "minus")):
        paper.down(column, top, top + 1, only_if=output)
        _line(paper, top, Part(column - 1, column - 1, Worked(f"drawn_if_output_{piece}"), BOLD))


def _inverter(paper: Paper, top: int) -> None:
    """Draw the inverter, always on the battery."""
    there = 'drawn_inverter="Inverter"'
    paper.box((top, 15), (top + 5, 23), only_if=there)
    _line(paper, top, shown("drawn_inverter", 15, 23, BOLD))
    _figures(paper, top + 2, (("at least", "inverter_fitted"), ("fuse", "inverter_fuse")))
    _fused(paper, "inverter", (top, top + 3), there)


def _figures(paper: Paper, top: int, lines: tuple[tuple[str, str], ...]) -> None:
    for row, (label, name) in zip((top, top + 2), lines, strict=True):
        digits = {"inverter_fitted": "0", "load_i_dc": "0.0"}.get(name, "")
        _line(paper, row, Part(15, 18, label, NUMBER), shown(name, 19, 21, NUMBER, digits), unit(name, 22, 22))


def _fused(paper: Paper, key: str, rows: tuple[int, int], only_if: str) -> None:
    """Draw + and − from the battery to the right, with a fuse, if they are there."""
    for row, piece in zip(rows, ("plus", "minus"), strict=True):
        paper.across(row + 1, 7, 14, only_if=only_if)
        sign = Worked(f"drawn_if_{key}_{piece}")
        _line(paper, row, *(Part(column, column, sign, BOLD) for column in (7, 14)))
    paper.box((rows[0] + 1, 8), (rows[0] + 2, 12), thick=False, only_if=only_if)
    _line(paper, rows[0] + 1, Part(8, 12, Worked(f"drawn_if_{key}_fuse"), CENTRE))
