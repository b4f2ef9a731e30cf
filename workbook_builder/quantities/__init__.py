"""The engineering: one chapter of the job per module, in reading order."""

from workbook_builder.quantities import (
    arrangements,
    array,
    battery,
    cable_checks,
    charging,
    confirmations,
    controller,
    curve,
    diagnosis,
    energy,
    full_battery,
    handover,
    installation,
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
    sizing,
    strings_measured,
    wiring,
)

CHAPTERS = tuple(
    part.chapter
    for part in (
        site, module, array, controller, battery, curve, charging, power, arrangements, points, loads, sizing, energy,
        cable_checks, protection, wiring, confirmations, installation, readings, prediction, meters, full_battery, signs,
        diagnosis, strings_measured, handover,
    )
)  # fmt: skip
