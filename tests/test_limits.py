"""A value against its limits: formula, function and margin of one declaration, each against what a person expects."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tests.formula_values import value_of
from tests.support import model
from workbook_builder.file.building import plan_for
from workbook_builder.language import xl
from workbook_builder.language.declare import Check, Part
from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.limits import Limit, Unless, margin, margin_formula
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.sources import common_practice
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS

HERE = common_practice("a rule of the tests")
LOW, HIGH = 10.0, 20.0
PLACES = (9.0, LOW, 15.0, HIGH, 21.0)  # below, on the lowest, between, on the highest, above
# what is declared, and at which of those places it passes
SIDES: dict[str, tuple[dict[str, Any], str]] = {
    "not below": ({"at_least": "low"}, "-++++"),
    "strictly above": ({"at_least": "low", "strictly_above": True}, "--+++"),
    "not above": ({"at_most": "high"}, "++++-"),
    "strictly below": ({"at_most": "high", "strictly_below": True}, "+++--"),
    "within": ({"at_least": "low", "at_most": "high"}, "-+++-"),
    "within, not on the lowest": ({"at_least": "low", "at_most": "high", "strictly_above": True}, "--++-"),
    "within, not on the highest": ({"at_least": "low", "at_most": "high", "strictly_below": True}, "-++--"),
    "strictly within": ({"at_least": "low", "at_most": "high", "strictly_above": True, "strictly_below": True}, "--+--"),
}
CASES = [(what, place, sign == "+") for what, (_, signs) in SIDES.items() for place, sign in zip(PLACES, signs, strict=True)]


def by_function(limit: Limit, **values: Any) -> Any:
    """The verdict of the made function, called as the model calls it: by position, only with what it asks for."""
    verdict = limit.function(*(values[name] for name in parameters(limit)))
    return verdict if np.ndim(verdict) else verdict.item()


def by_formula(limit: Limit, **values: Any) -> Any:
    """The verdict of the formula's text, worked without the function."""
    verdict = value_of(list(xl.tokens(limit.formula)), values.get)
    return verdict if np.ndim(verdict) else verdict.item()


def parameters(limit: Limit) -> list[str]:
    return check_of(limit).parameters


def check_of(limit: Limit) -> Check:
    sentences = {PASS: "Good.", NOTE: "Bad."} | {one.verdict: "Not so." for one in limit.unless}
    return judged(
        value=limit.value,
        at_least=limit.at_least,
        at_most=limit.at_most,
        strictly_above=limit.strictly_above,
        strictly_below=limit.strictly_below,
        unless=limit.unless,
        sentences=sentences,
    )


def judged(**said: Any) -> Check:
    """The check that a chapter makes of a declaration."""
    trial = Part("trial", "Trial", "A chapter of the tests.")
    usual: dict[str, Any] = {
        "name": "fits",
        "label": "Fits",
        "words": "Compared.",
        "source": HERE,
        "sentences": {PASS: "Good.", NOTE: "Bad."},
    }
    trial.limit(**(usual | said))
    return trial.checks[0]


BOTH = pytest.mark.parametrize("judge", [by_function, by_formula])


@BOTH
@pytest.mark.parametrize(("what", "place", "passes"), CASES)
def test_a_value_passes_on_the_declared_side_of_its_limits_only(judge: Callable[..., Any], what: str, place: float, passes: bool) -> None:
    limit = Limit("size", **SIDES[what][0])
    assert judge(limit, size=place, low=LOW, high=HIGH) == (PASS if passes else NOTE)


@BOTH
@pytest.mark.parametrize("off", [-4e-7, -1e-12, 0.0, 1e-12, 4e-7])
@pytest.mark.parametrize("what", list(SIDES))
def test_what_differs_after_the_sixth_digit_only_is_a_tie(judge: Callable[..., Any], what: str, off: float) -> None:
    declared, signs = SIDES[what]
    for place in (1, 3):
        verdict = judge(Limit("size", **declared), size=PLACES[place] + off, low=LOW, high=HIGH)
        assert verdict == (PASS if signs[place] == "+" else NOTE)


@BOTH
@pytest.mark.parametrize("strictly", [False, True])
def test_what_differs_in_the_sixth_digit_is_no_tie(judge: Callable[..., Any], strictly: bool) -> None:
    limit = Limit("size", "low", "high", strictly, strictly)
    assert [judge(limit, size=size, low=LOW, high=HIGH) for size in (LOW - 1e-6, LOW + 1e-6)] == [NOTE, PASS]
    assert [judge(limit, size=size, low=LOW, high=HIGH) for size in (HIGH - 1e-6, HIGH + 1e-6)] == [PASS, NOTE]


@pytest.mark.parametrize("what", list(SIDES))
def test_a_number_that_is_missing_never_passes(what: str) -> None:
    limit = Limit("size", **SIDES[what][0])
    there = {"size": 15.0, "low": LOW, "high": HIGH}
    assert by_function(limit, **there) == PASS
    for name in limit.compared:
        assert by_function(limit, **(there | {name: math.nan})) == NOTE


@BOTH
@pytest.mark.parametrize("what", list(SIDES))
def test_many_designs_are_judged_like_each_one_alone(judge: Callable[..., Any], what: str) -> None:
    limit = Limit("size", **SIDES[what][0])
    verdicts = judge(limit, size=np.array(PLACES), low=LOW, high=np.full(5, HIGH))
    assert list(verdicts) == [judge(limit, size=size, low=LOW, high=HIGH) for size in PLACES]


EXEMPT = tuple(Unless.of(*one) for one in (("kind", "free"), ("high", "", INCOMPLETE), ("kind", "tame", PASS)))


@BOTH
@pytest.mark.parametrize(
    ("size", "high", "kind", "verdict"),
    [
        (15.0, HIGH, "wild", PASS),
        (25.0, HIGH, "wild", NOTE),
        (25.0, HIGH, "tame", PASS),
        (25.0, HIGH, "free", NOT_APPLICABLE),
        (15.0, math.nan, "wild", INCOMPLETE),
        (15.0, math.nan, "tame", INCOMPLETE),
        (15.0, math.nan, "free", NOT_APPLICABLE),
    ],
)
def test_the_first_condition_that_holds_comes_before_the_limits(
    judge: Callable[..., Any], size: float, high: float, kind: str, verdict: str
) -> None:
    assert judge(Limit("size", at_most="high", unless=EXEMPT), size=size, high=high, kind=kind) == verdict


@BOTH
def test_conditions_hold_design_by_design(judge: Callable[..., Any]) -> None:
    limit = Limit("size", at_most="high", unless=EXEMPT)
    kinds = np.array(["free", "tame", "wild", "wild"], dtype=object)
    verdicts = judge(limit, size=np.full(4, 25.0), high=np.array([HIGH, HIGH, HIGH, math.nan]), kind=kinds)
    assert list(verdicts) == [NOT_APPLICABLE, PASS, NOTE, INCOMPLETE]


def test_conditions_of_one_verdict_in_a_row_stand_in_one_or() -> None:
    unless = tuple(Unless.of(*one) for one in (("kind", "free"), ("high", "", NOT_APPLICABLE), ("low", "", INCOMPLETE)))
    assert Limit("size", "low", "high", unless=unless).formula == (
        'IF(OR(kind="free",high=""),"N/A",IF(low="","INCOMPLETE",'
        'IF(AND(ROUND(size,6)>=ROUND(low,6),ROUND(size,6)<=ROUND(high,6)),"PASS","NOTE")))'
    )


def test_a_blank_is_not_judged_and_a_word_does_not_apply_unless_another_verdict_is_given() -> None:
    assert Unless.of("high", "").verdict == NOT_JUDGED
    assert Unless.of("kind", "free").verdict == NOT_APPLICABLE
    assert Unless.of("high", "", INCOMPLETE).verdict == INCOMPLETE
    assert Unless.of("kind", "free", NOT_JUDGED).verdict == NOT_JUDGED


def test_a_safety_check_fails_outside_its_limits_and_another_notes() -> None:
    said = {"value": "size", "at_most": "high"}
    safe = judged(safety=True, sentences={PASS: "Good.", FAIL: "Bad."}, **said)
    assert safe.function(25.0, HIGH) == FAIL
    assert judged(**said).function(25.0, HIGH) == NOTE


def test_a_check_keeps_what_it_was_declared_with() -> None:
    sentences = {PASS: "Good.", NOTE: "Bad.", NOT_APPLICABLE: "Not so.", NOT_JUDGED: "Not known."}
    unless = (("kind", "free"), ("high", ""))
    check = judged(value="size", at_least="low", at_most="high", unless=unless, sentences=sentences, asks=["high"], match=True)
    assert check.name == "check_fits"
    assert (check.value, check.at_least, check.at_most) == ("size", "low", "high")
    assert check.parameters == ["kind", "high", "size", "low"]
    assert check.optional == {"high"}
    assert (check.asks, check.match) == (("high",), True)
    assert check.limit == Limit("size", "low", "high", unless=(Unless.of("kind", "free"), Unless.of("high", "")))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"value": "size"}, "needs at_least or at_most"),
        ({"value": "", "at_most": "high"}, "needs a value"),
        ({"value": "size", "at_most": "high", "strictly_above": True}, "at_least is open"),
        ({"value": "size", "at_least": "low", "strictly_below": True}, "at_most is open"),
        ({"value": "size", "at_most": "high", "unless": (("kind", ""),)}, "may be blank, not kind"),
        ({"value": "size", "at_most": "high", "unless": (("high", ""),), "asks": ["high"]}, "no sentence for NOT JUDGED"),
        ({"value": "size", "at_most": "high", "unless": (("high", "", NOT_APPLICABLE),)}, "no sentence for N/A"),
        ({"value": "size", "at_most": "high", "safety": True}, "no sentence for FAIL"),
    ],
)
def test_a_limit_that_breaks_a_rule_says_what_is_wrong(said: dict[str, Any], words: str) -> None:
    with pytest.raises(DeclarationError, match=words):
        judged(**said)


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("check_cold_voltage", 'IF(ROUND(array_voc_cold,6)<ROUND(controller_v_max,6),"PASS","FAIL")'),
        (
            "check_coefficient",
            'IF(module_beta_voc="","N/A",IF(AND(ROUND(module_beta_voc,6)>=ROUND(beta_strongest,6),'
            'ROUND(module_beta_voc,6)<=ROUND(beta_weakest,6)),"PASS","NOTE"))',
        ),
        (
            "check_battery_size",
            'IF(loads_state="not run","NOT JUDGED",IF(battery_ah_needed="","INCOMPLETE",'
            'IF(ROUND(battery_load_ah,6)>=ROUND(battery_ah_needed,6),"PASS","NOTE")))',
        ),
    ],
)
def test_the_formula_of_a_real_check_is_what_an_auditor_would_write(name: str, formula: str) -> None:
    assert next(check.formula for check in model().checks if check.name == name) == formula


LIMITED = [check for check in model().checks if check.limit]


@pytest.mark.parametrize("check", LIMITED, ids=lambda check: check.name)
def test_a_check_made_from_limits_fits_into_a_cell_with_its_guard(check: Check) -> None:
    texts = {formula.key: formula.text for _, _, _, formula in plan_for(load_profile("nec-2023")).formulas()}
    assert len(texts[check.name]) <= xl.LONGEST


@pytest.mark.parametrize(
    ("limits", "distance"),
    [
        ({"at_least": LOW}, 6.0),
        ({"at_most": HIGH}, 4.0),
        ({"at_least": LOW, "at_most": HIGH}, 4.0),
        ({"at_least": 18.0, "at_most": HIGH}, -2.0),
        ({"at_least": LOW, "at_most": 15.5}, -0.5),
        ({"at_least": math.nan, "at_most": HIGH}, math.nan),
        ({"at_least": LOW, "at_most": math.nan}, math.nan),
        ({}, math.nan),
    ],
)
def test_the_margin_is_the_smaller_distance_to_the_limits(limits: dict[str, float], distance: float) -> None:
    assert margin(16.0, **limits) == pytest.approx(distance, nan_ok=True)
    assert margin(np.full(2, 16.0), **limits) == pytest.approx(distance, nan_ok=True)
    if limits and not math.isnan(distance):  # the guard of the cell waits for what is missing
        formula = margin_formula("size", *(name if name in limits else "" for name in ("at_least", "at_most")))
        worked = value_of(list(xl.tokens(formula)), {"size": 16.0, **limits}.get)
        assert (worked.item() if hasattr(worked, "item") else worked) == pytest.approx(distance)
