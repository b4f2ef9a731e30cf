"""A declaration that breaks a rule refuses to import, and says why."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.support import model
from workbook_builder.evaluation.model import Model
from workbook_builder.language.chapters import assembled
from workbook_builder.language.declare import Part
from workbook_builder.language.errors import DeclarationError, WorkbookBuilderError
from workbook_builder.language.inputs import OPTIONAL, above
from workbook_builder.language.sources import cite, cited, common_practice

HERE = common_practice("a rule of the tests")


def chapter() -> Part:
    return Part("trial", "Trial", "A chapter of the tests.")


def quantity(formula: str = "length*width", **changes: Any) -> Callable[[], None]:
    """Declare a quantity of length and width with something changed."""

    def declare() -> None:
        said: dict[str, Any] = {"unit": "V", "label": "Area", "words": "One times the other.", "formula": formula, "source": HERE}

        @chapter().quantity(**(said | changes))
        def area(length: float, width: float) -> float:
            return length * width

    return declare


def named(name: str) -> Callable[[], None]:
    def declare() -> None:
        def function(length: float, width: float) -> float:
            return length * width

        function.__name__ = name
        chapter().quantity(unit="V", label="Area", words="One times the other.", formula="length*width", source=HERE)(function)

    return declare


def check(formula: str, sentences: dict[str, str], **changes: Any) -> Callable[[], None]:
    def declare() -> None:
        said: dict[str, Any] = {"label": "Fits", "words": "Compared.", "formula": formula, "source": HERE, "sentences": sentences}

        @chapter().check(**(said | changes))
        def fits(length: float) -> str:
            return "PASS"

    return declare


def number(name: str = "size", unit: str = "V", low: float = 1, high: float = 2, label: str = "Size", **rest: Any) -> Any:
    return lambda: chapter().number(name, unit, low, high, label, **rest)


def choice(options: tuple[str | float, ...] = ("a", "b"), **rest: Any) -> Any:
    return lambda: chapter().choice("kind", options, "Kind", **rest)


JUDGED = 'IF(length=0,"PASS","NOTE")'
BROKEN: dict[str, tuple[Callable[[], Any], str]] = {
    "a name that is no parameter": (quantity("length*width*height"), "height"),
    "a parameter that the formula does not use": (quantity("length"), "width"),
    "the address of a cell": (quantity("length*width*B7"), "B7"),
    "a function that is not allowed": (quantity("OFFSET(length,width,1)"), "OFFSET"),
    "a naked constant": (quantity("length*width*25"), "number 25"),
    "a value that is waited for although it is used": (quantity(waits=("width",)), "waits for width, which the formula uses"),
    "an optional parameter that is none": (quantity(optional=("height",)), "height"),
    "an unknown unit of a quantity": (quantity(unit="furlong"), "furlong"),
    "a quantity without a label": (quantity(label=""), "no label"),
    "a quantity without words": (quantity(words=""), "no explanation"),
    "an open bracket": (quantity("(length*width"), "not closed"),
    "a minus before a power": (quantity("-length^2*width"), "minus before a power"),
    "a name that is an address of a cell (log10)": (named("log10"), "address of a cell"),
    "a name that is an address of a cell (day1)": (named("day1"), "address of a cell"),
    "a name that is a row": (named("r"), "row-and-column"),
    "a name that is a row and a column": (named("r1c1"), "row-and-column"),
    "a name that is a column": (named("c5"), "address of a cell"),
    "a name with a capital": (named("Area"), "small ASCII letters"),
    "a name in another alphabet": (named("größe"), "small ASCII letters"),
    "a reserved word": (number("true"), "reserved"),
    "an input with an unknown unit": (number(unit="stone"), "stone"),
    "an input without a label": (number(label=""), "no label"),
    "bounds the wrong way round": (number(low=2, high=1), "not below the highest"),
    "bounds that leave nothing": (number(low=2, high=2), "not below the highest"),
    "a default outside its range": (number(blank=3, blank_source=HERE), "out of its own range"),
    "a default without a source": (number(blank=1.5), "blank_source"),
    "a computed default without a source": (number(blank="=length"), "blank_source"),
    "a default that is no option": (choice(blank="c", blank_source=HERE), "not among the options"),
    "a choice's default without a source": (choice(blank="a"), "blank_source"),
    "an option with a comma": (choice(("a", "b,c")), "comma or a wildcard"),
    "an option with a wildcard": (choice(("a", "b*")), "comma or a wildcard"),
    "a constant with an unknown unit": (lambda: chapter().constant("k", 1, "cubit", "K", "K", HERE), "cubit"),
    "a constant without a label": (lambda: chapter().constant("k", 1, "V", "", "K", HERE), "no label"),
    "a text without a label": (lambda: chapter().text("note", ""), "no label"),
    "a source that is not in the bibliography": (lambda: cite("hearsay-1999"), "hearsay-1999"),
    "a mark that is none": (lambda: cite("nec-2023", "690.7", "certain"), "certain"),
    "a performance check that can fail": (
        check('IF(length=0,"PASS","FAIL")', {"PASS": "Good.", "FAIL": "Bad."}),
        "must not fail",
    ),
    "a verdict without a sentence": (check(JUDGED, {"PASS": "Good."}), "no sentence for NOTE"),
    "a sentence for a verdict that never comes": (
        check(JUDGED, {"PASS": "Good.", "NOTE": "Hm.", "FAIL": "Bad."}),
        "never gives",
    ),
    "a check with a naked constant": (check('IF(length>600,"PASS","NOTE")', {"PASS": "a", "NOTE": "b"}), "number 600"),
}


@pytest.mark.parametrize("what", list(BROKEN))
def test_a_broken_declaration_says_what_is_wrong(what: str) -> None:
    declare, words = BROKEN[what]
    with pytest.raises(DeclarationError) as caught:
        declare()
    assert words in str(caught.value)


def test_every_fault_of_a_declaration_is_told_at_once() -> None:
    with pytest.raises(DeclarationError) as caught:
        quantity("length*25*B7", unit="ell", label="", words="")()
    said = str(caught.value)
    assert all(words in said for words in ("number 25", "B7", "ell", "no label", "no explanation", "width"))
    assert all("area" in problem.place for problem in caught.value.problems)


def test_good_declarations_are_taken_and_functions_are_returned_untouched() -> None:
    trial = chapter()
    trial.number("length", "V", 0, 1, "Length", blank=OPTIONAL)
    trial.choice("kind", ("a", "b"), "Kind", blank="a", blank_source=HERE)

    def doubled(length: float) -> float:
        return 2 * length

    declare = trial.quantity(unit="V", label="Doubled", words="Twice.", formula="2*length", source=HERE)
    assert declare(doubled) is doubled
    assert [*(entry.name for entry in trial.inputs), *(one.name for one in trial.quantities)] == ["length", "kind", "doubled"]
    assert doubled(3) == 6


def modelled(*parts: Part) -> Model:
    return Model(assembled(parts), model().profile)


def circle(trial: Part) -> None:
    @trial.quantity(unit="V", label="Hen", words="From the egg.", formula="egg+1", source=HERE)
    def hen(egg: float) -> float:
        return egg + 1

    @trial.quantity(unit="V", label="Egg", words="From the hen.", formula="hen+1", source=HERE)
    def egg(hen: float) -> float:
        return hen + 1


def test_values_that_need_each_other_in_a_circle_are_refused() -> None:
    trial = chapter()
    circle(trial)
    with pytest.raises(DeclarationError, match=r"circle.*(hen.*egg|egg.*hen)"):
        modelled(trial)


def test_a_default_that_needs_its_own_input_is_a_circle_too() -> None:
    trial = chapter()
    trial.number("length", "V", 0, 1, "Length", blank="=doubled", blank_source=HERE)

    @trial.quantity(unit="V", label="Doubled", words="Twice.", formula="2*length", source=HERE)
    def doubled(length: float) -> float:
        return 2 * length

    with pytest.raises(DeclarationError, match="circle"):
        modelled(trial)


def test_a_name_declared_twice_is_refused_even_across_chapters() -> None:
    one, other = chapter(), Part("other", "Other", "Another chapter of the tests.")
    one.number("length", "V", 0, 1, "Length")
    other.number("length", "V", 0, 1, "Length")
    with pytest.raises(DeclarationError, match="chapter trial and chapter other: declare one name twice; got length"):
        modelled(one, other)


def test_a_name_that_a_profile_gives_already_is_refused() -> None:
    trial = chapter()
    trial.number("code_current_factor", "", 0, 1, "Factor")
    with pytest.raises(DeclarationError, match="chapter trial and profile nec-2023: declare one name twice; got code_current_factor"):
        modelled(trial)


def test_a_quantity_with_the_name_of_a_tables_column_is_refused() -> None:
    trial = chapter()
    trial.number("voltage_limit_limit", "V", 0, 1, "Limit")
    with pytest.raises(DeclarationError, match="declare one name twice; got voltage_limit_limit"):
        modelled(trial)


def test_a_chapter_that_was_assembled_takes_nothing_more() -> None:
    trial = chapter()
    assembled([trial])
    with pytest.raises(DeclarationError, match="declaration of length: comes after chapter trial was assembled"):
        trial.number("length", "V", 0, 1, "Length")


def test_a_chapter_begins_once_and_is_continued_only_after_it_began() -> None:
    with pytest.raises(DeclarationError, match="begins twice; got trial"):
        assembled([chapter(), chapter()])
    with pytest.raises(DeclarationError, match="is continued before it begins; got trial"):
        assembled([Part("trial", continues=True), chapter()])


def test_a_chapter_over_several_parts_keeps_their_order() -> None:
    first, second = chapter(), Part("trial", continues=True)
    first.number("length", "V", 0, 1, "Length")
    second.number("width", "V", 0, 1, "Width")
    (whole,) = assembled([first, second])
    assert (whole.title, [entry.name for entry in whole.inputs]) == ("Trial", ["length", "width"])


def test_what_is_needed_but_declared_nowhere_is_named() -> None:
    trial = chapter()
    trial.number("length", "V", 0, 1, "Length", relations=(above("nowhere", "what is not there"),))
    with pytest.raises(DeclarationError, match="declared nowhere; got nowhere"):
        modelled(trial)


def test_an_error_says_place_fault_and_what_was_found() -> None:
    with pytest.raises(WorkbookBuilderError) as caught:
        number(unit="stone")()
    assert "declaration of size" in str(caught.value)


def test_every_declaration_of_the_model_says_what_a_reader_needs() -> None:
    for node in (*model().quantities, *model().checks):
        assert node.label, node.name
        assert node.words.endswith("."), node.name
        assert str(cited(node.source)), node.name
    for entry in model().inputs:
        assert entry.where or entry.kind == "text", entry.name
        assert entry.blank_source or not entry.has_default, entry.name


def test_every_safety_check_can_fail_and_no_performance_check_can() -> None:
    for one in model().checks:
        assert ("FAIL" in one.sentences) == one.safety, one.name
