"""The sheet Proof: its examples are the design's own formulas, every fault in a line is seen, and no PASS stands without it."""

from __future__ import annotations

import copy
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.engines import Book, CellError, Engine, engine
from tests.support import STALE, cables, differences, entries, example, model, places, whole_example, write_stale
from workbook_builder import xl
from workbook_builder.building import build, plan_for
from workbook_builder.declare import Quantity
from workbook_builder.emit import write
from workbook_builder.errors import DeclarationError, WorkbookError
from workbook_builder.model import Model
from workbook_builder.outcome import UNPROVEN, VERDICTS
from workbook_builder.plan import Cell, Entry, Formula, Plan, Sheet, address
from workbook_builder.profiles import built_in, load_profile
from workbook_builder.proof import AGREES, DIFFERS, Chain, Part, make_proof, read_examples
from workbook_builder.proof_lines import LINES
from workbook_builder.proof_words import CALCULATES, HANDSHAKE_BLANK, HANDSHAKE_TEXT, MISCALCULATES
from workbook_builder.sheets import make_plan, proof, stale
from workbook_builder.sheets.blocks import formula_in_names
from workbook_builder.sheets.working import cell_formula
from workbook_builder.sources import bibliography

PROFILES = built_in()
FEWEST = 12
NAMES = ("calculation_ok", "verdict", "checks_failed")


def plan_of(profile: str = "nec-2023") -> Plan:
    return plan_for(load_profile(profile))


def sheet_of(plan: Plan) -> Sheet:
    return next(sheet for sheet in plan.sheets if sheet.name == "Proof")


def shown_texts(profile: str) -> str:
    return "\n".join(str(cell.content) for cell in sheet_of(plan_of(profile)).cells.values() if isinstance(cell.content, str))


def place_of(key: str, profile: str = "nec-2023") -> str:
    """Where the formula with this key stands on the sheet."""
    return next(place for place, known in places(profile) if known == key and place.startswith("Proof!"))


def beside(place: str, column: int) -> str:
    return f"Proof!{address(int(place.split('!')[1].lstrip('ABCDEFGHIJ')) - 1, column)}"


# the examples


@pytest.mark.parametrize("profile", PROFILES)
def test_each_profile_recalculates_at_least_twelve_published_examples_from_many_sources(profile: str) -> None:
    published = [chain.example for chain in model(profile).proof.chains if chain.example.published]
    assert len(published) >= FEWEST
    assert len({one.citation.source for one in published}) >= FEWEST


@pytest.mark.parametrize("profile", PROFILES)
def test_each_example_stands_on_the_sheet_with_its_source_and_its_published_figures(profile: str) -> None:
    text, sheet = shown_texts(profile), sheet_of(plan_of(profile))
    for chain in model(profile).proof.chains:
        assert chain.example.title in text
        assert f"Source: {bibliography()[chain.example.citation.source].title}" in text
        for name, result in chain.results.items():
            row = plan_of(profile).names[chain.names[name]][1]
            assert sheet.cells[row, proof.PRINTED].content == float(result.printed)
            assert sheet.cells[row, proof.WITHIN].content == result.within


@pytest.mark.parametrize("profile", PROFILES)
def test_what_is_given_stands_in_a_cell_with_a_name_of_its_own(profile: str) -> None:
    plan = plan_of(profile)
    for chain in model(profile).proof.chains:
        for part in chain.parts:
            if part.given is not None:
                _, row, column, _ = plan.names[part.key]
                assert sheet_of(plan).cells[row, column].content == part.given


def test_a_tolerance_is_never_wider_than_the_source_explains() -> None:
    wide = {
        (one.key, result.name)
        for one in read_examples()
        for result in one.results
        if result.within > 0.5 / 10 ** len(result.printed.partition(".")[2])
    }
    # each of these says in its note how the source rounds or cuts
    assert wide == {("e2", "string_fuse_min"), ("e4", "losses_array_percent"), ("e10", "battery_ah_needed")}
    assert all(one.note for one in read_examples() if one.key in {key for key, _ in wide})


@pytest.mark.parametrize("profile", PROFILES)
def test_the_formulas_of_the_examples_are_those_of_the_design(profile: str) -> None:
    of, plan = model(profile), plan_of(profile)
    formulas = {formula.key: formula.text for sheet, _, _, formula in plan.formulas() if sheet.name == "Proof"}
    for chain in of.proof.chains:
        names = names_of(plan, chain)
        for part in chain.parts:
            if part.given is None:
                node = of.nodes.get(part.name)
                declared = cell_formula(of, node) if isinstance(node, Quantity) else formula_in_names(of, of.cells[part.name])
                assert in_names(formulas[part.key], names) == in_names(declared, {}), part.key


def names_of(plan: Plan, chain: Chain) -> dict[str, str]:
    """What stands for the design's name in the example's formulas: a name, or the place of a value between."""
    rows = {row: cell.content for (row, column), cell in sheet_of(plan).cells.items() if column == proof.NAME}
    first = plan.names[chain.parts[0].key][1]
    found = {part.key: part.name for part in chain.parts}
    return found | {address(row, proof.SHOWS): str(rows[row]) for row in range(first, first + len(chain.parts))}


def in_names(formula: str, names: dict[str, str]) -> list[str]:
    known = [names.get(piece.text, piece.text) for piece in xl.tokens(formula)]
    return ["(status)" if name.startswith("status_") or name == "proof_accepted" else name for name in known]


def changed(name: str, formula: str, function: Any) -> Model:
    """The model with another formula and function for one quantity."""
    chapters = []
    for chapter in model().chapters:
        steps = [
            replace(step, formula=formula, function=function) if getattr(step, "name", "") == name else step for step in chapter.steps
        ]
        quantities = [step for step in steps if isinstance(step, Quantity)]
        chapters.append(replace(chapter, steps=steps, quantities=quantities))
    return Model(tuple(chapters), model().profile)


def test_a_formula_that_is_changed_is_changed_in_the_proof_and_then_no_design_passes() -> None:
    def array_voc_cold(array_series, module_voc, voc_factor):  # type: ignore[no-untyped-def]
        return array_series * module_voc * (voc_factor - 1)

    faulty = changed("array_voc_cold", "array_series*module_voc*(voc_factor-1)", array_voc_cold)
    plan = make_plan(faulty)
    texts = {formula.key: formula.text for _, _, _, formula in plan.formulas()}
    assert "(C" in texts["proof_e7_array_voc_cold"]
    assert "-1)" in texts["proof_e7_array_voc_cold"]
    values = faulty.all_values(whole_example())
    assert values["proof_e7_array_voc_cold_agreement"] == DIFFERS
    assert (values["calculation_ok"], values["verdict"]) == (MISCALCULATES, "INCOMPLETE")
    assert values["meaning_verdict"].startswith(UNPROVEN)


def test_arrays_of_designs_are_judged_with_the_proof_as_well() -> None:
    values = model().all_values(whole_example() | {"array_series": [1, 2, 60]})
    assert list(values["verdict"]) == [model().all_values(whole_example(array_series=n))["verdict"] for n in (1, 2, 60)]


# the lines of functions and operators


@pytest.mark.parametrize("profile", PROFILES)
def test_every_function_and_operator_of_the_workbook_has_a_line(profile: str) -> None:
    assert proof.used(plan_of(profile)) <= {line.about for line in LINES}
    assert {"ROUND", "MATCH", "SUMPRODUCT", "&", "<="} <= proof.used(plan_of(profile))


@pytest.mark.parametrize("name", ["TRIM", "^", "EXP"])
def test_a_function_without_a_line_is_refused_when_the_workbook_is_planned(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.setattr(proof, "LINES", tuple(line for line in LINES if line.about != name))
    with pytest.raises(WorkbookError, match=rf"no line tries a function that the workbook uses; got {re.escape(name)}"):
        make_plan(model())


@pytest.mark.parametrize("line", LINES, ids=[f"{number} {line.about}" for number, line in enumerate(LINES, 1)])
def test_the_reference_meets_what_a_person_expects_of_the_function(line: Any) -> None:
    assert line.function(line.a, line.b) == pytest.approx(line.expected, abs=line.within)
    assert line.about in line.formula or not line.about.isalpha()


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
    agreements = [found[place] for place, key in places(profile) if key.endswith("_agreement")]
    assert agreements == [AGREES] * model(profile).proof.lines


def test_the_handshake_answers_and_stands_in_no_way(opened: tuple[Engine, Book]) -> None:
    _, book = opened
    answers = {
        None: HANDSHAKE_BLANK, 41: "It follows: your number plus one is 42.", "seven": HANDSHAKE_TEXT,
        0.5: "It follows: your number plus one is 2.",
    }  # fmt: skip
    rows = book.recalculate_many([{"proof_handshake_number": typed} for typed in answers], ["proof_handshake", "calculation_ok"])
    assert rows == [{"proof_handshake": answer, "calculation_ok": CALCULATES} for answer in answers.values()]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented example as a workbook, which passes."""
    path = tmp_path_factory.mktemp("sound") / "sound.xlsx"
    assert build(whole_example(), path).verdict.startswith("PASS")
    return path


def test_another_expected_figure_in_any_line_is_seen_and_takes_the_pass_away(sound: Path) -> None:
    wanted = []
    for chain in model().proof.chains:
        wanted += [(chain.names[name], proof.PRINTED, result.value + 1.5) for name, result in chain.results.items()]
    for number, line in enumerate(LINES, 1):
        wanted.append((f"proof_line{number}", proof.EXPECTED, "another" if isinstance(line.expected, str) else line.expected + 1.5))
    faults = [{beside(place_of(key), column): value} for key, column, value in wanted]
    faults += [{place: None} for fault in faults for place in fault]
    with engine("libreoffice").open(sound) as book:
        assert book.recalculate({}, NAMES)["calculation_ok"] == CALCULATES
        rows = book.recalculate_many(faults, NAMES)
    assert len(rows) == 2 * model().proof.lines
    unseen = [
        fault
        for fault, row in zip(faults, rows, strict=True)
        if (row["calculation_ok"], row["verdict"]) != (MISCALCULATES, "INCOMPLETE")
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
    for sheet, cell in (("Start", "B4"), ("Verdicts", "C2"), ("Entries", "A1")):
        rules = [rule for area in book[sheet].conditional_formatting if cell in _cells(area) for rule in area.rules]
        first = [rule for rule in sorted(rules, key=lambda rule: rule.priority) if rule.stopIfTrue]
        assert [rule.formula[0] for rule in first] == [alarm.condition for alarm in plan_alarms(sheet)]
        assert min(rule.priority for rule in rules) == first[0].priority
        assert all("NOT RECALCULATED" in rule.dxf.numFmt.formatCode for rule in first)


def _cells(area: Any) -> set[str]:
    return {address(row - 1, column - 1) for part in area.sqref.ranges for row, column in part.cells}


def plan_alarms(sheet: str) -> list[Any]:
    return next(one.alarms for one in plan_of().sheets if one.name == sheet)


def test_the_alarms_use_names_only_and_know_every_table() -> None:
    conditions = [alarm.condition for alarm in stale.alarms(model(), (0, 0), (0, 0))]
    assert not [piece for text in conditions for piece in xl.tokens(text) if piece.kind == "address"]
    for table in model().entry_tables:
        assert any(stale.area_of(table.name)[0] in text for text in conditions)


# what the file of examples may say


GOOD_FILE = """
[[example]]
key = "x"
title = "Twice"
source = "circuit-laws"
inputs = { array_series = 2, module_voc = 20 }
results = [{ name = "array_voc", printed = "40" }]
"""


def proof_of(tmp_path: Path, text: str) -> Any:
    path = tmp_path / "proof.toml"
    path.write_text(text, encoding="utf-8")
    read_examples.__globals__["_read"].cache_clear()
    return make_proof(model(), path)


def test_an_example_of_a_file_is_worked(tmp_path: Path) -> None:
    values = proof_of(tmp_path, GOOD_FILE).values
    assert (values["proof_x_array_voc"], values["proof_x_array_voc_agreement"]) == (40.0, AGREES)


def test_a_result_that_differs_says_so(tmp_path: Path) -> None:
    assert proof_of(tmp_path, GOOD_FILE.replace('"40"', '"41.0"')).values["proof_x_array_voc_agreement"] == DIFFERS


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (", module_voc = 20", "", "is needed and not given; got module_voc"),
        ("module_voc = 20", "module_voc = 20, module_isc = 3", "given and needed by no result; got module_isc"),
        ("module_voc = 20", "modul_voc = 20, module_voc = 20", "given and needed by no result; got modul_voc"),
        ('"array_voc"', '"array_vok"', "is no value of the model; got array_vok"),
        ('"40"', '"forty"', "printed result is not a number; got forty"),
        ('title = "Twice"', 'titel = "Twice"', "unknown word; got titel"),
        ('title = "Twice"', "", "has no title"),
        ('"circuit-laws"', '"nobody"', "has no such source; got nobody"),
    ],
)
def test_a_fault_in_the_file_is_refused_with_its_place(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert old in GOOD_FILE
    with pytest.raises(DeclarationError) as caught:
        proof_of(tmp_path, GOOD_FILE.replace(old, new))
    assert words in str(caught.value)


def test_the_only_unlocked_cell_of_the_sheet_is_the_handshake() -> None:
    typed = [cell.content for cell in sheet_of(plan_of()).cells.values() if isinstance(cell.content, Entry)]
    assert [entry.name for entry in typed] == ["proof_handshake_number"]


def test_a_value_given_under_another_code_is_the_examples_own() -> None:
    def own(profile: str) -> Part | None:
        chain = next(chain for chain in model(profile).proof.chains if chain.example.key == "e1")
        return next((part for part in chain.parts if part.name == "code_continuous_factor"), None)

    assert own("nec-2023") is None
    part = own("iec-62548")
    assert part is not None
    assert part.given == 1.25
