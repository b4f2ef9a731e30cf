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
)

CHAPTERS = tuple(
    part.chapter
    for part in (
        site, module, array, controller, battery, curve, charging, power, arrangements, points, loads, sizing, energy,
        cable_checks, protection, confirmations, installation, readings, prediction, meters, signs, diagnosis,
        strings_measured, handover,
    )
)  # fmt: skip
