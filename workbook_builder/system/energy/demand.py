"""Peak and surge of the loads: what runs at the same time, what starts, and what the battery must give for it."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.values import Value
from workbook_builder.system.energy.loads import LAST

chapter = Part("loads", continues=True)

TOGETHER = own_rule("the share that runs at the same time, and never less than the largest appliance")
STARTS = own_rule("that share starting at once, and never less than the largest starter while the others run")
OHM = cite("circuit-laws", "I = P ÷ V")

chapter.number(
    "load_diversity",
    "%",
    10,
    100,
    "Share of the loads that run at the same time",
    blank=100,
    blank_source=own_rule("all at once: the safe side"),
    where="ask the users; blank: all at once",
)


@chapter.quantity(
    symbol="P,inv",
    unit="W",
    label="Smallest inverter for the AC loads",
    words="The share of the AC loads that runs at the same time, or the largest AC appliance, without margin.",
    formula=f"MAX({LAST}_sum_ac*load_diversity/whole_percent,{LAST}_most_ac)",
    source=TOGETHER,
)
def inverter_w_least(load_rows_load12_sum_ac: Value, load_diversity: Value, whole_percent: Value, load_rows_load12_most_ac: Value) -> Value:
    return np.maximum(load_rows_load12_sum_ac * load_diversity / whole_percent, load_rows_load12_most_ac)


@chapter.quantity(
    symbol="P,dir",
    unit="W",
    label="DC loads, all of them",
    words="All loads at the battery, less the AC loads with their loss.",
    formula=f"{LAST}_sum_power-{LAST}_sum_ac/(inv_efficiency/whole_percent)",
    source=own_rule("plain difference"),
)
def load_w_dc_all(load_rows_load12_sum_power: Value, load_rows_load12_sum_ac: Value, inv_efficiency: Value, whole_percent: Value) -> Value:
    return load_rows_load12_sum_power - load_rows_load12_sum_ac / (inv_efficiency / whole_percent)


@chapter.quantity(
    symbol="P,DC",
    unit="W",
    label="Peak of the DC loads",
    words="The share of the DC loads that runs at the same time, or the largest DC appliance.",
    formula=f"MAX(load_w_dc_all*load_diversity/whole_percent,{LAST}_most_dc)",
    source=TOGETHER,
)
def load_w_dc(load_w_dc_all: Value, load_diversity: Value, whole_percent: Value, load_rows_load12_most_dc: Value) -> Value:
    return np.maximum(load_w_dc_all * load_diversity / whole_percent, load_rows_load12_most_dc)


@chapter.quantity(
    symbol="I,DC",
    unit="A",
    label="Current of that peak from a nearly empty battery",
    words="Peak of the DC loads at the load disconnect voltage.",
    formula="load_w_dc/battery_v_low",
    source=OHM,
)
def load_i_dc(load_w_dc: Value, battery_v_low: Value) -> Value:
    return load_w_dc / battery_v_low


@chapter.quantity(
    symbol="P,peak",
    unit="W",
    label="Peak of the loads, seen by the battery",
    words="Peak of the AC loads with the inverter's loss, peak of the DC loads, and the idle power.",
    formula="inverter_w_least/(inv_efficiency/whole_percent)+load_w_dc+inv_idle",
    source=TOGETHER,
)
def load_w_peak(inverter_w_least: Value, inv_efficiency: Value, whole_percent: Value, load_w_dc: Value, inv_idle: Value) -> Value:
    return inverter_w_least / (inv_efficiency / whole_percent) + load_w_dc + inv_idle


@chapter.quantity(
    symbol="I,peak",
    unit="A",
    label="Peak current of the loads from a nearly empty battery",
    words="Peak power at the load disconnect voltage.",
    formula="load_w_peak/battery_v_low",
    source=OHM,
)
def load_i_peak(load_w_peak: Value, battery_v_low: Value) -> Value:
    return load_w_peak / battery_v_low


@chapter.quantity(
    symbol="P,s,AC",
    unit="W",
    label="Surge of the AC loads",
    words="The share of the AC loads that starts at the same time, or the largest starter while the others run.",
    formula=f"MAX({LAST}_sum_start_ac*load_diversity/whole_percent,inverter_w_least+{LAST}_gain_ac)",
    source=STARTS,
)
def inverter_w_start(
    load_rows_load12_sum_start_ac: Value,
    load_diversity: Value,
    whole_percent: Value,
    inverter_w_least: Value,
    load_rows_load12_gain_ac: Value,
) -> Value:
    together = load_rows_load12_sum_start_ac * load_diversity / whole_percent
    return np.maximum(together, inverter_w_least + load_rows_load12_gain_ac)


@chapter.quantity(
    symbol="P,s,DC",
    unit="W",
    label="Surge of the DC loads",
    words="The share of the DC loads that starts at the same time, or the largest starter while the others run.",
    formula=f"MAX(({LAST}_sum_start-{LAST}_sum_start_ac)*load_diversity/whole_percent,load_w_dc+{LAST}_gain_dc)",
    source=STARTS,
)
def load_w_dc_start(
    load_rows_load12_sum_start: Value,
    load_rows_load12_sum_start_ac: Value,
    load_diversity: Value,
    whole_percent: Value,
    load_w_dc: Value,
    load_rows_load12_gain_dc: Value,
) -> Value:
    together = (load_rows_load12_sum_start - load_rows_load12_sum_start_ac) * load_diversity / whole_percent
    return np.maximum(together, load_w_dc + load_rows_load12_gain_dc)


@chapter.quantity(
    symbol="P,surge",
    unit="W",
    label="Surge of the loads, at the appliances",
    words="Surge of the AC loads and of the DC loads.",
    formula="inverter_w_start+load_w_dc_start",
    source=STARTS,
)
def load_w_surge(inverter_w_start: Value, load_w_dc_start: Value) -> Value:
    return inverter_w_start + load_w_dc_start


@chapter.quantity(
    symbol="I,s,DC",
    unit="A",
    label="Surge current of the DC loads from a nearly empty battery",
    words="Their surge at the load disconnect voltage.",
    formula="load_w_dc_start/battery_v_low",
    source=OHM,
)
def load_i_dc_start(load_w_dc_start: Value, battery_v_low: Value) -> Value:
    return load_w_dc_start / battery_v_low


@chapter.quantity(
    symbol="I,surge",
    unit="A",
    label="Surge current of all loads from a nearly empty battery",
    words="Surge of the AC loads with the inverter's loss, surge of the DC loads, and the idle power, at the load disconnect voltage.",
    formula="(inverter_w_start/(inv_efficiency/whole_percent)+load_w_dc_start+inv_idle)/battery_v_low",
    source=OHM,
)
def load_i_surge(
    inverter_w_start: Value, inv_efficiency: Value, whole_percent: Value, load_w_dc_start: Value, inv_idle: Value, battery_v_low: Value
) -> Value:
    return (inverter_w_start / (inv_efficiency / whole_percent) + load_w_dc_start + inv_idle) / battery_v_low
