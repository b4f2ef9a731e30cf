"""What a workbook will hold, as pure data: sheets, cells, names. Nothing here knows a file format.

No person types a cell address: the sheet builders place things one after another and ask this module for addresses.
"""

from __future__ import annotations

import itertools
import textwrap
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from workbook_builder.language import xl
from workbook_builder.language.errors import Problem, WorkbookError
from workbook_builder.language.steps import Given


@dataclass(frozen=True, slots=True)
class Formula:
    """A live formula (without ``=``) and the key of its value among the model's values."""

    text: str
    key: str


@dataclass(frozen=True, slots=True)
class Worked:
    """The calculation of this key stands here."""

    key: str


@dataclass(frozen=True, slots=True)
class Shown:
    """The value of this key, which stands elsewhere, is shown here as well."""

    key: str


@dataclass(frozen=True, slots=True)
class Position:
    """The place of a text in a named column of keys, counted from the column's first cell; known from the layout alone.

    ``text`` is the key of a figure that is given, or the text itself.
    """

    key: str
    text: Given
    column: str
    place: float


@dataclass(frozen=True, slots=True)
class Entry:
    """An unlocked cell into which a person types the input of this name."""

    name: str


Content = str | float | Formula | Worked | Shown | Position | Entry


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell; ``style`` names a format of the theme, ``number_format`` overrides its digits.

    ``edges`` are the sides on which a line is drawn: ``t``, ``l``, ``r``, ``b`` thin, the same as capitals thick.
    """

    content: Content
    style: str
    number_format: str = ""
    edges: str = ""


@dataclass(frozen=True, slots=True)
class Validation:
    """What a spreadsheet program accepts in an entry cell, with its messages; a courtesy, never the control."""

    row: int
    column: int
    kind: str
    low: float = 0.0
    high: float = 0.0
    source: str = ""
    title: str = ""
    prompt: str = ""
    error: str = ""


@dataclass(frozen=True, slots=True)
class WordFormat:
    """Cells that are decorated according to the word that stands in a cell of the same row.

    ``group`` is the part of the theme that says how each word looks.
    """

    first: tuple[int, int]
    last: tuple[int, int]
    word_column: int
    group: str = "words"


@dataclass(frozen=True, slots=True)
class Alarm:
    """Cells that look otherwise while a condition holds, before every other decoration; ``look`` is a key of the theme."""

    first: tuple[int, int]
    last: tuple[int, int]
    condition: str
    look: str


@dataclass(frozen=True, slots=True)
class Outline:
    """Lines (as :attr:`Cell.edges`) that are drawn around cells only while a formula is true."""

    first: tuple[int, int]
    last: tuple[int, int]
    formula: str
    edges: str


@dataclass(frozen=True, slots=True)
class Series:
    """One line or set of marks of a chart: where its values stand, as sheet, first row, column and last row."""

    title: str
    x: tuple[str, int, int, int]
    y: tuple[str, int, int, int]
    dash: str = "solid"
    marker: str = ""
    width: float = 1.75
    marker_size: int = 7
    fill: str = "#1A1A1A"


@dataclass(frozen=True, slots=True)
class Chart:
    """A scatter chart whose lines are told apart by dash and mark, not by colour alone."""

    row: int
    column: int
    title: str
    x_title: str
    y_title: str
    description: str
    series: tuple[Series, ...]
    size: tuple[int, int] = (680, 400)
    from_zero: bool = True


@dataclass
class Sheet:
    """One sheet, filled from top to bottom."""

    name: str
    description: str
    widths: Sequence[float]
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)
    filled: dict[int, list[int]] = field(default_factory=dict)  # columns of the cells of each row
    heights: dict[int, float] = field(default_factory=dict)
    merges: list[tuple[int, int, int]] = field(default_factory=list)
    blocks: dict[tuple[int, int], tuple[int, int]] = field(default_factory=dict)  # merged over several rows: first and last cell
    outlines: list[Outline] = field(default_factory=list)
    validations: list[Validation] = field(default_factory=list)
    word_formats: list[WordFormat] = field(default_factory=list)
    alarms: list[Alarm] = field(default_factory=list)
    links: dict[tuple[int, int], str] = field(default_factory=dict)  # cells that lead to the cell of a name
    charts: list[Chart] = field(default_factory=list)
    landscape: bool = True
    freeze_row: int = 0
    repeat_row: int = -1
    print_columns: int = 0
    pages: int = 0  # of the print, one beside the other never; 0: as many as it takes
    scale: int = 0  # per cent in print; 0 fits the columns to the page
    row_breaks: list[int] = field(default_factory=list)  # rows before which a new page begins
    column_breaks: list[int] = field(default_factory=list)  # columns before which a new page begins; the first column is repeated
    row: int = 0

    def put(self, column: int, content: Content, style: str, number_format: str = "", row: int = -1, edges: str = "") -> None:
        """Place a cell in the current row, or in another.

        Raises
        ------
        WorkbookError
            if something stands there already: nothing is overwritten silently.

        """
        place = (self.row if row < 0 else row, column)
        if place in self.cells:
            raise WorkbookError([Problem(f"sheet {self.name}, {address(*place)}", "written twice", str(content))])
        self.cells[place] = Cell(content, style, number_format, edges)
        self.filled.setdefault(place[0], []).append(column)

    def line(self, contents: Sequence[tuple[Content, str]], first: int = 0) -> None:
        """Place cells side by side in the current row and go to the next."""
        for offset, (content, style) in enumerate(contents):
            self.put(first + offset, content, style)
        self.fit(self.row)
        self.row += 1

    def banner(self, text: str, style: str, last_column: int) -> None:
        """Place a text across columns in the current row and go to the next; only titles and prose are merged."""
        # on a sheet of pages side by side: on the first page alone, and not in the column that each page repeats
        first = 1 if self.column_breaks and style != "title" else 0
        last_column = min([last_column, *(column - 1 for column in self.column_breaks)])
        self.put(first, text, style)
        self.merges.append((self.row, first, last_column))
        width = sum(self.widths[first : last_column + 1])
        self.heights[self.row] = _height(text, width, style) + PADDING
        self.row += 1

    def fit(self, row: int, extra: Sequence[tuple[str, int]] = ()) -> None:
        """Give a row the height of its longest wrapped text; ``extra`` adds texts that a formula may show."""
        cells = [(column, self.cells[row, column]) for column in self.filled.get(row, ())]
        texts = [(cell.content, column, cell.style) for column, cell in cells if isinstance(cell.content, str)]
        texts += [(text, column, "text") for text, column in extra]
        last = self.print_columns or len(self.widths)
        merged = {column for merged_row, column, _ in self.merges if merged_row == row}
        shown = [(text, self.widths[column], style) for text, column, style in texts if column < last and column not in merged]
        self.fit_texts(row, shown)

    def fit_pages(self, highest: int) -> None:
        """Choose the scale at which every page that the breaks of columns make is as wide as the paper, or ``highest``."""
        edges = [0, *self.column_breaks, self.print_columns or len(self.widths)]
        pages = [points(self.widths[first:last]) for first, last in itertools.pairwise(edges)]
        pages = [pages[0], *(page + points(self.widths[:1]) for page in pages[1:])]
        self.scale = min(highest, int(100 * SLACK * PAGE[self.landscape] / max(pages)))

    def fit_texts(self, row: int, texts: Sequence[tuple[str, float, str]]) -> None:
        """Give a row the height of the tallest of these texts, each with its width and style."""
        heights = [_height(text, width - INDENT, style) for text, width, style in texts]
        self.heights[row] = max(heights, default=LINE) + PADDING


LINE, PADDING, INDENT = 13.0, 4.0, 2.0
PAGE = {True: 842 - 72.0, False: 595 - 72.0}  # width of an A4 page between its margins, in points, by landscape
SLACK = 0.93  # programs take the width of a digit differently, and a column too many makes a page of its own


def points(widths: Sequence[float]) -> float:
    """Return the width of columns in points: 7 pixels for a digit, 5 for the margins of a column."""
    return sum(0.75 * (7 * width + 5) for width in widths)


# how large the letters of a style are against the common ones
SCALES = {
    "title": 1.6,
    "chapter": 1.15,
    "verdict_big": 1.6,
    "small": 0.93,
    "quiet": 0.93,
    "formula": 0.93,
    "print": 0.9,
    "print_bold": 0.93,
    "print_small": 0.88,
    "print_note": 0.88,
}


def _height(text: str, width: float, style: str) -> float:
    """Estimate the height of a wrapped text; spreadsheets do not fit merged or calculated texts themselves."""
    scale = SCALES.get(style, 1.0)
    per_line = max(1, int(width / (scale * 1.03)))
    return LINE * scale * sum(_lines(part, per_line) for part in text.split("\n"))


@lru_cache(maxsize=8192)  # most texts stand in more than one row
def _lines(text: str, per_line: int) -> int:
    return len(textwrap.wrap(text, per_line)) or 1


@dataclass
class Plan:
    """A whole workbook.

    Its sheets in order, where each defined name points, and values that only the layout knows;
    ``places`` tells where figures stand that instances bring with them, ``reached`` how formulas reach what a person types.
    ``columns`` tells where the columns of the grids stand. ``areas`` are names of blocks of cells, as sheet, first row and
    column, last row and column; only alarms use them.
    """

    title: str
    sheets: list[Sheet] = field(default_factory=list)
    names: dict[str, tuple[str, int, int, int]] = field(default_factory=dict)
    areas: dict[str, tuple[str, int, int, int, int]] = field(default_factory=dict)
    layout: dict[str, float | str] = field(default_factory=dict)
    columns: dict[tuple[str, str], tuple[str, int, int, int]] = field(default_factory=dict)
    places: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    reached: dict[str, tuple[str, str]] = field(default_factory=dict)

    def add(self, sheet: Sheet) -> Sheet:
        """Append a sheet."""
        self.sheets.append(sheet)
        return sheet

    def name(self, name: str, sheet: Sheet, row: int, column: int, last_row: int = -1) -> None:
        """Let a defined name point to a cell, or to a column of cells down to ``last_row``."""
        if name in self.names:
            raise WorkbookError([Problem(f"defined name {name}", "given twice", address(row, column))])
        self.names[name] = (sheet.name, row, column, row if last_row < 0 else last_row)

    def fill(self, name: str, content: str) -> None:
        """Put a text, known only when everything else is placed, into the cell of a name."""
        sheet_name, row, column, _ = self.names[name]
        cells = next(sheet.cells for sheet in self.sheets if sheet.name == sheet_name)
        cells[row, column] = replace(cells[row, column], content=content)
        self.layout[name] = content

    def give(self, key: str, sheet: Sheet, row: int, column: int) -> None:
        """Say where a figure stands that an instance brings with it."""
        if key in self.places:
            raise WorkbookError([Problem(f"figure {key}", "placed twice", address(row, column))])
        self.places[key] = (sheet.name, row, column)

    def column(self, grid: str, column: str, rows: tuple[int, int] | None = None) -> tuple[str, int, int, int]:
        """Return where a column of a grid stands, or a slice of its rows: sheet, first row, column, last row."""
        sheet, first, place, last = self.columns[grid, column]
        return (sheet, first, place, last) if rows is None else (sheet, first + rows[0], place, first + rows[1] - 1)

    def number_column(self, grid: str, name: str) -> tuple[str, int, int, int]:
        """Return where a column of the numbers that the rows bring with them stands."""
        return self.columns[grid, f"number {name}"]

    def reference(self, name: str) -> str:
        """Return the absolute address of a name, with its sheet."""
        sheet, row, column, last = self.names[name]
        first = address(row, column, absolute=True)
        return f"={sheet}!{first}" + (f":{address(last, column, absolute=True)}" if last != row else "")

    def area(self, name: str) -> str:
        """Return the absolute address of a block of cells, with its sheet."""
        sheet, top, left, bottom, right = self.areas[name]
        return f"={sheet}!{address(top, left, absolute=True)}:{address(bottom, right, absolute=True)}"

    def formulas(self) -> Iterator[tuple[Sheet, int, int, Formula]]:
        """Yield every formula cell with its place."""
        for sheet in self.sheets:
            for (row, column), cell in sheet.cells.items():
                if isinstance(cell.content, Formula):
                    yield sheet, row, column, cell.content

    def entries(self) -> Iterator[tuple[Sheet, int, int, Entry]]:
        """Yield every entry cell with its place."""
        for sheet in self.sheets:
            for (row, column), cell in sheet.cells.items():
                if isinstance(cell.content, Entry):
                    yield sheet, row, column, cell.content

    def faults(self) -> list[Problem]:
        """Return what a spreadsheet program would refuse: formulas that are too long, which figures of a profile can make them."""
        return [
            Problem(place, "formula too long", str(len(formula)), f"at most {xl.LONGEST}")
            for place, formula, _ in self._conditions_and_formulas()
            if len(formula) > xl.LONGEST
        ]

    def stray_names(self) -> list[Problem]:
        """Return the names that point nowhere; it is the same for every design and profile, so a test asks for it."""
        found = [
            Problem(place, "uses a name that points nowhere", name)
            for place, formula, known in self._conditions_and_formulas()
            for name in xl.names_in(formula)
            if name not in known
        ]
        for sheet in self.sheets:
            for at, name in sheet.links.items():
                if name not in self.names:
                    found.append(Problem(f"{sheet.name}!{address(*at)}, link", "leads to a name that points nowhere", name))
        return found

    def _conditions_and_formulas(self) -> Iterator[tuple[str, str, Container[str]]]:
        """Yield each formula of a cell or an alarm after its place, and before the names that it may use."""
        for sheet, row, column, formula in self.formulas():
            yield f"{sheet.name}!{address(row, column)}, formula of {formula.key} with its guard", formula.text, self.names
        anywhere = {*self.names, *self.areas}
        for sheet in self.sheets:
            for alarm in sheet.alarms:
                yield f"{sheet.name}!{address(*alarm.first)}, alarm", alarm.condition, anywhere


def address(row: int, column: int, *, absolute: bool = False) -> str:
    """Return the address of a cell from its row and column, both counted from 0: ``address(0, 27)`` is AB1."""
    letters, number = "", column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"${letters}${row + 1}" if absolute else f"{letters}{row + 1}"
