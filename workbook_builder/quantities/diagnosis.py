"""Which explanation fits the readings: each is judged by itself, and only one that fits alone becomes the finding.

Two measures tell most apart. A switch that opens and closes mixes two states, so that volts and amps tell of the same
share of time. An array that is loaded by something else stays on its curve, so that the amps are those of its volts.
"""

from typing import Any

import numpy as np

from workbook_builder.declare import Chapter
from workbook_builder.grids import Grid, Row
from workbook_builder.locations import TEMPLATES
from workbook_builder.quantities.readings import STEPS
from workbook_builder.sources import cite, common_practice, own_rule
from workbook_builder.tables import read_table, round_half_away

chapter = Chapter(
    "diagnosis",
    "What the readings say",
    "Each explanation is 1 where it fits within the tolerances, and 0 where it does not.",
    sheet=STEPS,
)

OWN = own_rule("each explanation is judged by itself; only one that fits alone is named")
chapter.table(read_table(
    TEMPLATES / "findings.csv", "findings", "Explanations of readings, and what to do next", OWN,
))  # fmt: skip
chapter.constant("g_judged_least", 250, "W/m²", "Irradiance below which readings are not judged", "",
                 own_rule("below it the spread of meters hides every fault"))  # fmt: skip
chapter.constant("v_none", 0.5, "V", "PV volts that count as none", "", own_rule("below a bypass diode's drop"))
chapter.constant("class_low", 0.85, "", "Share of the predicted open-circuit volts below which the class is in doubt", "",
                 own_rule("a missing module is at least a sixth of six in series; heat and little sun take less"))  # fmt: skip
chapter.constant("class_high", 1.15, "", "the same, above which it is in doubt", "", own_rule("as far above"))
chapter.constant("battery_class_low", 0.75, "", "Lowest battery volts of its class, as a share of nominal", "",
                 common_practice("a dead battery of the class"))  # fmt: skip
chapter.constant("battery_class_high", 1.4, "", "Highest battery volts of its class, as a share of nominal", "",
                 common_practice("above equalising"))  # fmt: skip
chapter.constant("near_margin", 0.2, "V", "How far below float a regulating battery may stand, for each 12 V", "",
                 own_rule("steps of controllers and their sensing"))  # fmt: skip
chapter.constant("drop_least_share", 0.2, "", "Share of the predicted amps below which a drop is not judged", "",
                 own_rule("a drop needs a current to be seen"))  # fmt: skip


def _flag(symbol: str, label: str, words: str, formula: str) -> dict[str, Any]:
    return {"symbol": symbol, "unit": "", "label": label, "words": words, "formula": f"IF({formula},1,0)", "source": OWN}


def _near(one: Any, other: Any, tolerance: Any) -> Any:
    return round_half_away(np.abs(one - other), 6) <= round_half_away(tolerance, 6)


def _above(one: Any, other: Any) -> Any:
    return round_half_away(one, 6) > round_half_away(other, 6)


@chapter.quantity(
    symbol="ΔV,T", unit="V", label="Fall of the float voltage by compensation in the warm",
    words="Only if compensation is used: at the warmest battery of the design.",
    formula='IF(controller_tempcomp="yes",battery_tempco/millivolts_per_volt*battery_cells*(MAX(battery_t_max,t_battery)-t_battery),0)',
    source=common_practice("compensation works both ways"),
)  # fmt: skip
def day_float_fall(controller_tempcomp, battery_tempco, millivolts_per_volt, battery_cells, battery_t_max, t_battery):
    warmer = np.maximum(battery_t_max, t_battery) - t_battery
    return np.where(controller_tempcomp == "yes", battery_tempco / millivolts_per_volt * battery_cells * warmer, 0)


@chapter.quantity(
    symbol="V,near", unit="V", label="Battery volts from which regulating is expected",
    words="Float less its fall in the warm, the meter's uncertainty, and a margin.",
    formula="battery_v_float*(1-reading_v_uncertainty/whole_percent)+day_float_fall-near_margin*battery_nominal/nominal_unit",
    source=own_rule("float is the lowest voltage at which a controller regulates"),
)  # fmt: skip
def day_v_near(
    battery_v_float, reading_v_uncertainty, whole_percent, day_float_fall, near_margin, battery_nominal, nominal_unit
):  # fmt: skip
    lowest = battery_v_float * (1 - reading_v_uncertainty / whole_percent) + day_float_fall
    return lowest - near_margin * battery_nominal / nominal_unit


@chapter.quantity(**_flag(
    "near", "The battery stands near its set points", "At least the volts above.",
    "ROUND(reading_v_battery,6)>=ROUND(day_v_near,6)",
))  # fmt: skip
def day_near(reading_v_battery, day_v_near):
    return (round_half_away(reading_v_battery, 6) >= round_half_away(day_v_near, 6)) * 1.0


@chapter.quantity(**_flag(
    "class", "The battery is of its class", "Between the lowest and the highest volts of its class.",
    "AND(ROUND(reading_v_battery,6)>=ROUND(battery_class_low*battery_nominal,6),"
    "ROUND(reading_v_battery,6)<=ROUND(battery_class_high*battery_nominal,6))",
))  # fmt: skip
def day_battery_known(reading_v_battery, battery_class_low, battery_nominal, battery_class_high):
    volts = round_half_away(reading_v_battery, 6)
    low, high = battery_class_low * battery_nominal, battery_class_high * battery_nominal
    return ((volts >= round_half_away(low, 6)) & (volts <= round_half_away(high, 6))) * 1.0


@chapter.quantity(
    kind="text", unit="", label="What the controller says it does", words="As entered, if it shows anything.",
    formula='IF(reading_mode="","not shown",reading_mode)', source=OWN, optional=("reading_mode",),
)  # fmt: skip
def day_mode(reading_mode):
    return np.where(reading_mode == "", "not shown", reading_mode)


@chapter.quantity(**_flag(
    "V≈V,on", "The PV volts are those of charging", "Within their tolerance, on a battery of its class.",
    "AND(day_battery_known=1,ROUND(ABS(reading_v_pv-day_v_on),6)<=ROUND(day_v_on_tolerance,6))",
))  # fmt: skip
def day_closed(day_battery_known, reading_v_pv, day_v_on, day_v_on_tolerance):
    return ((day_battery_known == 1) & _near(reading_v_pv, day_v_on, day_v_on_tolerance)) * 1.0


@chapter.quantity(**_flag(
    "V>V,on", "The PV volts are above those of charging", "By more than their tolerance, on a battery of its class.",
    "AND(day_battery_known=1,ROUND(reading_v_pv,6)>ROUND(day_v_on+day_v_on_tolerance,6))",
))  # fmt: skip
def day_above(day_battery_known, reading_v_pv, day_v_on, day_v_on_tolerance):
    return ((day_battery_known == 1) & _above(reading_v_pv, day_v_on + day_v_on_tolerance)) * 1.0


@chapter.quantity(**_flag(
    "V≈Voc", "The PV volts are those of open circuit", "Within their tolerance.",
    "ROUND(ABS(reading_v_pv-day_voc),6)<=ROUND(day_voc_tolerance,6)",
))  # fmt: skip
def day_at_voc(reading_v_pv, day_voc, day_voc_tolerance):
    return _near(reading_v_pv, day_voc, day_voc_tolerance) * 1.0


@chapter.quantity(**_flag(
    "I≈I,on", "The amps are those of charging with all strings", "Within their tolerance.",
    "ROUND(ABS(reading_i_pv-day_i_on),6)<=ROUND(day_i_on_tolerance,6)",
))  # fmt: skip
def day_all_current(reading_i_pv, day_i_on, day_i_on_tolerance):
    return _near(reading_i_pv, day_i_on, day_i_on_tolerance) * 1.0


@chapter.quantity(**_flag(
    "I>0", "A current flows towards the battery", "More than counts as none.", "ROUND(reading_i_pv,6)>ROUND(day_i_none,6)",
))  # fmt: skip
def day_flows(reading_i_pv, day_i_none):
    return _above(reading_i_pv, day_i_none) * 1.0


@chapter.quantity(**_flag(
    "I≈0", "No current flows", "Not more than counts as none, either way.", "ROUND(ABS(reading_i_pv),6)<=ROUND(day_i_none,6)",
))  # fmt: skip
def day_still(reading_i_pv, day_i_none):
    return (round_half_away(np.abs(reading_i_pv), 6) <= round_half_away(day_i_none, 6)) * 1.0


@chapter.quantity(**_flag(
    "I≈I,read", "The amps are those of the whole array at the volts that were read", "Within their tolerance.",
    "ROUND(ABS(reading_i_pv-day_i_read),6)<=ROUND(day_i_read_tolerance,6)",
))  # fmt: skip
def day_on_curve(reading_i_pv, day_i_read, day_i_read_tolerance):
    return _near(reading_i_pv, day_i_read, day_i_read_tolerance) * 1.0


@chapter.quantity(**_flag(
    "D<1", "A PWM switch is open part of the time", "By the volts, beyond the tolerance of the share of time.",
    "AND(day_above=1,ROUND(MAX(0,day_duty_v+day_duty_v_tolerance),6)<1)",
))  # fmt: skip
def day_partly(day_above, day_duty_v, day_duty_v_tolerance):
    highest = round_half_away(np.maximum(0, day_duty_v + day_duty_v_tolerance), 6)
    return ((day_above == 1) & (highest < 1)) * 1.0


@chapter.quantity(
    optional=("day_partly", "day_duty_agreement"), **_flag(
        "limited", "The controller takes less than the array gives",
        "PWM: open part of the time, and volts and amps agree. MPPT: beside maximum power, on the curve.",
        'IF(controller_type="MPPT",day_above*day_on_curve,'
        'IF(AND(reading_meter<>"",day_duty_agreement="they agree"),day_partly,0))=1',
    ),
)  # fmt: skip
def day_limited(controller_type, day_above, day_on_curve, reading_meter, day_duty_agreement, day_partly):
    # a kind of meter that was refused leaves no share of time, which must not pass for a controller that takes all
    pwm = (reading_meter != "") & (day_duty_agreement == "they agree") & (day_partly == 1)
    return np.where(controller_type == "MPPT", (day_above == 1) & (day_on_curve == 1), pwm) * 1.0


@chapter.quantity(**_flag(
    "D,I<D,V", "The amps tell of a shorter time than the volts", "Beyond the tolerance of the difference.",
    'AND(day_partly=1,day_duty_agreement="they do not agree",ROUND(day_duty_i,6)<ROUND(day_duty_v,6))',
))  # fmt: skip
def day_behind(day_partly, day_duty_agreement, day_duty_i, day_duty_v):
    shorter = round_half_away(day_duty_i, 6) < round_half_away(day_duty_v, 6)
    return ((day_partly == 1) & (day_duty_agreement == "they do not agree") & shorter) * 1.0


@chapter.quantity(
    optional=("day_behind",), **_flag(
        "weaker", "The controller limits, and the array gives less than predicted",
        "PWM: amps behind the volts. MPPT: beside maximum power, and below the curve.",
        'IF(controller_type="MPPT",IF(ROUND(reading_i_pv,6)<ROUND(day_i_read-day_i_read_tolerance,6),day_above,0),day_behind)=1',
    ),
)  # fmt: skip
def day_weaker(controller_type, reading_i_pv, day_i_read, day_i_read_tolerance, day_above, day_behind):
    under = (day_above == 1) & _above(day_i_read - day_i_read_tolerance, reading_i_pv)
    return np.where(controller_type == "MPPT", under, day_behind == 1) * 1.0


@chapter.quantity(**_flag(
    "I<I,on", "The amps are below those of charging with all strings", "Beyond their tolerance, but flowing.",
    "AND(day_flows=1,ROUND(reading_i_pv,6)<ROUND(day_i_on-day_i_on_tolerance,6))",
))  # fmt: skip
def day_low(day_flows, reading_i_pv, day_i_on, day_i_on_tolerance):
    return ((day_flows == 1) & _above(day_i_on - day_i_on_tolerance, reading_i_pv)) * 1.0


@chapter.quantity(
    symbol="k", unit="", label="Number of missing strings that comes nearest to the amps",
    words="At least one, and not all of them; nothing for an array of one string.",
    formula='IF(array_parallel>1,MAX(1,MIN(array_parallel-1,ROUND(ROUND(array_parallel*(1-day_i_share),9),0))),"")',
    source=cite("circuit-laws", "parallel currents add"),
)  # fmt: skip
def day_strings_missing(array_parallel, day_i_share):
    nearest = round_half_away(round_half_away(array_parallel * (1 - day_i_share), 9), 0)
    return np.where(array_parallel > 1, np.maximum(1, np.minimum(array_parallel - 1, nearest)), np.nan)


@chapter.quantity(**_flag(
    "k fits", "That number of missing strings fits the amps", "Within the tolerance of the share of amps.",
    "ROUND(ABS(day_i_share-1+day_strings_missing/array_parallel),6)<=ROUND(day_i_share_tolerance,6)",
))  # fmt: skip
def day_missing_near(day_i_share, day_strings_missing, array_parallel, day_i_share_tolerance):
    return _near(day_i_share, 1 - day_strings_missing / array_parallel, day_i_share_tolerance) * 1.0


@chapter.quantity(**_flag(
    "±>1/4", "The amps are too uncertain to tell a missing string from shade",
    "Their tolerance is more than a quarter of what one string gives.", "ROUND(2*2*array_parallel*day_i_share_tolerance,6)>1",
))  # fmt: skip
def day_coarse(array_parallel, day_i_share_tolerance):
    return (round_half_away(4 * array_parallel * day_i_share_tolerance, 6) > 1) * 1.0


@chapter.quantity(**_flag(
    "held", "A current flows at volts that are not above those of charging", "Into a battery of its class.",
    "AND(day_battery_known=1,day_above=0,day_flows=1,ROUND(reading_v_pv,6)>ROUND(v_none,6))",
))  # fmt: skip
def day_held(day_battery_known, day_above, day_flows, reading_v_pv, v_none):
    return ((day_battery_known == 1) & (day_above == 0) & (day_flows == 1) & _above(reading_v_pv, v_none)) * 1.0


@chapter.quantity(**_flag(
    "short", "The array gives less than predicted, and nothing limits it",
    "PWM: volts of charging, too few amps. MPPT: volts not above maximum power, and volts or amps short.",
    'IF(controller_type="MPPT",AND(day_held=1,OR(day_low=1,day_closed=0)),AND(day_closed=1,day_low=1))',
))  # fmt: skip
def day_short(controller_type, day_held, day_low, day_closed):
    mppt = (day_held == 1) & ((day_low == 1) | (day_closed == 0))
    return np.where(controller_type == "MPPT", mppt, (day_closed == 1) & (day_low == 1)) * 1.0


@chapter.quantity(**_flag(
    "1", "Fits: charging in bulk", "Volts and amps of charging; the controller does not say off.",
    'AND(day_closed=1,day_all_current=1,day_flows=1,day_mode<>"off or fault")',
))  # fmt: skip
def fits_bulk(day_closed, day_all_current, day_flows, day_mode):
    return ((day_closed == 1) & (day_all_current == 1) & (day_flows == 1) & (day_mode != "off or fault")) * 1.0


@chapter.quantity(**_flag(
    "2", "Fits: regulating", "Limited, the battery near its set points; the controller says neither bulk nor off.",
    'AND(day_limited=1,day_near=1,day_mode<>"bulk",day_mode<>"off or fault")',
))  # fmt: skip
def fits_full(day_limited, day_near, day_mode):
    return ((day_limited == 1) & (day_near == 1) & (day_mode != "bulk") & (day_mode != "off or fault")) * 1.0


@chapter.quantity(**_flag(
    "3", "Fits: nearly full, and a weak array", "Limited and weaker, the battery near its set points.",
    'AND(day_weaker=1,day_near=1,day_flows=1,day_mode<>"off or fault")',
))  # fmt: skip
def fits_weak(day_weaker, day_near, day_flows, day_mode):
    return ((day_weaker == 1) & (day_near == 1) & (day_flows == 1) & (day_mode != "off or fault")) * 1.0


@chapter.quantity(**_flag(
    "4", "Fits: limited too early", "Limited, a current flows, the battery below its set points.",
    'AND(day_limited=1,day_near=0,day_flows=1,day_mode<>"off or fault")',
))  # fmt: skip
def fits_early(day_limited, day_near, day_flows, day_mode):
    return ((day_limited == 1) & (day_near == 0) & (day_flows == 1) & (day_mode != "off or fault")) * 1.0


@chapter.quantity(**_flag(
    "5", "Fits: the controller passes nothing", "Open-circuit volts, no amps, and no full battery, or it says off.",
    'AND(day_at_voc=1,day_still=1,day_battery_known=1,OR(day_near=0,day_mode="off or fault"))',
))  # fmt: skip
def fits_idle(day_at_voc, day_still, day_battery_known, day_near, day_mode):
    reason = (day_near == 0) | (day_mode == "off or fault")
    return ((day_at_voc == 1) & (day_still == 1) & (day_battery_known == 1) & reason) * 1.0


@chapter.quantity(
    optional=("day_missing_near",), **_flag(
        "6", "Fits: strings missing", "Volts of charging, and amps of fewer strings.",
        "AND(day_closed=1,day_flows=1,day_missing_near=1)",
    ),
)  # fmt: skip
def fits_missing(day_closed, day_flows, day_missing_near):
    return ((day_closed == 1) & (day_flows == 1) & (day_missing_near == 1)) * 1.0


@chapter.quantity(
    optional=("day_coarse",), **_flag(
        "7", "Fits: shade, dirt or a weak module",
        "Less than predicted, and not the amps of whole strings, or too uncertain to tell.",
        "AND(day_short=1,OR(fits_missing=0,day_coarse=1))",
    ),
)  # fmt: skip
def fits_shade(day_short, fits_missing, day_coarse):
    return ((day_short == 1) & ((fits_missing == 0) | (day_coarse == 1))) * 1.0


@chapter.quantity(**_flag(
    "8", "Fits: more than the array can give", "Volts of charging, and more amps than predicted.",
    "AND(day_closed=1,ROUND(reading_i_pv,6)>ROUND(day_i_on+day_i_on_tolerance,6))",
))  # fmt: skip
def fits_strong(day_closed, reading_i_pv, day_i_on, day_i_on_tolerance):
    return ((day_closed == 1) & _above(reading_i_pv, day_i_on + day_i_on_tolerance)) * 1.0


@chapter.quantity(**_flag(
    "loaded", "The array is loaded: below open circuit, and with a current worth judging", "Beyond the tolerance of open circuit.",
    "AND(ROUND(reading_v_pv,6)<ROUND(day_voc-day_voc_tolerance,6),ROUND(reading_i_pv,6)>=ROUND(drop_least_share*day_i_on,6))",
))  # fmt: skip
def day_loaded(reading_v_pv, day_voc, day_voc_tolerance, reading_i_pv, drop_least_share, day_i_on):
    return (_above(day_voc - day_voc_tolerance, reading_v_pv) & ~_above(drop_least_share * day_i_on, reading_i_pv)) * 1.0


@chapter.quantity(**_flag(
    "9", "Fits: too many volts lost", "PWM: between the volts of charging and open circuit, on the curve, with amps; not said to regulate.",
    'AND(controller_type="PWM",day_above=1,day_flows=1,day_on_curve=1,day_loaded=1,day_mode<>"absorption or float")',
))  # fmt: skip
def fits_drop(controller_type, day_above, day_flows, day_on_curve, day_loaded, day_mode):
    on_its_curve = (day_above == 1) & (day_flows == 1) & (day_on_curve == 1) & (day_loaded == 1)
    return ((controller_type == "PWM") & on_its_curve & (day_mode != "absorption or float")) * 1.0


@chapter.quantity(**_flag(
    "V≪Voc", "Volts of a shorter string", "No amps, and volts far below open circuit.",
    "AND(day_still=1,ROUND(reading_v_pv,6)>ROUND(v_none,6),ROUND(reading_v_pv,6)<ROUND(class_low*day_voc,6))",
))  # fmt: skip
def day_volts_few(day_still, reading_v_pv, v_none, class_low, day_voc):
    return ((day_still == 1) & _above(reading_v_pv, v_none) & _above(class_low * day_voc, reading_v_pv)) * 1.0


@chapter.quantity(**_flag(
    "10", "Fits: volts of another class", "Far above open circuit, or far below without amps, or the battery's.",
    "OR(day_battery_known=0,day_volts_few=1,ROUND(reading_v_pv,6)>ROUND(MAX(class_high*day_voc,day_voc+day_voc_tolerance),6))",
))  # fmt: skip
def fits_class(day_battery_known, day_volts_few, reading_v_pv, class_high, day_voc, day_voc_tolerance):
    many = _above(reading_v_pv, np.maximum(class_high * day_voc, day_voc + day_voc_tolerance))
    return ((day_battery_known == 0) | (day_volts_few == 1) | many) * 1.0


@chapter.quantity(**_flag(
    "11", "Fits: open circuit", "No amps, and no volts or only the battery's.",
    "AND(day_still=1,OR(ROUND(ABS(reading_v_pv),6)<=ROUND(v_none,6),"
    "ROUND(ABS(reading_v_pv-reading_v_battery),6)<=ROUND(day_v_on_tolerance,6)))",
))  # fmt: skip
def fits_open(day_still, reading_v_pv, v_none, reading_v_battery, day_v_on_tolerance):
    dead = round_half_away(np.abs(reading_v_pv), 6) <= round_half_away(v_none, 6)
    return ((day_still == 1) & (dead | _near(reading_v_pv, reading_v_battery, day_v_on_tolerance))) * 1.0


@chapter.quantity(**_flag("12", "Fits: reversed polarity", "PV volts below zero.", "ROUND(reading_v_pv+v_none,6)<0"))
def fits_reversed(reading_v_pv, v_none):
    return (round_half_away(reading_v_pv + v_none, 6) < 0) * 1.0


@chapter.quantity(**_flag(
    "13", "Fits: current backward", "Amps below zero, volts not.",
    "AND(ROUND(reading_i_pv+day_i_none,6)<0,ROUND(reading_v_pv+v_none,6)>=0)",
))  # fmt: skip
def fits_backward(reading_i_pv, day_i_none, reading_v_pv, v_none):
    flows_back = round_half_away(reading_i_pv + day_i_none, 6) < 0
    return (flows_back & (round_half_away(reading_v_pv + v_none, 6) >= 0)) * 1.0


EXPLANATIONS = (
    "bulk", "full", "weak", "early", "idle", "missing", "shade", "strong", "drop", "class", "open", "reversed", "backward",
)  # fmt: skip
explained = chapter.grid(Grid(
    "explained", "Explanations that fit", "How many fit, all of them in words, and the first three by their numbers.", OWN,
    tuple(
        Row(key, key, {"fits": f"fits_{key}"}, {"number": float(number)}, start=number == 1)
        for number, key in enumerate(EXPLANATIONS, 1)
    ),
    STEPS, numbers={"number": ("number", "")},
))  # fmt: skip


@explained.column(symbol="count", words="how many fit up to here", named=True, formula="previous_count+fits")
def count(previous_count, fits):
    return previous_count + fits


@explained.start(formula="fits")
def count_start(fits):
    return fits


def _place(formula: str) -> str:
    return f"IF(AND(fits=1,previous_count={formula}),number,previous_"


@explained.column(symbol="1st", words="number of the first that fits; 0 if none", named=True, formula=f"{_place('0')}first)")
def first(fits, previous_count, number, previous_first):
    return np.where((fits == 1) & (previous_count == 0), number, previous_first)


@explained.start(formula="number*fits")
def first_start(number, fits):
    return number * fits


@explained.column(symbol="2nd", words="of the second", named=True, formula=f"{_place('1')}second)")
def second(fits, previous_count, number, previous_second):
    return np.where((fits == 1) & (previous_count == 1), number, previous_second)


@explained.start(formula="0*fits")
def second_start(fits):
    return 0 * fits


@explained.column(symbol="3rd", words="of the third", named=True, formula=f"{_place('2')}third)")
def third(fits, previous_count, number, previous_third):
    return np.where((fits == 1) & (previous_count == 2), number, previous_third)


@explained.start(formula="0*fits")
def third_start(fits):
    return 0 * fits


@explained.column(
    symbol="all", kind="text", words="all that fit, in words", named=True, optional=("previous_named",), wide=True,
    formula='previous_named&IF(fits=1,IF(previous_count>0,"; ","")&INDEX(findings_finding,number),"")',
)  # fmt: skip
def named(fits, number, previous_named, previous_count, *, findings):
    own = np.where(previous_count > 0, "; ", "").astype(object) + findings.row(number, "finding")
    return np.asarray(previous_named, dtype=object) + np.where(fits == 1, own, "").astype(object)


@explained.start(formula='IF(fits=1,INDEX(findings_finding,number),"")')
def named_start(fits, number, *, findings):
    return np.where(fits == 1, findings.row(number, "finding"), "")


LAST = f"explained_{EXPLANATIONS[-1]}"


@chapter.quantity(
    kind="text", unit="", label="Key of the finding",
    words="Reversed polarity first, whatever else is known; then whether there is sun enough; then the one explanation that fits.",
    formula=f'IF(fits_reversed=1,"reversed",IF(COUNT({LAST}_count)=0,"waiting",IF(ROUND(day_g,6)<g_judged_least,"dark",'
    f'IF({LAST}_count=0,"none",IF({LAST}_count>1,"several",INDEX(findings_key,{LAST}_first))))))',
    source=OWN, optional=(f"{LAST}_count", f"{LAST}_first", "fits_reversed", "day_g"),
)  # fmt: skip
def finding_key(explained_backward_count, fits_reversed, day_g, g_judged_least, explained_backward_first, *, findings):
    only = findings.band(explained_backward_first, "number", "key")
    fitting = np.where(explained_backward_count == 0, "none", np.where(explained_backward_count > 1, "several", only))
    judged = np.where(round_half_away(day_g, 6) < round_half_away(g_judged_least, 6), "dark", fitting)
    known = np.where(np.isnan(explained_backward_count), "waiting", judged)
    return np.where(fits_reversed == 1, "reversed", known)


@chapter.quantity(
    kind="text", unit="", label="Finding", words="What the readings say; all explanations where more than one fits.",
    formula=f'INDEX(findings_finding,MATCH(finding_key,findings_key,0))&IF(finding_key="several",{LAST}_named,"")',
    source=OWN, optional=(f"{LAST}_named",),
)  # fmt: skip
def commissioning_finding(finding_key, explained_backward_named, *, findings):
    more = np.where(finding_key == "several", explained_backward_named, "").astype(object)
    return np.asarray(findings.exact(finding_key, "key", "finding"), dtype=object) + more


@chapter.quantity(
    kind="text", unit="", label="What to do next", words="The sentence of the finding.",
    formula="INDEX(findings_next,MATCH(finding_key,findings_key,0))", source=OWN,
)  # fmt: skip
def commissioning_next(finding_key, *, findings):
    return findings.exact(finding_key, "key", "next")


def _listed(ordinal: str, column: str, label: str) -> dict[str, Any]:
    name = f"{LAST}_{ordinal}"
    return {
        "kind": "text", "unit": "", "label": f"The {ordinal} explanation that fits: {label}", "words": "Empty if there is none.",
        "formula": f'IF({name}>0,INDEX(findings_{column},{name}),"")', "source": OWN,
    }  # fmt: skip


@chapter.quantity(**_listed("first", "finding", "its name"))
def explanation_first(explained_backward_first, *, findings):
    return findings.band(explained_backward_first, "number", "finding")


@chapter.quantity(**_listed("first", "next", "what to do"))
def explanation_first_next(explained_backward_first, *, findings):
    return findings.band(explained_backward_first, "number", "next")


@chapter.quantity(**_listed("second", "finding", "its name"))
def explanation_second(explained_backward_second, *, findings):
    return findings.band(explained_backward_second, "number", "finding")


@chapter.quantity(**_listed("second", "next", "what to do"))
def explanation_second_next(explained_backward_second, *, findings):
    return findings.band(explained_backward_second, "number", "next")


@chapter.quantity(**_listed("third", "finding", "its name"))
def explanation_third(explained_backward_third, *, findings):
    return findings.band(explained_backward_third, "number", "finding")


@chapter.quantity(**_listed("third", "next", "what to do"))
def explanation_third_next(explained_backward_third, *, findings):
    return findings.band(explained_backward_third, "number", "next")
