"""Whole batteries make the bank, and none is charged in a heat in which it can run away."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, PASS, where_pass
from workbook_builder.system.battery.charge_limits import LIMITS, row

chapter = Part("battery_limits", continues=True)
CELLS = common_practice("a lead-acid cell has 2 V, a LiFePO4 cell 3.2 V: four make a battery of 12.8 V, which counts as 12 V")
RUNAWAY = cite("ieee-1188", "thermal runaway", FROM_MEMORY)

chapter.constant("lead_cell", 2, "V", "Nominal voltage of a lead-acid cell", "", CELLS)
chapter.constant("lithium_cell", 3, "V", "Nominal voltage by which a LiFePO4 cell is entered", "", CELLS)

row(chapter, "hot_plain", "hot_plain", "Warmest charging without compensation, hard limit", "°C")
row(chapter, "hot_hard", "hot_hard", "Warmest charging with compensation, hard limit", "°C")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether batteries of this voltage are made in the chemistry",
    words="A cell of {lithium_cell:unit} is LiFePO4, one of {lead_cell:unit} is lead-acid.",
    formula='IF(OR(AND(ROUND(battery_block,6)=ROUND(lithium_cell,6),battery_chemistry<>"LiFePO4"),'
    'AND(ROUND(battery_block,6)=ROUND(lead_cell,6),battery_chemistry="LiFePO4")),"no","yes")',
    source=CELLS,
)
def block_exists(battery_block: Value, lithium_cell: Value, battery_chemistry: Value, lead_cell: Value) -> Value:
    lithium = round_half_away(battery_block, 6) == round_half_away(lithium_cell, 6)
    lead = round_half_away(battery_block, 6) == round_half_away(lead_cell, 6)
    wrong = (lithium & (battery_chemistry != "LiFePO4")) | (lead & (battery_chemistry == "LiFePO4"))
    return np.where(wrong, "no", "yes")


@chapter.check(
    name="battery_blocks",
    safety=True,
    match=True,
    label="Whole batteries make the bank's voltage",
    words="Nominal voltage of the bank by that of one battery: a whole number, and a battery that the chemistry has.",
    value="battery_block",
    formula='IF(AND(block_exists="yes",ROUND(battery_nominal/battery_block,9)=ROUND(battery_nominal/battery_block,0)),"PASS","FAIL")',
    source=own_rule("plain count"),
    sentences={
        PASS: "A whole number of batteries in series makes the voltage of the bank.",
        FAIL: "No whole number of these batteries makes the voltage of the bank, or the chemistry has no such cell. The bank would "
        "get another voltage, and the controller would overcharge or starve it. Choose batteries whose voltage divides the bank's.",
    },
)
def battery_blocks(block_exists: Value, battery_nominal: Value, battery_block: Value) -> Value:
    number = battery_nominal / battery_block
    whole = round_half_away(number, 9) == round_half_away(number, 0)
    return where_pass((block_exists == "yes") & whole, FAIL)


@chapter.quantity(
    kind="flag",
    unit="",
    label="The compensation is enough for the heat",
    words="Compensation is used, and a cell's is at least the least of the chemistry: a trace of it helps nothing.",
    formula="AND(compensated,ROUND(battery_tempco,6)<=ROUND(tempco_least,6))",
    source=LIMITS,
)
def compensated_enough(compensated: Value, battery_tempco: Value, tempco_least: Value) -> Value:
    return (compensated == 1) & (round_half_away(battery_tempco, 6) <= round_half_away(tempco_least, 6))


@chapter.quantity(
    symbol="T,lim",
    unit="°C",
    label="Warmest battery that may be charged",
    words="The chemistry's, with compensation or without.",
    formula="IF(compensated_enough,hot_hard,hot_plain)",
    source=LIMITS,
)
def hot_most(compensated_enough: Value, hot_hard: Value, hot_plain: Value) -> Value:
    return np.where(compensated_enough == 1, hot_hard, hot_plain)


chapter.limit(
    name="thermal_runaway",
    safety=True,
    match=True,
    label="No thermal runaway in the heat",
    words="Warmest the battery gets while charging, not above the chemistry's hard limit with compensation or without.",
    value="battery_t_max",
    at_most="hot_most",
    source=RUNAWAY,
    sentences={
        PASS: "The battery is not charged in a heat in which it can run away.",
        FAIL: "The battery is charged in too great a heat. A hot battery takes more current and gets hotter, until it melts or bursts. "
        "Use temperature compensation on a sealed battery, and shade and ventilate the place.",
    },
)
