"""Whole batteries make the bank, and none is charged in a heat in which it can run away."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, PASS, where_pass
from workbook_builder.system.battery.charge_limits import LIMITS, row

chapter = Part("battery_limits", continues=True)
CELLS = common_practice("a lead-acid cell has 2 V, a LiFePO4 cell 3.2 V: four make a battery of 12.8 V, which counts as 12 V")
RUNAWAY = cite("ieee-1188", "thermal runaway", FROM_MEMORY)

chapter.constant("lead_cell", 2, "V", "Nominal voltage of a lead-acid cell", "", CELLS)
chapter.constant("lithium_cell", 3, "V", "Nominal voltage by which a LiFePO4 cell is entered", "", CELLS)

row(chapter, "hot_plain", "hot_plain", "Warmest charging without compensation, hard limit", "°C")
row(chapter, "hot_hard", "hot_hard", "Warmest charging with compensation, hard limit", "°C")


@chapter.quantity(
    symbol="n,block",
    unit="",
    label="Cells in one battery, by their nominal voltage",
    words="Nominal voltage of one battery by that of a cell of the chemistry.",
    formula='battery_block/IF(battery_chemistry="LiFePO4",lithium_cell,lead_cell)',
    source=CELLS,
)
def cells_of_block(battery_block: Value, battery_chemistry: Value, lithium_cell: Value, lead_cell: Value) -> Value:
    return battery_block / np.where(battery_chemistry == "LiFePO4", lithium_cell, lead_cell)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether batteries of this voltage are made in the chemistry",
    words="A whole number of cells makes one: of {lithium_cell:unit} for LiFePO4, of {lead_cell:unit} for lead-acid.",
    formula='IF(ROUND(cells_of_block,9)=ROUND(cells_of_block,0),"yes","no")',
    source=CELLS,
)
def block_exists(cells_of_block: Value) -> Value:
    return np.where(round_half_away(cells_of_block, 9) == round_half_away(cells_of_block, 0), "yes", "no")


@chapter.check(
    name="battery_blocks",
    safety=True,
    match=True,
    label="Whole batteries make the bank's voltage",
    words="Nominal voltage of the bank by that of one battery: a whole number, and a battery of the chemistry. Cells that are entered "
    "agree with it.",
    value="battery_block",
    formula='IF(AND(block_exists="yes",cells_counted<>"contradiction",'
    'ROUND(battery_nominal/battery_block,9)=ROUND(battery_nominal/battery_block,0)),"PASS","FAIL")',
    source=own_rule("plain count"),
    sentences={
        PASS: "A whole number of batteries in series makes the voltage of the bank.",
        FAIL: "No whole number of these batteries makes the voltage of the bank, or the cells that are entered; or the chemistry has no "
        "such battery. The controller would overcharge or starve the bank. Choose batteries whose voltage divides the bank's.",
    },
)
def battery_blocks(block_exists: Value, cells_counted: Value, battery_nominal: Value, battery_block: Value) -> Value:
    number = battery_nominal / battery_block
    whole = round_half_away(number, 9) == round_half_away(number, 0)
    return where_pass((block_exists == "yes") & (cells_counted != "contradiction") & whole, FAIL)


TWO_SIZES = common_practice("LiFePO4 banks of 15 cells and of 16 cells are both sold as 48 V")
chapter.constant("cells_doubt", 36, "V", "Nominal voltage from which LiFePO4 banks of one voltage differ in cells", "", TWO_SIZES)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the bank has the usual number of cells",
    words="Other: another number, of a bank that is one battery, or of single cells. Contradiction: another number, although the bank is "
    "made of batteries with the usual number.",
    formula='IF(ROUND(battery_cells,6)=ROUND(battery_cells_usual,6),"usual",'
    'IF(OR(battery_block>=battery_nominal,cells_of_block<=whole),"other","contradiction"))',
    source=TWO_SIZES,
)
def cells_counted(
    battery_cells: Value, battery_cells_usual: Value, battery_block: Value, battery_nominal: Value, cells_of_block: Value, whole: Value
) -> Value:
    usual = round_half_away(battery_cells, 6) == round_half_away(battery_cells_usual, 6)
    alone = (battery_block >= battery_nominal) | (cells_of_block <= whole)
    return np.where(usual, "usual", np.where(alone, "other", "contradiction"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the number of cells is known",
    words="Doubt: the usual number, of LiFePO4 of {cells_doubt:unit} or more.",
    formula='IF(cells_counted<>"usual",cells_counted,'
    'IF(AND(battery_chemistry="LiFePO4",ROUND(battery_nominal,6)>=ROUND(cells_doubt,6)),"doubt","usual"))',
    source=TWO_SIZES,
)
def cells_known(cells_counted: Value, battery_chemistry: Value, battery_nominal: Value, cells_doubt: Value) -> Value:
    doubt = (battery_chemistry == "LiFePO4") & (round_half_away(battery_nominal, 6) >= round_half_away(cells_doubt, 6))
    return np.where((cells_counted == "usual") & doubt, "doubt", cells_counted)


@chapter.check(
    name="battery_cells",
    safety=True,
    label="Number of cells in series",
    words="From {cells_doubt:unit} on, LiFePO4 banks of one voltage differ in cells; each limit is that of a cell, times their number.",
    value="battery_cells",
    formula='IF(cells_known="contradiction","FAIL",IF(cells_known="usual","N/A",IF(battery_cells_series="","NOT JUDGED","PASS")))',
    source=TWO_SIZES,
    optional=("battery_cells_series",),
    asks=("battery_cells_series",),
    sentences={
        PASS: "The number of cells is entered, and every limit of the battery is judged by it.",
        NOT_JUDGED: "Nobody said how many cells the bank has in series. With one cell fewer than usual it would be overcharged.",
        NOT_APPLICABLE: "A bank of this chemistry and voltage has the usual number of cells.",
        FAIL: "Batteries of this voltage in series do not make this number of cells, and the limits of the bank are not known. Enter the "
        "voltage of one battery, or correct the number of cells.",
    },
)
def battery_cells_check(cells_known: Value, battery_cells_series: Value) -> Value:
    said = np.where(np.isnan(battery_cells_series), NOT_JUDGED, PASS)
    known = np.where(cells_known == "usual", NOT_APPLICABLE, said)
    return np.where(cells_known == "contradiction", FAIL, known)


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
