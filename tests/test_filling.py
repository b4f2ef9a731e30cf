"""What only a profile knows is filled in when a model is made: figures in declared words, clauses as sources."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from tests.strategies import PROFILES
from tests.support import model
from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.evaluation.model import Model
from workbook_builder.language.chapters import assembled
from workbook_builder.language.declare import Check, Part, Quantity
from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.filling import shown
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import between
from workbook_builder.language.profiles import Profile, load_profile
from workbook_builder.language.sources import cite, cited, common_practice
from workbook_builder.language.wording import number_text
from workbook_builder.sheets import make_plan
from workbook_builder.system import CHAPTERS

HERE = common_practice("a rule of the tests")


def chapter(intro: str = "A chapter of the tests.") -> Part:
    return Part("trial", "Trial", intro)


def with_quantity(words: str = "As it is.", label: str = "Doubled", source: Any = HERE) -> Part:
    trial = chapter()
    trial.number("length", "V", 0, 1, "Length")

    @trial.quantity(unit="V", label=label, words=words, formula="2*length", source=source)
    def doubled(length: float) -> float:
        return 2 * length

    return trial


def with_check(good: str = "Good.", before: str = "At most ") -> Part:
    trial = with_quantity()
    trial.limit(
        name="fits",
        label="Fits",
        words="Compared.",
        value="length",
        at_most="doubled",
        source=HERE,
        advice=(before, "doubled", " of them."),
        sentences={"PASS": good, "NOTE": "Hm."},
    )
    return trial


def with_grid(words: str = "Row by row.", column: str = "twice", row: str = "first", source: Any = HERE) -> Part:
    trial = chapter()
    trial.number("length", "V", 0, 1, "Length")
    grid = trial.grid(Grid("steps", "Steps", words, source, (Row("one", row),), "Working"))

    @grid.column(words=column, unit="V", formula="2*length")
    def twice(length: float) -> float:
        return 2 * length

    return trial


def with_input(where: str = "data sheet", relation: str = "near it", source: Any = HERE) -> Part:
    trial = chapter()
    trial.number("length", "V", 0, 1, "Length")
    rest: dict[str, Any] = {"relations": (between("length", 0.5, 1.5, relation),), "where": where}
    trial.number("width", "V", 0, 1, "Width", blank=1, blank_source=source, **rest)
    return trial


def with_constant(label: str = "Kept", source: Any = HERE) -> Part:
    trial = chapter()
    trial.constant("share_kept", 0.75, "", label, "", source)
    return trial


def made(trial: Part, profile: str = "nec-2023") -> Model:
    return Model(assembled([trial]), load_profile(profile))


# ---- figures


@pytest.mark.parametrize(("profile", "figure"), [("nec-2023", "60 °C, 1.25 times"), ("iec-62548", "70 °C, 1 times")])
def test_words_show_the_figure_of_their_own_profile(profile: str, figure: str) -> None:
    trial = with_quantity("Up to {code_terminal_t:unit}, {code_continuous_factor} times.")
    (quantity,) = made(trial, profile).quantities
    assert quantity.words == f"Up to {figure}."
    assert trial.quantities[0].words == "Up to {code_terminal_t:unit}, {code_continuous_factor} times."  # as it was declared


def test_a_figure_is_shown_bare_with_its_unit_or_in_per_cent() -> None:
    assert [shown(0.75, "", wish) for wish in ("", "unit", "%")] == ["0.75", "0.75", "75 %"]
    assert [shown(-4.0, "°C", wish) for wish in ("", "unit")] == ["−4", "−4 °C"]


def test_a_relation_says_its_own_bounds() -> None:
    width = made(with_input(relation="{lowest} to {highest} times the length")).inputs[1]
    assert width.relations[0].words == "0.5 to 1.5 times the length"


def test_sentences_advice_labels_introductions_rows_columns_and_sources_are_filled_in() -> None:
    check = made(with_check(good="{code_terminal_t:unit}.", before="At {code_terminal_t} ")).checks[0]
    assert (check.sentences["PASS"], check.advice) == ("60 °C.", ("At 60 ", "doubled", " of them."))
    assert made(chapter(intro="Up to {code_terminal_t:unit}.")).chapter("trial").intro == "Up to 60 °C."
    assert made(with_constant("Kept, {share_kept:%}")).constants[0].label == "Kept, 75 %"
    (grid,) = made(with_grid("To {code_terminal_t}.", "by {code_terminal_t}", "at {code_terminal_t}")).grids
    assert (grid.words, grid.columns[0].step.words, grid.rows[0].label) == ("To 60.", "by 60", "at 60")
    assert str(made(with_constant(source=common_practice("{share_kept:%} of it"))).constants[0].source) == "common practice: 75 % of it"


UNKNOWN: dict[str, tuple[Callable[[], Part], str]] = {
    "words of a quantity": (lambda: with_quantity(words="{nothing} times."), "words of doubled: .*{nothing}"),
    "a label": (lambda: with_quantity(label="By {nothing}"), "label of doubled: .*{nothing}"),
    "a sentence": (lambda: with_check(good="{nothing}."), "sentence of check_fits for PASS: .*{nothing}"),
    "an advice": (lambda: with_check(before="At {nothing} "), "advice of check_fits: .*{nothing}"),
    "an introduction": (lambda: chapter("To {nothing}."), "introduction of chapter trial: .*{nothing}"),
    "a column": (lambda: with_grid(column="{nothing}"), "column twice of steps: .*{nothing}"),
    "where an entry is found": (lambda: with_input(where="{nothing}"), "where to find width: .*{nothing}"),
    "a relation": (lambda: with_input(relation="{low}"), "relation of width: .*{low}"),
    "a constant": (lambda: with_constant("{nothing}"), "label of share_kept: .*{nothing}"),
    "a source": (lambda: with_constant(source=common_practice("{nothing}")), "source of share_kept: .*{nothing}"),
    "a form that there is not": (lambda: with_quantity(words="{code_terminal_t:volts}."), "unknown form; got {code_terminal_t:volts}"),
    "a brace alone": (lambda: with_quantity(words="To {code_terminal_t."), "words of doubled: has a brace without its other"),
}


@pytest.mark.parametrize("what", list(UNKNOWN))
def test_a_figure_that_is_not_known_is_refused_with_place_and_name(what: str) -> None:
    declare, said = UNKNOWN[what]
    with pytest.raises(DeclarationError, match=said):
        made(declare())


def test_a_text_of_a_sheet_is_filled_in_by_the_same_rules() -> None:
    assert model("iec-62548").said("up to {code_terminal_t:unit}", "somewhere") == "up to 70 °C"
    with pytest.raises(DeclarationError, match=r"somewhere: .*{nothing}"):
        model().said("{nothing}", "somewhere")


def changed(profile: Profile, name: str, value: float) -> Profile:
    """The profile with one value of another size."""
    values = tuple(replace(one, value=value) if one.name == name else one for one in profile.values)
    return replace(profile, key="another", values=values)


def texts(profile: Profile) -> set[str]:
    """What stands in the cells of a workbook, but for published examples, which keep the figures of their sources."""
    plan = make_plan(Evaluation(Model(CHAPTERS, profile)))
    cells = [cell.content for sheet in plan.sheets if sheet.name != "Proof" for cell in sheet.cells.values()]
    return {content for content in cells if isinstance(content, str)}


@pytest.mark.parametrize(("name", "fewest"), [("code_battery_fuse", 9), ("code_current_factor", 3)])
def test_another_figure_in_a_profile_is_another_figure_in_every_text_of_the_workbook(name: str, fewest: int) -> None:
    profile = load_profile("iec-62548")
    new, old = texts(changed(profile, name, 1.4375)), texts(profile)
    appeared = {text for text in new - old if "1.4375" in text}
    assert len(appeared) >= fewest
    assert {text.replace("1.4375", "1.25") for text in appeared} <= old


def test_no_brace_is_left_in_a_workbook() -> None:
    assert not [text for text in texts(load_profile("nec-2023")) if re.search(r"[{}]", text)]


def words_of(declared: Any) -> Iterator[str]:
    """Every word of a declaration that a reader sees, as it is declared."""
    yield from (getattr(declared, name, "") for name in ("label", "words", "title", "where", "intro"))
    if isinstance(declared, Check):
        yield from declared.sentences.values()
        yield from declared.advice or ()


def figures_in(text: str) -> set[str]:
    return set(re.findall(r"(?<![\w.{])[−-]?\d+(?:\.\d+)?(?![\w.]*\d)", re.sub(r"\{[^{}]*\}", "", text)))


def figure_texts(value: float) -> set[str]:
    return {number_text(value).replace("-", "−")}


def test_no_declared_word_types_a_figure_that_a_profile_decides_for_it() -> None:
    """A fraction is looked for where the value is used, or used by what is used; a whole number only where itself is."""
    typed = []
    decided = {key: {value.name: value.value for value in load_profile(key).values} for key in PROFILES}
    nodes = [one for part in CHAPTERS for one in (*part.quantities, *part.checks)]
    for node in nodes:
        shown_here = set().union(*(figures_in(text) for text in words_of(node)))
        for key, values in decided.items():
            for name in model(key).rests_on(node.name) & set(values):
                value = values[name]
                if (value % 1 or (name in node.parameters and value > 1)) and figure_texts(value) & shown_here:
                    typed.append(f"{node.name} types {value}, which is {name} of {key}")
    assert not typed


def test_no_declared_word_types_a_constant_that_its_formula_uses() -> None:
    typed = []
    constants = {one.name: one for part in CHAPTERS for one in part.constants}
    for node in (one for part in CHAPTERS for one in (*part.quantities, *part.checks)):
        shown_here = set().union(*(figures_in(text) for text in words_of(node)))
        for name in set(node.parameters) & set(constants):
            if constants[name].value not in (0, 1, 2) and figure_texts(constants[name].value) & shown_here:
                typed.append(f"{node.name} types {constants[name].value}, which is {name}")
    assert not typed


# ---- clauses


SOURCES: dict[str, Callable[[Any], Part]] = {
    "a quantity": lambda source: with_quantity(source=source),
    "a constant": lambda source: with_constant(source=source),
    "a default": lambda source: with_input(source=source),
    "a grid": lambda source: with_grid(source=source),
}


@pytest.mark.parametrize("what", list(SOURCES))
@pytest.mark.parametrize(
    ("key", "place"), [("array_current", "690.8(A)(1)(a)"), ("code_terminal_t", "110.14(C)"), ("conductors", "table 8")]
)
def test_a_source_may_be_the_name_of_a_clause_value_or_table_of_the_profile(what: str, key: str, place: str) -> None:
    part = made(SOURCES[what](key), "nec-2020").chapter("trial")
    cited_by = {str(one.source) for one in part.quantities} | {str(one.source) for one in part.constants}
    (said,) = cited_by | {str(one.source) for one in part.grids} or {str(one.blank_source) for one in part.inputs if one.blank_source}
    assert said.startswith("NEC 2020, ")
    assert place in said


@pytest.mark.parametrize("what", list(SOURCES))
def test_a_clause_that_the_profile_has_not_is_refused_with_place_and_name(what: str) -> None:
    with pytest.raises(DeclarationError, match=r"source of .*no value, table or clause of the profile; got nowhere"):
        made(SOURCES[what]("nowhere"))


def test_a_source_that_is_still_a_name_is_no_citation() -> None:
    with pytest.raises(TypeError, match="cold_voltage"):
        cited(with_quantity(source="cold_voltage").quantities[0].source)
    assert cited(cite("si")) == cite("si")


def test_what_needs_no_filling_in_stays_the_declaration_that_it_was() -> None:
    trial = with_quantity()
    (quantity,) = made(trial).quantities
    assert isinstance(quantity, Quantity)
    assert quantity is trial.quantities[0]
