"""The most modules in series and strings in parallel that sentences may propose: numbers that fail no other check either."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.first_check import NONE
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.array.arrangements import LAST, RULE, SERIES

chapter = Part("arrangements", continues=True)
LISTED = SERIES[-1]
PROPOSED = own_rule("a sentence proposes no number that fails another check")


@chapter.quantity(
    symbol="Ns,dev",
    unit="",
    label="Most modules in series by the lowest rated voltage of the devices",
    words="That voltage divided by one module's cold Voc, rounded down; the module's own limit where it is not entered.",
    formula='IF(devices_v_min="",series_max_module,ROUNDDOWN(ROUND(devices_v_min/(module_voc*voc_factor),9),0))',
    source="voltage_rating",
    optional=("devices_v_min",),
)
def series_max_devices(devices_v_min: Value, series_max_module: Value, module_voc: Value, voc_factor: Value) -> Value:
    by_devices = np.floor(round_half_away(devices_v_min / (module_voc * voc_factor), 9))
    return np.where(np.isnan(devices_v_min), series_max_module, by_devices)


@chapter.quantity(
    symbol="Ns,max",
    unit="",
    label="Most modules in series by every voltage limit that is entered",
    words="The lowest of the numbers by controller, module, code and devices.",
    formula="MIN(series_max_controller,series_max_module,series_max_code,series_max_devices)",
    source=PROPOSED,
)
def series_most(series_max_controller: Value, series_max_module: Value, series_max_code: Value, series_max_devices: Value) -> Value:
    return np.minimum(np.minimum(series_max_controller, series_max_module), np.minimum(series_max_code, series_max_devices))


chapter.constant("vmp_small", 1e-6, "V", "Smallest voltage that is divided by", "", own_rule("arithmetic"))


@chapter.quantity(
    symbol="Ns,min",
    unit="",
    label="Fewest modules in series that charge the battery at all",
    words="The fewest whose hottest Vmp, and whose Voc at STC, exceed the load disconnect voltage.",
    formula="ROUNDDOWN(ROUND(battery_v_low/MAX(vmp_small,MIN(peak_hot_vmp,module_voc)),9),0)+1",
    source=PROPOSED,
)
def series_least(battery_v_low: Value, vmp_small: Value, peak_hot_vmp: Value, module_voc: Value) -> Value:
    lowest = np.maximum(vmp_small, np.minimum(peak_hot_vmp, module_voc))
    return np.floor(round_half_away(battery_v_low / lowest, 9)) + 1


@chapter.quantity(
    symbol="Ns",
    unit="",
    label="Most modules in series that sentences propose",
    words=f"Up to {LISTED} the most that fail no check in the list above; beyond, the most by every limit, if they charge the battery. "
    "Nothing where no number is known to pass.",
    formula=f'IF(series_most>{LISTED},IF(AND(by_series_s1_blocked="nothing",series_most>=series_least),series_most,""),'
    f'IF(by_series_s{LISTED}_most>0,by_series_s{LISTED}_most,""))',
    source=PROPOSED,
)
def series_advised(series_most: Value, by_series_s1_blocked: Value, series_least: Value, by_series_s6_most: Value) -> Value:
    beyond = np.where((by_series_s1_blocked == NONE) & (series_most >= series_least), series_most, np.nan)
    return np.where(series_most > LISTED, beyond, np.where(by_series_s6_most > 0, by_series_s6_most, np.nan))


@chapter.quantity(
    symbol="Ns,2%",
    unit="",
    label="Most modules in series that leave the margin below the controller's limit",
    words="The controller's limit less that margin, divided by one module's cold Voc, rounded down; at most the number above, and nothing "
    "below the fewest that charge the battery.",
    formula="MIN(series_advised,ROUNDDOWN(ROUND(controller_v_max*(1-voltage_margin_least)/(module_voc*voc_factor),9),0))",
    source=PROPOSED,
)
def series_margin_most(
    series_advised: Value, controller_v_max: Value, voltage_margin_least: Value, module_voc: Value, voc_factor: Value
) -> Value:
    kept = np.floor(round_half_away(controller_v_max * (1 - voltage_margin_least) / (module_voc * voc_factor), 9))
    return np.minimum(series_advised, kept)


@chapter.quantity(
    symbol="Ns,margin",
    unit="",
    label="Most modules in series that sentences propose for that margin",
    words="That number, if it charges the battery; otherwise nothing.",
    formula='IF(series_margin_most>=series_least,series_margin_most,"")',
    source=PROPOSED,
)
def series_margin_advised(series_margin_most: Value, series_least: Value) -> Value:
    return np.where(series_margin_most >= series_least, series_margin_most, np.nan)


@chapter.quantity(
    symbol="Np",
    unit="",
    label="Most strings in parallel that sentences propose",
    words="The most of the list that fail no check with the design's modules in series; under PWM also within the code's margin on the "
    "rated current. 0 where there are none.",
    formula=f'IF(controller_type="PWM",MIN(parallel_max_controller,{LAST}_strings),{LAST}_strings)',
    source=RULE,
)
def strings_most(controller_type: Value, parallel_max_controller: Value, arrangements_s6p12_strings: Value) -> Value:
    return np.where(controller_type == "PWM", np.minimum(parallel_max_controller, arrangements_s6p12_strings), arrangements_s6p12_strings)


@chapter.quantity(
    symbol="Np",
    unit="",
    label="Most strings in parallel that sentences name",
    words="That number; nothing for 0.",
    formula='IF(strings_most>0,strings_most,"")',
    source=PROPOSED,
)
def parallel_advised(strings_most: Value) -> Value:
    return np.where(strings_most > 0, strings_most, np.nan)


@chapter.quantity(
    symbol="I,str",
    unit="A",
    label="MPPT charge current of one string at the irradiance that stands for a day's hours of sun",
    words="Rated power of one string at that irradiance, times the efficiency, divided by the float voltage.",
    formula="array_pmp/array_parallel*sun_typical/g_stc*controller_efficiency/whole_percent/battery_v_float",
    source=RULE,
)
def string_i_typical(
    array_pmp: Value,
    array_parallel: Value,
    sun_typical: Value,
    g_stc: Value,
    controller_efficiency: Value,
    whole_percent: Value,
    battery_v_float: Value,
) -> Value:
    return array_pmp / array_parallel * sun_typical / g_stc * controller_efficiency / whole_percent / battery_v_float


@chapter.quantity(
    symbol="Np",
    unit="",
    label="Strings in parallel that would reach the target, and that sentences propose",
    words="Where they fail no check, and where the rated charge current of an MPPT controller takes them.",
    formula="IF(AND(array_parallel_needed<=strings_most,"
    'OR(controller_type="PWM",ROUND(array_parallel_needed*string_i_typical,6)<=ROUND(controller_i_max,6))),array_parallel_needed,"")',
    source=PROPOSED,
)
def array_parallel_advised(
    array_parallel_needed: Value, strings_most: Value, controller_type: Value, string_i_typical: Value, controller_i_max: Value
) -> Value:
    taken = round_half_away(array_parallel_needed * string_i_typical, 6) <= round_half_away(controller_i_max, 6)
    fits = (array_parallel_needed <= strings_most) & ((controller_type == "PWM") | taken)
    return np.where(fits, array_parallel_needed, np.nan)
