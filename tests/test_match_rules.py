"""Rules of the match in words that need no numbers: what is doubtful or worse never reads better; and rows in °F."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import evaluate
from tests.support import example
from workbook_builder.language.typed_units import number_in_unit

# the table 690.7(A) as it is printed in °F: lowest whole degree of each row, and its factor
FAHRENHEIT = {68: 1.02, 59: 1.04, 50: 1.06, 41: 1.08, 32: 1.10, 23: 1.12, 14: 1.14, 5: 1.16, -4: 1.18, -13: 1.20, -22: 1.21, -31: 1.23}
COLDEST = {-40: 1.25}
ORDER = ("FAIL", "NOT JUDGED", "INCOMPLETE", "NOTE", "N/A", "PASS")


@pytest.mark.parametrize(("edge", "factor"), (FAHRENHEIT | COLDEST).items())
def test_whole_degrees_fahrenheit_fall_into_the_row_that_the_code_prints(edge: int, factor: float) -> None:
    above = min((other for other in (*FAHRENHEIT, 77) if other > edge), default=77)
    degrees = np.array([number_in_unit(f"{value} degF", "°C") for value in range(edge, above)])
    found = evaluate(example() | {"site_t_min": degrees, "voc_method": "table"})["voc_factor_table"]
    assert list(found) == [factor] * len(degrees)


@settings(max_examples=60, deadline=None)
@given(
    beta=st.floats(-0.6, -0.1),
    method=st.sampled_from(["coefficient", "table", "higher of both", None]),
    t_min=st.floats(-60, 30),
)
def test_a_coefficient_that_is_not_plausible_decides_nothing_alone(beta: float, method: str | None, t_min: float) -> None:
    found = evaluate(example(module_beta_voc=beta, voc_method=method, site_t_min=t_min, site_t_max=40, controller_v_max=1000))
    if found["check_coefficient"] == "PASS":
        assert found["voc_method_used"] == found["voc_method"]
        return
    assert found["check_coefficient"] == "NOTE"
    if found["voc_factor_table"] is not None:
        assert found["voc_factor"] == max(found["voc_factor_table"], found["voc_factor_coefficient"])
    elif beta > found["beta_weakest"] if "beta_weakest" in found else beta > -0.18:
        assert found["voc_factor"] is None
        assert found["check_cold_voltage"] == "INCOMPLETE"
    else:
        assert found["voc_factor"] >= found["voc_factor_coefficient"]


@pytest.mark.parametrize("nominal", [12, 24, 36, 48])
@pytest.mark.parametrize("setting", ["automatic", 12, 24, 36, 48])
def test_a_controller_that_serves_or_finds_less_never_reads_better(nominal: int, setting: object) -> None:
    given_design = {"battery_nominal": nominal, "controller_nominal": setting, "controller_v_max": 300}
    by_served = [evaluate(example(**given_design, controller_nominal_max=highest))["check_voltage_served"] for highest in (48, 36, 24, 12)]
    ranks = [ORDER.index(verdict) for verdict in by_served]
    assert ranks == sorted(ranks, reverse=True)
    finds = ("12 and 24 and 36 and 48 V", "12 and 24 and 48 V", "12 and 24 V")
    by_found = [evaluate(example(**given_design, controller_finds=one))["check_voltage_found"] for one in finds]
    ranks = [ORDER.index(verdict) for verdict in by_found]
    assert ranks == sorted(ranks, reverse=True)
    blank = evaluate(example(**given_design, controller_nominal_max=None, controller_finds=None))
    assert blank["check_voltage_served"] == "NOT JUDGED"
    assert blank["check_voltage_found"] == ("NOT JUDGED" if setting == "automatic" else "N/A")


@given(carried=st.floats(0.02, 1.6))
@settings(max_examples=30, deadline=None)
def test_the_share_of_a_clear_day_that_is_cut_off_is_that_of_a_day_summed_minute_by_minute(carried: float) -> None:
    mppt = {"controller_type": "MPPT", "controller_v_max": 150}
    noon = evaluate(example(**mppt))["clear_i_noon"]
    found = evaluate(example(**mppt | {"controller_i_max": carried * noon}))
    sun = np.sin((np.arange(20000) + 0.5) / 20000 * np.pi)
    assert found["mppt_cut_day"] == pytest.approx(1 - np.minimum(sun, carried).sum() / sun.sum(), abs=1e-6)
    assert found["check_mppt_clipping"] == ("NOTE" if found["mppt_cut_day"] > 0.1 else "PASS")


def test_a_smaller_mppt_controller_never_cuts_less_and_a_hotter_afternoon_never_gives_more_current() -> None:
    mppt = example(controller_type="MPPT", controller_v_max=150)
    cut = evaluate(mppt | {"controller_i_max": np.linspace(60, 2, 30)})["mppt_cut_day"]
    assert np.all(np.diff(cut) >= 0)
    shares = evaluate(example() | {"site_t_max": np.linspace(34, 60, 14)})["charge_share_hot"]
    assert np.all(np.diff(shares) <= 1e-9)


def test_a_higher_controller_limit_never_lowers_the_margin() -> None:
    found = evaluate(example() | {"controller_v_max": np.linspace(45, 100, 50)})
    assert np.all(np.diff(found["voltage_margin"]) > 0)
    assert all(
        (verdict == "NOTE") == (margin < 0.02)
        for verdict, margin in zip(found["check_voltage_margin"], found["voltage_margin"], strict=True)
    )


@pytest.mark.parametrize("kind", ["PWM", "MPPT"])
def test_a_blank_short_circuit_limit_is_asked_for_only_where_it_is_needed(kind: str) -> None:
    strings = np.arange(1.0, 11.0)
    found = evaluate(example(controller_type=kind, controller_i_sc_max=None, controller_v_max=150) | {"array_parallel": strings})
    beyond = found["array_isc_max"] > found["controller_i_max"]
    wanted = np.where(beyond & (kind == "MPPT"), "NOT JUDGED", "N/A")
    assert list(found["check_short_circuit"]) == list(wanted)
