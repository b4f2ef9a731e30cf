"""The size of the battery: the largest of three tests times cold and margin; charge current; cold; laws."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import evaluate
from tests.strategies import plausible
from tests.support import evaluation, example
from tests.test_loads import empty_row

COUNT = 60
SETTINGS = settings(derandomize=True, deadline=None, database=None, max_examples=3)
CODES = ("nec-2023", "iec-62548")
SAFETY = ("PASS", "NOTE", "FAIL")
# IEEE 485 as remembered by several texts, °C and factor
COLD = (
    (25, 1.00),
    (21.1, 1.04),
    (20, 1.056),
    (18.3, 1.08),
    (15.6, 1.11),
    (12.8, 1.15),
    (10, 1.19),
    (7.2, 1.25),
    (4.4, 1.30),
    (1.7, 1.35),
    (-1.1, 1.43),
    (-3.9, 1.52),
)


def clipped(name: str, factor: float, low: float, high: float) -> Any:
    return lambda batch, amount: batch | {name: np.clip(batch[name] * (1 + (factor - 1) * amount), low, high)}


STRICTER = {
    "more days without sun": clipped("autonomy_days", 4, 0.5, 30),
    "less depth": clipped("battery_dod", 0.3, 10, 100),
    "less depth of a day": clipped("battery_dod_daily", 0.3, 5, 100),
    "less left at the end": clipped("battery_end_of_life", 0.6, 50, 100),
    "more margin": clipped("battery_margin", 5, 0, 100),
    "more growth": clipped("load_growth", 4, 0, 100),
    "longer hours": clipped("load1_hours", 3, 0.05, 24),
    "colder": lambda batch, amount: batch | {"battery_t_min": np.maximum(batch["battery_t_min"] - 30 * amount, -40)},
}


@cache
def judged(profile: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """A batch of designs with loads, and its values."""
    batch = with_loads(plausible(profile, 0, COUNT))
    return batch, evaluation(profile).all_values(batch)


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("change", STRICTER)
@SETTINGS
@given(amount=st.floats(1e-6, 1))
def test_what_is_harder_for_a_battery_never_lowers_the_capacity_needed(profile: str, change: str, amount: float) -> None:
    batch, before = judged(profile)
    after = evaluation(profile).all_values(STRICTER[change](batch, amount))
    needed = [values["battery_ah_needed"] for values in (before, after)]
    known = ~np.isnan(needed[0]) & ~np.isnan(needed[1])
    assert known.any()
    assert np.all(needed[1][known] >= needed[0][known] * (1 - 1e-12))
    rose = (before["check_battery_size"] == "NOTE") & (after["check_battery_size"] == "PASS")
    assert not rose.any()


def with_loads(batch: dict[str, Any]) -> dict[str, Any]:
    """The same designs with every drawn row of loads finished."""
    rows = {name: blank for row in range(2, 13) for name, blank in empty_row(row, COUNT).items()}
    return batch | rows | {"load1_w": np.linspace(1, 400, COUNT), "load1_hours": np.linspace(0.1, 24, COUNT)}


designs = st.fixed_dictionaries(
    {
        "load1_w": st.floats(1, 400),
        "load1_hours": st.floats(0.1, 24),
        "battery_dod": st.floats(10, 100),
        "battery_dod_daily": st.floats(5, 100),
        "battery_end_of_life": st.floats(50, 100),
        "battery_margin": st.floats(0, 100),
        "autonomy_days": st.floats(0.5, 30),
        "load_growth": st.floats(0, 100),
        "battery_t_min": st.sampled_from([t for t, _ in COLD]),
        "battery_chemistry": st.sampled_from(("flooded", "AGM", "gel")),
    }
)


@settings(SETTINGS, max_examples=15)
@given(design=designs)
def test_the_capacity_needed_is_the_largest_of_three_times_cold_and_margin(design: dict[str, Any]) -> None:
    values = evaluate(alone(**design, load1_supply="DC", inv_idle=0, controller_i_own=0))
    daily = design["load1_w"] * design["load1_hours"] * (1 + design["load_growth"] / 100) / 24
    stretch = daily * design["autonomy_days"]
    three = (stretch / design["battery_dod"], stretch / design["battery_end_of_life"], daily / design["battery_dod_daily"])
    wanted = 100 * max(three) * dict(COLD)[design["battery_t_min"]] * (1 + design["battery_margin"] / 100)
    assert values["battery_ah_needed"] == pytest.approx(wanted, rel=1e-12)


def alone(**changes: Any) -> dict[str, Any]:
    """The example with no row of loads but those given, at 24 V."""
    rows = {f"load{row}_{field}": None for row in range(1, 13) for field in ("name", "w", "count", "hours", "days", "supply", "surge")}
    return example(**rows | {"battery_nominal": 24} | changes)


@pytest.mark.parametrize(("cold", "factor"), COLD)
def test_a_temperature_between_two_rows_takes_the_colder(cold: float, factor: float) -> None:
    for above in (0.0, 0.2):
        assert evaluate(example(battery_t_min=cold + above, battery_t_max=45))["battery_cold_factor"] == factor


def test_colder_than_the_table_there_is_no_answer_and_no_pass() -> None:
    values = evaluate(example(battery_t_min=-21, battery_capacity=3500, battery_parallel=4))
    assert values["battery_ah_needed"] is None
    assert values["check_battery_size"] == "INCOMPLETE"


@settings(SETTINGS, max_examples=10)
@given(design=designs, unit=st.floats(40, 3500))
def test_so_many_strings_do_and_one_less_does_not(design: dict[str, Any], unit: float) -> None:
    one = alone(**design, battery_capacity=unit)
    count = evaluate(one)["battery_parallel_needed"]
    if count <= 20:
        assert evaluate(one | {"battery_parallel": count})["check_battery_size"] == "PASS"
    if 1 < count <= 21:
        assert evaluate(one | {"battery_parallel": count - 1})["check_battery_size"] == "NOTE"


def test_a_charge_limit_in_shares_of_the_capacity_is_the_same_in_amperes() -> None:
    share = evaluate(example(battery_capacity=270, battery_parallel=2, battery_i_max=0.2, battery_i_max_unit="C"))
    assert share["battery_i_max"] == pytest.approx(108)
    for limit, outcome in ((27.6, "PASS"), (27.59, "FAIL")):  # three strings of 9.2 A
        values = evaluate(example(battery_i_max=limit, module_isc=9.2, array_parallel=3))
        assert values["check_battery_current"] == outcome


def test_the_charge_current_is_never_above_what_the_controller_passes() -> None:
    for kind in ("PWM", "MPPT"):
        values = evaluate(example(controller_type=kind, controller_i_max=20, array_parallel=3))
        assert values["battery_charge_i"] == 20
    assert evaluate(example(array_parallel=3))["battery_charge_i"] == pytest.approx(27.6)


@pytest.mark.parametrize(
    ("cold", "block", "outcome"),
    [(0, "no", "PASS"), (-0.1, "no", "FAIL"), (-0.1, None, "FAIL"), (-20, "yes", "PASS"), (10, "no", "PASS")],
)
def test_lithium_is_not_charged_below_zero_unless_that_is_blocked(cold: float, block: str | None, outcome: str) -> None:
    values = evaluate(example(battery_chemistry="LiFePO4", battery_t_min=cold, battery_cold_block=block))
    assert values["check_cold_block"] == outcome


def test_lead_is_charged_below_zero() -> None:
    for chemistry in ("flooded", "AGM", "gel"):
        assert evaluate(example(battery_chemistry=chemistry, battery_t_min=-15))["check_cold_block"] == "PASS"


@pytest.mark.parametrize(("amperes", "outcome"), [(4.9, "NOTE"), (5.1, "PASS"), (12.9, "PASS"), (13.1, "NOTE")])
def test_a_flooded_battery_is_well_charged_between_5_and_13_per_cent(amperes: float, outcome: str) -> None:
    """The band of the charging notes, for 100 Ah."""
    design = example(
        battery_chemistry="flooded",
        battery_capacity=100,
        battery_parallel=1,
        module_isc=amperes,
        module_imp=amperes * 0.94,
        module_pmp=None,
        array_parallel=1,
    )
    assert evaluate(design)["check_charge_rate"] == outcome


def test_more_sun_on_the_battery_never_makes_its_charge_current_safe() -> None:
    for seed in range(1):
        batch = plausible("nec-2023", seed, COUNT)
        before = evaluation().all_values(batch)["check_battery_current"]
        after = evaluation().all_values(batch | {"array_parallel": batch["array_parallel"] + 1})["check_battery_current"]
        assert set(before) <= {*SAFETY, "INCOMPLETE"}
        assert not ((before == "FAIL") & (after == "PASS")).any()
        fewer = evaluation().all_values(batch | {"battery_capacity": batch["battery_capacity"] / 2, "battery_i_max": np.nan})
        whole = evaluation().all_values(batch | {"battery_i_max": np.nan})
        assert not ((whole["check_battery_current"] == "FAIL") & (fewer["check_battery_current"] == "PASS")).any()


def test_a_compensation_too_small_to_be_seen_is_none() -> None:
    assert evaluate(example(controller_tempcomp="yes", battery_tempco=-5e-324))["compensated"] is False
    assert evaluate(example(controller_tempcomp="yes", battery_tempco=-4))["compensated"] is True
