"""The small formula language: what may stand in a formula, how it is split, and the guard around it."""

from __future__ import annotations

from itertools import product

import pytest

from tests.engines.idioms import CASES
from tests.support import model
from workbook_builder.language import xl

ALLOWED = [
    "module_voc*array_series",
    "MAX(1,1+module_beta_voc/whole_percent*(site_t_min-t_stc))",
    'IF(voc_method="table",voc_factor_table,0)',
    "INDEX(t_col,MATCH(ROUND(x,9),t_key,1))",
    '"a ""quoted"" 25 A1 text"',
    "0-x^2",
    "ROUND(x,6)",
    "SUMPRODUCT((a=b)*1)",
    "-x",
    "(-x)+y",
    "MAX(-1,x)",
    'IF(x="",FALSE,x>0)',
    "IF(x,TRUE,FALSE)",
    "x^(1/2)",
    "4*x",
    "x-y^2",
    "2^x",
    "COS(x)",
    'INDEX(t,COUNTIF(t,"<"&ROUND(x,9))+1)',
]
REFUSED = [
    ("x*25", "number 25"),
    ("x+1.5", "number 1.5"),
    ("x*100", "number 100"),
    ("SUM(A1,x)", "cell address A1"),
    ("$B$7*x", "cell address $B$7"),
    ("XFD1+x", "cell address XFD1"),
    ("OFFSET(x,1,1)", "OFFSET is not on the allow-list"),
    ("INDIRECT(x)", "INDIRECT is not on the allow-list"),
    ("IFERROR(x,0)", "IFERROR is not on the allow-list"),
    ("NOW()", "NOW is not on the allow-list"),
    ("XLOOKUP(x,a,b)", "XLOOKUP is not on the allow-list"),
    ("LET(a,1,a)", "LET is not on the allow-list"),
    ("TEXT(x,y)", "TEXT is not on the allow-list"),
    ("MINIFS(a,b,c)", "MINIFS is not on the allow-list"),
    ("x;y", "stray character ';'"),
    ("{1}", "stray character '{'"),
    ("Sheet!x", "stray character"),
    ("x%", "stray character '%'"),
    ("@x", "stray character '@'"),
    ('IF(x,"a', "stray character"),
    ("(x", "a bracket is not closed"),
    ("x)", "a bracket closes that was never opened"),
    ("-x^2", "a minus before a power"),
    ("y+(-x^2)", "a minus before a power"),
    ("y*-x^2", "a minus before a power"),
    ("IF(x,1)", "IF has 2 arguments"),
    ("ROUND(x)", "ROUND has 1 arguments"),
    ("ABS(x,y)", "ABS has 2 arguments"),
    ("MATCH(x,y)", "MATCH has 2 arguments"),
    ("IF(x,MAX(1,2,3))", "IF has 2 arguments"),
    ('IF(x,"a,b")', "IF has 2 arguments"),
    ("IF(x,0*y,y)", "0*y; write what is meant: 0"),
    ("0/y", "0/y; write what is meant: 0"),
    ("2*2*y", "2*2; write what is meant: the number"),
    ("IF(x,1=0,y)", "1=0; write what is meant: TRUE or FALSE"),
]


@pytest.mark.parametrize("formula", ALLOWED)
def test_a_formula_of_allowed_pieces_has_no_fault(formula: str) -> None:
    assert xl.faults(formula) == []


@pytest.mark.parametrize(("formula", "words"), REFUSED)
def test_a_formula_is_refused_with_its_reason(formula: str, words: str) -> None:
    assert any(words in fault for fault in xl.faults(formula)), xl.faults(formula)


def test_all_faults_of_a_formula_are_told_at_once() -> None:
    assert len(xl.faults("A1*25+OFFSET(x)")) == 3


def test_an_empty_call_has_no_arguments() -> None:
    assert any("ABS" in fault for fault in xl.faults("ABS()"))


def test_a_text_is_one_token_whatever_stands_in_it() -> None:
    assert [piece.text for piece in xl.tokens('IF(a="x ""b"" ,(25",1,0)')] == [
        "IF",
        "(",
        "a",
        "=",
        '"x ""b"" ,(25"',
        ",",
        "1",
        ",",
        "0",
        ")",
    ]


def test_truth_values_are_tokens_of_their_own_kind() -> None:
    assert [(piece.kind, piece.text) for piece in xl.tokens("IF(a,TRUE,FALSE)") if piece.kind != "operator"] == [
        ("function", "IF"),
        ("name", "a"),
        ("truth", "TRUE"),
        ("truth", "FALSE"),
    ]
    assert [piece.kind for piece in xl.tokens('"TRUE"')] == ["text"]
    assert xl.names_in("IF(a,TRUE,FALSE)") == ["a"]


def test_names_in_a_text_are_no_names() -> None:
    assert xl.names_in('IF(a="b c",d,a)&"e"') == ["a", "d"]


def test_a_name_that_contains_another_is_not_replaced() -> None:
    assert xl.substitute('voc+voc_cold*"voc"+array_voc', {"voc": "x"}) == 'x+voc_cold*"voc"+array_voc'


def test_two_character_operators_are_one_token() -> None:
    assert [piece.text for piece in xl.tokens("a<=b>=c<>d<e")] == ["a", "<=", "b", ">=", "c", "<>", "d", "<", "e"]


def test_splitting_and_joining_loses_nothing_but_spaces() -> None:
    for quantity in (*model().quantities, *model().checks):
        joined = "".join(piece.text for piece in xl.tokens(quantity.formula))
        assert '"' in joined or joined == quantity.formula.replace(" ", ""), quantity.name


def test_a_formula_that_needs_nothing_stands_as_it_is() -> None:
    assert xl.guarded("1+1") == "1+1"


def test_the_guard_waits_for_each_number_each_text_and_each_status() -> None:
    assert xl.guarded("a", numbers=["a", "b"]) == 'IF(COUNT(a,b)<2,"",a)'
    assert xl.guarded("a", texts=["c"]) == 'IF(c="","",a)'
    assert xl.guarded("a", statuses=["s"]) == 'IF(AND(s<>"entered",s<>"default"),"",a)'
    assert xl.guarded("a", checks=["k"]) == 'IF(k="INCOMPLETE","",a)'
    assert xl.guarded("a", ["a"], ["c"], ["s"], otherwise='"INCOMPLETE"') == (
        'IF(OR(COUNT(a)<1,c="",AND(s<>"entered",s<>"default")),"INCOMPLETE",a)'
    )


def test_what_a_person_reads_has_the_usual_signs_and_the_same_names() -> None:
    assert xl.spoken('IF(a<=b,a*b/c-1,"x*y")') == 'IF(a ≤ b, a × b ÷ c − 1, "x*y")'
    assert xl.spoken("-2*a-MAX(-1,b)*-c") == "−2 × a − MAX(−1, b) × −c"


def test_every_allowed_function_has_a_contract_in_the_engines_tests() -> None:
    formulas = " ".join(formula for formula, _ in CASES.values())
    missing = {function for function in xl.FUNCTIONS if f"{function}(" not in formulas}
    assert not missing


@pytest.mark.parametrize(("sign", "side"), list(product("+-*/&=", "ab")))
def test_operators_stand_between_names(sign: str, side: str) -> None:
    assert xl.faults(f"{side}{sign}x") == []
