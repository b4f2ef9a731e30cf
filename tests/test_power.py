"""Power into the battery: examples worked by hand, a second way to the yearly gain, and laws."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pvlib
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pvlib.singlediode import bishop88_i_from_v, bishop88_mpp

from tests.answers import evaluate
from tests.catalogue import EXACT, Curve, design_of, diode_current, diode_peak, of_cells
from tests.support import evaluation, example, whole_example

NO_DROPS: dict[str, Any] = {"controller_v_drop": 0, "run_array_drop_allowed": 0, "run_battery_drop_allowed": 0}
# An invented 60-cell module on a 12 V battery, without drops. Far left of its knee, and with a shunt too small to see, its
# current is its short-circuit current: everything can be worked out on paper.
FLAT: dict[str, Any] = {
    "module_voc": 37.8,
    "module_isc": 9.2,
    "module_vmp": 31.2,
    "module_imp": 8.8,
    "module_pmp": 275,
    "module_gamma_pmp": -0.4,
    "module_alpha_isc": 0.05,
    "module_noct": 45,
    "module_cells": 60,
    "array_series": 1,
    "array_parallel": 2,
    "battery_nominal": 12,
    "controller_nominal": 12,
    "battery_v_low": 11.4,
    "battery_v_float": 13.6,
    "battery_v_absorb": 14.4,
    "battery_v_high": 14.8,
    "site_t_max": 33.75,
    "site_sun_hours": 5,
    "run_array_length": None,
    "run_battery_length": None,
    "run_load_length": None,
}
HOT_CELLS = 33.75 + 31.25
HOT_CURRENT = 9.2 * (1 + 0.0005 * (HOT_CELLS - 25))


def flat(**changes: Any) -> dict[str, Any]:
    return dict(evaluate(example(**FLAT | NO_DROPS | changes)))


def test_a_flat_module_gives_its_short_circuit_current_to_the_battery() -> None:
    found = flat()
    assert found["cell_t_hot"] == pytest.approx(65)
    assert found["pwm_i_absorb"] == pytest.approx(2 * 9.2, rel=1e-9)
    assert found["pwm_p_absorb"] == pytest.approx(18.4 * 14.4, rel=1e-9)  # 264.96 W
    assert found["pwm_i_absorb_hot"] == pytest.approx(2 * HOT_CURRENT, rel=1e-6)  # 18.768 A
    assert found["pwm_p_absorb_hot"] == pytest.approx(2 * HOT_CURRENT * 14.4, rel=1e-6)  # 270.26 W
    assert found["pwm_utilisation_absorb"] == pytest.approx(18.4 * 14.4 / 550, rel=1e-9)  # 0.48
    assert found["pwm_utilisation_low"] == pytest.approx(18.4 * 11.4 / 550, rel=1e-9)
    assert found["pwm_utilisation_hot"] == pytest.approx(2 * HOT_CURRENT * 14.4 / 550, rel=1e-6)
    assert found["pwm_unused_day"] == pytest.approx((550 - 264.96) * 5, abs=0.5)  # 1425.2 Wh
    assert found["check_utilisation"] == "NOTE"


def test_every_level_of_the_battery_has_its_own_row() -> None:
    values = evaluation().all_values(example(**FLAT | NO_DROPS))
    for level, volts in (("low", 11.4), ("nominal", 12.0), ("float", 13.6), ("absorb", 14.4), ("high", 14.8)):
        assert values[f"operating_stc_{level}_battery"] == volts
        assert values[f"operating_stc_{level}_array"] == volts
        assert values[f"operating_stc_{level}_i"] == pytest.approx(18.4, rel=1e-9)
        assert values[f"operating_stc_{level}_p"] == pytest.approx(18.4 * volts, rel=1e-9)


def test_drops_raise_the_arrays_voltage_and_not_the_batterys() -> None:
    values = evaluation().all_values(
        example(**FLAT | {"controller_v_drop": 0.3, "run_array_drop_allowed": 3, "run_battery_drop_allowed": 1})
    )
    assert values["operating_stc_absorb_battery"] == 14.4
    assert values["operating_stc_absorb_array"] == pytest.approx(14.4 + 0.3 + 0.04 * 12)
    assert values["operating_stc_absorb_p"] == pytest.approx(18.4 * 14.4, rel=1e-9)


@pytest.mark.parametrize("parallel", [1, 3, 5])
def test_the_drop_of_entered_cables_follows_the_current_that_flows(parallel: int) -> None:
    """The point lies on the curve and on the line of the cables' resistance at once."""
    inputs = whole_example(array_parallel=parallel, module_vmp=16.6, module_pmp=None)
    values = evaluation().all_values(inputs)
    assert values["cable_r"] > 0
    for condition, at in (("stc", (1000.0, 25.0)), ("hot", (1000.0, values["cell_t_hot"]))):
        for level, volts in (("nominal", 24.0), ("absorb", values["battery_v_absorb"]), ("high", values["battery_v_high"])):
            current = values[f"operating_{condition}_{level}_i"]
            array = volts + values["controller_v_drop"] + values["cable_v_assumed"] + current * values["cable_r"]
            assert values[f"operating_{condition}_{level}_array"] == pytest.approx(array)
            assert Curve(inputs, [at], [array / 2]).current(at, array / 2) * parallel == pytest.approx(current, rel=1e-8)


def test_modules_in_series_share_the_voltage() -> None:
    one = evaluation().all_values(example(**FLAT | NO_DROPS))
    two = evaluation().all_values(
        example(
            **FLAT
            | NO_DROPS
            | {"array_series": 2, "battery_nominal": 24, "controller_nominal": 24}
            | {name: 2 * FLAT[name] for name in ("battery_v_low", "battery_v_float", "battery_v_absorb", "battery_v_high")}
        )
    )
    assert two["operating_hot_absorb_i"] == pytest.approx(one["operating_hot_absorb_i"])
    assert two["operating_hot_absorb_p"] == pytest.approx(2 * one["operating_hot_absorb_p"])
    assert two["operating_hot_absorb_share"] == pytest.approx(one["operating_hot_absorb_share"])


def test_mppt_numbers_are_those_worked_by_hand() -> None:
    found = flat(controller_type="MPPT", controller_efficiency=96, controller_i_max=30, controller_start_headroom=4)
    assert found["mppt_i_out"] == pytest.approx(550 * 0.96 / 14.4)  # 36.67 A
    assert found["mppt_i_out_low"] == pytest.approx(550 * 0.96 / 11.4)  # 46.32 A
    assert found["mppt_clipping"] == pytest.approx(1 - 30 * 14.4 / 528)  # 18.2 %
    assert found["mppt_v_needed"] == pytest.approx(18.8)
    # γ is the slope at 25 °C: 40 K higher the curve bends a little, by less than 2 % of the fall
    assert found["array_pmp_hot"] == pytest.approx(2 * 31.2 * 8.8 * (1 - 0.004 * 40), rel=0.004)
    assert found["mppt_p_hot"] == pytest.approx(0.96 * found["array_pmp_hot"])
    assert flat(controller_efficiency=96, controller_i_max=60)["mppt_clipping"] == 0


BINS = {100: 0.04, 200: 0.05, 300: 0.12, 500: 0.21, 750: 0.53, 1000: 0.05}
"""Shares of a year's energy near six irradiances: the weights of the Californian inverter rule, written down once more."""


def gain(currents: dict[int, Any], peaks: dict[int, Any], v_battery: float, efficiency: float, i_max: float) -> Any:
    """Energy of the year is the sum of share × power ÷ irradiance; of both controllers, as a ratio less 1."""
    pwm = sum(share / sun * currents[sun] * v_battery for sun, share in BINS.items())
    mppt = sum(share / sun * np.minimum(peaks[sun] * efficiency, i_max * v_battery) for sun, share in BINS.items())
    return mppt / pwm - 1


@pytest.mark.parametrize(("cells", "nominal", "drop"), [(36, 12, 0.68), (60, 24, 1.16), (60, 12, 0.68), (72, 24, 1.16)])
def test_yearly_gain_is_that_of_pvlib_with_the_sets_parameters(cells: int, nominal: int, drop: float) -> None:
    """drop: 0.2 V in the controller and 4 % of nominal in the cables."""
    modules = of_cells(cells)
    v_float = 13.5 * nominal / 12
    design = design_of(
        modules,
        battery_nominal=nominal,
        controller_nominal=nominal,
        controller_i_max=60,
        site_t_min=-8,
        site_t_max=38,
        battery_v_float=v_float,
        controller_v_drop=0.2,
        controller_efficiency=95,
        run_array_length=None,
        run_battery_length=None,
        run_load_length=None,
    )
    rise = (modules["T_NOCT"].to_numpy() - 20) / 800
    cell = {sun: 15 + rise * sun for sun in BINS}
    currents = {sun: diode_current(modules, v_float + drop, sun, cell[sun]) for sun in BINS}
    peaks = {sun: diode_peak(modules, sun, cell[sun]) for sun in BINS}
    charged = np.sum(list(currents.values()), axis=0) > 0
    assert charged.mean() > 0.98
    found = np.asarray(evaluate(design)["mppt_gain"])
    assert np.isfinite(found[charged]).all()
    assert np.isnan(found[~charged]).all(), "a share of nothing is no number"
    currents = {sun: current[charged] for sun, current in currents.items()}
    peaks = {sun: peak[charged] for sun, peak in peaks.items()}
    found, wanted = found[charged], gain(currents, peaks, v_float, 0.95, 60)
    # the curve's own aims, summed: currents within 2 % of Isc, power within 0.3 %
    assert np.percentile(np.abs((found - wanted) / (1 + wanted)), 95) < 0.02
    assert abs(np.median(found - wanted)) < 0.005


def test_yearly_gain_is_pvlibs_for_the_five_values_found() -> None:
    inputs = example(
        site_t_min=-12,
        site_t_max=34,
        battery_v_float=27,
        controller_efficiency=95,
        controller_i_max=40,
        run_array_length=None,
        run_battery_length=None,
        run_load_length=None,
    )
    values = evaluation().all_values(inputs)
    i0 = values["curve_open_current"] * np.exp(-22.5 / values["curve_a"])
    shunt = 1 / values["shape_step4_g"]
    currents, peaks = {}, {}
    for sun in BINS:
        cell = 11 + (45 - 20) / 800 * sun
        five = pvlib.pvsystem.calcparams_desoto(
            sun,
            cell,
            0.0005 * 9.2,
            values["curve_a"],
            values["curve_light"],
            i0,
            shunt,
            values["curve_r"],
            EgRef=1.121,
            dEgdT=-0.0002677,
        )
        level = (27 + 0.2 + 0.04 * 24) / 2
        currents[sun] = 3 * bishop88_i_from_v(level, *five, method="newton", method_kwargs=EXACT)
        peaks[sun] = 6 * bishop88_mpp(*five, method="newton", method_kwargs=EXACT)[2]
    assert values["mppt_gain"] == pytest.approx(gain(currents, peaks, 27, 0.95, 40), abs=1e-5)


def test_rated_current_of_the_mppt_unit_bounds_its_gain() -> None:
    wide, narrow = flat(controller_i_max=100), flat(controller_i_max=20)
    assert narrow["mppt_gain"] < wide["mppt_gain"]
    assert flat(controller_efficiency=80)["mppt_gain"] < flat(controller_efficiency=98)["mppt_gain"]


def test_the_note_on_use_tells_the_watt_hours_that_are_left() -> None:
    values = evaluation().all_values(example(**FLAT | NO_DROPS))
    sentence = values["meaning_check_utilisation"]
    figure = re.search(r"About ([0-9.]+) Wh a day", sentence)
    assert figure, sentence
    assert float(figure[1]) == pytest.approx((550 - 264.96) * 5, abs=1)


@pytest.mark.parametrize("v", [13.7, 14.4, 14.4321])
def test_the_note_shows_whole_watt_hours(v: float) -> None:
    """A figure in a sentence is read by a person: no digits without meaning, whatever the entries."""
    values = evaluation().all_values(example(**FLAT | {"battery_v_absorb": v, "site_sun_hours": 4.7, "controller_v_drop": 0.21}))
    figure = re.search(r"About (\S+) Wh a day", values["meaning_check_utilisation"])
    assert figure
    assert re.fullmatch("[0-9]+", figure[1]), f"shows {figure[1]}"


def test_a_passing_use_tells_no_watt_hours() -> None:
    values = evaluation().all_values(example())
    assert values["check_utilisation"] == "PASS"
    assert "Wh" not in values["meaning_check_utilisation"]


OF_PWM = ("check_utilisation", "check_vmp_window", "check_hot_afternoon", "check_cold_charge", "check_array_current")
OF_MPPT = ("check_mppt_window", "check_mppt_power")


def test_the_kind_of_controller_switches_its_own_checks_on_and_the_others_off() -> None:
    roomy = {"controller_max_pv_power": 2000}
    pwm, mppt = flat(controller_type="PWM", **roomy), flat(controller_type="MPPT", **roomy)
    for name in OF_PWM:
        assert mppt[name] == "N/A"
        assert pwm[name] in ("PASS", "NOTE", "FAIL")
    for name in OF_MPPT:
        assert pwm[name] == "N/A"
        assert mppt[name] in ("PASS", "NOTE")
    assert flat(controller_type="PWM", **roomy) == pwm


def test_a_curve_is_shown_for_comparison_under_either_controller() -> None:
    assert flat(controller_type="MPPT")["pwm_p_absorb"] == flat(controller_type="PWM")["pwm_p_absorb"]
    assert flat(controller_type="MPPT")["mppt_gain"] == flat(controller_type="PWM")["mppt_gain"]


def test_mppt_window_and_largest_array_are_judged_at_their_limits() -> None:
    vmp = flat()["array_vmp_hot"]
    needed = vmp - 14.8
    assert flat(controller_type="MPPT", controller_start_headroom=needed - 0.001)["check_mppt_window"] == "PASS"
    assert flat(controller_type="MPPT", controller_start_headroom=needed + 0.001)["check_mppt_window"] == "NOTE"
    assert flat(controller_type="MPPT", controller_max_pv_power=550)["check_mppt_power"] == "PASS"
    assert flat(controller_type="MPPT", controller_max_pv_power=549.9)["check_mppt_power"] == "NOTE"
    assert flat(controller_type="MPPT", controller_max_pv_power=None)["check_mppt_power"] == "NOT JUDGED"


def test_use_is_judged_at_three_quarters_of_rated_power() -> None:
    """The lower the battery holds the array, the less of it is used."""
    shares = {v: evaluate(example(battery_v_absorb=v, battery_v_float=25, battery_v_low=22)) for v in (25.5, 27.0, 28.8)}
    for found in shares.values():
        assert found["check_utilisation"] == ("PASS" if found["pwm_utilisation_absorb"] >= 0.75 else "NOTE")
    assert {found["check_utilisation"] for found in shares.values()} == {"PASS", "NOTE"}


@settings(max_examples=40, deadline=None)
@given(
    low=st.floats(25, 31),
    rise=st.floats(0.0, 4.0),
    t_max=st.floats(0, 55),
    drop=st.floats(0, 1.5),
    ratio=st.floats(0.78, 0.84),
    beta=st.sampled_from([None, -0.28, -0.34]),
)
def test_a_higher_battery_voltage_never_raises_the_pwm_current(
    low: float, rise: float, t_max: float, drop: float, ratio: float, beta: float | None
) -> None:
    changes = {
        "site_t_max": t_max,
        "controller_v_drop": drop,
        "module_vmp": 22.5 * ratio,
        "module_pmp": None,
        "battery_v_low": 22,
        "battery_v_float": 24.5,
        "battery_v_high": 33.6,
        "voc_method": "table",
        "module_beta_voc": beta,
    }
    first = evaluate(example(**changes, battery_v_absorb=low))
    second = evaluate(example(**changes, battery_v_absorb=min(low + rise, 32.4)))
    assume(first["pwm_i_absorb"] is not None)
    for name in ("pwm_i_absorb", "pwm_i_absorb_hot"):
        assert second[name] <= first[name] + 1e-9
        assert second[name] >= 0


@settings(max_examples=40, deadline=None)
@given(
    t_max=st.floats(-9, 59),
    hotter=st.floats(0, 40),
    gamma=st.one_of(st.none(), st.floats(-0.55, -0.25)),
    alpha=st.floats(0, 0.1),
    noct=st.floats(36, 59),
)
def test_a_hotter_afternoon_never_raises_the_arrays_voltage(
    t_max: float, hotter: float, gamma: float | None, alpha: float, noct: float
) -> None:
    changes = {"module_gamma_pmp": gamma, "module_alpha_isc": alpha, "module_noct": noct}
    mild = evaluate(example(**changes, site_t_max=t_max))
    hot = evaluate(example(**changes, site_t_max=min(t_max + hotter, 60)))
    assume(mild["array_vmp_hot"] is not None)
    assert hot["array_vmp_hot"] <= mild["array_vmp_hot"] + 1e-9
    assert hot["array_pmp_hot"] <= mild["array_pmp_hot"] + 1e-9
