"""The list of arrangements against what the checks themselves say of each arrangement, one after another."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import evaluate
from tests.support import evaluation, example, model
from workbook_builder.__main__ import main
from workbook_builder.file.building import build
from workbook_builder.file.report import arrangements
from workbook_builder.system.battery.faults import GROUPS

SERIES, PARALLEL = range(1, 7), range(1, 13)
PAIRS = [(s, p) for s in SERIES for p in PARALLEL]

# each word of the column "limited by", the check that it stands for, and what that check says when it limits
LIMITS = {
    "controller voltage": ("check_cold_voltage", "FAIL"),
    "module voltage": ("check_module_voltage", "FAIL"),
    "code voltage": ("check_code_voltage", "FAIL"),
    "controller setting": ("check_voltage_class", "FAIL"),
    "system voltage": ("check_voltage_served", "FAIL"),
    "automatic setting": ("check_voltage_found", "FAIL"),
    "cannot charge": ("check_can_charge", "FAIL"),
    "short-circuit limit": ("check_short_circuit", "FAIL"),
    "input protection": ("check_input_protection", "FAIL"),
    "rated current": ("check_array_current", "FAIL"),
    "string fuse": ("check_string_fuse", "FAIL"),
    "battery current": ("check_battery_current", "FAIL"),
    "cold charging": ("check_cold_block", "FAIL"),
    "margin on current": ("check_array_current", "NOTE"),
    "voltage margin": ("check_voltage_margin", "NOTE"),
    "MPPT clipping": ("check_mppt_clipping", "NOTE"),
    "PWM window": ("check_vmp_window", "NOTE"),
    "hot afternoon": ("check_hot_afternoon", "NOTE"),
    "cold charge": ("check_cold_charge", "NOTE"),
    "use of array": ("check_utilisation", "NOTE"),
    "MPPT window": ("check_mppt_window", "NOTE"),
    "MPPT power": ("check_mppt_power", "NOTE"),
    "device voltage": ("check_devices_voltage", "FAIL"),
    "hot enclosure": ("check_enclosure_current", "FAIL"),
    "warm enclosure": ("check_enclosure_current", "NOTE"),
    "ventilation": ("check_ventilation", "FAIL"),
    "load output": ("check_load_output", "FAIL"),
    "confirmations": ("check_confirmed_safety", "FAIL"),
    "battery blocks": ("check_battery_blocks", "FAIL"),
    "float voltage": ("check_float_limit", "FAIL"),
    "absorption voltage": ("check_absorb_limit", "FAIL"),
    "charging, cold": ("check_charge_limit_cold", "FAIL"),
    "charging, hot": ("check_charge_limit_hot", "FAIL"),
    "equalization": ("check_equalization", "FAIL"),
    "absorption time": ("check_absorb_time", "FAIL"),
    "compensation": ("check_compensation_limit", "FAIL"),
    "hot battery": ("check_thermal_runaway", "FAIL"),
    "load disconnect": ("check_disconnect_limit", "FAIL"),
    "discharge depth": ("check_discharge_depth", "FAIL"),
    "freezing": ("check_freezing", "FAIL"),
    "battery voltage": ("check_controller_battery_voltage", "FAIL"),
    "voltage of loads": ("check_loads_voltage", "FAIL"),
    "voltage of inverter": ("check_inverter_voltage", "FAIL"),
    "sparks": ("check_spark_distance", "FAIL"),
    "battery management": ("check_management", "FAIL"),
    "battery disconnect": ("check_duty_battery_emergency", "FAIL"),
    "code duty": ("check_duty_arc_fault", "FAIL"),
    "array device": ("check_array_protection", "FAIL"),
}
# what stands in that column while a safety check waits for an entry
OPEN = {
    "controller setting": "check_voltage_class",
    "system voltage": "check_voltage_served",
    "automatic setting": "check_voltage_found",
    "device voltage": "check_devices_voltage",
    "short-circuit limit": "check_short_circuit",
    "input protection": "check_input_protection",
    "string fuse": "check_string_fuse",
    "hot enclosure": "check_enclosure_current",
}
COVERED = sorted({check for check, _ in LIMITS.values()})
# the device of the array is judged with its cable, which is chosen for the arrangement: there only a FAIL counts
SAFETY = {check.name for check in model().checks if check.safety} & set(COVERED) - {"check_array_protection"}
BATTERY_FAULTS = {f"check_{name}" for group in GROUPS for name in group}
# they judge the site or the battery, not the arrangement: their FAIL fails every row, their NOTE is on the sheet Verdicts only
SITE_ONLY = {
    "check_ventilation",
    "check_spark_distance",
    "check_load_output",
    "check_confirmed_safety",
    "check_management",
    "check_duty_battery_emergency",
} | BATTERY_FAULTS

SIXTY: dict[str, Any] = {
    "module_voc": 38.1,
    "module_isc": 9.4,
    "module_vmp": 31.1,
    "module_imp": 8.85,
    "module_pmp": 275,
    "module_cells": 60,
    "controller_ocp": None,
    "controller_i_sc_max": None,
    "controller_i_max": 60,
}
MPPT: dict[str, Any] = {"controller_type": "MPPT", "controller_v_max": 150, "controller_i_sc_max": 60, "controller_ocp": 60}


def battery(nominal: int, setting: Any = "automatic") -> dict[str, Any]:
    """A bank of another voltage, with equipment that serves and withstands it."""
    withstood = dict.fromkeys(("controller_v_high", "loads_v_high", "inverter_v_high"), 1.5 * nominal)
    found = {"controller_nominal_max": 48, "controller_finds": "12 and 24 and 36 and 48 V", "inverter_v_low": 0.8 * nominal}
    return {"battery_nominal": nominal, "controller_nominal": setting} | found | withstood


DESIGNS: dict[str, dict[str, Any]] = {
    "the example": {},
    "PWM, 12 V": battery(12),
    "PWM, 12 V, no limits on the input": battery(12) | {"controller_i_sc_max": None, "controller_ocp": None},
    "PWM, 48 V, a controller for 12 and 24 V": {"battery_nominal": 48, "controller_nominal": 48, "controller_v_max": 145},
    "PWM, 12 V, high limits on the input": battery(12) | {"controller_i_sc_max": 100, "controller_ocp": 200},
    "PWM, 36 V, not found": battery(36) | {"controller_finds": "12 and 24 and 48 V"},
    "PWM, what it finds is not known": battery(24) | {"controller_finds": "not known"},
    "PWM, setting not entered": battery(24) | {"controller_nominal": None},
    "PWM, highest voltage not entered": battery(24) | {"controller_nominal_max": None},
    "PWM, hardly below its limit": battery(24) | {"controller_v_max": 51},
    "PWM, nobody knows whether it blocks the battery's current": battery(24) | {"controller_backfeed": None, "string_device": None},
    "PWM, devices not entered": battery(24) | {"devices_v_min": None},
    "PWM, derating not entered": battery(24) | {"controller_t_full": None},
    "MPPT, small, without a short-circuit limit": battery(24) | MPPT | {"controller_i_sc_max": None, "controller_i_max": 25},
    "PWM, 36 V": battery(36),
    "PWM, 48 V, high limits": battery(48) | {"controller_v_max": 145, "controller_i_max": 80},
    "PWM, 48 V, low module limit": battery(48) | {"controller_v_max": 145, "module_max_system_voltage": 90},
    "PWM, 24 V, 60 cells": battery(24) | SIXTY | {"controller_v_max": 90},
    "PWM, 24 V, 60 cells, very hot": battery(24) | SIXTY | {"site_t_max": 55, "battery_t_max": 55, "module_noct": 55},
    "PWM, 24 V, very hot": battery(24) | {"site_t_max": 55, "battery_t_max": 55, "module_noct": 55, "module_vmp": 17, "module_pmp": None},
    "PWM, 12 V, 60 cells": battery(12) | SIXTY,
    "PWM, setting of another voltage": battery(24, 12),
    "PWM, cold battery with strong compensation": battery(24)
    | {
        "battery_t_min": -5,
        "battery_t_max": 25,
        "battery_tempco": -6,
        "site_t_max": 0,
        "battery_v_absorb": 29.2,
        "run_array_drop_allowed": 10,
        "run_battery_drop_allowed": 6,
        "module_vmp": 16.2,
        "module_pmp": None,
    },
    "PWM, low absorption": battery(24)
    | {
        "battery_v_float": 26,
        "battery_v_absorb": 26.4,
        "module_vmp": 19,
        "module_voc": 23,
        "module_imp": 8.8,
        "module_pmp": None,
    },
    "PWM, light on the rear": battery(24) | {"module_bifacial_gain": 25},
    "MPPT, 12 V": battery(12) | MPPT,
    "MPPT, 24 V, largest array given": battery(24) | MPPT | {"controller_max_pv_power": 1000},
    "MPPT, 48 V": battery(48) | MPPT | {"controller_i_sc_max": None, "controller_ocp": 80},
    "MPPT, 48 V, 60 cells on a dwelling": battery(48) | SIXTY | MPPT | {"controller_v_max": 250, "site_place": "dwelling"},
    "MPPT, low limit of the code": battery(24)
    | MPPT
    | {
        "controller_v_max": 1500,
        "module_max_system_voltage": 1500,
        "site_place": "dwelling",
        "module_voc": 140,
        "module_vmp": 115,
        "module_pmp": None,
    },
    "MPPT, short-circuit limit below protection": battery(24) | MPPT | {"controller_i_sc_max": 30, "controller_ocp": 90},
    "PWM, derated in a hot box": {"enclosure_rise": 24, "controller_t_full": 45, "controller_derating": 2.5},
    "PWM, hotter than a curve without slope": {"enclosure_rise": 24, "controller_t_full": 45, "controller_t_highest": 60},
    "PWM, devices of 40 V": {"devices_v_min": 40},
    "MPPT, no arc-fault protection": battery(24) | MPPT | {"confirm_arc_fault": "no"},
    "MPPT, derated in a hot box": battery(24) | MPPT | {"enclosure_rise": 24, "controller_t_full": 45, "controller_derating": 2.5},
}


WITHOUT_CABLES: dict[str, Any] = {f"run_{run}_length": None for run in ("array", "battery", "load")}
"""The allowed drops then stand for the cables, whatever the arrangement."""


WITHOUT_SITE: dict[str, Any] = {
    "controller_t_full": 60,
    "controller_derating": None,
    "devices_v_min": 1500,
    "ventilation_opening": None,
    "battery_spark_distance": None,
}
"""The ratings of the example's site would come first where a design looks for another limit."""


def design(name: str) -> dict[str, Any]:
    return example(**WITHOUT_CABLES | WITHOUT_SITE | DESIGNS[name])


@cache
def rows(name: str) -> list[dict[str, Any]]:
    return arrangements(design(name), "nec-2023")


@cache
def judged(name: str) -> dict[str, np.ndarray]:
    """Every arrangement entered as a design of its own."""
    series, parallel = (np.array(column, dtype=float) for column in zip(*PAIRS, strict=True))
    found = evaluate(design(name) | {"array_series": series, "array_parallel": parallel})
    return {key: np.broadcast_to(np.asarray(value), series.shape) for key, value in found.items()}


def counted(check: str, outcome: Any) -> str:
    """What an outcome of a check means for the row of an arrangement."""
    return "PASS" if check in SITE_ONLY and outcome != "FAIL" else str(outcome)


def _verdict(outcomes: dict[str, str]) -> str:
    """The verdict of a row by what its checks say, by their names."""
    said, safe = set(outcomes.values()), {outcomes[check] for check in SAFETY}
    return "FAIL" if "FAIL" in said else "NOT JUDGED" if "NOT JUDGED" in safe else "NOTE" if "NOTE" in said else "PASS"


@pytest.mark.parametrize("name", DESIGNS)
def test_the_list_has_every_arrangement_once(name: str) -> None:
    assert [(row["series"], row["parallel"]) for row in rows(name)] == PAIRS
    assert all(row["modules"] == row["series"] * row["parallel"] for row in rows(name))


@pytest.mark.parametrize("name", DESIGNS)
def test_each_row_has_the_verdict_of_its_checks_when_entered(name: str) -> None:
    for place, row in enumerate(rows(name)):
        outcomes = {check: counted(check, judged(name)[check][place]) for check in COVERED}
        assert "INCOMPLETE" not in outcomes.values()
        assert row["verdict"] == _verdict(outcomes), f"{PAIRS[place]}: {row['limited_by']}"


@pytest.mark.parametrize("name", DESIGNS)
def test_no_row_passes_that_any_safety_check_of_the_workbook_fails_once_entered(name: str) -> None:
    safety = [check.name for check in model().checks if check.safety]
    for place, row in enumerate(rows(name)):
        failing = [check for check in safety if judged(name)[check][place] == "FAIL"]
        assert not failing or row["verdict"] == "FAIL", f"{PAIRS[place]}: {failing}"


@pytest.mark.parametrize("name", DESIGNS)
def test_what_a_row_is_limited_by_is_a_check_that_limits_it(name: str) -> None:
    for place, row in enumerate(rows(name)):
        if row["limited_by"] == "nothing":
            assert row["verdict"] == "PASS"
        elif row["verdict"] == "NOT JUDGED":
            assert judged(name)[OPEN[row["limited_by"]]][place] == "NOT JUDGED"
        else:
            check, outcome = LIMITS[row["limited_by"]]
            assert judged(name)[check][place] == outcome
            assert row["verdict"] == outcome


# limits that the designs do not reach, and the changes of the example that do
FURTHER: dict[str, dict[str, Any]] = {
    "battery current": {"battery_i_max": 5},
    "string fuse": {"module_max_fuse": 10},
    "cold charging": {"battery_chemistry": "LiFePO4", "battery_t_min": -5, "controller_tempcomp": "no"},
    "ventilation": {"ventilation_opening": 100},
    "load output": {"controller_i_load": 3},
    "confirmations": {"confirm_earthing": "no"},
    "battery blocks": {"battery_block": 36},
    "array device": {"run_array_length": 5, "run_array_size": "14 AWG", "run_array_insulation": "90C"},
    "float voltage": {"battery_v_float": 28.7},
    "absorption voltage": {"battery_v_absorb": 30.7, "battery_v_high": 30.8},
    "charging, cold": {"battery_v_high": 32.9, "battery_t_min": 25, "battery_t_max": 25, "loads_v_high": 40, "inverter_v_high": 40},
    "charging, hot": {"battery_v_high": 32.2, "battery_t_max": 45, "controller_tempcomp": "no"},
    "equalization": {"battery_chemistry": "AGM", "battery_v_high": 29.8, "battery_equalize": "no"},
    "absorption time": {"battery_absorb_hours": 13},
    "compensation": {"battery_tempco": -6.1},
    "hot battery": {"battery_chemistry": "gel", "battery_t_max": 41, "controller_tempcomp": "no"},
    "load disconnect": {"battery_v_low": 20.9},
    "discharge depth": {"battery_dod": 81},
    "freezing": {"battery_t_min": -23},
    "battery voltage": {"controller_v_high": 30.9},
    "voltage of loads": {"loads_v_high": 30.9},
    "voltage of inverter": {"inverter_v_high": 30.9},
    "sparks": {"battery_spark_distance": 100},
    "battery management": {"battery_chemistry": "LiFePO4", "controller_tempcomp": "no", "confirm_management": "no"},
    "battery disconnect": {"battery_building": "dwelling", "confirm_battery_emergency": "no"},
}


@pytest.mark.parametrize("limit", FURTHER)
def test_an_arrangement_that_fits_but_for_its_battery_fuses_or_site_fails(limit: str) -> None:
    row = next(row for row in arrangements(example(**FURTHER[limit]), "nec-2023") if (row["series"], row["parallel"]) == (2, 3))
    assert (row["verdict"], row["limited_by"]) == ("FAIL", limit)


def test_a_duty_of_the_code_that_is_refused_fails_the_arrangements_whose_voltage_or_current_reaches_it() -> None:
    """Ground-fault protection from 30 V or 8 A: one module alone has 25.1 V and 11.5 A; in a module of 5 A only voltage reaches it."""
    few: dict[str, Any] = {"module_isc": 5.2, "module_imp": 4.8, "module_pmp": None, "controller_type": "MPPT"}
    for changes, free in (({}, set()), (few, {(1, 1)})):
        found = arrangements(
            example(**{"confirm_ground_fault": "no", "battery_nominal": 12, "controller_nominal": 12} | changes), "nec-2023"
        )
        refused = {(row["series"], row["parallel"]) for row in found if row["limited_by"] == "code duty"}
        passing = {(row["series"], row["parallel"]) for row in found if row["verdict"] != "FAIL"}
        assert refused
        assert passing <= free


def test_a_place_too_hot_to_work_in_fails_every_arrangement() -> None:
    found = arrangements(example(enclosure_rise=27, controller_t_full=None, controller_derating=None), "nec-2023")
    assert {row["verdict"] for row in found} == {"FAIL"}
    assert (2, 3, "hot enclosure") in {(row["series"], row["parallel"], row["limited_by"]) for row in found}


def test_the_designs_reach_every_limit_and_every_verdict() -> None:
    everything = [row for name in DESIGNS for row in rows(name)]
    settled = {row["limited_by"] for row in everything if row["verdict"] != "NOT JUDGED"}
    assert settled == {*LIMITS, "nothing"} - set(FURTHER)
    assert {row["verdict"] for row in everything} == {"PASS", "NOTE", "NOT JUDGED", "FAIL"}
    assert {row["limited_by"] for row in everything if row["verdict"] == "NOT JUDGED"} == set(OPEN)


@pytest.mark.parametrize("name", DESIGNS)
def test_usable_power_is_that_of_the_arrangement_when_entered(name: str) -> None:
    values = judged(name)
    if DESIGNS[name].get("controller_type") == "MPPT":
        wanted = np.minimum(values["mppt_p_hot"], values["controller_i_max"] * values["battery_v_absorb"])
    else:
        wanted = values["pwm_p_absorb_hot"]
    assert np.allclose([row["usable"] for row in rows(name)], wanted.astype(float), rtol=1e-9, atol=1e-9)
    each = [row["usable"] / (row["series"] * row["parallel"]) for row in rows(name)]
    assert np.allclose([row["usable_module"] for row in rows(name)], each)


def with_notes(name: str) -> list[dict[str, Any]]:
    """The rows of a design, each with whether one of its checks has a note."""
    noted = [any(counted(check, judged(name)[check][place]) == "NOTE" for check in COVERED) for place in range(len(PAIRS))]
    return [row | {"noted": one} for row, one in zip(rows(name), noted, strict=True)]


def _best(found: list[dict[str, Any]]) -> dict[str, Any] | None:
    """The best verdict first, then the most power to a milliwatt for each module, then the fewest modules.

    Among those that are not judged, those come first that have no note either.
    """
    for verdict, weak in (("PASS", False), ("NOTE", True), ("NOT JUDGED", False), ("NOT JUDGED", True)):
        of_verdict = [row for row in found if row["verdict"] == verdict and row["noted"] == weak]
        if of_verdict:
            most = max(row["usable"] for row in of_verdict)
            return min((row for row in of_verdict if row["usable"] > most - 1e-3), key=lambda row: row["modules"])
    return None


@pytest.mark.parametrize("name", DESIGNS)
def test_the_arrangement_named_as_best_is_the_best_by_trying_all(name: str) -> None:
    said = evaluation().all_values(design(name))["best_arrangement"]
    best = _best(with_notes(name))
    if best is None:
        assert said == "no arrangement fits"
        return
    why = {
        "PASS": "the most power among those that pass",
        "NOTE": "none passes without a note; this has the most power",
        "NOT JUDGED": "not judged while entries are blank; none that is judged passes",
    }
    numbers = f"{best['series']:.0f} in series × {best['parallel']:.0f} in parallel"
    assert said == f"{numbers}, about {best['usable']:.0f} W: {why[best['verdict']]}"


def test_the_designs_have_a_best_of_each_kind() -> None:
    kinds = {best["verdict"] if best else "none" for best in (_best(with_notes(name)) for name in DESIGNS)}
    assert kinds == {"PASS", "NOTE", "NOT JUDGED", "none"}


def test_equal_power_goes_to_the_fewest_modules() -> None:
    """A small MPPT unit is full long before the list ends: more modules would be bought for nothing."""
    name = "MPPT, 12 V"
    best = _best(with_notes(name))
    assert best is not None
    equal = [row for row in rows(name) if row["verdict"] == best["verdict"] and abs(row["usable"] - best["usable"]) < 1e-9]
    assert len(equal) > 1
    assert (
        evaluation()
        .all_values(design(name))["best_arrangement"]
        .startswith(f"{best['series']:.0f} in series × {best['parallel']:.0f} in parallel")
    )


@pytest.mark.parametrize("missing", ["module_voc", "controller_i_max", "site_t_min", "battery_nominal"])
def test_without_a_figure_it_rests_on_no_row_is_judged(missing: str) -> None:
    found = arrangements(example(**WITHOUT_CABLES | {missing: None}), "nec-2023")
    assert {row["verdict"] for row in found} == {None}
    assert evaluation().all_values(example(**{missing: None}))["best_arrangement"] == ""


@settings(max_examples=50, deadline=None)
@given(
    kind=st.sampled_from(["PWM", "MPPT"]),
    nominal=st.sampled_from([12, 24, 36, 48]),
    setting=st.sampled_from(["automatic", 12, 24, 48, None]),
    module=st.sampled_from([36, 60]),
    series_at_limit=st.integers(1, 7),
    strings_at_limit=st.integers(1, 13),
    beside=st.sampled_from([-1e-9, 0.0, 1e-9, 0.3]),
    limited=st.sampled_from(
        [
            "controller_v_max",
            "module_max_system_voltage",
            "controller_i_max",
            "controller_i_sc_max",
            "controller_ocp",
            "controller_max_pv_power",
            "controller_start_headroom",
        ]
    ),
    t_min=st.integers(-30, 10),
    hotter=st.integers(21, 45),
    gain=st.sampled_from([0, 10]),
)
def test_rows_agree_with_the_checks_at_and_beside_every_limit(
    kind: str,
    nominal: int,
    setting: Any,
    module: int,
    series_at_limit: int,
    strings_at_limit: int,
    beside: float,
    limited: str,
    t_min: int,
    hotter: int,
    gain: int,
) -> None:
    """One rating is put where some arrangement meets it exactly, or a hair beside: there a PASS goes wrong first."""
    given_design = (
        WITHOUT_CABLES
        | (SIXTY if module == 60 else {})
        | battery(nominal, setting)
        | {
            "controller_type": kind,
            "controller_v_max": 250,
            "controller_i_max": 90,
            "controller_i_sc_max": 150,
            "controller_ocp": 150,
            "site_t_min": t_min,
            "site_t_max": t_min + hotter,
            "battery_t_min": max(t_min, -20),  # a battery that freezes would fail every row
            "battery_t_max": max(t_min + hotter, -20),
            "autonomy_days": 0.5,
            "module_bifacial_gain": gain,
            "module_max_system_voltage": 1000,
        }
    )
    at = evaluate(example(**given_design | {"array_series": series_at_limit, "array_parallel": strings_at_limit}))
    exact = {
        "controller_v_max": at["array_voc_cold"],
        "module_max_system_voltage": at["array_voc_cold"],
        "controller_i_max": at["array_isc"],
        "controller_i_sc_max": at["array_isc_max"],
        "controller_ocp": at["array_isc_max"],
        "controller_max_pv_power": at["array_pmp"],
        "controller_start_headroom": max(0.0, min(20.0, at["array_vmp_hot"] - at["battery_v_high"])),
    }[limited]
    inputs = example(**given_design | {limited: exact + beside})
    series, parallel = (np.array(column, dtype=float) for column in zip(*PAIRS, strict=True))
    found = evaluate(inputs | {"array_series": series, "array_parallel": parallel})
    checks = {check: np.broadcast_to(np.asarray(found[check]), series.shape) for check in COVERED}
    listed = arrangements(inputs, "nec-2023")
    for place, row in enumerate(listed):
        outcomes = {check: counted(check, verdicts[place]) for check, verdicts in checks.items()}
        wanted = None if "INCOMPLETE" in outcomes.values() else _verdict(outcomes)
        assert row["verdict"] == wanted, f"{PAIRS[place]}: {row['limited_by']}"


def test_the_list_does_not_depend_on_the_arrangement_that_is_entered() -> None:
    for series, parallel in ((5, 7), (None, None)):
        entered = design("the example") | {"array_series": series, "array_parallel": parallel}
        assert arrangements({k: v for k, v in entered.items() if v is not None}, "nec-2023") == rows("the example")


CABLES = ["the example", "PWM, 24 V, very hot", "PWM, 24 V, 60 cells", "MPPT, 24 V, largest array given"]
"""Designs in which the example's cables stay entered: their drop follows the current of each arrangement."""


@pytest.mark.parametrize("name", CABLES)
@pytest.mark.parametrize("pair", [(2, 1), (2, 3), (1, 4)])
def test_with_cables_entered_the_row_of_the_entered_arrangement_is_what_the_workbook_says_of_it(name: str, pair: tuple[int, int]) -> None:
    inputs = example(**DESIGNS[name] | {"array_series": pair[0], "array_parallel": pair[1]})
    row, found = arrangements(inputs, "nec-2023")[PAIRS.index(pair)], evaluate(inputs)
    wanted = found["pwm_p_absorb_hot"]
    if inputs["controller_type"] == "MPPT":
        wanted = min(found["mppt_p_hot"], inputs["controller_i_max"] * found["battery_v_absorb"])
    assert row["usable"] == pytest.approx(wanted, rel=1e-9)
    assert row["verdict"] == _verdict({check: counted(check, found[check]) for check in COVERED})


@pytest.mark.parametrize("name", CABLES)
def test_with_cables_entered_too_the_list_does_not_depend_on_the_arrangement_that_is_entered(name: str) -> None:
    first, second = (example(**DESIGNS[name] | {"array_parallel": strings}) for strings in (1, 6))
    assert arrangements(first, "nec-2023") == arrangements(second, "nec-2023")


@pytest.mark.parametrize("name", CABLES)
def test_with_cables_entered_no_row_passes_that_fails_a_safety_check_once_entered(name: str) -> None:
    safety = [check.name for check in model().checks if check.safety]
    for row in arrangements(example(**DESIGNS[name]), "nec-2023"):
        if row["verdict"] == "PASS":
            pair = {"array_series": row["series"], "array_parallel": row["parallel"]}
            found = evaluate(example(**DESIGNS[name] | pair))
            assert not [check for check in safety if found[check] == "FAIL"], f"{row['series']} × {row['parallel']}"


def design_file(inputs: dict[str, Any]) -> str:
    lines = [f"{name} = {json.dumps(value, ensure_ascii=False)}" for name, value in inputs.items()]
    return "\n".join(['profile = "nec-2023"', *lines])


@pytest.mark.parametrize(("name", "kind"), [*((name, "toml") for name in list(DESIGNS)[::3]), (next(iter(DESIGNS)), "xlsx")])
def test_the_command_line_prints_the_list(name: str, kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / f"design.{kind}"
    inputs = design(name)
    if kind == "toml":
        file.write_text(design_file(inputs), encoding="utf-8")
    else:
        build(inputs, file)
    status = main(["check", str(file), "--arrangements"])
    printed = capsys.readouterr().out.splitlines()
    verdict = evaluate(inputs)["verdict"]
    assert status == (0 if verdict.startswith("PASS") else 1)
    found = [re.split(r"\s{2,}", line.strip()) for line in printed if re.match(r"^\s+\d+\s+\d+\s+\d+\s+(PASS|NOT JUDGED|NOTE|FAIL)", line)]
    assert len(found) == len(PAIRS)
    for parts, row in zip(found, rows(name), strict=True):
        figures = [f"{row[key]:.0f}" for key in ("series", "parallel", "modules")]
        watts = [f"{row[key]:.0f}" for key in ("usable", "usable_module")]
        assert parts == [*figures, row["verdict"], *watts, row["limited_by"]]
    assert printed[-1] == f"best: {evaluation().all_values(inputs)['best_arrangement']}"


def test_the_command_line_gives_the_list_as_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "design.toml"
    file.write_text(design_file(design("the example")), encoding="utf-8")
    main(["check", str(file), "--arrangements", "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert answer["arrangements"] == rows("the example")
    assert answer["verdict"] == evaluate(design("the example"))["verdict"]
    assert answer["best_arrangement"] == evaluation().all_values(design("the example"))["best_arrangement"]


def test_the_command_line_prints_no_list_unless_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "design.toml"
    file.write_text(design_file(design("the example")), encoding="utf-8")
    main(["check", str(file)])
    assert "limited by" not in capsys.readouterr().out
    main(["check", str(file), "--json"])
    assert "arrangements" not in json.loads(capsys.readouterr().out)


def test_the_command_line_says_of_an_incomplete_design_that_the_best_is_not_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "design.toml"
    file.write_text(design_file(example(module_voc=None)), encoding="utf-8")
    assert main(["check", str(file), "--arrangements"]) == 1
    assert "best: not known until the entries are complete" in capsys.readouterr().out


# safety checks that rest on the numbers of modules and that the list leaves to the sheet Verdicts, as its text says
ON_VERDICTS_ONLY = {"check_conductors", "check_battery_fuse", "check_string_cable"}


def test_every_safety_check_that_rests_on_the_numbers_judges_the_list() -> None:
    """A check that is added and rests on the numbers must stand in the list, or be named there as left to Verdicts."""
    behind = {check.name: model().rests_on(check.name) for check in model().checks if check.safety}
    numbered = {name for name, found in behind.items() if {"array_series", "array_parallel"} & set(found)}
    # duties of the code judge the list through the voltage and the current at which a refused one applies
    left = {name for name in numbered - set(COVERED) if not name.startswith("check_duty_")}
    assert left <= ON_VERDICTS_ONLY


def proposed(inputs: dict[str, Any], name: str) -> tuple[int | None, dict[str, Any]]:
    """The number that a sentence proposes, if it does, and the values of the design."""
    values = evaluation().all_values(inputs)
    return (None if np.isnan(values[name]) else int(values[name])), values


@settings(max_examples=60, deadline=None)
@given(
    kind=st.sampled_from(["PWM", "MPPT"]),
    nominal=st.sampled_from([12, 24, 48]),
    v_max=st.sampled_from([20, 30, 51, 55, 100, 150, 250, 600]),
    module_limit=st.sampled_from([50, 90, 600, 1000]),
    devices=st.sampled_from([None, 40, 80, 1000]),
    series=st.integers(1, 15),
    parallel=st.integers(1, 14),
    i_max=st.sampled_from([8, 20, 40, 90]),
    i_sc_max=st.sampled_from([None, 12, 40]),
    ocp=st.sampled_from([15, 50, 200]),
    limit=st.sampled_from([None, 12, 24]),
    t_min=st.sampled_from([-45, -12, 20]),
)
def test_no_sentence_proposes_a_number_that_fails(
    kind: str,
    nominal: int,
    v_max: float,
    module_limit: float,
    devices: float | None,
    series: int,
    parallel: int,
    i_max: float,
    i_sc_max: float | None,
    ocp: float,
    limit: int | None,
    t_min: float,
) -> None:
    inputs = example(
        controller_type=kind,
        battery_nominal=nominal,
        controller_nominal=nominal,
        controller_nominal_max=limit or 48,
        controller_v_max=v_max,
        module_max_system_voltage=module_limit,
        devices_v_min=devices,
        array_series=series,
        array_parallel=parallel,
        controller_i_max=i_max,
        controller_i_sc_max=i_sc_max,
        controller_ocp=ocp,
        site_t_min=t_min,
    )
    voltages = ("cold_voltage", "module_voltage", "code_voltage", "devices_voltage", "can_charge", "voltage_served")
    currents = ("array_current", "short_circuit", "input_protection", "string_fuse", "battery_current", "enclosure_current")
    modules, values = proposed(inputs, "series_advised")
    if modules is not None:
        found = evaluate(inputs | {"array_series": modules})
        assert not [check for check in voltages if found[f"check_{check}"] in ("FAIL", "INCOMPLETE")]
        assert f"At most {modules} of these modules" in values["meaning_check_cold_voltage"] or values["check_cold_voltage"] != "FAIL"
    elif values["check_cold_voltage"] == "FAIL":
        assert "No number of these modules" in values["meaning_check_cold_voltage"]
    kept, _ = proposed(inputs, "series_margin_advised")
    if kept is not None:
        found = evaluate(inputs | {"array_series": kept})
        assert not [check for check in voltages if found[f"check_{check}"] in ("FAIL", "INCOMPLETE")]
        assert found["check_voltage_margin"] == "PASS"
    strings, _ = proposed(inputs, "parallel_advised")
    if strings is not None:
        found = evaluate(inputs | {"array_parallel": strings})
        assert not [check for check in (*voltages, *currents) if found[f"check_{check}"] in ("FAIL", "INCOMPLETE")]
        assert found["check_array_current"] in ("PASS", "N/A")
    wanted, _ = proposed(inputs, "array_parallel_advised")
    if wanted is not None:
        found = evaluate(inputs | {"array_parallel": wanted})
        assert not [check for check in (*voltages, *currents) if found[f"check_{check}"] in ("FAIL", "INCOMPLETE")]
        assert found["energy_worst_ratio"] >= found["energy_ratio_target"] * 0.95
