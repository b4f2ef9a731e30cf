"""The table of loads: sums as added up by hand, unfinished rows, and laws."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import evaluate
from tests.strategies import PROFILES, plausible
from tests.support import cables, evaluation, example, whole_example

ROWS = range(1, 13)
COUNT = 60
SETTINGS = settings(derandomize=True, deadline=None, database=None, max_examples=12)
CODES = ("nec-2023", "iec-60364-7-712")
FIELDS = ("name", "w", "count", "hours", "days", "supply", "surge")
NO_LOADS = {f"load{row}_{field}": None for row in ROWS for field in FIELDS}
DISCHARGE = (
    "check_inverter_power",
    "check_inverter_surge",
    "check_discharge_current",
    "check_discharge_surge",
    "check_inverter_bank",
    "check_inverter_low",
    "check_load_output_surge",
    "check_load_fuses",
    "check_inverter_fuse",
    "check_load_watts",
)
TOTALS = (
    "load_wh_day",
    "load_wh_design",
    "load_ah_design",
    "load_w_peak",
    "load_i_peak",
    "load_w_surge",
    "load_i_surge",
    "battery_ah_needed",
)


def bare(**changes: Any) -> dict[str, Any]:
    """The example without loads, then with these."""
    return example(**NO_LOADS | changes)


def falls(before: Any, after: Any) -> Any:
    """Where a value that was known is lower, by more than the last digits of a double."""
    both = ~np.isnan(before) & ~np.isnan(after)
    return both & (after < before * (1 - 1e-12) - 1e-12)


loads = st.fixed_dictionaries(
    {"w": st.floats(0.5, 2900), "hours": st.floats(0.05, 24)},
    optional={
        "count": st.integers(1, 200),
        "days": st.floats(1, 7),
        "supply": st.sampled_from(("AC", "DC")),
        "surge": st.floats(1, 10),
    },
)


@SETTINGS
@given(
    table=st.dictionaries(st.sampled_from(ROWS), loads, min_size=1),
    efficiency=st.floats(50, 100),
    idle=st.floats(0, 100),
    on=st.floats(0, 24),
    own=st.floats(0, 2),
    growth=st.floats(0, 100),
    share=st.floats(10, 100),
)
def test_sums_are_those_added_up_by_hand(
    table: dict[int, dict[str, Any]], efficiency: float, idle: float, on: float, own: float, growth: float, share: float
) -> None:
    typed = {f"load{row}_{field}": value for row, load in table.items() for field, value in load.items()}
    inverter = {"inv_efficiency": efficiency, "inv_idle": idle, "inv_hours": on, "load_growth": growth}
    values = evaluate(bare(**typed, **inverter, battery_nominal=24, controller_i_own=own, load_diversity=share))
    full: list[dict[str, Any]] = [{"count": 1, "days": 7, "supply": "AC", "surge": 1} | load for load in table.values()]
    watts = [load["w"] * load["count"] for load in full]
    drawn = [w / (efficiency / 100 if load["supply"] == "AC" else 1) for w, load in zip(watts, full, strict=True)]
    day = sum(w * load["hours"] * load["days"] / 7 for w, load in zip(drawn, full, strict=True)) + on * idle + own * 24 * 24
    assert values["loads_state"] == "run"
    assert values["load_wh_day"] == pytest.approx(day, rel=1e-12)
    assert values["load_wh_design"] == pytest.approx(day * (1 + growth / 100), rel=1e-12)
    assert values["load_ah_design"] == pytest.approx(day * (1 + growth / 100) / 24, rel=1e-12)
    runs, starts = {}, {}
    for supply in ("AC", "DC"):
        mine = [(w, load) for w, load in zip(watts, full, strict=True) if load["supply"] == supply]
        runs[supply] = max([share / 100 * sum(w for w, _ in mine), *(load["w"] for _, load in mine)])
        motor = max([0, *(load["w"] * (load["surge"] - 1) for _, load in mine)])
        starts[supply] = max(share / 100 * sum(w * load["surge"] for w, load in mine), runs[supply] + motor)
    assert values["inverter_w_least"] == pytest.approx(runs["AC"], rel=1e-12)
    assert values["load_w_dc"] == pytest.approx(runs["DC"], rel=1e-9, abs=1e-9)
    assert values["load_w_surge"] == pytest.approx(starts["AC"] + starts["DC"], rel=1e-9)
    peak = runs["AC"] / (efficiency / 100) + runs["DC"] + idle
    assert values["load_w_peak"] == pytest.approx(peak, rel=1e-9)
    assert values["load_i_peak"] == pytest.approx(peak / values["battery_v_low"], rel=1e-9)
    surge = starts["AC"] / (efficiency / 100) + starts["DC"] + idle
    assert values["load_i_surge"] == pytest.approx(surge / values["battery_v_low"], rel=1e-9)


@pytest.mark.parametrize("row", ROWS)
@pytest.mark.parametrize("missing", ["hours", "w"])
def test_a_row_with_half_of_its_numbers_is_unfinished(row: int, missing: str) -> None:
    half = {f"load{row}_w": 30, f"load{row}_hours": 4} | {f"load{row}_{missing}": None}
    values = evaluate(whole_example(**{f"load{row}_{field}": None for field in FIELDS} | half))
    assert values["loads_state"] == "unfinished"
    assert values["load_wh_day"] is None
    assert values["check_battery_size"] == values["check_energy"] == "INCOMPLETE"
    assert values["verdict"] in ("INCOMPLETE", "FAIL")


@pytest.mark.parametrize(
    ("field", "junk"),
    [("w", 3000), ("w", "60 W"), ("hours", 25), ("hours", 0), ("count", 1.5), ("supply", "both"), ("days", 8)],
)
def test_a_row_with_a_refused_entry_is_not_left_out_of_the_sum(field: str, junk: Any) -> None:
    values = evaluate(example(**{f"load2_{field}": junk}))
    assert values["load_wh_day"] is None
    assert values["check_battery_size"] == values["check_energy"] == "INCOMPLETE"


@pytest.mark.parametrize("typed", [{"name": "Pump"}, {"count": 2}, {"surge": 4}, {"name": "Pump", "count": 2, "supply": "DC", "days": 5}])
def test_a_row_that_is_begun_without_its_numbers_is_not_taken_as_empty(typed: dict[str, Any]) -> None:
    """Its appliance would be left out of the battery's size without a word."""
    values = evaluate(example(**{f"load6_{field}": value for field, value in typed.items()}))
    assert values["loads_state"] == "unfinished"
    assert values["check_battery_size"] == values["check_energy"] == "INCOMPLETE"


def test_without_loads_what_rests_on_them_is_not_judged_and_blocks_no_verdict() -> None:
    for profile in PROFILES:
        array_and_battery = {name: value for name, value in cables(profile).items() if not re.match("run_(load|inverter)_", name)}
        values = evaluate(bare(**array_and_battery), profile)
        assert (values["loads_state"], values["energy_state"]) == ("not run", "not run")
        assert values["load_wh_day"] is None
        assert values["check_battery_size"] == values["check_energy"] == "NOT JUDGED"
        for check in DISCHARGE:
            assert values[check] == "N/A"
        assert values["verdict_match"] == "PASS"


def test_the_days_of_a_week_spread_the_energy_but_not_the_peak() -> None:
    week = evaluate(bare(load1_w=70, load1_hours=4, load1_days=7))
    one = evaluate(bare(load1_w=70, load1_hours=4, load1_days=1))
    own = 24 * (example()["inv_idle"] + 24 * example()["controller_i_own"])
    assert one["load_wh_day"] - own == pytest.approx((week["load_wh_day"] - own) / 7)
    assert one["load_w_peak"] == week["load_w_peak"]


def grown(name: str, farthest: float, most: float) -> Any:
    return lambda batch, amount: batch | {name: np.fmin(batch[name] * (1 + farthest * amount), most + 0 * batch[name])}


MORE = {
    "power": grown("load1_w", 3, 2900),
    "hours": grown("load2_hours", 3, 24),
    "days": grown("load3_days", 3, 7),
    "growth": grown("load_growth", 3, 100),
    "idle": grown("inv_idle", 3, 200),
    "longer on": grown("inv_hours", 3, 24),
    "own use": grown("controller_i_own", 3, 2),
    "more at the same time": grown("load_diversity", 3, 100),
    "count": lambda batch, amount: batch | {"load4_count": np.minimum(batch["load4_count"] + math.ceil(5 * amount), 200)},
    "less efficient": lambda batch, amount: batch | {"inv_efficiency": np.maximum(batch["inv_efficiency"] * (1 - 0.4 * amount), 50)},
    "surge": grown("load2_surge", 3, 10),
    "a further row": lambda batch, amount: (
        batch
        | {
            f"load12_{field}": np.where(np.isnan(batch["load12_w"]) & np.isnan(batch["load12_hours"]), value, batch[f"load12_{field}"])
            for field, value in (("w", 2800 * amount + 0.5), ("hours", 3.0))
        }
    ),
}


def empty_row(row: int, count: int) -> dict[str, Any]:
    """A row of the loads in which nothing is typed, for so many designs."""
    blanks: dict[str, Any] = {f"load{row}_{field}": np.full(count, np.nan) for field in ("w", "count", "hours", "days", "surge")}
    return blanks | {f"load{row}_{field}": np.full(count, "", dtype=object) for field in ("name", "supply")}


@cache
def judged(profile: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """A batch of designs in which four rows are finished and the others empty, and its values."""
    batch = plausible(profile, 0, COUNT)
    for row in range(1, 13):
        for field, usual in (("w", 40.0), ("hours", 3.0)):
            drawn = batch[f"load{row}_{field}"]
            batch[f"load{row}_{field}"] = np.where(np.isnan(drawn), usual, drawn) if row <= 4 else np.full(COUNT, np.nan)
        batch |= empty_row(row, COUNT) if row > 4 else {}
    return batch, evaluation(profile).all_values(batch)


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("change", MORE)
@settings(SETTINGS, max_examples=3)
@given(amount=st.floats(1e-6, 1))
def test_more_of_a_load_never_lowers_a_total(profile: str, change: str, amount: float) -> None:
    batch, before = judged(profile)
    after = evaluation(profile).all_values(MORE[change](batch, amount))
    lower = [name for name in TOTALS if np.any(falls(before[name], after[name]))]
    assert not lower


def test_the_laws_are_tried_on_designs_with_loads() -> None:
    for profile in CODES:
        assert np.mean(judged(profile)[1]["load_wh_day"] > 0) > 0.9
        assert np.mean(judged(profile)[1]["battery_ah_needed"] > 0) > 0.5
