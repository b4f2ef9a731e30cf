"""What the spreadsheet engines agree on, and that the adapters around them do what their protocol says."""

from __future__ import annotations

import contextlib
import math
import os
import re
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from tests.engines import (
    ENGINES,
    Book,
    Cell,
    CellError,
    Engine,
    EngineError,
    Entry,
    Formula,
    engine,
    engines,
    libreoffice_engine,
    same,
)
from tests.engines.addressed import with_addresses
from tests.engines.formulas_engine import FormulasEngine
from tests.engines.idioms import (
    CASES,
    CELL_OF,
    DENIED,
    HELPERS,
    MIRRORED,
    STALE,
    STALE_TEXT,
    Entries,
    write_workbook,
)
from tests.engines.ironcalc_engine import IronCalcEngine
from tests.engines.libreoffice import LibreOfficeEngine


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("engines") / "idioms.xlsx"
    write_workbook(path)
    return path


@pytest.fixture(scope="module", params=list(ENGINES))
def chosen(request: pytest.FixtureRequest) -> Engine:
    return engine(request.param)


@pytest.fixture(scope="module")
def book(chosen: Engine, workbook: Path) -> Iterator[Book]:
    with chosen.open_as_it_is(workbook) as opened:
        yield opened


def shows(chosen: Engine, value: Cell, expected: object) -> bool:
    return same(value, expected, booleans_are_numbers=chosen.booleans_are_numbers)


@pytest.mark.parametrize("title", list(CASES))
def test_every_engine_agrees_with_a_person_on_the_idiom(chosen: Engine, book: Book, title: str) -> None:
    formula, cases = CASES[title]
    cell = CELL_OF[title]
    rows = book.recalculate_many([entries for entries, _ in cases], [cell])
    wrong = [
        f"{entries}: shows {row[cell]!r}, expected {expected!r}"
        for (entries, expected), row in zip(cases, rows, strict=True)
        if not shows(chosen, row[cell], expected)
    ]
    assert not wrong, f"{chosen.name}, {formula}: {'; '.join(wrong)}"


@pytest.mark.parametrize(("title", "entry", "expected"), MIRRORED, ids=[title for title, _, _ in MIRRORED])
def test_the_mirror_shows_what_was_entered(chosen: Engine, book: Book, title: str, entry: Entry, expected: object) -> None:
    # number_a has a number format; C9 has no name and is only seen through the column.
    # Column E finds the row by key, F by ROW().
    for name, row in (("number_a", 5), ("number_b", 6), ("Entries!C9", 9)):
        for cell, value in book.recalculate({name: entry}, [f"Entries!E{row}", f"Entries!F{row}"]).items():
            assert shows(chosen, value, expected), f"{chosen.name}: {title} mirrored as {value!r} in {cell}"


@pytest.mark.parametrize(("title", "entry", "expected"), MIRRORED, ids=[title for title, _, _ in MIRRORED])
def test_the_mirror_of_a_number_lets_no_text_through(chosen: Engine, book: Book, title: str, entry: Entry, expected: object) -> None:
    if isinstance(entry, str):
        expected = "text"
    for name, cell in (("number_a", "Entries!G5"), ("number_b", "Entries!G6"), ("Entries!C9", "Entries!G9")):
        value = book.recalculate({name: entry}, [cell])[cell]
        assert shows(chosen, value, expected), f"{chosen.name}: {title} mirrored as {value!r} in {cell}"


@pytest.mark.parametrize("title", list(DENIED))
def test_denied_idioms_are_denied_because_the_engines_disagree(chosen: Engine, book: Book, title: str) -> None:
    _, entries, shown = DENIED[title]
    cell = CELL_OF[title]
    assert shows(chosen, book.recalculate(entries, [cell])[cell], shown[chosen.name])
    assert len(set(shown.values())) > 1


def test_stored_values_of_the_file_are_stale_and_no_engine_shows_one(chosen: Engine, workbook: Path) -> None:
    stored = openpyxl.load_workbook(workbook, data_only=True)
    # Freshly opened: entries of other tests would already have made an engine recalculate what hangs on them.
    with chosen.open(workbook) as fresh:
        values = fresh.formula_values({})
        assert len(values) == len(fresh.map.formula_cells) > len(CASES)
    for place, value in values.items():
        sheet, cell = place.split("!")
        assert stored[sheet][cell].value in (STALE, STALE_TEXT), place
        assert value not in (STALE, STALE_TEXT), f"{place} was not recalculated"


def test_entries_of_one_call_are_gone_in_the_next(chosen: Engine, book: Book) -> None:
    before = book.formula_values({})
    for entry in (5, "text", "=1+1", True, Formula("=1/0"), Formula("=1=1")):
        book.formula_values({"number_a": entry, "number_b": entry, "text_t": entry})
        assert book.recalculate({"number_b": 3}, ["number_a", "Entries!E6"]) == {"number_a": None, "Entries!E6": 3.0}
        assert book.formula_values({}) == before


def test_a_logical_leaves_no_logical_format_behind(chosen: Engine, book: Book) -> None:
    for name, cell in (("number_a", "Entries!E5"), ("number_b", "Entries!E6")):
        book.recalculate({name: True}, [cell])
        assert book.recalculate({name: 3}, [cell]) == {cell: 3.0}
        book.recalculate({name: "TRUE"}, [cell])
        assert shows(chosen, book.recalculate({name: True}, [cell])[cell], "logical")


def test_many_cases_in_one_call_give_what_they_give_one_by_one(book: Book) -> None:
    read = ["product", "flag", "Entries!E5", CELL_OF["next size up"]]
    values: tuple[Entry, ...] = (1, 3.5, 4, "x", None)
    cases: list[Entries] = [{"number_a": value, "number_b": 2} for value in values] * 30
    assert book.recalculate_many(cases, read) == [book.recalculate(case, read) for case in cases]


def test_without_a_list_every_one_cell_name_is_read(book: Book) -> None:
    values = book.recalculate({"number_a": 6, "number_b": 7})
    assert set(values) == {*HELPERS, "number_a", "number_b", "number_c", "text_t"}
    assert (values["product"], values["number_c"]) == (42.0, None)


def test_cells_are_told_by_name_in_any_case_or_by_place(book: Book) -> None:
    values = book.recalculate({"NUMBER_A": 6, "Entries!C6": 7}, ["Product", "Calc!C1"])
    assert values == {"Product": 42.0, "Calc!C1": 42.0}


def test_unknown_names_and_ranges_are_refused_all_at_once(book: Book) -> None:
    with pytest.raises(KeyError, match=r"'sizes' \(a range.*'nobody', 'Nowhere!A1' \(no sheet"):
        book.recalculate({}, ["sizes", "nobody", "Nowhere!A1"])


def test_an_entry_into_a_formula_cell_is_refused(book: Book) -> None:
    with pytest.raises(ValueError, match="Calc!C1"):
        book.recalculate({"product": 1}, ["flag"])


def test_a_copy_with_addresses_differs_in_nothing_but_names(workbook: Path) -> None:
    with with_addresses(workbook) as copy:
        addressed, original = openpyxl.load_workbook(copy), openpyxl.load_workbook(workbook)
    assert not addressed.defined_names
    named = {name.lower(): item.attr_text for name, item in original.defined_names.items()}
    replaced = 0
    for sheet in original.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                other = addressed[sheet.title][cell.coordinate].value
                assert other == cell.value or cell.data_type == "f", cell.coordinate
                if other != cell.value:
                    replaced += 1
                    assert all(target in other or name not in words(cell.value) for name, target in named.items())
                    assert not words(other) & set(named)
    assert replaced > 50


def words(formula: str) -> set[str]:
    """The words of a formula that are not within quotes."""
    return {word.lower() for word in re.findall(r"[A-Za-z_]\w*", re.sub(r'"[^"]*"', "", formula))}


def test_all_engines_are_there() -> None:
    assert [one.name for one in engines()] == ["libreoffice", "formulas", "ironcalc"]


def test_an_unknown_engine_is_refused() -> None:
    with pytest.raises(EngineError, match="accepted are libreoffice, formulas, ironcalc"):
        engine("abacus")


@pytest.mark.parametrize(("module", "kind"), [("formulas", FormulasEngine), ("ironcalc", IronCalcEngine)])
def test_a_missing_package_is_an_error(monkeypatch: pytest.MonkeyPatch, module: str, kind: type[Engine]) -> None:
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(EngineError, match=f"{module} is not installed"):
        kind()


def test_a_missing_libreoffice_is_an_error(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(EngineError, match="soffice is not installed"):
        LibreOfficeEngine()


def test_a_file_that_is_no_workbook_is_an_error_and_the_session_lives_on(workbook: Path, tmp_path: Path) -> None:
    with pytest.raises(EngineError, match="cannot load"):
        libreoffice_engine().resave(tmp_path / "absent.xlsx", tmp_path / "out.xlsx")
    with libreoffice_engine().open(workbook) as opened:
        assert opened.recalculate({"number_a": 2, "number_b": 3}, ["product"]) == {"product": 6.0}


def test_libreoffice_ends_and_leaves_no_folder_behind() -> None:
    session = LibreOfficeEngine()
    folder = session.folder
    assert folder.is_dir()
    session.close()
    session.close()
    assert not folder.exists()
    with pytest.raises(EngineError, match="closed"):
        session.resave(Path("a.xlsx"), Path("b.xlsx"))


def processes_of(folder: Path) -> list[str]:
    """The command lines that name the session's own folder."""
    lines = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            lines.append(path.read_bytes().replace(b"\0", b" ").decode(errors="replace"))
    return [line for line in lines if str(folder) in line]


def test_a_libreoffice_that_does_not_answer_is_ended_and_is_an_error(monkeypatch: pytest.MonkeyPatch, workbook: Path) -> None:
    session = LibreOfficeEngine()
    assert processes_of(session.folder)
    monkeypatch.setattr("tests.engines.libreoffice.ANSWER_SECONDS", 0)
    with pytest.raises(EngineError, match="no answer in 0 s"):
        session.open(workbook)
    assert not session.folder.exists()
    assert not processes_of(session.folder)


def test_a_worker_that_died_takes_its_libreoffice_along_and_is_an_error(workbook: Path) -> None:
    session = LibreOfficeEngine()
    worker = session.process_id
    os.kill(worker, signal.SIGKILL)
    with pytest.raises(EngineError, match="it died"):
        session.open(workbook)
    assert not processes_of(session.folder)


def test_a_workbook_saved_again_keeps_entries_protection_and_right_values(workbook: Path, tmp_path: Path) -> None:
    out = tmp_path / "again.xlsx"
    libreoffice_engine().resave(workbook, out, {"number_a": 6, "number_b": 7, "text_t": "=1+1", "number_c": True})
    values = openpyxl.load_workbook(out, data_only=True)
    assert values["Calc"]["C1"].value == 42
    assert (values["Entries"]["C7"].value, values["Entries"]["C8"].value) == (True, "=1+1")
    assert values["Entries"].protection.sheet


def test_a_locked_cell_cannot_be_filled_in_before_saving_again(workbook: Path, tmp_path: Path) -> None:
    with pytest.raises(EngineError, match=r"Entries!A5 is locked"):
        libreoffice_engine().resave(workbook, tmp_path / "out.xlsx", {"Entries!A5": "other key"})


def test_a_workbook_is_printed_to_pdf(workbook: Path, tmp_path: Path) -> None:
    out = tmp_path / "printed.pdf"
    libreoffice_engine().export_pdf(workbook, out)
    assert out.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("actual", "expected"),
    [
        (None, ""),
        ("", None),
        ("", math.nan),
        ("", np.float64("nan")),
        (1.0, 1),
        (1.0, 1.0 + 1e-10),
        (True, np.True_),
        (1e12, 1e12 + 1),
        (CellError("#N/A"), CellError("#N/A")),
        ("a", np.str_("a")),
        (3.0, np.int64(3)),
    ],
)
def test_same_values_are_the_same(actual: Cell, expected: object) -> None:
    assert same(actual, expected)


@pytest.mark.parametrize(
    ("actual", "expected"),
    [
        (0.0, ""),
        ("", 0),
        (None, 0),
        (None, False),
        (1.0, True),
        (True, 1),
        ("1", 1),
        ("a", "A"),
        ("a", "a "),
        (CellError("#N/A"), "#N/A"),
        (CellError("#N/A"), ""),
        (CellError("#N/A"), CellError("#REF!")),
        (CellError("#N/A"), math.nan),
        (1.0, 1.0 + 1e-8),
        (1e12, 1e12 + 2000),
    ],
)
def test_different_values_are_not_the_same(actual: Cell, expected: object) -> None:
    assert not same(actual, expected)


def test_a_logical_may_be_read_as_a_number_only_where_the_engine_has_no_logicals() -> None:
    assert same(1.0, True, booleans_are_numbers=True)
    assert same(0.0, False, booleans_are_numbers=True)
    assert not same(1.0, False, booleans_are_numbers=True)
    assert not same(2.0, True, booleans_are_numbers=True)
    assert not same("", False, booleans_are_numbers=True)
    assert not same(True, 1, booleans_are_numbers=True)
