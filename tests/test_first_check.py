"""The first of several checks that has a verdict: formula and function of the chain, and what comes before and after it."""

from __future__ import annotations

import numpy as np

from workbook_builder.language.first_check import FirstCheck

CHECKS = {"check_one": "the one", "check_other": "the other"}
ALONE = FirstCheck("FAIL", CHECKS)
WITHIN = FirstCheck("FAIL", CHECKS, before="early", after="late")


def said(first: FirstCheck, *values: str) -> str:
    return str(first.function("said")(*values))


def test_the_first_check_of_the_verdict_is_named_and_nothing_where_there_is_none() -> None:
    assert ALONE.formula == 'IF(check_one="FAIL","the one",IF(check_other="FAIL","the other","nothing"))'
    assert said(ALONE, "FAIL", "FAIL") == "the one"
    assert said(ALONE, "NOTE", "FAIL") == "the other"
    assert said(ALONE, "PASS", "NOT JUDGED") == "nothing"


def test_what_is_said_before_comes_first_and_what_is_said_after_last() -> None:
    chain = 'IF(check_one="FAIL","the one",IF(check_other="FAIL","the other",late))'
    assert WITHIN.formula == f'IF(early<>"nothing",early,{chain})'
    assert said(WITHIN, "a setting", "FAIL", "FAIL", "a duty") == "a setting"
    assert said(WITHIN, "nothing", "PASS", "FAIL", "a duty") == "the other"
    assert said(WITHIN, "nothing", "PASS", "PASS", "a duty") == "a duty"


def test_many_designs_are_told_apart_in_one_call() -> None:
    found = ALONE.function("said")(np.array(["PASS", "FAIL", "PASS"]), np.array(["FAIL", "FAIL", "PASS"]))
    assert list(found) == ["the other", "the one", "nothing"]
