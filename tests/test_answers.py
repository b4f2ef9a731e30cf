"""Values worked out when a test asks for them are those of the whole evaluation, which is what is published."""

from __future__ import annotations

import numpy as np
import pytest

from tests.answers import Answers, behind, evaluate
from tests.engines import same
from tests.known import values_of_each
from tests.strategies import as_reference, designs, plausible
from tests.support import evaluation, example, whole_example
from workbook_builder import evaluate as published
from workbook_builder.language.errors import DesignError


@pytest.mark.parametrize("design", [whole_example(), example(), {}], ids=["whole", "without cables", "blank"])
def test_each_result_asked_for_alone_is_that_of_the_published_function(design: dict[str, object]) -> None:
    asked, results = evaluate(design), published(design)
    assert list(asked) == list(results)
    for name, value in results.items():
        assert same(asked[name], value), name


def test_results_of_arrays_asked_for_are_those_of_the_published_function() -> None:
    batch = plausible("nec-2023", 41, 30)
    asked, results = evaluate(batch), published(batch)
    for name, value in results.items():
        assert np.array_equal(np.asarray(asked[name]), np.asarray(value), equal_nan=np.asarray(value).dtype.kind == "f"), name


def test_both_refuse_a_name_that_is_no_input() -> None:
    for function in (evaluate, published):
        with pytest.raises(DesignError, match="no such input"):
            function({"module_vok": 20})


def test_what_a_value_rests_on_is_enough_to_evaluate_it_and_is_not_everything() -> None:
    whole = evaluation().all_values(example())
    for name in ("pwm_p_absorb", "check_cold_voltage"):
        assert Answers(evaluation(), example())[name] == whole[name]
    assert "check_energy" not in behind(evaluation(), "check_cold_voltage")


def test_an_entry_changed_later_gives_what_it_gives_from_the_start() -> None:
    before = Answers(evaluation(), whole_example())
    assert all(before[key] is not None for key in before)
    for changed in ({"site_t_min": -30.0}, {"battery_chemistry": None, "load1_w": "many"}):
        after, whole = before.with_other(changed), evaluation().all_values({**whole_example(), **changed})
        assert [key for key in after if not same(after[key], whole[key])] == []


@pytest.mark.parametrize("profile", ["nec-2023", "iec-62548"])
def test_many_designs_worked_together_have_the_values_of_each_alone(profile: str) -> None:
    drawn = [as_reference(case) for case in designs(profile, 61, 12)]
    for design, together in zip(drawn, values_of_each(drawn, profile), strict=True):
        alone = evaluation(profile).all_values(design)
        assert [key for key in alone if not same(together[key], alone[key], 1e-12)] == []
