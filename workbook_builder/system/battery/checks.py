"""The checks of the battery: enough for the loads, not too much current or voltage for it, safe in the cold and the heat."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.battery.size import CHEMISTRY, IEEE

chapter = Part("sizing", continues=True)

chapter.limit(
    name="battery_current",
    safety=True,
    match=True,
    label="Charge current within the battery's limit",
    words="Highest charge current, not above the largest that the bank takes, nor above what a maker of the chemistry states.",
    value="battery_charge_i",
    at_most="charge_i_most",
    source=CHEMISTRY,
    sentences={
        PASS: "The bank takes the highest charge current.",
        FAIL: "Array and controller drive more current into the bank than the bank takes. The battery overheats. Choose a bank that takes "
        "more current, or fewer strings of modules. An MPPT controller can also be set to a smaller current; a PWM controller cannot.",
    },
)


chapter.limit(
    name="cold_block",
    safety=True,
    match=True,
    label="Charging in the cold",
    words="Coldest the battery gets while charging, not below the limit of its chemistry, unless charging is blocked there.",
    value="battery_t_min",
    at_least="battery_cold_limit",
    unless=(("battery_cold_block", "yes", PASS),),
    source=common_practice("LiFePO4: 0 °C by cell makers' sheets; lead-acid freezes when empty, long before −40 °C"),
    sentences={
        PASS: "The battery is not charged colder than its chemistry stands, or charging is blocked there.",
        FAIL: "Charging this battery so cold damages it and can make it dangerous. Choose one that blocks charging in the cold, "
        "a controller that does, or a warmer place; then confirm the block on Entries.",
    },
)


chapter.limit(
    name="charge_rate",
    match=True,
    label="Charge rate in the good band",
    words="Highest charge current by capacity, within the band of the chemistry.",
    value="battery_c_rate",
    at_least="battery_c_low",
    at_most="battery_c_high",
    source=cite("charging-notes", "5…13 % of C20 good"),
    sentences={
        PASS: "The charge rate is in the usual band of the chemistry.",
        NOTE: "Too slow a charge leaves a battery half full and lets lead plates sulphate; too fast a charge heats it. Match "
        "array and battery, or ask the battery's maker.",
    },
)


chapter.limit(
    name="set_points",
    match=True,
    label="Absorption voltage usual for the chemistry",
    words="Absorption voltage at {t_battery:unit} within the band of the chemistry.",
    value="battery_v_absorb",
    at_least="absorb_lowest",
    at_most="absorb_highest",
    source=CHEMISTRY,
    sentences={
        PASS: "The absorption voltage is usual for the chemistry.",
        NOTE: "The absorption voltage is unusual for this chemistry: compare it with the maker's sheet before it is set.",
    },
)


chapter.limit(
    name="highest_charge",
    match=True,
    label="Highest charge voltage usual for the chemistry",
    words="Highest charge voltage, not above that of the chemistry.",
    value="battery_v_high",
    at_most="charge_highest",
    source=CHEMISTRY,
    sentences={
        PASS: "The highest charge voltage is usual for the chemistry.",
        NOTE: "The highest charge voltage is above what this chemistry usually stands: sealed batteries dry out, lithium cells are "
        "harmed. Compare it with the maker's sheet before it is set.",
    },
)


@chapter.quantity(
    kind="flag",
    unit="",
    label="The charge voltage is compensated",
    words="Compensation is used, and it is not 0.",
    formula='AND(controller_tempcomp="yes",ROUND(battery_tempco,6)<>0)',
    source=CHEMISTRY,
)
def compensated(controller_tempcomp: Value, battery_tempco: Value) -> Value:
    return (controller_tempcomp == "yes") & (round_half_away(battery_tempco, 6) != 0)


@chapter.quantity(
    kind="flag",
    unit="",
    label="The battery is charged near {t_battery:unit} only",
    words="Not above {compensation_free_high:unit} and not below {compensation_free_low:unit}.",
    formula="AND(ROUND(battery_t_max,6)<=ROUND(compensation_free_high,6),ROUND(battery_t_min,6)>=ROUND(compensation_free_low,6))",
    source=common_practice(),
)
def battery_temperate(battery_t_max: Value, compensation_free_high: Value, battery_t_min: Value, compensation_free_low: Value) -> Value:
    cool = round_half_away(battery_t_max, 6) <= round_half_away(compensation_free_high, 6)
    return cool & (round_half_away(battery_t_min, 6) >= round_half_away(compensation_free_low, 6))


@chapter.check(
    match=True,
    label="Temperature compensation fits the chemistry",
    words="Lead-acid charged above {compensation_free_high:unit} or below {compensation_free_low:unit} wants compensation; LiFePO4 must "
    "not be compensated.",
    value="battery_t_max",
    at_most="compensation_free_high",
    formula='IF(battery_chemistry="LiFePO4",IF(compensated,"NOTE","PASS"),IF(OR(compensated,battery_temperate),"PASS","NOTE"))',
    source=common_practice("−3 to −5 mV/°C a cell for lead-acid, none for LiFePO4"),
    sentences={
        PASS: "The compensation suits the chemistry and its temperatures.",
        NOTE: "Without compensation a hot lead-acid battery is overcharged and dries out, and a cold one is never full. Use a "
        "controller with a temperature sensor. A LiFePO4 battery must not be compensated: switch compensation off.",
    },
)
def compensation(battery_chemistry: Value, compensated: Value, battery_temperate: Value) -> Value:
    lead = where_pass((compensated == 1) | (battery_temperate == 1), NOTE)
    return np.where(battery_chemistry == "LiFePO4", where_pass(compensated != 1, NOTE), lead)


chapter.constant("compensation_free_high", 35, "°C", "Warmest lead-acid battery without compensation", "", common_practice())
chapter.constant("compensation_free_low", 10, "°C", "Coldest lead-acid battery without compensation", "", common_practice())


chapter.limit(
    name="battery_heat",
    match=True,
    label="Charging in the heat",
    words="Warmest the battery gets while charging, not above that of the chemistry.",
    value="battery_t_max",
    at_most="battery_hot_limit",
    source=cite("lithium-cell-sheets", "charging between 0 and 45 °C; lead-acid: common practice"),
    sentences={
        PASS: "The battery is not charged warmer than it stands well.",
        NOTE: "Charging so warm shortens the battery's life and may be forbidden by its maker: shade and ventilate it.",
    },
)


chapter.limit(
    name="battery_strings",
    match=True,
    label="Battery strings in parallel",
    words="Not more strings in parallel than share their current well.",
    value="battery_parallel",
    at_most="parallel_most",
    unless=(("battery_chemistry", "LiFePO4"),),
    source=common_practice("3 to 4"),
    sentences={
        PASS: "So many strings share their current well if wired alike.",
        NOTE: "Many strings in parallel share their current badly and age unevenly: prefer larger cells.",
        NOT_APPLICABLE: "LiFePO4 batteries share their current well, in as many strings as their maker allows.",
    },
)


chapter.limit(
    name="battery_size",
    label="Battery large enough for the loads",
    words="Capacity of the bank for the loads, not below what days without sun, end of life, cold and margin need.",
    value="battery_load_ah",
    at_least="battery_ah_needed",
    unless=(("loads_state", "not run", NOT_JUDGED), ("battery_ah_needed", "", INCOMPLETE)),
    source=IEEE,
    asks=("load1_w", "load1_hours"),
    advice=(
        "At least ",
        "battery_parallel_advised",
        " such strings in parallel would do. Then judge ventilation and the battery fuse again.",
        "No number of such strings that is sound would do: choose larger batteries.",
    ),
    sentences={
        PASS: "The bank carries the loads through the days without sun.",
        NOTE: "The bank is too small for these loads and days without sun: more capacity, smaller loads, or fewer days.",
        NOT_JUDGED: "The loads are not entered.",
        INCOMPLETE: "The battery gets colder than the table of capacity factors reaches, a row of loads is "
        "unfinished, or an entry is missing.",
    },
)
