"""What is drawn rests on names alone, so that a new declaration leaves every drawn design as it was."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.strategies import PROFILES, changes_of, designs, designs_for, plausible, plausible_for
from tests.support import model
from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.evaluation.model import Model
from workbook_builder.language.chapters import assembled
from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, above

COUNT = 60


@cache
def grown(profile: str) -> Evaluation:
    """The model with inputs of every kind added, before all others, of which one is bound to an entry that was there."""
    added = Part("added", "Added", "A chapter of the tests.")
    added.number("added_width", "m", 0, 10, "Width")
    added.number("added_ceiling", "°C", -60, 90, "Ceiling", blank=OPTIONAL, relations=(above("site_t_min", "the lowest"),))
    added.choice("added_kind", ("one", "other"), "Kind")
    added.text("added_name", "Name", blank=OPTIONAL)
    return Evaluation(Model((*assembled([added]), *model(profile).chapters), model(profile).profile))


def others(entries: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in entries.items() if not name.startswith("added_")}


@pytest.mark.parametrize("profile", PROFILES[::2])
def test_an_added_input_changes_no_plausible_entry_of_another(profile: str) -> None:
    before, after = plausible(profile, 7, COUNT), plausible_for(grown(profile), 7, COUNT)
    assert set(after) - set(before) == {"added_width", "added_ceiling", "added_kind", "added_name"}
    for name, drawn in before.items():
        np.testing.assert_array_equal(after[name], drawn, err_msg=name)


@pytest.mark.parametrize("profile", PROFILES[::2])
def test_an_added_input_moves_no_drawn_design(profile: str) -> None:
    after = [others(case) for case in designs_for(grown(profile), 7, COUNT)]
    assert after == designs(profile, 7, COUNT)


def test_the_order_in_which_inputs_are_declared_moves_no_drawn_design() -> None:
    turned = Evaluation(Model(model().chapters[::-1], model().profile))
    assert designs_for(turned, 7, COUNT) == designs("nec-2023", 7, COUNT)


def test_each_profile_and_seed_has_draws_of_its_own() -> None:
    drawn = [plausible(profile, seed, COUNT)["module_voc"].tolist() for profile in PROFILES for seed in range(3)]
    assert all(one != other for place, one in enumerate(drawn) for other in drawn[:place])


def test_something_is_typed_anew_in_most_designs_and_in_few_so_much_that_one_fault_hides_another() -> None:
    for profile in PROFILES:
        assert sum(change.share for change in changes_of(model(profile))) == pytest.approx(1.25, abs=0.25)


def test_every_change_is_told_from_all_others() -> None:
    names = [change.name for change in changes_of(model())]
    assert len(names) == len(set(names))
