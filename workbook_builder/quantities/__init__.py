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
    energy,
    loads,
    module,
    points,
    power,
    protection,
    site,
    sizing,
)

CHAPTERS = tuple(
    part.chapter
    for part in (
        site, module, array, controller, battery, curve, charging, power, arrangements, points, loads, sizing, energy,
        cable_checks, protection, confirmations,
    )
)  # fmt: skip
