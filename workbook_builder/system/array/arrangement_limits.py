"""What limits an arrangement: its voltages by the modules in series, its currents by the strings in parallel."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import cite
from workbook_builder.language.tables import round_half_away
from workbook_builder.system.array.arrangements import IN_SERIES, NONE, PARALLEL, RULE, SERIES
from workbook_builder.system.module.curve_steps import current_columns, given_condition, steps

chapter = Part("arrangements", continues=True)

by_series = chapter.grid(
    Grid(
        "by_series",
        "What depends on the modules in series",
        "Voltages, and the first limit that they break.",
        RULE,
        tuple(Row(f"s{n}", f"{n} in series", numbers={"series": float(n)}) for n in SERIES),
        "Arrangements",
        single=True,
        numbers=IN_SERIES,
    )
)


@by_series.column(
    symbol="Voc,cold", unit="V", words="open-circuit voltage on the coldest morning", formula="series*module_voc*voc_factor", named=True
)
def voc_cold(series, module_voc, voc_factor):
    return series * module_voc * voc_factor


@by_series.column(symbol="Vmp", unit="V", words="at STC", formula="series*module_vmp")
def vmp(series, module_vmp):
    return series * module_vmp


@by_series.column(symbol="Vmp,hot", unit="V", words="hottest afternoon", formula="series*peak_hot_vmp")
def vmp_hot(series, peak_hot_vmp):
    return series * peak_hot_vmp


@by_series.column(symbol="Vmp,cold", unit="V", words="sunlit, battery coldest", formula="series*peak_cold_vmp")
def vmp_cold(series, peak_cold_vmp):
    return series * peak_cold_vmp


@by_series.column(symbol="v", unit="V", words="of one module at absorption", named=True, formula="(battery_v_absorb+list_v_drops)/series")
def v(battery_v_absorb, list_v_drops, series):
    return (battery_v_absorb + list_v_drops) / series


@by_series.column(
    kind="text",
    symbol="",
    words="ratings broken by the voltage",
    formula='IF(ROUND(voc_cold,6)>=ROUND(controller_v_max,6),"controller voltage",'
    'IF(ROUND(voc_cold,6)>ROUND(module_max_system_voltage,6),"module voltage","nothing"))',
)
def rating(voc_cold, controller_v_max, module_max_system_voltage):
    high = round_half_away(voc_cold, 6)
    module = np.where(high > round_half_away(module_max_system_voltage, 6), "module voltage", NONE)
    return np.where(high >= round_half_away(controller_v_max, 6), "controller voltage", module)


@by_series.column(
    kind="flag", symbol="code", words="above the voltage limit of the code", formula="ROUND(voc_cold,6)>ROUND(code_voltage_limit,6)"
)
def over_code(voc_cold, code_voltage_limit):
    return round_half_away(voc_cold, 6) > round_half_away(code_voltage_limit, 6)


@by_series.column(
    kind="text",
    symbol="",
    words="fuses, switches and plugs",
    optional=("devices_v_min",),
    formula='IF(devices_v_min="","nothing",IF(ROUND(voc_cold,6)>ROUND(devices_v_min,6),"device voltage","nothing"))',
)
def device(devices_v_min, voc_cold):
    over = round_half_away(voc_cold, 6) > round_half_away(devices_v_min, 6)
    return np.where(~np.isnan(devices_v_min) & over, "device voltage", NONE)


@by_series.column(kind="flag", symbol="charges", words="hot Vmp above an empty battery", formula="ROUND(vmp_hot,6)>ROUND(battery_v_low,6)")
def charges(vmp_hot, battery_v_low):
    return round_half_away(vmp_hot, 6) > round_half_away(battery_v_low, 6)


@by_series.column(
    kind="text",
    symbol="",
    words="fails whatever its voltage, or cannot charge",
    formula='IF(check_voltage_class="FAIL","controller setting",IF(check_cold_block="FAIL","cold charging",'
    'IF(charges,"nothing","cannot charge")))',
)
def charge_able(check_voltage_class, check_cold_block, charges):
    other = np.where(check_cold_block == "FAIL", "cold charging", np.where(charges == 1, NONE, "cannot charge"))
    return np.where(check_voltage_class == "FAIL", "controller setting", other)


@by_series.column(
    kind="text",
    symbol="fails by",
    words="first voltage check that fails",
    named=True,
    formula='IF(rating<>"nothing",rating,IF(over_code,"code voltage",IF(device<>"nothing",device,charge_able)))',
)
def fault(rating, over_code, device, charge_able):
    late = np.where(device != NONE, device, charge_able)
    return np.where(rating != NONE, rating, np.where(over_code == 1, "code voltage", late))


@by_series.column(
    kind="flag",
    symbol="high enough",
    words="Vmp at or above the window's foot, and above the charge",
    formula="AND(ROUND(vmp,6)>=ROUND(vmp_lowest,6),ROUND(vmp,6)>ROUND(battery_v_high,6))",
)
def high_enough(vmp, vmp_lowest, battery_v_high):
    value = round_half_away(vmp, 6)
    return (value >= round_half_away(vmp_lowest, 6)) & (value > round_half_away(battery_v_high, 6))


@by_series.column(
    kind="flag", symbol="window", words="Vmp within the PWM window", formula="AND(high_enough,ROUND(vmp,6)<=ROUND(vmp_highest,6))"
)
def window(high_enough, vmp, vmp_highest):
    return (high_enough == 1) & (round_half_away(vmp, 6) <= round_half_away(vmp_highest, 6))


@by_series.column(
    kind="text",
    symbol="",
    words="first weakness under PWM",
    formula='IF(window,IF(ROUND(vmp_hot,6)<ROUND(list_v_needed,6),"hot afternoon",'
    'IF(ROUND(vmp_cold,6)<ROUND(list_v_needed_cold,6),"cold charge","nothing")),"PWM window")',
)
def pwm_weakness(window, vmp_hot, list_v_needed, vmp_cold, list_v_needed_cold):
    hot = round_half_away(vmp_hot, 6) < round_half_away(list_v_needed, 6)
    cold = round_half_away(vmp_cold, 6) < round_half_away(list_v_needed_cold, 6)
    inside = np.where(hot, "hot afternoon", np.where(cold, "cold charge", NONE))
    return np.where(window == 1, inside, "PWM window")


@by_series.column(
    kind="text",
    symbol="weak by",
    words="first weakness under this controller",
    named=True,
    formula='IF(controller_type="PWM",pwm_weakness,IF(ROUND(vmp_hot,6)<ROUND(mppt_v_needed,6),"MPPT window","nothing"))',
)
def weakness(controller_type, pwm_weakness, vmp_hot, mppt_v_needed):
    narrow = round_half_away(vmp_hot, 6) < round_half_away(mppt_v_needed, 6)
    return np.where(controller_type == "PWM", pwm_weakness, np.where(narrow, "MPPT window", NONE))


def _search(name: str, title: str, condition: str) -> Grid:
    grid = Grid(
        name,
        title,
        "Three rows for each number in series.",
        cite("de-soto", "single-diode equation"),
        tuple(
            row
            for n in SERIES
            for row in steps(f"s{n}", f"{n} in series", given_condition(condition) | {"v": f"by_series_s{n}_v", "loop_r": "curve_r"})
        ),
        "Curve",
        single=True,
    )
    current_columns(grid)
    return grid


chapter.grid(_search("series_search", "Current of one module at absorption, hottest cells", "hot"))
chapter.grid(_search("series_search_stc", "Current of one module at absorption, STC", "stc"))

string_power = chapter.grid(
    Grid(
        "string_power",
        "What one string gives at absorption under PWM",
        "Its current at these voltages, at the battery's.",
        RULE,
        tuple(
            Row(f"s{n}", f"{n} in series", {"i_hot": f"series_search_s{n}_i", "i_stc": f"series_search_stc_s{n}_i"}, {"series": float(n)})
            for n in SERIES
        ),
        "Arrangements",
        single=True,
        numbers=IN_SERIES,
    )
)


@string_power.column(
    symbol="P,string", unit="W", words="power into the battery, hottest afternoon", named=True, formula="i_hot*battery_v_absorb"
)
def p_string(i_hot, battery_v_absorb):
    return i_hot * battery_v_absorb


@string_power.column(symbol="use", words="share of rated power at STC", formula="i_stc*battery_v_absorb/(series*module_pmp)")
def share(i_stc, battery_v_absorb, series, module_pmp):
    return i_stc * battery_v_absorb / (series * module_pmp)


@string_power.column(
    kind="text",
    symbol="weak by",
    words="too little of the array used by PWM",
    named=True,
    formula='IF(ROUND(share,6)<ROUND(utilisation_lowest,6),"use of array","nothing")',
)
def pwm_use(share, utilisation_lowest):
    return np.where(round_half_away(share, 6) < round_half_away(utilisation_lowest, 6), "use of array", NONE)


by_parallel = chapter.grid(
    Grid(
        "by_parallel",
        "What depends on the strings in parallel",
        "Currents, and the first limit that they break.",
        RULE,
        tuple(Row(f"p{n}", f"{n} in parallel", numbers={"parallel": float(n)}) for n in PARALLEL),
        "Arrangements",
        single=True,
        numbers={"parallel": ("strings in parallel", "")},
    )
)


@by_parallel.column(
    symbol="Isc", unit="A", words="short-circuit current", formula="parallel*module_isc*(1+module_bifacial_gain/whole_percent)"
)
def isc(parallel, module_isc, module_bifacial_gain, whole_percent):
    return parallel * module_isc * (1 + module_bifacial_gain / whole_percent)


@by_parallel.column(symbol="Isc,max", unit="A", words="highest by the code", formula="code_current_factor*isc")
def isc_max(code_current_factor, isc):
    return code_current_factor * isc


@by_parallel.column(
    kind="text",
    symbol="",
    words="limits of the PV input broken",
    optional=("controller_i_sc_max",),
    formula='IF(controller_i_sc_max="","nothing",IF(ROUND(isc_max,6)>ROUND(controller_i_sc_max,6),"short-circuit limit","nothing"))',
)
def input_limit(controller_i_sc_max, isc_max):
    over = round_half_away(isc_max, 6) > round_half_away(controller_i_sc_max, 6)
    return np.where(~np.isnan(controller_i_sc_max) & over, "short-circuit limit", NONE)


@by_parallel.column(
    kind="text",
    symbol="",
    words="protection of the PV input broken",
    optional=("controller_ocp",),
    formula='IF(controller_ocp="",input_limit,IF(input_limit<>"nothing",input_limit,'
    'IF(ROUND(isc_max,6)>=ROUND(controller_ocp,6),"input protection","nothing")))',
)
def input_fault(controller_ocp, input_limit, isc_max):
    over = round_half_away(isc_max, 6) >= round_half_away(controller_ocp, 6)
    protected = np.where(input_limit != NONE, input_limit, np.where(over, "input protection", NONE))
    return np.where(np.isnan(controller_ocp), input_limit, protected)


@by_parallel.column(
    kind="text",
    symbol="",
    words="rated current of a PWM controller broken",
    formula='IF(controller_type="MPPT",input_fault,IF(ROUND(isc,6)>=ROUND(controller_i_max,6),"rated current",input_fault))',
)
def rated_fault(controller_type, input_fault, isc, controller_i_max):
    over = (controller_type != "MPPT") & (round_half_away(isc, 6) >= round_half_away(controller_i_max, 6))
    return np.where(over, "rated current", input_fault)


@by_parallel.column(
    symbol="I,back",
    unit="A",
    words="current that the other strings can drive back into one",
    formula="(parallel-1)*code_string_current*string_isc",
)
def back(parallel, code_string_current, string_isc):
    return (parallel - 1) * code_string_current * string_isc


@by_parallel.column(
    kind="text",
    symbol="",
    words="string fuses: whether needed",
    optional=("module_max_fuse",),
    formula='IF(parallel<=code_string_free,"nothing",IF(module_max_fuse="","string fuse",'
    'IF(ROUND(back-code_string_rating*module_max_fuse,6)<=0,"nothing","string fuse")))',
)
def fuse_needed(parallel, code_string_free, module_max_fuse, back, code_string_rating):
    unneeded = round_half_away(back - code_string_rating * module_max_fuse, 6) <= 0
    return np.where((parallel <= code_string_free) | unneeded, NONE, "string fuse")


@by_parallel.column(
    kind="text",
    symbol="",
    words="string fuses: needed, and none fits",
    optional=("string_fuse_fits",),
    formula='IF(fuse_needed="nothing","nothing",IF(string_fuse_fits="","string fuse",IF(string_fuse_fits,"nothing","string fuse")))',
)
def fuse_fault(fuse_needed, string_fuse_fits):
    return np.where((fuse_needed == NONE) | (string_fuse_fits == 1), NONE, "string fuse")


@by_parallel.column(
    kind="text",
    symbol="",
    words="PWM: current above the derated",
    optional=("controller_i_derated",),
    formula='IF(OR(controller_type="MPPT",derating_begins<>"above",controller_i_derated=""),"nothing",'
    'IF(ROUND(isc_max,6)>ROUND(controller_i_derated,6),"hot enclosure","nothing"))',
)
def heat_fault(controller_type, derating_begins, controller_i_derated, isc_max):
    over = round_half_away(isc_max, 6) > round_half_away(controller_i_derated, 6)
    derated = (controller_type != "MPPT") & (derating_begins == "above") & ~np.isnan(controller_i_derated)
    return np.where(derated & over, "hot enclosure", NONE)


@by_parallel.column(
    kind="text",
    symbol="fails by",
    words="first current check that fails",
    named=True,
    formula='IF(rated_fault<>"nothing",rated_fault,IF(fuse_fault<>"nothing",fuse_fault,heat_fault))',
)
def current_fault(rated_fault, fuse_fault, heat_fault):
    return np.where(rated_fault != NONE, rated_fault, np.where(fuse_fault != NONE, fuse_fault, heat_fault))


@by_parallel.column(
    kind="text",
    symbol="weak by",
    words="first weakness of the current",
    named=True,
    formula='IF(controller_type="MPPT","nothing",IF(ROUND(isc_max,6)>ROUND(controller_i_max,6),"margin on current","nothing"))',
)
def current_weakness(controller_type, isc_max, controller_i_max):
    over = (controller_type != "MPPT") & (round_half_away(isc_max, 6) > round_half_away(controller_i_max, 6))
    return np.where(over, "margin on current", NONE)
