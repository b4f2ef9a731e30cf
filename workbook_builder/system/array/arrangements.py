"""Arrangements: a list to read of what else this module and this controller could be, and which is best."""

import numpy as np

from workbook_builder.language.declare import Chapter
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.wording import number_text

SERIES, PARALLEL = range(1, 7), range(1, 13)

chapter = Chapter(
    "arrangements",
    "Arrangements",
    f"The checks of voltage, current and charging for up to {SERIES[-1]} modules in series and {PARALLEL[-1]} strings in parallel. "
    "Cables are taken at their allowed drops: they must be chosen for the arrangement. Cables, the battery fuse, size and energy "
    "are judged on the sheet Verdicts only; what fails there whatever the arrangement, such as ventilation, fails every row.",
    sheet="Arrangements",
)

RULE = own_rule("the checks of the sheet Verdicts, applied to each arrangement")
NONE = "nothing"
IN_SERIES = {"series": ("modules in series", "")}
chapter.constant("rank_pass", 2000000, "W", "Added to the rank of an arrangement that passes", "", own_rule("ordering"))
chapter.constant("rank_note", 1000000, "W", "Added to the rank of an arrangement with a note", "", own_rule("ordering"))
chapter.constant("rank_module", 0.001, "W", "Taken off the rank for each module, so that fewer modules win a tie", "", own_rule("ordering"))


@chapter.quantity(
    symbol="ΔV,list",
    unit="V",
    label="Voltage drops taken for every arrangement",
    words="The controller's drop and the allowed drops of both cables.",
    formula="controller_v_drop+(run_array_drop_allowed+run_battery_drop_allowed)/whole_percent*battery_nominal",
    source=RULE,
)
def list_v_drops(controller_v_drop, run_array_drop_allowed, run_battery_drop_allowed, whole_percent, battery_nominal):
    return controller_v_drop + (run_array_drop_allowed + run_battery_drop_allowed) / whole_percent * battery_nominal


@chapter.quantity(
    symbol="V,list",
    unit="V",
    label="Array voltage that full charging needs, hottest afternoon, every arrangement",
    words="Absorption voltage, its rise by compensation, and these drops.",
    formula="battery_v_absorb+charge_v_rise+list_v_drops",
    source=RULE,
)
def list_v_needed(battery_v_absorb, charge_v_rise, list_v_drops):
    return battery_v_absorb + charge_v_rise + list_v_drops


@chapter.quantity(
    symbol="V,list",
    unit="V",
    label="The same while the battery is coldest",
    words="Absorption voltage, its rise by compensation, and these drops.",
    formula="battery_v_absorb+charge_v_rise_cold+list_v_drops",
    source=RULE,
)
def list_v_needed_cold(battery_v_absorb, charge_v_rise_cold, list_v_drops):
    return battery_v_absorb + charge_v_rise_cold + list_v_drops


LAST = "arrangements_s6p12"


@chapter.quantity(
    kind="text",
    unit="",
    label="Best arrangement: reason",
    symbol="",
    words="The best verdict first, then the most usable power, then the fewest modules.",
    formula=f'IF({LAST}_best>rank_pass-rank_note/2,"the most power among those that pass",'
    f'IF({LAST}_best>rank_note/2,"none passes without a note; this has the most power","no arrangement fits"))',
    source=RULE,
)
def best_reason(arrangements_s6p12_best, rank_pass, rank_note):
    noted = np.where(arrangements_s6p12_best > rank_note / 2, "none passes without a note; this has the most power", "no arrangement fits")
    passes = arrangements_s6p12_best > rank_pass - rank_note / 2
    return np.where(passes, "the most power among those that pass", noted)


@chapter.quantity(
    kind="text",
    unit="",
    label="Best arrangement: numbers",
    symbol="",
    words="Modules in series and strings in parallel.",
    formula=f'IF(best_reason="no arrangement fits","none",{LAST}_best_series&" in series × "&{LAST}_best_parallel&" in parallel")',
    source=RULE,
)
def best_numbers(best_reason, arrangements_s6p12_best_series, arrangements_s6p12_best_parallel):
    if best_reason == "no arrangement fits":
        return "none"
    return _joined("{} in series × {} in parallel", arrangements_s6p12_best_series, arrangements_s6p12_best_parallel)


@chapter.quantity(
    kind="text",
    unit="",
    label="Best arrangement",
    symbol="",
    words="The numbers, the power at absorption on the hottest afternoon, and why.",
    formula=f'IF(best_reason="no arrangement fits",best_reason,best_numbers&", about "&ROUND({LAST}_best_usable,0)&" W: "&best_reason)',
    source=RULE,
)
def best_arrangement(best_reason, best_numbers, arrangements_s6p12_best_usable):
    power = _joined("{}", round_half_away(arrangements_s6p12_best_usable, 0))
    if best_reason == "no arrangement fits":
        return best_reason
    return f"{best_numbers}, about {power} W: {best_reason}"


def _joined(pattern: str, *numbers: float) -> str:
    return pattern.format(*(number_text(number) for number in numbers))


arrangements = chapter.grid(
    Grid(
        "arrangements",
        "List of arrangements",
        "One row each, with what limits it and the power it gives at absorption on the hottest afternoon.",
        RULE,
        tuple(
            Row(
                f"s{s}p{p}",
                f"{s} in series × {p} in parallel",
                {
                    "fault": f"by_series_s{s}_fault",
                    "weakness": f"by_series_s{s}_weakness",
                    "p_string": f"string_power_s{s}_p_string",
                    "pwm_use": f"string_power_s{s}_pwm_use",
                    "current_fault": f"by_parallel_p{p}_current_fault",
                    "current_weakness": f"by_parallel_p{p}_current_weakness",
                },
                {"series": float(s), "parallel": float(p)},
                start=(s, p) == (1, 1),
                named=(s, p) == (6, 12),
            )
            for s in SERIES
            for p in PARALLEL
        ),
        "Arrangements",
        single=True,
        numbers=IN_SERIES | {"parallel": ("strings in parallel", "")},
    )
)


@arrangements.column(symbol="", words="modules", formula="series*parallel")
def modules(series, parallel):
    return series * parallel


@arrangements.column(
    symbol="P,MPPT",
    unit="W",
    words="power by an MPPT controller, within its rated current",
    formula="MIN(modules*peak_hot_pmp*controller_efficiency/whole_percent,controller_i_max*battery_v_absorb)",
)
def usable_mppt(modules, peak_hot_pmp, controller_efficiency, whole_percent, controller_i_max, battery_v_absorb):
    converted = modules * peak_hot_pmp * controller_efficiency / whole_percent
    return np.minimum(converted, controller_i_max * battery_v_absorb)


@arrangements.column(
    symbol="P", unit="W", words="usable power under this controller", formula='IF(controller_type="MPPT",usable_mppt,parallel*p_string)'
)
def usable(controller_type, usable_mppt, parallel, p_string):
    return np.where(controller_type == "MPPT", usable_mppt, parallel * p_string)


@arrangements.column(
    symbol="I,chg",
    unit="A",
    words="highest charge current",
    formula='MIN(controller_i_max,IF(controller_type="MPPT",'
    "modules*module_pmp*controller_efficiency/whole_percent/battery_v_low,parallel*string_isc))",
)
def charge_i(
    controller_i_max, controller_type, modules, module_pmp, controller_efficiency, whole_percent, battery_v_low, parallel, string_isc
):
    mppt = modules * module_pmp * controller_efficiency / whole_percent / battery_v_low
    return np.minimum(controller_i_max, np.where(controller_type == "MPPT", mppt, parallel * string_isc))


@arrangements.column(
    kind="text",
    symbol="",
    words="charge current above the battery's, or what fails in any arrangement",
    formula='IF(ROUND(charge_i,6)>ROUND(battery_i_max,6),"battery current",site_fault)',
)
def charge_fault(charge_i, battery_i_max, site_fault):
    return np.where(round_half_away(charge_i, 6) > round_half_away(battery_i_max, 6), "battery current", site_fault)


@arrangements.column(
    kind="text",
    symbol="",
    words="MPPT: charge current above the derated",
    optional=("controller_i_derated",),
    formula='IF(controller_i_derated="",site_weakness,IF(AND(controller_type="MPPT",'
    'ROUND(charge_i,6)>ROUND(controller_i_derated,6)),"warm enclosure","nothing"))',
)
def charge_heat(controller_i_derated, site_weakness, controller_type, charge_i):
    over = round_half_away(charge_i, 6) > round_half_away(controller_i_derated, 6)
    judged = np.where((controller_type == "MPPT") & over, "warm enclosure", NONE)
    return np.where(np.isnan(controller_i_derated), site_weakness, judged)


@arrangements.column(
    kind="text",
    symbol="",
    words="array too large for MPPT",
    optional=("controller_max_pv_power",),
    formula='IF(controller_max_pv_power="","nothing",'
    'IF(ROUND(modules*module_pmp,6)>ROUND(controller_max_pv_power,6),"MPPT power","nothing"))',
)
def mppt_size(controller_max_pv_power, modules, module_pmp):
    large = round_half_away(modules * module_pmp, 6) > round_half_away(controller_max_pv_power, 6)
    return np.where(~np.isnan(controller_max_pv_power) & large, "MPPT power", NONE)


@arrangements.column(
    kind="text",
    symbol="",
    words="first weakness of the power, or of its heat",
    formula='IF(controller_type="PWM",IF(pwm_use<>"nothing",pwm_use,charge_heat),IF(mppt_size<>"nothing",mppt_size,charge_heat))',
)
def power_weakness(controller_type, pwm_use, charge_heat, mppt_size):
    power = np.where(controller_type == "PWM", pwm_use, mppt_size)
    return np.where(power != NONE, power, charge_heat)


@arrangements.column(
    kind="text",
    symbol="",
    words="first weakness",
    formula='IF(weakness<>"nothing",weakness,IF(current_weakness<>"nothing",current_weakness,power_weakness))',
)
def weak(weakness, current_weakness, power_weakness):
    return np.where(weakness != NONE, weakness, np.where(current_weakness != NONE, current_weakness, power_weakness))


@arrangements.column(
    kind="text",
    symbol="limited by",
    words="the check that limits it",
    formula='IF(fault<>"nothing",fault,IF(current_fault<>"nothing",current_fault,IF(charge_fault<>"nothing",charge_fault,weak)))',
)
def limited_by(fault, current_fault, charge_fault, weak):
    late = np.where(charge_fault != NONE, charge_fault, weak)
    return np.where(fault != NONE, fault, np.where(current_fault != NONE, current_fault, late))


@arrangements.column(
    kind="text",
    symbol="verdict",
    words="FAIL, NOTE or PASS",
    formula='IF(limited_by="nothing","PASS",IF(AND(fault="nothing",current_fault="nothing",charge_fault="nothing"),"NOTE","FAIL"))',
)
def verdict(limited_by, fault, current_fault, charge_fault):
    noted = (fault == NONE) & (current_fault == NONE) & (charge_fault == NONE)
    return np.where(limited_by == NONE, "PASS", np.where(noted, "NOTE", "FAIL"))


@arrangements.column(symbol="P/module", unit="W", words="usable power of each module", formula="usable/modules")
def usable_module(usable, modules):
    return usable / modules


@arrangements.column(
    symbol="rank",
    unit="W",
    words="higher is better: verdict, then power, then fewer modules",
    formula='IF(verdict="FAIL",0,usable+IF(verdict="PASS",rank_pass,rank_note)-modules*rank_module)',
)
def rank(verdict, usable, rank_pass, rank_note, modules, rank_module):
    better = usable + np.where(verdict == "PASS", rank_pass, rank_note) - modules * rank_module
    return np.where(verdict == "FAIL", 0 * usable, better)


@arrangements.column(symbol="best", unit="W", words="best rank so far", named=True, formula="MAX(previous_best,rank)")
def best(previous_best, rank):
    return np.maximum(previous_best, rank)


@arrangements.start(formula="rank")
def best_start(rank):
    return rank


@arrangements.column(
    symbol="", words="in series, of the best so far", named=True, formula="IF(rank>previous_best,series,previous_best_series)"
)
def best_series(rank, previous_best, series, previous_best_series):
    return np.where(rank > previous_best, series, previous_best_series)


@arrangements.start(formula="series")
def best_series_start(series):
    return series


@arrangements.column(
    symbol="", words="in parallel, of the best so far", named=True, formula="IF(rank>previous_best,parallel,previous_best_parallel)"
)
def best_parallel(rank, previous_best, parallel, previous_best_parallel):
    return np.where(rank > previous_best, parallel, previous_best_parallel)


@arrangements.start(formula="parallel")
def best_parallel_start(parallel):
    return parallel


@arrangements.column(
    symbol="", unit="W", words="usable power of the best so far", named=True, formula="IF(rank>previous_best,usable,previous_best_usable)"
)
def best_usable(rank, previous_best, usable, previous_best_usable):
    return np.where(rank > previous_best, usable, previous_best_usable)


@arrangements.start(formula="usable")
def best_usable_start(usable):
    return usable
