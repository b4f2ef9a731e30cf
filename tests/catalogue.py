"""The open CEC module set that pvlib ships, and the declared curve driven at any sun, cell temperature and voltage.

Makers' names are left out. pvlib's single diode with the set's own six fitted parameters is the second way to every
current and peak: nothing of it is used by the workbook, which starts from the data sheet alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
import pandas
import pvlib
from pvlib.singlediode import bishop88_i_from_v, bishop88_mpp

from tests.support import example
from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.evaluation.model import Model
from workbook_builder.language.chapters import assembled
from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.sources import cite
from workbook_builder.system import CHAPTERS
from workbook_builder.system.module.curve_steps import condition_columns, current_columns, given_condition, peak_columns, peak_steps, steps

NOMINAL = {36: 12, 60: 24, 72: 24}
"""Battery voltage with which modules of so many cells are usually charged."""

SHEET = {
    "module_voc": "V_oc_ref",
    "module_isc": "I_sc_ref",
    "module_vmp": "V_mp_ref",
    "module_imp": "I_mp_ref",
    "module_beta_voc": "beta_oc",
    "module_gamma_pmp": "gamma_r",
    "module_cells": "N_s",
    "module_noct": "T_NOCT",
}
"""What a data sheet would give of a record; its rated power is left to Vmp × Imp."""


@cache
def records() -> pandas.DataFrame:
    """Every record of crystalline silicon, numbers only, in the order of the set."""
    everything = pvlib.pvsystem.retrieve_sam("CECMod").T
    crystalline = everything["Technology"].astype(str).str.endswith("c-Si").to_numpy()
    columns = [*SHEET.values(), "alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_s", "R_sh_ref", "Adjust"]
    return everything.loc[crystalline, columns].astype(float).reset_index(drop=True)


def sane(modules: pandas.DataFrame) -> np.ndarray:
    """Which records could be data sheets of crystalline modules at all: judged here, not by the workbook's own ranges."""
    one = modules
    good = (one["V_mp_ref"] < one["V_oc_ref"]) & (one["V_mp_ref"] > one["V_oc_ref"] / 2)
    good &= (one["I_mp_ref"] < one["I_sc_ref"]) & (one["I_mp_ref"] > one["I_sc_ref"] / 2)
    good &= one["V_mp_ref"] * one["I_mp_ref"] < 0.9 * one["V_oc_ref"] * one["I_sc_ref"]
    good &= (one["beta_oc"] / one["V_oc_ref"]).between(-0.006, -0.001) & one["gamma_r"].between(-0.7, -0.1)
    good &= (one["alpha_sc"] / one["I_sc_ref"]).between(-0.0005, 0.002)
    return np.asarray(good)


@cache
def of_cells(cells: int) -> pandas.DataFrame:
    """The sane records of that number of cells."""
    chosen = records()[(records()["N_s"] == cells) & sane(records())]
    return chosen.reset_index(drop=True)


def sheet_of(modules: pandas.DataFrame | pandas.Series) -> dict[str, Any]:
    """The module's entries: arrays for many records, numbers for one. α of the set is in A/°C, β in V/°C."""
    fields: dict[str, Any] = {name: modules[column] for name, column in SHEET.items()}
    fields["module_alpha_isc"] = modules["alpha_sc"] / modules["I_sc_ref"] * 100
    if isinstance(modules, pandas.DataFrame):
        fields = {name: value.to_numpy() for name, value in fields.items()}
    else:
        fields = {name: float(value) for name, value in fields.items()}
    return fields | {"module_beta_unit": "V/°C", "module_pmp": None}


def design_of(modules: pandas.DataFrame | pandas.Series, **changes: Any) -> dict[str, Any]:
    """A whole design: the invented example with that module, one in series and one in parallel unless changed."""
    whole = example() | {"array_series": 1, "array_parallel": 1} | sheet_of(modules) | changes
    return {name: value for name, value in whole.items() if value is not None}


def _parameters(modules: pandas.DataFrame, sun: float, t_cell: Any) -> list[np.ndarray]:
    one = modules
    found = pvlib.pvsystem.calcparams_cec(
        sun,
        np.asarray(t_cell, dtype=float),
        *(one[name].to_numpy() for name in ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust")),
    )
    return [np.broadcast_to(value, (len(one),)) for value in found]


EXACT = {"tol": 1e-13, "maxiter": 200}
"""pvlib's own limits of its searches would show as differences of 1e-6 A."""


def diode_current(modules: pandas.DataFrame, v: Any, sun: float, t_cell: Any) -> np.ndarray:
    """pvlib's current of each module at voltage v, never below 0."""
    volts = np.broadcast_to(np.asarray(v, dtype=float), (len(modules),))
    current = bishop88_i_from_v(volts, *_parameters(modules, sun, t_cell), method="newton", method_kwargs=EXACT)
    return np.asarray(np.maximum(0, current))


def diode_peak(modules: pandas.DataFrame, sun: float, t_cell: Any) -> np.ndarray:
    """pvlib's maximum power of each module."""
    return np.asarray(bishop88_mpp(*_parameters(modules, sun, t_cell), method="newton", method_kwargs=EXACT)[2])


Condition = tuple[float, float]
"""Irradiance in W/m² and cell temperature in °C."""
Volts = float | str
"""A module voltage, or the name of the model's value that holds it."""


def _probe(conditions: Sequence[Condition], volts: Sequence[Volts]) -> Part:
    """A chapter of its own with the declared columns of the curve at given (sun, cell temperature) and voltages."""
    chapter = Part("probe", "Probe", "The declared curve at conditions that a test chooses.", sheet="Curve")
    source = cite("de-soto")
    numbers = {"sun": ("sun", "W/m²"), "t_cell": ("cell temperature", "°C")}
    rows = tuple(Row(f"c{n}", f"{at}", numbers={"sun": at[0], "t_cell": at[1]}) for n, at in enumerate(conditions))
    where = chapter.grid(Grid("probe", "Conditions", "", source, rows, "Curve", numbers=numbers))
    condition_columns(where)
    # the module alone: no cable in its loop
    at_row = [given_condition(f"c{n}", "probe") | {"loop_r": "curve_r"} for n in range(len(conditions))]
    peak_rows = tuple(row for n, given in enumerate(at_row) for row in peak_steps(f"c{n}", f"condition {n}", given))
    peak_columns(chapter.grid(Grid("probe_peak", "Peaks", "", source, peak_rows, "Curve")))
    search_rows = tuple(
        row
        for n, given in enumerate(at_row)
        for m, v in enumerate(volts)
        for named, number in [({"v": v}, {}) if isinstance(v, str) else ({}, {"v": float(v)})]
        for row in steps(f"c{n}v{m}", f"condition {n}, voltage {m}", given | named, number)
    )
    current_columns(chapter.grid(Grid("probe_search", "Currents", "", source, search_rows, "Curve")))
    return chapter


@cache
def _probe_model(conditions: tuple[Condition, ...], volts: tuple[Volts, ...]) -> Evaluation:
    return Evaluation(Model((*CHAPTERS, *assembled([_probe(conditions, volts)])), load_profile("nec-2023")))


class Curve:
    """The declared curve of one design (or many at once) at chosen conditions and module voltages."""

    def __init__(self, inputs: Mapping[str, Any], conditions: Sequence[Condition], volts: Sequence[Volts] = (0.0,)) -> None:
        self.values = _probe_model(tuple(conditions), tuple(volts)).all_values(inputs)
        self._conditions, self._volts = list(conditions), list(volts)

    def current(self, condition: Condition, v: Volts) -> Any:
        n, m = self._conditions.index(condition), self._volts.index(v)
        return self.values[f"probe_search_c{n}v{m}_i"]

    def peak(self, condition: Condition, name: str = "pmp") -> Any:
        return self.values[f"probe_peak_c{self._conditions.index(condition)}_{name}"]

    def condition(self, condition: Condition, name: str) -> Any:
        return self.values[f"probe_c{self._conditions.index(condition)}_{name}"]
