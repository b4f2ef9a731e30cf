"""The working: every intermediate quantity with its value, unit, formula in words and source, and the grids."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbook_builder.evaluation.model import Model
from workbook_builder.file.plan import Content, Plan, Sheet, Worked
from workbook_builder.language import xl
from workbook_builder.language.chapters import Chapter
from workbook_builder.language.declare import Quantity
from workbook_builder.language.grids import Grid
from workbook_builder.language.variations import Variation
from workbook_builder.language.words import words
from workbook_builder.sheets import blocks

HEADINGS = ("Quantity", "Symbol", "Value", "Unit", "In words", "Formula, with the names of the cells", "Source", "Name")


@dataclass(frozen=True)
class Layout:
    """Where the parts of a quantity's line stand: first column of each part, and the widths of all columns."""

    firsts: tuple[int, ...]
    widths: tuple[float, ...]

    @property
    def last(self) -> int:
        """The last column."""
        return len(self.widths) - 1

    def span(self, part: int) -> tuple[int, int]:
        """Return the first and last column of a part."""
        end = self.firsts[part + 1] - 1 if part + 1 < len(self.firsts) else self.last
        return self.firsts[part], end


LINES = Layout(tuple(range(8)), (30, 9, 15, 10, 38, 40, 30, 23))
# sheets that also hold grids: narrow columns, over which the long parts of a line are merged
FIRSTS = (0, 1, 2, 4, 5, 8, 11, 13)
FEWEST = 14
VALUE = 2
LABEL_WIDTH, NARROW, BROAD, NAME_WIDTH = 31.0, 10.0, 16.0, 19.0
BREAK, HIGHEST_SCALE = 10, 80  # sheets with more columns are printed on two pages side by side


def add(plan: Plan, model: Model, name: str, description: str, *, keep_free: int = 0) -> Sheet:
    """Place every quantity and grid that belongs to a sheet, in the order in which they are declared.

    ``keep_free`` rows are left empty above them, for charts.
    """
    wide = max((1 + len(grid.numbers) + len(grid.columns) for grid in model.grids if grid.sheet == name), default=0)
    split = wide > FEWEST + 2
    layout = Layout(FIRSTS, _widths(model, name, wide)) if wide else LINES
    sheet = plan.add(Sheet(name, description, layout.widths))
    if split:
        sheet.column_breaks.append(BREAK)
        sheet.fit_pages(HIGHEST_SCALE)
    sheet.banner(name, "title", layout.last)
    sheet.banner(
        f"{description}. Each line computes one value once; others refer to it by its name. An empty value waits for an entry.",
        "subtitle",
        layout.last,
    )
    if name in words()["acting"]:
        sheet.banner(words()["acting"][name], "caution", layout.last)
    sheet.row += keep_free
    for chapter in model.chapters:
        steps = [step for step in chapter.steps if name in _sheets_of(step, chapter)]
        if steps:
            sheet.banner(f"{chapter.title}. {chapter.intro}", "section", layout.last)
        _steps(plan, sheet, model, steps, layout)
    return sheet


def _sheets_of(step: Quantity | Grid | Variation, chapter: Chapter) -> tuple[str, ...]:
    if isinstance(step, Variation):
        return step.sheet, step.search_sheet
    return (step.sheet if isinstance(step, Grid) else chapter.sheet,)


def _widths(model: Model, name: str, wide: int) -> tuple[float, ...]:
    """Return the widths of the columns of a sheet with grids: broad where a grid shows longer texts."""
    widths = [LABEL_WIDTH, *([NARROW] * max(FEWEST, wide - 2)), NAME_WIDTH]
    split = [grid for grid in model.grids if grid.sheet == name and wide > FEWEST + 2]
    for grid in split:
        for place, column in enumerate(grid.columns, 1 + len(grid.numbers)):
            if blocks.longest_text(grid, column) > NARROW:
                widths[place] = max(widths[place], BROAD)
    return tuple(widths)


def _steps(plan: Plan, sheet: Sheet, model: Model, steps: Sequence[Quantity | Grid | Variation], layout: Layout) -> None:
    headed = False
    for step in steps:
        if isinstance(step, Grid):
            blocks.grid(plan, sheet, step)
            headed = False
        elif isinstance(step, Variation):
            blocks.variation(plan, sheet, model, step, searches=sheet.name == step.search_sheet)
            headed = False
        else:
            if not headed:
                _line(sheet, [(heading, "head") for heading in HEADINGS], layout)
            headed = True
            _quantity(plan, sheet, step, layout)


def _quantity(plan: Plan, sheet: Sheet, quantity: Quantity, layout: Layout) -> None:
    plan.name(quantity.name, sheet, sheet.row, layout.firsts[VALUE])
    value = Worked(quantity.name)
    style = "number" if quantity.kind == "number" else "text"
    digits = blocks.digits(quantity.unit, quantity.kind)
    first, last = layout.span(VALUE)
    said = [] if quantity.kind != "text" else [(xl.longest_text(quantity.formula), sum(layout.widths[first : last + 1]), "text")]
    _line(
        sheet,
        [
            (quantity.label, "text"),
            (quantity.symbol, "text"),
            (value, style, digits),
            (quantity.unit, "text"),
            (quantity.words, "text"),
            (xl.spoken(quantity.formula), "small"),
            (str(quantity.source), "small"),
            (quantity.name, "quiet"),
        ],
        layout,
        said,
    )


def _line(sheet: Sheet, parts: Sequence[tuple[Content, ...]], layout: Layout, said: Sequence[tuple[str, float, str]] = ()) -> None:
    texts = list(said)
    for part, (content, *look) in enumerate(parts):
        first, last = layout.span(part)
        sheet.put(first, content, *look)  # type: ignore[arg-type]
        if last > first:
            sheet.merges.append((sheet.row, first, last))
        if isinstance(content, str):
            texts.append((content, sum(layout.widths[first : last + 1]), str(look[0])))
    sheet.fit_texts(sheet.row, texts)
    sheet.row += 1
