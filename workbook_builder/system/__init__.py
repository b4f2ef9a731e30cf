"""The engineering, a folder a subject; here is the one list of its modules, in reading order."""

from __future__ import annotations

from workbook_builder.language.chapters import assembled
from workbook_builder.system.array import arrangement_limits, arrangements, cold_factor, most_modules, voltage_and_current
from workbook_builder.system.battery import (
    bank,
    blocks_and_heat,
    charge_limit_checks,
    charge_limits,
    checks,
    discharge,
    discharge_limits,
    equipment_voltage,
    faults,
    hour_rate,
    size,
)
from workbook_builder.system.commissioning import (
    diagnosis,
    full_battery,
    handover,
    held,
    meters,
    prediction,
    printed_sheet,
    readings,
    signs,
    strings_measured,
)
from workbook_builder.system.conductors import load_runs, run_checks, run_entries, runs, string_cables, strings_links_earth
from workbook_builder.system.controller import charge_current, charging, clear_day, limits, power, system_voltage
from workbook_builder.system.energy import demand, inverter, loads, months
from workbook_builder.system.module import chart_points, curve, data_sheet
from workbook_builder.system.place import confirmations, duties, enclosure, equipment, site_faults, sparks, ventilation
from workbook_builder.system.protection import (
    array_input,
    battery_fuse,
    battery_fuse_breaking,
    code_thresholds,
    load_fuses,
    string_fuses,
    string_sources,
)
from workbook_builder.system.site import air

MODULES = (
    air,
    data_sheet,
    voltage_and_current,
    cold_factor,
    limits,
    system_voltage,
    bank,
    curve,
    charging,
    charge_current,
    power,
    clear_day,
    arrangements,
    arrangement_limits,
    most_modules,
    chart_points,
    loads,
    demand,
    inverter,
    size,
    hour_rate,
    checks,
    discharge,
    charge_limits,
    charge_limit_checks,
    discharge_limits,
    blocks_and_heat,
    equipment_voltage,
    faults,
    months,
    run_entries,
    load_runs,
    runs,
    run_checks,
    string_sources,
    string_fuses,
    battery_fuse,
    array_input,
    battery_fuse_breaking,
    code_thresholds,
    string_cables,
    strings_links_earth,
    load_fuses,
    enclosure,
    equipment,
    ventilation,
    sparks,
    confirmations,
    duties,
    site_faults,
    printed_sheet,
    readings,
    prediction,
    meters,
    full_battery,
    signs,
    held,
    diagnosis,
    strings_measured,
    handover,
)
CHAPTERS = assembled([module.chapter for module in MODULES])
