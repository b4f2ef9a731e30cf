"""A workbook that came back: entries are read as the workbook reads them, and what was done to it is found and named with its cell."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.altered import BOOK, TEXTS, altered, cell, holding, names_leading, sheet_part, target_of, texts, with_names, without_names
from tests.engines import libreoffice_engine
from tests.support import whole_example
from workbook_builder.__main__ import main
from workbook_builder.evaluation.evaluation import evaluate
from workbook_builder.file.areas import Area, area_of
from workbook_builder.file.building import build
from workbook_builder.file.contents import SHEETS
from workbook_builder.file.findings import ERROR, KINDS, REMARK, Finding
from workbook_builder.file.markup import number_of, plain
from workbook_builder.file.reading import Reading, read_workbook
from workbook_builder.file.returned import at_best_incomplete, worth
from workbook_builder.language.profiles import load_profile

VOC = "entry_module_voc"


@pytest.fixture(scope="module")
def sent(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole example, which passes, as it went out."""
    return build(whole_example(), tmp_path_factory.mktemp("sent") / "sent.xlsx").path


# what is done to a workbook, the code of what is found, and the places that are named
DONE: dict[str, tuple[Callable[[Path], dict[str, Callable[[str], str]]], str, Callable[[Path], str]]] = {
    "a name is lost": (lambda file: {BOOK: without_names(VOC)}, "name-missing", lambda file: VOC),
    "a name is there twice": (
        lambda file: {BOOK: with_names(f'<definedName name="{VOC}" localSheetId="2">Entries!$B$4</definedName>')},
        "name-doubled",
        lambda file: VOC,
    ),
    "a name holds on one sheet": (
        lambda file: {BOOK: lambda text: text.replace(f'<definedName name="{VOC}">', f'<definedName name="{VOC}" localSheetId="1">')},
        "name-of-one-sheet",
        lambda file: VOC,
    ),
    "two names lead to one cell": (
        lambda file: {BOOK: names_leading({VOC: target_of(file, "entry_module_isc").replace("$", r"$")})},
        "name-shared",
        lambda file: target_of(file, "entry_module_isc").replace("$", ""),
    ),
    "a name leads to another cell": (lambda file: {BOOK: names_leading({VOC: "Entries!$B$4"})}, "name-moved", lambda file: VOC),
    "a name leads to another sheet": (
        lambda file: {BOOK: names_leading({VOC: "Start!$B$4"})},
        "name-on-another-sheet",
        lambda file: VOC,
    ),
    "a name leads to cells": (lambda file: {BOOK: names_leading({VOC: "Entries!$B$4:$C$9"})}, "name-of-a-range", lambda file: VOC),
    "a name leads nowhere": (lambda file: {BOOK: names_leading({VOC: "#REF!"})}, "name-broken", lambda file: VOC),
    "a name leads to a formula": (lambda file: {BOOK: names_leading({VOC: "Entries!$B$4+1"})}, "name-broken", lambda file: VOC),
    "a name is spelt otherwise": (
        lambda file: {BOOK: lambda text: text.replace(f'name="{VOC}"', 'name="entry_module_vco"')},
        "name-unknown",
        lambda file: "entry_module_vco",
    ),
    "a column has no name": (lambda file: {BOOK: without_names("entry_column")}, "column-missing", lambda file: "entry_column"),
    "keys have no name": (lambda file: {BOOK: without_names("key_column")}, "column-missing", lambda file: "entry_column"),
    "a column of a table leads astray": (
        lambda file: {BOOK: names_leading({"loads_w_entries": "Entries!$C$4:$C$9"})},
        "column-missing",
        lambda file: "loads_w_entries",
    ),
    "a key is spelt otherwise": (lambda file: {TEXTS: texts({"module_voc": "module_vox"})}, "key-missing", lambda file: "module_voc"),
    "a key is there twice": (
        lambda file: {TEXTS: texts({"module_isc": "module_voc"})},
        "key-doubled",
        lambda file: target_of(file, "entry_module_isc").replace("$", ""),
    ),
    "a formula is typed": (
        lambda file: {sheet_part(file, "Entries"): holding(cell(file, VOC), "<f>RAND()</f><v>22.5</v>")},
        "formula-in-entry",
        lambda file: target_of(file, VOC).replace("$", ""),
    ),
    "a formula is filled down": (
        lambda file: {sheet_part(file, "Entries"): holding(cell(file, VOC), '<f t="shared" si="90"/><v>22.5</v>')},
        "formula-in-entry",
        lambda file: target_of(file, VOC).replace("$", ""),
    ),
    "a text is longer than a cell": (
        lambda file: {sheet_part(file, "Entries"): holding(cell(file, "entry_site_note"), f"<is><t>{'a' * 40_000}</t></is>", "inlineStr")},
        "text-too-long",
        lambda file: target_of(file, "entry_site_note").replace("$", ""),
    ),
    "a sheet has another name": (
        lambda file: {BOOK: lambda text: text.replace('name="Entries"', 'name="Input"').replace(">Entries!", ">Input!")},
        "sheet-missing",
        lambda file: "Entries",
    ),
    "a sheet is gone": (
        lambda file: {BOOK: lambda text: text.replace('<sheet name="Verdicts"', '<sheet name="Letters"')},
        "sheet-missing",
        lambda file: "Verdicts",
    ),
    "another layout": (
        lambda file: {sheet_part(file, "Start"): holding(cell(file, "meta_schema"), "<v>7</v>")},
        "other-layout",
        lambda file: "meta_schema",
    ),
    "a profile with other figures": (
        lambda file: {TEXTS: texts({load_profile("nec-2023").fingerprint: "0123456789ab"})},
        "other-figures",
        lambda file: "meta_figures",
    ),
    "an older workbook, which names no figures": (
        lambda file: {BOOK: without_names("meta_figures")},
        "other-figures",
        lambda file: "meta_figures",
    ),
    "another version": (
        lambda file: {sheet_part(file, "Start"): holding(cell(file, "meta_version"), "<is><t>0.0.1</t></is>", "inlineStr")},
        "other-version",
        lambda file: "meta_version",
    ),
    "a sheet is added": (
        lambda file: {BOOK: lambda text: text.replace("</sheets>", '<sheet name="Notes" sheetId="99" r:id="rId2"/></sheets>')},
        "sheet-added",
        lambda file: "Notes",
    ),
    "a figure typed by a program that does not calculate": (
        lambda file: {sheet_part(file, "Entries"): holding(cell(file, "entry_module_voc"), "<v>40</v>")},
        "verdict-differs",
        lambda file: "verdict",
    ),
}


def came_back(sent: Path, done: str, folder: Path) -> Path:
    return altered(sent, folder / "back.xlsx", DONE[done][0](sent))


def judged(file: Path) -> tuple[Reading, dict[str, str], tuple[Finding, ...]]:
    reading = read_workbook(file)
    found = worth(reading, evaluate(reading.inputs, reading.profile))
    return reading, found.verdicts, found.findings


def test_a_workbook_as_it_went_out_has_no_findings(sent: Path) -> None:
    reading, verdicts, findings = judged(sent)
    assert reading.inputs == whole_example()
    assert findings == ()
    assert reading.stored == verdicts == {"verdict_match": "PASS", "verdict": "PASS"}


@pytest.mark.parametrize("done", DONE)
def test_what_was_done_to_a_workbook_is_found_with_its_place_and_never_passes(sent: Path, done: str, tmp_path: Path) -> None:
    _, code, place = DONE[done]
    _, verdicts, findings = judged(came_back(sent, done, tmp_path))
    found = {(one.code, one.place) for one in findings}
    assert (code, place(sent)) in found
    if KINDS[code].severity == ERROR:
        assert verdicts["verdict"] in ("INCOMPLETE", "FAIL")
        assert verdicts["verdict_match"] in ("INCOMPLETE", "FAIL")
    assert all(str(one).strip() for one in findings)


def test_each_kind_of_finding_is_met_somewhere() -> None:
    assert {code for _, code, _ in DONE.values()} | {"not-calculated"} == set(KINDS)
    assert {kind.severity for kind in KINDS.values()} == {ERROR, REMARK}


@pytest.mark.parametrize("done", ["a name is lost", "a name leads to another cell", "a name leads nowhere", "two names lead to one cell"])
def test_an_entry_is_read_in_the_row_of_its_key_wherever_its_name_leads(sent: Path, done: str, tmp_path: Path) -> None:
    """A name that was lost made a blank of what was typed, and the design passed by it."""
    assert judged(came_back(sent, done, tmp_path))[0].inputs == whole_example()


@pytest.mark.parametrize("done", ["a column has no name", "keys have no name"])
def test_without_its_column_an_entry_is_still_read_by_its_name(sent: Path, done: str, tmp_path: Path) -> None:
    assert judged(came_back(sent, done, tmp_path))[0].inputs == whole_example()


def test_a_formula_in_an_entry_is_a_text_that_is_refused_whatever_it_gives(sent: Path, tmp_path: Path) -> None:
    reading = judged(came_back(sent, "a formula is typed", tmp_path))[0]
    assert reading.inputs["module_voc"] == "=RAND()"
    assert evaluate(reading.inputs)["status_module_voc"] == "not a number"


def test_the_stored_verdict_and_that_of_the_entries_are_both_shown(sent: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A PASS that somebody left in the file is never believed."""
    file = came_back(sent, "a figure typed by a program that does not calculate", tmp_path)
    assert main(["check", str(file)]) == 1
    said = capsys.readouterr().out
    assert "stored in the file: verdict_match PASS, verdict PASS" in said
    assert "verdict: FAIL" in said
    assert "the verdict stored in the file is not that of its entries; expected FAIL; found PASS" in said
    assert main(["check", "--json", str(file)]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert (answer["verdict"], answer["stored"]["verdict"]) == ("FAIL", "PASS")
    assert {"code", "place", "severity", "fault", "expected", "found", "advice"} == set(answer["findings"][0])


@pytest.mark.parametrize("flag", [[], ["--match"]])
def test_a_workbook_that_is_not_as_it_was_built_ends_with_status_one(
    sent: Path, tmp_path: Path, flag: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(sent), *flag]) == 0
    capsys.readouterr()
    assert main(["check", str(came_back(sent, "a name is lost", tmp_path)), *flag]) == 1
    said = capsys.readouterr().out
    assert f"error: {VOC}: the name of an entry cell is missing; expected {target_of(sent, VOC).replace('$', '')}" in said
    assert said.endswith("verdict of this workbook: INCOMPLETE\n")


def test_many_findings_of_one_kind_are_counted_and_not_all_printed(sent: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = altered(sent, tmp_path / "bare.xlsx", {BOOK: without_names("entry_[a-z0-9_]*")})
    assert main(["check", str(bare)]) == 1
    assert "more of this kind; --json lists all" in capsys.readouterr().out
    main(["check", "--json", str(bare)])
    assert len(json.loads(capsys.readouterr().out)["findings"]) > 300


# ---- other programs


def test_what_a_spreadsheet_program_saves_is_read_without_findings(sent: Path, tmp_path: Path) -> None:
    saved = tmp_path / "saved.xlsx"
    libreoffice_engine().resave(sent, saved, {"entry_site_note": "Seen"})
    reading, verdicts, findings = judged(saved)
    assert reading.inputs == whole_example(site_note="Seen")
    assert findings == ()
    assert verdicts["verdict"] == "PASS"


def test_what_a_program_saves_that_does_not_calculate_is_said_to_have_no_verdict(sent: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(sent)
    book["Entries"][cell(sent, VOC)] = 40
    book.save(tmp_path / "saved.xlsx")
    reading, verdicts, findings = judged(tmp_path / "saved.xlsx")
    assert reading.inputs == whole_example(module_voc=40)
    assert [one.code for one in findings] == ["not-calculated"]
    assert verdicts["verdict"] == "FAIL"


def typed_by_a_program(sent: Path, folder: Path, name: str, content: str, kind: str = "") -> Any:
    part = sheet_part(sent, "Entries")
    file = altered(sent, folder / "typed.xlsx", {part: holding(cell(sent, f"entry_{name}"), content, kind)})
    return read_workbook(file).inputs.get(name)


@pytest.mark.parametrize(
    ("content", "kind", "typed"),
    [
        ("<v>2.25E1</v>", "", 22.5),
        ("<v>22.50</v>", "n", 22.5),
        ("<v>1</v>", "b", True),
        ("<v>#N/A</v>", "e", "#N/A"),
        ("<is><t>22,5</t></is>", "inlineStr", "22,5"),
        ("<is><r><t>22</t></r><r><rPr/><t>.5</t></r><rPh><t>no</t></rPh></is>", "inlineStr", "22.5"),
        ("<v>22_x000D_5</v>", "str", "22\r5"),
        ("<v>2026-11-27</v>", "d", "2026-11-27"),
        ("<v>nan</v>", "", "nan"),
        ("<v>1e999</v>", "", "1e999"),
        ("<v>1_0</v>", "", "1_0"),
        ("<v></v>", "", None),
    ],
)
def test_every_way_in_which_programs_store_a_value_is_read(sent: Path, tmp_path: Path, content: str, kind: str, typed: Any) -> None:
    assert typed_by_a_program(sent, tmp_path, "module_voc", content, kind) == typed
    assert type(typed_by_a_program(sent, tmp_path, "module_voc", content, kind)) is type(typed)


def test_a_formula_that_gives_nothing_is_not_a_blank(sent: Path, tmp_path: Path) -> None:
    assert typed_by_a_program(sent, tmp_path, "controller_ocp", '<f>""</f><v></v>', "str") == '=""'


# ---- small parts


@pytest.mark.parametrize(
    ("text", "area"),
    [
        ("Entries!$B$8", Area("Entries", 8, 2, 8, 2)),
        ("'My sheet'!$B$8:$C$9", Area("My sheet", 8, 2, 9, 3)),
        ("'It''s'!$AA$1", Area("It's", 1, 27, 1, 27)),
        ("Entries!$C$9:$B$8", Area("Entries", 8, 2, 9, 3)),
        ("#REF!", None),
        ("Entries!#REF!", None),
        ("Entries!$B$8+1", None),
        ("Entries!$B:$B", None),
        ("$B$8", None),
        ("", None),
    ],
)
def test_a_name_leads_to_a_block_of_cells_or_to_none(text: str, area: Area | None) -> None:
    assert area_of(text) == area


def test_numbers_and_texts_are_read_as_they_are_stored() -> None:
    assert (number_of("12"), number_of("-12.50"), number_of(" "), number_of("1e5")) == (12, -12.5, None, 1e5)
    assert type(number_of("12")) is int
    assert plain("a_x0009_b") == "a\tb"
    assert plain("plain_text") == "plain_text"


def test_only_a_verdict_that_passes_is_withheld() -> None:
    assert [at_best_incomplete(one) for one in ("PASS", "PASS WITH NOTES", "FAIL", "INCOMPLETE")] == ["INCOMPLETE"] * 2 + [
        "FAIL",
        "INCOMPLETE",
    ]


def test_the_sheets_of_a_workbook_are_those_by_which_it_is_known_again(sent: Path) -> None:
    assert tuple(openpyxl.load_workbook(sent, read_only=True).sheetnames) == SHEETS


def test_a_figure_of_a_profile_changed_anywhere_changes_its_fingerprint() -> None:
    whole = load_profile("nec-2023")
    first, *others = whole.tables
    column = replace(first.columns[0], values=(-41.0, *first.columns[0].values[1:]))
    changed = [
        whole,
        replace(whole, values=(replace(whole.values[0], value=1.26), *whole.values[1:])),
        replace(whole, tables=(replace(first, columns=(column, *first.columns[1:])), *others)),
        replace(whole, key="ours"),
        *map(load_profile, ("nec-2020", "iec-62548", "iec-60364-7-712")),
    ]
    assert len({profile.fingerprint for profile in changed}) == len(changed)
    assert replace(whole, note="said otherwise").fingerprint == whole.fingerprint
