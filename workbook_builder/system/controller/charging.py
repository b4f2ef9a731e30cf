"""Whether the array charges the battery: hot afternoon, cold morning, and the voltage class."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOTE, PASS, where_pass

chapter = Part(
    "charging",
    "Charging",
    "Under a PWM controller the array sits at the battery's voltage plus the drops on the way. Energy flows only from "
    "the higher voltage to the lower.",
)

WINDOW = common_practice("{vmp_window_low}…{vmp_window_high:unit} of Vmp for each {nominal_unit:unit} of battery")
chapter.constant("vmp_window_low", 16, "V", "Lowest array Vmp at STC for each {nominal_unit:unit} of battery under PWM", "", WINDOW)
chapter.constant("vmp_window_high", 19, "V", "Highest array Vmp at STC for each {nominal_unit:unit} of battery under PWM", "", WINDOW)
chapter.constant(
    "beta_usual",
    -0.32,
    "%/°C",
    "Voc coefficient taken for the hot voltage where the sheet gives none",
    "β",
    common_practice("crystalline silicon; never used for the cold voltage"),
)


@chapter.quantity(
    symbol="β,hot",
    unit="%/°C",
    label="Voc coefficient taken for the hot voltage",
    words="The module's own, or the usual one where its sheet gives none.",
    formula='IF(module_beta_voc="",beta_usual,module_beta_voc)',
    source=common_practice("crystalline silicon"),
    optional=("module_beta_voc",),
)
def module_beta_hot(module_beta_voc: Value, beta_usual: Value) -> Value:
    return np.where(np.isnan(module_beta_voc), beta_usual, module_beta_voc)


@chapter.quantity(
    symbol="β,Vmp",
    unit="%/°C",
    label="Estimated temperature coefficient of Vmp",
    words="Power coefficient less current coefficient. Without a power coefficient: the volts that Voc loses, related to Vmp.",
    formula='IF(module_gamma_pmp="",module_beta_hot*module_voc/module_vmp,module_gamma_pmp-module_alpha_isc)',
    source=cite("iec-60891", "procedure 1, without its small terms", "from memory"),
    optional=("module_gamma_pmp",),
)
def module_beta_vmp(
    module_gamma_pmp: Value, module_beta_hot: Value, module_voc: Value, module_vmp: Value, module_alpha_isc: Value
) -> Value:
    by_voltage = module_beta_hot * module_voc / module_vmp
    return np.where(np.isnan(module_gamma_pmp), by_voltage, module_gamma_pmp - module_alpha_isc)


@chapter.quantity(
    symbol="Vmp,hot,est",
    unit="V",
    label="The same by the estimated coefficient, for comparison",
    words="Vmp at STC, corrected to the hottest cells by its estimated coefficient: a second way to the value above.",
    formula="array_vmp*(1+module_beta_vmp/whole_percent*(cell_t_hot-t_stc))",
    source=cite("iec-60891", "procedure 1, without its small terms", "from memory"),
)
def array_vmp_hot_estimate(array_vmp: Value, module_beta_vmp: Value, whole_percent: Value, cell_t_hot: Value, t_stc: Value) -> Value:
    return array_vmp * (1 + module_beta_vmp / whole_percent * (cell_t_hot - t_stc))


@chapter.quantity(
    symbol="Vmp,hot",
    unit="V",
    label="Array maximum-power voltage on the hottest afternoon",
    words="Modules in series times the peak's voltage on the curve at the hottest cells.",
    formula="array_series*peak_hot_vmp",
    source=cite("circuit-laws", "series voltages add"),
)
def array_vmp_hot(array_series: Value, peak_hot_vmp: Value) -> Value:
    return array_series * peak_hot_vmp


@chapter.quantity(
    symbol="Vmp,cold",
    unit="V",
    label="Array maximum-power voltage in full sun while the battery is coldest",
    words="Modules in series times the peak's voltage on the curve at the sunlit cells of that hour.",
    formula="array_series*peak_cold_vmp",
    source=cite("circuit-laws", "series voltages add"),
)
def array_vmp_cold(array_series: Value, peak_cold_vmp: Value) -> Value:
    return array_series * peak_cold_vmp


def _assumed(key: str, words: str) -> dict[str, Any]:
    return {
        "symbol": "ΔV,fix",
        "unit": "%",
        "label": f"Drop that is assumed, {words}",
        "words": "The allowed drop, if the run is not entered; otherwise none: its own drop follows the current.",
        "formula": f'IF(losses_{key}_resistance="",run_{key}_drop_allowed,0)',
        "source": common_practice("the allowed drop, until the cable is known"),
        "optional": (f"losses_{key}_resistance",),
    }


@chapter.quantity(**_assumed("array", "array to controller"))
def array_drop_assumed(losses_array_resistance: Value, run_array_drop_allowed: Value) -> Value:
    return np.where(np.isnan(losses_array_resistance), run_array_drop_allowed, 0 * run_array_drop_allowed)


@chapter.quantity(**_assumed("battery", "controller to battery"))
def battery_drop_assumed(losses_battery_resistance: Value, run_battery_drop_allowed: Value) -> Value:
    return np.where(np.isnan(losses_battery_resistance), run_battery_drop_allowed, 0 * run_battery_drop_allowed)


@chapter.quantity(
    symbol="ΔV,fix",
    unit="V",
    label="Cable drops that are assumed",
    words="Per cent of the battery's nominal voltage.",
    formula="(array_drop_assumed+battery_drop_assumed)/whole_percent*battery_nominal",
    source=cite("circuit-laws", "series voltages add"),
)
def cable_v_assumed(array_drop_assumed: Value, battery_drop_assumed: Value, whole_percent: Value, battery_nominal: Value) -> Value:
    return (array_drop_assumed + battery_drop_assumed) / whole_percent * battery_nominal


@chapter.quantity(
    symbol="ΔV",
    unit="V",
    label="Voltage drops between array and battery, at the array's rated current",
    words="The controller's drop, the assumed drops of cables, and rated current times the resistance of entered cables.",
    formula="controller_v_drop+cable_v_assumed+array_imp*cable_r",
    source=cite("circuit-laws", "series voltages add"),
)
def charge_v_drops(controller_v_drop: Value, cable_v_assumed: Value, array_imp: Value, cable_r: Value) -> Value:
    return controller_v_drop + cable_v_assumed + array_imp * cable_r


def _rise(name: str, symbol: str, when: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": "V",
        "label": f"Rise of the charge voltage by compensation {when}",
        "words": "Only if compensation is used, and only below {t_battery:unit}: a warm battery earns no credit.",
        "formula": f'IF(controller_tempcomp="yes",battery_tempco/millivolts_per_volt*battery_cells*(MIN({name},t_battery)-t_battery),0)',
        "source": common_practice("−4 mV/°C a cell on six cells at −15 °C: +0.96 V"),
    }


@chapter.quantity(**_rise("battery_t_max", "ΔV,T", "on the hottest afternoon"))
def charge_v_rise(
    controller_tempcomp: Value,
    battery_tempco: Value,
    millivolts_per_volt: Value,
    battery_cells: Value,
    battery_t_max: Value,
    t_battery: Value,
) -> Value:
    fall = np.minimum(battery_t_max, t_battery) - t_battery
    return np.where(controller_tempcomp == "yes", battery_tempco / millivolts_per_volt * battery_cells * fall, 0)


@chapter.quantity(**_rise("battery_t_min", "ΔV,T,cold", "while the battery is coldest"))
def charge_v_rise_cold(
    controller_tempcomp: Value,
    battery_tempco: Value,
    millivolts_per_volt: Value,
    battery_cells: Value,
    battery_t_min: Value,
    t_battery: Value,
) -> Value:
    fall = np.minimum(battery_t_min, t_battery) - t_battery
    return np.where(controller_tempcomp == "yes", battery_tempco / millivolts_per_volt * battery_cells * fall, 0)


@chapter.quantity(
    symbol="V,chg",
    unit="V",
    label="Array voltage that full charging needs on the hottest afternoon",
    words="Absorption voltage, its rise by compensation, and the drops.",
    formula="battery_v_absorb+charge_v_rise+charge_v_drops",
    source=cite("circuit-laws", "series voltages add"),
)
def charge_v_needed(battery_v_absorb: Value, charge_v_rise: Value, charge_v_drops: Value) -> Value:
    return battery_v_absorb + charge_v_rise + charge_v_drops


@chapter.quantity(
    symbol="V,chg,cold",
    unit="V",
    label="Array voltage that full charging needs while the battery is coldest",
    words="Absorption voltage, its rise by compensation, and the drops.",
    formula="battery_v_absorb+charge_v_rise_cold+charge_v_drops",
    source=cite("circuit-laws", "series voltages add"),
)
def charge_v_needed_cold(battery_v_absorb: Value, charge_v_rise_cold: Value, charge_v_drops: Value) -> Value:
    return battery_v_absorb + charge_v_rise_cold + charge_v_drops


@chapter.quantity(
    symbol="Vmp,min",
    unit="V",
    label="Lowest fitting array Vmp at STC under PWM",
    words="The lower end of the window, or the battery's highest charge voltage if that is higher.",
    formula="MAX(vmp_window_low*battery_nominal/nominal_unit,battery_v_high)",
    source=WINDOW,
)
def vmp_lowest(vmp_window_low: Value, battery_nominal: Value, nominal_unit: Value, battery_v_high: Value) -> Value:
    return np.maximum(vmp_window_low * battery_nominal / nominal_unit, battery_v_high)


@chapter.quantity(
    symbol="Vmp,max",
    unit="V",
    label="Highest fitting array Vmp at STC under PWM",
    words="The upper end of the window.",
    formula="vmp_window_high*battery_nominal/nominal_unit",
    source=WINDOW,
)
def vmp_highest(vmp_window_high: Value, battery_nominal: Value, nominal_unit: Value) -> Value:
    return vmp_window_high * battery_nominal / nominal_unit


@chapter.quantity(
    kind="flag",
    unit="",
    label="Array Vmp at STC is within the PWM window",
    words="Not outside the window, and above the battery's highest charge voltage.",
    formula="AND(ROUND(array_vmp,6)>=ROUND(vmp_lowest,6),ROUND(array_vmp,6)<=ROUND(vmp_highest,6),"
    "ROUND(array_vmp,6)>ROUND(battery_v_high,6))",
    source=WINDOW,
)
def vmp_fits(array_vmp: Value, vmp_lowest: Value, vmp_highest: Value, battery_v_high: Value) -> Value:
    vmp = round_half_away(array_vmp, 6)
    inside = (vmp >= round_half_away(vmp_lowest, 6)) & (vmp <= round_half_away(vmp_highest, 6))
    return inside & (vmp > round_half_away(battery_v_high, 6))


@chapter.check(
    safety=True,
    match=True,
    label="The array can charge the battery at all",
    words="Hottest array Vmp and array Voc at STC must both exceed the battery's load disconnect voltage, and the "
    "controller must not be set to another voltage.",
    value="array_vmp_hot",
    at_least="battery_v_low",
    formula='IF(AND(check_voltage_class<>"FAIL",ROUND(array_vmp_hot,6)>ROUND(battery_v_low,6),'
    'ROUND(array_voc,6)>ROUND(battery_v_low,6)),"PASS","FAIL")',
    source=cite("circuit-laws", "current flows only from the higher voltage"),
    sentences={
        PASS: "Even on the hottest afternoon the array stands above an empty battery.",
        FAIL: "This array cannot charge this battery: it stands below an empty battery, or the controller is set to "
        "another voltage. Put more modules in series, or choose modules or a bank of another voltage.",
    },
)
def can_charge(check_voltage_class: Value, array_vmp_hot: Value, battery_v_low: Value, array_voc: Value) -> Value:
    low = round_half_away(battery_v_low, 6)
    above = (round_half_away(array_vmp_hot, 6) > low) & (round_half_away(array_voc, 6) > low)
    return where_pass((check_voltage_class != FAIL) & above, FAIL)


@chapter.check(
    match=True,
    label="Array voltage within the PWM window",
    words="Array Vmp at STC within {vmp_window_low}…{vmp_window_high:unit} for each {nominal_unit:unit} of battery, "
    "and above the highest charge voltage.",
    value="array_vmp",
    at_least="vmp_lowest",
    at_most="vmp_highest",
    formula='IF(controller_type="MPPT","N/A",IF(vmp_fits,"PASS","NOTE"))',
    source=WINDOW,
    sentences={
        PASS: "The array's voltage fits the battery: little of the rated power is left unused.",
        NOTE: "The array's voltage does not fit this battery well. Too low: the battery is never filled in the heat. "
        "Too high: the volts above the battery's are lost under a PWM controller. Another module, another number in "
        "series, or an MPPT controller would help.",
        NOT_APPLICABLE: "An MPPT controller converts the voltage; its own window is what counts.",
    },
)
def vmp_window(controller_type: Value, vmp_fits: Value) -> Value:
    return np.where(controller_type == "MPPT", NOT_APPLICABLE, where_pass(vmp_fits == 1, NOTE))
