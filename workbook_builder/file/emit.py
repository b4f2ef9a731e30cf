"""Writing a plan into a file. The only module that knows xlsxwriter.

The writer library reports mistakes by a return value or a warning, or not at all; here each becomes an exception.
"""

from __future__ import annotations

import datetime
import io
import math
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from workbook_builder.file.packing import packed
from workbook_builder.file.plan import Cell, Chart, Entry, Formula, Plan, Sheet, Validation, WordFormat, address
from workbook_builder.file.writing import write_whole
from workbook_builder.language.errors import Problem, WorkbookError
from workbook_builder.language.locations import TEMPLATES

# pinned, so that the same design gives the same bytes
CREATED = datetime.datetime(2026, 1, 1)
PROTECTION = {"select_locked_cells": True, "select_unlocked_cells": True, "format_columns": True, "format_rows": True}


@lru_cache(maxsize=1)
def theme() -> dict[str, Any]:
    """Return fonts, styles and the looks of the verdict words."""
    return tomllib.loads((TEMPLATES / "theme.toml").read_text(encoding="utf-8"))


def write(plan: Plan, entries: Mapping[str, Any], values: Mapping[str, Any], path: Path) -> None:
    """Write the workbook.

    Parameters
    ----------
    plan
        what goes where.
    entries
        what stands in the entry cells, by input name; a missing one stays blank.
    values
        the value of every formula by its key, written beside the formula for programs that do not calculate.
    path
        the file to write; its folder is made.

    Raises
    ------
    WorkbookError
        if a cell, name or rule is refused, or the file cannot be written.

    """
    # the widths of columns are counted in digits of the default font, so it is one that every program has or can replace
    font = {"font_name": theme()["font"], "font_size": theme()["size"]}
    options = {"strings_to_formulas": False, "strings_to_urls": False, "default_format_properties": font}
    written = io.BytesIO()
    book = xlsxwriter.Workbook(written, options | {"in_memory": True})
    book.set_properties({"title": plan.title, "created": CREATED, "comments": "Protected against accidents only."})
    writer = _Writer(book, entries, values)
    for sheet in plan.sheets:
        writer.sheet(plan, sheet)
    for name in plan.names:
        _done(book.define_name(name, plan.reference(name)), f"defined name {name}")
    for name in plan.areas:
        _done(book.define_name(name, plan.area(name)), f"defined name {name}")
    book.close()
    write_whole(path, packed(written.getvalue()))


def _done(code: Any, place: str) -> None:
    if code not in (0, None):
        raise WorkbookError([Problem(place, "refused by the writer library", str(code))])


class _Page(Worksheet):  # type: ignore[misc]
    """A sheet whose formulas are written as they stand.

    The writer library looks through each of them for dozens of functions that newer programs write with a prefix, which takes
    longer than all the rest. None of those is on the allow-list of :mod:`workbook_builder.language.xl`.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002 - the library's
        return formula.removeprefix("=")


class _Exact(float):
    """A number that stands in the file as it is: the writer library prints 16 digits, which makes 9.2 9.199999999999999."""

    def __format__(self, spec: str) -> str:
        return repr(int(self)) if self.is_integer() else repr(float(self))


class _Writer:
    """Holds the file's formats while its sheets are written."""

    def __init__(self, book: Any, entries: Mapping[str, Any], values: Mapping[str, Any]) -> None:
        self.book, self.entries, self.values = book, entries, values
        self._formats: dict[tuple[str, str, str], Any] = {}
        self._outlines: dict[str, Any] = {}
        looks = {group: theme()[group].items() for group in ("words", "proof")}
        self._words = {group: {word: book.add_format(look) for word, look in items} for group, items in looks.items()}
        self._alarms = {key: book.add_format(look) for key, look in theme()["alarms"].items()}

    def format(self, style: str, digits: str, edges: str = "") -> Any:
        key = (style, digits, edges)
        if key not in self._formats:
            styles = theme()["styles"]
            look = {"font_name": theme()["font"], "font_size": theme()["size"], **styles["base"], **styles[style]}
            look |= borders(edges)
            self._formats[key] = self.book.add_format(look | ({"num_format": digits} if digits else {}))
        return self._formats[key]

    def _outline(self, edges: str) -> Any:
        if edges not in self._outlines:
            self._outlines[edges] = self.book.add_format(borders(edges))
        return self._outlines[edges]

    def sheet(self, plan: Plan, sheet: Sheet) -> None:
        page = self.book.add_worksheet(sheet.name, worksheet_class=_Page)
        for column, width in enumerate(sheet.widths):
            _done(page.set_column(column, column, width), f"{sheet.name}, column {column}")
        for row, height in sheet.heights.items():
            _done(page.set_row(row, height), f"{sheet.name}, row {row}")
        merged = {(row, first): last for row, first, last in sheet.merges}
        blocks = {(row, first): (row, last) for (row, first), last in merged.items()} | sheet.blocks
        for place, cell in sheet.cells.items():
            if place in blocks:
                # the cells that a merged one covers need a look only where it draws lines or a ground around them
                blank = self.format(cell.style, cell.number_format, cell.edges) if cell.edges or framed(cell.style) else None
                _done(page.merge_range(*place, *blocks[place], "", blank), f"{sheet.name}!{address(*place)}")
            if place in sheet.links:
                # before the content, which replaces the text that the link brings with it
                look = self.format(cell.style, cell.number_format, cell.edges)
                _done(page.write_url(*place, f"internal:{plan.reference(sheet.links[place])[1:]}", look), f"{sheet.name}, link")
            self._cell(page, sheet.name, place, cell)
        for validation in sheet.validations:
            _validate(page, sheet.name, validation)
        for chart in sheet.charts:
            self._chart(page, sheet.name, chart)
        for alarm in sheet.alarms:  # first, so that they come before the looks of words
            options = {"type": "formula", "criteria": f"={alarm.condition}", "format": self._alarms[alarm.look], "stop_if_true": True}
            _done(page.conditional_format(*alarm.first, *alarm.last, options), f"{sheet.name}, alarm")
        for word_format in sheet.word_formats:
            self._word_format(page, sheet.name, word_format)
        for outline in sheet.outlines:
            options = {"type": "formula", "criteria": f"={outline.formula}", "format": self._outline(outline.edges)}
            _done(page.conditional_format(*outline.first, *outline.last, options), f"{sheet.name}, lines around cells")
        _print_setup(page, plan, sheet)
        if sheet.freeze_row:
            page.freeze_panes(sheet.freeze_row, 0)
        page.protect("", PROTECTION)

    def _cell(self, page: Any, sheet: str, place: tuple[int, int], cell: Cell) -> None:
        row, column = place
        look = self.format(cell.style, cell.number_format, cell.edges)
        content = cell.content
        if isinstance(content, Entry):
            code = self._typed(page, place, self.entries.get(content.name), look)
        elif isinstance(content, Formula):
            code = page.write_formula(row, column, f"={content.text}", look, cached(self.values[content.key]))
        elif isinstance(content, str):
            code = page.write_string(row, column, content, look)
        elif isinstance(content, int | float):
            code = page.write_number(row, column, _Exact(content), look)
        else:
            raise WorkbookError([Problem(f"{sheet}!{address(row, column)}", "was planned, but has no formula yet", content.key)])
        _done(code, f"{sheet}!{address(row, column)}")

    def _typed(self, page: Any, place: tuple[int, int], value: Any, look: Any) -> Any:
        """Write what was typed as it was typed: a text stays a text, whatever it begins with."""
        if value is None or (isinstance(value, float) and math.isnan(value)):
            return page.write_blank(*place, None, look)
        if isinstance(value, bool):
            return page.write_boolean(*place, value, look)
        if isinstance(value, int | float):
            return page.write_number(*place, _Exact(value), look)
        return page.write_string(*place, str(value), look)

    def _chart(self, page: Any, sheet: str, plan: Chart) -> None:
        chart = self.book.add_chart({"type": "scatter", "subtype": "straight"})
        for series in plan.series:
            line: dict[str, Any] = {"color": "#1A1A1A", "width": series.width, "dash_type": series.dash}
            marker: dict[str, Any] = {"type": series.marker, "size": series.marker_size} if series.marker else {"type": "none"}
            if series.marker:
                marker |= {"border": {"color": "#1A1A1A"}, "fill": {"color": series.fill}}
            if series.dash == "none":
                line = {"none": True}
            _done(
                chart.add_series(
                    {"name": series.title, "categories": _range(series.x), "values": _range(series.y), "line": line, "marker": marker}
                ),
                f"{sheet}, {plan.title}",
            )
        font = {"name": theme()["font"], "size": 9}
        chart.set_title({"name": plan.title, "name_font": font | {"size": 11, "bold": True}})
        grid = {"visible": True, "line": {"color": "#D9D9D9", "width": 0.5}}
        chart.set_x_axis(
            {
                "name": plan.x_title,
                "num_font": font,
                "name_font": font,
                "min": 0 if plan.from_zero else None,
                "major_gridlines": grid,
                "num_format": "0",
            }
        )
        chart.set_y_axis({"name": plan.y_title, "num_font": font, "name_font": font, "min": 0, "major_gridlines": grid, "num_format": "0"})
        chart.set_legend({"position": "bottom", "font": font})
        chart.set_size({"width": plan.size[0], "height": plan.size[1]})
        options = {"description": plan.description, "object_position": 1}
        _done(page.insert_chart(plan.row, plan.column, chart, options), f"{sheet}, {plan.title}")

    def _word_format(self, page: Any, sheet: str, rule: WordFormat) -> None:
        anchor = f"${address(rule.first[0], rule.word_column)}"
        for word, look in self._words[rule.group].items():
            options = {"type": "formula", "criteria": f'={anchor}="{word}"', "format": look}
            _done(page.conditional_format(*rule.first, *rule.last, options), f"{sheet}, look of {word}")


def _range(place: tuple[str, int, int, int]) -> list[Any]:
    sheet, first, column, last = place
    return [sheet, first, column, last, column]


SIDES = {"t": "top", "l": "left", "r": "right", "b": "bottom"}
THIN, THICK = 1, 2


@lru_cache(maxsize=64)
def framed(style: str) -> bool:
    """Whether a style draws lines around a cell, or a ground in it."""
    return any(key in ("border", "bg_color", *SIDES.values()) for key in theme()["styles"][style])


def borders(edges: str) -> dict[str, int]:
    """Return the properties of lines on the sides of a cell: ``"tB"`` is thin above and thick below."""
    return {SIDES[edge.lower()]: THICK if edge.isupper() else THIN for edge in edges}


def cached(value: Any) -> Any:
    """Return a value as it stands beside a formula in the file: a number, a truth value or a text, never nothing."""
    if isinstance(value, bool | str):
        return value
    number = float(value)
    return "" if math.isnan(number) else shown(number)


def shown(number: float) -> float:
    """Return a number with 12 digits, a whole one without a point.

    Spreadsheet programs show 15 at most, but work the value out anew; three more in every cell would cost 4 kB.
    """
    rounded = float(f"{number:.12g}")
    return int(rounded) if rounded.is_integer() else rounded


def _validate(page: Any, sheet: str, rule: Validation) -> None:
    options: dict[str, Any] = {"validate": rule.kind, "input_title": rule.title, "input_message": rule.prompt}
    if rule.kind == "list":
        options |= {"source": rule.source, "error_title": "Not in the list", "error_message": rule.error}
    elif rule.kind != "any":
        options |= {
            "criteria": "between",
            "minimum": rule.low,
            "maximum": rule.high,
            "error_title": "Not accepted",
            "error_message": rule.error,
        }
    _done(page.data_validation(rule.row, rule.column, rule.row, rule.column, options), f"{sheet}, rule of row {rule.row}")


def _print_setup(page: Any, plan: Plan, sheet: Sheet) -> None:
    page.set_paper(9)  # A4
    page.set_landscape() if sheet.landscape else page.set_portrait()
    page.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
    if sheet.scale:
        if sheet.column_breaks:
            page.set_v_pagebreaks(sheet.column_breaks)
            page.repeat_columns(0)
        else:
            page.set_margins(left=0.5, right=0.5, top=0.4, bottom=0.6)
        page.set_print_scale(sheet.scale)
        page.set_h_pagebreaks(sheet.row_breaks)
    else:
        page.fit_to_pages(1, sheet.pages)
    if sheet.repeat_row >= 0:
        page.repeat_rows(sheet.repeat_row)
    columns = sheet.print_columns or len(sheet.widths)
    page.print_area(0, 0, max(row for row, _ in sheet.cells), columns - 1)
    page.set_footer(f"&L{plan.title.replace('&', '&&')}: {sheet.name}&CPrinted &D&RPage &P of &N")
    page.hide_gridlines(2)
