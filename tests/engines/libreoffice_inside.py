# mypy: ignore-errors
# (it runs in the system's Python; there are no type stubs for UNO)
"""What drives Calc from within its own process, where a call costs a hundredth of one through the pipe.

LibreOffice loads it as a component (`libreoffice_worker.py`, with the loader of the package python3-uno). One request as JSON
in, one answer out. Sheets, rows and columns count from 0 here. It imports nothing of this project: it runs in another
interpreter.
"""

import json

import uno
import unohelper
from com.sun.star.beans import PropertyValue
from com.sun.star.task import XJob

ERROR_TEXTS = {
    502: "#VALUE!",
    503: "#NUM!",
    519: "#VALUE!",
    521: "#NULL!",
    524: "#REF!",
    525: "#NAME?",
    532: "#DIV/0!",
    32767: "#N/A",
}
"""LibreOffice's error numbers that the file format has a text for; the others are given as "Err:522"."""


SCRATCH_SHEET = "error numbers of the test engine"


def option(name, value):
    item = PropertyValue()
    item.Name, item.Value = name, value
    return item


def load(desktop, path):
    # As a template: the document is a copy without a lock file, so sessions never meet on one file.
    options = (option("Hidden", True), option("AsTemplate", True))
    try:
        document = desktop.loadComponentFromURL(uno.systemPathToFileUrl(path), "_blank", 0, options)
    except Exception as error:
        raise RuntimeError(f"LibreOffice cannot load {path}: {error}") from error
    if document is None or not hasattr(document, "Sheets"):
        raise RuntimeError(f"LibreOffice cannot load {path} as a spreadsheet")
    return document


class Segment:
    """Cells under each other without a formula between them: written in one call.

    A logical is entered as typed by a person (FormulaLocal), because Calc has no logical type: it then gives
    the cell a logical number format, by which alone ISLOGICAL knows it. Text, too, gets a text format, in
    which TRUE would be text. So number formats are put back, and before the value: a change of format alone
    recalculates nothing.
    """

    def __init__(self, sheet, column, first, last):
        self.range = sheet.getCellRangeByPosition(column, first, column, last)
        self.first = first
        self.opened = [row[0] for row in self.range.getDataArray()]
        self.now = list(self.opened)
        self.formats = {}  # as opened, of the cells asked for; each costs a millisecond
        for offset, value in enumerate(self.opened):
            if isinstance(value, str) and value:  # the first write gives it a text format
                self._remember_format(offset)
        self.reformatted = set()  # offsets of text, logicals and formulas entered by the last case
        self.texts = set()  # those of text
        self.overwritten = False  # by logicals or formulas, of which `now` does not tell

    def write(self, entries):
        """Bring the cells to the opened state with the entries, {row: [kind, value]}, laid over it."""
        after, special = list(self.opened), {}
        for row, (kind, value) in entries.items():
            offset = row - self.first
            after[offset] = value if kind in ("number", "text") else ""
            if kind in ("logical", "formula"):
                special[offset] = kind, value
        reformatted = {row - self.first for row, (kind, _) in entries.items() if kind not in ("number", "blank")}
        for offset in reformatted:
            self._remember_format(offset)
        texts = {row - self.first for row, (kind, _) in entries.items() if kind == "text"}
        # each costs more than all the rest; a text that takes the place of a text needs none
        self._put_formats_back(self.reformatted - (self.texts & texts))
        if after != self.now or self.overwritten:
            self.range.setDataArray(tuple((value,) for value in after))
            self.now = after
        self._put_formats_back(special)
        for offset, (kind, value) in special.items():
            enter_special(self.range.getCellByPosition(0, offset), kind, value)
        self.overwritten = bool(special)
        self.reformatted, self.texts = reformatted, texts

    def _remember_format(self, offset):
        if offset not in self.formats:
            self.formats[offset] = self.range.getCellByPosition(0, offset).NumberFormat

    def _put_formats_back(self, offsets):
        for offset in offsets:
            self.range.getCellByPosition(0, offset).NumberFormat = self.formats[offset]


def enter_special(cell, kind, value):
    """Enter a logical or a formula; Calc's locale is English, so TRUE is the word a person types."""
    if kind == "logical":
        cell.FormulaLocal = "TRUE" if value else "FALSE"
    else:
        cell.setFormula(value)


def enter_as_a_person(document, entry):
    """Enter into one cell, which protection may forbid; by itself UNO would write over it or do nothing."""
    name, row, column, kind, value = entry
    sheet = document.Sheets.getByName(name)
    cell = sheet.getCellByPosition(column, row)
    if sheet.isProtected() and cell.CellProtection.IsLocked:
        place = cell.AbsoluteName.replace("$", "").replace(".", "!")
        raise RuntimeError(f"{place} is locked: a person could not enter anything there")
    if kind == "number":
        cell.setValue(value)
    elif kind in ("text", "blank"):
        cell.setString(value or "")
    else:
        enter_special(cell, kind, value)


class Book:
    """A loaded document with the cells that are written and read."""

    def __init__(self, document):
        self.document = document
        self.sheets = [document.Sheets.getByIndex(i) for i in range(document.Sheets.Count)]
        for sheet in self.sheets:
            sheet.unprotect("")  # setDataArray refuses a range with locked cells in it
            if sheet.isProtected():
                raise RuntimeError(f"sheet {sheet.Name} is protected by a password")
        self.segments = {}  # (sheet, column, row) -> Segment
        self.dirty = set()
        self.plans = []
        self.scratch = {}  # box of cells -> range of the scratch sheet with their error numbers

    def segment(self, sheet, row, column):
        """The segment of an entry cell: grown over neighbours of its column that hold no formula."""
        key = (sheet, column, row)
        if key not in self.segments:
            self._grow_segments(sheet, column)
            if key not in self.segments:  # below the used area: alone
                self.segments[key] = Segment(self.sheets[sheet], column, row, row)
        return self.segments[key]

    def _grow_segments(self, sheet, column):
        if (sheet, column, None) in self.segments:
            return
        self.segments[sheet, column, None] = None
        cursor = self.sheets[sheet].createCursor()
        cursor.gotoEndOfUsedArea(False)
        last = cursor.RangeAddress.EndRow
        used = self.sheets[sheet].getCellRangeByPosition(column, 0, column, last)
        is_formula = [row[0].startswith("=") for row in used.getFormulaArray()]
        first = 0
        for row in range(last + 2):
            if row > last or is_formula[row]:
                if first < row:
                    segment = Segment(self.sheets[sheet], column, first, row - 1)
                    for member in range(first, row):
                        self.segments[sheet, column, member] = segment
                first = row + 1

    def write(self, entries):
        groups = {segment: {} for segment in self.dirty}
        for sheet, row, column, kind, value in entries:
            groups.setdefault(self.segment(sheet, row, column), {})[row] = (kind, value)
        self.document.enableAutomaticCalculation(False)  # once for all of them, not once for each
        for segment, group in groups.items():
            segment.write(group)
        self.document.enableAutomaticCalculation(True)
        self.dirty = {segment for segment, group in groups.items() if group}

    def plan(self, cells):
        """Decide which ranges to read for the cells: few calls, but not thousands of needless cells."""
        by_sheet = {}
        for position, (sheet, row, column) in enumerate(cells):
            by_sheet.setdefault(sheet, []).append((row, column, position))
        boxes = []
        for sheet, wanted in by_sheet.items():
            columns = {}
            for item in wanted:
                columns.setdefault(item[1], []).append(item)
            groups = [wanted]
            if area(wanted) > 2 * len(wanted) + 300:
                groups = list(columns.values())
            for group in groups:
                top, left, bottom, right = bounds(group)
                box = self.sheets[sheet].getCellRangeByPosition(left, top, right, bottom)
                boxes.append((box, [(row - top, column - left, position) for row, column, position in group]))
        self.plans.append((boxes, len(cells)))
        return len(self.plans) - 1

    def read(self, plan):
        boxes, count = self.plans[plan]
        values = [None] * count
        for box, members in boxes:
            data = box.getDataArray()
            errors = []
            for row, column, position in members:
                values[position] = data[row][column]
                if values[position] is None:
                    errors.append((row, column, position))
            if errors:
                codes = self._error_codes(box)
                for row, column, position in errors:
                    code = int(codes[row][column])
                    values[position] = {"error": ERROR_TEXTS.get(code, f"Err:{code}")}
        return values

    def _error_codes(self, box):
        """The error number of every cell of the box.

        UNO tells it only cell by cell, a millisecond each, and a blank workbook has hundreds of #N/A for its
        charts. So a scratch sheet behind the others asks Calc for all of a box; nothing else refers to it.
        """
        area = box.RangeAddress
        key = (area.Sheet, area.StartColumn, area.StartRow, area.EndColumn, area.EndRow)
        if key not in self.scratch:
            if not self.scratch:
                self.document.Sheets.insertNewByName(SCRATCH_SHEET, self.document.Sheets.Count)
            top = sum(used.Rows.Count for used in self.scratch.values())
            height, width = area.EndRow - area.StartRow + 1, area.EndColumn - area.StartColumn + 1
            sheet = self.document.Sheets.getByName(SCRATCH_SHEET)
            codes = sheet.getCellRangeByPosition(0, top, width - 1, top + height - 1)
            name = box.Spreadsheet.Name.replace("'", "''")
            codes.setFormulaArray(
                tuple(
                    tuple(
                        f"=IFERROR(ERRORTYPE($'{name}'.{column_letters(column)}{row + 1});0)"
                        for column in range(area.StartColumn, area.EndColumn + 1)
                    )
                    for row in range(area.StartRow, area.EndRow + 1)
                )
            )
            self.scratch[key] = codes
        return self.scratch[key].getDataArray()


def column_letters(column):
    """0 is A, 25 is Z, 26 is AA."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def bounds(cells):
    rows, columns = [cell[0] for cell in cells], [cell[1] for cell in cells]
    return min(rows), min(columns), max(rows), max(columns)


def area(cells):
    top, left, bottom, right = bounds(cells)
    return (bottom - top + 1) * (right - left + 1)


class Inside(unohelper.Base, XJob):
    """The component: it holds the loaded workbooks and answers requests."""

    def __init__(self, context):
        self.desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        self.books = {}

    def execute(self, arguments):
        """The one call of the interface XJob: a request as JSON in the first argument's value, the answer as JSON."""
        request = json.loads(arguments[0].Value)
        try:
            answer = getattr(self, request.pop("do"))(**request)
        except Exception as error:  # every failure is told to the test that asked
            answer = {"failure": f"{type(error).__name__}: {error}"}
        return json.dumps(answer)

    def open(self, path):
        number = len(self.books)
        self.books[number] = Book(load(self.desktop, path))
        book = self.books[number]
        return {"book": number, "sheets": [sheet.Name for sheet in book.sheets]}

    def plan(self, book, cells):
        return {"plan": self.books[book].plan(cells)}

    def run(self, book, plan, cases):
        opened, rows = self.books[book], []
        for entries in cases:
            opened.write(entries)
            rows.append(opened.read(plan))
        return {"rows": rows}

    def close(self, book):
        self.books[book].document.close(True)
        self.books[book] = None
        return {}

    def store(self, path, out, filter, entries):
        """Load, enter as a person would (protection stays), recalculate, store in another format."""
        document = load(self.desktop, path)
        try:
            for entry in entries:
                enter_as_a_person(document, entry)
            document.calculateAll()
            document.storeToURL(uno.systemPathToFileUrl(out), (option("FilterName", filter), option("Overwrite", True)))
        finally:
            document.close(True)
        return {}


g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816 - the name by which the loader finds it
g_ImplementationHelper.addImplementation(Inside, "tests.Inside", ("com.sun.star.task.Job",))
