"""The engineering: one chapter of the job per module, in reading order."""

from workbook_builder.quantities import (
    arrangements,
    array,
    battery,
    charging,
    controller,
    curve,
    module,
    points,
    power,
    site,
)

CHAPTERS = tuple(
    part.chapter for part in (site, module, array, controller, battery, curve, charging, power, arrangements, points)
)
