"""A sheet as paper: texts over several cells, and lines drawn along the edges of cells."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from workbook_builder.evaluation.printed import SHOWN
from workbook_builder.file.plan import Content, Outline, Sheet, Worked

Spot = tuple[int, int]


@dataclass
class Paper:
    """Collects texts and lines in any order; ``finish`` places them on the sheet."""

    sheet: Sheet
    texts: dict[Spot, tuple[Spot, Content, str, str]] = field(default_factory=dict)
    lines: dict[Spot, set[str]] = field(default_factory=lambda: defaultdict(set))
    shown_if: dict[Spot, tuple[str, set[str]]] = field(default_factory=dict)

    def text(self, first: Spot, last: Spot, content: Content, style: str, digits: str = "") -> None:
        """Write over the cells from the first to the last, which become one."""
        self.texts[first] = (last, content, style, digits)

    def box(self, first: Spot, last: Spot, *, thick: bool = True, only_if: str = "") -> None:
        """Draw a frame around the cells; ``only_if`` is a formula without which it is not drawn."""
        for row in range(first[0], last[0] + 1):
            for column in range(first[1], last[1] + 1):
                sides = {"t": row == first[0], "b": row == last[0], "l": column == first[1], "r": column == last[1]}
                self._draw((row, column), {side for side, outer in sides.items() if outer}, thick, only_if)

    def across(self, row: int, first: int, last: int, *, thick: bool = True, only_if: str = "") -> None:
        """Draw a wire along the lower edge of a row, from a column to another."""
        for column in range(first, last + 1):
            self._draw((row, column), {"b"}, thick, only_if)

    def down(self, column: int, first: int, last: int, *, thick: bool = True, only_if: str = "") -> None:
        """Draw a wire along the left edge of a column, from a row to another."""
        for row in range(first, last + 1):
            self._draw((row, column), {"l"}, thick, only_if)

    def _draw(self, spot: Spot, sides: set[str], thick: bool, only_if: str) -> None:
        drawn = {side.upper() for side in sides} if thick else sides
        if only_if:
            formula, known = self.shown_if.get(spot, (only_if, set()))
            self.shown_if[spot] = (formula, known | drawn)
        elif drawn:
            self.lines[spot] |= drawn

    def finish(self) -> None:
        """Place everything on the sheet; a text takes the lines around the cells that it covers."""
        covered: set[Spot] = set()
        for first, (last, content, style, digits) in self.texts.items():
            cells = [(row, column) for row in range(first[0], last[0] + 1) for column in range(first[1], last[1] + 1)]
            covered |= set(cells)
            self.sheet.put(first[1], content, style, digits, row=first[0], edges=self._edges(self.lines, cells))
            if last != first:
                self.sheet.blocks[first] = last
            formulas = {spot: self.shown_if[spot] for spot in cells if spot in self.shown_if}
            if formulas:
                sides = self._edges({spot: drawn for spot, (_, drawn) in formulas.items()}, cells)
                self.sheet.outlines.append(Outline(first, last, next(iter(formulas.values()))[0], sides))
        for spot in sorted(set(self.lines) | set(self.shown_if)):
            if spot not in covered:
                self.sheet.put(spot[1], "", "print", row=spot[0], edges="".join(sorted(self.lines.get(spot, ()))))
                if spot in self.shown_if:
                    formula, drawn = self.shown_if[spot]
                    self.sheet.outlines.append(Outline(spot, spot, formula, "".join(sorted(drawn))))

    @staticmethod
    def _edges(lines: dict[Spot, set[str]], cells: list[Spot]) -> str:
        top, left = cells[0]
        bottom, right = cells[-1]
        outer = {"t": (top, left), "l": (top, left), "r": (bottom, right), "b": (bottom, right)}
        found = []
        for side, spot in outer.items():
            found += [edge for edge in (side, side.upper()) if edge in lines.get(spot, ())]
        return "".join(found)


@dataclass(frozen=True)
class Part:
    """A piece of a line of text: first and last column, content, style and digits."""

    first: int
    last: int
    content: Content
    style: str = "print"
    digits: str = ""


def shown(name: str, first: int, last: int, style: str = "print_centre", digits: str = "") -> Part:
    """Return a piece that shows a value, or in words that there is none."""
    return Part(first, last, Worked(f"shown_{name}"), style, digits)


def unit(name: str, first: int, last: int) -> Part:
    """Return a piece that shows the unit of a value, and nothing where there is no value."""
    return Part(first, last, Worked(f"unit_{name}") if SHOWN[name][1] else "", "print_unit")


def said(key: str) -> Worked:
    """Return a sentence that a word decides; the sentences stand in the range ``said_<key>``."""
    return Worked(f"said_{key}")
