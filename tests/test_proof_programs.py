"""The sheet Proof in the spreadsheet programs: each line agrees, a fault in any takes PASS away, stale entries are told."""

from __future__ import annotations

import copy
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.cell import coordinate_to_tuple

from tests.compared import differences, places
from tests.engines import Book, CellError, Engine, Entry, engine
from tests.support import STALE, cables, entries, evaluation, example, model, whole_example, write_stale
from workbook_builder.evaluation.overall import UNPROVEN, VERDICTS
from workbook_builder.evaluation.proof_lines import LINES
from workbook_builder.evaluation.proof_words import AGREES, CALCULATES, HANDSHAKE_BLANK, HANDSHAKE_TEXT, MISCALCULATES
from workbook_builder.file.building import build, plan_for
from workbook_builder.file.emit import write
from workbook_builder.file.plan import Cell, Formula, Plan, Sheet, address
from workbook_builder.language import xl
from workbook_builder.language.profiles import built_in, load_profile
from workbook_builder.sheets import proof, stale

PROFILES = built_in()
NAMES = ("calculation_ok", "verdict", "checks_failed")


def plan_of(profile: str = "nec-2023") -> Plan:
    return plan_for(load_profile(profile))


def place_of(key: str, profile: str = "nec-2023") -> str:
    """Where the formula with this key stands on the sheet."""
    return next(place for place, known in places(profile) if known == key and place.startswith("Proof!"))


def beside(place: str, column: int) -> str:
    return f"Proof!{address(int(place.split('!')[1].lstrip('ABCDEFGHIJ')) - 1, column)}"


# in the programs


@pytest.fixture(scope="module", params=PROFILES)
def profile(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def unopened(profile: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_stale(tmp_path_factory.mktemp("proof") / "stale.xlsx", profile)


@pytest.fixture(scope="module", params=["libreoffice", "ironcalc"])
def opened(request: pytest.FixtureRequest, unopened: Path) -> Iterator[tuple[Engine, Book]]:
    chosen = engine(request.param)
    with chosen.open(unopened) as book:
        yield chosen, book


def test_every_line_agrees_in_the_program_and_the_reference_knows_each_cell(opened: tuple[Engine, Book], profile: str) -> None:
    chosen, book = opened
    inputs = example(**cables(profile))
    found = book.formula_values(entries(inputs))
    assert not differences(chosen, found, inputs, profile)
    agreements = [found[place] for place, key in places(profile) if key.startswith("proof_") and key.endswith("_agreement")]
    assert agreements == [AGREES] * evaluation(profile).proof.lines


def test_the_handshake_answers_and_stands_in_no_way(opened: tuple[Engine, Book]) -> None:
    _, book = opened
    answers = {
        None: HANDSHAKE_BLANK,
        41: "It follows: your number plus one is 42.",
        "seven": HANDSHAKE_TEXT,
        0.5: "It follows: your number plus one is 2.",
    }
    rows = book.recalculate_many([{"proof_handshake_number": typed} for typed in answers], ["proof_handshake", "calculation_ok"])
    assert rows == [{"proof_handshake": answer, "calculation_ok": CALCULATES} for answer in answers.values()]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented example as a workbook, which passes."""
    path = tmp_path_factory.mktemp("sound") / "sound.xlsx"
    assert build(whole_example(), path).verdict.startswith("PASS")
    return path


def test_another_expected_figure_in_any_line_is_seen_and_takes_the_pass_away(sound: Path) -> None:
    wanted: list[tuple[str, int, Entry]] = []
    for chain in evaluation().proof.chains:
        wanted += [(chain.names[name], proof.PRINTED, result.value + 1.5) for name, result in chain.results.items()]
    for number, line in enumerate(LINES, 1):
        wanted.append((f"proof_line{number}", proof.EXPECTED, "another" if isinstance(line.expected, str) else line.expected + 1.5))
    faults: list[dict[str, Entry]] = [{beside(place_of(key), column): value} for key, column, value in wanted]
    faults += [{place: None} for fault in faults for place in fault]
    with engine("libreoffice").open(sound) as book:
        assert book.recalculate({}, NAMES)["calculation_ok"] == CALCULATES
        rows = book.recalculate_many(faults, NAMES)
    assert len(rows) == 2 * evaluation().proof.lines
    unseen = [
        fault for fault, row in zip(faults, rows, strict=True) if (row["calculation_ok"], row["verdict"]) != (MISCALCULATES, "INCOMPLETE")
    ]
    assert not unseen, unseen


FAULTS = {
    "a formula of an example": ("proof_e7_voc_factor", "1"),
    "a value between": ("proof_e7_voc_factor_coefficient", "1.09"),
    "an error in an example": ("proof_e10_battery_ah_needed", "1/0"),
    "a result that is empty": ("proof_e4_losses_array_drop", '""'),
    "a result that is a text": ("proof_e1_array_isc_max", '"4.06"'),
    "an agreement that is empty": ("proof_e1_array_isc_max_agreement", '""'),
    "a difference that is empty": ("proof_e1_array_isc_max_difference", '""'),
    "a difference that is an error": ("proof_e1_array_isc_max_difference", "1/0"),
    "the current of the curve": ("proof_v2_search_hot_absorb_i", "5.3"),
    "a function": ("proof_line41", "0-2"),
    "a function's answer empty": ("proof_line9", '""'),
    "a joined text": ("proof_line7", '"18"'),
    "an error for a text": ("proof_line7", "1/0"),
    "the word itself empty": ("calculation_ok", '""'),
    "the word itself an error": ("calculation_ok", "1/0"),
}
# a mirror that stays as it was, and what is typed meanwhile
STALE_MIRRORS: dict[str, tuple[str, str, dict[str, Any]]] = {
    "a number": ("typed_module_voc", "40", {"module_voc": 22.0}),
    "a number that was blank": ("typed_module_gamma_pmp", '""', {"module_gamma_pmp": -0.4}),
    "a number that is blank now": ("typed_module_alpha_isc", "0.05", {"module_alpha_isc": None}),
    "a choice": ("typed_battery_chemistry", '"AGM"', {"battery_chemistry": "flooded"}),
    "a choice that was blank": ("typed_site_place", '""', {"site_place": "other building"}),
    "a number in a table": ("typed_load1_w", "10", {"load1_w": 20.0}),
    "a number in a table that was blank": ("typed_jan_sun", '""', {"jan_sun": 4.0}),
    "a supply in a table": ("typed_load1_supply", '"AC"', {"load1_supply": "DC"}),
}
TRIALS = {**FAULTS, **{title: (key, text) for title, (key, text, _) in STALE_MIRRORS.items()}}


@pytest.fixture(scope="module")
def trials(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """A workbook in which a number, 0 at first, switches on one fault each; a last sheet works the alarms' conditions out."""
    plan = copy.deepcopy(plan_of())
    told = plan.add(Sheet("Trials", "which fault is on, and the conditions of the alarms", (10,)))
    told.cells[0, 1] = Cell(0.0, "number")
    plan.name("trial", told, 0, 1)
    for row, alarm in enumerate(plan_alarms("Start")):
        told.cells[row, 0] = Cell(Formula(f"IF({alarm.condition},1,0)", "calculation_ok"), "text")
    for sheet in plan.sheets:
        for place, cell in sheet.cells.items():
            for number, (key, text) in enumerate(TRIALS.values(), 1):
                content = sheet.cells[place].content
                if isinstance(content, Formula) and content.key == key and sheet.name != "Start":
                    sheet.cells[place] = replace(cell, content=Formula(f"IF(trial={number},{text},{content.text})", key))
    path = tmp_path_factory.mktemp("trials") / "trials.xlsx"
    write(plan, {}, defaultdict(lambda: STALE), path)
    with engine("libreoffice").open(path) as book:
        yield book


def on(title: str) -> dict[str, Any]:
    return {"trial": list(TRIALS).index(title) + 1}


def raised(row: dict[str, Any]) -> bool:
    return any(row[f"Trials!A{number}"] for number in range(1, len(plan_alarms("Start")) + 1))


def alarms() -> list[str]:
    return [f"Trials!A{number}" for number in range(1, len(plan_alarms("Start")) + 1)]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_takes_the_pass_away_but_not_a_fail(trials: Book, fault: str) -> None:
    read = ["verdict", meaning_place()]
    designs = [entries(whole_example(**change)) for change in ({}, {"controller_v_max": 20})]
    sound, unsound = trials.recalculate_many(designs, read)
    passing, failing = trials.recalculate_many([{**design, **on(fault)} for design in designs], read)
    assert str(sound["verdict"]).startswith("PASS")
    assert unsound["verdict"] == failing["verdict"] == "FAIL"
    if "an error" in fault and fault.startswith("the word"):
        assert isinstance(passing["verdict"], CellError)  # nothing that could be read as a PASS
    else:
        assert passing["verdict"] == "INCOMPLETE"
        assert str(passing[meaning_place()]).startswith(UNPROVEN)
        assert str(failing[meaning_place()]).startswith(UNPROVEN)


def test_cells_that_were_deleted_from_the_file_take_the_pass_away(sound: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(sound)
    book["Proof"][place_of("proof_line9").split("!")[1]] = None
    book.save(tmp_path / "faulty.xlsx")
    with engine("libreoffice").open(tmp_path / "faulty.xlsx") as opened_again:
        row = opened_again.recalculate({}, NAMES)
    assert (row["calculation_ok"], row["verdict"]) == (MISCALCULATES, "INCOMPLETE")


def meaning_place() -> str:
    return next(place for place, key in places("nec-2023") if key == "meaning_verdict" and place.startswith("Verdicts!"))


def test_a_table_that_was_changed_is_seen_by_its_examples(sound: Path) -> None:
    row = plan_of().names["voltage_correction_factor"]
    lowest = f"{row[0]}!{address(row[1] + 4, row[2])}"  # the row down to −20 °C
    with engine("libreoffice").open(sound) as book:
        row_of = book.recalculate({lowest: 1.0}, [*NAMES, "proof_e6_array_voc_cold"])
    assert row_of["calculation_ok"] == MISCALCULATES
    assert row_of["verdict"] == "INCOMPLETE"


def test_a_sound_workbook_says_its_usual_sentence(sound: Path) -> None:
    with engine("libreoffice").open(sound) as book:
        assert str(book.formula_values({})[meaning_place()]).startswith(tuple(VERDICTS.values()))


# the alarm that entries and what was read from them do not belong together


JUNK = ("18", " ", "18,2", True, "=1+1", "2026-11-25", 1e9, -3)


def test_no_alarm_while_everything_is_recalculated_whatever_is_typed(trials: Book) -> None:
    tried = [{}, example(), whole_example()]
    for junk in JUNK:
        tried += [example(**dict.fromkeys(("module_voc", "battery_chemistry", "site_note", "array_series"), junk))]
        tried += [example(**dict.fromkeys(("load1_w", "load2_supply", "jan_sun", "load1_name"), junk))]
    rows = trials.recalculate_many([entries(inputs) for inputs in tried], alarms())
    assert not [inputs for inputs, row in zip(tried, rows, strict=True) if raised(row)]


@pytest.mark.parametrize("change", STALE_MIRRORS)
def test_an_entry_that_was_not_read_again_raises_the_alarm(trials: Book, change: str) -> None:
    design = entries(example(**STALE_MIRRORS[change][2]))
    followed, stayed = trials.recalculate_many([design, {**design, **on(change)}], alarms())
    assert not raised(followed)
    assert raised(stayed)


def test_the_alarm_comes_before_all_other_looks_and_brings_its_words_along(sound: Path) -> None:
    book = openpyxl.load_workbook(sound)
    for sheet, cell in (("Start", first_alarm("Start")), ("Verdicts", first_alarm("Verdicts")), ("Entries", "A1")):
        rules = [rule for area in book[sheet].conditional_formatting if cell in _cells(area) for rule in area.rules]
        first = [rule for rule in sorted(rules, key=lambda rule: rule.priority) if rule.stopIfTrue]
        here = coordinate_to_tuple(cell)
        standing = [one for one in plan_alarms(sheet) if all(a < at <= b + 1 for a, at, b in zip(one.first, here, one.last, strict=True))]
        assert [rule.formula[0] for rule in first] == [alarm.condition for alarm in standing]
        assert min(rule.priority for rule in rules) == first[0].priority
        assert all("NOT RECALCULATED" in rule.dxf.numFmt.formatCode for rule in first)


def first_alarm(sheet: str) -> str:
    """The cell of the verdict on a sheet: there the first alarm stands."""
    (place,) = [name for name, key in places("nec-2023") if key == "verdict" and name.startswith(f"{sheet}!")]
    return place.partition("!")[2]


def _cells(area: Any) -> set[str]:
    return {address(row - 1, column - 1) for part in area.sqref.ranges for row, column in part.cells}


def plan_alarms(sheet: str) -> list[Any]:
    return next(one.alarms for one in plan_of().sheets if one.name == sheet)


def test_the_alarms_use_names_only_and_know_every_table() -> None:
    conditions = [alarm.condition for alarm in stale.alarms(model(), (0, 0), (0, 0))]
    assert not [piece for text in conditions for piece in xl.tokens(text) if piece.kind == "address"]
    for table in model().entry_tables:
        assert any(stale.area_of(table.name)[0] in text for text in conditions)
