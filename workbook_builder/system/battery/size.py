"""The battery's size and its charge current: what the loads, its life and the cold need, and what its chemistry takes."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.battery.bank import BATTERY_SHEET

chapter = Part(
    "sizing",
    "Battery size",
    "The bank must last through the days without sun, at the end of its life and in the cold, and take the charge current. "
    "Capacity means ampere-hours at the hour rate of the data sheet; another rate is reckoned from it.",
    sheet="Battery",
)

CHEMISTRY = common_practice("usual of the chemistry; the maker's sheet comes first")
IEEE = cite("ieee-1013", "adjustments of capacity", FROM_MEMORY)
chapter.table(
    read_table(
        TEMPLATES / "capacity_factors.csv",
        "capacity_factors",
        "Capacity needed in the cold",
        cite("ieee-485", "table of temperature factors", FROM_MEMORY),
        "A temperature between two rows takes the colder row. Rows below −4 °C from a teaching text, the coldest and the column of "
        "LiFePO4 are common practice.",
    )
)

chapter.number(
    "battery_capacity",
    "Ah",
    4,
    3500,
    "Capacity of one battery (or string) at its rated hour rate",
    where="label of the battery: Ah at C20 or C10, the hour rate is entered below",
)
chapter.number("battery_parallel", "", 1, 20, "Battery strings in parallel", whole=True, where="your design")
chapter.choice(
    "battery_i_max_unit",
    ("A", "C"),
    "Unit of the largest charge current below",
    blank="A",
    blank_source=own_rule("amperes"),
    where="C: a share of the capacity, such as 0.2",
)
chapter.number(
    "battery_i_max",
    "A",
    0.2,
    4000,
    "Largest charge current of the bank",
    blank="=battery_i_max_default",
    blank_source=CHEMISTRY,
    where=BATTERY_SHEET,
    factor="battery_i_max_factor",
)
chapter.number(
    "battery_dod", "%", 10, 100, "Usable depth of discharge", blank="=battery_dod_default", blank_source=CHEMISTRY, where=BATTERY_SHEET
)
chapter.number(
    "battery_dod_daily",
    "%",
    5,
    100,
    "Depth of discharge of an ordinary day",
    blank="=battery_dod_daily_default",
    blank_source=CHEMISTRY,
    where=BATTERY_SHEET,
)
chapter.number(
    "battery_end_of_life",
    "%",
    50,
    100,
    "Capacity left at the end of life",
    blank=80,
    blank_source=IEEE,
    where="when the battery will be replaced",
)
chapter.number("battery_margin", "%", 0, 100, "Design margin on the capacity", blank=10, blank_source=IEEE, where="your design")
chapter.number(
    "autonomy_days",
    "d",
    0.5,
    30,
    "Days without sun",
    blank=3,
    blank_source=common_practice("usual of small systems"),
    where="how critical the loads are",
)
chapter.choice(
    "battery_cold_block",
    ("yes", "no"),
    "Charging is blocked when the battery is too cold",
    blank="no",
    blank_source=own_rule("the safe side"),
    where="LiFePO4: battery management or controller, 0 °C",
)
chapter.constant("parallel_most", 4, "", "Most battery strings in parallel without a note", "", common_practice("3 to 4"))


def _row(symbol: str, unit: str, column: str, label: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": unit,
        "label": f"{label}, usual for the chemistry",
        "words": "The chemistry's row.",
        "formula": f"INDEX(chemistry_{column},MATCH(battery_chemistry,chemistry_chemistry,0))",
        "source": CHEMISTRY,
    }


@chapter.quantity(
    symbol="C",
    unit="Ah",
    label="Capacity of the bank",
    words="Capacity of a string times strings in parallel.",
    formula="battery_capacity*battery_parallel",
    source=cite("circuit-laws", "parallel currents add"),
)
def battery_bank_ah(battery_capacity: Value, battery_parallel: Value) -> Value:
    return battery_capacity * battery_parallel


@chapter.quantity(
    unit="",
    label="Factor from the typed largest charge current to amperes",
    words="1 if typed in amperes, or the capacity of which charge rates are shares.",
    formula='IF(battery_i_max_unit="C",battery_rate_ah,1)',
    source=cite("circuit-laws", "change of unit"),
)
def battery_i_max_factor(battery_i_max_unit: Value, battery_rate_ah: Value) -> Value:
    magnitude: Value = getattr(battery_rate_ah, "magnitude", battery_rate_ah)
    return np.where(battery_i_max_unit == "C", magnitude, 1.0)


@chapter.quantity(
    symbol="I,max",
    unit="A",
    label="Largest charge current, usual for the chemistry",
    words="Highest rate times capacity.",
    formula="INDEX(chemistry_charge_max,MATCH(battery_chemistry,chemistry_chemistry,0))*battery_rate_ah",
    source=CHEMISTRY,
)
def battery_i_max_default(battery_chemistry: Value, battery_rate_ah: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "charge_max") * battery_rate_ah


@chapter.quantity(**_row("DoD", "%", "dod", "Usable depth of discharge"))
def battery_dod_default(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "dod")


@chapter.quantity(**_row("DoD,day", "%", "dod_daily", "Depth of an ordinary day"))
def battery_dod_daily_default(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "dod_daily")


@chapter.quantity(**_row("η,bat", "%", "efficiency", "Energy efficiency"))
def battery_efficiency(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "efficiency")


@chapter.quantity(**_row("", "A/Ah", "short_per_ah", "Short-circuit current for each Ah"))
def battery_short_per_ah(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "short_per_ah")


@chapter.quantity(**_row("T,cold", "°C", "cold_limit", "Coldest temperature at which it may be charged"))
def battery_cold_limit(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "cold_limit")


def _cold(column: str, words: str) -> dict[str, Any]:
    return {
        "symbol": "k,T",
        "unit": "",
        "label": f"Capacity needed in the cold, {words}",
        "words": "Row of the coldest battery; nothing where the table ends.",
        "formula": 'IF(ROUND(battery_t_min,9)<MIN(capacity_factors_t_from),"",'
        f"INDEX(capacity_factors_{column},MATCH(ROUND(battery_t_min,9),capacity_factors_t_from,1)))",
        "source": cite("ieee-485", "table of temperature factors", FROM_MEMORY),
    }


@chapter.quantity(**_cold("lead", "lead-acid"))
def cold_factor_lead(battery_t_min: Value, *, capacity_factors: Table) -> Value:
    return capacity_factors.band(battery_t_min, "t_from", "lead")


@chapter.quantity(**_cold("lithium", "LiFePO4"))
def cold_factor_lithium(battery_t_min: Value, *, capacity_factors: Table) -> Value:
    return capacity_factors.band(battery_t_min, "t_from", "lithium")


@chapter.quantity(**_row("T,hot", "°C", "hot_limit", "Warmest charging without a note"))
def battery_hot_limit(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "hot_limit")


@chapter.quantity(
    symbol="V,high",
    unit="V",
    label="Highest usual charge voltage of the chemistry",
    words="Scaled to nominal voltage.",
    formula="INDEX(chemistry_high_max,MATCH(battery_chemistry,chemistry_chemistry,0))*battery_units",
    source=CHEMISTRY,
)
def charge_highest(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "high_max") * battery_units


@chapter.quantity(
    symbol="k,T",
    unit="",
    label="Capacity needed in the cold",
    words="That of the chemistry.",
    formula='IF(battery_chemistry="LiFePO4",cold_factor_lithium,cold_factor_lead)',
    source=cite("ieee-485", "table of temperature factors", FROM_MEMORY),
)
def battery_cold_factor(battery_chemistry: Value, cold_factor_lithium: Value, cold_factor_lead: Value) -> Value:
    return np.where(battery_chemistry == "LiFePO4", cold_factor_lithium, cold_factor_lead)


@chapter.quantity(
    symbol="C1",
    unit="Ah",
    label="Capacity by the days without sun",
    words="Daily charge times days, by depth of discharge.",
    formula="load_ah_design*autonomy_days/(battery_dod/whole_percent)",
    source=IEEE,
)
def battery_ah_autonomy(load_ah_design: Value, autonomy_days: Value, battery_dod: Value, whole_percent: Value) -> Value:
    return load_ah_design * autonomy_days / (battery_dod / whole_percent)


@chapter.quantity(
    symbol="C2",
    unit="Ah",
    label="Capacity by the end of life",
    words="Daily charge times days, by the capacity left.",
    formula="load_ah_design*autonomy_days/(battery_end_of_life/whole_percent)",
    source=IEEE,
)
def battery_ah_end_of_life(load_ah_design: Value, autonomy_days: Value, battery_end_of_life: Value, whole_percent: Value) -> Value:
    return load_ah_design * autonomy_days / (battery_end_of_life / whole_percent)


@chapter.quantity(
    symbol="C3",
    unit="Ah",
    label="Capacity by the depth of an ordinary day",
    words="Daily charge by the depth of a day.",
    formula="load_ah_design*one_day/(battery_dod_daily/whole_percent)",
    source=IEEE,
)
def battery_ah_daily(load_ah_design: Value, one_day: Value, battery_dod_daily: Value, whole_percent: Value) -> Value:
    return load_ah_design * one_day / (battery_dod_daily / whole_percent)


@chapter.quantity(
    symbol="C,need",
    unit="Ah",
    label="Capacity needed",
    words="The largest of the three, times the factor of the cold and the margin; the three are not multiplied.",
    formula="MAX(battery_ah_autonomy,battery_ah_end_of_life,battery_ah_daily)*battery_cold_factor*(1+battery_margin/whole_percent)",
    source=IEEE,
)
def battery_ah_needed(
    battery_ah_autonomy: Value,
    battery_ah_end_of_life: Value,
    battery_ah_daily: Value,
    battery_cold_factor: Value,
    battery_margin: Value,
    whole_percent: Value,
) -> Value:
    largest = np.maximum(np.maximum(battery_ah_autonomy, battery_ah_end_of_life), battery_ah_daily)
    return largest * battery_cold_factor * (1 + battery_margin / whole_percent)


@chapter.quantity(
    symbol="n",
    unit="",
    label="Strings in parallel that would do",
    words="Capacity needed by what one string gives the loads, rounded up.",
    formula="ROUNDUP(ROUND(battery_ah_needed/(battery_capacity*capacity_share),9),0)",
    source=IEEE,
)
def battery_parallel_needed(battery_ah_needed: Value, battery_capacity: Value, capacity_share: Value) -> Value:
    return np.ceil(round_half_away(battery_ah_needed / (battery_capacity * capacity_share), 9))


chapter.constant("parallel_highest", 20, "", "Most battery strings that can be entered", "", own_rule("more is a mistake"))


@chapter.quantity(
    symbol="n,adv",
    unit="",
    label="Battery strings in parallel to propose",
    words="Those that the loads need; empty where more than {parallel_highest} would be needed.",
    formula='IF(battery_parallel_needed<=parallel_highest,battery_parallel_needed,"")',
    source=IEEE,
)
def battery_parallel_advised(battery_parallel_needed: Value, parallel_highest: Value) -> Value:
    return np.where(battery_parallel_needed <= parallel_highest, battery_parallel_needed, np.nan)


@chapter.quantity(
    symbol="I,chg",
    unit="A",
    label="Highest charge current",
    words="PWM: the array's short-circuit current; MPPT: its output at an empty battery; never more than the rated current.",
    formula='MIN(controller_i_max,IF(controller_type="MPPT",mppt_i_out_low,array_isc))',
    source=own_rule("the safe side"),
)
def battery_charge_i(controller_i_max: Value, controller_type: Value, mppt_i_out_low: Value, array_isc: Value) -> Value:
    return np.minimum(controller_i_max, np.where(controller_type == "MPPT", mppt_i_out_low, array_isc))


@chapter.quantity(
    symbol="C-rate",
    unit="1/h",
    label="Charge current as a share of the capacity",
    words="Amperes by ampere-hours.",
    formula="battery_charge_i/battery_rate_ah",
    source=cite("circuit-laws", "definition"),
)
def battery_c_rate(battery_charge_i: Value, battery_rate_ah: Value) -> Value:
    return battery_charge_i / battery_rate_ah


@chapter.quantity(**_row("", "1/h", "charge_low", "Lowest good charge rate"))
def battery_c_low(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "charge_low")


@chapter.quantity(**_row("", "1/h", "charge_high", "Highest good charge rate"))
def battery_c_high(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "charge_high")


@chapter.quantity(
    symbol="V,low",
    unit="V",
    label="Lowest usual absorption voltage of the chemistry",
    words="Scaled to nominal voltage.",
    formula="INDEX(chemistry_absorb_low,MATCH(battery_chemistry,chemistry_chemistry,0))*battery_units",
    source=CHEMISTRY,
)
def absorb_lowest(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "absorb_low") * battery_units


@chapter.quantity(
    symbol="V,high",
    unit="V",
    label="Highest usual absorption voltage of the chemistry",
    words="Scaled to nominal voltage.",
    formula="INDEX(chemistry_absorb_high,MATCH(battery_chemistry,chemistry_chemistry,0))*battery_units",
    source=CHEMISTRY,
)
def absorb_highest(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "absorb_high") * battery_units


chapter.constant("one_day", 1, "d", "One day", "", cite("si"))
