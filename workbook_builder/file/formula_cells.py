"""From calculations to the formulas of cells: the only place where a formula of the workbook is written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from workbook_builder.file.plan import Cell, Formula, Plan, Position, Shown, Worked, address
from workbook_builder.language import xl
from workbook_builder.language.errors import Problem, WorkbookError
from workbook_builder.language.steps import Argument, Calculation, Given, Kinds, Range, cell_formula

Spot = tuple[str, int, int]


@dataclass(frozen=True)
class _Writer:
    plan: Plan
    calculations: Mapping[str, Calculation]
    kinds: Kinds
    spots: Mapping[str, Spot]

    def formula(self, key: str, spot: Spot) -> str:
        """Return the formula of a calculation at a place: by names, or by addresses where names make it too long."""
        calculation = self.calculations[key]
        text = cell_formula(calculation, self.kinds, self._referring(calculation, spot, by_name=True))
        if len(text) > xl.LONGEST:
            text = cell_formula(calculation, self.kinds, self._referring(calculation, spot, by_name=False))
        return text

    def _referring(self, calculation: Calculation, spot: Spot, *, by_name: bool) -> Callable[[Argument], str]:
        def refer(argument: Argument) -> str:
            if isinstance(argument, Range):
                return argument.name
            key = argument.key if isinstance(argument, Given) else argument
            if key in self.plan.reached:  # before its name: cutting and pasting an entry's cell re-points names, without a word
                return self.reached(key, spot)
            other = self.calculations.get(key)
            together = other is not None and other.family == calculation.family != ""
            if key in self.plan.names and not (together and self._near(key, spot)):
                return key if by_name or not self._near(key, spot) else self.address_of(key, spot)
            if key in self.spots:
                return self.address_of(key, spot)
            if isinstance(argument, Given):
                return _literal(argument.value)
            raise WorkbookError([Problem(f"formula of {calculation.key}", "needs a value that stands nowhere", key)])

        return refer

    def _near(self, key: str, spot: Spot) -> bool:
        return key in self.spots and self.spots[key][0] == spot[0]

    def address_of(self, key: str, spot: Spot) -> str:
        """Return the address of a value as a formula at another place writes it."""
        sheet, row, column = self.spots[key]
        return address(row, column) if sheet == spot[0] else f"{sheet}!{address(row, column, absolute=True)}"

    def reached(self, key: str, spot: Spot) -> str:
        """Return how a formula reaches an entry: in its column, by the row that was found there."""
        column, row = self.plan.reached[key]
        return f"INDEX({column},{self.address_of(row, spot)})"


def _literal(value: float | str) -> str:
    if isinstance(value, str):
        return '"' + value.replace('"', '""') + '"'
    return str(int(value)) if float(value).is_integer() else repr(float(value))


def write_formulas(plan: Plan, calculations: Mapping[str, Calculation], kinds: Kinds) -> None:
    """Put a formula into every cell for which a calculation, a value or a position is planned.

    Raises
    ------
    WorkbookError
        if a formula needs a value that stands on no sheet.

    """
    spots: dict[str, Spot] = dict(plan.places)
    for sheet in plan.sheets:
        for (row, column), cell in sheet.cells.items():
            if isinstance(cell.content, Worked | Position):
                spots.setdefault(cell.content.key, (sheet.name, row, column))
    writer = _Writer(plan, calculations, kinds, spots)
    for sheet in plan.sheets:
        for (row, column), cell in sheet.cells.items():
            content = _written(writer, cell, (sheet.name, row, column))
            if content is not None:
                sheet.cells[row, column] = replace(cell, content=content)


def _written(writer: _Writer, cell: Cell, spot: Spot) -> Formula | None:
    content = cell.content
    if isinstance(content, Worked):
        return Formula(writer.formula(content.key, spot), content.key)
    if isinstance(content, Shown):
        return Formula(content.key if content.key in writer.plan.names else writer.address_of(content.key, spot), content.key)
    if isinstance(content, Position):
        writer.plan.layout[content.key] = content.place
        text = _literal(content.text.value) if content.text.key not in writer.spots else writer.address_of(content.text.key, spot)
        return Formula(f"MATCH({text},{content.column},0)", content.key)
    return None
