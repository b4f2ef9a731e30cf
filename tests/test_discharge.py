"""The discharge side: what makes it worse never betters a verdict, and each run and each entry counts only where it applies."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.answers import evaluate
from tests.support import evaluation, example, whole_example
from tests.test_loads import DISCHARGE, NO_LOADS, judged

FREE = ("N/A", "PASS", "NOTE")
SAFETY = ("check_load_output", "check_conductors", *DISCHARGE)


WORSE: dict[str, dict[str, Any]] = {
    "stronger loads": {"load1_w": 2, "load2_w": 1.5},
    "more of a load": {"load3_count": 3},
    "a stronger start": {"load2_surge": 3},
    "a smaller inverter": {"inverter_power": 0.3},
    "an inverter with less surge": {"inverter_surge": 0.5},
    "a battery that gives less": {"battery_i_discharge_max": 0.1},
    "a battery that gives less for seconds": {"battery_i_discharge_surge": 0.3},
    "a weaker load output": {"controller_i_load": 0.2},
    "a load output with less surge": {"controller_i_surge": 0.3},
    "more loads at the same time": {"load_diversity": 4},
    "a lower load disconnect": {"battery_v_low": 0.9},
}
MOST = {"load1_w": 2900, "load2_w": 2900, "load3_count": 200, "load2_surge": 10, "load_diversity": 100}


@pytest.mark.parametrize("profile", ["nec-2023", "iec-60364-7-712"])
@pytest.mark.parametrize("change", WORSE)
def test_a_worse_discharge_side_never_betters_a_verdict(profile: str, change: str) -> None:
    batch, before = judged(profile)
    changed = {name: np.minimum(before[name] * factor, MOST.get(name, np.inf)) for name, factor in WORSE[change].items()}
    after = evaluation(profile).all_values(batch | changed)
    sized = ("check_inverter_fuse", "check_conductors")  # a smaller inverter needs a smaller fuse and cable
    for check in (check for check in SAFETY if change != "a smaller inverter" or check not in sized):
        bettered = (before[check] == "FAIL") & np.isin(after[check], FREE)
        assert not np.any(bettered), f"{check}: {np.flatnonzero(bettered)}"


def test_runs_of_loads_that_there_are_not_do_not_count() -> None:
    """Only the cable of what is connected is judged; half a cable stays unfinished."""
    alone = NO_LOADS | {"load1_w": 50, "load1_hours": 4}
    for supply, missing, other in (("AC", "load", "inverter"), ("DC", "inverter", "load")):
        # an inverter that is entered is judged, whatever the loads
        one = alone | ({"inverter_power": None, "inverter_surge": None} if supply == "DC" else {})
        values = evaluate(whole_example(**one | {"load1_supply": supply}))
        assert values["runs_entered"] == 4
        assert values["check_conductors"] == values["check_voltage_drop"] == "PASS"
        without = {f"run_{missing}_length": None, f"run_{missing}_size": None}
        assert evaluate(whole_example(**one | without | {"load1_supply": supply}))["verdict"] == values["verdict"]
        needed = {f"run_{other}_length": None, f"run_{other}_size": None}
        assert evaluate(whole_example(**one | needed | {"load1_supply": supply}))["verdict"] == "INCOMPLETE"
        half = {f"run_{missing}_size": None}
        assert evaluate(whole_example(**one | half | {"load1_supply": supply}))["check_conductors"] == "INCOMPLETE"


def test_the_cables_of_loads_and_inverter_are_judged_apart() -> None:
    """A thin cable of the one does not fail by the current of the other: 6.4 A to direct loads, 24.7 A to the inverter."""
    thin = {"run_load_size": "14 AWG", "run_load_length": 1}
    assert evaluate(whole_example(**thin))["check_conductors"] == "PASS"
    found = evaluate(whole_example(run_inverter_size="14 AWG", run_inverter_length=1))
    assert found["check_conductors"] == found["check_inverter_fuse"] == "FAIL"
    assert found["runs_inverter_i_max"] == pytest.approx(1.25 * (400 / 0.9 + 6) / 22.8)
    assert found["runs_load_i_max"] == pytest.approx(1.25 * 117 / 22.8)


@pytest.mark.parametrize("entry", ["inverter_power", "inverter_surge", "battery_i_discharge_max", "battery_i_discharge_surge", "inv_hours"])
def test_a_refused_entry_of_the_discharge_side_never_passes(entry: str) -> None:
    for junk in ("many", -1, 1e9):
        values = evaluate(whole_example(**{entry: junk}))
        assert values["verdict"] == "INCOMPLETE"


def test_the_own_use_counts_in_the_months_even_where_the_loads_do_not() -> None:
    """6 W and 15 mA at 24 V for 24 h, with a fifth more: 183.2 Wh a day that no month changes."""
    own = 1.2 * 24 * (6 + 0.015 * 24)
    assert evaluate(example())["load_wh_always"] == pytest.approx(own)
    months = {f"{month}_load": 0 for month in ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")}
    ratio = evaluate(example(**months))["energy_worst_ratio"]
    assert ratio == pytest.approx(evaluate(example())["energy_worst_ratio"] * evaluate(example())["load_wh_design"] / own)
