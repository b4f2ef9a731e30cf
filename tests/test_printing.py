"""What comes out of a printer: the printed design sheet fits on its three pages and is not cut, and every sheet can be read."""

from __future__ import annotations

import itertools
import re
import subprocess
import textwrap
import zipfile
from pathlib import Path

import pytest

from tests.engines import libreoffice_engine
from tests.support import entries, write_stale
from tests.test_installation import DESIGNS, DO_NOT_BUILD, PAGE, SHEET, printed, sheet
from workbook_builder.file.building import plan_for
from workbook_builder.file.emit import theme
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.words import words

PAGES = 3


def block(place: tuple[int, int]) -> tuple[float, float]:
    """Width in points and height of the cells over which a text is written."""
    last = sheet().blocks.get(place, place)
    width = sum(0.75 * (7 * sheet().widths[column] + 5) for column in range(place[1], last[1] + 1))
    return width, sum(sheet().heights[row] for row in range(place[0], last[0] + 1))


@pytest.mark.parametrize("design", DESIGNS)
def test_no_text_is_cut(design: str) -> None:
    """A letter is taken as half as wide as it is high; a text that does not wrap must fit, or its style lets it shrink."""
    styles, cut = theme()["styles"], []
    for place, text in printed(design).items():
        style = styles[sheet().cells[place].style]
        size, (width, height) = style.get("font_size", theme()["size"]), block(place)
        per_line = int((width - 8 * style.get("indent", 0)) / (size * 0.5))
        if style.get("text_wrap"):
            lines = sum(len(textwrap.wrap(part, per_line)) for part in text.split("\n"))
            if lines * size * 1.15 > height:
                cut.append(f"{lines} lines in {height} pt: {text}")
        elif not style.get("shrink") and len(text) > per_line:
            cut.append(f"in one line: {text}")
    assert not cut


def test_every_line_is_high_enough_for_its_letters() -> None:
    for place, cell in sheet().cells.items():
        if place[1] < PAGE and cell.content != "":
            size = theme()["styles"][cell.style].get("font_size", theme()["size"])
            assert block(place)[1] >= size * 1.15, cell.content


@pytest.mark.parametrize("profile", ["nec-2023", "iec-62548"])
def test_every_page_fits_on_paper_with_room_for_other_programs(profile: str) -> None:
    """LibreOffice fits nine points less than there are between the margins."""
    printed_sheet = sheet(profile)
    last = max(row for row, column in printed_sheet.cells if column < PAGE)
    paper = (842 - 72) / printed_sheet.scale * 100
    edges = [0, *printed_sheet.row_breaks, last + 1]
    assert len(edges) == PAGES + 1
    for rows in (range(*page) for page in itertools.pairwise(edges)):
        assert sum(printed_sheet.heights.get(row, 15) for row in rows) <= paper - 9
    # where a digit is 5.56 points wide, the widest measure of the font's default size
    width = sum(5.56 * (width + 5 / 7) for width in printed_sheet.widths[:PAGE])
    assert width * printed_sheet.scale / 100 <= 595 - 72


def test_every_sheet_is_printed_large_enough_to_be_read() -> None:
    small = []
    for one in plan_for(load_profile("nec-2023")).sheets:
        columns = one.print_columns or len(one.widths)
        edges = [0, *one.column_breaks, columns]
        digits = [sum(5.56 * (width + 5 / 7) for width in one.widths[a:b]) for a, b in itertools.pairwise(edges)]
        widest = max(digits[0], *(page + 5.56 * (one.widths[0] + 5 / 7) for page in digits[1:]), 0)
        paper = (842 if one.landscape else 595) - 72
        scale = one.scale / 100 if one.scale else min(1, paper / widest)
        sizes = {theme()["styles"][cell.style].get("font_size", theme()["size"]) for (_, c), cell in one.cells.items() if c < columns}
        assert not one.scale or widest * scale <= paper, one.name
        if min(sizes) * scale < 6.5:
            small.append(f"{one.name}: {min(sizes) * scale:.2f} pt")
    assert not small


def test_a_caution_stands_where_a_person_acts() -> None:
    plan = plan_for(load_profile("nec-2023"))
    where = {name: {str(cell.content) for cell in one.cells.values()} for name, one in ((one.name, one) for one in plan.sheets)}
    for name, caution in words()["acting"].items():
        assert caution in where[name]
    for caution in words()["entering"].values():
        assert caution in where["Entries"]
    (cautions,) = [text for text in where[SHEET] if text.startswith("• ")]
    lines = cautions.split("\n")
    assert len(lines) == len(words()["cautions"])
    assert all(line.startswith(f"• {caution}") for line, caution in zip(lines, words()["cautions"], strict=True))
    every = [*words()["acting"].values(), *words()["entering"].values(), *words()["cautions"]]
    assert len(set(every)) == len(every)


def pages(pdf: Path) -> list[str]:
    """The printed pages of the sheet, as text with single spaces."""
    text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    return [re.sub(r"\s+", " ", page) for page in text.split("\f") if re.search(rf"Design check, .*: {SHEET}\b", page)]


def with_other_sheets_hidden(made: Path, hidden: Path) -> Path:
    """A copy of a workbook of which only this sheet is printed, since the others would take most of the time."""
    with zipfile.ZipFile(made) as source, zipfile.ZipFile(hidden, "w") as copy:
        for name in source.namelist():
            content = source.read(name)
            if name == "xl/workbook.xml":
                content = re.sub(rb'<sheet name="(?!Installation")', rb'<sheet state="hidden" name="', content)
            copy.writestr(name, content)
    return hidden


def test_printed_it_takes_three_pages_and_says_what_counts(tmp_path: Path) -> None:
    made = with_other_sheets_hidden(write_stale(tmp_path / "stale.xlsx"), tmp_path / "one.xlsx")
    for design, wanted in (
        ("twelve strings", ["FAIL", DO_NOT_BUILD, "151 V d.c.", "138 A", "Strings 3 to 12", "joins 12 strings"]),
        ("blank", ["INCOMPLETE", DO_NOT_BUILD, "not chosen here", "not known yet"]),
    ):
        libreoffice_engine().export_pdf(made, tmp_path / "printed.pdf", entries(DESIGNS[design]))
        found = pages(tmp_path / "printed.pdf")
        assert len(found) == PAGES, design
        both = " ".join(found)
        assert [text for text in wanted if text not in both] == []
        assert all(DO_NOT_BUILD in page for page in found)
        assert "cannot be switched off" in both
        assert "TWO SUPPLIES: ARRAY AND BATTERY" in both
