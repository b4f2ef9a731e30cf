"""What a meter should show on the day: switch closed, switch open, and how far each may be off.

Under a PWM controller the closed switch puts the array at the battery's volts and the drops on the way; open, it stands at
open circuit. An MPPT controller keeps it at maximum power. Uncertainties that do not depend on each other are added as
the root of the sum of their squares.
"""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.values import Value
from workbook_builder.system.commissioning.readings import STEPS

chapter = Part(
    "prediction",
    "What the meter should show",
    "From the module's curve at the sun and cell temperature of the day. Tolerances are roots of sums of squares.",
    sheet=STEPS,
)

KIRCHHOFF = cite("circuit-laws", "series voltages and parallel currents add")
SQUARES = own_rule("independent uncertainties: root of the sum of squares")
SPREAD = common_practice("makers' tolerance, some dirt, mismatch")
chapter.constant("spread_i", 3, "%", "Spread of currents between arrays of one kind", "", SPREAD)
chapter.constant("spread_v", 2, "%", "Spread of voltages between arrays of one kind", "", SPREAD)
chapter.constant(
    "tracking_spread", 5, "%", "How far an MPPT controller may sit beside the maximum", "", common_practice("search of the tracker")
)
chapter.constant(
    "v_unseen",
    0.3,
    "V",
    "Drops at contacts that nobody enters, and the meter's last digits",
    "",
    common_practice("fuses, terminals, probes"),
)
chapter.constant("i_unseen", 0.2, "A", "Current that a clamp does not tell from none", "", common_practice("zero of a clamp"))
chapter.constant(
    "i_unseen_share", 0.02, "", "the same as a share of the array's short-circuit current", "", common_practice("zero of a clamp")
)


def _run(key: str, words: str) -> dict[str, Any]:
    return {
        "symbol": f"R,{key}",
        "unit": "Ω",
        "label": f"Resistance of the cable {words}",
        "words": "0 while it is not entered.",
        "formula": f'IF(losses_{key}_resistance="",0,losses_{key}_resistance)',
        "source": KIRCHHOFF,
        "optional": (f"losses_{key}_resistance",),
        "waits": ("curve_r",),
    }


@chapter.quantity(
    symbol="R,array",
    unit="Ω",
    label="Resistance of the cables from the modules to the controller",
    words="String cables and array run; each 0 while it is not entered.",
    formula='IF(losses_array_resistance="",0,losses_array_resistance)+IF(strings_resistance="",0,strings_resistance)',
    source=KIRCHHOFF,
    optional=("losses_array_resistance", "strings_resistance"),
    waits=("curve_r",),
)
def day_r_array(losses_array_resistance: Value, strings_resistance: Value) -> Value:
    run, strings = (np.where(np.isnan(one), 0, one) for one in (losses_array_resistance, strings_resistance))
    return run + strings


@chapter.quantity(**_run("battery", "controller to battery"))
def day_r_battery(losses_battery_resistance: Value) -> Value:
    return np.where(np.isnan(losses_battery_resistance), 0, losses_battery_resistance)


@chapter.quantity(
    symbol="v",
    unit="V",
    label="Voltage of one module while charging",
    words="Its share of battery volts and drops; under an MPPT controller that of maximum power.",
    formula='IF(controller_type="MPPT",day_peak_now_vmp,(reading_v_battery+controller_v_drop+cable_v_assumed)/array_series)',
    source=KIRCHHOFF,
)
def day_v_module(
    controller_type: Value,
    day_peak_now_vmp: Value,
    reading_v_battery: Value,
    controller_v_drop: Value,
    cable_v_assumed: Value,
    array_series: Value,
) -> Value:
    held = (reading_v_battery + controller_v_drop + cable_v_assumed) / array_series
    return np.where(controller_type == "MPPT", day_peak_now_vmp, held)


@chapter.quantity(
    symbol="R",
    unit="Ω",
    label="Resistance between one module's cells and that voltage",
    words="With its share of the cables; under an MPPT controller its own only.",
    formula='IF(controller_type="MPPT",curve_r,loop_r)',
    source=KIRCHHOFF,
)
def day_r_module(controller_type: Value, curve_r: Value, loop_r: Value) -> Value:
    return np.where(controller_type == "MPPT", curve_r, loop_r)


@chapter.quantity(
    symbol="ΔV,array",
    unit="V",
    label="Assumed drop between array and controller at the current that was read",
    words="The assumed drop, in proportion to the current; none where the cable is entered.",
    formula="array_drop_assumed/whole_percent*battery_nominal*MAX(0,MIN(1,reading_i_pv/array_imp))",
    source=KIRCHHOFF,
)
def day_drop_read(array_drop_assumed: Value, whole_percent: Value, battery_nominal: Value, reading_i_pv: Value, array_imp: Value) -> Value:
    share = np.maximum(0, np.minimum(1, reading_i_pv / array_imp))
    return array_drop_assumed / whole_percent * battery_nominal * share


@chapter.quantity(
    symbol="v,read",
    unit="V",
    label="Voltage of one module by the PV volts that were read",
    words="With the drop up to it.",
    formula="MAX(0,(reading_v_pv+day_drop_read)/array_series)",
    source=KIRCHHOFF,
)
def day_v_module_read(reading_v_pv: Value, day_drop_read: Value, array_series: Value) -> Value:
    return np.maximum(0, (reading_v_pv + day_drop_read) / array_series)


@chapter.quantity(
    symbol="R,read",
    unit="Ω",
    label="Resistance between one module's cells and the controller",
    words="Its own, and its share of the cable from the array.",
    formula="curve_r+day_r_array*array_parallel/array_series",
    source=KIRCHHOFF,
)
def day_r_module_read(curve_r: Value, day_r_array: Value, array_parallel: Value, array_series: Value) -> Value:
    return curve_r + day_r_array * array_parallel / array_series


@chapter.quantity(
    symbol="Isc",
    unit="A",
    label="Short-circuit current of one string",
    words="The sheet's, at the day's sun and temperature.",
    formula="day_now_isc",
    source=KIRCHHOFF,
)
def day_isc(day_now_isc: Value) -> Value:
    return day_now_isc


@chapter.quantity(
    symbol="Voc",
    unit="V",
    label="Open-circuit voltage of one string: PV volts with the switch open",
    words="Modules in series times that of one.",
    formula="array_series*day_now_voc",
    source=KIRCHHOFF,
)
def day_voc(array_series: Value, day_now_voc: Value) -> Value:
    return array_series * day_now_voc


@chapter.quantity(
    symbol="I,on",
    unit="A",
    label="PV amps with the switch closed",
    words="All strings at the voltage of charging.",
    formula="array_parallel*day_search_now_on_i",
    source=KIRCHHOFF,
)
def day_i_on(array_parallel: Value, day_search_now_on_i: Value) -> Value:
    return array_parallel * day_search_now_on_i


@chapter.quantity(
    symbol="V,on,PWM",
    unit="V",
    label="PV volts with a PWM controller's switch closed",
    words="Battery volts, and the drops of controller and battery cable.",
    formula="reading_v_battery+controller_v_drop+battery_drop_assumed/whole_percent*battery_nominal+day_i_on*day_r_battery",
    source=KIRCHHOFF,
)
def day_v_on_pwm(
    reading_v_battery: Value,
    controller_v_drop: Value,
    battery_drop_assumed: Value,
    whole_percent: Value,
    battery_nominal: Value,
    day_i_on: Value,
    day_r_battery: Value,
) -> Value:
    assumed = battery_drop_assumed / whole_percent * battery_nominal
    return reading_v_battery + controller_v_drop + assumed + day_i_on * day_r_battery


@chapter.quantity(
    symbol="V,on,MPPT",
    unit="V",
    label="PV volts under an MPPT controller",
    words="Those of maximum power, less the drop on the way from the array.",
    formula="array_series*day_peak_now_vmp-array_drop_assumed/whole_percent*battery_nominal-day_i_on*day_r_array",
    source=KIRCHHOFF,
)
def day_v_on_mppt(
    array_series: Value,
    day_peak_now_vmp: Value,
    array_drop_assumed: Value,
    whole_percent: Value,
    battery_nominal: Value,
    day_i_on: Value,
    day_r_array: Value,
) -> Value:
    lost = array_drop_assumed / whole_percent * battery_nominal + day_i_on * day_r_array
    return array_series * day_peak_now_vmp - lost


@chapter.quantity(
    symbol="V,on",
    unit="V",
    label="PV volts while charging with all the array gives",
    words="By the kind of controller.",
    formula='IF(controller_type="MPPT",day_v_on_mppt,day_v_on_pwm)',
    source=KIRCHHOFF,
)
def day_v_on(controller_type: Value, day_v_on_mppt: Value, day_v_on_pwm: Value) -> Value:
    return np.where(controller_type == "MPPT", day_v_on_mppt, day_v_on_pwm)


@chapter.quantity(
    symbol="I,read",
    unit="A",
    label="Current of the whole array at the PV volts that were read",
    words="What a healthy array gives there, whatever the controller does.",
    formula="array_parallel*day_search_now_read_i",
    source=KIRCHHOFF,
)
def day_i_read(array_parallel: Value, day_search_now_read_i: Value) -> Value:
    return array_parallel * day_search_now_read_i


@chapter.quantity(
    symbol="I,0",
    unit="A",
    label="Current that counts as none",
    words="What a clamp does not tell from none.",
    formula="MAX(i_unseen,i_unseen_share*array_parallel*day_isc)",
    source=common_practice("zero of a clamp"),
)
def day_i_none(i_unseen: Value, i_unseen_share: Value, array_parallel: Value, day_isc: Value) -> Value:
    return np.maximum(i_unseen, i_unseen_share * array_parallel * day_isc)


@chapter.quantity(
    symbol="u²",
    unit="",
    label="Square of the share by which currents spread",
    words="Clamp and array, as squares.",
    formula="(reading_i_uncertainty^2+spread_i^2)/whole_percent^2",
    source=SQUARES,
)
def day_i_spread(reading_i_uncertainty: Value, spread_i: Value, whole_percent: Value) -> Value:
    return (reading_i_uncertainty**2 + spread_i**2) / whole_percent**2


def _shifted(case: str, at: str, words: str) -> dict[str, Any]:
    return {
        "symbol": f"I,{at},{case}",
        "unit": "A",
        "label": f"The same, {words}",
        "words": "All strings, a little off the day as read.",
        "formula": f"array_parallel*day_search_{case}_{at}_i",
        "source": own_rule("sensitivity by a second calculation"),
    }


@chapter.quantity(**_shifted("dim", "on", "while charging in less sun"))
def day_i_on_dim(array_parallel: Value, day_search_dim_on_i: Value) -> Value:
    return array_parallel * day_search_dim_on_i


@chapter.quantity(**_shifted("warm", "on", "while charging with warmer cells"))
def day_i_on_warm(array_parallel: Value, day_search_warm_on_i: Value) -> Value:
    return array_parallel * day_search_warm_on_i


@chapter.quantity(**_shifted("dim", "read", "at the volts read, in less sun"))
def day_i_read_dim(array_parallel: Value, day_search_dim_read_i: Value) -> Value:
    return array_parallel * day_search_dim_read_i


@chapter.quantity(**_shifted("warm", "read", "at the volts read, with warmer cells"))
def day_i_read_warm(array_parallel: Value, day_search_warm_read_i: Value) -> Value:
    return array_parallel * day_search_warm_read_i


def _tolerance(name: str, label: str) -> dict[str, Any]:
    return {
        "symbol": "±I",
        "unit": "A",
        "label": f"Tolerance of {label}",
        "words": "Less sun, warmer cells, clamp, spread, and what a clamp does not see.",
        "formula": f"(({name}-{name}_dim)^2+({name}-{name}_warm)^2+day_i_spread*{name}^2+day_i_none^2)^(1/2)",
        "source": SQUARES,
    }


@chapter.quantity(**_tolerance("day_i_on", "the PV amps while charging"))
def day_i_on_tolerance(day_i_on: Value, day_i_on_dim: Value, day_i_on_warm: Value, day_i_spread: Value, day_i_none: Value) -> Value:
    moved = (day_i_on - day_i_on_dim) ** 2 + (day_i_on - day_i_on_warm) ** 2
    return np.sqrt(moved + day_i_spread * day_i_on**2 + day_i_none**2)


@chapter.quantity(**_tolerance("day_i_read", "the array's current at the volts that were read"))
def day_i_read_tolerance(day_i_read: Value, day_i_read_dim: Value, day_i_read_warm: Value, day_i_spread: Value, day_i_none: Value) -> Value:
    moved = (day_i_read - day_i_read_dim) ** 2 + (day_i_read - day_i_read_warm) ** 2
    return np.sqrt(moved + day_i_spread * day_i_read**2 + day_i_none**2)


@chapter.quantity(
    symbol="±V,drop",
    unit="V",
    label="How far the drops on the way may be off",
    words="All of the drop that is assumed for a cable; under an MPPT controller the search of its tracker.",
    formula='IF(controller_type="MPPT",tracking_spread*day_v_on,battery_drop_assumed*battery_nominal)/whole_percent',
    source=own_rule("an assumed drop may be none at all, or twice as much"),
)
def day_v_drop_tolerance(
    controller_type: Value,
    tracking_spread: Value,
    day_v_on: Value,
    battery_drop_assumed: Value,
    battery_nominal: Value,
    whole_percent: Value,
) -> Value:
    return np.where(controller_type == "MPPT", tracking_spread * day_v_on, battery_drop_assumed * battery_nominal) / whole_percent


@chapter.quantity(
    symbol="±V,on",
    unit="V",
    label="Tolerance of the PV volts while charging",
    words="The meter twice, on array and battery; the drops; contacts that nobody enters.",
    # a drop of next to nothing may be typed, whose square some programs call an error, but not the product
    formula="(2*(reading_v_uncertainty/whole_percent*day_v_on)^2+day_v_drop_tolerance*day_v_drop_tolerance+v_unseen^2)^(1/2)",
    source=SQUARES,
)
def day_v_on_tolerance(
    reading_v_uncertainty: Value, whole_percent: Value, day_v_on: Value, day_v_drop_tolerance: Value, v_unseen: Value
) -> Value:
    metered = reading_v_uncertainty / whole_percent * day_v_on
    return np.sqrt(2 * metered**2 + day_v_drop_tolerance**2 + v_unseen**2)


@chapter.quantity(
    symbol="±Voc",
    unit="V",
    label="Tolerance of the open-circuit voltage",
    words="Less sun, warmer cells, meter, spread.",
    formula="(array_series^2*((day_now_voc-day_dim_voc)^2+(day_now_voc-day_warm_voc)^2)"
    "+(reading_v_uncertainty^2+spread_v^2)*(day_voc/whole_percent)^2)^(1/2)",
    source=SQUARES,
)
def day_voc_tolerance(
    array_series: Value,
    day_now_voc: Value,
    day_dim_voc: Value,
    day_warm_voc: Value,
    reading_v_uncertainty: Value,
    spread_v: Value,
    day_voc: Value,
    whole_percent: Value,
) -> Value:
    moved = array_series**2 * ((day_now_voc - day_dim_voc) ** 2 + (day_now_voc - day_warm_voc) ** 2)
    return np.sqrt(moved + (reading_v_uncertainty**2 + spread_v**2) * (day_voc / whole_percent) ** 2)
