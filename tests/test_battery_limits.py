"""The hard limits of the battery: a hazard made worse never improves a verdict, and what is not known never passes."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.answers import evaluate
from tests.strategies import plausible
from tests.support import evaluation, example

COUNT = 80
RANK = {"PASS": 0, "NOTE": 1, "FAIL": 2}
Change = Callable[[dict[str, Any]], dict[str, Any]]


def moved(name: str, by: float, low: float, high: float) -> Change:
    return lambda batch: batch | {name: np.clip(batch[name] + by, low, high)}


def scaled(name: str, by: float) -> Change:
    return lambda batch: batch | {name: batch[name] * by}


def both(*changes: Change) -> Change:
    def change(batch: dict[str, Any]) -> dict[str, Any]:
        for one in changes:
            batch = one(batch)
        return batch

    return change


# what makes a hazard worse, and the check that must not improve by it
WORSE: dict[str, tuple[Change, str]] = {
    "a higher float": (scaled("battery_v_float", 1.02), "check_float_limit"),
    "a higher absorption": (scaled("battery_v_absorb", 1.02), "check_absorb_limit"),
    "a higher highest voltage, in the cold": (scaled("battery_v_high", 1.02), "check_charge_limit_cold"),
    "a higher highest voltage, in the heat": (scaled("battery_v_high", 1.02), "check_charge_limit_hot"),
    "a higher highest voltage, sealed": (scaled("battery_v_high", 1.02), "check_equalization"),
    "a lower figure of the maker, float": (scaled("battery_v_max", 0.98), "check_float_limit"),
    "a lower figure of the maker, absorption": (scaled("battery_v_max", 0.98), "check_absorb_limit"),
    "a lower figure of the maker, cold": (scaled("battery_v_max", 0.98), "check_charge_limit_cold"),
    "a lower figure of the maker, hot": (scaled("battery_v_max", 0.98), "check_charge_limit_hot"),
    "longer at absorption": (moved("battery_absorb_hours", 3, 0, 24), "check_absorb_time"),
    "more compensation": (moved("battery_tempco", -1, -8, 0), "check_compensation_limit"),
    "a lower load disconnect": (scaled("battery_v_low", 0.97), "check_disconnect_limit"),
    "deeper": (moved("battery_dod", 15, 10, 100), "check_discharge_depth"),
    "deeper each day": (moved("battery_dod_daily", 15, 5, 100), "check_discharge_depth"),
    "deeper in the cold": (moved("battery_dod", 15, 10, 100), "check_freezing"),
    "colder": (moved("battery_t_min", -8, -40, 60), "check_freezing"),
    "hotter": (moved("battery_t_max", 8, -40, 60), "check_thermal_runaway"),
    "hotter and charged as high": (
        both(moved("battery_t_max", 8, -40, 60), lambda batch: batch | {"controller_tempcomp": "no"}),
        "check_charge_limit_hot",
    ),
    "a weaker controller": (scaled("controller_v_high", 0.9), "check_controller_battery_voltage"),
    "weaker loads": (scaled("loads_v_high", 0.9), "check_loads_voltage"),
    "a weaker inverter": (scaled("inverter_v_high", 0.9), "check_inverter_voltage"),
}


@cache
def drawn(seed: int) -> dict[str, Any]:
    return plausible("nec-2023", seed, COUNT)


@pytest.mark.parametrize("what", WORSE)
def test_a_hazard_made_worse_never_improves_the_verdict(what: str) -> None:
    change, check = WORSE[what]
    batch = drawn(0)
    if what == "hotter and charged as high":
        batch = batch | {"controller_tempcomp": "no"}
    before, after = (evaluation().all_values(one)[check] for one in (batch, change(batch)))
    better = [(a, b) for a, b in zip(before, after, strict=True) if a in RANK and b in RANK and RANK[b] < RANK[a]]
    assert not better


CHEMISTRIES = ("flooded", "AGM", "gel", "LiFePO4")


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("nominal", [12, 24, 36, 48])
def test_the_usual_set_points_of_a_chemistry_are_within_its_hard_limits(chemistry: str, nominal: int) -> None:
    values = evaluate(
        example(
            battery_chemistry=chemistry,
            battery_nominal=nominal,
            controller_nominal=nominal,
            controller_tempcomp="no" if chemistry == "LiFePO4" else "yes",
            controller_v_high=80,
            loads_v_high=80,
            inverter_v_high=80,
            inverter_v_low=8,
        )
    )
    own = [name for name, verdict in values.items() if name.startswith("check_") and verdict in ("FAIL", "NOTE")]
    limits = {check for _, check in WORSE.values()} | {"check_battery_blocks"}
    assert not limits & set(own)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_a_maker_cannot_be_made_to_allow_what_no_maker_of_the_chemistry_states(chemistry: str) -> None:
    ceiling = {"flooded": 33.0, "AGM": 32.4, "gel": 29.4, "LiFePO4": 29.6}[chemistry]
    for figure, status in ((ceiling, "entered"), (ceiling + 0.01, "out of range")):
        values = evaluation().all_values(example(battery_chemistry=chemistry, battery_v_max=figure))
        assert values["status_battery_v_max"] == status
    assert values["check_charge_limit_cold"] == "INCOMPLETE"


@pytest.mark.parametrize("answer", [None, "not known"])
def test_silence_on_equalization_is_not_judged(answer: str | None) -> None:
    values = evaluate(example(battery_chemistry="gel", battery_v_high=28.8, battery_equalize=answer))
    assert values["check_equalization"] == "NOT JUDGED"


def test_the_maker_s_highest_voltage_answers_for_equalization_but_not_against_a_no() -> None:
    sealed = {"battery_chemistry": "AGM", "battery_v_high": 30, "battery_v_max": 31}
    assert evaluate(example(**sealed))["check_equalization"] == "PASS"
    assert evaluate(example(**sealed, battery_equalize="no"))["check_equalization"] == "FAIL"


def test_an_unfinished_row_of_loads_leaves_freezing_open() -> None:
    values = evaluate(example(load12_w=100))
    assert values["check_freezing"] == "INCOMPLETE"


@pytest.mark.parametrize("rate", [5, 10, 20, 100])
def test_no_conversion_credits_more_than_the_label_says(rate: int) -> None:
    for chemistry in CHEMISTRIES:
        values = evaluate(example(battery_chemistry=chemistry, battery_hour_rate=rate))
        assert values["battery_rate_ah"] <= 540
        assert values["battery_load_ah"] <= 540 + 1e-9
        assert values["battery_c10_ah"] <= values["battery_c20_ah"]
