"""The wiring of the printed design sheet, drawn by cells and their edges; its texts follow the design.

The rows are half as high as a line of text, so that a wire can meet a box in its middle.
"""

from __future__ import annotations

from workbook_builder.plan import Formula, address
from workbook_builder.printed import ABSENT
from workbook_builder.sheets.paper import Paper, Part, said, shown, unit

UNIT = 7.5  # height of a row, in points
ROWS = 54
BOLD, CENTRE, NUMBER = "print_centre_bold", "print_centre", "print_number"


def draw(paper: Paper, top: int) -> None:
    """Draw the wiring from a row on; it takes ``ROWS`` rows."""
    for row in range(top, top + ROWS):
        paper.sheet.heights[row] = UNIT
    _strings(paper, top)
    _isolator(paper, top)
    _array_run(paper, top + 17)
    _controller(paper, top + 30)
    _battery(paper, top + 30)
    _loads(paper, top + 42)


def _line(paper: Paper, row: int, *parts: Part) -> None:
    for part in parts:
        paper.text((row, part.first), (row + 1, part.last), part.content, part.style, part.digits)


def _strings(paper: Paper, top: int) -> None:
    for number in (1, 2, 3):
        _string(paper, top + (number - 1) * 7, number, top)
    paper.box((top, 13), (top + 19, 16))
    _line(paper, top + 5, Part(13, 16, "Junction box", BOLD))
    _line(paper, top + 7, shown("drawn_junction", 13, 16))
    _line(paper, top + 9, Part(13, 16, "+ with +", CENTRE))
    _line(paper, top + 11, Part(13, 16, "− with −", CENTRE))


def _string(paper: Paper, row: int, number: int, top: int) -> None:
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
        _line(paper, row + 1, Part(8, 9, said("string_fuse_drawn"), CENTRE),
              Part(10, 10, Formula("string_fuse_fitted", "string_fuse_fitted"), NUMBER), unit("string_fuse_fitted", 11, 11))  # fmt: skip
        _line(paper, row + 2, shown("drawn_series", 0, 6))
        _line(paper, row + 3, Part(7, 7, "−", BOLD))
        return
    first = {"series": address(top + 2, 0, absolute=True), "fuse": address(top + 1, 8, absolute=True)}
    pieces = {"series": first["series"], "fuse": first["fuse"], "plus": '"+"', "minus": '"−"'}
    drawn = {key: Formula(f'IF({mark}="{ABSENT}","",{text})', f"string_{number}_{key}") for key, text in pieces.items()}
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


def _run(paper: Paper, key: str, first: int, title: tuple[int, str], rows: tuple[int, int, int]) -> None:
    """Write what a run is, line by line: its title, length, conductor, and what it loses."""
    names = (f"run_{key}_length", f"run_{key}_size", f"run_{key}_drop")
    _line(paper, title[0], Part(first, first + 5, title[1], BOLD))
    for row, word, name in zip(rows, ("length", "size", "drop"), names, strict=True):
        digits = "0.00" if word == "drop" else ""
        value, place = shown(name, first + 2, first + 4, NUMBER, digits), first + 5
        _line(paper, row, Part(first, first + 1, word, NUMBER), value, unit(name, place, place))


def _array_run(paper: Paper, top: int) -> None:
    """Draw the run down to the controller, with the device on its positive conductor."""
    paper.down(20, top, top + 4)
    paper.down(20, top + 9, top + 12)
    paper.down(23, top, top + 12)
    for row in (top + 1, top + 10):
        _line(paper, row, Part(19, 19, "+", BOLD), Part(22, 22, "−", BOLD))
    paper.box((top + 5, 18), (top + 8, 21), thick=False)
    _line(paper, top + 5, Part(18, 21, "PV input device", CENTRE))
    _line(paper, top + 7, shown("controller_ocp", 18, 20, NUMBER), unit("controller_ocp", 21, 21))
    _run(paper, "array", 10, (top + 3, "Array to controller"), (top + 5, top + 7, top + 9))
    highest = "runs_array_i_max"
    _line(paper, top + 11, Part(10, 11, "at most", NUMBER), shown(highest, 12, 14, NUMBER, "0.0"), unit(highest, 15, 15))


def _controller(paper: Paper, top: int) -> None:
    paper.box((top, 15), (top + 11, 23))
    _line(paper, top, Part(15, 23, "Charge controller", BOLD))
    _line(paper, top + 2, shown("controller_name", 15, 23))
    _line(paper, top + 4, shown("controller_type", 15, 17), shown("controller_i_max", 18, 20, NUMBER), unit("controller_i_max", 21, 21))
    _line(paper, top + 6, Part(15, 17, "set for, V", CENTRE), shown("controller_nominal", 18, 20, NUMBER))
    _line(paper, top + 9, Part(15, 23, "battery first, array last", CENTRE))


def _battery(paper: Paper, top: int) -> None:
    paper.box((top, 0), (top + 11, 6))
    _line(paper, top, Part(0, 6, "Battery", BOLD))
    _line(paper, top + 2, shown("battery_chemistry", 0, 6))
    _line(paper, top + 4, shown("listed_battery", 0, 6))
    _line(paper, top + 6, Part(0, 1, "each", NUMBER), shown("battery_capacity", 2, 4, NUMBER), unit("battery_capacity", 5, 6))
    _both(paper, (top + 2, top + 8), 7, 14, (7, 14))
    paper.box((top + 3, 8), (top + 4, 12), thick=False)
    _line(paper, top + 3, Part(8, 8, "fuse", CENTRE), shown("battery_fuse_fitted", 9, 11, NUMBER),
          unit("battery_fuse_fitted", 12, 12))  # fmt: skip
    _run(paper, "battery", 8, (top, "Controller to battery"), (top + 5, top + 7, top + 10))


def _loads(paper: Paper, top: int) -> None:
    """Draw the run from below the battery to the loads."""
    paper.down(4, top, top + 2)
    paper.down(2, top, top + 8)
    _both(paper, (top + 1, top + 7), 4, 14, (14,))
    paper.across(top + 8, 2, 3)
    paper.box((top + 2, 8), (top + 3, 12), thick=False)
    _line(paper, top + 2, Part(8, 12, "fuse, close to the battery", CENTRE))
    _run(paper, "load", 8, (top, "Battery to loads"), (top + 4, top + 6, top + 9))
    paper.box((top + 1, 15), (top + 10, 23))
    _line(paper, top + 1, Part(15, 23, "Loads and inverter", BOLD))
    _line(paper, top + 3, Part(15, 18, "peak current", NUMBER), shown("load_i_peak", 19, 21, NUMBER, "0.0"), unit("load_i_peak", 22, 22))
    _line(paper, top + 5, Part(15, 18, "inverter at least", NUMBER), shown("inverter_fitted", 19, 21, NUMBER, "0"),
          unit("inverter_fitted", 22, 22))  # fmt: skip
