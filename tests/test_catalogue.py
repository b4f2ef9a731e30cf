"""Thousands of real modules: the judgement against one computed here from the open data set, with numpy and pvlib.

The data set is the one of the California Energy Commission that pvlib ships; its makers' names are not shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas
import pvlib
import pytest

from tests.answers import evaluate
from tests.compared import differences, numbered, wrong_in
from tests.engines import engine
from tests.support import example, model, write_stale
from workbook_builder.file.building import build

CELLS = (36, 60, 72)
T_MIN, T_MAX, MILD, FULL_SUN = -17.0, 41.0, 20.0, 1000.0
SERIES, STRINGS = 2, 3
IN_WORKBOOKS = 8
"""Of each number of cells."""
ACCURACY = 1e-9
"""Relative: both sides are a few multiplications of doubles."""

COLUMNS = {
    "module_pmp": "STC",
    "module_voc": "V_oc_ref",
    "module_isc": "I_sc_ref",
    "module_vmp": "V_mp_ref",
    "module_imp": "I_mp_ref",
    "module_beta_voc": "beta_oc",
    "module_gamma_pmp": "gamma_r",
    "module_cells": "N_s",
    "module_noct": "T_NOCT",
}
DIODE = ["a_ref", "I_L_ref", "I_o_ref", "R_s", "R_sh_ref", "Adjust"]
SURROUNDINGS: dict[str, Any] = {
    "array_series": SERIES,
    "array_parallel": STRINGS,
    "site_t_min": T_MIN,
    "site_t_max": T_MAX,
    "site_place": "dwelling",
    "module_beta_unit": "V/°C",
    "module_max_system_voltage": 90.0,
    "controller_v_max": 100.0,
    "controller_i_max": 30.0,
    "controller_i_sc_max": 34.0,
    "controller_ocp": 30.0,
}
ROOMY: dict[str, Any] = {
    "array_series": 1,
    "array_parallel": 1,
    "site_t_min": T_MIN,
    "site_t_max": MILD,
    "module_beta_unit": "V/°C",
    "module_max_system_voltage": 1000.0,
    "controller_v_max": 500.0,
    "controller_i_max": 200.0,
    "controller_ocp": None,
    "controller_i_sc_max": None,
    "battery_nominal": 12,
    "controller_nominal": 12,
    "battery_t_min": MILD,
    "battery_t_max": MILD,
    "devices_v_min": None,
    "inverter_v_low": 10.5,
}
"""Equipment with which no module of the catalogue fails a safety check, so that a refused figure decides."""


@cache
def catalogue() -> pandas.DataFrame:
    """Every module of 36, 60 or 72 cells, in the order of the data set."""
    everything = pvlib.pvsystem.retrieve_sam("CECMod").T.reset_index(drop=True)
    numeric = everything[[*COLUMNS.values(), "alpha_sc", *DIODE]].astype(float)
    return numeric[numeric["N_s"].isin(CELLS)].reset_index(drop=True)


def design_of(modules: pandas.DataFrame | pandas.Series, surroundings: Mapping[str, Any] = SURROUNDINGS) -> dict[str, Any]:
    """The entries for one module, or arrays for many: the record's α is in A/°C, its β in V/°C, its γ in %/°C."""
    many = isinstance(modules, pandas.DataFrame)
    fields = {name: modules[column] for name, column in COLUMNS.items()}
    fields["module_alpha_isc"] = modules["alpha_sc"] / modules["I_sc_ref"] * 100
    return example(**surroundings) | {name: value.to_numpy() if many else float(value) for name, value in fields.items()}


@cache
def judged() -> dict[str, Any]:
    return dict(evaluate(design_of(catalogue())))


@cache
def accepted() -> np.ndarray:
    """Which records lie within the ranges that the workbook accepts, written down here once more."""
    one = catalogue()
    beta = one["beta_oc"] / one["V_oc_ref"] * 100
    alpha = one["alpha_sc"] / one["I_sc_ref"] * 100
    product = one["V_mp_ref"] * one["I_mp_ref"]
    good = one["STC"].between(5, 900) & (one["STC"] / product).between(0.97, 1.03)
    good &= one["V_oc_ref"].between(1.5, 400) & one["I_sc_ref"].between(0.1, 40)
    good &= one["V_mp_ref"].between(1, 350) & (one["V_mp_ref"] < one["V_oc_ref"])
    good &= one["I_mp_ref"].between(0.1, 40) & (one["I_mp_ref"] < one["I_sc_ref"])
    good &= beta.between(-0.6, -0.1) & alpha.between(-0.05, 0.2) & one["gamma_r"].between(-0.7, -0.1)
    good &= one["T_NOCT"].between(35, 60) & one["N_s"].between(1, 200)
    return np.asarray(good)


def cold_voltage() -> np.ndarray:
    one = catalogue()
    volts = one["V_oc_ref"] + one["beta_oc"] * (T_MIN - 25)
    return np.asarray(SERIES * np.maximum(volts, one["V_oc_ref"]))


def of_the_accepted(name: str) -> np.ndarray:
    found: np.ndarray = np.asarray(judged()[name])[accepted()]
    return found


def close(name: str, wanted: np.ndarray) -> bool:
    return bool(np.allclose(of_the_accepted(name), np.asarray(wanted)[accepted()], rtol=ACCURACY, atol=0))


def test_the_catalogue_is_large_and_holds_good_and_bad_records_of_every_size() -> None:
    cells = catalogue()["N_s"].to_numpy()
    assert all((cells[accepted()] == number).sum() > 100 for number in CELLS)
    assert accepted().sum() > 10_000
    assert (~accepted()).sum() > 10


def test_cold_voltage_is_that_of_the_records_coefficient() -> None:
    assert close("array_voc_cold", cold_voltage())


def test_currents_and_voltages_are_those_of_the_record() -> None:
    one = catalogue()
    assert close("array_isc", STRINGS * one["I_sc_ref"])
    assert close("array_isc_max", 1.25 * STRINGS * one["I_sc_ref"])
    assert close("array_imp", STRINGS * one["I_mp_ref"])
    assert close("array_vmp", SERIES * one["V_mp_ref"])
    assert close("array_pmp", SERIES * STRINGS * one["STC"])


def test_hot_cells_are_those_of_pvlib() -> None:
    hot = pvlib.temperature.ross(FULL_SUN, T_MAX, noct=catalogue()["T_NOCT"])
    assert close("cell_t_hot", hot)


def test_hot_voltage_is_near_that_of_the_records_diode_model() -> None:
    """The record has five fitted parameters, the workbook the data sheet only: they may differ by a few per cent."""
    every_tenth = np.flatnonzero(accepted())[::10]
    one = catalogue().iloc[every_tenth]
    hot = pvlib.temperature.ross(FULL_SUN, T_MAX, noct=one["T_NOCT"])
    parameters = pvlib.pvsystem.calcparams_cec(
        FULL_SUN,
        hot,
        one["alpha_sc"],
        one["a_ref"],
        one["I_L_ref"],
        one["I_o_ref"],
        one["R_sh_ref"],
        one["R_s"],
        one["Adjust"],
    )
    volts = pvlib.pvsystem.max_power_point(*(np.asarray(part, dtype=float) for part in parameters))["v_mp"]
    deviation = np.asarray(judged()["array_vmp_hot"])[every_tenth] / (SERIES * np.asarray(volts)) - 1
    assert np.isfinite(deviation).all()
    assert abs(np.median(deviation)) < 0.002
    assert np.percentile(np.abs(deviation), 95) < 0.01


@pytest.mark.parametrize(
    ("check", "within"),
    [
        ("check_cold_voltage", lambda volts: volts < 100.0),
        ("check_module_voltage", lambda volts: volts <= 90.0),
        ("check_code_voltage", lambda volts: volts <= 600.0),
    ],
)
def test_verdicts_on_voltage_are_those_of_the_cold_voltage(check: str, within: Any) -> None:
    wanted = np.where(within(cold_voltage()), "PASS", "FAIL")[accepted()]
    assert (of_the_accepted(check) == wanted).all()
    assert check == "check_code_voltage" or {"PASS", "FAIL"} == set(wanted)


def test_verdicts_on_current_are_those_of_the_short_circuit_current() -> None:
    current = STRINGS * catalogue()["I_sc_ref"].to_numpy()[accepted()]
    code = 1.25 * current
    wanted = np.where(current >= 30, "FAIL", np.where(code <= 30, "PASS", "NOTE"))
    ties = np.abs(code - 30) < 1e-6
    assert {"PASS", "FAIL", "NOTE"} == set(wanted)
    assert (of_the_accepted("check_array_current") == wanted)[~ties].all()
    assert (of_the_accepted("check_short_circuit") == np.where(code <= 34, "PASS", "FAIL"))[~ties].all()
    assert (of_the_accepted("check_input_protection") == np.where(code < 30, "PASS", "FAIL"))[~ties].all()


def test_a_module_is_named_by_its_number_of_cells() -> None:
    classes = {36: "12 V class", 60: "between the 12 V and 24 V classes", 72: "24 V class"}
    wanted = [classes[int(number)] for number in catalogue()["N_s"].to_numpy()[accepted()]]
    assert of_the_accepted("module_class").tolist() == wanted


def test_a_record_within_the_ranges_is_judged_and_one_without_never_passes() -> None:
    verdict = np.asarray(judged()["verdict"])
    failed = np.zeros(verdict.shape, dtype=bool)
    for check in model().checks:
        failed |= np.asarray(judged()[check.name]) == "FAIL"
    assert (verdict[failed] == "FAIL").all()
    assert (verdict[~accepted() & ~failed] == "INCOMPLETE").all()
    assert not (np.asarray(judged()["verdict_match"])[accepted()] == "INCOMPLETE").any()


def test_with_roomy_equipment_a_refused_figure_alone_makes_the_design_incomplete() -> None:
    answer = evaluate(design_of(catalogue(), ROOMY))
    assert set(np.asarray(answer["verdict"])[~accepted()]) == {"INCOMPLETE"}
    assert set(np.asarray(answer["verdict_match"])[accepted()]) <= {"PASS", "PASS WITH NOTES"}


def test_what_rests_on_a_refused_figure_is_not_judged() -> None:
    statuses = {name: np.asarray(judged()[f"status_{name}"]) for name in COLUMNS}
    refused = np.array([status == "out of range" for status in statuses.values()])
    alpha = np.asarray(judged()["status_module_alpha_isc"]) == "out of range"
    assert ((refused.any(axis=0) | alpha) == ~accepted()).all()
    beta = statuses["module_beta_voc"] == "out of range"
    assert (np.asarray(judged()["check_cold_voltage"])[beta] == "INCOMPLETE").all()


@cache
def chosen() -> tuple[dict[str, Any], ...]:
    """Modules spread evenly over the data set, and records that are refused, each a whole design."""
    one, picked = catalogue(), []
    for number in CELLS:
        rows = np.flatnonzero(accepted() & (one["N_s"] == number))
        picked += list(rows[np.linspace(0, len(rows) - 1, IN_WORKBOOKS).astype(int)])
    bad = np.flatnonzero(~accepted())
    picked += list(bad[np.linspace(0, len(bad) - 1, IN_WORKBOOKS).astype(int)])
    return tuple(design_of(one.iloc[row]) for row in picked)


@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
def test_every_cell_agrees_for_modules_of_the_catalogue(name: str, tmp_path: Path) -> None:
    assert len(chosen()) >= 20
    with engine(name).open(write_stale(tmp_path / "stale.xlsx")) as book:
        assert not wrong_in(engine(name), book, numbered(chosen()))


def test_a_workbook_built_for_a_module_of_the_catalogue_recalculates_to_the_same(tmp_path: Path) -> None:
    for place, design in enumerate(chosen()[::IN_WORKBOOKS]):
        built = build(design, tmp_path / f"module-{place}.xlsx")
        with engine("libreoffice").open(built.path) as book:
            found = book.formula_values({})
        assert not differences(engine("libreoffice"), found, design)
        assert built.verdict == evaluate(design)["verdict"]
