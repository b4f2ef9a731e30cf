"""How one typed entry is read: status, value used and echo, expected by a person."""

from __future__ import annotations

import datetime
import math
from typing import Any

import numpy as np
import pytest

from tests.answers import evaluate
from tests.engines import same
from tests.support import evaluation, example, model
from tests.test_fail_safe import REPRESENTATIVES
from workbook_builder.evaluation.entries import LARGEST, reading
from workbook_builder.evaluation.tasks import Task
from workbook_builder.language.inputs import OPTIONAL, Input, above, at_least, below, between
from workbook_builder.language.sources import common_practice
from workbook_builder.language.steps import Kinds
from workbook_builder.language.wording import number_text

NONE = object()
PLAIN = Input("size", "number", "Size", "V", 1, 10)
WHOLE = Input("size", "number", "Count", "", 1, 10, whole=True)
OPTIONAL_ONE = Input("size", "number", "Size", "V", 1, 10, blank=OPTIONAL)
DEFAULTED = Input("size", "number", "Size", "V", 1, 10, blank=2, blank_source=common_practice())
CHOICE = Input("size", "choice", "Kind", options=("warm", "cold"))
NUMBERS = Input("size", "choice", "Kind", "V", options=(12, 24))
MIXED = Input("size", "choice", "Kind", "V", options=(12, 24, "automatic"), blank=OPTIONAL)
TEXT = Input("size", "text", "Name")
FREE = Input("size", "text", "Name", blank=OPTIONAL)

READ: list[tuple[Input, Any, str, Any, str]] = [
    (PLAIN, 5, "entered", 5.0, "read as 5 V"),
    (PLAIN, 1, "entered", 1.0, "read as 1 V"),
    (PLAIN, 10, "entered", 10.0, "read as 10 V"),
    (PLAIN, 10 + 1e-10, "entered", 10 + 1e-10, "read as 10 V"),
    (PLAIN, 10 + 1e-6, "out of range", NONE, "not accepted"),
    (PLAIN, 1 - 1e-6, "out of range", NONE, "not accepted"),
    (PLAIN, 0, "out of range", NONE, "not accepted"),
    (PLAIN, -5, "out of range", NONE, "not accepted"),
    (PLAIN, math.inf, "out of range", NONE, "not accepted"),
    (PLAIN, 1e308, "out of range", NONE, "not accepted"),
    (PLAIN, None, "missing", NONE, "please fill this in"),
    (PLAIN, math.nan, "missing", NONE, "please fill this in"),
    (PLAIN, "5", "not a number", NONE, "not a number"),
    (PLAIN, "5,5", "not a number", NONE, "not a number"),
    (PLAIN, "5 V", "not a number", NONE, "not a number"),
    (PLAIN, " ", "not a number", NONE, "not a number"),
    (PLAIN, True, "not a number", NONE, "not a number"),
    (PLAIN, "#DIV/0!", "not a number", NONE, "not a number"),
    (PLAIN, datetime.date(2026, 1, 2), "not a number", NONE, "not a number"),
    (WHOLE, 3, "entered", 3.0, "read as 3"),
    (WHOLE, 3.5, "out of range", NONE, "not accepted"),
    (WHOLE, 3 + 1e-6, "out of range", NONE, "not accepted"),
    (OPTIONAL_ONE, None, "default", NONE, "blank, taken as not given"),
    (OPTIONAL_ONE, 11, "out of range", NONE, "not accepted"),
    (DEFAULTED, None, "default", 2.0, "blank, taken as 2 V"),
    (DEFAULTED, 3, "entered", 3.0, "read as 3 V"),
    (DEFAULTED, "x", "not a number", NONE, "not a number"),
    (CHOICE, "warm", "entered", "warm", "read as warm"),
    (CHOICE, "WARM", "entered", "warm", "read as warm"),
    (CHOICE, "warm ", "not in the list", NONE, "not in the list"),
    (CHOICE, "hot", "not in the list", NONE, "not in the list"),
    (CHOICE, "*", "not in the list", NONE, "not in the list"),
    (CHOICE, 1, "not in the list", NONE, "not in the list"),
    (CHOICE, None, "missing", NONE, "please fill this in"),
    (NUMBERS, 12, "entered", 12.0, "read as 12 V"),
    (NUMBERS, "12", "not in the list", NONE, "not in the list"),
    (NUMBERS, 13, "not in the list", NONE, "not in the list"),
    (MIXED, 24, "entered", 24.0, "read as 24 V"),
    (MIXED, "Automatic", "entered", "automatic", "read as automatic"),
    (MIXED, None, "default", NONE, "blank, taken as not given"),
    (TEXT, "Unit 5", "entered", "Unit 5", "read as Unit 5"),
    (TEXT, "=1+1", "entered", "=1+1", "read as =1+1"),
    (TEXT, "#5 north", "entered", "#5 north", "read as #5 north"),
    (TEXT, "#5!", "entered", "#5!", "read as #5!"),
    (TEXT, "   ", "missing", NONE, "please fill this in"),
    (TEXT, None, "missing", NONE, "please fill this in"),
    (TEXT, "#REF!", "not in the list", NONE, "not in the list"),
    (FREE, None, "default", NONE, "blank, taken as not given"),
]


def read(entry: Input, raw: Any, values: dict[str, Any] | None = None) -> dict[str, Any]:
    """The values of the line of an input, worked one after another as its template says."""
    found = {"entry_size": raw, LARGEST: 1e100} | (values or {})
    for calculation in reading(entry).calculations():
        task = Task.of(calculation, Kinds({}, {}), {})
        found[calculation.key] = task.run(found) if np.ndim(raw) else task.run_single(found)
    return found


@pytest.mark.parametrize(("entry", "raw", "status", "used", "echo"), READ)
def test_an_entry_is_read_as_a_person_expects(entry: Input, raw: Any, status: str, used: Any, echo: str) -> None:
    found = read(entry, raw)
    assert found["status_size"] == status
    if used is NONE:
        assert found["size"] == "" or math.isnan(found["size"])
    else:
        assert found["size"] == used
    assert found["echo_size"].startswith(echo)
    assert status not in {"entered", "default"} or found["echo_size"] == echo


@pytest.mark.parametrize(
    ("relation", "other", "accepted", "refused"),
    [
        (below("o", "o"), 5.0, (4.9, 5 - 1e-6), (5.0, 5.1, 5 - 1e-10)),
        (above("o", "o"), 5.0, (5.1, 5 + 1e-6), (5.0, 4.9, 5 + 1e-10)),
        (at_least("o", "o"), 5.0, (5.0, 5.1, 5 - 1e-10), (4.9, 5 - 1e-6)),
        (between("o", 0.5, 1.5, "half to one and a half"), 4.0, (2.0, 6.0, 4.0), (1.9, 6.1, 6 + 1e-6)),
    ],
)
def test_two_entries_that_contradict_each_other_are_not_accepted(
    relation: Any, other: float, accepted: tuple[float, ...], refused: tuple[float, ...]
) -> None:
    entry = Input("size", "number", "Size", "V", 1, 10, relations=(relation,))
    assert {read(entry, value, {"o": other})["status_size"] for value in accepted} == {"entered"}
    assert {read(entry, value, {"o": other})["status_size"] for value in refused} == {"out of range"}
    assert {read(entry, value, {"o": math.nan})["status_size"] for value in (*accepted, *refused)} == {"entered"}


def test_a_default_that_contradicts_another_entry_is_not_taken() -> None:
    entry = Input("size", "number", "Size", "V", 1, 10, blank=2, relations=(above("o", "o"),))
    assert read(entry, None, {"o": 1.0})["status_size"] == "default"
    found = read(entry, None, {"o": 3.0})
    assert found["status_size"] == "out of range"
    assert math.isnan(found["size"])


def test_a_computed_default_waits_for_what_it_is_computed_from() -> None:
    entry = Input("size", "number", "Size", "V", 1, 10, blank="=o")
    assert read(entry, None, {"o": math.nan})["status_size"] == "missing"
    assert read(entry, None, {"o": 4.0})["size"] == 4.0


def test_a_figure_in_another_unit_is_converted_before_its_bounds_are_looked_at() -> None:
    entry = Input("size", "number", "Size", "%/°C", -0.6, -0.1, blank=OPTIONAL, factor="f")
    assert read(entry, -0.07, {"f": 4.0})["size"] == pytest.approx(-0.28)
    assert read(entry, -0.07, {"f": 1.0})["status_size"] == "out of range"
    assert read(entry, -0.07, {"f": math.nan})["status_size"] == "missing"
    assert read(entry, "x", {"f": math.nan})["status_size"] == "not a number"
    beyond = read(entry, -1e308, {"f": 4.0})  # times the factor it is no number of a spreadsheet
    assert (beyond["candidate_size"], beyond["status_size"]) == (-4e100, "out of range")


def test_arrays_are_read_as_each_of_their_elements() -> None:
    raws = [5.0, 0.0, 10.0, math.nan]
    found = read(PLAIN, np.array(raws))
    assert list(found["status_size"]) == [read(PLAIN, raw)["status_size"] for raw in raws]
    texts = ["warm", "Cold", "hot", ""]
    found = read(CHOICE, np.array(texts, dtype=object))
    assert list(found["status_size"]) == [read(CHOICE, raw)["status_size"] for raw in texts]
    mixed = [12, "automatic", "", 13]
    found = read(MIXED, np.array(mixed, dtype=object))
    assert list(found["status_size"]) == [read(MIXED, raw)["status_size"] for raw in mixed]


@pytest.mark.parametrize("name", sorted(REPRESENTATIVES))
def test_an_array_of_any_input_gives_what_single_values_give(name: str) -> None:
    entry = next(entry for entry in model().inputs if entry.name == name)
    usual = example().get(name, "")
    raws = [usual, "", *(entry.options or ()), *((entry.low, entry.high, entry.high + 1) if entry.kind == "number" else ())]
    many = evaluate(example() | {name: np.array(raws, dtype=object)})
    keys = many.keys() - evaluation().for_one_at_a_time
    assert len(keys) > ENOUGH
    for place, raw in enumerate(raws):
        one = evaluate(example() | {name: raw})
        wrong = [key for key in keys if not alike(many[key][place] if np.ndim(many[key]) else many[key], one[key])]
        assert not wrong, raw


ENOUGH = 500  # values to compare


def alike(element: Any, single: Any) -> bool:
    """Whether an element of an array is the single value; its truth values are 1 or 0, so that NaN can stand for nothing."""
    element = bool(element) if isinstance(element, np.bool_) else element
    return same(element, float(single) if isinstance(single, bool) and not isinstance(element, bool) else single)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (12.0, "12"),
        (12.5, "12.5"),
        (-0.32, "-0.32"),
        (0.0, "0"),
        (-0.0, "0"),
        (1e9, "1000000000"),
        ("PWM", "PWM"),
        (0.1 + 0.2, "0.3"),
        (1 / 3, "0.3333"),
        (-1e-9, "0"),
    ],
)
def test_a_number_is_written_as_a_spreadsheet_joins_it_to_a_text(value: float | str, text: str) -> None:
    assert number_text(value) == text
