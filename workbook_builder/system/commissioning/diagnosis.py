"""Which explanation fits the readings: each is judged by itself, and only one that fits alone becomes the finding.

Two measures tell most apart. A switch that opens and closes mixes two states, so that volts and amps tell of the same
share of time. An array that is loaded by something else stays on its curve, so that the amps are those of its volts.
"""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.commissioning.readings import STEPS
from workbook_builder.system.commissioning.signs import OWN, above, flag, near

chapter = Part(
    "diagnosis",
    "What the readings say",
    "Each explanation is 1 where it fits within the tolerances, and 0 where it does not.",
    sheet=STEPS,
)

chapter.table(
    read_table(
        TEMPLATES / "findings.csv",
        "findings",
        "Explanations of readings, and what to do next",
        OWN,
    )
)


@chapter.quantity(
    **flag(
        "1",
        "Fits: charging in bulk",
        "Volts and amps of charging; not said to be off; a set point fits.",
        'AND(day_closed=1,day_all_current=1,day_flows=1,day_mode<>"off or fault",day_off_set_points=0)',
    )
)
def fits_bulk(day_closed: Value, day_all_current: Value, day_flows: Value, day_mode: Value, day_off_set_points: Value) -> Value:
    charging = (day_closed == 1) & (day_all_current == 1) & (day_flows == 1)
    return (charging & (day_mode != "off or fault") & (day_off_set_points == 0)) * 1.0


@chapter.quantity(
    **flag(
        "2",
        "Fits: regulating",
        "Limited, near its set points, and one fits; said to be neither bulk nor off.",
        'AND(day_limited=1,day_near=1,day_mode<>"bulk",day_mode<>"off or fault",day_off_set_points=0)',
    )
)
def fits_full(day_limited: Value, day_near: Value, day_mode: Value, day_off_set_points: Value) -> Value:
    limited = (day_limited == 1) & (day_near == 1) & (day_off_set_points == 0)
    return (limited & (day_mode != "bulk") & (day_mode != "off or fault")) * 1.0


@chapter.quantity(
    **flag(
        "3",
        "Fits: nearly full, and a weak array",
        "Limited and weaker, the battery near its set points.",
        'AND(day_weaker=1,day_near=1,day_flows=1,day_mode<>"off or fault")',
    )
)
def fits_weak(day_weaker: Value, day_near: Value, day_flows: Value, day_mode: Value) -> Value:
    return ((day_weaker == 1) & (day_near == 1) & (day_flows == 1) & (day_mode != "off or fault")) * 1.0


@chapter.quantity(
    **flag(
        "4",
        "Fits: limited too early",
        "Limited, a current flows, the battery below its set points.",
        'AND(day_limited=1,day_near=0,day_flows=1,day_mode<>"off or fault")',
    )
)
def fits_early(day_limited: Value, day_near: Value, day_flows: Value, day_mode: Value) -> Value:
    return ((day_limited == 1) & (day_near == 0) & (day_flows == 1) & (day_mode != "off or fault")) * 1.0


@chapter.quantity(
    **flag(
        "5",
        "Fits: the controller passes nothing",
        "Open-circuit volts, no amps, and no full battery, or it says off.",
        'AND(day_at_voc=1,day_still=1,day_battery_known=1,OR(day_near=0,day_mode="off or fault"))',
    )
)
def fits_idle(day_at_voc: Value, day_still: Value, day_battery_known: Value, day_near: Value, day_mode: Value) -> Value:
    reason = (day_near == 0) | (day_mode == "off or fault")
    return ((day_at_voc == 1) & (day_still == 1) & (day_battery_known == 1) & reason) * 1.0


@chapter.quantity(
    optional=("day_missing_near",),
    **flag(
        "6",
        "Fits: strings missing",
        "Volts of charging, and amps of fewer strings.",
        "AND(day_closed=1,day_flows=1,day_missing_near=1)",
    ),
)
def fits_missing(day_closed: Value, day_flows: Value, day_missing_near: Value) -> Value:
    return ((day_closed == 1) & (day_flows == 1) & (day_missing_near == 1)) * 1.0


@chapter.quantity(
    optional=("day_coarse",),
    **flag(
        "7",
        "Fits: shade, dirt or a weak module",
        "Less than predicted, and not the amps of whole strings, or too uncertain to tell.",
        "AND(day_short=1,OR(fits_missing=0,day_coarse=1))",
    ),
)
def fits_shade(day_short: Value, fits_missing: Value, day_coarse: Value) -> Value:
    return ((day_short == 1) & ((fits_missing == 0) | (day_coarse == 1))) * 1.0


@chapter.quantity(
    **flag(
        "8",
        "Fits: more than the array can give",
        "Volts of charging, and more amps than predicted.",
        "AND(day_closed=1,ROUND(reading_i_pv,6)>ROUND(day_i_on+day_i_on_tolerance,6))",
    )
)
def fits_strong(day_closed: Value, reading_i_pv: Value, day_i_on: Value, day_i_on_tolerance: Value) -> Value:
    return ((day_closed == 1) & above(reading_i_pv, day_i_on + day_i_on_tolerance)) * 1.0


@chapter.quantity(
    **flag(
        "loaded",
        "The array is loaded: below open circuit, and with a current worth judging",
        "Beyond the tolerance of open circuit.",
        "AND(ROUND(reading_v_pv,6)<ROUND(day_voc-day_voc_tolerance,6),ROUND(reading_i_pv,6)>=ROUND(drop_least_share*day_i_on,6))",
    )
)
def day_loaded(
    reading_v_pv: Value, day_voc: Value, day_voc_tolerance: Value, reading_i_pv: Value, drop_least_share: Value, day_i_on: Value
) -> Value:
    return (above(day_voc - day_voc_tolerance, reading_v_pv) & ~above(drop_least_share * day_i_on, reading_i_pv)) * 1.0


@chapter.quantity(
    **flag(
        "9",
        "Fits: too many volts lost",
        "PWM: between the volts of charging and open circuit, on the curve, with amps; not said to regulate.",
        'AND(controller_type="PWM",day_above=1,day_flows=1,day_on_curve=1,day_loaded=1,day_mode<>"absorption or float")',
    )
)
def fits_drop(controller_type: Value, day_above: Value, day_flows: Value, day_on_curve: Value, day_loaded: Value, day_mode: Value) -> Value:
    on_its_curve = (day_above == 1) & (day_flows == 1) & (day_on_curve == 1) & (day_loaded == 1)
    return ((controller_type == "PWM") & on_its_curve & (day_mode != "absorption or float")) * 1.0


@chapter.quantity(
    **flag(
        "V≪Voc",
        "Volts of a shorter string",
        "No amps, and volts far below open circuit.",
        "AND(day_still=1,ROUND(reading_v_pv,6)>ROUND(v_none,6),ROUND(reading_v_pv,6)<ROUND(class_low*day_voc,6))",
    )
)
def day_volts_few(day_still: Value, reading_v_pv: Value, v_none: Value, class_low: Value, day_voc: Value) -> Value:
    return ((day_still == 1) & above(reading_v_pv, v_none) & above(class_low * day_voc, reading_v_pv)) * 1.0


@chapter.quantity(
    **flag(
        "10",
        "Fits: volts of another class",
        "Far above open circuit, or far below without amps, or the battery's.",
        "OR(day_battery_known=0,day_volts_few=1,ROUND(reading_v_pv,6)>ROUND(MAX(class_high*day_voc,day_voc+day_voc_tolerance),6))",
    )
)
def fits_class(
    day_battery_known: Value, day_volts_few: Value, reading_v_pv: Value, class_high: Value, day_voc: Value, day_voc_tolerance: Value
) -> Value:
    many = above(reading_v_pv, np.maximum(class_high * day_voc, day_voc + day_voc_tolerance))
    return ((day_battery_known == 0) | (day_volts_few == 1) | many) * 1.0


@chapter.quantity(
    **flag(
        "11",
        "Fits: open circuit",
        "No amps, and no volts or only the battery's.",
        "AND(day_still=1,OR(ROUND(ABS(reading_v_pv),6)<=ROUND(v_none,6),"
        "ROUND(ABS(reading_v_pv-reading_v_battery),6)<=ROUND(day_v_on_tolerance,6)))",
    )
)
def fits_open(day_still: Value, reading_v_pv: Value, v_none: Value, reading_v_battery: Value, day_v_on_tolerance: Value) -> Value:
    dead = round_half_away(np.abs(reading_v_pv), 6) <= round_half_away(v_none, 6)
    return ((day_still == 1) & (dead | near(reading_v_pv, reading_v_battery, day_v_on_tolerance))) * 1.0


@chapter.quantity(**flag("12", "Fits: reversed polarity", "PV volts below zero.", "ROUND(reading_v_pv+v_none,6)<0"))
def fits_reversed(reading_v_pv: Value, v_none: Value) -> Value:
    return (round_half_away(reading_v_pv + v_none, 6) < 0) * 1.0


@chapter.quantity(
    **flag(
        "13",
        "Fits: a wrong set point",
        "Healthy but for the battery's volts; not said to be off.",
        'AND(day_off_set_points=1,day_mode<>"off or fault",'
        "OR(AND(day_limited=1,day_near=1),AND(day_closed=1,day_all_current=1,day_flows=1)))",
    )
)
def fits_neither(
    day_off_set_points: Value,
    day_mode: Value,
    day_limited: Value,
    day_near: Value,
    day_closed: Value,
    day_all_current: Value,
    day_flows: Value,
) -> Value:
    sound = ((day_limited == 1) & (day_near == 1)) | ((day_closed == 1) & (day_all_current == 1) & (day_flows == 1))
    return (sound & (day_off_set_points == 1) & (day_mode != "off or fault")) * 1.0


@chapter.quantity(
    **flag(
        "14",
        "Fits: current backward",
        "Amps below zero, volts not.",
        "AND(ROUND(reading_i_pv+day_i_none,6)<0,ROUND(reading_v_pv+v_none,6)>=0)",
    )
)
def fits_backward(reading_i_pv: Value, day_i_none: Value, reading_v_pv: Value, v_none: Value) -> Value:
    flows_back = round_half_away(reading_i_pv + day_i_none, 6) < 0
    return (flows_back & (round_half_away(reading_v_pv + v_none, 6) >= 0)) * 1.0


EXPLANATIONS = (
    "bulk",
    "full",
    "weak",
    "early",
    "idle",
    "missing",
    "shade",
    "strong",
    "drop",
    "class",
    "open",
    "reversed",
    "neither",
    "backward",
)
explained = chapter.grid(
    Grid(
        "explained",
        "Explanations that fit",
        "How many fit, all of them in words, and the first three by their numbers.",
        OWN,
        tuple(
            Row(key, key, {"fits": f"fits_{key}"}, {"number": float(number)}, start=number == 1)
            for number, key in enumerate(EXPLANATIONS, 1)
        ),
        STEPS,
        numbers={"number": ("number", "")},
    )
)


@explained.running(symbol="count", words="how many fit up to here", formula="fits")
def count(fits: Value) -> Value:
    return fits


def _place(formula: str) -> str:
    return f"IF(AND(fits=1,previous_count={formula}),number,previous_"


@explained.column(symbol="1st", words="number of the first that fits; 0 if none", named=True, formula=f"{_place('0')}first)")
def first(fits: Value, previous_count: Value, number: Value, previous_first: Value) -> Value:
    return np.where((fits == 1) & (previous_count == 0), number, previous_first)


@explained.start(formula="number*fits")
def first_start(number: Value, fits: Value) -> Value:
    return number * fits


@explained.column(symbol="2nd", words="of the second", named=True, formula=f"{_place('1')}second)")
def second(fits: Value, previous_count: Value, number: Value, previous_second: Value) -> Value:
    return np.where((fits == 1) & (previous_count == 1), number, previous_second)


@explained.start(formula="0", waits=("fits",))
def second_start() -> Value:
    return 0.0


@explained.column(symbol="3rd", words="of the third", named=True, formula=f"{_place('2')}third)")
def third(fits: Value, previous_count: Value, number: Value, previous_third: Value) -> Value:
    return np.where((fits == 1) & (previous_count == 2), number, previous_third)


@explained.start(formula="0", waits=("fits",))
def third_start() -> Value:
    return 0.0


@explained.column(
    symbol="all",
    kind="text",
    words="all that fit, in words",
    named=True,
    optional=("previous_named",),
    wide=True,
    formula='previous_named&IF(fits=1,IF(previous_count>0,"; ","")&INDEX(findings_finding,number),"")',
)
def named(fits: Value, number: Value, previous_named: Value, previous_count: Value, *, findings: Table) -> Value:
    own = np.where(previous_count > 0, "; ", "").astype(object) + findings.row(number, "finding")
    return np.asarray(previous_named, dtype=object) + np.where(fits == 1, own, "").astype(object)


@explained.start(formula='IF(fits=1,INDEX(findings_finding,number),"")')
def named_start(fits: Value, number: Value, *, findings: Table) -> Value:
    return np.where(fits == 1, findings.row(number, "finding"), "")


LAST = f"explained_{EXPLANATIONS[-1]}"


@chapter.quantity(
    kind="text",
    unit="",
    label="Key of the finding",
    words="Reversed polarity first, whatever else is known; then whether there is sun enough; then the one explanation that fits.",
    formula=f'IF(fits_reversed=1,"reversed",IF(COUNT({LAST}_count)=0,"waiting",IF(ROUND(day_g,6)<g_judged_least,"dark",'
    f'IF({LAST}_count=0,"none",IF({LAST}_count>1,"several",INDEX(findings_key,{LAST}_first))))))',
    source=OWN,
    optional=(f"{LAST}_count", f"{LAST}_first", "fits_reversed", "day_g"),
)
def finding_key(
    explained_backward_count: Value,
    fits_reversed: Value,
    day_g: Value,
    g_judged_least: Value,
    explained_backward_first: Value,
    *,
    findings: Table,
) -> Value:
    only = findings.band(explained_backward_first, "number", "key")
    fitting = np.where(explained_backward_count == 0, "none", np.where(explained_backward_count > 1, "several", only))
    judged = np.where(round_half_away(day_g, 6) < round_half_away(g_judged_least, 6), "dark", fitting)
    known = np.where(np.isnan(explained_backward_count), "waiting", judged)
    return np.where(fits_reversed == 1, "reversed", known)


@chapter.quantity(
    kind="text",
    unit="",
    label="Finding",
    words="What the readings say; all explanations where more than one fits.",
    formula=f'INDEX(findings_finding,MATCH(finding_key,findings_key,0))&IF(finding_key="several",{LAST}_named,"")',
    source=OWN,
    optional=(f"{LAST}_named",),
)
def commissioning_finding(finding_key: Value, explained_backward_named: Value, *, findings: Table) -> Value:
    more = np.where(finding_key == "several", explained_backward_named, "").astype(object)
    return np.asarray(findings.exact(finding_key, "key", "finding"), dtype=object) + more


EITHER, LOWER = "at absorption or float", "at float, or absorption set too low"


@chapter.quantity(
    kind="text",
    unit="",
    label="What to do next",
    words="The sentence of the finding.",
    formula='INDEX(findings_next,MATCH(finding_key,findings_key,0))&IF(finding_key="full"," Now "&'
    f'IF(day_at_absorb=1,IF(day_at_float=1,"{EITHER}","at absorption"),"{LOWER}")&" ("&day_t_source&").","")',
    source=OWN,
    optional=("day_at_absorb", "day_at_float", "day_t_source"),
)
def commissioning_next(finding_key: Value, day_at_absorb: Value, day_at_float: Value, day_t_source: Value, *, findings: Table) -> Value:
    at = np.where(day_at_absorb == 1, np.where(day_at_float == 1, EITHER, "at absorption"), LOWER).astype(object)
    held = " Now " + at + " (" + np.asarray(day_t_source, dtype=object) + ")."
    return np.asarray(findings.exact(finding_key, "key", "next"), dtype=object) + np.where(finding_key == "full", held, "").astype(object)


def _listed(ordinal: str, column: str, label: str) -> dict[str, Any]:
    name = f"{LAST}_{ordinal}"
    return {
        "kind": "text",
        "unit": "",
        "label": f"The {ordinal} explanation that fits: {label}",
        "words": "Empty if there is none.",
        "formula": f'IF({name}>0,INDEX(findings_{column},{name}),"")',
        "source": OWN,
    }


@chapter.quantity(**_listed("first", "finding", "its name"))
def explanation_first(explained_backward_first: Value, *, findings: Table) -> Value:
    return findings.band(explained_backward_first, "number", "finding")


@chapter.quantity(**_listed("first", "next", "what to do"))
def explanation_first_next(explained_backward_first: Value, *, findings: Table) -> Value:
    return findings.band(explained_backward_first, "number", "next")


@chapter.quantity(**_listed("second", "finding", "its name"))
def explanation_second(explained_backward_second: Value, *, findings: Table) -> Value:
    return findings.band(explained_backward_second, "number", "finding")


@chapter.quantity(**_listed("second", "next", "what to do"))
def explanation_second_next(explained_backward_second: Value, *, findings: Table) -> Value:
    return findings.band(explained_backward_second, "number", "next")


@chapter.quantity(**_listed("third", "finding", "its name"))
def explanation_third(explained_backward_third: Value, *, findings: Table) -> Value:
    return findings.band(explained_backward_third, "number", "finding")


@chapter.quantity(**_listed("third", "next", "what to do"))
def explanation_third_next(explained_backward_third: Value, *, findings: Table) -> Value:
    return findings.band(explained_backward_third, "number", "next")
