"""The engineering: one chapter of the job per module, in reading order."""

from workbook_builder.quantities import (
    arrangement_limits,
    array,
    battery,
    battery_checks,
    cable_checks,
    charging,
    confirmations,
    controller,
    curve,
    diagnosis,
    energy,
    full_battery,
    handover,
    held,
    installation,
    load_fuses,
    loads,
    meters,
    module,
    points,
    power,
    prediction,
    protection,
    readings,
    signs,
    site,
    strings_measured,
)

CHAPTERS = tuple(
    part.chapter
    for part in (
        site, module, array, controller, battery, curve, charging, power, arrangement_limits, points, loads, battery_checks, energy,
        cable_checks, protection, load_fuses, confirmations, installation, readings, prediction, meters, full_battery, signs, held,
        diagnosis, strings_measured, handover,
    )
)  # fmt: skip
