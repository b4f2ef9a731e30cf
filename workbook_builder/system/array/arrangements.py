"""Arrangements: a list to read of what else this module and this controller could be, and which is best."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.first_check import NONE, FirstCheck
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_JUDGED, NOTE, PASS
from workbook_builder.language.wording import number_text

SERIES, PARALLEL = range(1, 7), range(1, 13)

chapter = Part(
    "arrangements",
    "Arrangements",
    f"The checks of voltage, current and charging for up to {SERIES[-1]} modules in series and {PARALLEL[-1]} strings in parallel. "
    "Cables are taken at their allowed drops: they must be chosen for the arrangement. Cables, the battery fuse, size and energy "
    "are judged on the sheet Verdicts only; what fails there whatever the arrangement, such as ventilation, fails every row. A row is "
    "NOT JUDGED while a safety check of the row waits for a blank entry: the sheet Verdicts names the entry.",
    sheet="Arrangements",
)

# the checks that judge an arrangement, by what they rest on
BY_SERIES = (
    "cold_voltage",
    "module_voltage",
    "code_voltage",
    "devices_voltage",
    "can_charge",
    "voltage_margin",
    "vmp_window",
    "hot_afternoon",
    "cold_charge",
    "mppt_window",
)
BY_PARALLEL = ("array_current", "short_circuit", "input_protection", "array_protection", "string_fuse")
BY_BOTH = ("battery_current", "enclosure_current", "utilisation", "mppt_power", "mppt_clipping")
RULE = own_rule("the checks of the sheet Verdicts, applied to each arrangement")
for _name, _rank, _words in (
    ("pass", 4000000, "passes"),
    ("note", 3000000, "has a note"),
    ("open", 2000000, "is not judged"),
    ("step", 1000000, "is not judged and has a note"),
):
    chapter.constant(f"rank_{_name}", _rank, "W", f"Added to the rank of an arrangement that {_words}", "", own_rule("ordering"))
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


def checks_at(place: str, names: tuple[str, ...]) -> dict[str, str]:
    """Return what the names of checks stand for in the rows of a place."""
    return {name: f"{place}_check_{name}" for name in names}


def first_column(grid: Grid, name: str, first: FirstCheck, words: str, symbol: str = "", *, named: bool = False) -> None:
    """Add a column to a grid that says which check is the first of a verdict."""
    grid.column(kind="text", words=words, symbol=symbol, formula=first.formula, named=named)(first.function(name))


def _first(name: str, first: FirstCheck, label: str, words: str) -> None:
    chapter.quantity(kind="text", unit="", label=label, words=words, formula=first.formula, source=RULE)(first.function(name))


SETTING = {"check_voltage_class": "controller setting", "check_voltage_served": "system voltage"}
_first(
    "setting_fault",
    FirstCheck(FAIL, SETTING),
    "What the controller's setting or voltage fails, whatever the numbers",
    "First of two checks that fails.",
)
_first(
    "setting_fault_late",
    FirstCheck(FAIL, {"check_voltage_found": "automatic setting", "check_cold_block": "cold charging"}),
    "What else fails whatever the numbers",
    "First of two checks that fails.",
)
_first(
    "setting_open",
    FirstCheck(NOT_JUDGED, SETTING),
    "What of the controller's setting or voltage is not judged",
    "First of two checks that is not judged.",
)


LAST = "arrangements_s6p12"


@chapter.quantity(
    unit="",
    label="Best arrangement: how it is judged",
    symbol="",
    words="4 passes, 3 has a note, 1 is not judged, 0 is none.",
    formula=f"IF({LAST}_best>rank_step*3+rank_step/2,4,IF({LAST}_best>rank_step*2+rank_step/2,3,IF({LAST}_best>rank_step/2,1,0)))",
    source=RULE,
)
def best_tier(arrangements_s6p12_best: Value, rank_step: Value) -> Value:
    best, half = arrangements_s6p12_best, rank_step / 2
    reached = [best > rank_step * 3 + half, best > rank_step * 2 + half, best > half]
    return np.select(reached, [4.0, 3.0, 1.0], 0.0)


@chapter.quantity(
    kind="text",
    unit="",
    label="Best arrangement: reason",
    symbol="",
    words="The best verdict first, then the most usable power, then the fewest modules.",
    formula='IF(best_tier=4,"the most power among those that pass",IF(best_tier=3,"none passes without a note; this has the most power",'
    'IF(best_tier>0,"not judged while entries are blank; none that is judged passes","no arrangement fits")))',
    source=RULE,
)
def best_reason(best_tier: Value) -> Value:
    reasons = (
        "the most power among those that pass",
        "none passes without a note; this has the most power",
        "not judged while entries are blank; none that is judged passes",
    )
    return np.select([np.equal(best_tier, 4), np.equal(best_tier, 3), np.greater(best_tier, 0)], reasons, "no arrangement fits")


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
                    "open": f"by_series_s{s}_open",
                    "current_open": f"by_parallel_p{p}_current_open",
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
    words="the first safety check that is not judged",
    formula='IF(open<>"nothing",open,IF(current_open<>"nothing",current_open,'
    'IF(enclosure_current="NOT JUDGED","hot enclosure","nothing")))',
)
def unjudged(open: Value, current_open: Value, enclosure_current: Value) -> Value:
    late = np.where(enclosure_current == NOT_JUDGED, "hot enclosure", NONE)
    return np.where(open != NONE, open, np.where(current_open != NONE, current_open, late))


first_column(
    arrangements,
    "late_weakness",
    FirstCheck(
        NOTE,
        {
            "utilisation": "use of array",
            "mppt_power": "MPPT power",
            "mppt_clipping": "MPPT clipping",
            "enclosure_current": "warm enclosure",
        },
    ),
    "the first check of both numbers that has a note",
)


@arrangements.column(
    kind="text",
    words="the first check that has a note",
    formula='IF(weakness<>"nothing",weakness,IF(current_weakness<>"nothing",current_weakness,late_weakness))',
)
def weak(weakness: Value, current_weakness: Value, late_weakness: Value) -> Value:
    return np.where(weakness != NONE, weakness, np.where(current_weakness != NONE, current_weakness, late_weakness))


@arrangements.column(
    kind="text",
    symbol="limited by",
    words="the check that limits it, or for which an entry is blank",
    formula='IF(fails<>"nothing",fails,IF(unjudged<>"nothing",unjudged,weak))',
)
def limited_by(fails: Value, unjudged: Value, weak: Value) -> Value:
    return np.where(fails != NONE, fails, np.where(unjudged != NONE, unjudged, weak))


@arrangements.column(
    kind="text",
    symbol="verdict",
    words="FAIL, NOT JUDGED, NOTE or PASS",
    formula='IF(fails<>"nothing","FAIL",IF(unjudged<>"nothing","NOT JUDGED",IF(weak<>"nothing","NOTE","PASS")))',
)
def verdict(fails: Value, unjudged: Value, weak: Value) -> Value:
    judged = np.where(weak != NONE, NOTE, PASS)
    return np.where(fails != NONE, FAIL, np.where(unjudged != NONE, NOT_JUDGED, judged))


@arrangements.column(symbol="P/module", unit="W", words="usable power of each module", formula="usable/modules")
def usable_module(usable: Value, modules: Value) -> Value:
    return usable / modules


@arrangements.column(
    symbol="tier",
    unit="W",
    words="what the verdict adds to the rank",
    formula='IF(verdict="PASS",rank_pass,IF(verdict="NOTE",rank_note,IF(weak="nothing",rank_open,rank_step)))',
)
def tier(verdict: Value, rank_pass: Value, rank_note: Value, weak: Value, rank_open: Value, rank_step: Value) -> Value:
    unjudged = np.where(weak == NONE, rank_open, rank_step)
    return np.where(verdict == PASS, rank_pass, np.where(verdict == NOTE, rank_note, unjudged))


@arrangements.column(
    symbol="rank",
    unit="W",
    words="higher is better: verdict, then power, then fewer modules",
    formula='IF(verdict="FAIL",0,usable+tier-modules*rank_module)',
)
def rank(verdict: Value, usable: Value, tier: Value, modules: Value, rank_module: Value) -> Value:
    return np.where(verdict == FAIL, 0 * usable, usable + tier - modules * rank_module)


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


@arrangements.column(
    symbol="strings",
    words="most strings so far that fail no check, with the modules in series of the design",
    named=True,
    formula='IF(AND(series=array_series,fails="nothing"),parallel,previous_strings)',
)
def strings(series: Value, array_series: Value, fails: Value, parallel: Value, previous_strings: Value) -> Value:
    return np.where((series == array_series) & (fails == NONE), parallel, previous_strings)


@arrangements.start(formula='IF(AND(series=array_series,fails="nothing"),parallel,0)')
def strings_start(series: Value, array_series: Value, fails: Value, parallel: Value) -> Value:
    return np.where((series == array_series) & (fails == NONE), parallel, 0 * parallel)
