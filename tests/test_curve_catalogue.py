"""The curve of every 36-, 60- and 72-cell module of the open set against pvlib, and through real workbooks."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas
import pytest

from tests import strategies
from tests.answers import evaluate
from tests.catalogue import NOMINAL, Condition, Curve, design_of, diode_current, diode_peak, of_cells, records, sane
from tests.compared import numbered, wrong_in
from tests.engines import engine, same
from tests.engines.formulas_engine import FormulasEngine
from tests.support import entries, evaluation, model, write_stale

ABSORB = 14.4
"""Volts for each 12 V of battery."""

# 95th percentile of |error| in % of Isc: cells in series, cell temperature, the limit of this project's aim, and the figure
# measured when the curve was designed with a little room, so that a step back is seen long before the aim is missed.
ACCURACY = [
    (36, 25.0, 2.0, 1.6),
    (36, 40.0, 2.0, 1.0),
    (36, 55.0, 2.0, 0.6),
    (36, 70.0, 2.0, 1.0),
    (72, 25.0, 2.0, 1.6),
    (72, 40.0, 2.0, 1.2),
    (72, 55.0, 2.0, 0.5),
    (72, 70.0, 2.0, 0.6),
    (60, 60.0, 6.0, 1.6),
    (60, 70.0, 6.0, 2.6),
]
TEMPERATURES = (25.0, 40.0, 55.0, 60.0, 70.0)


@cache
def curve_of(cells: int) -> Curve:
    v = ABSORB * NOMINAL[cells] / 12
    return Curve(design_of(of_cells(cells)), tuple((1000.0, t) for t in TEMPERATURES), (v,))


def current_errors(cells: int, t_cell: float) -> np.ndarray:
    """In % of each module's Isc; NaN where the curve was refused."""
    v, condition = ABSORB * NOMINAL[cells] / 12, (1000.0, t_cell)
    wanted = diode_current(of_cells(cells), v, *condition)
    return np.asarray((curve_of(cells).current(condition, v) - wanted) / of_cells(cells)["I_sc_ref"].to_numpy() * 100)


def test_the_set_is_whole() -> None:
    assert {cells: len(of_cells(cells)) > least for cells, least in ((36, 250), (60, 9000), (72, 8500))} == {
        36: True,
        60: True,
        72: True,
    }
    assert sane(records()).mean() > 0.99


@pytest.mark.parametrize("cells", [36, 60, 72])
def test_no_sane_module_is_refused(cells: int) -> None:
    assert np.asarray(curve_of(cells).values["curve_ok"] == 1).all()


@pytest.mark.parametrize(("cells", "t_cell", "aim", "measured"), ACCURACY)
def test_current_at_the_battery_is_pvlibs(cells: int, t_cell: float, aim: float, measured: float) -> None:
    errors = np.abs(current_errors(cells, t_cell))
    assert np.isfinite(errors).all()
    worst = np.percentile(errors, 95)
    assert worst <= aim
    assert worst <= measured, "within the aim, but worse than when the curve was designed"


@pytest.mark.parametrize("t_cell", TEMPERATURES)
@pytest.mark.parametrize("cells", [36, 60, 72])
def test_maximum_power_is_pvlibs(cells: int, t_cell: float) -> None:
    condition: Condition = (1000.0, t_cell)
    modules = of_cells(cells)
    rated = (modules["V_mp_ref"] * modules["I_mp_ref"]).to_numpy()
    errors = np.abs(curve_of(cells).peak(condition) - diode_peak(modules, *condition)) / rated * 100
    assert np.percentile(errors, 95) <= 0.3  # measured: 0.21
    assert errors.max() <= 1.0


def battery(nominal: int) -> dict[str, Any]:
    return {"battery_nominal": nominal, "controller_nominal": nominal}


def test_a_60_cell_module_gives_a_12_volt_battery_a_third_to_a_half_of_its_rating() -> None:
    values = evaluation().all_values(design_of(of_cells(60), **battery(12)))
    share = np.asarray(values["operating_stc_nominal_share"])
    assert ((share >= 0.30) & (share <= 0.50)).mean() >= 0.99


@pytest.mark.parametrize("cells", [36, 72])
def test_a_module_whose_voltage_fits_the_battery_gives_three_quarters_of_its_rating(cells: int) -> None:
    modules, nominal = of_cells(cells), NOMINAL[cells]
    fits = (modules["V_mp_ref"] / nominal * 12).between(16, 19).to_numpy()
    assert fits.mean() > 0.75
    judged = evaluate(design_of(modules, **battery(nominal)))
    assert (np.asarray(judged["pwm_utilisation_absorb"])[fits] > 0.75).all()
    assert (np.asarray(judged["check_utilisation"])[fits] == "PASS").all()


def _voltage(**factors: float) -> Callable[[pandas.DataFrame], dict[str, Any]]:
    """Replace Vmp by a share of Voc, or Imp by a share of Isc."""

    def change(one: pandas.DataFrame) -> dict[str, Any]:
        changed = {"module_vmp": factors["vmp"] * one["V_oc_ref"].to_numpy()} if "vmp" in factors else {}
        return changed | ({"module_imp": factors["imp"] * one["I_sc_ref"].to_numpy()} if "imp" in factors else {})

    return change


JUNK: dict[str, Callable[[pandas.DataFrame], dict[str, Any]]] = {
    "Vmp equal to Voc": _voltage(vmp=1.0),
    "Vmp above Voc": _voltage(vmp=1.1),
    "Vmp half of Voc": _voltage(vmp=0.5),
    "Vmp a third of Voc": _voltage(vmp=1 / 3),
    "Imp equal to Isc": _voltage(imp=1.0),
    "Imp above Isc": _voltage(imp=1.05),
    "Imp a third of Isc": _voltage(imp=1 / 3),
    "fill factor 0.905": _voltage(vmp=0.905 / 0.96, imp=0.96),
    "fill factor 0.97": _voltage(vmp=0.99, imp=0.98),
    "β of the wrong sign": lambda one: {"module_beta_voc": -one["beta_oc"].to_numpy()},
    "γ of the wrong sign": lambda one: {"module_gamma_pmp": -one["gamma_r"].to_numpy()},
    "γ as a fraction": lambda one: {"module_gamma_pmp": one["gamma_r"].to_numpy() / 100},
    "Voc and Vmp exchanged": lambda one: {
        "module_voc": one["V_mp_ref"].to_numpy(),
        "module_vmp": one["V_oc_ref"].to_numpy(),
    },
    "Isc and Imp exchanged": lambda one: {
        "module_isc": one["I_mp_ref"].to_numpy(),
        "module_imp": one["I_sc_ref"].to_numpy(),
    },
}
ON_THE_CURVE = ("array_vmp_hot", "array_vmp_cold", "array_pmp_hot", "mppt_p_hot", "mppt_gain", "curve_r", "curve_a")
REFUSING = "No curve of crystalline silicon"


@cache
def some() -> pandas.DataFrame:
    """Modules of every number of cells, spread over the set."""
    rows = np.flatnonzero(sane(records()))
    return records().iloc[rows[np.linspace(0, len(rows) - 1, 500).astype(int)]].reset_index(drop=True)


@pytest.mark.parametrize("junk", JUNK)
def test_junk_never_yields_a_number_and_is_always_told(junk: str) -> None:
    judged = evaluate(design_of(some(), **JUNK[junk](some())))
    names = [name for name in judged if name.startswith("pwm_")] + list(ON_THE_CURVE)
    assert len(names) > 8
    for name in names:
        numbers = np.broadcast_to(np.asarray(judged[name], dtype=float), (len(some()),))
        assert np.isnan(numbers).all(), f"{name}: {np.flatnonzero(~np.isnan(numbers))[:5]}"
    told = np.zeros(len(some()), dtype=bool)
    for name, status in judged.items():
        if name.startswith("status_module_"):
            told |= ~np.isin(np.broadcast_to(np.asarray(status), told.shape), ["entered", "default"])
    told |= np.char.startswith(np.broadcast_to(np.asarray(judged["curve_note"]), told.shape).astype(str), REFUSING)
    assert told.all()
    assert not np.isin(judged["verdict"], ["PASS", "PASS WITH NOTES"]).any()


@pytest.mark.parametrize("junk", JUNK)
def test_junk_in_one_design_is_told_in_words(junk: str) -> None:
    modules = some().iloc[::100].reset_index(drop=True)
    changes = JUNK[junk](modules)
    for row in range(len(modules)):
        inputs = design_of(modules.iloc[row], **{name: float(value[row]) for name, value in changes.items()})
        values = evaluation().all_values(inputs)
        refused = [name for name in inputs if values[f"status_{name}"] not in ("entered", "default")]
        assert refused or values["curve_note"].startswith(REFUSING)
        assert all(len(str(values[f"echo_{name}"])) > 10 for name in refused)
        assert evaluate(inputs)["pwm_p_absorb"] is None


@pytest.mark.parametrize(("fill", "accepted"), [(0.899, True), (0.9, False), (0.901, False)])
def test_an_impossible_fill_factor_is_refused_at_the_entry_itself(fill: float, accepted: bool) -> None:
    imp = 0.95 * some()["I_sc_ref"].to_numpy()
    vmp = fill / 0.95 * some()["V_oc_ref"].to_numpy() * (1 + 1e-9)
    status = np.asarray(evaluate(design_of(some(), module_vmp=vmp, module_imp=imp))["status_module_imp"])
    assert ((status == "entered") == accepted).all()


def test_junk_yields_no_number_in_the_cells_either(tmp_path: Path) -> None:
    one = some().iloc[[250]]
    cases = [design_of(one.iloc[0], **{name: float(value[0]) for name, value in JUNK[junk](one).items()}) for junk in JUNK]
    book = engine("libreoffice").open(write_stale(tmp_path / "stale.xlsx"))
    on_the_curve = [name for name in book.map.cell_names() if name.startswith("pwm_")] + list(ON_THE_CURVE)
    with book:
        shown = book.recalculate_many([entries(design) for design in cases], [*on_the_curve, "verdict"])
        wrong = wrong_in(engine("libreoffice"), book, dict(zip(JUNK, cases, strict=True)))
    assert not wrong
    for junk, found in zip(JUNK, shown, strict=True):
        assert {found[name] for name in on_the_curve} == {""}, junk
        assert found["verdict"] in ("INCOMPLETE", "FAIL")


SPREAD = 204
"""Modules through real workbooks."""


@cache
def designs() -> tuple[dict[str, Any], ...]:
    """Modules spread over the whole set, sane or not; batteries, kinds of controller and blanks in turn."""
    rows = np.linspace(0, len(records()) - 1, SPREAD).astype(int)
    found = []
    for turn, row in enumerate(rows):
        blanks: dict[str, Any] = {"module_gamma_pmp": None} if turn % 5 == 1 else {}
        blanks |= {"module_beta_voc": None, "voc_method": "table"} if turn % 7 == 2 else {}
        found.append(
            design_of(
                records().iloc[row],
                **battery((12, 24, 36, 48)[turn % 4]),
                **blanks,
                array_series=1 + turn % 3,
                controller_type="MPPT" if turn % 3 == 1 else "PWM",
                site_t_max=20 + turn % 4 * 10,
            )
        )
    return tuple(found)


@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
def test_every_formula_cell_agrees_for_modules_of_the_set(name: str, tmp_path: Path) -> None:
    with engine(name).open(write_stale(tmp_path / "stale.xlsx")) as book:
        assert not wrong_in(engine(name), book, numbered(strategies.some(designs()[:: 1 if name == "libreoffice" else 4], 2)))


def test_the_results_of_the_curve_agree_for_some_of_these_modules_in_formulas(tmp_path: Path) -> None:
    """The slowest engine is given the formulas on which these results rest, each as it stands in the workbook.

    A few modules; in a thorough run a dozen, with each battery, kind of controller and blank among them.
    """
    some_designs = strategies.some(designs()[::17], 4)
    names = [name for name in model().nodes if name.startswith("pwm_")]
    names += [name for name in ON_THE_CURVE if name != "mppt_gain"]  # it rests on twelve months of cells
    chosen = engine("formulas")
    assert isinstance(chosen, FormulasEngine)
    wrong: list[str] = []
    with chosen.open_part(write_stale(tmp_path / "stale.xlsx"), names) as book:
        for design, shown in zip(some_designs, book.recalculate_many([entries(one) for one in some_designs], names), strict=True):
            values = evaluation().all_values(design)
            wrong += [f"{name}: {shown[name]}, {values[name]}" for name in names if not same(shown[name], values[name])]
    assert not wrong, f"{len(wrong)} values: {'; '.join(wrong[:12])}"
