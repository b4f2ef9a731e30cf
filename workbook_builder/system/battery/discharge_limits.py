"""How far the battery may be emptied: load disconnect, depth of discharge, and the cold in which its electrolyte freezes."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOTE, PASS, where_pass
from workbook_builder.system.battery.charge_limits import LIMITS, row

chapter = Part("battery_limits", continues=True)
FREEZING = cite("battery-density", "density by state of charge, freezing point by density")

chapter.table(
    read_table(
        TEMPLATES / "freezing.csv",
        "freezing",
        "Freezing point of the electrolyte by state of charge",
        FREEZING,
        "A state of charge between two rows takes the row of the emptier battery. Rows between the published ones are interpolated and "
        "rounded to the warmer degree. Acid for the tropics is thinner and freezes sooner.",
    )
)
chapter.constant(
    "freezing_margin",
    2,
    "K",
    "Distance from the freezing point",
    "",
    own_rule("cells differ, and so do sources"),
)

row(chapter, "disconnect_usual", "low_usual", "Lowest usual load disconnect voltage of the chemistry")
row(chapter, "disconnect_hard", "low_hard", "Lowest load disconnect voltage of the chemistry, hard limit")
row(chapter, "dod_usual", "dod_usual", "Deepest usual discharge of the chemistry", "%")
row(chapter, "dod_hard", "dod_hard", "Deepest discharge of the chemistry, hard limit", "%")
row(chapter, "day_usual", "day_usual", "Deepest usual discharge of a day of the chemistry", "%")
row(chapter, "day_hard", "day_hard", "Deepest discharge of a day of the chemistry, hard limit", "%")


@chapter.check(
    name="disconnect_limit",
    safety=True,
    match=True,
    label="Load disconnect above the battery's end",
    words="Load disconnect voltage, not below the lowest of the chemistry. Below the usual one: NOTE.",
    value="battery_v_low",
    at_least="disconnect_hard",
    formula='IF(ROUND(battery_v_low,6)<ROUND(disconnect_hard,6),"FAIL",IF(ROUND(battery_v_low,6)<ROUND(disconnect_usual,6),"NOTE","PASS"))',
    source=LIMITS,
    sentences={
        PASS: "Loads are disconnected before the battery is exhausted.",
        NOTE: "The load disconnect voltage is lower than usual for the chemistry. The battery is emptied deeply and ages faster. "
        "Compare the voltage with the maker's sheet, or raise it.",
        FAIL: "The load disconnect voltage is below the lowest of the chemistry. Cells reverse or are destroyed, and charging them "
        "afterwards is dangerous. Raise the load disconnect voltage to the limit or above.",
    },
)
def disconnect_limit(battery_v_low: Value, disconnect_hard: Value, disconnect_usual: Value) -> Value:
    low = round_half_away(battery_v_low, 6)
    usual = where_pass(low >= round_half_away(disconnect_usual, 6), NOTE)
    return np.where(low < round_half_away(disconnect_hard, 6), FAIL, usual)


@chapter.quantity(
    symbol="ΔDoD,lim",
    unit="%",
    label="Depth of discharge beyond the hard limits",
    words="The greater of the usable depth and the depth of a day, each less its hard limit; negative within them.",
    formula="MAX(battery_dod-dod_hard,battery_dod_daily-day_hard)",
    source=LIMITS,
)
def depth_beyond_hard(battery_dod: Value, dod_hard: Value, battery_dod_daily: Value, day_hard: Value) -> Value:
    return np.maximum(battery_dod - dod_hard, battery_dod_daily - day_hard)


@chapter.quantity(
    symbol="ΔDoD",
    unit="%",
    label="Depth of discharge beyond the usual one",
    words="The greater of the usable depth and the depth of a day, each less its usual limit; negative within them.",
    formula="MAX(battery_dod-dod_usual,battery_dod_daily-day_usual)",
    source=LIMITS,
)
def depth_beyond_usual(battery_dod: Value, dod_usual: Value, battery_dod_daily: Value, day_usual: Value) -> Value:
    return np.maximum(battery_dod - dod_usual, battery_dod_daily - day_usual)


@chapter.check(
    name="discharge_depth",
    safety=True,
    match=True,
    label="Depth of discharge within the limit",
    words="Usable depth and depth of an ordinary day, neither deeper than the chemistry allows. Deeper than usual: NOTE.",
    value="battery_dod",
    at_most="dod_hard",
    formula='IF(ROUND(depth_beyond_hard,6)>0,"FAIL",IF(ROUND(depth_beyond_usual,6)>0,"NOTE","PASS"))',
    source=LIMITS,
    sentences={
        PASS: "The battery is not emptied deeper than usual for its chemistry.",
        NOTE: "The usable depth or the depth of a day is deeper than usual for the chemistry. The battery lives for fewer years. "
        "Plan a smaller depth and more capacity.",
        FAIL: "The usable depth or the depth of a day is deeper than the chemistry allows. The battery fails early, and its cells can "
        "reverse. Enter a smaller depth, and plan more capacity.",
    },
)
def discharge_depth(depth_beyond_hard: Value, depth_beyond_usual: Value) -> Value:
    usual = where_pass(round_half_away(depth_beyond_usual, 6) <= 0, NOTE)
    return np.where(round_half_away(depth_beyond_hard, 6) > 0, FAIL, usual)


@chapter.quantity(
    symbol="DoD,end",
    unit="%",
    label="Depth of discharge at the end of the days without sun",
    words="Charge of the loads in these days, by the capacity at {rate_long} hours or less; at most the whole. Empty while no load is "
    "entered.",
    formula="MIN(whole_percent,load_ah_design*autonomy_days/battery_rate_ah*whole_percent)",
    source=own_rule("plain quotient"),
)
def autonomy_depth(whole_percent: Value, load_ah_design: Value, autonomy_days: Value, battery_rate_ah: Value) -> Value:
    return np.minimum(whole_percent, load_ah_design * autonomy_days / battery_rate_ah * whole_percent)


@chapter.quantity(
    symbol="SoC,min",
    unit="%",
    label="Lowest state of charge",
    words="What the usable depth leaves, or the days without sun where they leave less. Empty while a row of loads is unfinished.",
    formula='IF(autonomy_depth="",IF(loads_state="not run",whole_percent-battery_dod,""),whole_percent-MAX(battery_dod,autonomy_depth))',
    source=own_rule("the deeper of the two"),
    optional=("autonomy_depth",),
)
def charge_left(autonomy_depth: Value, loads_state: Value, whole_percent: Value, battery_dod: Value) -> Value:
    planned = np.where(loads_state == "not run", whole_percent - battery_dod, np.nan)
    return np.where(np.isnan(autonomy_depth), planned, whole_percent - np.maximum(battery_dod, autonomy_depth))


@chapter.quantity(
    symbol="T,freeze",
    unit="°C",
    label="Freezing point of the electrolyte at that charge",
    words="Row of the lowest state of charge.",
    formula="INDEX(freezing_freezes,MATCH(ROUND(charge_left,9),freezing_soc,1))",
    source=FREEZING,
)
def freezing_point(charge_left: Value, *, freezing: Table) -> Value:
    return freezing.band(charge_left, "soc", "freezes")


@chapter.quantity(
    symbol="T,safe",
    unit="°C",
    label="Coldest safe temperature of the emptied battery",
    words="Freezing point and {freezing_margin:unit}.",
    formula="freezing_point+freezing_margin",
    source=FREEZING,
)
def freezing_safe(freezing_point: Value, freezing_margin: Value) -> Value:
    return freezing_point + freezing_margin


@chapter.check(
    name="freezing",
    safety=True,
    match=True,
    label="The electrolyte does not freeze",
    words="Coldest the battery gets, not below the safe temperature of the emptied battery. Sealed batteries: NOTE.",
    value="battery_t_min",
    at_least="freezing_safe",
    formula='IF(battery_chemistry="LiFePO4","N/A",IF(ROUND(battery_t_min,6)>=ROUND(freezing_safe,6),"PASS",'
    'IF(battery_sealed="sealed","NOTE","FAIL")))',
    source=FREEZING,
    sentences={
        PASS: "The electrolyte stays liquid even at the deepest discharge.",
        NOTE: "The electrolyte of the emptied battery can freeze. A sealed battery then gives little and may be damaged. Keep the "
        "battery warmer, or plan a smaller depth of discharge.",
        FAIL: "The electrolyte of the emptied battery freezes. The case cracks and acid runs out, and charging a frozen battery can burst "
        "it. Keep the battery warmer, or plan more capacity and a smaller depth of discharge.",
        NOT_APPLICABLE: "A LiFePO4 battery holds no acid; see its limit for charging in the cold.",
    },
)
def freezing_check(battery_chemistry: Value, battery_t_min: Value, freezing_safe: Value, battery_sealed: Value) -> Value:
    liquid = round_half_away(battery_t_min, 6) >= round_half_away(freezing_safe, 6)
    frozen = np.where(battery_sealed == "sealed", NOTE, FAIL)
    return np.where(battery_chemistry == "LiFePO4", NOT_APPLICABLE, np.where(liquid, PASS, frozen))
