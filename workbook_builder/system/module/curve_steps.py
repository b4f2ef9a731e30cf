"""Columns that several grids share: the curve at a condition, the current at a voltage, the maximum-power point."""

from typing import Any

import numpy as np

from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.values import Value


def condition_columns(grid: Grid) -> None:
    """Add the columns that scale the five values to a row's irradiance ``sun`` and cell temperature ``t_cell``."""

    @grid.column(symbol="T", unit="K", words="absolute cell temperature", formula="t_cell-absolute_zero")
    def t(t_cell: Value, absolute_zero: Value) -> Value:
        return t_cell - absolute_zero

    @grid.column(symbol="a", unit="V", words="ideality voltage: grows with T", named=True, formula="curve_a*t/t_stc_kelvin")
    def a(curve_a: Value, t: Value, t_stc_kelvin: Value) -> Value:
        return curve_a * t / t_stc_kelvin

    @grid.column(
        symbol="IL",
        unit="A",
        words="light current: with the sun, and α per kelvin",
        named=True,
        formula="(curve_light+alpha_isc*(t_cell-t_stc))*sun/g_stc",
    )
    def light(curve_light: Value, alpha_isc: Value, t_cell: Value, t_stc: Value, sun: Value, g_stc: Value) -> Value:
        return (curve_light + alpha_isc * (t_cell - t_stc)) * sun / g_stc

    @grid.column(
        symbol="ln I0",
        unit="",
        words="logarithm of the saturation current in amperes: T³·exp(−E/kT)",
        named=True,
        formula="LN(curve_open_current/one_ampere)-module_voc/curve_a+3*LN(t/t_stc_kelvin)+gap_effective/boltzmann*(1/t_stc_kelvin-1/t)",
    )
    def log_i0(
        curve_open_current: Value,
        one_ampere: Value,
        module_voc: Value,
        curve_a: Value,
        t: Value,
        t_stc_kelvin: Value,
        gap_effective: Value,
        boltzmann: Value,
    ) -> Value:
        at_stc = np.log(curve_open_current / one_ampere) - module_voc / curve_a
        return at_stc + 3 * np.log(t / t_stc_kelvin) + gap_effective / boltzmann * (1 / t_stc_kelvin - 1 / t)

    @grid.column(symbol="G", unit="S", words="shunt: with the sun", named=True, formula="shape_step4_g*sun/g_stc")
    def g(shape_step4_g: Value, sun: Value, g_stc: Value) -> Value:
        return shape_step4_g * sun / g_stc

    @grid.column(
        symbol="Isc",
        unit="A",
        words="the sheet's short-circuit current at this row: no current exceeds it",
        named=True,
        formula="(module_isc+alpha_isc*(t_cell-t_stc))*sun/g_stc",
    )
    def isc(module_isc: Value, alpha_isc: Value, t_cell: Value, t_stc: Value, sun: Value, g_stc: Value) -> Value:
        return (module_isc + alpha_isc * (t_cell - t_stc)) * sun / g_stc

    @grid.column(
        symbol="Voc'", unit="V", words="open-circuit voltage if there were no shunt", named=True, formula="a*(LN(light/one_ampere)-log_i0)"
    )
    def voc_top(a: Value, light: Value, one_ampere: Value, log_i0: Value) -> Value:
        return a * (np.log(light / one_ampere) - log_i0)


def given_condition(key: str, grid: str = "conditions") -> dict[str, str]:
    """Return what the names of a condition's columns stand for in rows at that condition."""
    return {name: f"{grid}_{key}_{name}" for name in ("a", "light", "log_i0", "g", "isc", "voc_top")}


def steps(key: str, label: str, given: dict[str, str], numbers: dict[str, float] | None = None, *, count: int = 3) -> list[Row]:
    """Return the rows of a search, one for each step; the last one, known by the bare key, holds the answer."""
    keys = [*(f"{key}_step{number}" for number in range(1, count)), key]
    return [Row(k, f"{label}, step {n}", given, numbers or {}, start=n == 1, named=n == count) for n, k in enumerate(keys, 1)]


def peak_steps(key: str, label: str, given: dict[str, str]) -> list[Row]:
    """Return the two rows of a search for the peak: from where it begins, two steps are exact to a millionth of a volt."""
    return steps(key, label, given, count=2)


def current_columns(grid: Grid) -> None:
    """Add the columns that find the module's current at its voltage ``v`` in three rows.

    The unknown is the diode voltage w = v + I·R, with R of module and cables. Each row takes one step of Halley's from the
    row above; the start lies to the right of the root, so that no step leaps out of range.
    """

    @grid.column(
        symbol="w",
        unit="V",
        words="diode voltage, a step on from the row above",
        formula="previous_w-previous_q/previous_p/MAX(step_floor,1-previous_q*loop_r*previous_e/a^2/previous_p^2/2)",
    )
    def w(previous_w: Value, previous_q: Value, previous_p: Value, step_floor: Value, loop_r: Value, previous_e: Value, a: Value) -> Value:
        return _current_step(previous_w, previous_q, previous_p, step_floor, loop_r, previous_e, a)

    @grid.start(formula="MIN(v+loop_r*light,voc_top)")
    def w_start(v: Value, loop_r: Value, light: Value, voc_top: Value) -> Value:
        return np.minimum(v + loop_r * light, voc_top)

    @grid.column(symbol="e", unit="A", words="diode current", formula="one_ampere*EXP(log_i0+w/a)")
    def e(one_ampere: Value, log_i0: Value, w: Value, a: Value) -> Value:
        return one_ampere * np.exp(log_i0 + w / a)

    @grid.column(symbol="q", unit="V", words="misfit of w − R·I = v", formula="w-loop_r*(light-e-g*w)-v")
    def q(w: Value, loop_r: Value, light: Value, e: Value, g: Value, v: Value) -> Value:
        return w - loop_r * (light - e - g * w) - v

    @grid.column(symbol="p", unit="", words="its slope", formula="1+loop_r*(e/a+g)")
    def p(loop_r: Value, e: Value, a: Value, g: Value) -> Value:
        return 1 + loop_r * (e / a + g)

    @grid.column(
        symbol="w'",
        unit="V",
        words="diode voltage after the last step",
        answer=True,
        formula="w-q/p/MAX(step_floor,1-q*loop_r*e/a^2/p^2/2)",
    )
    def next(w: Value, q: Value, p: Value, step_floor: Value, loop_r: Value, e: Value, a: Value) -> Value:
        return _current_step(w, q, p, step_floor, loop_r, e, a)

    @grid.column(
        symbol="I",
        unit="A",
        words="module current: none beyond Voc, never more than Isc",
        named=True,
        answer=True,
        formula="IF(v>=voc_top,0,MAX(0,MIN(isc,(next-v)/loop_r)))",
    )
    def i(v: Value, voc_top: Value, isc: Value, next: Value, loop_r: Value) -> Value:
        return np.where(v >= voc_top, 0 * isc, np.maximum(0, np.minimum(isc, (next - v) / loop_r)))


def _current_step(w: Any, q: Any, p: Any, step_floor: Any, loop_r: Any, e: Any, a: Any) -> Any:
    return w - q / p / np.maximum(step_floor, 1 - q * loop_r * e / a**2 / p**2 / 2)


def peak_columns(grid: Grid) -> None:
    """Add the columns that find the module's maximum-power point in two rows, each one step of Halley's from the row above.

    The unknown is the diode voltage w; at the peak, I = (w − 2·I·R)·(−dI/dw).
    """

    @grid.column(
        symbol="w",
        unit="V",
        words="diode voltage, a step on from the row above",
        formula="MAX(0,MIN(voc_top,previous_w-previous_q/previous_slope/MAX(step_floor,1-previous_q*previous_bend/previous_slope^2/2)))",
    )
    def w(voc_top: Value, previous_w: Value, previous_q: Value, previous_slope: Value, step_floor: Value, previous_bend: Value) -> Value:
        return _peak_step(voc_top, previous_w, previous_q, previous_slope, step_floor, previous_bend)

    @grid.start(formula="MAX(voc_top/2,voc_top+curve_peak_place*a)")
    def w_start(voc_top: Value, curve_peak_place: Value, a: Value) -> Value:
        return np.maximum(voc_top / 2, voc_top + curve_peak_place * a)

    @grid.column(symbol="e", unit="A", words="diode current", formula="one_ampere*EXP(log_i0+w/a)")
    def e(one_ampere: Value, log_i0: Value, w: Value, a: Value) -> Value:
        return one_ampere * np.exp(log_i0 + w / a)

    @grid.column(symbol="I", unit="A", words="module current", formula="light-e-g*w")
    def j(light: Value, e: Value, g: Value, w: Value) -> Value:
        return light - e - g * w

    @grid.column(symbol="h", unit="S", words="−dI/dw", formula="e/a+g")
    def h(e: Value, a: Value, g: Value) -> Value:
        return e / a + g

    @grid.column(symbol="k", unit="A/V²", words="−d²I/dw²", formula="e/a^2")
    def k(e: Value, a: Value) -> Value:
        return e / a**2

    @grid.column(symbol="v", unit="V", words="w − 2·I·R", formula="w-2*j*curve_r")
    def x(w: Value, j: Value, curve_r: Value) -> Value:
        return w - 2 * j * curve_r

    @grid.column(symbol="q", unit="A", words="misfit of the peak's condition", formula="j-x*h")
    def q(j: Value, x: Value, h: Value) -> Value:
        return j - x * h

    @grid.column(symbol="q'", unit="S", words="its slope", formula="-2*h-2*h^2*curve_r-x*k")
    def slope(h: Value, curve_r: Value, x: Value, k: Value) -> Value:
        return -2 * h - 2 * h**2 * curve_r - x * k

    @grid.column(symbol="q''", unit="A/V²", words="slope of the slope", formula="-3*k-6*h*k*curve_r-x*k/a")
    def bend(k: Value, h: Value, curve_r: Value, x: Value, a: Value) -> Value:
        return -3 * k - 6 * h * k * curve_r - x * k / a

    @grid.column(
        symbol="w'",
        unit="V",
        words="diode voltage after the last step",
        answer=True,
        formula="MAX(0,MIN(voc_top,w-q/slope/MAX(step_floor,1-q*bend/slope^2/2)))",
    )
    def next(voc_top: Value, w: Value, q: Value, slope: Value, step_floor: Value, bend: Value) -> Value:
        return _peak_step(voc_top, w, q, slope, step_floor, bend)

    @grid.column(
        symbol="Imp",
        unit="A",
        words="current at maximum power",
        named=True,
        answer=True,
        formula="MAX(0,light-one_ampere*EXP(log_i0+next/a)-g*next)",
    )
    def imp(light: Value, one_ampere: Value, log_i0: Value, next: Value, a: Value, g: Value) -> Value:
        return np.maximum(0, light - one_ampere * np.exp(log_i0 + next / a) - g * next)

    @grid.column(symbol="Vmp", unit="V", words="voltage at maximum power", named=True, answer=True, formula="MAX(0,next-imp*curve_r)")
    def vmp(next: Value, imp: Value, curve_r: Value) -> Value:
        return np.maximum(0, next - imp * curve_r)

    @grid.column(symbol="Pmp", unit="W", words="maximum power", named=True, answer=True, formula="vmp*imp")
    def pmp(vmp: Value, imp: Value) -> Value:
        return vmp * imp


def _peak_step(voc_top: Any, w: Any, q: Any, slope: Any, step_floor: Any, bend: Any) -> Any:
    step = q / slope / np.maximum(step_floor, 1 - q * bend / slope**2 / 2)
    # the curve of a module that no maker sells may have no such peak: then the end that is nearer
    return np.maximum(0, np.minimum(voc_top, w - step))
