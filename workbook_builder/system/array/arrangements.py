"""Arrangements: a list to read of what else this module and this controller could be, and which is best."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOTE, PASS
from workbook_builder.language.wording import number_text

SERIES, PARALLEL = range(1, 7), range(1, 13)

chapter = Part(
    "arrangements",
    "Arrangements",
    f"The checks of voltage, current and charging for up to {SERIES[-1]} modules in series and {PARALLEL[-1]} strings in parallel. "
    "Cables are taken at their allowed drops: they must be chosen for the arrangement. Cables, the battery fuse, size and energy "
    "are judged on the sheet Verdicts only; what fails there whatever the arrangement, such as ventilation, fails every row.",
    sheet="Arrangements",
)

# the checks that judge an arrangement, by what they rest on
BY_SERIES = (
    "cold_voltage",
    "module_voltage",
    "code_voltage",
    "devices_voltage",
    "can_charge",
    "vmp_window",
    "hot_afternoon",
    "cold_charge",
    "mppt_window",
)
BY_PARALLEL = ("array_current", "short_circuit", "input_protection", "string_fuse")
BY_BOTH = ("battery_current", "enclosure_current", "utilisation", "mppt_power")
RULE = own_rule("the checks of the sheet Verdicts, applied to each arrangement")
NONE = "nothing"
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
def list_v_drops(
    controller_v_drop: Value, run_array_drop_allowed: Value, run_battery_drop_allowed: Value, whole_percent: Value, battery_nominal: Value
) -> Value:
    return controller_v_drop + (run_array_drop_allowed + run_battery_drop_allowed) / whole_percent * battery_nominal


@chapter.quantity(
    symbol="V,list",
    unit="V",
    label="Array voltage that full charging needs, hottest afternoon, every arrangement",
    words="Absorption voltage, its rise by compensation, and these drops.",
    formula="battery_v_absorb+charge_v_rise+list_v_drops",
    source=RULE,
)
def list_v_needed(battery_v_absorb: Value, charge_v_rise: Value, list_v_drops: Value) -> Value:
    return battery_v_absorb + charge_v_rise + list_v_drops


@chapter.quantity(
    symbol="V,list",
    unit="V",
    label="The same while the battery is coldest",
    words="Absorption voltage, its rise by compensation, and these drops.",
    formula="battery_v_absorb+charge_v_rise_cold+list_v_drops",
    source=RULE,
)
def list_v_needed_cold(battery_v_absorb: Value, charge_v_rise_cold: Value, list_v_drops: Value) -> Value:
    return battery_v_absorb + charge_v_rise_cold + list_v_drops


@chapter.quantity(
    symbol="V,list",
    unit="V",
    label="Array voltage at absorption under PWM, every arrangement",
    words="Absorption voltage and these drops.",
    formula="battery_v_absorb+list_v_drops",
    source=RULE,
)
def list_v_absorb(battery_v_absorb: Value, list_v_drops: Value) -> Value:
    return battery_v_absorb + list_v_drops


def first_that(word: str, checks: Mapping[str, Any]) -> Any:
    """Return the words of the first check whose verdict is the given one, in their order; "nothing" for none."""
    found: Any = NONE
    for words, verdict in reversed(list(checks.items())):
        found = np.where(verdict == word, words, found)
    return found


def checks_at(place: str, names: tuple[str, ...]) -> dict[str, str]:
    """Return what the names of checks stand for in the rows of a place."""
    return {name: f"{place}_check_{name}" for name in names}


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
def best_reason(arrangements_s6p12_best: Value, rank_pass: Value, rank_note: Value) -> Value:
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
def best_numbers(best_reason: Value, arrangements_s6p12_best_series: Value, arrangements_s6p12_best_parallel: Value) -> Value:
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
def best_arrangement(best_reason: Value, best_numbers: Value, arrangements_s6p12_best_usable: Value) -> Value:
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
                    "current_fault": f"by_parallel_p{p}_current_fault",
                    "current_weakness": f"by_parallel_p{p}_current_weakness",
                    "pwm": f"arrangements_s{s}p{p}_pwm_p_absorb_hot",
                    "mppt": f"arrangements_s{s}p{p}_mppt_p_hot",
                }
                | checks_at(f"arrangements_s{s}p{p}", BY_BOTH),
                {"series": float(s), "parallel": float(p)},
                start=(s, p) == (1, 1),
                named=(s, p) == (6, 12),
            )
            for s in SERIES
            for p in PARALLEL
        ),
        "Arrangements",
        single=True,
        numbers={"series": ("modules in series", ""), "parallel": ("strings in parallel", "")},
    )
)


@arrangements.column(words="modules", formula="series*parallel")
def modules(series: Value, parallel: Value) -> Value:
    return series * parallel


@arrangements.column(
    symbol="P",
    unit="W",
    words="usable power under this controller; by MPPT within its rated current",
    formula='IF(controller_type="MPPT",MIN(mppt,controller_i_max*battery_v_absorb),pwm)',
)
def usable(controller_type: Value, mppt: Value, controller_i_max: Value, battery_v_absorb: Value, pwm: Value) -> Value:
    return np.where(controller_type == "MPPT", np.minimum(mppt, controller_i_max * battery_v_absorb), pwm)


@arrangements.column(
    kind="text",
    words="the first check of both numbers, or of the site, that fails",
    formula='IF(enclosure_current="FAIL","hot enclosure",IF(battery_current="FAIL","battery current",site_fault))',
)
def late_fault(enclosure_current: Value, battery_current: Value, site_fault: Value) -> Value:
    late = np.where(battery_current == FAIL, "battery current", site_fault)
    return np.where(enclosure_current == FAIL, "hot enclosure", late)


@arrangements.column(
    kind="text",
    words="the first check that fails",
    formula='IF(fault<>"nothing",fault,IF(current_fault<>"nothing",current_fault,late_fault))',
)
def fails(fault: Value, current_fault: Value, late_fault: Value) -> Value:
    return np.where(fault != NONE, fault, np.where(current_fault != NONE, current_fault, late_fault))


@arrangements.column(
    kind="text",
    words="the first check of both numbers that has a note",
    formula='IF(utilisation="NOTE","use of array",IF(mppt_power="NOTE","MPPT power",'
    'IF(enclosure_current="NOTE","warm enclosure","nothing")))',
)
def late_weakness(utilisation: Value, mppt_power: Value, enclosure_current: Value) -> Value:
    return first_that(NOTE, {"use of array": utilisation, "MPPT power": mppt_power, "warm enclosure": enclosure_current})


@arrangements.column(
    kind="text",
    words="the first check that has a note",
    formula='IF(weakness<>"nothing",weakness,IF(current_weakness<>"nothing",current_weakness,late_weakness))',
)
def weak(weakness: Value, current_weakness: Value, late_weakness: Value) -> Value:
    return np.where(weakness != NONE, weakness, np.where(current_weakness != NONE, current_weakness, late_weakness))


@arrangements.column(kind="text", symbol="limited by", words="the check that limits it", formula='IF(fails<>"nothing",fails,weak)')
def limited_by(fails: Value, weak: Value) -> Value:
    return np.where(fails != NONE, fails, weak)


@arrangements.column(
    kind="text",
    symbol="verdict",
    words="FAIL, NOTE or PASS",
    formula='IF(fails<>"nothing","FAIL",IF(weak<>"nothing","NOTE","PASS"))',
)
def verdict(fails: Value, weak: Value) -> Value:
    return np.where(fails != NONE, FAIL, np.where(weak != NONE, NOTE, PASS))


@arrangements.column(symbol="P/module", unit="W", words="usable power of each module", formula="usable/modules")
def usable_module(usable: Value, modules: Value) -> Value:
    return usable / modules


@arrangements.column(
    symbol="rank",
    unit="W",
    words="higher is better: verdict, then power, then fewer modules",
    formula='IF(verdict="FAIL",0,usable+IF(verdict="PASS",rank_pass,rank_note)-modules*rank_module)',
)
def rank(verdict: Value, usable: Value, rank_pass: Value, rank_note: Value, modules: Value, rank_module: Value) -> Value:
    better = usable + np.where(verdict == "PASS", rank_pass, rank_note) - modules * rank_module
    return np.where(verdict == "FAIL", 0 * usable, better)


@arrangements.column(symbol="best", unit="W", words="best rank so far", named=True, formula="MAX(previous_best,rank)")
def best(previous_best: Value, rank: Value) -> Value:
    return np.maximum(previous_best, rank)


@arrangements.start(formula="rank")
def best_start(rank: Value) -> Value:
    return rank


@arrangements.column(
    symbol="", words="in series, of the best so far", named=True, formula="IF(rank>previous_best,series,previous_best_series)"
)
def best_series(rank: Value, previous_best: Value, series: Value, previous_best_series: Value) -> Value:
    return np.where(rank > previous_best, series, previous_best_series)


@arrangements.start(formula="series")
def best_series_start(series: Value) -> Value:
    return series


@arrangements.column(
    symbol="", words="in parallel, of the best so far", named=True, formula="IF(rank>previous_best,parallel,previous_best_parallel)"
)
def best_parallel(rank: Value, previous_best: Value, parallel: Value, previous_best_parallel: Value) -> Value:
    return np.where(rank > previous_best, parallel, previous_best_parallel)


@arrangements.start(formula="parallel")
def best_parallel_start(parallel: Value) -> Value:
    return parallel


@arrangements.column(
    symbol="", unit="W", words="usable power of the best so far", named=True, formula="IF(rank>previous_best,usable,previous_best_usable)"
)
def best_usable(rank: Value, previous_best: Value, usable: Value, previous_best_usable: Value) -> Value:
    return np.where(rank > previous_best, usable, previous_best_usable)


@arrangements.start(formula="usable")
def best_usable_start(usable: Value) -> Value:
    return usable
