"""The capacity at other hour rates than the one on the label: a battery gives less when it is emptied faster."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table
from workbook_builder.language.values import Value

chapter = Part("sizing", continues=True)
PEUKERT = cite("peukert-notes", "exponents by chemistry")
GAS = cite("iec-62485-2", "capacity", FROM_MEMORY)

chapter.choice(
    "battery_hour_rate",
    (5, 8, 10, 20, 24, 72, 100, 120),
    "Hour rate of that capacity",
    "h",
    blank=20.0,
    blank_source=common_practice("capacity at 20 hours, as most labels state it"),
    where="label of the battery: 20 for C20, 10 for C10; no matter for LiFePO4; blank: 20",
)
chapter.constant(
    "rate_long", 20, "h", "Hours of discharge to which charge rates refer", "C20", common_practice("charge rates are shares of C20")
)
chapter.constant(
    "rate_short", 10, "h", "Hours of discharge to which the gas of a battery refers", "C10", cite("iec-62485-2", "capacity", "from memory")
)


@chapter.quantity(
    symbol="k",
    unit="",
    label="Peukert exponent of the chemistry",
    words="The chemistry's row.",
    formula="INDEX(battery_limits_peukert,MATCH(battery_chemistry,battery_limits_chemistry,0))",
    source=PEUKERT,
)
def battery_peukert(battery_chemistry: Value, *, battery_limits: Table) -> Value:
    return battery_limits.exact(battery_chemistry, "chemistry", "peukert")


@chapter.quantity(
    symbol="C20",
    unit="Ah",
    label="Capacity of the bank at {rate_long} hours",
    words="Capacity × (hours ÷ rated hours)^((k − 1) ÷ k), by Peukert's law.",
    formula="battery_bank_ah*(rate_long/battery_hour_rate)^((battery_peukert-1)/battery_peukert)",
    source=PEUKERT,
)
def battery_c20_ah(battery_bank_ah: Value, rate_long: Value, battery_hour_rate: Value, battery_peukert: Value) -> Value:
    return battery_bank_ah * (rate_long / battery_hour_rate) ** (1 - 1 / battery_peukert)


@chapter.quantity(
    symbol="C10",
    unit="Ah",
    label="Capacity of the bank at {rate_short} hours",
    words="Capacity × (hours ÷ rated hours)^((k − 1) ÷ k), by Peukert's law.",
    formula="battery_bank_ah*(rate_short/battery_hour_rate)^((battery_peukert-1)/battery_peukert)",
    source=PEUKERT,
)
def battery_c10_ah(battery_bank_ah: Value, rate_short: Value, battery_hour_rate: Value, battery_peukert: Value) -> Value:
    return battery_bank_ah * (rate_short / battery_hour_rate) ** (1 - 1 / battery_peukert)


@chapter.quantity(
    symbol="C,rate",
    unit="Ah",
    label="Capacity of which charge rates are shares",
    words="Capacity at {rate_long} hours, or as entered where that is less.",
    formula="MIN(battery_bank_ah,battery_c20_ah)",
    source=own_rule("the safe side"),
)
def battery_rate_ah(battery_bank_ah: Value, battery_c20_ah: Value) -> Value:
    return np.minimum(battery_bank_ah, battery_c20_ah)


@chapter.quantity(
    symbol="t,dis",
    unit="h",
    label="Hours in which the loads would empty the bank",
    words="Days without sun by the usable depth.",
    formula="autonomy_days*hours_per_day/(battery_dod/whole_percent)",
    source=own_rule("mean pace of the days without sun"),
)
def discharge_hours(autonomy_days: Value, hours_per_day: Value, battery_dod: Value, whole_percent: Value) -> Value:
    return autonomy_days * hours_per_day / (battery_dod / whole_percent)


@chapter.quantity(
    symbol="k,t",
    unit="",
    label="Share of the rated capacity that the loads get",
    words="By Peukert's law at the hours of the loads, of {rate_long} hours, or of the label: the fewest. Never above 1.",
    formula="(MIN(discharge_hours,rate_long,battery_hour_rate)/battery_hour_rate)^((battery_peukert-1)/battery_peukert)",
    source=PEUKERT,
)
def capacity_share(discharge_hours: Value, rate_long: Value, battery_hour_rate: Value, battery_peukert: Value) -> Value:
    hours = np.minimum(np.minimum(discharge_hours, rate_long), battery_hour_rate)
    return (hours / battery_hour_rate) ** (1 - 1 / battery_peukert)


@chapter.quantity(
    symbol="C,load",
    unit="Ah",
    label="Capacity of the bank for the loads",
    words="Capacity times that share.",
    formula="battery_bank_ah*capacity_share",
    source=PEUKERT,
)
def battery_load_ah(battery_bank_ah: Value, capacity_share: Value) -> Value:
    return battery_bank_ah * capacity_share
