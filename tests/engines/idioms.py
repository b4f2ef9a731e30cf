"""The workbook of idioms: formulas as the builder may write them, with the values a person computes.

Written by hand, and so is each expected value: it is what a person computes who reads the formula as the
spreadsheet programs document it. `DENIED` lists what may not be used, with what each engine shows, so that
nobody takes it up again in good faith.
"""

from __future__ import annotations

from pathlib import Path

import xlsxwriter

from tests.engines.protocol import CellError, Entry, Formula

STALE = 4242
STALE_TEXT = "STALE"

NAMES = {
    "number_a": "Entries!$C$5",
    "number_b": "Entries!$C$6",
    "number_c": "Entries!$C$7",
    "text_t": "Entries!$C$8",
    "key_column": "Entries!$A$1:$A$12",
    "entry_column": "Entries!$C$1:$C$12",
    "step_keys": "Tables!$A$2:$A$5",
    "step_values": "Tables!$B$2:$B$5",
    "sizes": "Tables!$C$2:$C$5",
    "kinds": "Tables!$D$2:$D$5",
    "kind_values": "Tables!$E$2:$E$5",
    "verdicts": "Tables!$F$2:$F$5",
    "gaps": "Tables!$G$2:$G$5",
    "weights": "Tables!$H$2:$H$5",
}
TABLES: dict[str, list[str | float]] = {
    "A": [0, 10, 20, 30],
    "B": [1.0, 0.94, 0.88, 0.82],
    "C": [1, 1.5, 2.5, 4],
    "D": ["AGM|12", "AGM|24", "flooded|12", "flooded|24"],
    "E": [14.4, 28.8, 14.7, 29.4],
    "F": ['=IF(number_a>10,"FAIL","PASS")', "PASS", "FAIL", '=""'],
    "G": ['=IF(COUNT(number_a)<1,"",number_a)', 3, '=""', 7],
    "H": [1, 2, 3, 4],
}
ENTRY = "INDEX(entry_column,MATCH($A{row},key_column,0))"
ENTRY_BY_ROW = "INDEX(entry_column,ROW())"
MIRROR = '=IF(ISERROR({e}),"error",IF(ISLOGICAL({e}),"logical",IF({e}="","",{e})))'

NUMBER_MIRROR = '=IF(ISERROR({e}),"error",IF(ISLOGICAL({e}),"logical",IF(ISTEXT({e}),"text",IF({e}="","",{e}))))'
"""For entries that must be numbers: digits typed as text never get through to a COUNT."""

HELPERS = {
    "product": '=IF(COUNT(number_a,number_b)<2,"",number_a*number_b)',
    "flag": '=IF(COUNT(number_a)<1,"",number_a>10)',
    "other_flag": '=IF(COUNT(number_b)<1,"",NOT(number_b>10))',
    "nothing": '=""',
    "chart_cell": "=IF(COUNT(number_a)<1,NA(),number_a)",
}

Entries = dict[str, Entry]
A10: Entries = {"number_a": 10}

CASES: dict[str, tuple[str, list[tuple[Entries, object]]]] = {
    "a logical typed into an entry is told from a number": (
        '=IF(ISLOGICAL(INDEX(entry_column,5)),"logical",IF(INDEX(entry_column,5)="","",INDEX(entry_column,5)))',
        [({"number_a": True}, "logical"), ({"number_a": 1}, 1.0), ({}, ""), ({"number_a": "TRUE!"}, "TRUE!")],
    ),
    "sine, cosine and arc cosine of radians": (
        '=IF(COUNT(number_a)=0,"",ROUND(SIN(number_a)+2*COS(number_a)+3*ACOS(number_a),9))',
        [({"number_a": 0}, 6.71238898), ({"number_a": 1}, 1.922075597), ({"number_a": -0.5}, 7.558924892), ({}, "")],
    ),
    "guard of two numbers": (
        "=product",
        [
            ({"number_a": 6, "number_b": 7}, 42.0),
            ({"number_a": 6}, ""),
            ({}, ""),
            ({"number_a": 6, "number_b": 0}, 0.0),
            ({"number_a": 6, "number_b": "seven"}, ""),
            ({"number_a": 6, "number_b": " "}, ""),
        ],
    ),
    "guard of numbers and a text": (
        '=IF(OR(COUNT(number_a,number_b)<2,text_t=""),"",number_a&text_t)',
        [({"number_a": 6, "number_b": 7, "text_t": "x"}, "6x"), ({"number_a": 6, "number_b": 7}, ""), ({"number_a": 6, "text_t": "x"}, "")],
    ),
    "guard of a guarded quantity": (
        '=IF(COUNT(product,number_c)<2,"",product+number_c)',
        [({"number_a": 6, "number_b": 7, "number_c": 1}, 43.0), ({"number_a": 6, "number_c": 1}, ""), ({"number_a": 6, "number_b": 7}, "")],
    ),
    "optional factor": (
        '=IF(COUNT(number_a)<1,"",IF(number_c="",number_a,number_c*number_a))',
        [(A10, 10.0), ({"number_a": 10, "number_c": 0}, 0.0), ({"number_a": 10, "number_c": 0.5}, 5.0), ({}, "")],
    ),
    "guard of a flag": (
        '=IF(flag="","",IF(flag,"yes","no"))',
        [({"number_a": 11}, "yes"), (A10, "no"), ({}, "")],
    ),
    "guard of a flag and a number": (
        '=IF(OR(COUNT(number_b)<1,flag=""),"",IF(flag,number_b,0))',
        [({"number_a": 11, "number_b": 5}, 5.0), ({"number_a": 1, "number_b": 5}, 0.0), ({"number_b": 5}, ""), ({"number_a": 11}, "")],
    ),
    "flag as it stands": ("=flag", [({"number_a": 11}, True), (A10, False), ({}, "")]),
    "two flags": (
        '=IF(OR(flag="",other_flag=""),"",AND(flag,other_flag))',
        [({"number_a": 11, "number_b": 5}, True), ({"number_a": 11, "number_b": 15}, False), ({"number_a": 11}, "")],
    ),
    "truth values as they are written": (
        '=IF(COUNT(number_a)<1,"",IF(number_a>0,FALSE,TRUE))',
        [(A10, False), ({"number_a": -1}, True), ({}, "")],
    ),
    "a truth value or a comparison": (
        '=IF(text_t="",FALSE,AND(ROUND(number_a,6)>=ROUND(number_b,6),number_a>0))',
        [
            ({"number_a": 3, "number_b": 3, "text_t": "x"}, True),
            ({"number_a": 2, "number_b": 3, "text_t": "x"}, False),
            ({"number_a": 3, "number_b": 3}, False),
        ],
    ),
    "a written truth value that is asked": ("=IF(IF(number_a>0,FALSE,TRUE),1,2)", [(A10, 2.0), ({"number_a": -1}, 1.0)]),
    "nothing in front of a minus": (
        "=-number_a-2*number_b+MAX(-1,MIN(1,-number_b/number_a))",
        [({"number_a": 2, "number_b": 1}, -4.5), ({"number_a": -2, "number_b": 8}, -13.0), ({"number_a": 1, "number_b": 9}, -20.0)],
    ),
    "comparison with a flag inside a number": (
        "=IF(AND(number_a>1,number_b<5),1,0)+IF(OR(number_a>1,number_b<5),10,0)+IF(NOT(number_a>1),100,0)",
        [
            ({"number_a": 2, "number_b": 4}, 11.0),
            ({"number_a": 2, "number_b": 6}, 10.0),
            ({"number_a": 1, "number_b": 6}, 100.0),
            ({"number_a": 1, "number_b": 4}, 110.0),
        ],
    ),
    "step": (
        "=INDEX(step_values,MATCH(ROUND(number_a,9),step_keys,1))",
        [
            ({"number_a": 0}, 1.0),
            ({"number_a": 9.99}, 1.0),
            ({"number_a": 10}, 0.94),
            ({"number_a": 10 - 1e-11}, 0.94),
            ({"number_a": 10 + 1e-11}, 0.94),
            ({"number_a": 29.999}, 0.88),
            ({"number_a": 30}, 0.82),
            ({"number_a": 1e6}, 0.82),
            ({"number_a": -0.001}, CellError("#N/A")),
            ({"number_a": -1e-11}, 1.0),
        ],
    ),
    "step with its miss refused": (
        '=IF(ROUND(number_a,9)<MIN(step_keys),"",INDEX(step_values,MATCH(ROUND(number_a,9),step_keys,1)))',
        [({"number_a": -1}, ""), ({"number_a": 20}, 0.88)],
    ),
    "next size up": (
        '=IF(ROUND(number_a,9)>MAX(sizes),"",INDEX(sizes,COUNTIF(sizes,"<"&ROUND(number_a,9))+1))',
        [
            ({"number_a": 0}, 1.0),
            ({"number_a": 1}, 1.0),
            ({"number_a": 1 + 1e-11}, 1.0),
            ({"number_a": 1.00001}, 1.5),
            ({"number_a": 1.5}, 1.5),
            ({"number_a": 1.5 - 1e-11}, 1.5),
            ({"number_a": 2.4999}, 2.5),
            ({"number_a": 2.5}, 2.5),
            ({"number_a": 0.5 * 3}, 1.5),
            ({"number_a": 4}, 4.0),
            ({"number_a": 4.0001}, ""),
            ({"number_a": -5}, 1.0),
            ({"number_a": 3 * 0.5 + 1e-7}, 2.5),
        ],
    ),
    "exact text": (
        "=INDEX(kind_values,MATCH(text_t,kinds,0))",
        [({"text_t": "AGM|24"}, 28.8), ({"text_t": "agm|24"}, 28.8), ({"text_t": "AGM"}, CellError("#N/A"))],
    ),
    "two keys joined": (
        '=INDEX(kind_values,MATCH(text_t&"|"&ROUND(number_a,4),kinds,0))',
        [
            ({"text_t": "flooded", "number_a": 12}, 14.7),
            ({"text_t": "AGM", "number_a": 12 - 1e-9}, 14.4),
            ({"text_t": "AGM", "number_a": 24}, 28.8),
            ({"text_t": "AGM", "number_a": 48}, CellError("#N/A")),
        ],
    ),
    "known miss caught": (
        "=IFERROR(MATCH(text_t,kinds,0),0)",
        [({"text_t": "AGM|24"}, 2.0), ({"text_t": "gel|24"}, 0.0)],
    ),
    "limit at a tie": (
        "=ROUND(number_a,6)<=ROUND(number_b,6)",
        [
            ({"number_a": 0.1 * 3, "number_b": 0.3}, True),
            ({"number_a": 0.3, "number_b": 0.1 * 3}, True),
            ({"number_a": 0.300001, "number_b": 0.3}, False),
            ({"number_a": 0.3000001, "number_b": 0.3}, True),
            ({"number_a": 100, "number_b": 100}, True),
        ],
    ),
    "rounded up to whole": (
        "=ROUNDUP(ROUND(number_a,6),0)",
        [
            ({"number_a": 3.0000000000000004}, 3.0),
            ({"number_a": 0.3 / 0.1}, 3.0),
            ({"number_a": 3.00001}, 4.0),
            ({"number_a": 0}, 0.0),
            ({"number_a": 2.5}, 3.0),
        ],
    ),
    "rounded down to whole": (
        "=ROUNDDOWN(ROUND(number_a,6),0)",
        [({"number_a": 0.3 / 0.1}, 3.0), ({"number_a": 2.9999999}, 3.0), ({"number_a": 2.99999}, 2.0), ({"number_a": 0.7}, 0.0)],
    ),
    "text of a number with one decimal": (
        '="at most "&FIXED(ROUND(number_a,1),1,1)&" V"',
        [
            ({"number_a": 1234.56}, "at most 1234.6 V"),
            ({"number_a": 0.04}, "at most 0.0 V"),
            ({"number_a": 12}, "at most 12.0 V"),
            ({"number_a": -3.21}, "at most -3.2 V"),
            ({"number_a": 1.15}, "at most 1.2 V"),
            ({"number_a": 0.25}, "at most 0.3 V"),
            ({"number_a": -0.04}, "at most 0.0 V"),
        ],
    ),
    "text of a rounded number": (
        '=""&(ROUND(number_a,4)+0)&" V"',  # + 0 because a negative zero is written "-0" by one engine
        [
            ({"number_a": 12}, "12 V"),
            ({"number_a": 0.1 + 0.2}, "0.3 V"),
            ({"number_a": -0.3}, "-0.3 V"),
            ({"number_a": 1e-7}, "0 V"),
            ({"number_a": 46024}, "46024 V"),
            ({"number_a": 1234567.25}, "1234567.25 V"),
            ({"number_a": 0.00012}, "0.0001 V"),
            ({"number_a": 0.5}, "0.5 V"),
            ({"number_a": -0.00004}, "0 V"),
        ],
    ),
    "text of spaces only": (
        "=LEN(TRIM(text_t))",
        [({"text_t": "   "}, 0.0), ({"text_t": " ab "}, 2.0), ({}, 0.0), ({"text_t": "x"}, 1.0)],
    ),
    "text substituted": ('=SUBSTITUTE(text_t,"|"," ")', [({"text_t": "AGM|12"}, "AGM 12"), ({"text_t": "gel"}, "gel")]),
    "text compared without case": (
        '=IF(text_t="pwm",1,0)',
        [({"text_t": "PWM"}, 1.0), ({"text_t": "pwm"}, 1.0), ({"text_t": "mppt"}, 0.0), ({}, 0.0)],
    ),
    "verdict counted": ('=COUNTIF(verdicts,"FAIL")', [({"number_a": 11}, 2.0), ({"number_a": 1}, 1.0)]),
    "verdict counted by product": ('=SUMPRODUCT((verdicts="FAIL")*1)', [({"number_a": 11}, 2.0), ({"number_a": 1}, 1.0)]),
    "smallest of a range with empty text": ("=MIN(gaps)", [({}, 3.0), ({"number_a": 1}, 1.0)]),
    "largest of a range with empty text": ("=MAX(gaps)", [({}, 7.0), ({"number_a": 11}, 11.0)]),
    "sum of a range with empty text": ("=SUM(gaps)", [({}, 10.0), ({"number_a": 1.5}, 11.5)]),
    "count of a range with empty text": ("=COUNT(gaps)", [({}, 2.0), ({"number_a": 1}, 3.0)]),
    "blanks of a range with empty text": ("=COUNTBLANK(gaps)", [({}, 2.0), ({"number_a": 1}, 1.0)]),
    "blanks of entries": ("=COUNTBLANK(Entries!$C$5:$C$7)", [({}, 3.0), (A10, 2.0), ({"number_a": "x", "number_b": 0}, 1.0)]),
    "largest of single cells": ("=MAX(number_a,nothing,3)", [(A10, 10.0), ({"number_a": 1}, 3.0)]),
    "largest of two cells": ("=MAX(number_a,nothing)", [({"number_a": -4}, -4.0), (A10, 10.0)]),
    "smallest of two cells": ("=MIN(nothing,number_a)", [(A10, 10.0), ({"number_a": -4}, -4.0)]),
    "place of the largest": ("=INDEX(weights,MATCH(MAX(gaps),gaps,0))", [({}, 4.0), ({"number_a": 9}, 1.0)]),
    "sum of products": ("=SUMPRODUCT(step_values,weights)", [({}, 1.0 + 1.88 + 2.64 + 3.28)]),
    "sum of products with empty text": ("=SUMPRODUCT(gaps,weights)", [({}, 34.0), ({"number_a": 2}, 36.0)]),
    "choice by number": ('=CHOOSE(number_a,"one","two","three")', [({"number_a": 2}, "two"), ({"number_a": 3}, "three")]),
    "exponential": ("=EXP(number_a)", [({"number_a": 1}, 2.718281828459045), ({"number_a": -2}, 0.1353352832366127)]),
    "logarithm": ("=LN(number_a)", [(A10, 2.302585092994046)]),
    "square root": ("=SQRT(number_a)", [({"number_a": 2}, 1.4142135623730951)]),
    "absolute value": ("=ABS(number_a)", [({"number_a": -3}, 3.0)]),
    "power": ("=number_a^number_b", [({"number_a": 2.5, "number_b": 1.5}, 3.952847075210474)]),
    "chart cell": ("=chart_cell", [({}, CellError("#N/A")), ({"number_a": 4}, 4.0)]),
    "chart cell seen": ("=ISNUMBER(chart_cell)", [({}, False), ({"number_a": 4}, True)]),
    "errors by their text": (
        "=product/number_c",
        [
            ({"number_a": 6, "number_b": 7, "number_c": 0}, CellError("#DIV/0!")),
            ({"number_a": 6, "number_c": 2}, CellError("#VALUE!")),
            ({"number_a": 6, "number_b": 7, "number_c": Formula("=NA()")}, CellError("#N/A")),
            ({"number_a": 6, "number_b": 7, "number_c": 2}, 21.0),
        ],
    ),
    "four levels": (
        '=IF(number_a<1,"one",IF(number_a<2,"two",IF(number_a<3,"three",IF(number_a<4,"four","more"))))',
        [({"number_a": 0}, "one"), ({"number_a": 2.5}, "three"), ({"number_a": 3.5}, "four"), ({"number_a": 4}, "more")],
    ),
    "verdict as number": ('=IF(text_t="PASS",1,0)', [({"text_t": "PASS"}, 1.0), ({"text_t": "FAIL"}, 0.0), ({}, 0.0)]),
    "name in any case": ("=NUMBER_A*Number_B", [({"number_a": 6, "number_b": 7}, 42.0)]),
    "an entry in which nothing is typed is blank, one in which 0 or a space is typed is not": (
        '=IF(ISBLANK(INDEX(entry_column,5)),"blank","typed")',
        [({}, "blank"), ({"number_a": 0}, "typed"), ({"number_a": " "}, "typed"), ({"number_a": True}, "typed")],
    ),
    "is text": (
        "=ISTEXT(number_a)",
        [({}, False), ({"number_a": 0}, False), ({"number_a": "18"}, True), ({"number_a": " "}, True), ({"number_a": True}, False)],
    ),
    "count of what the number mirrors show": (
        "=COUNT(Entries!$G$5,Entries!$G$6)",
        [
            ({"number_a": "18", "number_b": 1}, 1.0),
            ({"number_a": True, "number_b": 1}, 1.0),
            ({"number_b": 1}, 1.0),
            ({"number_a": Formula("=1/0"), "number_b": 1}, 1.0),
            ({"number_a": 0, "number_b": 1}, 2.0),
        ],
    ),
    "flag as a number": ("=IF(flag,1,0)", [({"number_a": 11}, 1.0), (A10, 0.0)]),
    "conditional sum": ('=SUMIF(verdicts,"FAIL",weights)', [({"number_a": 11}, 4.0), ({"number_a": 1}, 3.0)]),
    "count above a limit": ('=COUNTIF(gaps,">2")', [({}, 2.0), ({"number_a": 5}, 3.0)]),
    "number of an empty text": ("=N(nothing)+N(number_a)", [({"number_a": 4}, 4.0), ({}, 0.0)]),
    "error asked for": ("=IF(ISERROR(chart_cell),1,0)+IF(ISNA(chart_cell),10,0)", [({}, 11.0), (A10, 0.0)]),
}

DENIED: dict[str, tuple[str, Entries, dict[str, object]]] = {
    "digits typed as text counted": ("=COUNT(number_a)", {"number_a": "18"}, {"libreoffice": 0, "formulas": 1, "ironcalc": 1}),
    "logical counted": ("=COUNT(number_a)", {"number_a": True}, {"libreoffice": 1, "formulas": 0, "ironcalc": 1}),
    "digits typed as text taken for a number": (
        "=IF(ISNUMBER(number_a),1,0)",
        {"number_a": "18"},
        {"libreoffice": 0, "formulas": 1, "ironcalc": 0},
    ),
    "logical taken for a number": ("=IF(ISNUMBER(flag),1,0)", A10, {"libreoffice": 1, "formulas": 0, "ironcalc": 0}),
    "sum of single cells with empty text": (
        "=SUM(number_a,nothing)",
        A10,
        {"libreoffice": 10, "formulas": 10, "ironcalc": CellError("#VALUE!")},
    ),
    "flag in a text": ('=flag&""', {"number_a": 11}, {"libreoffice": "1", "formulas": "TRUE", "ironcalc": "TRUE"}),
    "number in a text, not rounded": (
        '=""&number_a',
        {"number_a": 0.1 + 0.2},
        {"libreoffice": "0.3", "formulas": "0.30000000000000004", "ironcalc": "0.30000000000000004"},
    ),
    "small number in a text": (
        '=""&ROUND(number_a,6)',
        {"number_a": 1.2e-5},
        {"libreoffice": "0.000012", "formulas": "1.2e-05", "ironcalc": "0.000012"},
    ),
    "decimals fixed at a tie": ("=FIXED(number_a,1,1)", {"number_a": 1.15}, {"libreoffice": "1.2", "formulas": "1.1", "ironcalc": "1.2"}),
    "rounded to two places at a tie": ("=ROUND(number_a,2)", {"number_a": 1.005}, {"libreoffice": 1.01, "formulas": 1.0, "ironcalc": 1.01}),
    "spaces inside a text trimmed": ("=TRIM(text_t)", {"text_t": "a  b"}, {"libreoffice": "a b", "formulas": "a  b", "ironcalc": "a b"}),
    "all of a range compared": ('=IF(AND(verdicts="PASS"),1,0)', {}, {"libreoffice": CellError("#VALUE!"), "formulas": 0, "ironcalc": 0}),
}
"""Idioms not to be used, and what each engine shows for the entries."""

MIRRORED: list[tuple[str, Entry, object]] = [
    ("blank", None, ""),
    ("a number", 18.2, 18.2),
    ("zero", 0, 0.0),
    ("text", "abc", "abc"),
    ("a number with a comma", "18,2", "18,2"),
    ("a number as text", "18", "18"),
    ("a space", " ", " "),
    ("true", True, "logical"),
    ("false", False, "logical"),
    ("an error", Formula("=1/0"), "error"),
    ("a formula", Formula("=2+3"), 5.0),
    ("text like a formula", "=1+1", "=1+1"),
    ("text like an error", "#N/A", "#N/A"),
]

FORMULAS = {title: formula for title, (formula, _) in CASES.items()}
FORMULAS |= {title: formula for title, (formula, _, _) in DENIED.items()}
CELL_OF = {title: f"Calc!A{row}" for row, title in enumerate(FORMULAS, start=1)}


def write_workbook(path: Path) -> None:
    """The workbook of idioms; every formula's stored value is stale."""
    with xlsxwriter.Workbook(path) as book:
        entries, calc, tables = (book.add_worksheet(name) for name in ("Entries", "Calc", "Tables"))
        unlocked = book.add_format({"locked": False})
        two_decimals = book.add_format({"num_format": "0.00", "locked": False})
        for row, key in enumerate(("number_a", "number_b", "number_c", "text_t", "unnamed"), start=5):
            entries.write_string(f"A{row}", key)
            entries.write_blank(f"C{row}", None, two_decimals if key == "number_a" else unlocked)
            e = ENTRY.format(row=row)
            entries.write_formula(f"E{row}", MIRROR.format(e=e), None, STALE)
            entries.write_formula(f"F{row}", MIRROR.format(e=ENTRY_BY_ROW), None, STALE_TEXT)
            entries.write_formula(f"G{row}", NUMBER_MIRROR.format(e=e), None, STALE)
        entries.protect()
        for title, formula in FORMULAS.items():
            calc.write_formula(CELL_OF[title].split("!")[1], formula, None, STALE)
        for row, (name, formula) in enumerate(HELPERS.items(), start=1):
            calc.write_formula(f"C{row}", formula, None, STALE_TEXT)
            book.define_name(name, f"=Calc!$C${row}")
        for column, values in TABLES.items():
            for row, value in enumerate(values, start=2):
                if isinstance(value, str) and value.startswith("="):
                    tables.write_formula(f"{column}{row}", value, None, STALE)
                else:
                    tables.write(f"{column}{row}", value)
        for name, target in NAMES.items():
            book.define_name(name, f"={target}")
