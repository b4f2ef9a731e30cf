"""Arrangements: a list to read of what else this module and this controller could be, and which is best."""

import numpy as np

from workbook_builder.declare import Chapter
from workbook_builder.entries import number_text
from workbook_builder.grids import Grid, Row
from workbook_builder.quantities.curve_steps import current_columns, given_condition, steps
from workbook_builder.sources import cite, own_rule
from workbook_builder.tables import round_half_away

chapter = Chapter(
    "arrangements",
    "Arrangements",
    "The checks of voltage, current and charging for up to 6 modules in series and 12 strings in parallel. Cables are taken "
    "at their allowed drops: they "
    "must be chosen for the arrangement. Cables, the battery fuse, size and energy are judged on the sheet Verdicts only; what "
    "fails there whatever the arrangement, such as ventilation, fails every row.",
    sheet="Arrangements",
)

SERIES, PARALLEL = range(1, 7), range(1, 13)
RULE = own_rule("the checks of the sheet Verdicts, applied to each arrangement")
NONE = "nothing"
IN_SERIES = {"series": ("modules in series", "")}
chapter.constant("rank_pass", 2000000, "W", "Added to the rank of an arrangement that passes", "", own_rule("ordering"))
chapter.constant("rank_note", 1000000, "W", "Added to the rank of an arrangement with a note", "", own_rule("ordering"))
chapter.constant("rank_module", 0.001, "W", "Taken off the rank for each module, so that fewer modules win a tie", "",
                 own_rule("ordering"))  # fmt: skip

@chapter.quantity(
    symbol="ΔV,list", unit="V", label="Voltage drops taken for every arrangement",
    words="The controller's drop and the allowed drops of both cables.",
    formula="controller_v_drop+(run_array_drop_allowed+run_battery_drop_allowed)/whole_percent*battery_nominal", source=RULE,
)  # fmt: skip
def list_v_drops(controller_v_drop, run_array_drop_allowed, run_battery_drop_allowed, whole_percent, battery_nominal):
    return controller_v_drop + (run_array_drop_allowed + run_battery_drop_allowed) / whole_percent * battery_nominal


@chapter.quantity(
    symbol="V,list", unit="V", label="Array voltage that full charging needs, hottest afternoon, every arrangement",
    words="Absorption voltage, its rise by compensation, and these drops.", formula="battery_v_absorb+charge_v_rise+list_v_drops",
    source=RULE,
)  # fmt: skip
def list_v_needed(battery_v_absorb, charge_v_rise, list_v_drops):
    return battery_v_absorb + charge_v_rise + list_v_drops


@chapter.quantity(
    symbol="V,list", unit="V", label="The same while the battery is coldest",
    words="Absorption voltage, its rise by compensation, and these drops.",
    formula="battery_v_absorb+charge_v_rise_cold+list_v_drops", source=RULE,
)  # fmt: skip
def list_v_needed_cold(battery_v_absorb, charge_v_rise_cold, list_v_drops):
    return battery_v_absorb + charge_v_rise_cold + list_v_drops


LAST = "arrangements_s6p12"


@chapter.quantity(
    kind="text", unit="", label="Best arrangement: reason", symbol="",
    words="The best verdict first, then the most usable power, then the fewest modules.",
    formula=f'IF({LAST}_best>rank_pass-rank_note/2,"the most power among those that pass",'
    f'IF({LAST}_best>rank_note/2,"none passes without a note; this has the most power","no arrangement fits"))',
    source=RULE,
)  # fmt: skip
def best_reason(arrangements_s6p12_best, rank_pass, rank_note):
    noted = np.where(
        arrangements_s6p12_best > rank_note / 2, "none passes without a note; this has the most power", "no arrangement fits"
    )
    passes = arrangements_s6p12_best > rank_pass - rank_note / 2
    return np.where(passes, "the most power among those that pass", noted)


@chapter.quantity(
    kind="text", unit="", label="Best arrangement: numbers", symbol="", words="Modules in series and strings in parallel.",
    formula=f'IF(best_reason="no arrangement fits","none",{LAST}_best_series&" in series × "&{LAST}_best_parallel&" in parallel")',
    source=RULE,
)  # fmt: skip
def best_numbers(best_reason, arrangements_s6p12_best_series, arrangements_s6p12_best_parallel):
    if best_reason == "no arrangement fits":
        return "none"
    return _joined("{} in series × {} in parallel", arrangements_s6p12_best_series, arrangements_s6p12_best_parallel)


@chapter.quantity(
    kind="text", unit="", label="Best arrangement", symbol="",
    words="The numbers, the power at absorption on the hottest afternoon, and why.",
    formula=f'IF(best_reason="no arrangement fits",best_reason,'
    f'best_numbers&", about "&ROUND({LAST}_best_usable,0)&" W: "&best_reason)',
    source=RULE,
)  # fmt: skip
def best_arrangement(best_reason, best_numbers, arrangements_s6p12_best_usable):
    power = _joined("{}", round_half_away(arrangements_s6p12_best_usable, 0))
    if best_reason == "no arrangement fits":
        return best_reason
    return f"{best_numbers}, about {power} W: {best_reason}"


def _joined(pattern: str, *numbers: float) -> str:
    return pattern.format(*(number_text(number) for number in numbers))


arrangements = chapter.grid(Grid(
    "arrangements", "List of arrangements",
    "One row each, with what limits it and the power it gives at absorption on the hottest afternoon.", RULE,
    tuple(
        Row(f"s{s}p{p}", f"{s} in series × {p} in parallel",
            {"fault": f"by_series_s{s}_fault", "weakness": f"by_series_s{s}_weakness", "i_module": f"series_search_s{s}_i",
             "i_stc": f"series_search_stc_s{s}_i",
             "current_fault": f"by_parallel_p{p}_current_fault", "current_weakness": f"by_parallel_p{p}_current_weakness"},
            {"series": float(s), "parallel": float(p)}, start=(s, p) == (1, 1), named=(s, p) == (6, 12))
        for s in SERIES
        for p in PARALLEL
    ),
    "Arrangements", single=True, numbers=IN_SERIES | {"parallel": ("strings in parallel", "")},
))  # fmt: skip


@arrangements.column(symbol="", words="modules", formula="series*parallel")
def modules(series, parallel):
    return series * parallel


@arrangements.column(symbol="P,MPPT", unit="W", words="power by an MPPT controller, within its rated current", formula=
                     "MIN(modules*peak_hot_pmp*controller_efficiency/whole_percent,"
                     "controller_i_max*battery_v_absorb)")  # fmt: skip
def usable_mppt(modules, peak_hot_pmp, controller_efficiency, whole_percent, controller_i_max, battery_v_absorb):
    converted = modules * peak_hot_pmp * controller_efficiency / whole_percent
    return np.minimum(converted, controller_i_max * battery_v_absorb)


@arrangements.column(symbol="P", unit="W", words="usable power under this controller", formula=
                     'IF(controller_type="MPPT",usable_mppt,parallel*i_module*battery_v_absorb)')  # fmt: skip
def usable(controller_type, usable_mppt, parallel, i_module, battery_v_absorb):
    return np.where(controller_type == "MPPT", usable_mppt, parallel * i_module * battery_v_absorb)


@arrangements.column(symbol="I,chg", unit="A", words="highest charge current", formula=
                     'MIN(controller_i_max,IF(controller_type="MPPT",'
                     "modules*module_pmp*controller_efficiency/whole_percent/battery_v_low,parallel*string_isc))")  # fmt: skip
def charge_i(
    controller_i_max, controller_type, modules, module_pmp, controller_efficiency, whole_percent, battery_v_low, parallel, string_isc
):
    mppt = modules * module_pmp * controller_efficiency / whole_percent / battery_v_low
    return np.minimum(controller_i_max, np.where(controller_type == "MPPT", mppt, parallel * string_isc))


@arrangements.column(kind="text", symbol="", words="charge current above the battery's, or what fails in any arrangement",
                     formula='IF(ROUND(charge_i,6)>ROUND(battery_i_max,6),"battery current",site_fault)')  # fmt: skip
def charge_fault(charge_i, battery_i_max, site_fault):
    return np.where(round_half_away(charge_i, 6) > round_half_away(battery_i_max, 6), "battery current", site_fault)


@arrangements.column(kind="text", symbol="", words="MPPT: charge current above the derated", optional=("controller_i_derated",), formula=
                     'IF(controller_i_derated="",site_weakness,IF(AND(controller_type="MPPT",'
                     'ROUND(charge_i,6)>ROUND(controller_i_derated,6)),"warm enclosure","nothing"))')  # fmt: skip
def charge_heat(controller_i_derated, site_weakness, controller_type, charge_i):
    over = round_half_away(charge_i, 6) > round_half_away(controller_i_derated, 6)
    judged = np.where((controller_type == "MPPT") & over, "warm enclosure", NONE)
    return np.where(np.isnan(controller_i_derated), site_weakness, judged)


@arrangements.column(symbol="use", words="share of rated power that PWM passes on at absorption, STC",
                     formula="i_stc*battery_v_absorb/(series*module_pmp)")  # fmt: skip
def share(i_stc, battery_v_absorb, series, module_pmp):
    return i_stc * battery_v_absorb / (series * module_pmp)


@arrangements.column(kind="text", symbol="", words="too little of the array used by PWM", formula=
                     'IF(ROUND(share,6)<ROUND(utilisation_lowest,6),"use of array","nothing")')  # fmt: skip
def pwm_use(share, utilisation_lowest):
    return np.where(round_half_away(share, 6) < round_half_away(utilisation_lowest, 6), "use of array", NONE)


@arrangements.column(kind="text", symbol="", words="array too large for MPPT", optional=("controller_max_pv_power",),
                     formula='IF(controller_max_pv_power="","nothing",'
                     'IF(ROUND(modules*module_pmp,6)>ROUND(controller_max_pv_power,6),"MPPT power","nothing"))')  # fmt: skip
def mppt_size(controller_max_pv_power, modules, module_pmp):
    large = round_half_away(modules * module_pmp, 6) > round_half_away(controller_max_pv_power, 6)
    return np.where(~np.isnan(controller_max_pv_power) & large, "MPPT power", NONE)


@arrangements.column(kind="text", symbol="", words="first weakness of the power, or of its heat", formula=
                     'IF(controller_type="PWM",IF(pwm_use<>"nothing",pwm_use,charge_heat),'
                     'IF(mppt_size<>"nothing",mppt_size,charge_heat))')  # fmt: skip
def power_weakness(controller_type, pwm_use, charge_heat, mppt_size):
    power = np.where(controller_type == "PWM", pwm_use, mppt_size)
    return np.where(power != NONE, power, charge_heat)


@arrangements.column(kind="text", symbol="", words="first weakness", formula='IF(weakness<>"nothing",weakness,'
                     'IF(current_weakness<>"nothing",current_weakness,power_weakness))')  # fmt: skip
def weak(weakness, current_weakness, power_weakness):
    return np.where(weakness != NONE, weakness, np.where(current_weakness != NONE, current_weakness, power_weakness))


@arrangements.column(kind="text", symbol="limited by", words="the check that limits it",
                     formula='IF(fault<>"nothing",fault,IF(current_fault<>"nothing",current_fault,'
                     'IF(charge_fault<>"nothing",charge_fault,weak)))')  # fmt: skip
def limited_by(fault, current_fault, charge_fault, weak):
    late = np.where(charge_fault != NONE, charge_fault, weak)
    return np.where(fault != NONE, fault, np.where(current_fault != NONE, current_fault, late))


@arrangements.column(kind="text", symbol="verdict", words="FAIL, NOTE or PASS", formula=
                     'IF(limited_by="nothing","PASS",'
                     'IF(AND(fault="nothing",current_fault="nothing",charge_fault="nothing"),"NOTE","FAIL"))')  # fmt: skip
def verdict(limited_by, fault, current_fault, charge_fault):
    noted = (fault == NONE) & (current_fault == NONE) & (charge_fault == NONE)
    return np.where(limited_by == NONE, "PASS", np.where(noted, "NOTE", "FAIL"))


@arrangements.column(symbol="P/module", unit="W", words="usable power of each module", formula="usable/modules")
def usable_module(usable, modules):
    return usable / modules


@arrangements.column(symbol="rank", unit="W", words="higher is better: verdict, then power, then fewer modules", formula=
                     'IF(verdict="FAIL",0*usable,'
                     'usable+IF(verdict="PASS",rank_pass,rank_note)-modules*rank_module)')  # fmt: skip
def rank(verdict, usable, rank_pass, rank_note, modules, rank_module):
    better = usable + np.where(verdict == "PASS", rank_pass, rank_note) - modules * rank_module
    return np.where(verdict == "FAIL", 0 * usable, better)


@arrangements.column(symbol="best", unit="W", words="best rank so far", named=True, formula="MAX(previous_best,rank)")
def best(previous_best, rank):
    return np.maximum(previous_best, rank)


@arrangements.start(formula="rank")
def best_start(rank):
    return rank


@arrangements.column(symbol="", words="in series, of the best so far", named=True,
                     formula="IF(rank>previous_best,series,previous_best_series)")  # fmt: skip
def best_series(rank, previous_best, series, previous_best_series):
    return np.where(rank > previous_best, series, previous_best_series)


@arrangements.start(formula="series")
def best_series_start(series):
    return series


@arrangements.column(symbol="", words="in parallel, of the best so far", named=True,
                     formula="IF(rank>previous_best,parallel,previous_best_parallel)")  # fmt: skip
def best_parallel(rank, previous_best, parallel, previous_best_parallel):
    return np.where(rank > previous_best, parallel, previous_best_parallel)


@arrangements.start(formula="parallel")
def best_parallel_start(parallel):
    return parallel


@arrangements.column(symbol="", unit="W", words="usable power of the best so far", named=True,
                     formula="IF(rank>previous_best,usable,previous_best_usable)")  # fmt: skip
def best_usable(rank, previous_best, usable, previous_best_usable):
    return np.where(rank > previous_best, usable, previous_best_usable)


@arrangements.start(formula="usable")
def best_usable_start(usable):
    return usable


by_series = chapter.grid(Grid(
    "by_series", "What depends on the modules in series", "Voltages, and the first limit that they break.", RULE,
    tuple(Row(f"s{n}", f"{n} in series", numbers={"series": float(n)}) for n in SERIES), "Arrangements", single=True,
    numbers=IN_SERIES,
))  # fmt: skip


@by_series.column(symbol="Voc,cold", unit="V", words="open-circuit voltage on the coldest morning",
                  formula="series*module_voc*voc_factor", named=True)  # fmt: skip
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


@by_series.column(symbol="v", unit="V", words="of one module at absorption", named=True,
                  formula="(battery_v_absorb+list_v_drops)/series")  # fmt: skip
def v(battery_v_absorb, list_v_drops, series):
    return (battery_v_absorb + list_v_drops) / series


@by_series.column(kind="text", symbol="", words="ratings broken by the voltage", formula=
                  'IF(ROUND(voc_cold,6)>=ROUND(controller_v_max,6),"controller voltage",'
                  'IF(ROUND(voc_cold,6)>ROUND(module_max_system_voltage,6),"module voltage","nothing"))')  # fmt: skip
def rating(voc_cold, controller_v_max, module_max_system_voltage):
    high = round_half_away(voc_cold, 6)
    module = np.where(high > round_half_away(module_max_system_voltage, 6), "module voltage", NONE)
    return np.where(high >= round_half_away(controller_v_max, 6), "controller voltage", module)


@by_series.column(kind="flag", symbol="code", words="above the voltage limit of the code",
                  formula="ROUND(voc_cold,6)>ROUND(code_voltage_limit,6)")  # fmt: skip
def over_code(voc_cold, code_voltage_limit):
    return round_half_away(voc_cold, 6) > round_half_away(code_voltage_limit, 6)


@by_series.column(kind="text", symbol="", words="fuses, switches and plugs", optional=("devices_v_min",), formula=
                  'IF(devices_v_min="","nothing",IF(ROUND(voc_cold,6)>ROUND(devices_v_min,6),"device voltage","nothing"))')  # fmt: skip
def device(devices_v_min, voc_cold):
    over = round_half_away(voc_cold, 6) > round_half_away(devices_v_min, 6)
    return np.where(~np.isnan(devices_v_min) & over, "device voltage", NONE)


@by_series.column(kind="flag", symbol="charges", words="hot Vmp above an empty battery",
                  formula="ROUND(vmp_hot,6)>ROUND(battery_v_low,6)")  # fmt: skip
def charges(vmp_hot, battery_v_low):
    return round_half_away(vmp_hot, 6) > round_half_away(battery_v_low, 6)


@by_series.column(kind="text", symbol="", words="fails whatever its voltage, or cannot charge", formula=
                  'IF(check_voltage_class="FAIL","controller setting",IF(check_cold_block="FAIL","cold charging",'
                  'IF(charges,"nothing","cannot charge")))')  # fmt: skip
def charge_able(check_voltage_class, check_cold_block, charges):
    other = np.where(check_cold_block == "FAIL", "cold charging", np.where(charges == 1, NONE, "cannot charge"))
    return np.where(check_voltage_class == "FAIL", "controller setting", other)


@by_series.column(kind="text", symbol="fails by", words="first voltage check that fails", named=True, formula=
                  'IF(rating<>"nothing",rating,IF(over_code,"code voltage",IF(device<>"nothing",device,charge_able)))')  # fmt: skip
def fault(rating, over_code, device, charge_able):
    late = np.where(device != NONE, device, charge_able)
    return np.where(rating != NONE, rating, np.where(over_code == 1, "code voltage", late))


@by_series.column(kind="flag", symbol="high enough", words="Vmp at or above the window's foot, and above the charge",
                  formula="AND(ROUND(vmp,6)>=ROUND(vmp_lowest,6),ROUND(vmp,6)>ROUND(battery_v_high,6))")  # fmt: skip
def high_enough(vmp, vmp_lowest, battery_v_high):
    value = round_half_away(vmp, 6)
    return (value >= round_half_away(vmp_lowest, 6)) & (value > round_half_away(battery_v_high, 6))


@by_series.column(kind="flag", symbol="window", words="Vmp within the PWM window",
                  formula="AND(high_enough,ROUND(vmp,6)<=ROUND(vmp_highest,6))")  # fmt: skip
def window(high_enough, vmp, vmp_highest):
    return (high_enough == 1) & (round_half_away(vmp, 6) <= round_half_away(vmp_highest, 6))


@by_series.column(kind="text", symbol="", words="first weakness under PWM", formula=
                  'IF(window,IF(ROUND(vmp_hot,6)<ROUND(list_v_needed,6),"hot afternoon",'
                  'IF(ROUND(vmp_cold,6)<ROUND(list_v_needed_cold,6),"cold charge","nothing")),"PWM window")')  # fmt: skip
def pwm_weakness(window, vmp_hot, list_v_needed, vmp_cold, list_v_needed_cold):
    hot = round_half_away(vmp_hot, 6) < round_half_away(list_v_needed, 6)
    cold = round_half_away(vmp_cold, 6) < round_half_away(list_v_needed_cold, 6)
    inside = np.where(hot, "hot afternoon", np.where(cold, "cold charge", NONE))
    return np.where(window == 1, inside, "PWM window")


@by_series.column(kind="text", symbol="weak by", words="first weakness under this controller", named=True, formula=
                  'IF(controller_type="PWM",pwm_weakness,'
                  'IF(ROUND(vmp_hot,6)<ROUND(mppt_v_needed,6),"MPPT window","nothing"))')  # fmt: skip
def weakness(controller_type, pwm_weakness, vmp_hot, mppt_v_needed):
    narrow = round_half_away(vmp_hot, 6) < round_half_away(mppt_v_needed, 6)
    return np.where(controller_type == "PWM", pwm_weakness, np.where(narrow, "MPPT window", NONE))


def _search(name: str, title: str, condition: str) -> Grid:
    grid = Grid(
        name, title, "Three rows for each number in series.", cite("de-soto", "single-diode equation"),
        tuple(
            row
            for n in SERIES
            for row in steps(f"s{n}", f"{n} in series", given_condition(condition) | {"v": f"by_series_s{n}_v", "loop_r": "curve_r"})
        ),
        "Curve", single=True,
    )  # fmt: skip
    current_columns(grid)
    return grid


chapter.grid(_search("series_search", "Current of one module at absorption, hottest cells", "hot"))
chapter.grid(_search("series_search_stc", "Current of one module at absorption, STC", "stc"))

by_parallel = chapter.grid(Grid(
    "by_parallel", "What depends on the strings in parallel", "Currents, and the first limit that they break.", RULE,
    tuple(Row(f"p{n}", f"{n} in parallel", numbers={"parallel": float(n)}) for n in PARALLEL), "Arrangements",
    single=True, numbers={"parallel": ("strings in parallel", "")},
))  # fmt: skip


@by_parallel.column(symbol="Isc", unit="A", words="short-circuit current",
                    formula="parallel*module_isc*(1+module_bifacial_gain/whole_percent)")  # fmt: skip
def isc(parallel, module_isc, module_bifacial_gain, whole_percent):
    return parallel * module_isc * (1 + module_bifacial_gain / whole_percent)


@by_parallel.column(symbol="Isc,max", unit="A", words="highest by the code", formula="code_current_factor*isc")
def isc_max(code_current_factor, isc):
    return code_current_factor * isc


@by_parallel.column(kind="text", symbol="", words="limits of the PV input broken", optional=("controller_i_sc_max",), formula=
                    'IF(controller_i_sc_max="","nothing",'
                    'IF(ROUND(isc_max,6)>ROUND(controller_i_sc_max,6),"short-circuit limit","nothing"))')  # fmt: skip
def input_limit(controller_i_sc_max, isc_max):
    over = round_half_away(isc_max, 6) > round_half_away(controller_i_sc_max, 6)
    return np.where(~np.isnan(controller_i_sc_max) & over, "short-circuit limit", NONE)


@by_parallel.column(kind="text", symbol="", words="protection of the PV input broken", optional=("controller_ocp",), formula=
                    'IF(controller_ocp="",input_limit,IF(input_limit<>"nothing",input_limit,'
                    'IF(ROUND(isc_max,6)>=ROUND(controller_ocp,6),"input protection","nothing")))')  # fmt: skip
def input_fault(controller_ocp, input_limit, isc_max):
    over = round_half_away(isc_max, 6) >= round_half_away(controller_ocp, 6)
    protected = np.where(input_limit != NONE, input_limit, np.where(over, "input protection", NONE))
    return np.where(np.isnan(controller_ocp), input_limit, protected)


@by_parallel.column(kind="text", symbol="", words="rated current of a PWM controller broken", formula=
                    'IF(controller_type="MPPT",input_fault,'
                    'IF(ROUND(isc,6)>=ROUND(controller_i_max,6),"rated current",input_fault))')  # fmt: skip
def rated_fault(controller_type, input_fault, isc, controller_i_max):
    over = (controller_type != "MPPT") & (round_half_away(isc, 6) >= round_half_away(controller_i_max, 6))
    return np.where(over, "rated current", input_fault)


@by_parallel.column(symbol="I,back", unit="A", words="current that the other strings can drive back into one",
                    formula="(parallel-1)*code_string_current*string_isc")  # fmt: skip
def back(parallel, code_string_current, string_isc):
    return (parallel - 1) * code_string_current * string_isc


@by_parallel.column(kind="text", symbol="", words="string fuses: whether needed", optional=("module_max_fuse",),
                    formula='IF(parallel<=code_string_free,"nothing",IF(module_max_fuse="","string fuse",'
                    'IF(ROUND(back-code_string_rating*module_max_fuse,6)<=0,"nothing","string fuse")))')  # fmt: skip
def fuse_needed(parallel, code_string_free, module_max_fuse, back, code_string_rating):
    unneeded = round_half_away(back - code_string_rating * module_max_fuse, 6) <= 0
    return np.where((parallel <= code_string_free) | unneeded, NONE, "string fuse")


@by_parallel.column(kind="text", symbol="", words="string fuses: needed, and none fits", optional=("string_fuse_fits",),
                    formula='IF(fuse_needed="nothing","nothing",'
                    'IF(string_fuse_fits="","string fuse",IF(string_fuse_fits,"nothing","string fuse")))')  # fmt: skip
def fuse_fault(fuse_needed, string_fuse_fits):
    return np.where((fuse_needed == NONE) | (string_fuse_fits == 1), NONE, "string fuse")


@by_parallel.column(kind="text", symbol="", words="PWM: current above the derated", optional=("controller_i_derated",), formula=
                    'IF(OR(controller_type="MPPT",derating_begins<>"above",controller_i_derated=""),"nothing",'
                    'IF(ROUND(isc_max,6)>ROUND(controller_i_derated,6),"hot enclosure","nothing"))')  # fmt: skip
def heat_fault(controller_type, derating_begins, controller_i_derated, isc_max):
    over = round_half_away(isc_max, 6) > round_half_away(controller_i_derated, 6)
    derated = (controller_type != "MPPT") & (derating_begins == "above") & ~np.isnan(controller_i_derated)
    return np.where(derated & over, "hot enclosure", NONE)


@by_parallel.column(kind="text", symbol="fails by", words="first current check that fails", named=True,
                    formula='IF(rated_fault<>"nothing",rated_fault,IF(fuse_fault<>"nothing",fuse_fault,heat_fault))')  # fmt: skip
def current_fault(rated_fault, fuse_fault, heat_fault):
    return np.where(rated_fault != NONE, rated_fault, np.where(fuse_fault != NONE, fuse_fault, heat_fault))


@by_parallel.column(kind="text", symbol="weak by", words="first weakness of the current", named=True, formula=
                    'IF(controller_type="MPPT","nothing",'
                    'IF(ROUND(isc_max,6)>ROUND(controller_i_max,6),"margin on current","nothing"))')  # fmt: skip
def current_weakness(controller_type, isc_max, controller_i_max):
    over = (controller_type != "MPPT") & (round_half_away(isc_max, 6) > round_half_away(controller_i_max, 6))
    return np.where(over, "margin on current", NONE)
