"""Signs in the readings: what holds of volts, amps and battery, each by itself, within the tolerances of the day."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.commissioning.readings import STEPS

chapter = Part("signs", "Signs in the readings", "Each is 1 where it holds within the tolerances, and 0 where it does not.", sheet=STEPS)

OWN = own_rule("each explanation is judged by itself; only one that fits alone is named")
chapter.constant(
    "g_judged_least",
    250,
    "W/m²",
    "Irradiance below which readings are not judged",
    "",
    own_rule("below it the spread of meters hides every fault"),
)
chapter.constant("v_none", 0.5, "V", "PV volts that count as none", "", own_rule("below a bypass diode's drop"))
chapter.constant(
    "class_low",
    0.85,
    "",
    "Share of the predicted open-circuit volts below which the class is in doubt",
    "",
    own_rule("a missing module is at least a sixth of six in series; heat and little sun take less"),
)
chapter.constant("class_high", 1.15, "", "the same, above which it is in doubt", "", own_rule("as far above"))
chapter.constant(
    "battery_class_low",
    0.75,
    "",
    "Lowest battery volts of its class, as a share of nominal",
    "",
    common_practice("a dead battery of the class"),
)
chapter.constant(
    "battery_class_high", 1.4, "", "Highest battery volts of its class, as a share of nominal", "", common_practice("above equalising")
)
chapter.constant(
    "near_margin",
    0.2,
    "V",
    "How far below float a regulating battery may stand, for each {nominal_unit:unit}",
    "",
    own_rule("steps of controllers and their sensing"),
)
chapter.constant(
    "drop_least_share",
    0.2,
    "",
    "Share of the predicted amps below which a drop is not judged",
    "",
    own_rule("a drop needs a current to be seen"),
)


def flag(symbol: str, label: str, words: str, formula: str) -> dict[str, Any]:
    """Return the declaration of a sign: 1 where the condition of the formula holds, otherwise 0."""
    return {"symbol": symbol, "unit": "", "label": label, "words": words, "formula": f"IF({formula},1,0)", "source": OWN}


def near(one: Any, other: Any, tolerance: Any) -> Any:
    """Return where two values are not further apart than a tolerance, in the same unit."""
    return round_half_away(np.abs(one - other), 6) <= round_half_away(tolerance, 6)


def above(one: Any, other: Any) -> Any:
    """Return where one value is above the other."""
    return round_half_away(one, 6) > round_half_away(other, 6)


@chapter.quantity(
    symbol="ΔV,T",
    unit="V",
    label="Fall of the float voltage by compensation in the warm",
    words="Only if compensation is used: at the warmest battery of the design.",
    formula='IF(controller_tempcomp="yes",battery_tempco/millivolts_per_volt*battery_cells*(MAX(battery_t_max,t_battery)-t_battery),0)',
    source=common_practice("compensation works both ways"),
)
def day_float_fall(
    controller_tempcomp: Value,
    battery_tempco: Value,
    millivolts_per_volt: Value,
    battery_cells: Value,
    battery_t_max: Value,
    t_battery: Value,
) -> Value:
    warmer = np.maximum(battery_t_max, t_battery) - t_battery
    return np.where(controller_tempcomp == "yes", battery_tempco / millivolts_per_volt * battery_cells * warmer, 0)


@chapter.quantity(
    symbol="V,near",
    unit="V",
    label="Battery volts from which regulating is expected",
    words="Float less its fall in the warm, the meter's uncertainty, and a margin.",
    formula="battery_v_float*(1-reading_v_uncertainty/whole_percent)+day_float_fall-near_margin*battery_nominal/nominal_unit",
    source=own_rule("float is the lowest voltage at which a controller regulates"),
)
def day_v_near(
    battery_v_float: Value,
    reading_v_uncertainty: Value,
    whole_percent: Value,
    day_float_fall: Value,
    near_margin: Value,
    battery_nominal: Value,
    nominal_unit: Value,
) -> Value:
    lowest = battery_v_float * (1 - reading_v_uncertainty / whole_percent) + day_float_fall
    return lowest - near_margin * battery_nominal / nominal_unit


@chapter.quantity(
    **flag(
        "near",
        "The battery stands near its set points",
        "At least the volts above.",
        "ROUND(reading_v_battery,6)>=ROUND(day_v_near,6)",
    )
)
def day_near(reading_v_battery: Value, day_v_near: Value) -> Value:
    return (round_half_away(reading_v_battery, 6) >= round_half_away(day_v_near, 6)) * 1.0


@chapter.quantity(
    **flag(
        "class",
        "The battery is of its class",
        "Between the lowest and the highest volts of its class.",
        "AND(ROUND(reading_v_battery,6)>=ROUND(battery_class_low*battery_nominal,6),"
        "ROUND(reading_v_battery,6)<=ROUND(battery_class_high*battery_nominal,6))",
    )
)
def day_battery_known(reading_v_battery: Value, battery_class_low: Value, battery_nominal: Value, battery_class_high: Value) -> Value:
    volts = round_half_away(reading_v_battery, 6)
    low, high = battery_class_low * battery_nominal, battery_class_high * battery_nominal
    return ((volts >= round_half_away(low, 6)) & (volts <= round_half_away(high, 6))) * 1.0


@chapter.quantity(
    kind="text",
    unit="",
    label="What the controller says it does",
    words="As entered, if it shows anything.",
    formula='IF(reading_mode="","not shown",reading_mode)',
    source=OWN,
    optional=("reading_mode",),
)
def day_mode(reading_mode: Value) -> Value:
    return np.where(reading_mode == "", "not shown", reading_mode)


@chapter.quantity(
    **flag(
        "V≈V,on",
        "The PV volts are those of charging",
        "Within their tolerance, on a battery of its class.",
        "AND(day_battery_known=1,ROUND(ABS(reading_v_pv-day_v_on),6)<=ROUND(day_v_on_tolerance,6))",
    )
)
def day_closed(day_battery_known: Value, reading_v_pv: Value, day_v_on: Value, day_v_on_tolerance: Value) -> Value:
    return ((day_battery_known == 1) & near(reading_v_pv, day_v_on, day_v_on_tolerance)) * 1.0


@chapter.quantity(
    **flag(
        "V>V,on",
        "The PV volts are above those of charging",
        "By more than their tolerance, on a battery of its class.",
        "AND(day_battery_known=1,ROUND(reading_v_pv,6)>ROUND(day_v_on+day_v_on_tolerance,6))",
    )
)
def day_above(day_battery_known: Value, reading_v_pv: Value, day_v_on: Value, day_v_on_tolerance: Value) -> Value:
    return ((day_battery_known == 1) & above(reading_v_pv, day_v_on + day_v_on_tolerance)) * 1.0


@chapter.quantity(
    **flag(
        "V≈Voc",
        "The PV volts are those of open circuit",
        "Within their tolerance.",
        "ROUND(ABS(reading_v_pv-day_voc),6)<=ROUND(day_voc_tolerance,6)",
    )
)
def day_at_voc(reading_v_pv: Value, day_voc: Value, day_voc_tolerance: Value) -> Value:
    return near(reading_v_pv, day_voc, day_voc_tolerance) * 1.0


@chapter.quantity(
    **flag(
        "I≈I,on",
        "The amps are those of charging with all strings",
        "Within their tolerance.",
        "ROUND(ABS(reading_i_pv-day_i_on),6)<=ROUND(day_i_on_tolerance,6)",
    )
)
def day_all_current(reading_i_pv: Value, day_i_on: Value, day_i_on_tolerance: Value) -> Value:
    return near(reading_i_pv, day_i_on, day_i_on_tolerance) * 1.0


@chapter.quantity(
    **flag(
        "I>0",
        "A current flows towards the battery",
        "More than counts as none.",
        "ROUND(reading_i_pv,6)>ROUND(day_i_none,6)",
    )
)
def day_flows(reading_i_pv: Value, day_i_none: Value) -> Value:
    return above(reading_i_pv, day_i_none) * 1.0


@chapter.quantity(
    **flag(
        "I≈0",
        "No current flows",
        "Not more than counts as none, either way.",
        "ROUND(ABS(reading_i_pv),6)<=ROUND(day_i_none,6)",
    )
)
def day_still(reading_i_pv: Value, day_i_none: Value) -> Value:
    return (round_half_away(np.abs(reading_i_pv), 6) <= round_half_away(day_i_none, 6)) * 1.0


@chapter.quantity(
    **flag(
        "I≈I,read",
        "The amps are those of the whole array at the volts that were read",
        "Within their tolerance.",
        "ROUND(ABS(reading_i_pv-day_i_read),6)<=ROUND(day_i_read_tolerance,6)",
    )
)
def day_on_curve(reading_i_pv: Value, day_i_read: Value, day_i_read_tolerance: Value) -> Value:
    return near(reading_i_pv, day_i_read, day_i_read_tolerance) * 1.0


@chapter.quantity(
    **flag(
        "D<1",
        "A PWM switch is open part of the time",
        "By the volts, beyond the tolerance of the share of time.",
        "AND(day_above=1,ROUND(day_duty_v+day_duty_v_tolerance,6)<1)",
    )
)
def day_partly(day_above: Value, day_duty_v: Value, day_duty_v_tolerance: Value) -> Value:
    highest = round_half_away(day_duty_v + day_duty_v_tolerance, 6)
    return ((day_above == 1) & (highest < 1)) * 1.0


@chapter.quantity(
    optional=("day_partly", "day_duty_agreement"),
    **flag(
        "limited",
        "The controller takes less than the array gives",
        "PWM: open part of the time, and volts and amps agree. MPPT: beside maximum power, on the curve.",
        'IF(controller_type="MPPT",day_above*day_on_curve,IF(AND(reading_meter<>"",day_duty_agreement="they agree"),day_partly,0))=1',
    ),
)
def day_limited(
    controller_type: Value, day_above: Value, day_on_curve: Value, reading_meter: Value, day_duty_agreement: Value, day_partly: Value
) -> Value:
    # a kind of meter that was refused leaves no share of time, which must not pass for a controller that takes all
    pwm = (reading_meter != "") & (day_duty_agreement == "they agree") & (day_partly == 1)
    return np.where(controller_type == "MPPT", (day_above == 1) & (day_on_curve == 1), pwm) * 1.0


@chapter.quantity(
    **flag(
        "D,I<D,V",
        "The amps tell of a shorter time than the volts",
        "Beyond the tolerance of the difference.",
        'AND(day_partly=1,day_duty_agreement="they do not agree",ROUND(day_duty_i,6)<ROUND(day_duty_v,6))',
    )
)
def day_behind(day_partly: Value, day_duty_agreement: Value, day_duty_i: Value, day_duty_v: Value) -> Value:
    shorter = round_half_away(day_duty_i, 6) < round_half_away(day_duty_v, 6)
    return ((day_partly == 1) & (day_duty_agreement == "they do not agree") & shorter) * 1.0


@chapter.quantity(
    optional=("day_behind",),
    **flag(
        "weaker",
        "The controller limits, and the array gives less than predicted",
        "PWM: amps behind the volts. MPPT: beside maximum power, and below the curve.",
        'IF(controller_type="MPPT",IF(ROUND(reading_i_pv,6)<ROUND(day_i_read-day_i_read_tolerance,6),day_above,0),day_behind)=1',
    ),
)
def day_weaker(
    controller_type: Value, reading_i_pv: Value, day_i_read: Value, day_i_read_tolerance: Value, day_above: Value, day_behind: Value
) -> Value:
    under = (day_above == 1) & above(day_i_read - day_i_read_tolerance, reading_i_pv)
    return np.where(controller_type == "MPPT", under, day_behind == 1) * 1.0


@chapter.quantity(
    **flag(
        "I<I,on",
        "The amps are below those of charging with all strings",
        "Beyond their tolerance, but flowing.",
        "AND(day_flows=1,ROUND(reading_i_pv,6)<ROUND(day_i_on-day_i_on_tolerance,6))",
    )
)
def day_low(day_flows: Value, reading_i_pv: Value, day_i_on: Value, day_i_on_tolerance: Value) -> Value:
    return ((day_flows == 1) & above(day_i_on - day_i_on_tolerance, reading_i_pv)) * 1.0


@chapter.quantity(
    symbol="k",
    unit="",
    label="Number of missing strings that comes nearest to the amps",
    words="At least one, and not all of them; nothing for an array of one string.",
    formula='IF(array_parallel>1,MAX(1,MIN(array_parallel-1,ROUND(ROUND(array_parallel*(1-day_i_share),9),0))),"")',
    source=cite("circuit-laws", "parallel currents add"),
)
def day_strings_missing(array_parallel: Value, day_i_share: Value) -> Value:
    nearest = round_half_away(round_half_away(array_parallel * (1 - day_i_share), 9), 0)
    return np.where(array_parallel > 1, np.maximum(1, np.minimum(array_parallel - 1, nearest)), np.nan)


@chapter.quantity(
    **flag(
        "k fits",
        "That number of missing strings fits the amps",
        "Within the tolerance of the share of amps.",
        "ROUND(ABS(day_i_share-1+day_strings_missing/array_parallel),6)<=ROUND(day_i_share_tolerance,6)",
    )
)
def day_missing_near(day_i_share: Value, day_strings_missing: Value, array_parallel: Value, day_i_share_tolerance: Value) -> Value:
    return near(day_i_share, 1 - day_strings_missing / array_parallel, day_i_share_tolerance) * 1.0


@chapter.quantity(
    **flag(
        "±>1/4",
        "The amps are too uncertain to tell a missing string from shade",
        "Their tolerance is more than a quarter of what one string gives.",
        "ROUND(4*array_parallel*day_i_share_tolerance,6)>1",
    )
)
def day_coarse(array_parallel: Value, day_i_share_tolerance: Value) -> Value:
    return (round_half_away(4 * array_parallel * day_i_share_tolerance, 6) > 1) * 1.0


@chapter.quantity(
    **flag(
        "held",
        "A current flows at volts that are not above those of charging",
        "Into a battery of its class.",
        "AND(day_battery_known=1,day_above=0,day_flows=1,ROUND(reading_v_pv,6)>ROUND(v_none,6))",
    )
)
def day_held(day_battery_known: Value, day_above: Value, day_flows: Value, reading_v_pv: Value, v_none: Value) -> Value:
    return ((day_battery_known == 1) & (day_above == 0) & (day_flows == 1) & above(reading_v_pv, v_none)) * 1.0


@chapter.quantity(
    **flag(
        "short",
        "The array gives less than predicted, and nothing limits it",
        "PWM: volts of charging, too few amps. MPPT: volts not above maximum power, and volts or amps short.",
        'IF(controller_type="MPPT",AND(day_held=1,OR(day_low=1,day_closed=0)),AND(day_closed=1,day_low=1))',
    )
)
def day_short(controller_type: Value, day_held: Value, day_low: Value, day_closed: Value) -> Value:
    mppt = (day_held == 1) & ((day_low == 1) | (day_closed == 0))
    return np.where(controller_type == "MPPT", mppt, (day_closed == 1) & (day_low == 1)) * 1.0
