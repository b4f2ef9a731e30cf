"""The designer's checklist: every item of the reference list is dealt with, and points to something that exists."""

from __future__ import annotations

import pytest

from tests.support import model
from workbook_builder.sheets.checklist import JUDGED, Item, items


def test_no_item_of_the_design_is_dropped() -> None:
    assert [item.number for item in items()] == list(range(1, 62))


@pytest.mark.parametrize("item", items(), ids=lambda item: str(item.number))
def test_an_item_points_to_values_of_the_workbook(item: Item) -> None:
    assert [name for name in item.names if name not in model().nodes] == []


@pytest.mark.parametrize("item", items(), ids=lambda item: str(item.number))
def test_an_item_that_is_said_to_be_judged_has_a_check(item: Item) -> None:
    judged = [name for name in item.names if name.startswith("check_")]
    assert bool(judged) or item.here != JUDGED


@pytest.mark.parametrize("item", [item for item in items() if not item.names], ids=lambda item: str(item.number))
def test_an_item_without_a_value_says_that_it_is_not_judged(item: Item) -> None:
    assert item.here.startswith("not judged here")


def test_every_check_answers_an_item_of_the_list() -> None:
    listed = {name for item in items() for name in item.names}
    beyond = {"check_voltage_class", "check_can_charge", "check_input_protection", "check_mppt_power"}
    assert {check.name for check in model().checks} - listed == beyond
