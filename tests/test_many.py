"""Many designs in one call: each as by itself, in parts of any size; what is for the eye of one is worked when it is asked for."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.support import evaluation, example, whole_example
from workbook_builder import evaluate
from workbook_builder.evaluation import many
from workbook_builder.language.errors import DesignError

COLD = np.array([-30.0, -12.0, 5.0, np.nan])
STRINGS = np.array([[1.0], [3.0], [8.0]])
FOR_ONE = (
    "run_battery_smallest",
    "run_array_smallest",
    "string_cable_size",
    "best_arrangement",
    "best_reason",
    "arrangements_s2p3_verdict",
)
ASKED = ("verdict", "check_cold_voltage", "array_voc_cold", "array_pmp", "site_t_max", "status_site_t_min", *FOR_ONE)


def alike(one: Any, other: Any) -> bool:
    """Whether two values say the same: nothing is None, NaN or an empty text."""
    nothing = [value is None or value != value or value == "" for value in (one, other)]  # noqa: PLR0124
    return all(nothing) or (not any(nothing) and (one == other or one == pytest.approx(other)))


def each() -> dict[tuple[int, int], dict[str, Any]]:
    return {
        (row, column): evaluate(whole_example(site_t_min=float(cold), array_parallel=float(strings)), names=ASKED)
        for row, (strings,) in enumerate(STRINGS)
        for column, cold in enumerate(COLD)
    }


@pytest.mark.parametrize("at_once", [1, 5, 8000])
def test_many_designs_are_judged_as_each_by_itself_in_parts_of_any_size(at_once: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "AT_ONCE", at_once)
    together = evaluate(whole_example(site_t_min=COLD, array_parallel=STRINGS), names=ASKED)
    assert list(together) == list(ASKED)
    for place, alone in each().items():
        for name in ASKED:
            got = np.broadcast_to(np.asarray(together[name], dtype=object), (3, 4))[place]
            assert alike(got, alone[name]), (name, place, got, alone[name])


def test_what_is_for_the_eye_of_one_design_is_worked_for_many_when_it_is_asked_for() -> None:
    together = evaluate(whole_example(site_t_min=COLD))
    assert set(FOR_ONE).isdisjoint(together)
    assert list(together["best_arrangement"])[:3] == [evaluate(whole_example(site_t_min=cold))["best_arrangement"] for cold in COLD[:3]]
    assert set(np.ravel(together["run_battery_smallest"])) == {evaluate(whole_example())["run_battery_smallest"]}
    with pytest.raises(KeyError):
        together["no_such_value"]


def test_all_other_values_of_many_designs_are_there_at_once() -> None:
    together = evaluate(example(site_t_min=COLD))
    missing = set(evaluate(example())) - set(together)
    assert missing == set(evaluate(example())) & evaluation().for_one_at_a_time


def test_a_single_value_that_is_not_there_is_none_beside_arrays_too() -> None:
    assert evaluate(example(site_t_min=COLD, site_altitude=None))["site_altitude"] is None


def test_some_values_of_one_design_are_those_of_all() -> None:
    whole = evaluate(whole_example())
    assert evaluate(whole_example(), names=ASKED) == {name: whole[name] for name in ASKED}


@pytest.mark.parametrize("count", [0, 1])
def test_no_design_at_all_and_an_array_of_one_keep_their_shape(count: int) -> None:
    assert np.shape(evaluate(example(site_t_min=COLD[:count]), names=("array_voc_cold",))["array_voc_cold"]) == (count,)


def test_arrays_that_do_not_go_together_are_refused_with_their_shapes() -> None:
    with pytest.raises(DesignError, match=r"site_t_min \(4,\), array_series \(3,\)"):
        evaluate(example(site_t_min=COLD, array_series=np.array([1.0, 2.0, 3.0])))


def test_a_value_that_there_is_not_is_refused() -> None:
    with pytest.raises(DesignError, match="there is no such value; got array_vco"):
        evaluate(example(), names=("array_vco",))
