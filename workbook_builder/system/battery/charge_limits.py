"""The hard limits of the chemistry, or of the battery's maker, that charging must keep: float, absorption, the highest voltage, time."""

from collections.abc import Callable
from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, between
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value
from workbook_builder.system.battery.bank import BATTERY_SHEET

chapter = Part(
    "battery_limits",
    "Limits of the battery",
    "Beyond these no battery of the chemistry is charged or discharged. A figure of the battery's maker, where it is entered, comes first.",
    sheet="Battery",
)

LIMITS = cite("ieee-1361", "limits by chemistry and by cell", FROM_MEMORY)
SEALED = cite("sealed-battery-sheets", "equalization of sealed batteries")

chapter.table(
    read_table(
        TEMPLATES / "battery_limits.csv",
        "battery_limits",
        "Hard limits of a cell, and the usual band before them",
        LIMITS,
        "Voltages for one cell at {t_battery:unit}. From memory, but: LiFePO4 charged to 3.65 V and discharged to 2.5 V, lead-acid "
        "discharged to 1.75 V, sealed batteries not charged above 50 °C, and the ranges of the exponent were seen in secondary texts.",
    )
)
chapter.number(
    "battery_v_max",
    "V",
    8,
    75,
    "Highest charge voltage that the battery's maker allows",
    blank=OPTIONAL,
    where=f"{BATTERY_SHEET}, for the whole bank, equalization included; blank: the limit of the chemistry",
    relations=(between("charge_ceiling", 0.8, 1.0, "{lowest} to {highest} times the highest figure that a maker states"),),
)
chapter.choice(
    "battery_equalize",
    ("yes", "no", "not known"),
    "The battery's maker allows equalization",
    blank=OPTIONAL,
    where="battery data sheet; needed for AGM and gel charged above the usual absorption voltage; blank: not known",
)
chapter.constant(
    "compensation_floor",
    -20,
    "°C",
    "Coldest battery for which a raised charge voltage is allowed",
    "",
    own_rule("a controller stops there"),
)


def row(part: Part, name: str, column: str, label: str, unit: str = "") -> None:
    """Declare the quantity ``name``: a figure of the chemistry; without a unit that of a cell, times the cells of the bank."""
    look_up = f"INDEX(battery_limits_{column},MATCH(battery_chemistry,battery_limits_chemistry,0))"
    whole = unit == ""
    function: Callable[..., Any] = _of_bank(column) if whole else _of_chemistry(column)
    function.__name__ = name
    part.quantity(
        unit=unit or "V",
        label=label,
        words="The chemistry's row for a cell, times the cells in series." if whole else "The chemistry's row.",
        formula=f"{look_up}*battery_cells" if whole else look_up,
        source=LIMITS,
    )(function)


def _of_bank(column: str) -> Callable[..., Any]:
    def figure(battery_chemistry: Value, battery_cells: Value, *, battery_limits: Table) -> Value:
        return battery_limits.exact(battery_chemistry, "chemistry", column) * battery_cells

    return figure


def _of_chemistry(column: str) -> Callable[..., Any]:
    def figure(battery_chemistry: Value, *, battery_limits: Table) -> Value:
        return battery_limits.exact(battery_chemistry, "chemistry", column)

    return figure


row(chapter, "charge_ceiling", "high_ceiling", "Highest figure that a maker of the chemistry states")
row(chapter, "charge_hard_chemistry", "high_hard", "Highest charge voltage of the chemistry, hard limit")
row(chapter, "float_usual", "float_usual", "Highest usual float voltage of the chemistry")
row(chapter, "float_hard_chemistry", "float_hard", "Highest float voltage of the chemistry, hard limit")
row(chapter, "absorb_hard_chemistry", "absorb_hard", "Highest absorption voltage of the chemistry, hard limit")
row(chapter, "tempco_hard", "tempco_hard", "Greatest temperature compensation of the chemistry", "mV/°C/cell")
row(chapter, "tempco_least", "tempco_least", "Least temperature compensation by which heat lowers the limit", "mV/°C/cell")
row(chapter, "absorb_hours_usual", "hours_usual", "Longest usual time at absorption of the chemistry", "h")
row(chapter, "absorb_hours_hard", "hours_hard", "Longest time at absorption of the chemistry, hard limit", "h")
row(chapter, "charge_rate_ceiling", "rate_ceiling", "Highest charge rate that a maker of the chemistry states", "1/h")


@chapter.quantity(
    symbol="I,lim",
    unit="A",
    label="Largest charge current that counts",
    words="That of the bank, and no more than that rate times its capacity.",
    formula="MIN(battery_i_max,charge_rate_ceiling*battery_capacity*battery_parallel)",
    source=LIMITS,
)
def charge_i_most(battery_i_max: Value, charge_rate_ceiling: Value, battery_capacity: Value, battery_parallel: Value) -> Value:
    return np.minimum(battery_i_max, charge_rate_ceiling * battery_capacity * battery_parallel)


@chapter.quantity(
    symbol="V,lim",
    unit="V",
    label="Highest charge voltage allowed at {t_battery:unit}",
    words="The maker's figure where it is entered, otherwise the chemistry's.",
    formula='IF(battery_v_max="",charge_hard_chemistry,battery_v_max)',
    source=LIMITS,
    optional=("battery_v_max",),
)
def charge_hard(battery_v_max: Value, charge_hard_chemistry: Value) -> Value:
    return np.where(np.isnan(battery_v_max), charge_hard_chemistry, battery_v_max)


@chapter.quantity(
    symbol="V,lim,cold",
    unit="V",
    label="Highest charge voltage allowed while the battery is coldest",
    words="That limit, raised by the greatest compensation of the chemistry, but not for cold below {compensation_floor:unit}.",
    formula="charge_hard+tempco_hard/millivolts_per_volt*battery_cells*(MAX(MIN(battery_t_min,t_battery),compensation_floor)-t_battery)",
    source=LIMITS,
)
def charge_hard_cold(
    charge_hard: Value,
    tempco_hard: Value,
    millivolts_per_volt: Value,
    battery_cells: Value,
    battery_t_min: Value,
    t_battery: Value,
    compensation_floor: Value,
) -> Value:
    colder = np.maximum(np.minimum(battery_t_min, t_battery), compensation_floor) - t_battery
    return charge_hard + tempco_hard / millivolts_per_volt * battery_cells * colder


@chapter.quantity(
    symbol="V,lim,hot",
    unit="V",
    label="Highest charge voltage allowed while the battery is warmest",
    words="That limit, lowered by the least compensation of the chemistry.",
    formula="charge_hard+tempco_least/millivolts_per_volt*battery_cells*(MAX(battery_t_max,t_battery)-t_battery)",
    source=LIMITS,
)
def charge_hard_hot(
    charge_hard: Value, tempco_least: Value, millivolts_per_volt: Value, battery_cells: Value, battery_t_max: Value, t_battery: Value
) -> Value:
    warmer = np.maximum(battery_t_max, t_battery) - t_battery
    return charge_hard + tempco_least / millivolts_per_volt * battery_cells * warmer


@chapter.quantity(
    symbol="V,high,hot",
    unit="V",
    label="Highest charge voltage, while the battery is warmest",
    words="With its fall by compensation, if compensation is used.",
    formula='battery_v_high+IF(controller_tempcomp="yes",'
    "battery_tempco/millivolts_per_volt*battery_cells*(MAX(battery_t_max,t_battery)-t_battery),0)",
    source=own_rule("it moves as float does"),
)
def battery_v_high_hot(
    battery_v_high: Value,
    controller_tempcomp: Value,
    battery_tempco: Value,
    millivolts_per_volt: Value,
    battery_cells: Value,
    battery_t_max: Value,
    t_battery: Value,
) -> Value:
    fall = battery_tempco / millivolts_per_volt * battery_cells * (np.maximum(battery_t_max, t_battery) - t_battery)
    return np.where(controller_tempcomp == "yes", battery_v_high + fall, battery_v_high)


@chapter.quantity(
    symbol="V,float,lim",
    unit="V",
    label="Highest float voltage allowed",
    words="The chemistry's, or the maker's figure for any charging where that is lower.",
    formula="MIN(float_hard_chemistry,charge_hard)",
    source=LIMITS,
)
def float_hard(float_hard_chemistry: Value, charge_hard: Value) -> Value:
    return np.minimum(float_hard_chemistry, charge_hard)


@chapter.quantity(
    symbol="V,abs,lim",
    unit="V",
    label="Highest absorption voltage allowed",
    words="The chemistry's, or the maker's figure for any charging where that is lower.",
    formula="MIN(absorb_hard_chemistry,charge_hard)",
    source=LIMITS,
)
def absorb_hard(absorb_hard_chemistry: Value, charge_hard: Value) -> Value:
    return np.minimum(absorb_hard_chemistry, charge_hard)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the battery is a sealed lead-acid one",
    words="AGM and gel are sealed.",
    formula='IF(OR(battery_chemistry="AGM",battery_chemistry="gel"),"sealed","not sealed")',
    source=SEALED,
)
def battery_sealed(battery_chemistry: Value) -> Value:
    return np.where((battery_chemistry == "AGM") | (battery_chemistry == "gel"), "sealed", "not sealed")
