"""A template is declared once; its instances bind the open names, and yield calculations of their own."""

from __future__ import annotations

from typing import Any

import pytest

from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.steps import Given, Kinds, Step, cell_formula
from workbook_builder.language.templates import Instance, Template, chained


def tank() -> Template:
    """Volume of a tank, and that of all tanks so far."""
    template = Template("tank")

    @template.step(words="Height times ground.", formula="height*ground")
    def volume(height: float, ground: float) -> float:
        return height * ground

    @template.step(words="With those before.", formula="previous_total+volume")
    def total(previous_total: float, volume: float) -> float:
        return previous_total + volume

    template.start(Step(name="total", words="The first.", formula="volume", function=lambda volume: volume))
    return template


def bound_of(instance: Instance, step: str) -> Any:
    return instance.calculation(step).bound


def test_a_name_means_what_is_bound_else_a_step_of_the_instance_else_a_value_of_the_model() -> None:
    one = Instance("roof", tank(), {"height": "roof_height"}, starts=True)
    assert bound_of(one, "volume") == {"height": "roof_height", "ground": "ground"}
    assert bound_of(one, "total") == {"volume": "roof_volume"}
    assert [calculation.key for calculation in one.calculations()] == ["roof_volume", "roof_total"]


def test_a_step_may_be_called_otherwise_and_is_then_called_so_by_the_others() -> None:
    one = Instance("roof", tank(), starts=True, names={"volume": "capacity"})
    assert [calculation.key for calculation in one.calculations()] == ["capacity", "roof_total"]
    assert bound_of(one, "total") == {"volume": "capacity"}


def test_previous_means_the_instance_before_in_a_chain() -> None:
    template = tank()
    first, second = chained([Instance("roof", template, starts=True), Instance("yard", template)])
    assert bound_of(first, "total") == {"volume": "roof_volume"}
    assert bound_of(second, "total") == {"previous_total": "roof_total", "volume": "yard_volume"}


def test_earlier_means_the_instance_before_that_one() -> None:
    template = Template("mean")

    @template.step(words="For this test.", formula="level")
    def height(level: float) -> float:
        return level

    @template.step(words="Of three.", formula="(earlier_height+previous_height+height)/3")
    def mean(earlier_height: float, previous_height: float, height: float) -> float:
        return (earlier_height + previous_height + height) / 3

    *_, third = chained([Instance(key, template, {"level": f"level_{key}"}) for key in ("a", "b", "c")])
    assert bound_of(third, "mean") == {"earlier_height": "a_height", "previous_height": "b_height", "height": "c_height"}


def test_an_instance_without_one_before_is_refused_by_name() -> None:
    with pytest.raises(DeclarationError, match="instance yard: has no instance before it; got previous_total"):
        Instance("yard", tank()).calculation("total")


def test_a_figure_that_is_given_is_said_by_the_formula_or_called_by_its_place() -> None:
    one = Instance("roof", tank(), {"height": Given(1.5)}, starts=True).calculation("volume")
    given = one.bound["height"]
    assert given == Given(1.5, "roof_height")
    kinds = Kinds({"ground": "number"}, {})
    placed = cell_formula(one, kinds, lambda argument: "B7" if argument == given else str(argument))
    assert placed == 'IF(COUNT(ground)<1,"",B7*ground)'


def test_only_the_steps_that_an_instance_has_are_worked() -> None:
    one = Instance("roof", tank(), starts=True, steps=frozenset({"volume"}))
    assert [calculation.key for calculation in one.calculations()] == ["roof_volume"]


BROKEN = {
    "a name that the function does not take": ("height*ground*depth", "formula uses depth"),
    "a parameter that the formula does not use": ("height", "function needs ground"),
    "the address of a cell": ("height*ground*B7", "cell address B7"),
    "a function that is not allowed": ("OFFSET(height,ground,1)", "function OFFSET is not on the allow-list"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_a_step_that_breaks_a_rule_is_refused_with_template_step_and_reason(what: str) -> None:
    formula, says = BROKEN[what]
    with pytest.raises(DeclarationError, match=f"template tank, step area: {says}"):
        tank().add(Step(name="area", words="For this test.", formula=formula, function=lambda height, ground: height * ground))


def test_a_step_that_needs_itself_or_stands_there_already_is_refused() -> None:
    with pytest.raises(DeclarationError, match="needs itself: grown"):
        tank().add(Step(name="grown", words="For this test.", formula="grown", function=lambda grown: grown))
    with pytest.raises(DeclarationError, match="step volume: is declared twice"):
        tank().add(Step(name="volume", words="For this test.", formula="height", function=lambda height: height))
    with pytest.raises(DeclarationError, match="step depth: replaces no step"):
        tank().start(Step(name="depth", words="For this test.", formula="height", function=lambda height: height))


def test_a_template_that_was_used_takes_no_further_step() -> None:
    template = tank()
    list(Instance("roof", template, starts=True).calculations())
    with pytest.raises(DeclarationError, match="step late: comes after the template was used"):
        template.add(Step(name="late", words="For this test.", formula="height", function=lambda height: height))
    with pytest.raises(DeclarationError, match="step volume: comes after the template was used"):
        template.start(Step(name="volume", words="For this test.", formula="height", function=lambda height: height))


def test_a_step_that_there_is_not_is_refused_by_name() -> None:
    with pytest.raises(DeclarationError, match="template tank: has no such step; got depth"):
        Instance("roof", tank()).calculation("depth")
