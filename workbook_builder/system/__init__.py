"""The engineering: one chapter of the job per module, in reading order."""

from workbook_builder.system.array import arrangement_limits
from workbook_builder.system.array import voltage_and_current as array
from workbook_builder.system.battery import bank as battery
from workbook_builder.system.battery import checks as battery_checks
from workbook_builder.system.commissioning import (
    diagnosis,
    full_battery,
    handover,
    held,
    meters,
    prediction,
    readings,
    signs,
    strings_measured,
)
from workbook_builder.system.commissioning import (
    printed_sheet as installation,
)
from workbook_builder.system.conductors import run_checks as cable_checks
from workbook_builder.system.controller import charging, power
from workbook_builder.system.controller import limits as controller
from workbook_builder.system.energy import loads
from workbook_builder.system.energy import months as energy
from workbook_builder.system.module import chart_points as points
from workbook_builder.system.module import curve
from workbook_builder.system.module import data_sheet as module
from workbook_builder.system.place import confirmations
from workbook_builder.system.protection import load_fuses
from workbook_builder.system.protection import string_and_battery_fuses as protection
from workbook_builder.system.site import air as site

CHAPTERS = tuple(
    part.chapter
    for part in (
        site,
        module,
        array,
        controller,
        battery,
        curve,
        charging,
        power,
        arrangement_limits,
        points,
        loads,
        battery_checks,
        energy,
        cable_checks,
        protection,
        load_fuses,
        confirmations,
        installation,
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
)
