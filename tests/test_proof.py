"""The sheet Proof: its examples are the design's own formulas, every fault in a line is seen, and no PASS stands without it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.support import evaluation, model, whole_example
from workbook_builder.evaluation import proof_examples
from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.overall import UNPROVEN
from workbook_builder.evaluation.proof import Chain, Part, make_proof
from workbook_builder.evaluation.proof_examples import read_examples
from workbook_builder.evaluation.proof_lines import LINES
from workbook_builder.evaluation.proof_words import AGREES, DIFFERS, MISCALCULATES
from workbook_builder.file.building import plan_for
from workbook_builder.file.plan import Entry, Plan, Sheet, address
from workbook_builder.language import xl
from workbook_builder.language.declare import Quantity
from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.profiles import built_in, load_profile
from workbook_builder.language.sources import bibliography
from workbook_builder.language.steps import Argument, Given, cell_formula
from workbook_builder.sheets import make_plan, proof

PROFILES = built_in()
FEWEST = 12


def plan_of(profile: str = "nec-2023") -> Plan:
    return plan_for(load_profile(profile))


def sheet_of(plan: Plan) -> Sheet:
    return next(sheet for sheet in plan.sheets if sheet.name == "Proof")


def shown_texts(profile: str) -> str:
    return "\n".join(str(cell.content) for cell in sheet_of(plan_of(profile)).cells.values() if isinstance(cell.content, str))


# the examples


@pytest.mark.parametrize("profile", PROFILES)
def test_each_profile_recalculates_at_least_twelve_published_examples_from_many_sources(profile: str) -> None:
    published = [chain.example for chain in evaluation(profile).proof.chains if chain.example.published]
    assert len(published) >= FEWEST
    assert len({one.citation.source for one in published}) >= FEWEST


@pytest.mark.parametrize("profile", PROFILES)
def test_each_example_stands_on_the_sheet_with_its_source_and_its_published_figures(profile: str) -> None:
    text, sheet = shown_texts(profile), sheet_of(plan_of(profile))
    for chain in evaluation(profile).proof.chains:
        assert chain.example.title in text
        assert f"Source: {bibliography()[chain.example.citation.source].title}" in text
        for name, result in chain.results.items():
            row = plan_of(profile).names[chain.names[name]][1]
            assert sheet.cells[row, proof.PRINTED].content == float(result.printed)
            assert sheet.cells[row, proof.WITHIN].content == result.within


@pytest.mark.parametrize("profile", PROFILES)
def test_what_is_given_stands_in_a_cell_with_a_name_of_its_own(profile: str) -> None:
    plan = plan_of(profile)
    for chain in evaluation(profile).proof.chains:
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
    of, plan = evaluation(profile), plan_of(profile)
    formulas = {formula.key: formula.text for sheet, _, _, formula in plan.formulas() if sheet.name == "Proof"}
    for chain in of.proof.chains:
        names = names_of(plan, chain)
        for part in chain.parts:
            if part.given is None:
                calculation = of.calculations[part.name]
                declared = cell_formula(calculation, of.kinds, in_the_design)
                assert in_names(formulas[part.key], names) == in_names(declared, {}), part.key


def in_the_design(argument: Argument) -> str:
    """How a formula of the design calls a value: by its key, a figure that a row brings by the figure."""
    if isinstance(argument, Given):
        return f"{argument.value:g}" if not isinstance(argument.value, str) else f'"{argument.value}"'
    return argument if isinstance(argument, str) else argument.name


def names_of(plan: Plan, chain: Chain) -> dict[str, str]:
    """What stands for the design's name in the example's formulas: a name, or the place of a value between."""
    rows = {row: cell.content for (row, column), cell in sheet_of(plan).cells.items() if column == proof.NAME}
    first = plan.names[chain.parts[0].key][1]
    found = {part.key: part.name for part in chain.parts}
    return found | {address(row, proof.SHOWS): str(rows[row]) for row in range(first, first + len(chain.parts))}


def in_names(formula: str, names: dict[str, str]) -> list[str]:
    known = [names.get(piece.text, piece.text) for piece in xl.tokens(formula)]
    return ["(status)" if name.startswith("status_") or name == "proof_accepted" else name for name in known]


def changed(name: str, formula: str, function: Any) -> Evaluation:
    """The model with another formula and function for one quantity."""
    chapters = []
    for chapter in model().chapters:
        steps = tuple(
            replace(step, formula=formula, function=function) if isinstance(step, Quantity) and step.name == name else step
            for step in chapter.steps
        )
        quantities = tuple(step for step in steps if isinstance(step, Quantity))
        chapters.append(replace(chapter, steps=steps, quantities=quantities))
    return Evaluation(Model(tuple(chapters), model().profile))


def test_a_formula_that_is_changed_is_changed_in_the_proof_and_then_no_design_passes() -> None:
    def array_voc_cold(array_series: float, module_voc: float, voc_factor: float) -> float:
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
    values = evaluation().all_values(whole_example() | {"array_series": [1, 2, 60]})
    assert list(values["verdict"]) == [evaluation().all_values(whole_example(array_series=n))["verdict"] for n in (1, 2, 60)]


# the lines of functions and operators


@pytest.mark.parametrize("profile", PROFILES)
def test_every_function_and_operator_of_the_workbook_has_a_line(profile: str) -> None:
    """Add a missing line to proof_lines.py."""
    assert proof.used(evaluation(profile).calculations.values()) <= {line.about for line in LINES}
    assert {"ROUND", "MATCH", "SUMPRODUCT", "&", "<="} <= proof.used(evaluation(profile).calculations.values())


@pytest.mark.parametrize("line", LINES, ids=[f"{number} {line.about}" for number, line in enumerate(LINES, 1)])
def test_the_reference_meets_what_a_person_expects_of_the_function(line: Any) -> None:
    assert line.function(line.a, line.b) == pytest.approx(line.expected, abs=line.within)
    assert line.about in line.formula or not line.about.isalpha()


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
    proof_examples._read.cache_clear()  # each test writes another file to one place
    return make_proof(model(), path)


def worked(folder: Path, text: str) -> dict[str, Any]:
    """What the reference makes of a file of examples."""
    proof_of(folder, text)
    return Evaluation(model(), folder / "proof.toml").all_values({})


def test_an_example_of_a_file_is_worked(tmp_path: Path) -> None:
    values = worked(tmp_path, GOOD_FILE)
    assert (values["proof_x_array_voc"], values["proof_x_array_voc_agreement"]) == (40.0, AGREES)


def test_a_result_that_differs_says_so(tmp_path: Path) -> None:
    assert worked(tmp_path, GOOD_FILE.replace('"40"', '"41.0"'))["proof_x_array_voc_agreement"] == DIFFERS


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
        chain = next(chain for chain in evaluation(profile).proof.chains if chain.example.key == "e1")
        return next((part for part in chain.parts if part.name == "code_continuous_factor"), None)

    assert own("nec-2023") is None
    part = own("iec-62548")
    assert part is not None
    assert part.given == 1.25
